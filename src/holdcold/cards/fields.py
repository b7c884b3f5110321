"""Every field of a card: one table for reading, validation, schema and documentation."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from holdcold.cards.form import Field, FieldKind

SECTIONS: Final = MappingProxyType(
    {
        "": "the unit",
        "box": "the refrigerated room or cabinet",
        "capacity": "any one statement of how big the machine is",
        "compressor": "the compressor",
        "ahri_540": "the compressor's published ten-coefficient curves (AHRI Standard 540)",
        "supply": "the electrical supply",
        "condenser": "the air-cooled condenser",
        "head": "how head pressure is held up in the cold",
        "receiver": "the liquid receiver",
        "lines": "liquid and suction line",
        "expansion": "what feeds the coil",
        "coil": "the evaporator",
        "controls": "set points as they are set",
        "regulators": "valves that hold a pressure on the low side",
        "charge": "refrigerant in the unit",
        "defrost": "how the coil is cleared of ice",
        "site": "where the unit stands",
        "product": "what is kept",
        "doors": "doors of the box",
        "insulation": "walls of the box",
    }
)
"""Sections of a card in the order they are written."""

CAPACITY_STATEMENTS: Final = ("rated", "horsepower", "model", "rated_amps", "unknown")
"""Keys of ``[capacity]`` any one of which states the machine's size."""


def _measure(
    path: str,
    dimension: str,
    low: str,
    high: str,
    meaning: str,
    example: str,
    default_unit: str | None = None,
) -> Field:
    return Field(path, "quantity", meaning, f'"{example}"', dimension, default_unit, low, high)


def _words(path: str, choices: str, meaning: str, *, required: bool = False) -> Field:
    words = tuple(choices.split())
    return Field(path, "choice", meaning, f'"{words[0]}"', choices=words, required=required)


def _plain(path: str, kind: FieldKind, meaning: str, example: str, low: str = "", high: str = "") -> Field:
    return Field(path, kind, meaning, example, low=low, high=high)


_UNIT: Final = (
    _plain("schema", "integer", "Version of this form; always 1.", "1", "1", "1"),
    _plain("name", "text", "What people call the unit.", '"Cheese cooler"'),
    _words("kind", "walk_in reach_in", "A room one walks into, or a cabinet.", required=True),
    Field("refrigerant", "text", "Refrigerant on the plate or label.", '"R-449A"', required=True),
    _words("application", "cooler freezer", "Kept above or below freezing.", required=True),
    _plain("notes", "text", "Anything worth keeping, as typed.", '"Unit replaced in spring."'),
    _plain("plate_photo", "text", "File name or address of a photo of the plate.", '"plate.jpg"'),
    _plain("demo", "flag", "Marks invented demonstration data, used in no check.", "true"),
)

_BOX: Final = (
    _measure("box.length", "length", "1 ft", "150 ft", "Outside length of the box.", "10 ft"),
    _measure("box.width", "length", "1 ft", "150 ft", "Outside width of the box.", "8 ft"),
    _measure("box.height", "length", "1 ft", "40 ft", "Outside height of the box.", "8 ft"),
    _measure("box.volume", "volume", "2 ft3", "60000 ft3", "Volume of the box, if not its sides.", "640 ft3"),
    _measure("box.surroundings", "temperature", "20 F", "130 F", "Air around the box in summer.", "85 F"),
)

_CAPACITY: Final = (
    _measure(
        "capacity.rated", "power", "500 Btu/h", "340 kBtu/h", "Rated refrigerating capacity.", "9.2 kBtu/h"
    ),
    _measure(
        "capacity.suction", "temperature", "-55 F", "55 F", "Suction dew temperature of that rating.", "25 F"
    ),
    _measure(
        "capacity.condensing",
        "temperature",
        "60 F",
        "140 F",
        "Condensing dew temperature of that rating.",
        "110 F",
    ),
    _measure(
        "capacity.ambient",
        "temperature",
        "40 F",
        "120 F",
        "Air entering the condenser at that rating.",
        "95 F",
    ),
    _measure(
        "capacity.return_gas",
        "temperature",
        "-40 F",
        "100 F",
        "Gas at the compressor inlet at that rating.",
        "41 F",
    ),
    _measure(
        "capacity.power", "electric_power", "50 W", "60 kW", "Compressor input at that rating.", "1.4 kW"
    ),
    _measure(
        "capacity.horsepower",
        "electric_power",
        "0.08 hp",
        "60 hp",
        "Compressor horsepower as people call it.",
        "1.5 hp",
        "hp",
    ),
    _plain("capacity.model", "text", "Model on the plate; kept as typed, it decides no size.", '"ABC-0150"'),
    _measure(
        "capacity.rated_amps",
        "current",
        "0.5 A",
        "150 A",
        "Rated load amps of the compressor; needs supply voltage and phases.",
        "8.6 A",
        "A",
    ),
    _plain("capacity.unknown", "flag", "True: nobody knows, size it from the box.", "true"),
)

