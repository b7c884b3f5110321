"""What kinds of quantity exist, how people call them, and which values cannot be."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from holdcold.errors import UnknownNameError


@dataclass(frozen=True, slots=True)
class Dimension:
    """One kind of quantity.

    ``name`` is its id, ``called`` the words for messages, ``si`` the SI unit of stored values,
    ``examples`` what a person may type, ``lowest`` and ``highest`` the possible SI values
    (inclusive) and ``limit`` says in words why there is a limit.
    """

    name: str
    called: str
    si: str
    examples: str
    lowest: float = -math.inf
    highest: float = math.inf
    limit: str = ""


_NOT_NEGATIVE: Final = "zero or more"

_ROWS: Final = (
    Dimension(
        "pressure",
        "a pressure",
        "Pa",
        "12 psig, 18 in.Hg, 500 micron or 2.4 barg",
        0.0,
        limit="absolute vacuum or more",
    ),
    Dimension("pressure_difference", "a pressure difference", "Pa", "5 psi, 0.3 bar or 0.4 in.WC"),
    Dimension(
        "temperature",
        "a temperature",
        "K",
        "95 F, -10 F or 35 C",
        math.nextafter(0.0, 1.0),
        limit="above absolute zero",
    ),
    Dimension("temperature_difference", "a temperature difference", "K", "10 F or 5.5 K"),
    Dimension("mass", "a mass", "kg", "1 lb 6 oz or 620 g", 0.0, limit=_NOT_NEGATIVE),
    Dimension("volume", "a volume", "m3", "0.25 ft3 or 7 L", 0.0, limit=_NOT_NEGATIVE),
    Dimension("length", "a length", "m", "10 ft 6 in, 1-1/8 in or 3.2 m"),
    Dimension("area", "an area", "m2", "4.5 ft2 or 0.42 m2", 0.0, limit=_NOT_NEGATIVE),
    Dimension("power", "a power or heat flow", "W", "7.5 kBtu/h, 0.6 ton or 2.2 kW"),
    Dimension("electric_power", "an electric power", "W", "1450 W or 2 hp"),
    Dimension("energy", "an energy", "J", "12 kWh or 900 Btu"),
    Dimension("flow", "a volume flow", "m3/s", "1200 cfm or 0.57 m3/s", 0.0, limit=_NOT_NEGATIVE),
    Dimension("mass_flow", "a mass flow", "kg/s", "150 lb/h or 19 g/s", 0.0, limit=_NOT_NEGATIVE),
    Dimension("speed", "a speed", "m/s", "450 fpm or 2.3 m/s", 0.0, limit=_NOT_NEGATIVE),
    Dimension("voltage", "a voltage", "V", "208 V"),
    Dimension("current", "a current", "A", "7.4 A"),
    Dimension("resistance", "a resistance", "ohm", "4.2 ohm or 20 Mohm", 0.0, limit=_NOT_NEGATIVE),
    Dimension("capacitance", "a capacitance", "F", "35 uF", 0.0, limit=_NOT_NEGATIVE),
    Dimension("frequency", "a frequency", "Hz", "60 Hz", 0.0, limit=_NOT_NEGATIVE),
    Dimension("time", "a time", "s", "1 h 20 min or 90 s", 0.0, limit=_NOT_NEGATIVE),
    Dimension("fraction", "a fraction", "1", "30 % or 0.3", 0.0, limit=_NOT_NEGATIVE),
    Dimension("humidity", "a relative humidity", "1", "60 % or 0.6", 0.0, 1.0, "0 to 100 %"),
    Dimension("density", "a density", "kg/m3", "70 lb/ft3 or 1120 kg/m3", 0.0, limit=_NOT_NEGATIVE),
    Dimension("specific_enthalpy", "an enthalpy", "J/kg", "105 Btu/lb or 240 kJ/kg"),
    Dimension("specific_entropy", "an entropy", "J/kgK", "0.4 Btu/lbF or 1.7 kJ/kgK"),
    Dimension("conductance", "a heat conductance", "W/K", "400 Btu/hF or 210 W/K", 0.0, limit=_NOT_NEGATIVE),
)

DIMENSIONS: Final[Mapping[str, Dimension]] = MappingProxyType({row.name: row for row in _ROWS})
"""Every dimension by name."""


def dimension(name: str) -> Dimension:
    """Return the dimension called ``name``; raise ``UnknownNameError`` with near names otherwise."""
    try:
        return DIMENSIONS[name]
    except KeyError:
        raise UnknownNameError("dimension", name, DIMENSIONS) from None
