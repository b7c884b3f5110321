"""Calls drawn from the model itself: facts of the card, fault, surroundings, model error, instruments."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from holdcold.cards import Fact, Resolved
from holdcold.cycle import Conditions, Design, Faults, OperatingPoint, axes, build, solve
from holdcold.cycle.unit import Unit
from holdcold.diagnosis.catalogue import Catalogue, Fault, catalogue
from holdcold.diagnosis.evidence import Evidence, ReadingEvidence, SightingEvidence, Situation
from holdcold.diagnosis.hypotheses import Hypotheses, Ladder, hypotheses
from holdcold.diagnosis.normal import model_sigma
from holdcold.diagnosis.observe import instrument_class, instrument_name
from holdcold.errors import InputError, InputErrors, SolverError

AIR_SIGMA_K = 0.5
"""How well box and entering air are known once somebody measured them; as the engine takes it [K]."""

_SCALED = ("power", "electric_power", "current", "flow", "volume")
_PRESSURES = ("suction_pa_service_valve", "discharge_pa")
_CLAMPS = ("suction_k_coil_outlet", "suction_k_compressor_inlet", "liquid_k_condenser_outlet")
_OTHERS = (
    "suction_pa_coil",
    "condenser_air_out_k",
    "coil_air_out_k",
    "compressor_a",
    "discharge_line_k",
    "liquid_k_receiver_outlet",
    "liquid_k_valve_inlet",
)
_ROUNDS = ("box_walk_round", "unit_walk_round")
_LEFT_OUT = ("drier_touch",)
"""What is felt at the drier stays as when healthy under some restrictions; the sampling does not know."""


class Drawn(Mapping[str, float]):
    """Facts moved by so many of their own spreads, each from where the facts before it put it.

    It stands in for the ``changes`` of ``Resolved.design_with``: a fact that rests on a moved one moves
    with it, and its own draw comes on top; a plain mapping would hold it at one value.
    """

    def __init__(self, facts: Mapping[str, Fact], moves: Mapping[str, float]) -> None:
        self._facts = facts
        self._moves = moves

    def __getitem__(self, name: str) -> float:
        fact = self._facts[name]
        return fact.value_si + self._moves[name] * fact.spread_si

    def __iter__(self) -> Iterator[str]:
        return iter(self._moves)

    def __len__(self) -> int:
        return len(self._moves)

    def get(self, name: str, central: float = 0.0) -> float:  # type: ignore[override]
        """Return ``central`` moved by the draw of ``name``; unmoved when it has none."""
        if name not in self._moves:
            return central
        fact = self._facts[name]
        spread = fact.spread_si
        if fact.dimension in _SCALED and fact.value_si:
            spread *= central / fact.value_si
        return central + self._moves[name] * spread


def drawn_design(resolved: Resolved, moves: Mapping[str, float]) -> Design:
    """Return the design with uncertain facts moved by ``moves`` standard deviations, by name."""
    return resolved.design_with(Drawn({fact.name: fact for fact in resolved.facts}, moves))


def drawn_unit(resolved: Resolved, moves: Mapping[str, float]) -> Unit | None:
    """Return the machine of moved facts; None when its ratings contradict each other: there is none such."""
    try:
        return build(drawn_design(resolved, moves))
    except (InputError, InputErrors, SolverError):
        return None


@dataclass(frozen=True)
class DrawnCall:
    """A call whose truth is known.

    evidence: what the engine is told. faults: severity by fault id. moves: of the card's facts, in
    standard deviations.
    """

    evidence: Evidence
    faults: Mapping[str, float]
    moves: Mapping[str, float]


@dataclass(frozen=True)
class SeverityPrior:
    """How severities of one fault lie: alike inside each interval.

    intervals: lowest and highest severity of each. shares: of the whole, sum 1.
    """

    intervals: tuple[tuple[float, float], ...]
    shares: tuple[float, ...]

    def drawn(self, draw: random.Random) -> float:
        """Return one severity."""
        return draw.uniform(*draw.choices(self.intervals, self.shares)[0])


def severity_prior(fault: Fault, ladder: Ladder) -> SeverityPrior:
    """Return how severities of a fault lie by the catalogue, from which the engine makes its ladder.

    Each node stands for everything up to midway to its neighbours, the outer two for as much beyond.
    Faults in whole pieces (fans) come from the ladder, in narrow intervals round each piece.
    """
    if fault.per or len(fault.nodes) == 1:
        steps = [(node, half or 1e-6) for node, half in zip(ladder.nodes, ladder.halves, strict=True)]
        return SeverityPrior(tuple((node - half, node + half) for node, half in steps), ladder.weights)
    nodes = fault.nodes
    middles = [0.5 * (low + high) for low, high in pairwise(nodes)]
    edges = [max(2.0 * nodes[0] - middles[0], 0.0), *middles, 2.0 * nodes[-1] - middles[-1]]
    return SeverityPrior(tuple(pairwise(edges)), fault.weights)


def random_call(resolved: Resolved, seed: int) -> DrawnCall:
    """Return one call on a machine of this card that runs steadily, with one fault in it.

    One call in six has two faults, one in seventeen none. Which readings and walk-rounds were taken is
    drawn too. A machine that would not stay running is drawn again: it would be found cycling, and the
    readings of a cycling machine swing.
    """
    draw = random.Random(f"call {seed}")
    book, design = catalogue(), resolved.design
    pieces = {"coil_fans": design.coil_fans, "condenser_fans": design.condenser_fans}
    listed = hypotheses(book, {"regulator": "no", **resolved.unit_facts(), "state": "running"}, pieces)
    while True:
        faults = _faults(listed, draw)
        moves = {fact.name: draw.gauss(0.0, 1.0) for fact in resolved.facts if fact.uncertain}
        unit = drawn_unit(resolved, moves)
        ambient_k = design.rated_ambient_k + draw.uniform(-14.0, 3.0)
        box_k = design.set_point_k + draw.uniform(0.5, 8.0)
        if unit is None:
            continue
        known = {name: listed.faults[name] for name in faults}
        point = solve(unit, Conditions(ambient_k, box_k), pushed(known, faults))
        if point.converged and point.state == "running":
            break
    situation = Situation(
        ambient_k=ambient_k + draw.gauss(0.0, AIR_SIGMA_K),
        box_k=box_k + draw.gauss(0.0, AIR_SIGMA_K),
        state="running",
        minutes_in_state=60.0,
        complaint="warm",
        box_trend="steady",
    )
    readings = _readings(draw, book, resolved, point)
    return DrawnCall(
        Evidence(situation, readings, _sightings(draw, book, resolved, faults, point)), faults, moves
    )


def pushed(faults: Mapping[str, Fault], severities: Mapping[str, float]) -> Faults:
    """Return severities of faults as the cycle takes them, held inside each axis."""
    known = axes()
    return Faults(
        **{
            fault.axis: min(max(severities[name], known[fault.axis][0]), known[fault.axis][1])
            for name, fault in faults.items()
        }
    )


def _faults(listed: Hypotheses, draw: random.Random) -> dict[str, float]:
    """Return the faults of one call with their severities; every fault the cycle predicts alike."""
    names = [name for name, fault in listed.faults.items() if fault.has_physics]
    kind = draw.random()
    if kind < 0.06:
        return {}
    chosen: tuple[str, ...] = (draw.choice(names),)
    if kind > 0.84:
        both = [key for key in listed.priors if len(key) == 2 and chosen[0] in key and set(key) <= set(names)]
        chosen = draw.choice(both) if both else chosen
    return {name: severity_prior(listed.faults[name], listed.ladders[name]).drawn(draw) for name in chosen}


def _readings(
    draw: random.Random, book: Catalogue, resolved: Resolved, point: OperatingPoint
) -> tuple[ReadingEvidence, ...]:
    ports = resolved.card.flag("charge.ports") is not False
    wanted = [*(_PRESSURES if ports else ()), *_CLAMPS[: draw.choice((2, 3, 3))]]
    wanted += [place for place in _OTHERS if draw.random() < 0.4 and (ports or "_pa" not in place)]
    biases: dict[str, float] = {}
    found = []
    for place in wanted:
        if place not in point.readings:
            continue
        usual = point.readings[place]
        true = usual + draw.gauss(0.0, model_sigma(place, usual, device=resolved.design.expansion))
        raw = ReadingEvidence(place, true)
        kind = instrument_class(raw, book)
        name = instrument_name(raw, kind, book.place(place).dimension)
        bias = biases.setdefault(name, draw.gauss(0.0, 1.0))
        error = bias * kind.bias_sigma(true) + draw.gauss(0.0, kind.sigma(true))
        found.append(ReadingEvidence(place, true + error))
    return tuple(found)


def _sightings(
    draw: random.Random,
    book: Catalogue,
    resolved: Resolved,
    faults: Mapping[str, float],
    point: OperatingPoint,
) -> tuple[SightingEvidence, ...]:
    facts = resolved.unit_facts()
    levels = {name: book.fault(name).level(severity) for name, severity in faults.items()}
    found = []
    for check in _ROUNDS:
        if draw.random() < 0.4:
            continue
        for name in book.check(check).sightings:
            sighting = book.sighting(name)
            applies = all(facts.get(key) in (None, *allowed) for key, allowed in sighting.applies_to.items())
            if not applies or name in _LEFT_OUT or draw.random() < 0.3:
                continue
            rule = sighting.from_reading
            if rule is not None and rule.reading in point.readings:
                chances = sighting.chances_at(point.readings[rule.reading])
            else:
                chances = book.sighting_chances(name, levels, facts.get("application", ""))
                if sighting.turn is not None and sighting.turn.reading in point.readings:
                    share = sighting.turn.share(point.readings[sighting.turn.reading])
                    chances = sighting.turned(chances, share)
            found.append(SightingEvidence(name, draw.choices(sighting.values, chances)[0]))
    return tuple(found)