_COMPRESSOR: Final = (
    _words("compressor.kind", "hermetic semi_hermetic scroll", "How the compressor is built."),
    _measure(
        "compressor.injection",
        "temperature",
        "150 F",
        "275 F",
        "Discharge temperature that liquid injection holds.",
        "225 F",
    ),
    _plain("compressor.drive", "flag", "Whether a variable-speed drive feeds it.", "true"),
    _plain("ahri_540.power", "numbers", "Ten coefficients of the input power.", "[1.0, 2.0]"),
    _plain("ahri_540.mass_flow", "numbers", "Ten coefficients of the mass flow.", "[1.0, 2.0]"),
    _plain("ahri_540.capacity", "numbers", "Ten coefficients of the capacity.", "[1.0, 2.0]"),
    _plain("ahri_540.current", "numbers", "Ten coefficients of the current [A].", "[1.0, 2.0]"),
    Field("ahri_540.temperature_unit", "text", "Unit of both dew temperatures: K, C or F.", '"F"'),
    Field("ahri_540.mass_flow_unit", "text", "kg/s, kg/h, g/s or lb/h.", '"lb/h"'),
    Field("ahri_540.power_unit", "text", "W, kW or Btu/h.", '"W"'),
    Field("ahri_540.capacity_unit", "text", "W, kW or Btu/h.", '"Btu/h"'),
    _measure(
        "ahri_540.return_gas",
        "temperature",
        "-40 F",
        "100 F",
        "Gas at the inlet the curves were taken with.",
        "65 F",
    ),
    _measure(
        "ahri_540.superheat",
        "temperature_difference",
        "0 F",
        "100 F",
        "Superheat at the inlet the curves were taken with, if not a fixed gas temperature.",
        "20 F",
    ),
    _measure(
        "ahri_540.subcooling",
        "temperature_difference",
        "0 F",
        "60 F",
        "Subcooling the capacity was stated with.",
        "0 F",
    ),
    _measure("ahri_540.suction_low", "temperature", "-60 F", "60 F", "Lowest suction published.", "-40 F"),
    _measure("ahri_540.suction_high", "temperature", "-60 F", "70 F", "Highest suction published.", "0 F"),
    _measure(
        "ahri_540.condensing_low", "temperature", "30 F", "160 F", "Lowest condensing dew published.", "70 F"
    ),
    _measure(
        "ahri_540.condensing_high",
        "temperature",
        "30 F",
        "170 F",
        "Highest condensing dew published.",
        "120 F",
    ),
    _measure("supply.voltage", "voltage", "90 V", "700 V", "Nominal supply.", "230 V", "V"),
    _plain("supply.phases", "integer", "1 or 3.", "1", "1", "3"),
)

_HIGH_SIDE: Final = (
    _words("condenser.location", "indoor outdoor roof", "Where the condensing unit stands."),
    _plain("condenser.fans", "integer", "Number of condenser fans.", "1", "1", "12"),
    _measure(
        "condenser.split",
        "temperature_difference",
        "4 F",
        "60 F",
        "Condensing dew minus entering air when clean, at rating.",
        "20 F",
    ),
    _measure("condenser.airflow", "flow", "20 cfm", "60000 cfm", "Air with every fan running.", "1000 cfm"),
    _measure("condenser.volume", "volume", "2 in3", "5 ft3", "Volume inside its tubes.", "45 in3"),
    _measure("condenser.fan_power", "electric_power", "4 W", "10 kW", "Input of all its fans.", "130 W"),
    _words(
        "head.control",
        "none fan_cycling fan_speed flooding_valve",
        "How head pressure is held up in the cold.",
    ),
    _measure("head.fan_on", "pressure", "10 psig", "700 psig", "Head where cycled fans start.", "250 psig"),
    _measure("head.fan_off", "pressure", "5 psig", "700 psig", "Head where cycled fans stop.", "205 psig"),
    _plain("head.fans_cycled", "integer", "How many fans that control may stop.", "1", "1", "12"),
    _measure(
        "head.setting",
        "pressure",
        "20 psig",
        "500 psig",
        "Head that a flooding valve or a fan speed control holds.",
        "180 psig",
    ),
    _plain("receiver.fitted", "flag", "Whether there is a receiver.", "true"),
    _measure("receiver.volume", "volume", "5 in3", "20 ft3", "Volume of the receiver.", "160 in3"),
    _measure("receiver.fill", "fraction", "2 %", "95 %", "Liquid share at design conditions.", "35 %"),
    _measure("lines.length", "length", "1 ft", "500 ft", "Pipe run, one way.", "25 ft"),
    _measure(
        "lines.lift", "length", "-60 ft", "60 ft", "Expansion valve above receiver; minus when below.", "6 ft"
    ),
    _measure(
        "lines.liquid_size", "length", "0.2 in", "2.7 in", "Outside diameter of the liquid line.", "3/8 in"
    ),
    _measure(
        "lines.suction_size", "length", "0.2 in", "2.7 in", "Outside diameter of the suction line.", "7/8 in"
    ),
    _measure("lines.accumulator", "volume", "5 in3", "5 ft3", "Volume of a suction accumulator.", "90 in3"),
    _measure(
        "lines.exchanger", "fraction", "1 %", "60 %", "Effectiveness of a liquid-suction exchanger.", "30 %"
    ),
)

