"""Fields of the section ``[sharpened]`` of a card: reading and schema."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Final

from holdcold.cards.form import Field, Filled, placed, read_form
from holdcold.cards.form_schema import object_schema
from holdcold.cards.sharpened import Sharpened, SharpFact, Visit, VisitReading
from holdcold.errors import InputError, SolverError
from holdcold.numerics.linear import cholesky
from holdcold.quantities import instrument

SECTION: Final = "sharpened"

_AGAIN: Final = "Delete the section, or let holdcold card sharpen write it again from its visits."


def _text(path: str, meaning: str, example: str, *, required: bool = False) -> Field:
    return Field(path, "text", meaning, f'"{example}"', required=required)


def _number(path: str, meaning: str, example: str, low: str = "", *, required: bool = True) -> Field:
    return Field(path, "number", meaning, example, low=low, required=required)


SECTION_FIELDS: Final = (
    _text("engine", "Program and version that worked it out.", "holdcold 0.1.0"),
    _text("data", "Versions of the data it used.", "model_error 2026.11"),
    _text("card", "Digest of what the card said then.", "3f9a0c12"),
)
FACT_FIELDS: Final = (
    _text(
        "name", "Name of the fact; `holdcold card check --json` lists them.", "condenser_split_k",
        required=True,
    ),
    _number("value", "Its value, SI.", "12.4"),
    _number("spread", "One standard deviation, SI.", "0.7", "0"),
    _number("before", "Its value without the readings, SI.", "14.6"),
    _number("before_spread", "Its spread without them, SI.", "2.2", "0"),
    _text("date", "Day of the last call behind it.", "2026-11-25", required=True),
    _text("call", "Name of that call.", "Cheese cooler, as left"),
)  # fmt: skip
VISIT_FIELDS: Final = (
    _text("date", "Day of the call.", "2026-11-25", required=True),
    _text("call", "Its name.", "Cheese cooler, as left"),
    _number("ambient_k", "Air entering the condenser [K].", "305.4", "200"),
    _number("box_k", "Box air [K].", "276.5", "200"),
    _number("supply_ratio", "Measured over nominal volts; 1 without a meter.", "1.0", "0.5", required=False),
)  # fmt: skip
READING_FIELDS: Final = (
    _text("place", "Id of the place; `holdcold places` lists them.", "discharge_pa", required=True),
    _number("value", "What was read, SI; pressures absolute.", "1993000.0"),
    _text("typed", "The same as it was typed.", "274 psig"),
    _text(
        "instrument", "Which instrument; its error is the same on every visit.", "gauge_digital high",
        required=True,
    ),
    _text("class", "Its class.", "gauge_digital", required=True),
)  # fmt: skip

LISTS: Final = MappingProxyType(
    {
        "facts": ("the facts that the visits say something of", FACT_FIELDS),
        "visit": ("readings of a machine proved good", VISIT_FIELDS),
        "readings": ("one reading of a visit", READING_FIELDS),
    }
)
"""Lists of the section: name to (what one entry is, its fields)."""


def read_sharpened(raw: object, problems: list[InputError]) -> Sharpened | None:
    """Return the section from a parsed document; what is wrong is added to ``problems``.

    raw: what stands under ``sharpened``. None when there is something wrong, or nothing there.
    """
    if not isinstance(raw, Mapping):
        problems.append(InputError(SECTION, raw, f"a section [{SECTION}]", _AGAIN))
        return None
    before = len(problems)
    head = read_form(raw, SECTION_FIELDS, ignore=frozenset({"facts", "together", "visit"}))
    problems.extend(placed(problem, SECTION) for problem in head.problems)
    facts = tuple(_fact(row) for row in _rows(raw, "facts", SECTION, problems))
    visits = _visits(raw, problems)
    together = _together(raw.get("together"), len(facts), problems)
    if len(problems) > before:
        return None
    words = (_said(head, key) for key in ("engine", "data", "card"))
    return Sharpened(facts, together, visits, *words)


def _rows(
    raw: Mapping[str, object], name: str, where: str, problems: list[InputError], ignore: str = ""
) -> list[Filled]:
    """Return the entries of one list that could be read."""
    entries = raw.get(name, [])
    if not isinstance(entries, list) or not all(isinstance(entry, Mapping) for entry in entries):
        problems.append(InputError(f"{where}.{name}", entries, "a list of entries", _AGAIN))
        return []
    found = []
    for number, entry in enumerate(entries, start=1):
        filled = read_form(entry, LISTS[name][1], ignore=frozenset({ignore} if ignore else ()))
        wrong = [*filled.problems, *_bad_words(filled)]
        problems.extend(placed(problem, f"{where}.{name} {number}") for problem in wrong)
        if not wrong:
            found.append(filled)
    return found


def _bad_words(filled: Filled) -> list[InputError]:
    """Return what is wrong with a date or a class of instrument."""
    problems = []
    told = filled.values.get("date")
    if isinstance(told, str) and not is_date(told):
        problems.append(InputError("date", told, "year-month-day, like 2026-11-25", _AGAIN))
    name = filled.values.get("class")
    if isinstance(name, str):
        try:
            instrument(name)
        except InputError as problem:
            problems.append(problem)
    return problems


def is_date(text: str) -> bool:
    """Say whether ``text`` is a day as year-month-day."""
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _visits(raw: Mapping[str, object], problems: list[InputError]) -> tuple[Visit, ...]:
    rows = _rows(raw, "visit", SECTION, problems, ignore="readings")
    entries = raw.get("visit", [])
    if not isinstance(entries, list) or len(rows) != len(entries):
        return ()
    found = []
    for number, (row, entry) in enumerate(zip(rows, entries, strict=True), start=1):
        readings = tuple(
            VisitReading(
                _said(one, "place"),
                _value(one, "value"),
                _said(one, "instrument"),
                _said(one, "class"),
                _said(one, "typed"),
            )
            for one in _rows(entry, "readings", f"{SECTION}.visit {number}", problems)
        )
        supply = _value(row, "supply_ratio") if "supply_ratio" in row.values else 1.0
        found.append(
            Visit(
                _said(row, "date"),
                _said(row, "call"),
                _value(row, "ambient_k"),
                _value(row, "box_k"),
                supply,
                readings,
            )
        )
    return tuple(found)


def _fact(row: Filled) -> SharpFact:
    value, spread, before, before_spread = (
        _value(row, key) for key in ("value", "spread", "before", "before_spread")
    )
    return SharpFact(
        _said(row, "name"), value, spread, before, before_spread, _said(row, "date"), _said(row, "call")
    )


def _said(filled: Filled, path: str) -> str:
    value = filled.values.get(path)
    return value if isinstance(value, str) else ""


def _value(filled: Filled, path: str) -> float:
    value = filled.values.get(path)
    return float(value) if isinstance(value, int | float) else 0.0


def _together(raw: object, size: int, problems: list[InputError]) -> tuple[tuple[float, ...], ...]:
    """Return the correlations, or add why they are none."""
    rows = raw if isinstance(raw, list) else []
    try:
        matrix = tuple(tuple(float(value) for value in row) for row in rows)
        if [len(row) for row in matrix] == list(range(1, size + 1)) and all(row[-1] == 1.0 for row in matrix):
            cholesky(matrix)
            return matrix
    except (TypeError, ValueError, SolverError):
        pass
    allowed = f"{size} rows of correlations, the first of one number, the last of {size}, each ending in 1"
    problems.append(InputError(f"{SECTION}.together", str(raw)[:60], allowed, _AGAIN))
    return ()


def section_schema() -> dict[str, object]:
    """Return the JSON Schema of the section."""
    schema = object_schema("what proved-good readings taught; written by the tool", SECTION_FIELDS)
    properties = schema["properties"]
    visit = object_schema(LISTS["visit"][0], VISIT_FIELDS)
    inside = visit["properties"]
    if isinstance(properties, dict) and isinstance(inside, dict):
        inside["readings"] = _list_schema("readings")
        properties["facts"] = _list_schema("facts")
        properties["together"] = {
            "type": "array",
            "description": "Correlations of the errors left, lower triangle, in the order of the facts.",
            "items": {"type": "array", "items": {"type": "number"}},
        }
        properties["visit"] = {"type": "array", "description": LISTS["visit"][0], "items": visit}
    return schema


def _list_schema(name: str) -> dict[str, object]:
    meaning, fields = LISTS[name]
    return {"type": "array", "description": meaning, "items": object_schema(meaning, fields)}
