"""The section ``[sharpened]`` of a card as text, and a card's text with it, without it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from holdcold.cards.form import Field
from holdcold.cards.sharpened import Sharpened, SharpFact, Visit, VisitReading
from holdcold.cards.sharpened_form import FACT_FIELDS, READING_FIELDS, SECTION
from holdcold.cards.toml_text import toml_value
from holdcold.errors import InputError, SolverError
from holdcold.numerics.linear import cholesky

BEGIN: Final = "# sharpened: begin"
END: Final = "# sharpened: end"

_FACTOR_ROOM: Final = 0.999


def rounded(rows: Sequence[Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """Return correlations in three decimals that are still those of something.

    rows: lower triangle, row i with i + 1 entries. Rounding can make a nearly certain combination
    impossible; then all are drawn a little towards none.
    """
    factor = 1.0
    while True:
        short = tuple((*(round(factor * value, 3) for value in row[:-1]), 1.0) for row in rows)
        try:
            cholesky(short)
        except SolverError:
            factor *= _FACTOR_ROOM
        else:
            return short


def write_sharpened(sharpened: Sharpened, words: Mapping[str, str] | None = None) -> str:
    """Return the section as TOML between its two marks; reading it again gives an equal section.

    words: what each fact is and was, for people, by name; written as a comment above it.
    """
    lines = [
        f"{BEGIN}: written by holdcold card sharpen from readings of the machine proved good.",
        f'# To go back, delete all from "{BEGIN[2:]}" to "{END[2:]}".',
        f"[{SECTION}]",
        f"engine = {toml_value(sharpened.engine)}",
        f"data = {toml_value(sharpened.data)}",
        f"card = {toml_value(sharpened.card)}",
        "facts = [",
    ]
    for fact in sharpened.facts:
        told = (words or {}).get(fact.name)
        lines += [f"  # {told}"] if told else []
        lines.append(f"  {_inline(FACT_FIELDS, _fact_values(fact))},")
    lines += ["]", "together = ["]
    lines += [f"  {toml_value(row)}," for row in sharpened.together]
    lines.append("]")
    for visit in sharpened.visits:
        lines += ["", f"[[{SECTION}.visit]]"]
        lines += [f"{key} = {toml_value(value)}" for key, value in _visit_values(visit).items()]
        lines.append("readings = [")
        lines += [f"  {_inline(READING_FIELDS, _reading_values(one))}," for one in visit.readings]
        lines.append("]")
    return "\n".join([*lines, END]) + "\n"


def _inline(fields: Sequence[Field], values: Mapping[str, object]) -> str:
    pairs = (f"{field.key} = {toml_value(values[field.key])}" for field in fields if field.key in values)
    return "{ " + ", ".join(pairs) + " }"


def _fact_values(fact: SharpFact) -> dict[str, object]:
    return {
        "name": fact.name,
        "value": _short(fact.value_si),
        "spread": _short(fact.spread_si),
        "before": _short(fact.before_si),
        "before_spread": _short(fact.before_spread_si),
        "date": fact.date,
        "call": fact.call,
    }


def _visit_values(visit: Visit) -> dict[str, object]:
    return {
        "date": visit.date,
        "call": visit.call,
        "ambient_k": _short(visit.ambient_k),
        "box_k": _short(visit.box_k),
        "supply_ratio": _short(visit.supply_ratio),
    }


def _reading_values(reading: VisitReading) -> dict[str, object]:
    return {
        "place": reading.place,
        "value": _short(reading.value_si),
        "typed": reading.typed,
        "instrument": reading.instrument_id,
        "class": reading.instrument_class,
    }


def _short(value: float) -> float:
    """Return a number in the seven digits that are written."""
    return float(f"{value:.7g}")


def as_written(sharpened: Sharpened) -> Sharpened:
    """Return a section with its numbers as they stand in a file."""
    facts = tuple(
        replace(
            one,
            value_si=_short(one.value_si),
            spread_si=_short(one.spread_si),
            before_si=_short(one.before_si),
            before_spread_si=_short(one.before_spread_si),
        )
        for one in sharpened.facts
    )
    visits = tuple(visit_as_written(one) for one in sharpened.visits)
    return replace(sharpened, facts=facts, together=rounded(sharpened.together), visits=visits)


def visit_as_written(visit: Visit) -> Visit:
    """Return a visit with its numbers as they stand in a file."""
    return replace(
        visit,
        ambient_k=_short(visit.ambient_k),
        box_k=_short(visit.box_k),
        supply_ratio=_short(visit.supply_ratio),
        readings=tuple(replace(one, value_si=_short(one.value_si)) for one in visit.readings),
    )


def without_section(text: str) -> str:
    """Return the text of a card without its sharpened section.

    text: TOML of the card. The section must stand between its two marks; InputError where the marks
    do not enclose it.
    """
    start = text.find(BEGIN)
    if start < 0:
        return text
    stop = text.find(END, start)
    if stop < 0:
        raise InputError(
            SECTION, "no end of the section", f'the line "{END}" after it',
            "Put the line back, or delete the section by hand.",
        )  # fmt: skip
    rest = text[stop + len(END) :]
    return text[:start].rstrip("\n") + "\n" + rest.lstrip("\n")


def with_section(text: str, sharpened: Sharpened, words: Mapping[str, str] | None = None) -> str:
    """Return the text of a card, its own lines untouched, with this section at its end.

    text: TOML of the card. sharpened: replaces the section that is there. words: as for
    ``write_sharpened``. Raises InputError as ``without_section`` does, and where a section stands
    outside the marks.
    """
    own = without_section(text)
    if any(line.strip().startswith((f"[{SECTION}", f"[[{SECTION}")) for line in own.splitlines()):
        raise InputError(
            SECTION, f"no line {BEGIN}", "the section between its two marks",
            f'Put "{BEGIN}" above it and "{END}" below, or delete it by hand.',
        )  # fmt: skip
    return own.rstrip("\n") + "\n\n" + write_sharpened(sharpened, words)