_LOW_SIDE: Final = (
    _words("expansion.device", "txv eev capillary", "Thermostatic or electronic valve, or capillary tube."),
    _measure(
        "expansion.superheat",
        "temperature_difference",
        "2 F",
        "25 F",
        "Coil superheat the valve was set for.",
        "8 F",
    ),
    Field(
        "expansion.reserve",
        "number",
        "Largest valve flow over the flow at rating.",
        "1.3",
        low="1.02",
        high="3",
    ),
    _measure(
        "expansion.subcooling",
        "temperature_difference",
        "0 F",
        "40 F",
        "Subcooling a capillary unit was charged for.",
        "10 F",
    ),
    _measure("coil.capacity", "power", "500 Btu/h", "340 kBtu/h", "Coil capacity at its TD.", "9 kBtu/h"),
    _measure(
        "coil.td",
        "temperature_difference",
        "3 F",
        "45 F",
        "Air entering the coil minus coil dew at rating.",
        "10 F",
    ),
    _plain("coil.fans", "integer", "Number of coil fans.", "2", "1", "12"),
    _measure("coil.airflow", "flow", "20 cfm", "40000 cfm", "Air with every fan running.", "1200 cfm"),
    _measure("coil.fan_power", "electric_power", "2 W", "10 kW", "Input of all its fans.", "120 W"),
    _measure("coil.volume", "volume", "2 in3", "5 ft3", "Volume inside its tubes.", "120 in3"),
    _measure("controls.set_point", "temperature", "-50 F", "65 F", "Box temperature it keeps.", "36 F"),
    _measure(
        "controls.low_cut_in",
        "pressure",
        "10 in.Hg",
        "120 psig",
        "Low-pressure control closes here.",
        "25 psig",
    ),
    _measure(
        "controls.low_cut_out",
        "pressure",
        "20 in.Hg",
        "110 psig",
        "Low-pressure control opens here.",
        "5 psig",
    ),
    _words("controls.low_role", "safety pump_down thermostat", "What the low-pressure control is for."),
    _measure(
        "controls.high_cut_out",
        "pressure",
        "80 psig",
        "700 psig",
        "High-pressure safety opens here.",
        "400 psig",
    ),
    _measure(
        "regulators.evaporator",
        "pressure",
        "5 in.Hg",
        "150 psig",
        "Coil pressure an evaporator-pressure regulator holds.",
        "40 psig",
    ),
    _measure(
        "regulators.crankcase",
        "pressure",
        "5 in.Hg",
        "150 psig",
        "Suction a crankcase-pressure regulator does not let through above.",
        "25 psig",
    ),
    _measure("charge.amount", "mass", "1 oz", "500 lb", "Right charge by weight.", "6 lb 4 oz"),
    _plain("charge.ports", "flag", "Whether there are service ports for gauges.", "true"),
    _words("defrost.kind", "none off_cycle electric hot_gas", "How the coil is defrosted."),
    _plain("defrost.per_day", "integer", "Defrosts a day.", "4", "0", "24"),
    _measure("defrost.minutes", "time", "1 min", "120 min", "Longest defrost (fail-safe).", "30 min", "min"),
    _measure("defrost.terminate", "temperature", "30 F", "100 F", "Coil temperature that ends it.", "55 F"),
    _measure("defrost.heater_power", "electric_power", "50 W", "40 kW", "Heaters together.", "2.4 kW"),
)

_PLACE: Final = (
    _measure("site.altitude", "length", "-1500 ft", "14000 ft", "Height above sea level.", "900 ft"),
    _measure("site.coldest", "temperature", "-60 F", "100 F", "Coldest air at the condensing unit.", "-10 F"),
    _plain("product.what", "text", "What is kept.", '"cheese"'),
    _measure("product.mass", "mass", "1 lb", "400000 lb", "How much is usually kept.", "900 lb"),
    _plain("doors.count", "integer", "Number of doors.", "1", "0", "40"),
    _measure("doors.width", "length", "0.5 ft", "20 ft", "Width of a door.", "3 ft"),
    _measure("doors.height", "length", "0.5 ft", "20 ft", "Height of a door.", "6.5 ft"),
    _plain("doors.openings_per_day", "integer", "Openings a day.", "60", "0", "5000"),
    Field("insulation.r_value", "number", "R of walls and ceiling [h ft2 F/Btu].", "25", low="2", high="80"),
)

CARD_FIELDS: Final[tuple[Field, ...]] = (
    *_UNIT,
    *_BOX,
    *_CAPACITY,
    *_COMPRESSOR,
    *_HIGH_SIDE,
    *_LOW_SIDE,
    *_PLACE,
)
"""Every field of a card, in the order of its sections."""
