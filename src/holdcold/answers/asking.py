"""What comes with every request: the person's units, the card and call as they were typed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from holdcold.calls import CallLog, read_call_document
from holdcold.cards import Resolved, read_card, resolve
from holdcold.diagnosis.catalogue import catalogue
from holdcold.errors import InputError, InputErrors, SolverError
from holdcold.quantities import SI, US, UnitPreference, ambient_pa_at, parse

Given = Mapping[str, Any]

_BARE: Final = re.compile(r"[-+\u2212]?\d+([.,]\d+)?$|[-+\u2212]?[.,]\d+$")
_MINUS: Final = "\N{MINUS SIGN}"
USUAL_UNITS: Final[Mapping[str, Mapping[str, str]]] = {
    "us": {
        "pressure": "psig", "pressure_difference": "psi", "temperature": "F", "temperature_difference": "F",
        "power": "Btu/h", "mass": "lb", "length": "ft", "volume": "ft3",
    },
    "si": {
        "pressure": "barg", "pressure_difference": "kPa", "temperature": "C", "temperature_difference": "K",
        "power": "W", "mass": "kg", "length": "m", "volume": "m3",
    },
}  # fmt: skip
"""The unit of a number typed without one, by system and dimension."""

_EITHER_WAY: Final = {"current": "A", "voltage": "V", "electric_power": "W", "fraction": "%", "humidity": "%"}


def preference_of(given: Given) -> UnitPreference:
    """Return the person's units; given: with ``units`` (us or si) and ``altitude`` as typed."""
    system = SI if given.get("units") == "si" else US
    typed = with_unit(str(given.get("altitude") or "0"), "length", system)
    altitude_m = parse(typed, "length", field="altitude")
    return system.at(ambient_pa_at(altitude_m, field="altitude"))


def usual_unit(dimension: str, preference: UnitPreference) -> str:
    """Return the unit a bare number of this dimension is read in; empty where it must be typed."""
    return USUAL_UNITS[preference.name].get(dimension) or _EITHER_WAY.get(dimension, "")


def with_unit(text: str, dimension: str, preference: UnitPreference) -> str:
    """Return what was typed with the person's usual unit behind a bare number.

    text: as typed. dimension: of the quantity. preference: whose units.
    """
    typed = text.strip()
    return f"{typed} {usual_unit(dimension, preference)}".strip() if _BARE.match(typed) else typed


def unit_of(given: Given) -> Resolved:
    """Return the unit of a request; given: with ``card``, the text of a card."""
    return resolve(read_card(str(given.get("card") or "")))


def unit_preference(given: Given, resolved: Resolved) -> UnitPreference:
    """Return the person's units where the unit stands: its card's altitude, if it says one, beats theirs.

    given: the request. resolved: the unit.
    """
    preference = preference_of(given)
    return preference.at(resolved.card.ambient_pa) if resolved.card.has("site.altitude") else preference


def call_of(given: Given, preference: UnitPreference) -> CallLog:
    """Return the call of a request: a call file's keys, bare numbers in the person's usual units.

    given: with ``call``, the document. preference: whose units, with the air the gauges count from.
    """
    book = catalogue()
    document = dict(given.get("call") or {})
    conditions = dict(document.get("conditions") or {})
    for name in ("ambient", "box"):
        if isinstance(conditions.get(name), str):
            conditions[name] = with_unit(conditions[name], "temperature", preference)
    if conditions:
        document["conditions"] = conditions
    readings = []
    for reading in document.get("reading") or ():
        place = book.places.get(str(reading.get("place")))
        value = str(reading.get("value"))
        typed = with_unit(value, place.dimension, preference) if place else value
        readings.append({**reading, "value": typed})
    if readings:
        document["reading"] = readings
    return read_call_document(document, catalogue=book, ambient_pa=preference.ambient_pa)


def problems_of(problem: InputError | InputErrors | SolverError) -> list[dict[str, str]]:
    """Return what is wrong as data: field, value, allowed, advice of each problem."""
    if isinstance(problem, InputErrors):
        return [row for one in problem.problems for row in problems_of(one)]
    if isinstance(problem, SolverError):
        return [{"field": "", "value": "", "allowed": "", "advice": f"Cannot be computed: {problem}"}]
    return [
        {
            "field": problem.field,
            "value": str(problem.value),
            "allowed": problem.allowed,
            "advice": problem.advice,
        }
    ]
