"""Typed TOML forms: one table of fields drives reading, validation, schema and documentation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from holdcold.errors import InputError, UnknownNameError
from holdcold.quantities import parse
from holdcold.quantities.constants import STANDARD_ATMOSPHERE_PA

FieldKind = Literal["quantity", "integer", "number", "choice", "text", "flag", "numbers"]
Value: TypeAlias = float | int | str | bool | tuple[float, ...]

_UNKNOWN_WORDS: Final = frozenset(
    {"dontknow", "donotknow", "idontknow", "unknown", "notknown", "notsure", "noidea", "dk"}
)


@dataclass(frozen=True, slots=True)
class Field:
    """One thing a form can hold.

    path: ``"section.key"``, or ``"key"`` at the top of the file. kind: how it is read.
    meaning: one sentence for people. example: a value as it would stand in the file.
    dimension, default_unit: for quantities; without a default unit a bare number is refused.
    low, high: limits as a person would type them; empty means none beyond the dimension's own.
    choices: for choices, the words allowed. required: whether the form is useless without it.
    """

    path: str
    kind: FieldKind
    meaning: str
    example: str
    dimension: str = ""
    default_unit: str | None = None
    low: str = ""
    high: str = ""
    choices: tuple[str, ...] = ()
    required: bool = False

    @property
    def section(self) -> str:
        """The part of the path before the dot; empty at the top of the file."""
        return self.path.rpartition(".")[0]

    @property
    def key(self) -> str:
        """The part of the path after the dot."""
        return self.path.rpartition(".")[2]

    @property
    def allowed(self) -> str:
        """What may stand here, in words."""
        if self.choices:
            return ", ".join(self.choices)
        if self.low or self.high:
            return f"{self.low or 'anything'} to {self.high or 'anything'}"
        words = {"flag": "true or false", "numbers": "a list of numbers"}
        return words.get(self.kind, f"like {self.example}")


@dataclass(frozen=True, slots=True)
class Filled:
    """A form as read: ``values`` in SI, ``typed`` as written, ``problems`` with everything wrong."""

    values: Mapping[str, Value]
    typed: Mapping[str, object]
    problems: tuple[InputError, ...]


def is_unknown(raw: object) -> bool:
    """Say whether ``raw`` is one of the ways people write *don't know*."""
    if not isinstance(raw, str):
        return False
    letters = "".join(character for character in raw.lower() if character.isalpha())
    return letters in _UNKNOWN_WORDS or raw.strip() in {"?", "-", ""}


def read_value(
    field: Field, raw: object, *, where: str = "", ambient_pa: float = STANDARD_ATMOSPHERE_PA
) -> Value:
    """Return ``raw`` as the SI value of ``field``.

    where: how to call the place in messages (default: the path). ambient_pa: for gauge pressures [Pa].
    Raises InputError (UnknownNameError for a choice) naming the place, the value and what is allowed.
    """
    name = where or field.path
    if field.kind == "quantity":
        return _quantity(field, raw, name, ambient_pa)
    if field.kind == "choice":
        return _choice(field, raw, name)
    if field.kind == "flag":
        return _flag(field, raw, name)
    if field.kind == "text":
        return _text(field, raw, name)
    if field.kind == "numbers":
        return _numbers(field, raw, name)
    return _number(field, raw, name)


def _refuse(field: Field, raw: object, name: str, advice: str) -> InputError:
    return InputError(name, raw, field.allowed, advice)


def _text(field: Field, raw: object, name: str) -> str:
    if isinstance(raw, list) and all(isinstance(line, str) for line in raw):
        return "\n".join(raw)
    if not isinstance(raw, str):
        raise _refuse(field, raw, name, "Write it between quotes.")
    return raw


def _flag(field: Field, raw: object, name: str) -> bool:
    if not isinstance(raw, bool):
        raise _refuse(field, raw, name, "Write true or false, without quotes.")
    return raw


def _choice(field: Field, raw: object, name: str) -> str:
    if not isinstance(raw, str):
        raise _refuse(field, raw, name, "Write one of the words between quotes.")
    by_letters = {_letters(choice): choice for choice in field.choices}
    if _letters(raw) not in by_letters:
        raise UnknownNameError(name, raw, field.choices)
    return by_letters[_letters(raw)]


def _letters(text: str) -> str:
    return "".join(character for character in text.lower() if character.isalnum())


def _numbers(field: Field, raw: object, name: str) -> tuple[float, ...]:
    if not isinstance(raw, list) or not all(_is_number(item) for item in raw):
        raise _refuse(field, raw, name, "Write numbers between square brackets, apart by commas.")
    return tuple(float(item) for item in raw)


