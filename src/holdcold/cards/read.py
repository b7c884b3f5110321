"""Reading a card from its TOML text, with every problem found at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Final

from holdcold.cards.card import Card
from holdcold.cards.contradictions import contradictions
from holdcold.cards.fields import CARD_FIELDS
from holdcold.cards.form import Value, is_unknown, placed, read_form, read_value
from holdcold.cards.resolve import resolve
from holdcold.cards.sharpened_form import SECTION, read_sharpened
from holdcold.errors import EnvelopeError, InputError, InputErrors
from holdcold.quantities import ambient_pa_at
from holdcold.quantities.constants import STANDARD_ATMOSPHERE_PA
from holdcold.refrigerants import fluid

_ALTITUDE: Final = next(field for field in CARD_FIELDS if field.path == "site.altitude")


def read_card(text: str) -> Card:
    """Return the card written in ``text`` (TOML, ``schema = 1``).

    Raises InputErrors listing every problem: unknown names (with near names), what is missing, wrong
    units, values out of range, contradictions, and a charge the unit cannot hold.
    """
    document = parse_toml(text)
    if is_unknown(document.get("capacity")):
        document["capacity"] = {"unknown": True}
    ambient_pa = _ambient_pa(document)
    filled = read_form(document, CARD_FIELDS, ambient_pa=ambient_pa, ignore=frozenset({SECTION}))
    values = dict(filled.values)
    problems = [*filled.problems, *_refrigerant(values)]
    sharpened = read_sharpened(document[SECTION], problems) if SECTION in document else None
    if "schema" not in document:
        problems.insert(0, InputError("schema", "nothing", "1", "Write schema = 1 on the first line."))
    card = Card(values, filled.typed, ambient_pa, sharpened)
    bad = {problem.field for problem in problems}
    problems.extend(problem for problem in contradictions(card) if problem.field not in bad)
    if not problems:
        _resolvable(card)
        return card
    raise InputErrors(problems)


def _resolvable(card: Card) -> None:
    """Raise InputErrors when the sizes that follow from a card cannot be, or leave the refrigerant's data."""
    try:
        resolve(card)
    except EnvelopeError as problem:
        told = placed(problem, "rating temperatures")
        note = fluid(str(card.values["refrigerant"])).info.note
        advice = f"{told.advice} {note}".strip()
        raise InputErrors([InputError(told.field, told.value, told.allowed, advice)]) from None
    except InputError as problem:
        raise InputErrors([problem]) from None


def parse_toml(text: str) -> dict[str, object]:
    """Return a TOML document; InputErrors with line and advice when the text is not TOML."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        raise InputErrors(
            [
                InputError(
                    "file",
                    str(wrong),
                    "TOML: name = value, one to a line",
                    'Values with a unit stand between quotes, for example split = "20 F".',
                )
            ]
        ) from None


def _ambient_pa(document: Mapping[str, object]) -> float:
    """Return the air pressure at the card's altitude; a bad altitude is reported with the others."""
    site = document.get("site")
    if not isinstance(site, Mapping) or "altitude" not in site or is_unknown(site["altitude"]):
        return STANDARD_ATMOSPHERE_PA
    try:
        return ambient_pa_at(float(read_value(_ALTITUDE, site["altitude"])))  # type: ignore[arg-type]
    except InputError:
        return STANDARD_ATMOSPHERE_PA


def _refrigerant(values: dict[str, Value]) -> list[InputError]:
    """Put the refrigerant in its proper spelling, or return why it cannot be."""
    name = values.get("refrigerant")
    if not isinstance(name, str):
        return []
    try:
        values["refrigerant"] = fluid(name).info.name
    except InputError as problem:
        del values["refrigerant"]
        return [problem]
    return []
