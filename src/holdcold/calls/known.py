"""The names a call may use, taken from the diagnosis catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Known:
    """Ids that exist, with what a reader must know of each.

    places: id to dimension of ``quantities``. usual: place id to the usual instrument class there.
    sightings: id to its values. checks, faults, guards: ids.
    """

    places: Mapping[str, str]
    sightings: Mapping[str, tuple[str, ...]]
    checks: frozenset[str]
    faults: frozenset[str]
    guards: frozenset[str]
