"""Every unit that can be typed or shown: its SI size, its zero, and the ways people write it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from holdcold.quantities import constants as c

Datum = Literal["zero", "gauge", "vacuum"]
"""What a reading counts from: its own zero, up from ambient pressure, or down from ambient pressure."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of one dimension.

    ``symbol`` is shown; ``aliases`` are accepted too; ``scale`` is SI per unit; ``zero`` the SI value
    of a reading of 0; ``datum`` what a pressure counts from; ``customary`` marks US customary units;
    ``note`` is told to the person when the wording could have meant something else.
    """

    dimension: str
    symbol: str
    scale: float
    aliases: tuple[str, ...] = ()
    zero: float = 0.0
    datum: Datum = "zero"
    customary: bool = False
    note: str = ""

    def to_si(self, reading: float, ambient_pa: float) -> float:
        """Return the SI value of ``reading`` in this unit; ``ambient_pa`` [Pa] serves gauge units."""
        if self.datum == "gauge":
            return ambient_pa + reading * self.scale
        if self.datum == "vacuum":
            return ambient_pa - abs(reading) * self.scale
        return self.zero + reading * self.scale

    def from_si(self, value_si: float, ambient_pa: float) -> float:
        """Return the reading in this unit for an SI value; the inverse of ``to_si``."""
        if self.datum == "gauge":
            return (value_si - ambient_pa) / self.scale
        if self.datum == "vacuum":
            return (ambient_pa - value_si) / self.scale
        return (value_si - self.zero) / self.scale


def _rows(dimension: str, *rows: tuple[str, float, str] | tuple[str, float, str, bool]) -> list[Unit]:
    """Return units from (symbol, scale, aliases apart by spaces[, customary]) rows."""
    return [Unit(dimension, row[0], row[1], tuple(row[2].split()), customary=len(row) > 3) for row in rows]


_PRESSURE_BASES: Final = (
    # symbol, scale, other spellings, what the bare word means, customary, worth a note when bare
    ("psi", c.PSI_PA, "lb/in2 lbs/in2 pounds lbf/in2", "gauge", True, True),
    ("bar", 1e5, "bars", "zero", False, True),
    ("mbar", 100.0, "millibar hPa", "zero", False, False),
    ("kPa", 1e3, "kilopascal", "zero", False, True),
    ("MPa", 1e6, "megapascal", "zero", False, True),
    ("Pa", 1.0, "pascal pascals", "zero", False, False),
    (
        "in.Hg",
        c.INHG_PA,
        'inHg "Hg inchHg inchesHg inchesofmercury inchofmercury inmercury',
        "vacuum",
        True,
        False,
    ),
    ("mmHg", c.MMHG_PA, "mmofmercury", "zero", False, True),
    ("in.WC", c.INH2O_PA, 'inWC inH2O inwater "WC "H2O inWG "WG inchesofwater', "gauge", True, False),
)
_DATUM_WORDS: Final[Mapping[Datum, tuple[str, ...]]] = MappingProxyType(
    {
        "gauge": ("g", " gauge", " gage"),
        "zero": ("a", " abs", " absolute"),
        "vacuum": (" vac", " vacuum"),
    }
)
_DATUM_MEANING: Final[Mapping[Datum, str]] = MappingProxyType(
    {"gauge": "gauge pressure", "zero": "absolute pressure", "vacuum": "vacuum below ambient pressure"}
)


def _pressure_family(
    symbol: str, scale: float, spellings: str, bare: Datum, customary: bool, noted: bool
) -> Iterable[Unit]:
    """Yield gauge, absolute and vacuum forms of one pressure unit, the bare word included."""
    names = (symbol, *spellings.split())
    for datum, words in _DATUM_WORDS.items():
        shown, *others = [name + word for word in words for name in names]
        yield Unit("pressure", shown, scale, tuple(others), datum=datum, customary=customary)
    other = f"{symbol}a for absolute" if bare == "gauge" else f"{symbol}g for a gauge reading"
    note = f"{symbol} was taken as {_DATUM_MEANING[bare]}; write {other}" if noted else ""
    yield Unit("pressure", symbol, scale, names[1:], datum=bare, customary=customary, note=note)


def _pressures() -> list[Unit]:
    """Return every pressure unit; the always-absolute vacuum units have one form only."""
    units = [unit for base in _PRESSURE_BASES for unit in _pressure_family(*base)]
    units += [
        Unit(
            "pressure", "micron", c.MICRON_PA, ("microns", "um", "umHg", "mTorr", "micronHg"), customary=True
        ),
        Unit("pressure", "Torr", c.TORR_PA, ("torrs",)),
        Unit("pressure", "atm", c.STANDARD_ATMOSPHERE_PA, ("atmosphere", "atmospheres")),
    ]
    return units


def _pressure_differences() -> list[Unit]:
    """Return the pressure units without a datum, for drops and rises."""
    units = [
        Unit("pressure_difference", symbol, scale, (*spellings.split(), symbol + "d"), customary=customary)
        for symbol, scale, spellings, _, customary, _ in _PRESSURE_BASES
    ]
    return [*units, Unit("pressure_difference", "micron", c.MICRON_PA, ("microns", "um"), customary=True)]


_FAHRENHEIT: Final = ("F", "fahrenheit", "degF")
_CELSIUS: Final = ("C", "celsius", "centigrade", "degC")
_KELVIN: Final = ("kelvin", "kelvins", "degK")
_RANKINE: Final = ("R", "rankine", "degR", "Ra")


def _temperatures() -> list[Unit]:
    """Return temperatures, and temperature differences, which never get an offset."""
    absolute, difference = "temperature", "temperature_difference"
    return [
        Unit(absolute, "°F", c.RANKINE_K, _FAHRENHEIT, zero=c.FAHRENHEIT_ZERO_K, customary=True),
        Unit(absolute, "°C", 1.0, _CELSIUS, zero=c.ICE_POINT_K),
        Unit(absolute, "K", 1.0, _KELVIN),
        Unit(absolute, "°R", c.RANKINE_K, _RANKINE, customary=True),
        Unit(difference, "°F", c.RANKINE_K, (*_FAHRENHEIT, "deltaF", "FTD"), customary=True),
        Unit(difference, "°C", 1.0, (*_CELSIUS, "deltaC")),
        Unit(difference, "K", 1.0, (*_KELVIN, "deltaK", "KTD")),
        Unit(difference, "°R", c.RANKINE_K, _RANKINE, customary=True),
    ]


_POWER_ROWS: Final = (
    ("W", 1.0, "watt watts"),
    ("kW", 1e3, "kilowatt kilowatts"),
    ("Btu/h", c.BTU_H_W, "Btu/hr BtuH Btuhr Btu/hour", True),
    ("kBtu/h", 1e3 * c.BTU_H_W, "kBtu/hr kBtuH MBH kBtuhr", True),
    ("hp", c.HORSEPOWER_W, "horsepower", True),
    ("ton", c.TON_W, "tons TR RT tonsofrefrigeration tonofrefrigeration", True),
    ("kcal/h", c.KCAL_H_W, "kcal/hr"),
)


def _geometry() -> list[Unit]:
    """Return lengths, areas and volumes."""
    return [
        *_rows(
            "length",
            ("m", 1.0, "meter meters metre metres"),
            ("cm", 0.01, ""),
            ("mm", 1e-3, ""),
            ("km", 1e3, ""),
            ("ft", c.FOOT_M, "' foot feet", True),
            ("in", c.INCH_M, '" inch inches', True),
        ),
        *_rows(
            "area",
            ("m2", 1.0, "sqm"),
            ("cm2", 1e-4, "sqcm"),
            ("ft2", c.FOOT_M**2, "sqft", True),
            ("in2", c.INCH_M**2, "sqin", True),
        ),
        *_rows(
            "volume",
            ("m3", 1.0, "cum"),
            ("L", 1e-3, "liter liters litre litres"),
            ("mL", 1e-6, "cc cm3 ccm"),
            ("ft3", c.CUBIC_FOOT_M3, "cuft cf", True),
            ("in3", c.CUBIC_INCH_M3, "cuin", True),
            ("gal", c.GALLON_M3, "gallon gallons usgal", True),
            ("fl.oz", c.FLUID_OUNCE_M3, "floz fluidounce fluidounces", True),
        ),
    ]


def _flows() -> list[Unit]:
    """Return volume flows, mass flows, speeds and times."""
    return [
        *_rows(
            "flow",
            ("m3/s", 1.0, ""),
            ("m3/h", 1.0 / 3600.0, "m3/hr cmh"),
            ("L/s", 1e-3, "lps"),
            ("L/min", 1e-3 / 60.0, "lpm"),
            ("cfm", c.CFM_M3_S, "ft3/min cuft/min", True),
            ("gpm", c.GALLON_M3 / 60.0, "gal/min", True),
        ),
        *_rows(
            "mass_flow",
            ("kg/s", 1.0, ""),
            ("g/s", 1e-3, ""),
            ("kg/h", 1.0 / 3600.0, "kg/hr"),
            ("lb/h", c.POUND_KG / 3600.0, "lb/hr lbs/h lbs/hr pph", True),
            ("lb/min", c.POUND_KG / 60.0, "lbs/min", True),
        ),
        *_rows("speed", ("m/s", 1.0, ""), ("fpm", c.FOOT_M / 60.0, "ft/min", True)),
        *_rows(
            "time",
            ("s", 1.0, "sec secs second seconds"),
            ("min", 60.0, "mins minute minutes"),
            ("h", 3600.0, "hr hrs hour hours"),
            ("d", 86400.0, "day days"),
        ),
    ]


def _electrical() -> list[Unit]:
    """Return electrical quantities; MFD on a capacitor's label is the trade's microfarad."""
    return [
        *_rows(
            "voltage", ("V", 1.0, "volt volts VAC VDC"), ("mV", 1e-3, "millivolt millivolts"), ("kV", 1e3, "")
        ),
        *_rows(
            "current",
            ("A", 1.0, "amp amps ampere amperes AAC"),
            ("mA", 1e-3, "milliamp milliamps"),
            ("uA", 1e-6, "microamp microamps"),
        ),
        *_rows(
            "resistance",
            ("ohm", 1.0, "ohms Ω"),
            ("kohm", 1e3, "kohms kΩ"),
            ("Mohm", 1e6, "Mohms MΩ megohm megohms"),
            ("mohm", 1e-3, "mohms mΩ milliohm milliohms"),
        ),
        *_rows(
            "capacitance",
            ("uF", 1e-6, "mfd microfarad microfarads"),
            ("nF", 1e-9, ""),
            ("F", 1.0, "farad farads"),
        ),
        *_rows("frequency", ("Hz", 1.0, "hertz cps")),
        *_rows("electric_power", *_POWER_ROWS),
    ]


def _heat() -> list[Unit]:
    """Return heat flows, energies and the specific properties of refrigerants."""
    per_lb = c.BTU_J / c.POUND_KG
    return [
        *_rows("power", *_POWER_ROWS),
        *_rows(
            "energy",
            ("J", 1.0, "joule joules"),
            ("kJ", 1e3, ""),
            ("MJ", 1e6, ""),
            ("Wh", 3600.0, ""),
            ("kWh", 3.6e6, ""),
            ("Btu", c.BTU_J, "btus", True),
        ),
        *_rows("density", ("kg/m3", 1.0, ""), ("lb/ft3", c.POUND_KG / c.CUBIC_FOOT_M3, "lbs/ft3", True)),
        *_rows(
            "specific_enthalpy", ("J/kg", 1.0, ""), ("kJ/kg", 1e3, ""), ("Btu/lb", per_lb, "Btu/lbm", True)
        ),
        *_rows(
            "specific_entropy",
            ("J/kgK", 1.0, "J/(kgK) J/kg/K"),
            ("kJ/kgK", 1e3, "kJ/(kgK) kJ/kg/K"),
            ("Btu/lbF", per_lb / c.RANKINE_K, "Btu/lbR Btu/(lbF) Btu/lb/F", True),
        ),
        *_rows(
            "conductance",
            ("W/K", 1.0, ""),
            ("kW/K", 1e3, ""),
            ("Btu/hF", c.BTU_H_W / c.RANKINE_K, "Btu/hrF Btu/h/F BtuH/F", True),
        ),
    ]


def _everything() -> list[Unit]:
    """Return all units of all dimensions; a spelling may serve several dimensions."""
    return [
        *_pressures(),
        *_pressure_differences(),
        *_temperatures(),
        *_geometry(),
        *_flows(),
        *_electrical(),
        *_heat(),
        *_rows(
            "mass",
            ("kg", 1.0, "kilo kilos kilogram kilograms"),
            ("g", 1e-3, "gram grams"),
            ("lb", c.POUND_KG, "lbs pound pounds lbm #", True),
            ("oz", c.OUNCE_KG, "ounce ounces ozs", True),
        ),
        *_rows("fraction", ("%", 0.01, "percent pct"), ("", 1.0, "")),
        *_rows("humidity", ("%", 0.01, "percent pct %RH RH% %rh"), ("", 1.0, "")),
    ]


_IGNORED: Final = re.compile(r"[\s.^*·_°()]+")
_DEGREES: Final = re.compile(r"^deg(?:rees|ree|s)?(?=[fckr])", re.IGNORECASE)


def unit_key(written: str) -> str:
    """Return ``written`` without the marks people leave out or put in: spaces, dots, degree signs."""
    key = _IGNORED.sub("", written.strip().replace(" per ", "/").replace("''", '"'))
    return _DEGREES.sub("", key)


def _index(units: Iterable[Unit], *, folded: bool) -> Mapping[tuple[str, str], tuple[Unit, ...]]:
    """Return units by (dimension, key), with case folded or kept; several units may share a folded key."""
    found: dict[tuple[str, str], tuple[Unit, ...]] = {}
    for unit in units:
        for name in (unit.symbol, *unit.aliases):
            key = unit_key(name)
            place = (unit.dimension, key.lower() if folded else key)
            if unit not in found.get(place, ()):
                found[place] = (*found.get(place, ()), unit)
    return MappingProxyType(found)


UNITS: Final = tuple(_everything())
"""Every unit of every dimension."""

_EXACT: Final = _index(UNITS, folded=False)
_FOLDED: Final = _index(UNITS, folded=True)


def units_written(written: str, dimension: str) -> tuple[Unit, ...]:
    """Return the units of ``dimension`` that ``written`` may mean: none, one, or several (case unclear)."""
    key = unit_key(written)
    return _EXACT.get((dimension, key)) or _FOLDED.get((dimension, key.lower()), ())


def unit(symbol: str, dimension: str) -> Unit:
    """Return the one unit of ``dimension`` written as ``symbol``; ``LookupError`` if none or several."""
    found = units_written(symbol, dimension)
    if len(found) != 1:
        raise LookupError(f"{symbol!r} names {len(found)} units of {dimension}")
    return found[0]
