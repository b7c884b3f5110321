"""Numbered steps from an empty database to the tables of today; a step is added, never changed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from sqlalchemy import Connection

from holdcold.store.migrations import m0001_log, m0002_clock_offsets

Step = Callable[[Connection], None]
"""Changes the database inside the transaction of the connection."""

STEPS: Final[tuple[Step, ...]] = (m0001_log.apply, m0002_clock_offsets.apply)
"""Step number n is the n-th."""
