"""Every kind of entry and the versions of its form: the one table that validation and schemas come from.

A new version is added beside the old one, never in its place: what was entered under version 1 is read under
version 1 for ever. Words and amounts are kept as they were typed; SI values are worked out by the views.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Any, Final

from holdcold.calls.entries.body_form import BodyField
from holdcold.calls.entries.kind_fields import (
    APPROVAL,
    CHECK,
    CLOSE,
    COMPLAINT,
    CONCLUSION,
    FOLLOW_UP,
    INSTRUMENT,
    NOTE,
    OIL,
    OPENED,
    OVERRIDE,
    PART,
    PHOTO,
    READING,
    REDACTION,
    REFRIGERANT,
    SET_POINT,
    SIGHTING,
    STATE,
    TEMPORARY_MADE,
    TEMPORARY_RESTORED,
    TIME,
    TRACE,
    WITHDRAWAL,
    WORK,
)  # fmt: skip
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.errors import InputError, UnknownNameError
from holdcold.quantities import instrument, parse

Rule = Callable[[Mapping[str, Any], Catalogue], Iterator[InputError]]
"""Checks what one field alone cannot say; called only when every field by itself is in order."""


@dataclass(frozen=True, slots=True)
class Form:
    """One version of one kind: its fields, and rules between them."""

    fields: tuple[BodyField, ...]
    rules: tuple[Rule, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of entry.

    name: the word in the envelope. meaning: one sentence. versions: its forms; version 1 is the first.
    amounts: a legal amount: never corrected or redacted, only reversed. only: the part of the envelope
    (``corrects`` or ``redacts``) without which an entry of this kind says nothing.
    """

    name: str
    meaning: str
    versions: tuple[Form, ...]
    amounts: bool = False
    only: str = ""


DEFAULT_UNITS: Final[Mapping[str, str]] = MappingProxyType(
    {"voltage": "V", "current": "A", "electric_power": "W"}
)
"""Units that may be left out of a reading, because there is one usual one."""


def _reading_rule(body: Mapping[str, Any], catalogue: Catalogue) -> Iterator[InputError]:
    dimension = catalogue.places[body["place"]].dimension
    try:
        parse(body["value"], dimension, field="value", default_unit=DEFAULT_UNITS.get(dimension))
    except InputError as problem:
        yield problem


def _sighting_rule(body: Mapping[str, Any], catalogue: Catalogue) -> Iterator[InputError]:
    allowed = (*catalogue.sightings[body["id"]].values, "not_looked")
    if body["seen"] not in allowed:
        yield UnknownNameError("seen", body["seen"], allowed)


def _check_rule(body: Mapping[str, Any], catalogue: Catalogue) -> Iterator[InputError]:
    del catalogue
    if body["outcome"] == "not_now" and not body.get("reason", "").strip():
        yield InputError("reason", "nothing", "the reason in a few words", "Write why not now.")


def _work_rule(body: Mapping[str, Any], catalogue: Catalogue) -> Iterator[InputError]:
    del catalogue
    if "outcome" in body and "fault" not in body:
        yield InputError("fault", "nothing", "an id of the catalogue's faults", "Say which fault it was for.")


def _trace_rule(body: Mapping[str, Any], catalogue: Catalogue) -> Iterator[InputError]:
    times, values = body["seconds"], body["values"]
    if len(times) != len(values) or not times:
        words = f"{len(times)} times and {len(values)} values"
        yield InputError("values", words, "as many values as times", "Send both lists whole.")
    elif any(later <= earlier for earlier, later in pairwise(times)):
        yield InputError("seconds", "out of order", "rising", "Send the points in the order of time.")
    dimension = catalogue.places[body["place"]].dimension
    try:
        parse(f"1 {body['unit']}", dimension, field="unit")
    except InputError as problem:
        yield problem


def _reversal_rule(body: Mapping[str, Any], catalogue: Catalogue) -> Iterator[InputError]:
    """A reversing entry takes back what another one says; amounts of its own would be a second movement."""
    del catalogue
    if "reverses" not in body:
        return
    for key in ("movement", "refrigerant", "amount", "oil"):
        if key in body:
            advice = "Reverse the entry first; enter the right amount as an entry of its own."
            yield InputError(key, body[key], "nothing in a reversing entry", advice)
    if not body.get("reason", "").strip():
        yield InputError("reason", "nothing", "the reason in a few words", "Write why it is taken back.")


def _bias_rule(body: Mapping[str, Any], catalogue: Catalogue) -> Iterator[InputError]:
    del catalogue
    dimension = _offset_dimension(body["instrument"].split(maxsplit=1)[0])
    try:
        parse(body["offset"], dimension, field="offset")
    except InputError as problem:
        yield problem


def _offset_dimension(class_: str) -> str:
    dimension = instrument(class_).dimension
    return _OFFSETS.get(dimension, dimension)


_OFFSETS: Final = {"pressure": "pressure_difference", "temperature": "temperature_difference"}


def _kind(
    name: str,
    meaning: str,
    fields: tuple[BodyField, ...],
    *rules: Rule,
    amounts: bool = False,
    only: str = "",
) -> Kind:
    return Kind(name, meaning, (Form(fields, rules),), amounts, only)


_ROWS: Final = (
    _kind("opened", "The call was opened: for which unit, under which name.", OPENED),
    _kind(
        "complaint", "What the customer called about, and the eight questions of the telephone.", COMPLAINT
    ),
    _kind("state", "What the machine is doing, and since when.", STATE),
    _kind("reading", "A number at a place.", READING, _reading_rule),
    _kind("sighting", "Something seen, heard, smelt or felt.", SIGHTING, _sighting_rule),
    _kind("check", "Something done in order to learn, or put off with a reason.", CHECK, _check_rule),
    _kind("override", "A guard set aside, with the reason.", OVERRIDE),
    _kind("instrument", "How far an instrument was found to read too high.", INSTRUMENT, _bias_rule),
    _kind("work", "What was mended, and what the machine then did.", WORK, _work_rule),
    _kind("part", "A part used, ordered or taken out.", PART),
    _kind("refrigerant", "Refrigerant moved, by weight.", REFRIGERANT, _reversal_rule, amounts=True),
    _kind("oil", "Oil added or drained.", OIL, _reversal_rule, amounts=True),
    _kind("trace", "A series of readings at one place.", TRACE, _trace_rule),
    _kind("set_point", "A control's setting as found and as left.", SET_POINT),
    _kind("photo", "Photos, each by the hash of its bytes.", PHOTO),
    _kind("note", "Words, or a spoken note.", NOTE),
    _kind("approval", "What was asked of the customer, and the answer.", APPROVAL),
    _kind("time", "Travel, arrival, breaks, leaving.", TIME),
    _kind("follow_up", "What is still to be done, by whom and when.", FOLLOW_UP),
    _kind("temporary_made", "Something that must be undone before the call is closed.", TEMPORARY_MADE),
    _kind("temporary_restored", "A temporary state undone.", TEMPORARY_RESTORED),
    _kind("conclusion", "A verdict, report or advice that was issued or acted on.", CONCLUSION),
    _kind("close", "The call is over.", CLOSE),
    _kind(
        "withdrawal",
        "An entry that should not have been made; it stays in sight.",
        WITHDRAWAL,
        only="corrects",
    ),
    _kind(
        "redaction", "The body of an entry is dropped on request; its hash stays.", REDACTION, only="redacts"
    ),
)
KINDS: Final[Mapping[str, Kind]] = MappingProxyType({row.name: row for row in _ROWS})
"""Every kind by name, in the order of a call."""
