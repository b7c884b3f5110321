"""Fields of a body: one row says how a value is checked, described and published."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from holdcold.calls.entries.entry import is_moment
from holdcold.calls.entries.ids import is_sha256, is_uuid7
from holdcold.cards.form import Field, placed, read_value
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.errors import InputError, UnknownNameError
from holdcold.quantities import instrument
from holdcold.refrigerants import names as refrigerant_names

BodyKind = Literal[
    "text", "quantity", "choice", "flag", "integer", "number", "name", "instrument", "refrigerant",
    "moment", "day", "entry", "sha256", "object", "any",
]  # fmt: skip
"""How a value is checked: plain types, words of a catalogue, and marks that name something."""

_PLAIN: Final[Mapping[str, Literal["text", "quantity", "choice", "flag", "integer", "number"]]] = {
    "text": "text", "quantity": "quantity", "choice": "choice", "flag": "flag", "integer": "integer",
    "number": "number",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class BodyField:
    """One field of a body.

    key: its name. kind: how it is checked. meaning: one sentence. example: a value as JSON.
    choices: words of a choice. dimension: of a quantity, typed with its unit. names: table of the catalogue
    that knows the name. fields: of an object. low, high: limits, as typed. required: always needed.
    unless: not needed where this other field is given. many: a list of such values.
    """

    key: str
    kind: BodyKind
    meaning: str
    example: object
    choices: tuple[str, ...] = ()
    dimension: str = ""
    names: str = ""
    fields: tuple[BodyField, ...] = ()
    low: str = ""
    high: str = ""
    required: bool = False
    unless: str = ""
    many: bool = False

    @property
    def allowed(self) -> str:
        """What may stand here, in words."""
        words = {
            "name": f"an id of the catalogue's {self.names}", "instrument": "a class of instrument",
            "refrigerant": "a refrigerant", "moment": "local date and time with offset",
            "day": "year-month-day", "entry": "id of an entry", "sha256": "64 small hexadecimal digits",
            "object": ", ".join(field.key for field in self.fields), "any": "any JSON value",
            "quantity": "a quantity with its unit",
        }  # fmt: skip
        single = words.get(self.kind) or self._field().allowed
        return f"a list of: {single}" if self.many else single

    def _field(self) -> Field:
        """Return the row that the forms of cards and calls use for the same check."""
        return Field(
            self.key, _PLAIN[self.kind], self.meaning, str(self.example), self.dimension,
            low=self.low, high=self.high, choices=self.choices,
        )  # fmt: skip

    def problems(self, raw: object, catalogue: Catalogue, where: str = "") -> Iterator[InputError]:
        """Yield everything wrong with a value; raw: as given; where: what it is called in messages."""
        name = where or self.key
        if not self.many:
            yield from self._one(raw, catalogue, name)
        elif not isinstance(raw, list):
            yield InputError(name, raw, self.allowed, "Write a list.")
        else:
            for number, item in enumerate(raw, start=1):
                yield from self._one(item, catalogue, f"{name} {number}")

    def _one(self, raw: object, catalogue: Catalogue, name: str) -> Iterator[InputError]:
        if self.kind == "object":
            if isinstance(raw, Mapping):
                yield from (placed(one, name) for one in form_problems(raw, self.fields, catalogue))
            else:
                yield InputError(name, raw, self.allowed, "Write an object.")
            return
        try:
            self._check(raw, catalogue, name)
        except InputError as problem:
            yield problem

    def _check(self, raw: object, catalogue: Catalogue, name: str) -> None:
        """Raise InputError where a single value does not fit."""
        if self.kind in _PLAIN:
            self._check_plain(raw, name)
            return
        if self.kind == "any":
            return
        text = raw if isinstance(raw, str) else ""
        if self.kind == "name":
            _known(name, raw, getattr(catalogue, self.names))
        elif self.kind == "instrument":
            words = text.split(maxsplit=1)
            instrument(words[0] if words else str(raw))
        elif self.kind == "refrigerant":
            _known(name, raw, refrigerant_names())
        elif not _FITS[self.kind](raw):
            raise InputError(name, raw, self.allowed, f"Write it like {self.example}.")

    def _check_plain(self, raw: object, name: str) -> None:
        """Check what cards and calls check too, but as JSON: no other spellings, no lists for texts."""
        words = {"text": str, "quantity": str, "choice": str}.get(self.kind)
        number = self.kind in {"integer", "number"}
        if words is not None and not isinstance(raw, str):
            raise InputError(name, raw, self.allowed, "Write a text.")
        if self.kind == "choice" and raw not in self.choices:
            raise UnknownNameError(name, str(raw), self.choices)
        if self.kind == "text" and self.required and not str(raw).strip():
            raise InputError(name, raw, "a few words", f"Needed: {self.meaning}")
        if number and (isinstance(raw, str) or (isinstance(raw, float) and not math.isfinite(raw))):
            raise InputError(name, raw, self.allowed, "Write a plain number.")
        read_value(self._field(), raw, where=name)


def _known(name: str, raw: object, known: Collection[str]) -> None:
    if not isinstance(raw, str) or raw not in known:
        raise UnknownNameError(name, str(raw), known)


def _is_day(raw: object) -> bool:
    try:
        return isinstance(raw, str) and date.fromisoformat(raw).isoformat() == raw
    except ValueError:
        return False


_FITS: Final = {"moment": is_moment, "day": _is_day, "entry": is_uuid7, "sha256": is_sha256}


def form_problems(
    body: Mapping[str, object], fields: tuple[BodyField, ...], catalogue: Catalogue
) -> Iterator[InputError]:
    """Yield everything wrong with an object: unknown keys, wrong values, what is missing."""
    by_key = {field.key: field for field in fields}
    for key, raw in body.items():
        if key in by_key:
            yield from by_key[key].problems(raw, catalogue)
        else:
            yield UnknownNameError("key", str(key), by_key)
    for field in fields:
        excused = field.unless != "" and field.unless in body
        if (field.required or field.unless) and field.key not in body and not excused:
            yield InputError(field.key, "nothing", field.allowed, f"Needed: {field.meaning}")


def form_schema(fields: tuple[BodyField, ...]) -> dict[str, object]:
    """Return the JSON Schema of an object with these fields."""
    schema: dict[str, object] = {
        "type": "object",
        "additionalProperties": False,
        "properties": {field.key: _schema(field) for field in fields},
    }
    required = [field.key for field in fields if field.required]
    if required:
        schema["required"] = required
    either = [
        {"anyOf": [{"required": [field.key]}, {"required": [field.unless]}]}
        for field in fields
        if field.unless
    ]
    if either:
        schema["allOf"] = either
    return schema


def _schema(field: BodyField) -> dict[str, object]:
    single: dict[str, object] = {**_TYPES[field.kind]}
    if field.kind == "object":
        single = form_schema(field.fields)
    if field.choices:
        single["enum"] = list(field.choices)
    if field.kind == "refrigerant":
        single["enum"] = list(refrigerant_names())
    for key, value in (("x-dimension", field.dimension), ("x-names", field.names)):
        if value:
            single[key] = value
    if field.low:
        single["minimum"] = float(field.low)
    if field.high:
        single["maximum"] = float(field.high)
    outer: dict[str, object] = {"type": "array", "items": single} if field.many else single
    return {"description": field.meaning, **outer, "examples": [field.example]}


_TYPES: Final[Mapping[str, Mapping[str, object]]] = {
    "text": {"type": "string"},
    "quantity": {"type": "string"},
    "choice": {},
    "flag": {"type": "boolean"},
    "integer": {"type": "integer"},
    "number": {"type": "number"},
    "name": {"type": "string"},
    "instrument": {"type": "string"},
    "refrigerant": {},
    "moment": {"type": "string", "format": "date-time"},
    "day": {"type": "string", "format": "date"},
    "entry": {"type": "string", "pattern": "^[0-9a-f-]{36}$"},
    "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
    "object": {},
    "any": {},
}
