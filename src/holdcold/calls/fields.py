"""Every field of a call file: one table for reading, validation, schema and documentation."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from holdcold.cards.form import Field
from holdcold.diagnosis.evidence import (
    BOX_TRENDS,
    CHECK_OUTCOMES,
    COMPLAINTS,
    REPAIR_OUTCOMES,
    STATES,
)


def _choice(path: str, choices: tuple[str, ...], meaning: str, *, required: bool = False) -> Field:
    return Field(path, "choice", meaning, f'"{choices[0]}"', choices=choices, required=required)


def _text(path: str, meaning: str, example: str, *, required: bool = False) -> Field:
    return Field(path, "text", meaning, f'"{example}"', required=required)


def _minutes(path: str, meaning: str, example: str) -> Field:
    return Field(path, "quantity", meaning, example, "time", "min", "0 min", "100000 min")


CALL_FIELDS: Final[tuple[Field, ...]] = (
    Field("schema", "integer", "Version of this form; always 1.", "1", low="1", high="1"),
    _text("name", "What people call this call.", "Cheese cooler, warm again"),
    _text("card", "File of the unit's card.", "cheese-cooler.toml"),
    _text("date", "Day of the call, year-month-day.", "2026-11-25"),
    _text("notes", "Anything worth keeping, as typed.", "Delivery this morning."),
    Field("demo", "flag", "Marks invented demonstration data, used in no check.", "true"),
    Field(
        "conditions.ambient", "quantity", "Air entering the condenser, measured.", '"95 F"',
        "temperature", None, "-60 F", "160 F",
    ),
    Field(
        "conditions.box", "quantity", "Air in the box, away from the coil.", '"38 F"',
        "temperature", None, "-80 F", "130 F",
    ),
    _choice("conditions.state", STATES, "What the machine is doing."),
    _minutes("conditions.minutes_in_state", "How long it has been doing that.", "25"),
    Field(
        "conditions.supply_voltage", "quantity", "Volts at the unit, running.", '"228 V"',
        "voltage", "V", "0 V", "800 V",
    ),
    _choice("conditions.complaint", COMPLAINTS, "What the customer called about."),
    _choice("conditions.box_trend", BOX_TRENDS, "Which way the box air is moving."),
    Field(
        "conditions.proved_good", "flag",
        "Every reading here was taken as the machine was left, proved good: it may sharpen the card.", "true",
    ),
)  # fmt: skip
"""Fields at the top of a call file and in ``[conditions]``."""

READING_FIELDS: Final[tuple[Field, ...]] = (
    _text("place", "Id of the place; `holdcold places` lists them.", "discharge_pa", required=True),
    _text("value", "What was read, with its unit.", "212 psig", required=True),
    _text(
        "instrument",
        "Class of instrument, and which one when there are several, for example clamp_thermocouple 2.",
        "gauge_digital",
    ),
    _minutes("at_minute", "Minutes after the first reading.", "4"),
    _text("note", "Anything about this reading.", "needle swings"),
)
"""Fields of one ``[[reading]]``."""

SIGHTING_FIELDS: Final[tuple[Field, ...]] = (
    _text("id", "Id of the sighting.", "evaporator_fans", required=True),
    _text("seen", "What was seen: a value of that sighting, or yes or no.", "yes", required=True),
    _text("note", "Anything about it.", "left one hums"),
)
"""Fields of one ``[[sighting]]``."""

CHECK_FIELDS: Final[tuple[Field, ...]] = (
    _text("id", "Id of the check; `holdcold checks` lists them.", "condenser_air", required=True),
    _choice("outcome", CHECK_OUTCOMES, "Done, or put off.", required=True),
    _text("reason", "Why not now.", "no ladder"),
    _text("note", "Anything about it.", "second try"),
)
"""Fields of one ``[[check]]``."""

REPAIR_FIELDS: Final[tuple[Field, ...]] = (
    _text("fault", "Id of the fault it would have removed.", "condenser_dirty", required=True),
    _choice("outcome", REPAIR_OUTCOMES, "What the machine then did.", required=True),
    _text("note", "Anything about it.", "washed from inside"),
)
"""Fields of one ``[[repair]]``."""

OVERRIDE_FIELDS: Final[tuple[Field, ...]] = (
    _text("guard", "Id of the guard set aside.", "gauges_on_small_charge", required=True),
    _text("reason", "Why, in your words; it stays on record.", "ports already fitted", required=True),
)
"""Fields of one ``[[override]]``."""

BIAS_FIELDS: Final[tuple[Field, ...]] = (
    _text("instrument", "The name the readings use.", "clamp_thermocouple 2", required=True),
    _text("offset", "How much too high it reads, with its unit.", "1.5 F", required=True),
    _text("note", "How that was found.", "ice bath"),
)
"""Fields of one ``[[bias]]``."""

LISTS: Final = MappingProxyType(
    {
        "reading": ("one number at one place", READING_FIELDS),
        "sighting": ("something seen, heard, smelt or felt", SIGHTING_FIELDS),
        "check": ("something done in order to learn, or put off", CHECK_FIELDS),
        "repair": ("what was mended, and what the machine then did", REPAIR_FIELDS),
        "override": ("a guard set aside, with the reason", OVERRIDE_FIELDS),
        "bias": ("what is known of an instrument", BIAS_FIELDS),
    }
)
"""Lists of a call file: name to (what one entry is, its fields)."""

SECTIONS: Final = MappingProxyType(
    {"": "the call", "conditions": "where the machine stood while it was read"}
)
"""Sections of a call file that are not lists."""
