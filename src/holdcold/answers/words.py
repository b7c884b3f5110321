"""Numbers, places and chances in a technician's words and units; shared by every shell."""

from __future__ import annotations

from typing import Any, Final

from holdcold import __version__
from holdcold.cards import Card, Fact, Resolved
from holdcold.diagnosis.catalogue import Catalogue, Place
from holdcold.errors import EnvelopeError
from holdcold.quantities import DIMENSIONS, UnitPreference, format_quantity
from holdcold.refrigerants import Fluid, fluid

_BAND_DIGITS: Final = {
    "us": {"pressure": 0, "temperature": 0, "temperature_difference": 0},
    "si": {"pressure": 1, "temperature": 0, "temperature_difference": 0},
}
_AT_LOW_SIDE: Final = ("suction_pa_service_valve", "suction_pa_coil")
_FLAMMABLE: Final = ("A2L", "A2", "A3")


def shown(preference: UnitPreference, value_si: float, dimension: str, digits: int | None = None) -> str:
    """Return a quantity in the person's units.

    preference: whose units. value_si: its value [SI]. dimension: its kind.
    digits: decimals, None for those of the instrument.
    """
    return format_quantity(value_si, dimension, preference, digits)


def between(preference: UnitPreference, low_si: float, high_si: float, dimension: str) -> str:
    """Return a range such as ``95 to 104 °F``, the unit once where both ends share it.

    preference: whose units. low_si, high_si: the ends [SI]. dimension: their kind.
    """
    digits = _BAND_DIGITS[preference.name].get(dimension)
    low, high = (shown(preference, end, dimension, digits) for end in (low_si, high_si))
    number, _, unit = low.partition(" ")
    if unit and high.endswith(f" {unit}") and high.count(" ") == 1:
        return f"{number} to {high}"
    return f"{low} to {high}"


def saturation(preference: UnitPreference, medium: Fluid, place: str, pressure_pa: float) -> str:
    """Return the saturation temperature that belongs beside a pressure; empty outside the data.

    preference: whose units. place: where it was read; the low side counts from dew,
    the high side from both. pressure_pa: the pressure [Pa absolute].
    """
    try:
        dew = shown(preference, medium.dew_k(pressure_pa), "temperature", 0)
        bubble = shown(preference, medium.bubble_k(pressure_pa), "temperature", 0)
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


def heading_of(card: Card) -> str:
    """Return what a unit is: ``Cheese cooler: walk-in cooler, R-449A``."""
    kind = card.text("kind").replace("_", "-")
    return f"{card.text('name') or 'Unit'}: {kind} {card.text('application')}, {card.text('refrigerant')}"


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
