"""Quantities at the edges: trade and SI units in and out, everything between in SI.

There is no global unit mode: a preference is passed to whatever shows a number.
"""

from __future__ import annotations

from holdcold.quantities.atmosphere import ambient_pa_at
from holdcold.quantities.dimensions import DIMENSIONS, Dimension
from holdcold.quantities.parsing import Parsed, parse, parse_noted

__all__ = ["DIMENSIONS", "Dimension", "Parsed", "ambient_pa_at", "parse", "parse_noted"]
