"""What screens offer to choose from: places, sightings, complaints, states, refrigerants, the walk-round."""

from __future__ import annotations

from typing import Any, Final

from holdcold.answers.asking import Given, preference_of, unit_of, usual_unit
from holdcold.answers.unit import SHOWN, optional_fields
from holdcold.answers.words import engine_data
from holdcold.cards import Resolved
from holdcold.diagnosis.catalogue import Catalogue, Sighting, catalogue, stands_for
from holdcold.diagnosis.evidence import BOX_TRENDS, COMPLAINTS, REPAIR_OUTCOMES, STATES
from holdcold.refrigerants import fluid, names

_FIRST: Final = ("evaporator_fans", "coil_ice", "condenser_face", "condenser_fans")
_AT_DOOR: Final = ("user_story", "display_and_set_points")
_ROUND: Final = (("D", _AT_DOOR), ("B", ("box_walk_round",)), ("U", ("unit_walk_round",)))


def lists(given: Given) -> dict[str, Any]:
    """Return every list a screen needs before there is a unit; given: units."""
    preference = preference_of(given)
    book = catalogue()
    gases = [fluid(name).info for name in names()]
    return {
        "refrigerants": [{"name": one.name, "safety_class": one.safety_class} for one in gases],
        "complaints": list(COMPLAINTS),
        "states": list(STATES),
        "box_trends": list(BOX_TRENDS),
        "repair_outcomes": list(REPAIR_OUTCOMES),
        "sightings": {name: _sighting(one) for name, one in book.sightings.items()},
        "places": {
            name: {
                "title": one.title,
                "dimension": one.dimension,
                "unit": usual_unit(one.dimension, preference),
                "where": one.where,
                "mistakes": one.mistakes,
            }
            for name, one in book.places.items()
            if one.measured
        },
        "units": {name: usual_unit(name, preference) for name in ("pressure", "temperature")},
        "fields": optional_fields(),
        "engine": engine_data(book),
    }


def _sighting(one: Sighting) -> dict[str, Any]:
    return {
        "title": one.title,
        "ask": one.ask,
        "place": one.place,
        "values": [list(pair) for pair in zip(one.values, one.words, strict=True)],
        "first": one.id in _FIRST,
    }


def walk(given: Given) -> dict[str, Any]:
    """Return the walk-round and the readings of a unit.

    given: ``card``. Per place the sightings of a first look, as far as they concern this unit; then the
    places an instrument can read on it, in the order a person goes round.
    """
    resolved = unit_of(given)
    book = catalogue()
    facts = resolved.unit_facts()
    stops = []
    for place, checks in _ROUND:
        rows: list[str] = []
        for check in checks:
            for name in book.check(check).sightings:
                if name not in rows and stands_for(book.sighting(name).applies_to, facts):
                    rows.append(name)
        stops.append({"place": place, "checks": list(checks), "sightings": rows})
    return {"stops": stops, "readings": _readable(book, resolved)}


def _readable(book: Catalogue, resolved: Resolved) -> list[str]:
    """Return the places of this unit that an instrument can read; no pressures without ports."""
    sealed = resolved.card.flag("charge.ports") is False
    order = {name: number for number, name in enumerate(SHOWN)}
    rows = [
        one.id
        for one in book.places.values()
        if one.measured and not (sealed and one.dimension == "pressure")
    ]
    return sorted(rows, key=lambda name: (order.get(name, len(order)), name))
