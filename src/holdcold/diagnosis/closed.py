"""Closed calls and what was counted from them, as text: one JSON object a line in, one TOML file out."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from datetime import date
from typing import Final

from holdcold.cards.form import Field, Filled, placed, read_form
from holdcold.cards.read import parse_toml
from holdcold.cards.toml_text import toml_value
from holdcold.diagnosis.catalogue.words import APPLICATIONS, KINDS
from holdcold.diagnosis.learn import ClosedCall, Counts
from holdcold.errors import InputError, InputErrors, UnknownNameError

NOT_LISTED: Final = "not_listed"
_AGAIN: Final = "Let holdcold priors learn write the file again."
_WHOLE: Final = 1e-6


def _word(path: str, choices: tuple[str, ...], meaning: str) -> Field:
    return Field(path, "choice", meaning, f'"{choices[0]}"', choices=choices, required=True)


def _text(path: str, meaning: str, example: str, *, required: bool = False) -> Field:
    return Field(path, "text", meaning, f'"{example}"', required=required)


def _number(path: str, meaning: str, example: str) -> Field:
    return Field(path, "number", meaning, example, low="0", required=True)


CALL_FIELDS: Final = (
    _word("kind", KINDS, "Kind of the unit, as on its card."),
    _word("application", APPLICATIONS, "What it is for, as on its card."),
    _text("date", "Day of the call, year-month-day.", "2026-07-14"),
    _text("unit", "Which unit; only to notice a line that stands there twice.", "Cheese cooler"),
    _text("note", "Anything; not counted.", "second visit"),
)
"""What a line of closed calls may hold beside ``causes``."""

HEAD_FIELDS: Final = (
    Field("schema", "integer", "Version of this form; always 1.", "1", low="1", high="1", required=True),
    _text("engine", "Program that counted.", "holdcold 0.1.0"),
)
"""Top of a counts file."""

COUNT_FIELDS: Final = (
    *CALL_FIELDS[:2],
    _text("version", "Tells this counting from any other.", "2026-07-14.37.3f9a0c", required=True),
    _text("first", "Day of the first call.", "2025-02-01"),
    _text("last", "Day of the last call.", "2026-07-14"),
    Field("calls", "integer", "How many calls.", "37", low="0", required=True),
    _number("none", "Calls with nothing found.", "2.0"),
    _number("not_listed", "Calls with a cause in no list.", "1.5"),
    Field("pairs", "integer", "Calls with more than one cause.", "3", low="0", required=True),
)
"""What one entry of a counts file holds beside ``causes``."""


def read_closed(text: str, known: Collection[str]) -> tuple[tuple[ClosedCall, ...], tuple[str, ...]]:
    """Return (closed calls, remarks) of a file with one JSON object a line; empty lines are passed over.

    text: of the file. known: fault ids that exist. Raises InputErrors that name every bad line and every
    unknown cause.
    A line that stands there twice (same unit, day and causes) is counted twice, and remarked on.
    """
    problems: list[InputError] = []
    calls: list[tuple[int, ClosedCall]] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            calls += [(number, call) for call in _call(line, f"line {number}", known, problems)]
    if problems:
        raise InputErrors(problems)
    return tuple(call for _, call in calls), tuple(_twice(calls))


def _call(line: str, where: str, known: Collection[str], problems: list[InputError]) -> list[ClosedCall]:
    """Return the call of one line, or nothing with what is wrong added to ``problems``."""
    try:
        document = json.loads(line)
    except (ValueError, RecursionError) as wrong:
        problems.append(InputError(where, line.strip()[:60], "one JSON object", f"Not JSON: {wrong}."))
        return []
    if not isinstance(document, dict):
        problems.append(InputError(where, line.strip()[:60], "one JSON object", "Write { ... }."))
        return []
    filled = read_form(document, CALL_FIELDS, ignore=frozenset({"causes"}))
    wrong_here = [*filled.problems, *_day(filled, "date")]
    causes = _causes(document.get("causes"), known, wrong_here)
    problems.extend(placed(problem, where) for problem in wrong_here)
    kind, application, day, unit = (_said(filled, key) for key in ("kind", "application", "date", "unit"))
    return [] if wrong_here else [ClosedCall(kind, application, causes, day, unit)]


def _causes(raw: object, known: Collection[str], problems: list[InputError]) -> tuple[str, ...]:
    """Return the causes of a call, each once; an unknown one is named with near names."""
    given = [raw] if isinstance(raw, str) else raw
    if not isinstance(given, list) or not all(isinstance(one, str) for one in given):
        problems.append(
            InputError(
                "causes", "nothing" if raw is None else raw, "a list of fault ids",
                'Write what the repair proved: ["condenser_dirty"], [] for nothing found, ["not_listed"] '
                "for a cause in no list.",
            )
        )  # fmt: skip
        return ()
    folded = [one.strip().lower().replace("-", "_").replace(" ", "_") for one in given]
    every = {*known, NOT_LISTED}
    problems.extend(UnknownNameError("cause", one, every) for one in folded if one not in every)
    return tuple(dict.fromkeys(folded))


def _day(filled: Filled, path: str) -> list[InputError]:
    told = _said(filled, path)
    try:
        good = not told or date.fromisoformat(told).isoformat() == told
    except ValueError:
        good = False
    return [] if good else [InputError(path, told, "year-month-day, like 2026-07-14", "Correct the day.")]


def _twice(calls: list[tuple[int, ClosedCall]]) -> Iterator[str]:
    seen: dict[ClosedCall, int] = {}
    for number, call in calls:
        if call.unit and call.date and call in seen:
            yield f"line {number} says the same as line {seen[call]}; both are counted"
        seen.setdefault(call, number)


def _said(filled: Filled, path: str) -> str:
    value = filled.values.get(path)
    return value if isinstance(value, str) else ""


def _value(filled: Filled, path: str) -> float:
    value = filled.values.get(path)
    return float(value) if isinstance(value, int | float) else 0.0


def write_counts(counts: tuple[Counts, ...], engine: str) -> str:
    """Return the counts file; reading it again gives equal ``counts``. engine: program and version."""
    calls = 0
    for one in counts:
        calls += one.calls
    lines = [
        f"# Written by holdcold priors learn from {calls} closed calls; a call with two causes counts half",
        "# for each. Leave --priors away to go back to the practice estimates.",
        "schema = 1",
        f"engine = {toml_value(engine)}",
    ]
    for one in counts:
        lines += ["", "[[counts]]"]
        lines += [f"{field.key} = {toml_value(getattr(one, field.key))}" for field in COUNT_FIELDS]
        lines.append("[counts.causes]")
        lines += [f"{name} = {toml_value(number)}" for name, number in one.causes.items()]
    return "\n".join(lines) + "\n"


def read_counts(text: str, known: Collection[str]) -> tuple[Counts, ...]:
    """Return the counts of each kind of unit in a counts file.

    text: of the file. known: fault ids that exist. Raises InputErrors with everything wrong, unknown causes
    named.
    """
    document = parse_toml(text)
    problems = list(read_form(document, HEAD_FIELDS, ignore=frozenset({"counts"})).problems)
    rows = document.get("counts", [])
    found = []
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        problems.append(InputError("counts", rows, "entries under [[counts]]", _AGAIN))
        rows = []
    for number, row in enumerate(rows, start=1):
        found += _counted(row, f"counts {number}", known, problems)
    if len({(one.kind, one.application) for one in found}) < len(found):
        problems.append(InputError("counts", len(found), "each kind of unit once", _AGAIN))
    if problems:
        raise InputErrors(problems)
    return tuple(found)


def _counted(
    row: Mapping[str, object], where: str, known: Collection[str], problems: list[InputError]
) -> list[Counts]:
    """Return one entry of a counts file, or nothing with what is wrong added to ``problems``."""
    filled = read_form(row, COUNT_FIELDS, ignore=frozenset({"causes"}))
    wrong = list(filled.problems)
    raw = row.get("causes", {})
    causes: dict[str, float] = {}
    for name, number in raw.items() if isinstance(raw, Mapping) else ():
        if name not in known:
            wrong.append(UnknownNameError("cause", name, known))
        elif isinstance(number, bool) or not isinstance(number, int | float) or number < 0.0:
            wrong.append(InputError(name, number, "a number of calls, 0 or more", _AGAIN))
        else:
            causes[name] = float(number)
    calls, none, not_listed = (_value(filled, key) for key in ("calls", "none", "not_listed"))
    counted = none + not_listed
    for number in causes.values():
        counted += number
    if not wrong and abs(counted - calls) > _WHOLE * max(calls, 1.0):
        wrong.append(InputError("calls", calls, f"{counted:g}, what its lines add up to", _AGAIN))
    problems.extend(placed(problem, where) for problem in wrong)
    if wrong:
        return []
    kind, application, version, first, last = (
        _said(filled, key) for key in ("kind", "application", "version", "first", "last")
    )
    pairs = round(_value(filled, "pairs"))
    return [Counts(kind, application, round(calls), causes, none, not_listed, pairs, version, first, last)]
