"""One call as a problem of belief: hypotheses on their cells, what they predict, what was seen."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from holdcold.cards import Resolved
from holdcold.cycle import HEALTHY, Conditions, solve
from holdcold.diagnosis.case import (
    CardSensitivity,
    Cell,
    CellSighting,
    DiscreteTerm,
    HypothesisKey,
    Observation,
    Problem,
)
from holdcold.diagnosis.catalogue import NOT_LOOKED, Catalogue, Fault, FromReading, Sighting
from holdcold.diagnosis.catalogue.book import known_state
from holdcold.diagnosis.cells import GridCell, as_cell, grid
from holdcold.diagnosis.circumstances import circumstances
from holdcold.diagnosis.discrete import RepairChances, repair_term
from holdcold.diagnosis.evidence import Evidence, SightingEvidence, Situation
from holdcold.diagnosis.hypotheses import Hypotheses, hypotheses
from holdcold.diagnosis.learn import Counts
from holdcold.diagnosis.logs import log_chance
from holdcold.diagnosis.normal import Normal, model_sigma, normal
from holdcold.diagnosis.observe import measured_places, observations
from holdcold.diagnosis.predict import INPUTS, Predictor, predictor

_REPAIRS = RepairChances(works=0.9, fades=0.08, enough=0.35)
_NOT_LISTED_COMPLAINT = 0.35
_NOT_LISTED_TREND = {"falling": 0.45, "steady": 0.35, "rising": 0.2}
"""How a box is found to move under a cause that is in no list (practice estimate, no source)."""

_TOLD = ("user_story", "logger_trace")
"""Sightings of the past: they show a fault that comes and goes even while it is away."""

_UNSTEADY_MINUTES = 10.0
_UNSTEADY_SCALE = 2.5
_CYCLING_SCALE = 1.7
_BY_SHARE = ("suction_pa", "discharge_pa", "compressor_a", "compressor_w")
"""Places whose looseness is told as a share of their usual value."""

_GUESSED_AMBIENT_K = 6.0
_GUESSED_BOX_K = 2.5
_MEASURED_AIR_K = 0.5


@dataclass(frozen=True, slots=True)
class Case:
    """Everything belief about one call rests on.

    terms: discrete evidence that does not depend on severity. unsteady_minutes: how long to wait before
    the readings mean what they should [min], 0 when they do.
    """

    catalogue: Catalogue
    resolved: Resolved
    evidence: Evidence
    normal: Normal
    hypotheses: Hypotheses
    predictor: Predictor
    observations: tuple[Observation, ...]
    places: tuple[str, ...]
    sightings: tuple[SightingEvidence, ...]
    terms: tuple[DiscreteTerm, ...]
    unsteady_minutes: float
    facts: Mapping[str, str]


def conditions_of(situation: Situation, resolved: Resolved) -> Conditions:
    """Return the surroundings a call is predicted in; what nobody measured is taken at the rating point.

    A machine found at rest is predicted at rest. Low supply voltage is evidence, not a condition.
    """
    design = resolved.design
    ambient_k = design.rated_ambient_k if situation.ambient_k is None else situation.ambient_k
    box_k = design.set_point_k if situation.box_k is None else situation.box_k
    return Conditions(ambient_k, box_k, running=situation.state != "off")


def open_case(
    resolved: Resolved, evidence: Evidence, catalogue: Catalogue, counts: Counts | None = None
) -> Case:
    """Return the case of a call: the healthy prediction solved, hypotheses listed, evidence put in order.

    counts: closed calls of such units, to learn the priors from; None takes the practice estimates.
    Raises InputError when the card's ratings contradict each other.
    """
    situation = evidence.situation
    healthy = normal(resolved, conditions_of(situation, resolved))
    unsteady = unsteady_minutes(situation)
    facts = _facts(resolved, situation, unsteady)
    listed = hypotheses(
        catalogue,
        facts,
        {"coil_fans": resolved.design.coil_fans, "condenser_fans": resolved.design.condenser_fans},
        counts,
    )
    told = tuple(reading.place for reading in evidence.readings if reading.place in healthy.point.readings)
    places = measured_places(catalogue, healthy.point.readings, INPUTS)
    places += tuple(dict.fromkeys(place for place in told if place not in places and place not in INPUTS))
    if situation.ambient_k is None:
        places = tuple(place for place in places if place != "condenser_air_in_k")
    seen = tuple(
        sighting
        for sighting in _latest(evidence.sightings)
        if sighting.value != NOT_LOOKED and catalogue.sighting(sighting.id).informs
    )
    terms = tuple(
        repair_term(repair.fault, repair.outcome, listed.priors, _REPAIRS)
        for repair in evidence.repairs
        if repair.outcome != "unknown"
    )
    return Case(
        catalogue,
        resolved,
        evidence,
        healthy,
        listed,
        predictor(healthy, listed),
        observations(evidence.readings, places, catalogue, evidence.biases),
        places,
        seen,
        terms,
        unsteady,
        facts,
    )


def unsteady_minutes(situation: Situation) -> float:
    """Return how many minutes to wait before readings can be judged; 0 when they can now."""
    if situation.state == "defrost":
        return 30.0
    minutes = situation.minutes_in_state
    if situation.state == "running" and minutes is not None and minutes < _UNSTEADY_MINUTES:
        return _UNSTEADY_MINUTES - minutes
    return 0.0


def _facts(resolved: Resolved, situation: Situation, unsteady: float) -> dict[str, str]:
    state = "defrost" if situation.state == "defrost" else "unsteady" if unsteady else situation.state
    unit = resolved.unit_facts()
    fitted = "yes" in (unit.get("crankcase_regulator"), unit.get("coil_regulator"))
    return {**unit, "regulator": "yes" if fitted else "no", "state": state}


def _latest(sightings: Sequence[SightingEvidence]) -> list[SightingEvidence]:
    """Return the last answer to each question."""
    return list({sighting.id: sighting for sighting in sightings}.values())


def problem_of(case: Case) -> tuple[Problem, list[GridCell]]:
    """Return the problem of belief for a case, and the grid cells in the order of its cells.

    Pairs are put together from their single faults; ``refined`` solves the likely ones.
    """
    cells = grid(case.predictor, case.hypotheses.priors)
    likelihoods = SightingLikelihoods(case)
    problem = Problem(
        places=case.places,
        priors=case.hypotheses.priors,
        cells=_engine_cells(case, cells, likelihoods),
        sensitivity=_sensitivity(case, case.predictor.healthy().readings),
        not_listed_prior=case.hypotheses.not_listed,
        cell_sightings=likelihoods.names(),
    )
    return problem, cells


def refined(
    case: Case, problem: Problem, cells: list[GridCell], exact: frozenset[HypothesisKey]
) -> tuple[Problem, list[GridCell]]:
    """Return a problem with the pairs ``exact`` solved at every combination of their severities."""
    fresh = grid(case.predictor, sorted(exact), exact)
    kept = [number for number, cell in enumerate(cells) if cell.key not in exact]
    engine = tuple(problem.cells[number] for number in kept) + _engine_cells(
        case, fresh, SightingLikelihoods(case)
    )
    return replace(problem, cells=engine), [*(cells[number] for number in kept), *fresh]


def _engine_cells(
    case: Case, cells: Sequence[GridCell], likelihoods: SightingLikelihoods
) -> tuple[Cell, ...]:
    usual = case.predictor.healthy().readings
    cycling = case.evidence.situation.state == "cycling"
    scale = _UNSTEADY_SCALE if case.unsteady_minutes else _CYCLING_SCALE if cycling else 1.0
    rest = _loose_at_rest(case)
    faults = case.hypotheses.faults.items()
    free = {name: _loose_by_fault(fault, usual) for name, fault in faults if fault.loose}
    found = []
    for cell in cells:
        loose = [*rest, *(way for name in cell.key if name in free for way in free[name])]
        found.append(as_cell(cell, case.places, usual, scale, likelihoods.of(cell), loose))
    return tuple(found)


def _loose_by_fault(fault: Fault, usual: Mapping[str, float]) -> list[dict[str, float]]:
    """Return the ways in which readings are free under a fault, in SI."""
    return [
        {
            place: sigma * usual[place] if place.startswith(_BY_SHARE) else sigma
            for place, sigma in way.items()
            if place in usual
        }
        for way in fault.loose
    ]


def _loose_at_rest(case: Case) -> list[dict[str, float]]:
    """Return directions in which the readings of a machine at rest are free.

    Whether its sides have equalised, stand apart or were pumped down is seldom told and says little
    of the cause.
    """
    here = case.normal.conditions
    if here.running:
        return []
    usual = case.normal.point.readings
    found = []
    for rest in ("apart", "pumped_down"):
        other = solve(case.normal.unit, replace(here, rest=rest)).readings
        found.append({place: other[place] - usual[place] for place in usual})
    return found


def _sensitivity(case: Case, usual: Mapping[str, float]) -> CardSensitivity:
    """Return what card, surroundings and model leave open, as columns over the places."""
    columns = [effect for effect in case.normal.effects.values() if effect]
    columns += _surroundings(case)
    card = tuple(tuple(column.get(place, 0.0) for column in columns) for place in case.places)
    spread = case.normal.unit.fluid.info.pressure_spread
    device = case.resolved.design.expansion
    return CardSensitivity(
        card=card,
        factors=tuple(() for _ in case.places),
        diagonal=tuple(model_sigma(place, usual[place], spread, device) for place in case.places),
    )


def _surroundings(case: Case) -> list[dict[str, float]]:
    """Return what one standard deviation of box and ambient air does to each reading."""
    situation = case.evidence.situation
    if not case.normal.conditions.running:
        return []
    found = []
    for name, spread in (
        ("ambient_k", _GUESSED_AMBIENT_K if situation.ambient_k is None else _MEASURED_AIR_K),
        ("box_k", _GUESSED_BOX_K if situation.box_k is None else _MEASURED_AIR_K),
    ):
        here = case.normal.conditions
        moved = replace(here, **{name: getattr(here, name) + spread})
        shifted = solve(case.normal.unit, moved, HEALTHY, case.normal.point.start).readings
        usual = case.normal.point.readings
        found.append({place: shifted[place] - usual[place] for place in usual if place in shifted})
    return found


@dataclass(frozen=True, slots=True)
class _Asked:
    """One sighting as a case asks for it, with what was worked out of it so far.

    told: whether a fault that is away now shows all the same. touched: the faults that bear on it. state:
    of the compressor as known apart from it. spread: one sigma of the reading it follows from, by what
    card and model leave open. by_levels, by_reading, turned: chances of its values, filled as they are
    asked for.
    """

    sighting: Sighting
    told: bool
    touched: frozenset[str]
    state: str
    spread: float
    by_levels: dict[tuple[tuple[str, float], ...], tuple[float, ...]]
    by_reading: dict[tuple[float, float], tuple[float, ...]]
    turned: dict[tuple[tuple[tuple[str, float], ...], float], tuple[float, ...]]


class SightingLikelihoods:
    """Log-likelihoods of the sightings, state and complaint of a case under any cell."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self._freezer = case.facts.get("application", "")
        self._asked: dict[str, _Asked] = {}
        self._running = case.normal.conditions.running
        self._moves = frozenset(name for name, fault in case.hypotheses.faults.items() if fault.has_physics)
        self._loads = frozenset(
            name for name, fault in case.hypotheses.faults.items() if fault.axis == "box_load"
        )
        self._states: dict[tuple[tuple[str, ...], float], float] = {}
        self._seen = [
            (seen.id, case.catalogue.sighting(seen.id).values.index(seen.value)) for seen in case.sightings
        ]
        situation, design = case.evidence.situation, case.resolved.design
        self._trend = situation.state == "running" and situation.box_trend in circumstances().trends
        self._cuts = (
            ("discharge_pa", 1.0, design.high_cut_pa),
            ("suction_pa_service_valve", -1.0, design.low_cut_pa),
        )
        self._above_set_k = case.normal.conditions.box_k - design.set_point_k
        self._weather_at_set = self._weather(design.set_point_k)
        self._weather_here = self._weather(case.normal.conditions.box_k)

    def names(self) -> tuple[CellSighting, ...]:
        """Return the columns in the order of ``of``, with what *not listed* makes of each."""
        book = self._case.catalogue
        named = [
            CellSighting(
                seen.id,
                log_chance(book.sighting_chances(seen.id, {"not_listed": 1.0}, self._freezer)[place]),
                seen.value,
            )
            for seen, (_, place) in zip(self._case.sightings, self._seen, strict=True)
        ]
        situation = self._case.evidence.situation
        even = circumstances()
        state = log_chance(1.0 / len(even.states)) if situation.state in even.states else 0.0
        complaint = log_chance(_NOT_LISTED_COMPLAINT) if situation.complaint in even.complaints else 0.0
        named.append(CellSighting("state", state, situation.state))
        named.append(CellSighting("complaint", complaint, situation.complaint))
        if self._trend:
            chance = _NOT_LISTED_TREND[situation.box_trend]
            named.append(CellSighting("box_trend", log_chance(chance), situation.box_trend))
        return tuple(named)

    def of(self, cell: GridCell) -> list[float]:
        """Return the log-likelihood of every sighting under ``cell``, in the order of ``names``."""
        found = [log_chance(self.chances(name, cell)[place]) for name, place in self._seen]
        known = self._case.hypotheses.faults
        situation = self._case.evidence.situation
        here = tuple(fault for fault, step in zip(cell.key, cell.steps, strict=True) if step.present)
        stops = self._stops(cell)
        if (here, stops) not in self._states:
            now = [known[fault] for fault in here]
            chance = circumstances().state_chance(situation.state, now, stops, above_set_k=self._above_set_k)
            self._states[here, stops] = log_chance(chance)
        found.append(self._states[here, stops])
        faults = [known[fault] for fault in cell.key]
        load = self._load_share(cell)
        found.append(log_chance(circumstances().complaint_chance(situation.complaint, faults, load)))
        if self._trend:
            found.append(log_chance(self._trend_chance(cell)))
        return found

    def _stops(self, cell: GridCell) -> float:
        """Return the chance that a pressure control stops this machine, its pressures being unsure."""
        if not cell.steady or not self._running:
            return 0.0 if cell.steady else 1.0
        found = 0.0
        for place, sign, cut_pa in self._cuts:
            if place in cell.mean:
                band = self._case.normal.readings[place]
                slope = math.hypot(*(slope.get(place, 0.0) for slope in cell.slopes))
                spread = math.hypot(band.card_sigma, band.model_sigma, slope)
                beyond = sign * (cell.mean[place] - cut_pa) / (spread * math.sqrt(2.0))
                found = max(found, 0.5 * math.erfc(-beyond))
        return round(found, 9)

    def _trend_chance(self, cell: GridCell) -> float:
        """Return the chance of the trend noted of the box, from the cooling of this cell as found."""
        usual_w = self._case.predictor.healthy().readings["capacity_w"]
        load_w = self._case.resolved.design.load_w * (self._weather_here + self._extra_load(cell))
        share = load_w / max(cell.mean.get("capacity_w", usual_w), 1.0)
        trend = self._case.evidence.situation.box_trend
        return circumstances().trend_chance(trend, share, self._above_set_k)

    def chances(self, name: str, cell: GridCell) -> tuple[float, ...]:
        """Return the chance of each value of a sighting under ``cell``."""
        asked = self._asked.get(name) or self._ask(name)
        if asked.sighting.from_reading is not None and self._follows(asked.sighting.from_reading, cell):
            return self._from_reading(asked, asked.sighting.from_reading, cell)
        key: tuple[tuple[str, float], ...] = ()
        if not asked.touched.isdisjoint(cell.key):
            key = tuple(
                (fault, step.level)
                for fault, step in zip(cell.key, cell.steps, strict=True)
                if fault in asked.touched and (step.present or asked.told)
            )
        if key not in asked.by_levels:
            book = self._case.catalogue
            asked.by_levels[key] = book.sighting_chances(name, dict(key), self._freezer, asked.state)
        turn = asked.sighting.turn
        if turn is None or not self._running or turn.reading not in cell.mean:
            return asked.by_levels[key]
        reading = cell.mean[turn.reading]
        if (key, reading) not in asked.turned:
            share = turn.share(reading, asked.spread)
            asked.turned[key, reading] = asked.sighting.turned(asked.by_levels[key], share)
        return asked.turned[key, reading]

    def chances_of(self, name: str, cells: Sequence[GridCell]) -> list[tuple[float, ...]]:
        """Return ``chances`` under each of ``cells``; the same object where it is the same row."""
        asked = self._asked.get(name) or self._ask(name)
        if asked.sighting.from_reading is not None or asked.sighting.turn is not None:
            return [self.chances(name, cell) for cell in cells]
        untouched = asked.touched.isdisjoint
        usual = next((self.chances(name, cell) for cell in cells if untouched(cell.key)), ())
        return [usual if untouched(cell.key) else self.chances(name, cell) for cell in cells]

    def _ask(self, name: str) -> _Asked:
        """Prepare a sighting: what of a cell its chances depend on."""
        sighting = self._case.catalogue.sighting(name)
        touched = frozenset(
            (*sighting.given, *sighting.given_off, *sighting.given_running, *sighting.given_cycling)
        )
        rule = sighting.from_reading or sighting.turn
        band = self._case.normal.readings.get(rule.reading) if rule else None
        spread = math.hypot(band.card_sigma, band.model_sigma) if band else 0.0
        asked = _Asked(sighting, name in _TOLD, touched, self._state(name), spread, {}, {}, {})
        self._asked[name] = asked
        return asked

    def _state(self, name: str) -> str:
        """Return the state of the compressor that is known apart from sighting ``name``."""
        stated = self._case.evidence.situation.state
        if stated in ("running", "cycling", "off"):
            return stated
        heard = {seen.id: seen.value for seen in self._case.sightings if seen.id != name}
        return known_state(heard)

    def _follows(self, rule: FromReading, cell: GridCell) -> bool:
        """Say whether the cell's own prediction tells what the sighting would show."""
        if rule.reading not in cell.mean or not self._running:
            return False
        for fault, step in zip(cell.key, cell.steps, strict=True):
            if step.present and fault not in self._moves:
                return False
        return True

    def _from_reading(self, asked: _Asked, rule: FromReading, cell: GridCell) -> tuple[float, ...]:
        """Average over what the card leaves open: three points of a normal (Gauss-Hermite)."""
        centre = cell.mean[rule.reading]
        slope = math.hypot(*(slope.get(rule.reading, 0.0) for slope in cell.slopes))
        if (centre, slope) not in asked.by_reading:
            reach = math.sqrt(3.0) * math.hypot(asked.spread, slope)
            rows = [asked.sighting.chances_at(centre + shift * reach) for shift in (-1.0, 0.0, 1.0)]
            asked.by_reading[centre, slope] = tuple(
                low / 6.0 + middle * 2.0 / 3.0 + high / 6.0 for low, middle, high in zip(*rows, strict=True)
            )
        return asked.by_reading[centre, slope]

    def _load_share(self, cell: GridCell) -> float:
        """Return the load of the box over the cooling this cell leaves, both at set point."""
        load_w = self._case.resolved.design.load_w * (self._weather_at_set + self._extra_load(cell))
        return load_w / max(cell.cooling_w, 1.0)

    def _weather(self, box_k: float) -> float:
        """Return the load of the box at ``box_k`` in the weather of the call over its design load."""
        design = self._case.resolved.design
        span_k = design.rated_ambient_k - design.set_point_k
        return 0.5 + 0.5 * max(0.2, (self._case.normal.conditions.ambient_k - box_k) / span_k)

    def _extra_load(self, cell: GridCell) -> float:
        """Return what the faults of this cell add to the load, over the design load."""
        extra = 0.0
        if not self._loads.isdisjoint(cell.key):
            for fault, step in zip(cell.key, cell.steps, strict=True):
                if fault in self._loads:
                    extra += step.severity if step.severity is not None else 0.5
        return extra
