"""The five questions behind ``holdcold card new``; each answer is checked before the next is asked."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from holdcold.cards.fields import CARD_FIELDS
from holdcold.cards.form import is_unknown, read_value
from holdcold.errors import InputError
from holdcold.quantities import parse, parse_one_of
from holdcold.refrigerants import fluid

Ask = Callable[[str], str]
Tell = Callable[[InputError], None]
Typed = dict[str, object]

_FIELDS: Final = {field.path: field for field in CARD_FIELDS}
_BETWEEN_SIDES: Final = re.compile(r"\s*(?:\bby\b|[x×*])\s*", re.IGNORECASE)
_SIDES: Final = ("length", "width", "height")
_HORSEPOWER: Final = re.compile(r"(hp|horsepower)\W*$", re.IGNORECASE)
_STARTS_AS_NUMBER: Final = re.compile(r"[\d.,/\s-]*\d")
_BARE_NUMBER: Final = re.compile(r"[\d.,/\s-]+$")


@dataclass(frozen=True, slots=True)
class Question:
    """One question: what is asked, a word of help, and how an answer becomes card fields."""

    text: str
    help: str
    read: Callable[[str], Typed]


def interview(ask: Ask, tell: Tell) -> Typed:
    """Return the card fields, as typed, that the answers give.

    ask: shows a prompt and returns what was typed. tell: shows what is wrong with an answer, after which
    the question is asked again. Raises whatever ``ask`` raises when there is nothing more to read.
    """
    typed: Typed = {"schema": 1}
    for question in QUESTIONS:
        typed.update(_answered(question, ask, tell))
    if "capacity.rated_amps" in typed:
        for question in SUPPLY:
            typed.update(_answered(question, ask, tell))
    return typed


def _answered(question: Question, ask: Ask, tell: Tell) -> Typed:
    while True:
        answer = ask(f"{question.text}\n  {question.help}\n> ").strip()
        try:
            return question.read(answer)
        except InputError as problem:
            tell(problem)


def _needed(field: str, answer: str, allowed: str) -> None:
    """Raise InputError when an answer that cannot be left open was left open."""
    if is_unknown(answer):
        raise InputError(field, answer or "nothing", allowed, "This one is needed: the plate tells.")


def _chosen(path: str, words: Mapping[str, str]) -> Callable[[str], Typed]:
    """Return a reader of one choice, which also takes its number or first letter."""

    def read(answer: str) -> Typed:
        field = _FIELDS[path]
        _needed(path, answer, field.allowed)
        word = words.get(answer.lower(), answer)
        return {path: read_value(field, word)}

    return read


def read_refrigerant(answer: str) -> Typed:
    """Return the refrigerant in its proper spelling; UnknownNameError with near names otherwise."""
    _needed("refrigerant", answer, "the designation on the plate, such as R-448A")
    return {"refrigerant": fluid(answer).info.name}


def read_box(answer: str) -> Typed:
    """Return the sides (``"10 x 8 x 8 ft"``) or the volume (``"640 ft3"``) of the box, as typed."""
    _needed("box", answer, "length x width x height, or a volume")
    sides = _BETWEEN_SIDES.split(answer)
    if len(sides) == 1:
        read_value(_FIELDS["box.volume"], answer)
        return {"box.volume": answer}
    if len(sides) != len(_SIDES):
        raise InputError("box", answer, "three sides or one volume", "Write for example 10 x 8 x 8 ft.")
    unit = re.sub(r"^[\d.,/\s-]+", "", sides[-1])
    measured = [side if re.search(r"[^\d.,/\s-]", side) else f"{side} {unit}".strip() for side in sides]
    typed: Typed = {}
    for name, side in zip(_SIDES, measured, strict=True):
        read_value(_FIELDS[f"box.{name}"], side)
        typed[f"box.{name}"] = side
    return typed


def read_capacity(answer: str) -> Typed:
    """Return the one statement of capacity an answer makes: rating, horsepower, amps, model, don't know."""
    if is_unknown(answer):
        return {"capacity.unknown": True}
    if _BARE_NUMBER.match(answer):
        raise InputError(
            "capacity", answer, "a number with its unit", "Add hp, Btu/h, kW, ton or A; or write don't know."
        )
    if not _STARTS_AS_NUMBER.match(answer):
        return {"capacity.model": answer}
    try:
        dimension, _ = parse_one_of(answer, ("power", "current"), field="capacity")
    except InputError:
        if re.search(r"[A-Za-z]\S*\d|\d\S*-\S", answer):
            return {"capacity.model": answer}
        raise
    path = "capacity.rated_amps" if dimension == "current" else "capacity.rated"
    if _HORSEPOWER.search(answer):
        path = "capacity.horsepower"
    read_value(_FIELDS[path], answer)
    return {path: answer}


def _read_voltage(answer: str) -> Typed:
    _needed("supply.voltage", answer, "volts on the plate")
    parse(answer, "voltage", field="supply.voltage", default_unit="V")
    read_value(_FIELDS["supply.voltage"], answer)
    return {"supply.voltage": answer}


def _read_phases(answer: str) -> Typed:
    _needed("supply.phases", answer, "1 or 3")
    if answer not in {"1", "3"}:
        raise InputError("supply.phases", answer, "1 or 3", "Two hot legs of 230 V count as 1.")
    return {"supply.phases": int(answer)}


QUESTIONS: Final = (
    Question(
        "1/5  What is it?",
        "walk-in or reach-in",
        _chosen("kind", {"1": "walk_in", "w": "walk_in", "2": "reach_in", "r": "reach_in"}),
    ),
    Question(
        "2/5  Which refrigerant?",
        "off the plate or label, for example R-448A",
        read_refrigerant,
    ),
    Question(
        "3/5  Cooler or freezer?",
        "cooler (above freezing) or freezer",
        _chosen("application", {"c": "cooler", "f": "freezer"}),
    ),
    Question(
        "4/5  How big is the box, outside?",
        "length x width x height (10 x 8 x 8 ft), or volume (640 ft3)",
        read_box,
    ),
    Question(
        "5/5  How big is the machine? Any one of these off a plate will do.",
        "rated capacity (9.2 kBtu/h), horsepower (1.5 hp), rated load amps (8.6 A), model, or don't know",
        read_capacity,
    ),
)
"""The five questions, in order."""

SUPPLY: Final = (
    Question("     Amps need the supply. Volts on the plate?", "for example 230 V", _read_voltage),
    Question("     Phases?", "1 or 3", _read_phases),
)
"""Asked besides when the capacity came as amps."""
