"""Showing SI values in the units and with the digits that a person reads on instruments.

What is shown can be typed back: ``parse`` understands every text that ``format_quantity`` makes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from holdcold.errors import InputError, UnknownNameError
from holdcold.quantities import constants as c
from holdcold.quantities.dimensions import dimension as dimension_named
from holdcold.quantities.units import unit

DEEP_VACUUM_PA: Final = 20_000.0 * c.MICRON_PA
"""Absolute pressure [Pa] below which a vacuum gauge's unit is shown, 20 000 micron: where they begin."""

_Row = tuple[float, str, int]
"""(magnitudes below this SI value, are shown in this unit, with this many decimals)."""

_ALL: Final = math.inf
_SHARED: Final[Mapping[str, tuple[_Row, ...]]] = MappingProxyType(
    {
        "electric_power": ((1e4, "W", 0), (_ALL, "kW", 2)),
        "voltage": ((_ALL, "V", 1),),
        "current": ((_ALL, "A", 1),),
        "resistance": ((1e3, "ohm", 1), (1e6, "kohm", 1), (_ALL, "Mohm", 1)),
        "capacitance": ((_ALL, "uF", 1),),
        "frequency": ((_ALL, "Hz", 1),),
        "fraction": ((_ALL, "%", 0),),
        "humidity": ((_ALL, "%", 0),),
    }
)
_US_ROWS: Final[Mapping[str, tuple[_Row, ...]]] = MappingProxyType(
    {
        **_SHARED,
        "pressure_difference": ((10.0 * c.PSI_PA, "psi", 2), (_ALL, "psi", 1)),
        "temperature": ((_ALL, "°F", 1),),
        "temperature_difference": ((_ALL, "°F", 1),),
        "length": ((3.0 * c.FOOT_M, "in", 3), (100.0 * c.FOOT_M, "ft", 1), (_ALL, "ft", 0)),
        "area": ((_ALL, "ft2", 1),),
        "volume": ((0.5 * c.CUBIC_FOOT_M3, "in3", 0), (_ALL, "ft3", 1)),
        "power": ((_ALL, "Btu/h", 0),),
        "energy": ((_ALL, "Btu", 0),),
        "flow": ((_ALL, "cfm", 0),),
        "mass_flow": ((_ALL, "lb/h", 1),),
        "speed": ((_ALL, "fpm", 0),),
        "density": ((_ALL, "lb/ft3", 2),),
        "specific_enthalpy": ((_ALL, "Btu/lb", 2),),
        "specific_entropy": ((_ALL, "Btu/lbF", 4),),
        "conductance": ((_ALL, "Btu/hF", 0),),
    }
)
_SI_ROWS: Final[Mapping[str, tuple[_Row, ...]]] = MappingProxyType(
    {
        **_SHARED,
        "pressure_difference": ((_ALL, "kPa", 1),),
        "temperature": ((_ALL, "°C", 1),),
        "temperature_difference": ((_ALL, "K", 1),),
        "mass": ((1.0, "g", 0), (_ALL, "kg", 2)),
        "length": ((1.0, "mm", 1), (_ALL, "m", 2)),
        "area": ((_ALL, "m2", 2),),
        "volume": ((0.1, "L", 1), (_ALL, "m3", 2)),
        "power": ((1e4, "W", 0), (_ALL, "kW", 2)),
        "energy": ((1e6, "kJ", 1), (_ALL, "MJ", 2)),
        "flow": ((_ALL, "m3/h", 0),),
        "mass_flow": ((_ALL, "g/s", 1),),
        "speed": ((_ALL, "m/s", 1),),
        "density": ((_ALL, "kg/m3", 1),),
        "specific_enthalpy": ((_ALL, "kJ/kg", 2),),
        "specific_entropy": ((_ALL, "kJ/kgK", 4),),
        "conductance": ((_ALL, "W/K", 0),),
    }
)
_ROWS: Final = MappingProxyType({"us": _US_ROWS, "si": _SI_ROWS})