def _is_number(raw: object) -> bool:
    return isinstance(raw, int | float) and not isinstance(raw, bool)


def _number(field: Field, raw: object, name: str) -> float | int:
    if isinstance(raw, str):
        raw = _plain_number(raw)
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        raise _refuse(field, raw, name, "Write a plain number, without quotes.")
    if field.kind == "integer" and raw != int(raw):
        raise _refuse(field, raw, name, "Write a whole number.")
    if not (float(field.low or "-inf") <= raw <= float(field.high or "inf")):
        raise _refuse(field, raw, name, "Check the number; " + field.meaning)
    return int(raw) if field.kind == "integer" else float(raw)


def _plain_number(raw: str) -> float | str:
    try:
        return float(raw)
    except ValueError:
        return raw


def _quantity(field: Field, raw: object, name: str, ambient_pa: float) -> float:
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        raise _refuse(field, raw, name, f"Write it with its unit between quotes, like {field.example}.")
    value = _measured(field, str(raw), name, ambient_pa)
    low = _measured(field, field.low, name, ambient_pa) if field.low else value
    high = _measured(field, field.high, name, ambient_pa) if field.high else value
    if not low <= value <= high:
        raise _refuse(field, raw, name, "Check the number and its unit; " + field.meaning)
    return value


def _measured(field: Field, text: str, name: str, ambient_pa: float) -> float:
    return parse(text, field.dimension, field=name, default_unit=field.default_unit, ambient_pa=ambient_pa)


def read_form(
    document: Mapping[str, object],
    fields: Sequence[Field],
    *,
    ambient_pa: float = STANDARD_ATMOSPHERE_PA,
    ignore: frozenset[str] = frozenset(),
) -> Filled:
    """Read a TOML document against ``fields`` and collect every problem instead of stopping at one.

    document: as the standard TOML reader gives it. ambient_pa: for gauge pressures [Pa].
    ignore: top-level keys that somebody else reads. A value written *don't know* counts as not given
    but stays in ``typed``.
    """
    by_path = {field.path: field for field in fields}
    values: dict[str, Value] = {}
    typed: dict[str, object] = {}
    problems: list[InputError] = []
    for path, raw in _entries(document, by_path, ignore, problems):
        typed[path] = raw
        if is_unknown(raw):
            continue
        try:
            values[path] = read_value(by_path[path], raw, ambient_pa=ambient_pa)
        except InputError as problem:
            problems.append(problem)
    problems.extend(_missing(fields, typed, values, problems))
    return Filled(values, typed, tuple(problems))


def _entries(
    document: Mapping[str, object],
    by_path: Mapping[str, Field],
    ignore: frozenset[str],
    problems: list[InputError],
) -> list[tuple[str, object]]:
    """Return the known (path, raw) pairs of a document; add a problem for each unknown name."""
    sections = {field.section for field in by_path.values() if field.section}
    tops = {path for path in by_path if "." not in path}
    found: list[tuple[str, object]] = []
    for key, raw in document.items():
        if key in ignore:
            continue
        if key in sections and isinstance(raw, Mapping):
            found.extend(_section_entries(key, raw, by_path, problems))
        elif key in tops:
            found.append((key, raw))
        elif key in sections:
            problems.append(
                InputError(key, raw, f"a section [{key}]", f"Write [{key}] on its own line, then its keys.")
            )
        else:
            problems.append(UnknownNameError("key or section", key, tops | sections | ignore))
    return found


def _section_entries(
    section: str, table: Mapping[str, object], by_path: Mapping[str, Field], problems: list[InputError]
) -> list[tuple[str, object]]:
    keys = {field.key for field in by_path.values() if field.section == section}
    found = []
    for key, raw in table.items():
        if key in keys:
            found.append((f"{section}.{key}", raw))
        else:
            problems.append(UnknownNameError(f"key in [{section}]", key, keys))
    return found


def _missing(
    fields: Sequence[Field],
    typed: Mapping[str, object],
    values: Mapping[str, Value],
    problems: Sequence[InputError],
) -> list[InputError]:
    """Return a problem for each required field that was left out or not known."""
    bad = {problem.field for problem in problems}
    return [
        InputError(
            field.path,
            typed.get(field.path, "nothing"),
            field.allowed,
            f"Needed: {field.meaning} Write for example {field.key} = {field.example}.",
        )
        for field in fields
        if field.required and field.path not in values and field.path not in bad
    ]


def placed(problem: InputError, where: str) -> InputError:
    """Return the problem with ``where`` in front of the field it names."""
    return InputError(f"{where}: {problem.field}", problem.value, problem.allowed, problem.advice)
