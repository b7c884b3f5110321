"""Whether a call may teach a card: a machine proved good, read when it ran steadily and its air was free."""

from __future__ import annotations

from collections.abc import Sequence

from holdcold.cards import Resolved
from holdcold.cards.sharpened import Visit, VisitReading
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.diagnosis.evidence import Evidence, Situation
from holdcold.diagnosis.observe import instrument_class, instrument_name, observation
from holdcold.diagnosis.predict import INPUTS
from holdcold.errors import InputError, InputErrors

_SETTLED_MINUTES = 10.0
_AIR_GUARD = "airflow_first"
_SUPPLY = (0.9, 1.1)


def proved_visit(
    resolved: Resolved,
    evidence: Evidence,
    catalogue: Catalogue,
    date: str,
    call: str,
    typed: Sequence[str] = (),
) -> Visit:
    """Return the readings of a call as a visit that may sharpen the unit's card.

    resolved: the unit. evidence: of a call whose machine was proved good. date: year-month-day.
    call: its name. typed: the words of each reading, in the order of the evidence.
    Raises InputErrors with every reason why the call teaches nothing: not running, not settled, air
    temperatures not measured, supply too far off, ice, dirt or a fan not seen turning, nothing read.
    """
    situation = evidence.situation
    problems = [*_unsteady(situation), *_unmeasured(situation), *_air(resolved, evidence, catalogue)]
    readings = _readings(evidence, catalogue, typed)
    if not readings:
        problems.append(
            InputError("readings", 0, "at least one with an instrument", "Take pressures, clamps or amps.")
        )
    if problems or situation.ambient_k is None or situation.box_k is None:
        raise InputErrors(problems)
    return Visit(date, call, situation.ambient_k, situation.box_k, situation.supply_ratio, readings)


def _readings(evidence: Evidence, catalogue: Catalogue, typed: Sequence[str]) -> tuple[VisitReading, ...]:
    """Return what instruments read, known offsets taken off; conditions and differences are left out."""
    offsets = {(bias.instrument_id, bias.dimension): bias.offset_si for bias in evidence.biases}
    found = []
    for number, reading in enumerate(evidence.readings):
        place = catalogue.place(reading.place)
        if not place.measured or reading.place in INPUTS or place.dimension == "voltage":
            continue
        kind = instrument_class(reading, catalogue)
        value = reading.value_si - offsets.get((reading.instrument_id or "", place.dimension), 0.0)
        one = observation(reading.place, value, kind, instrument_name(reading, kind, place.dimension))
        words = typed[number] if number < len(typed) else ""
        found.append(VisitReading(one.place, one.value, one.instrument_id, kind.id, words))
    return tuple(found)


def _unsteady(situation: Situation) -> list[InputError]:
    """Return why the machine was not in a state that a prediction holds for."""
    if situation.state != "running":
        return [
            InputError(
                "conditions.state", situation.state, "running",
                "Only readings of the machine running steadily say what it can do.",
            )
        ]  # fmt: skip
    minutes = situation.minutes_in_state
    if minutes is None or minutes < _SETTLED_MINUTES:
        return [
            InputError(
                "conditions.minutes_in_state", "nothing" if minutes is None else f"{minutes:.0f} min",
                f"{_SETTLED_MINUTES:.0f} min or more",
                "Unsteady: let it run, then read again and say how long.",
            )
        ]  # fmt: skip
    low, high = _SUPPLY
    if not low <= situation.supply_ratio <= high:
        return [
            InputError(
                "conditions.supply_voltage", f"{100.0 * situation.supply_ratio:.0f} % of nominal",
                f"{100.0 * low:.0f} to {100.0 * high:.0f} %", "Put the supply right, then read again.",
            )
        ]  # fmt: skip
    return []


def _unmeasured(situation: Situation) -> list[InputError]:
    return [
        InputError(
            f"conditions.{name}", "nothing", "measured", f"What the unit should read depends on it: {where}."
        )
        for name, value, where in (
            ("ambient", situation.ambient_k, "measure the air entering the condenser"),
            ("box", situation.box_k, "measure the air in the box, away from the coil"),
        )
        if value is None
    ]


def _air(resolved: Resolved, evidence: Evidence, catalogue: Catalogue) -> list[InputError]:
    """Return each sighting that shows ice, dirt or a fan not turning, or that nobody made."""
    guard = catalogue.guards[_AIR_GUARD]
    seen = {sighting.id: sighting.value for sighting in evidence.sightings}
    done = frozenset(check.id for check in evidence.checks if check.outcome == "done")
    standing = guard.standing(resolved.unit_facts(), seen, done)
    wrong = dict(standing.against)
    return [
        InputError(
            f"sighting {name}",
            wrong.get(name, "not looked"),
            ", ".join(guard.needs[name]),
            "Air comes first: an iced coil, a dirty condenser or a fan that stands is no proof of a good "
            "machine." if name in wrong else "Look, and write it down: proved good means seen as well.",
        )
        for name in (*wrong, *(name for name in standing.missing if name in guard.needs))
    ]  # fmt: skip
