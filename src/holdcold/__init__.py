"""Holdcold: what a commercial-refrigeration unit should read now, and what its readings say.

The rooms, from the bottom up: ``errors``, ``numerics``, ``quantities``, ``refrigerants``, ``cycle``,
``cards``, ``diagnosis``, ``calls``, ``cli``. A room imports only rooms below it (ARCHITECTURE.md).
"""

from __future__ import annotations

__version__ = "0.1.0"
