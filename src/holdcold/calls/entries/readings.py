"""The latest reading of each place, and whether it had settled."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from holdcold.calls.entries.kinds import DEFAULT_UNITS
from holdcold.calls.entries.story import Item, Story
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.errors import InputError
from holdcold.quantities import default_instrument, instrument, parse
from holdcold.quantities.constants import STANDARD_ATMOSPHERE_PA

WINDOW_S: Final = 900.0
"""How far back readings say whether a place has settled [s]; common practice, no source."""

APART_S: Final = 120.0
"""Readings closer together say nothing about that [s]; common practice, no source."""

_SIGMAS: Final = 3.0
_TWO_READINGS: Final = 2.0**0.5

Steadiness = Literal["once", "steady", "rising", "falling"]
"""``once``: nothing to compare with in the window."""


@dataclass(frozen=True, slots=True)
class Latest:
    """The latest reading at a place.

    place: id. value_si: SI, pressures absolute. item: the entry. steadiness: see ``Steadiness``.
    change_si: latest minus earliest reading of the window [SI]. over_s: time between them [s].
    count: readings of this place in the call.
    """

    place: str
    value_si: float
    item: Item
    steadiness: Steadiness
    change_si: float
    over_s: float
    count: int


def value_of(item: Item, catalogue: Catalogue, ambient_pa: float = STANDARD_ATMOSPHERE_PA) -> float:
    """Return the SI value of a reading.

    item: of kind reading. catalogue: the places. ambient_pa: air pressure that gauges count from [Pa].
    """
    dimension = catalogue.places[item.body["place"]].dimension
    return parse(
        item.body["value"],
        dimension,
        field=item.body["place"],
        default_unit=DEFAULT_UNITS.get(dimension),
        ambient_pa=ambient_pa,
    )


def latest_readings(
    told: Story, catalogue: Catalogue, ambient_pa: float = STANDARD_ATMOSPHERE_PA, stage: str = ""
) -> tuple[Latest, ...]:
    """Return the latest reading of each place that was read, in the order of the catalogue.

    catalogue: the places. ambient_pa: air pressure that gauges count from [Pa]. stage: ``"found"`` (what is
    not marked as left), ``"left"``, or empty for all. A place is steady when it moved less over the last
    quarter of an hour than two readings of that instrument may differ by noise (three standard deviations).
    """
    by_place: dict[str, list[Item]] = {}
    for item in told.facts("reading"):
        if not stage or (item.body.get("stage") == "left") == (stage == "left"):
            by_place.setdefault(item.body["place"], []).append(item)
    return tuple(
        _latest(place, by_place[place], catalogue, ambient_pa)
        for place in catalogue.places
        if place in by_place
    )


def _latest(place: str, items: list[Item], catalogue: Catalogue, ambient_pa: float) -> Latest:
    last = items[-1]
    value = value_of(last, catalogue, ambient_pa)
    before = list(_in_window(items))
    if not before:
        return Latest(place, value, last, "once", 0.0, 0.0, len(items))
    change = value - value_of(before[0], catalogue, ambient_pa)
    within = _SIGMAS * _TWO_READINGS * _noise(last, catalogue.places[place].dimension, value)
    moving: Steadiness = "rising" if change > 0.0 else "falling"
    steadiness = "steady" if abs(change) <= within else moving
    return Latest(place, value, last, steadiness, change, last.fact_s - before[0].fact_s, len(items))


def _in_window(items: list[Item]) -> Iterator[Item]:
    last = items[-1]
    for item in items[:-1]:
        if APART_S <= last.fact_s - item.fact_s <= WINDOW_S:
            yield item


def _noise(item: Item, dimension: str, value_si: float) -> float:
    words = item.body.get("instrument", "").split(maxsplit=1)
    try:
        tool = instrument(words[0]) if words else default_instrument(dimension)
        return tool.sigma(value_si) if tool.dimension == dimension else 0.0
    except InputError:
        return 0.0
