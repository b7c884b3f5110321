"""Numbers, places and machine states in a technician's words and units; shared by the commands on a unit."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Final

from holdcold import __version__
from holdcold.cards import Card, Fact, Resolved
from holdcold.cli.common import Desk
from holdcold.cli.tables import wrapped
from holdcold.cycle import Conditions
from holdcold.diagnosis.catalogue import Catalogue, Place
from holdcold.errors import EnvelopeError, InputError, InputErrors, SolverError
from holdcold.quantities import DIMENSIONS, format_quantity
from holdcold.refrigerants import Fluid, fluid

WIDTH: Final = 100
"""Characters in a line of text."""

_BAND_DIGITS: Final = {
    "us": {"pressure": 0, "temperature": 0, "temperature_difference": 0},
    "si": {"pressure": 1, "temperature": 0, "temperature_difference": 0},
}
_AT_LOW_SIDE: Final = ("suction_pa_service_valve", "suction_pa_coil")
_OPTIONS: Final = {"ambient_k": "air entering the condenser", "box_k": "box air"}
_FLAMMABLE: Final = ("A2L", "A2", "A3")

Numbers = Sequence[tuple[str, str]]


def shown(at: Desk, value_si: float, dimension: str, digits: int | None = None) -> str:
    """Return a quantity in the person's units.

    value_si: its value [SI]. dimension: its kind. digits: decimals, None for those of the instrument.
    """
    return format_quantity(value_si, dimension, at.preference, digits)


def between(at: Desk, low_si: float, high_si: float, dimension: str) -> str:
    """Return a range such as ``95 to 104 °F``, the unit once where both ends share it.

    low_si, high_si: the ends [SI]. dimension: their kind.
    """
    digits = _BAND_DIGITS[at.preference.name].get(dimension)
    low, high = (shown(at, end, dimension, digits) for end in (low_si, high_si))
    number, _, unit = low.partition(" ")
    if unit and high.endswith(f" {unit}") and high.count(" ") == 1:
        return f"{number} to {high}"
    return f"{low} to {high}"


def saturation(at: Desk, medium: Fluid, place: str, pressure_pa: float) -> str:
    """Return the saturation temperature that belongs beside a pressure; empty outside the data.

    place: where it was read; the low side is counted from dew, the high side from both.
    pressure_pa: the pressure [Pa absolute].
    """
    try:
        dew = shown(at, medium.dew_k(pressure_pa), "temperature", 0)
        bubble = shown(at, medium.bubble_k(pressure_pa), "temperature", 0)
    except EnvelopeError:
        return ""
    if place in _AT_LOW_SIDE:
        return f"dew {dew}"
    return f"saturated at {dew}" if dew == bubble else f"bubble {bubble.partition(' ')[0]}, dew {dew}"


def title(book: Catalogue, name: str) -> str:
    """Return what people call a place, sighting, check, fault or condition; the id where it has no title."""
    extra = {
        "state": "What the machine does",
        "complaint": "The complaint",
        "box_trend": "Box temperature while it runs",
        "none": "No fault",
    }
    for rows in (book.places, book.sightings, book.checks, book.faults):
        if name in rows:
            return str(rows[name].title)
    return extra.get(name, "Something not listed" if name == "not_listed" else name)


def short_title(book: Catalogue, name: str) -> str:
    """Return a title without what stands in brackets or behind a colon, for use inside a sentence."""
    return title(book, name).partition(" (")[0].partition(":")[0]


def lower(text: str) -> str:
    """Return ``text`` with its first letter small, so that it can stand inside a sentence."""
    return text if text[:2].isupper() else text[:1].lower() + text[1:]


def answer(book: Catalogue, sighting: str, value: str) -> str:
    """Return the words of a value of a sighting, ``all turning`` for ``all_turning``."""
    row = book.sightings.get(sighting)
    words = dict(zip(row.values, row.words, strict=True)) if row else {}
    return words.get(value, value.replace("_", " "))


def place_of(book: Catalogue, name: str) -> Place | None:
    """Return a place by id, None for a name that is not one."""
    return book.places.get(name)


def chance_words(words: str, chance: float, *, numbers: bool) -> str:
    """Return a chance in words, with its number behind it when asked for.

    words: as the diagnosis says it. chance: 0 to 1. numbers: whether to show it too.
    """
    return f"{words} ({percent(chance)})" if numbers else words


def percent(chance: float) -> str:
    """Return a chance as a percentage that never claims certainty."""
    if chance < 0.005:
        return "under 1 %"
    return "over 99 %" if chance > 0.995 else f"{100.0 * chance:.0f} %"


def minutes(value: float) -> str:
    """Return minutes as a person says them: ``12 min``, ``2 h``, ``5.5 h``."""
    if value < 90.0:
        return f"{value:.0f} min"
    hours = round(value / 30.0) / 2.0
    return f"{hours:g} h"


def paragraph(label: str, text: str, *, indent: int = 2, label_width: int = 10) -> str:
    """Return ``text`` wrapped behind a label, further lines under its beginning.

    label: may be empty. indent: blanks before it. label_width: blanks it takes.
    """
    front = " " * indent + f"{label:<{label_width}}"
    return wrapped(front + text, WIDTH, " " * len(front))


def heading_of(card: Card) -> str:
    """Return what a unit is: ``Cheese cooler: walk-in cooler, R-449A``."""
    kind = card.text("kind").replace("_", "-")
    return f"{card.text('name') or 'Unit'}: {kind} {card.text('application')}, {card.text('refrigerant')}"


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


def unit_cautions(resolved: Resolved) -> list[str]:
    """Return the cautions that go with a unit whatever is done: flammable, sealed, and its card's own."""
    info = fluid(resolved.design.refrigerant).info
    found = []
    if info.safety_class in _FLAMMABLE:
        found.append(
            f"{info.name} is flammable ({info.safety_class}): no spark or flame, ventilate, detector on, "
            "supply isolated before gauges, panel or torch; trained persons only, the maker's instructions "
            "first."
        )
    if resolved.card.flag("charge.ports") is False:
        found.append("No service ports: read temperatures, amps and watts; the pressures here are computed.")
    return [*found, *(text[:1].upper() + text[1:] for text in resolved.cautions)]


def fact_data(fact: Fact) -> dict[str, object]:
    """Return one fact of a card for scripts: SI, with the unit beside it."""
    known = DIMENSIONS.get(fact.dimension)
    return {
        "name": fact.name,
        "value": fact.value_si,
        "spread": fact.spread_si,
        "unit": known.si if known else "",
        "dimension": fact.dimension,
        "source": fact.source,
        "hint": fact.hint,
    }


def engine_data(book: Catalogue) -> dict[str, Any]:
    """Return which engine and which data gave an answer, so that it can be told from a later one."""
    return {"version": __version__, "data": {name: dated.version for name, dated in book.files.items()}}