@dataclass(frozen=True, slots=True)
class UnitPreference:
    """The units a person reads, passed to whatever shows a number.

    name: "us" (psig, in.Hg vacuum, °F, lb and oz, Btu/h) or "si" (barg, °C, kg, W).
    ambient_pa: air pressure [Pa, absolute] that shown gauge pressures count from, above zero.
    """

    name: str
    ambient_pa: float = c.STANDARD_ATMOSPHERE_PA

    def __post_init__(self) -> None:
        """Refuse a name without a set of units and an air pressure that cannot be."""
        if self.name not in _ROWS:
            raise UnknownNameError("units", self.name, _ROWS)
        if not 0.0 < self.ambient_pa < math.inf:
            raise InputError("ambient_pa", self.ambient_pa, "above 0 Pa", "Give the absolute air pressure.")

    def at(self, ambient_pa: float) -> UnitPreference:
        """Return the same units for gauges that stand in air of ``ambient_pa`` [Pa, absolute]."""
        return replace(self, ambient_pa=ambient_pa)


US: Final = UnitPreference("us")
"""US trade units at sea level."""

SI: Final = UnitPreference("si")
"""SI units (gauge pressures in barg) at sea level."""


def format_quantity(
    value_si: float, dimension: str, preference: UnitPreference, digits: int | None = None
) -> str:
    """Return a quantity as text in the preferred units, unit included.

    value_si: the value in SI units; a pressure is absolute.
    dimension: its kind, a name in ``DIMENSIONS``.
    preference: whose units; it carries the air pressure that gauge readings count from.
    digits: decimals (of the ounces, for a mass in pounds); None for trade precision, that is what
        a person would read off the instrument.
    Raises: ``UnknownNameError`` for an unknown dimension, ``InputError`` for a value that is not finite.
    """
    dimension_named(dimension)
    if not math.isfinite(value_si):
        raise InputError(
            dimension, value_si, "a finite number", "A value that is not known must be left out."
        )
    if dimension == "time":
        return _time(value_si, digits)
    if dimension == "mass" and preference.name == "us":
        return _pounds_and_ounces(value_si, 1 if digits is None else digits)
    if dimension == "pressure":
        symbol, decimals = _pressure_row(value_si, preference)
    else:
        rows = _ROWS[preference.name][dimension]
        symbol, decimals = next((row[1], row[2]) for row in rows if abs(value_si) < row[0])
    reading = unit(symbol, dimension).from_si(value_si, preference.ambient_pa)
    return f"{_number(reading, decimals if digits is None else digits)} {symbol}"


def _pressure_row(value_pa: float, preference: UnitPreference) -> tuple[str, int]:
    """Return unit and decimals for an absolute pressure: gauge, vacuum, or deep vacuum."""
    if value_pa < DEEP_VACUUM_PA:
        return ("micron", 0) if preference.name == "us" else ("Pa", 1)
    if preference.name == "si":
        return "barg", 2
    if value_pa < preference.ambient_pa:
        return "in.Hg vac", 1
    return "psig", 1 if value_pa - preference.ambient_pa < 100.0 * c.PSI_PA else 0


def _number(reading: float, decimals: int) -> str:
    """Return ``reading`` with so many decimals, never as a negative zero."""
    text = f"{reading:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def _pounds_and_ounces(mass_kg: float, decimals: int) -> str:
    """Return a mass as pounds and ounces, rounded as ounces so that 15.96 oz never shows as 16.0 oz."""
    ounces = round(abs(mass_kg) / c.OUNCE_KG, decimals)
    pounds = int(ounces // 16.0)
    sign = "-" if mass_kg < 0.0 and ounces > 0.0 else ""
    rest = _number(ounces - 16.0 * pounds, decimals)
    return f"{sign}{pounds} lb {rest} oz" if pounds else f"{sign}{rest} oz"


def _time(seconds: float, digits: int | None) -> str:
    """Return a time as seconds, minutes, hours and minutes, or days and hours."""
    if digits is not None or abs(seconds) < 120.0:
        return f"{_number(seconds, digits or 0)} s"
    minutes = round(abs(seconds) / 60.0)
    sign = "-" if seconds < 0.0 else ""
    if minutes < 60:
        return f"{sign}{minutes} min"
    if minutes < 48 * 60:
        return f"{sign}{minutes // 60} h {minutes % 60} min"
    hours = round(minutes / 60.0)
    return f"{sign}{hours // 24} d {hours % 24} h"
