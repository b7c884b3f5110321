"""Quantities at the edges: trade and SI units in and out, everything between in SI.

There is no global unit mode: a preference is passed to whatever shows a number.
"""

from __future__ import annotations

from holdcold.quantities.atmosphere import ambient_pa_at
from holdcold.quantities.dimensions import DIMENSIONS, Dimension
from holdcold.quantities.formatting import SI, US, UnitPreference, format_quantity
from holdcold.quantities.instruments import Instrument, default_instrument, instrument, instruments
from holdcold.quantities.parsing import Parsed, parse, parse_noted, parse_one_of

__all__ = [
    "DIMENSIONS", "Dimension",
    "Parsed", "parse", "parse_noted", "parse_one_of",
    "SI", "US", "UnitPreference", "format_quantity",
    "ambient_pa_at",
    "Instrument", "default_instrument", "instrument", "instruments",
]  # fmt: skip
