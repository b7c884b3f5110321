"""The words of a unit for a terminal: units of the desk, paragraphs, conditions as typed."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Final

from holdcold.answers import words
from holdcold.answers.words import answer as answer
from holdcold.answers.words import chance_words as chance_words
from holdcold.answers.words import engine_data as engine_data
from holdcold.answers.words import fact_data as fact_data
from holdcold.answers.words import heading_of as heading_of
from holdcold.answers.words import lower as lower
from holdcold.answers.words import minutes as minutes
from holdcold.answers.words import percent as percent
from holdcold.answers.words import place_of as place_of
from holdcold.answers.words import short_title as short_title
from holdcold.answers.words import title as title
from holdcold.answers.words import unit_cautions as unit_cautions
from holdcold.cards import Resolved
from holdcold.cli.common import Desk
from holdcold.cli.tables import wrapped
from holdcold.cycle import Conditions
from holdcold.errors import EnvelopeError, InputError, InputErrors, SolverError
from holdcold.refrigerants import Fluid

WIDTH: Final = 100
"""Characters in a line of text."""

_OPTIONS: Final = {"ambient_k": "air entering the condenser", "box_k": "box air"}

Numbers = Sequence[tuple[str, str]]


def shown(at: Desk, value_si: float, dimension: str, digits: int | None = None) -> str:
    """Return a quantity in the person's units.

    value_si: its value [SI]. dimension: its kind. digits: decimals, None for those of the instrument.
    """
    return words.shown(at.preference, value_si, dimension, digits)


def between(at: Desk, low_si: float, high_si: float, dimension: str) -> str:
    """Return a range such as ``95 to 104 °F``, the unit once where both ends share it.

    low_si, high_si: the ends [SI]. dimension: their kind.
    """
    return words.between(at.preference, low_si, high_si, dimension)


def saturation(at: Desk, medium: Fluid, place: str, pressure_pa: float) -> str:
    """Return the saturation temperature that belongs beside a pressure; empty outside the data.

    place: where it was read. pressure_pa: the pressure [Pa absolute].
    """
    return words.saturation(at.preference, medium, place, pressure_pa)


def paragraph(label: str, text: str, *, indent: int = 2, label_width: int = 10) -> str:
    """Return ``text`` wrapped behind a label, further lines under its beginning.

    label: may be empty. indent: blanks before it. label_width: blanks it takes.
    """
    front = " " * indent + f"{label:<{label_width}}"
    return wrapped(front + text, WIDTH, " " * len(front))


def settle_altitude(at: Desk, args: argparse.Namespace, resolved: Resolved) -> None:
    """Let gauges count from the air of the unit's place: the card's altitude, else the one typed.

    at: the desk, changed in place. args: with ``altitude`` as typed. resolved: the unit.
    """
    if not resolved.card.has("site.altitude"):
        return
    if args.altitude != "0 ft":
        at.notes.append("--altitude: left aside, the card says how high the unit stands")
    at.preference = at.preference.at(resolved.card.ambient_pa)


def conditions_in_units(at: Desk, ambient_k: float, box_k: float, *, running: bool = True) -> Conditions:
    """Return the conditions, or raise ``InputErrors`` with every one out of range in the person's units.

    ambient_k, box_k: air entering the condenser, and box air [K]. running: False for the unit at rest.
    """
    problems = []
    for trial in ((ambient_k, 275.0), (300.0, box_k)):
        try:
            Conditions(*trial)
        except InputError as problem:
            problems.append(air_in_units(at, problem))
    if problems:
        raise InputErrors(problems)
    return Conditions(ambient_k, box_k, running=running)


@contextmanager
def computing(at: Desk) -> Iterator[None]:
    """Turn what the engine cannot compute into words: exit code 3 for a state beyond the data.

    What the engine refuses of the air temperatures is told in the person's units, and stays bad input.
    """
    try:
        yield
    except EnvelopeError as problem:
        value = problem.value
        if isinstance(value, float) and problem.field.endswith("pressure"):
            value = shown(at, value, "pressure") if value > 0.0 else "below vacuum"
        raise SolverError(
            "in this weather with this box the machine, or a fault weighed on it, leaves the data of its "
            f"refrigerant ({problem.field} {value})"
        ) from None
    except InputError as problem:
        raise air_in_units(at, problem) from None


def air_in_units(at: Desk, problem: InputError) -> InputError:
    """Return a problem with the air temperatures of a prediction in words and units; others unchanged."""
    low, _, high = problem.allowed.partition(" to ")
    if problem.field not in _OPTIONS or not isinstance(problem.value, float) or not high:
        return problem
    return InputError(
        _OPTIONS[problem.field],
        shown(at, problem.value, "temperature"),
        between(at, float(low), float(high), "temperature"),
        problem.advice,
    )
