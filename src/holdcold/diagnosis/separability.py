"""Which faults of a unit can be told from each other, by which check, and how well; and which cannot.

Nothing here waits for a call: the answer is a property of the unit, its weather and the checks that
are permitted on it. Severities are averaged over their prior, as they are met.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import exp, fsum
from typing import Any

from holdcold.cards import Resolved
from holdcold.cycle import Conditions
from holdcold.diagnosis.case import Observation, Problem
from holdcold.diagnosis.catalogue import Catalogue, Check, catalogue, stands_for
from holdcold.diagnosis.cells import GridCell
from holdcold.diagnosis.evidence import Evidence, ReadingEvidence, Situation, State
from holdcold.diagnosis.observe import instrument_class, instrument_name, observation
from holdcold.diagnosis.problem import Case, SightingLikelihoods, open_case, problem_of
from holdcold.diagnosis.tell_apart import Readings, Shown, along_best, together

HEALTHY = "none"
"""Stands among the faults for a machine with nothing wrong."""

LEAST_RIGHT = 0.6
"""Faults that no permitted check tells apart more often than this are shown as one group."""

_STILL = "not_running"
_COIN = 0.505
_NEAR = 0.02
"""Of checks that tell about equally well, the cheapest is named."""

_MET = 0.3
"""A check that waits for something to be seen counts between two faults that both show it this often."""


@dataclass(frozen=True, slots=True)
class Separation:
    """How two faults are told apart.

    one, other: fault ids, ``"none"`` for a healthy machine. check: the best permitted one; empty when
    none tells anything. right: chance that the better guess after it is right, 0.5 to 1, both causes
    being equally likely before. by_check: the same for every permitted check.
    """

    one: str
    other: str
    check: str
    right: float
    by_check: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Matrix:
    """Every pair of faults of one unit, with what tells them apart.

    conditions: surroundings the readings were predicted in. faults: ids, ``"none"`` first.
    checks: permitted ones, in the order of the catalogue. pairs: by the two ids in that order.
    """

    conditions: Conditions
    faults: tuple[str, ...]
    checks: tuple[str, ...]
    pairs: Mapping[tuple[str, str], Separation]

    def between(self, one: str, other: str) -> Separation:
        """Return how two faults are told apart, in either order; KeyError when one is not of this unit."""
        return self.pairs.get((one, other)) or self.pairs[other, one]

    def look_alikes(self, fault: str) -> list[tuple[str, Separation]]:
        """Return the other faults with what tells them from ``fault``, the hardest to tell first."""
        others = [(other, self.between(fault, other)) for other in self.faults if other != fault]
        return sorted(others, key=lambda found: (round(found[1].right, 6), found[0]))

    def inseparable(self) -> list[tuple[str, str]]:
        """Return the pairs that no permitted check tells apart better than ``LEAST_RIGHT``."""
        return [key for key, found in self.pairs.items() if found.right < LEAST_RIGHT]

    def groups(self) -> list[tuple[str, ...]]:
        """Return the faults to show as one: largest sets of which no two can be told apart."""
        near: dict[str, set[str]] = {}
        for one, other in self.inseparable():
            near.setdefault(one, set()).add(other)
            near.setdefault(other, set()).add(one)
        order = {fault: number for number, fault in enumerate(self.faults)}
        found = [tuple(sorted(clique, key=order.__getitem__)) for clique in _cliques(near)]
        return sorted(found, key=lambda group: [order[fault] for fault in group])

    def as_data(self) -> dict[str, Any]:
        """Return the whole matrix as plain data; chances to four places, temperatures in K.

        Checks that tell two faults apart no better than a coin are left out of ``by_check``.
        """
        return {
            "conditions": {"ambient_k": self.conditions.ambient_k, "box_k": self.conditions.box_k},
            "faults": list(self.faults),
            "checks": list(self.checks),
            "least_right": LEAST_RIGHT,
            "pairs": [
                {
                    "faults": [found.one, found.other],
                    "check": found.check,
                    "right": round(found.right, 4),
                    "by_check": {
                        name: round(right, 4) for name, right in found.by_check.items() if right > _COIN
                    },
                }
                for found in self.pairs.values()
            ],
            "inseparable": [list(pair) for pair in self.inseparable()],
            "groups": [list(group) for group in self.groups()],
        }


def separability(
    resolved: Resolved, conditions: Conditions | None = None, book: Catalogue | None = None
) -> Matrix:
    """Return which faults of a unit can be told from each other, by which check, and how well.

    resolved: the unit's card with its assumptions. conditions: air entering the condenser and box air;
    the card's rating point and set point by default. book: the packaged catalogue by default.
    Faults that keep the machine from running are read at rest, the others while it runs. Checks that
    open the refrigerant circuit are half of a repair and are left out, as are those that a guard keeps
    closed on this unit. Raises InputError when the card's ratings contradict each other.
    """
    design = resolved.design
    here = conditions or Conditions(design.rated_ambient_k, design.set_point_k)
    desk = _Desk(resolved, here, book or catalogue())
    pairs = {}
    for one, other in combinations(desk.faults, 2):
        pairs[one, other] = desk.separation(one, other)
    return Matrix(here, desk.faults, tuple(check.id for check in desk.checks), pairs)


@dataclass(frozen=True, slots=True)
class _View:
    """A unit in one state, with its single faults on their severities and what it reads there."""

    case: Case
    problem: Problem
    likelihoods: SightingLikelihoods
    cells: Mapping[str, tuple[tuple[int, GridCell], ...]]
    instruments: Mapping[str, Observation]


def _view(resolved: Resolved, here: Conditions, book: Catalogue, state: State) -> _View:
    case = open_case(resolved, Evidence(Situation(here.ambient_k, here.box_k, state)), book)
    problem, cells = problem_of(case)
    by_fault: dict[str, list[tuple[int, GridCell]]] = {}
    for number, cell in enumerate(cells):
        if len(cell.key) < 2 and len(cell.levels) == len(cell.key):
            by_fault.setdefault(cell.key[0] if cell.key else HEALTHY, []).append((number, cell))
    return _View(
        case,
        problem,
        SightingLikelihoods(case),
        {fault: tuple(found) for fault, found in by_fault.items()},
        {place: _instrument(case, place) for place in case.places},
    )


def _instrument(case: Case, place: str) -> Observation:
    """Return a reading at a place as its usual instrument would take it."""
    usual = case.predictor.healthy().readings[place]
    asked = ReadingEvidence(place, usual)
    kind = instrument_class(asked, case.catalogue)
    dimension = case.catalogue.place(place).dimension
    return observation(place, usual, kind, instrument_name(asked, kind, dimension))


class _Desk:
    """Compares two faults of one unit by every permitted check; remembers what each fault shows."""

    def __init__(self, resolved: Resolved, here: Conditions, book: Catalogue) -> None:
        self._book = book
        self._running = _view(resolved, here, book, "running")
        self._off = _view(resolved, here, book, "off")
        open_question = Situation(here.ambient_k, here.box_k, "unknown")
        self._unknown = SightingLikelihoods(open_case(resolved, Evidence(open_question), book))
        self._facts = resolved.unit_facts()
        self.faults = (HEALTHY, *self._running.case.hypotheses.faults)
        self.checks = _permitted(book, self._facts)
        self._shown: dict[tuple[str, str, bool], Shown] = {}
        self._read: dict[tuple[str, tuple[str, ...]], Readings] = {}

    def separation(self, one: str, other: str) -> Separation:
        """Return how two faults are told apart by every permitted check."""
        by_check = {}
        for check in self.checks:
            if self._makes_sense(check, one, other):
                by_check[check.id] = 0.5 + 0.5 * self._distance(check, one, other)
        best = max(by_check.values(), default=0.5)
        near = [name for name, right in by_check.items() if right > best - _NEAR]
        chosen = min(near, key=lambda name: (self._cost(name), name)) if best > 0.5 + _NEAR else ""
        return Separation(one, other, chosen, by_check.get(chosen, best), by_check)

    def _cost(self, check: str) -> float:
        access = self._book.costs.access
        places = self._book.checks[check].places
        return self._book.check_cost(check) + fsum(access[place].open_minutes for place in places)

    def _makes_sense(self, check: Check, one: str, other: str) -> bool:
        """Say whether what a check waits for is seen often enough under both faults."""
        for name, allowed in check.only_if.items():
            values = self._book.sighting(name).values
            wanted = [place for place, value in enumerate(values) if value in allowed]
            for fault in (one, other):
                chances = self._sighting(name, fault, told=True).mixture()
                if fsum(chances[place] for place in wanted) < _MET:
                    return False
        return True

    def _distance(self, check: Check, one: str, other: str) -> float:
        """Return how far apart two faults lie in everything a check shows."""
        told = self._still(one) == self._still(other)
        names = [name for name in check.sightings if self._asks(name)]
        ones = [self._sighting(name, one, told=told) for name in names]
        others = [self._sighting(name, other, told=told) for name in names]
        places = self._places(check, one, other)
        if places and self._moves(one, other):
            left, right = along_best(self._readings(one, places), self._readings(other, places))
            ones.append(left)
            others.append(right)
        return together(ones, others)

    def _asks(self, name: str) -> bool:
        sighting = self._book.sighting(name)
        return sighting.informs and stands_for(sighting.applies_to, self._facts)

    def _still(self, fault: str) -> bool:
        return fault != HEALTHY and self._running.case.hypotheses.faults[fault].axis == _STILL

    def _view_of(self, fault: str) -> _View:
        return self._off if self._still(fault) else self._running

    def _moves(self, one: str, other: str) -> bool:
        """Say whether readings can differ at all: a machine at rest reads the same whatever stopped it."""
        return not (self._still(one) and self._still(other))

    def _places(self, check: Check, one: str, other: str) -> tuple[str, ...]:
        """Return the readings of a check that an instrument takes under both faults."""
        views = [self._view_of(fault) for fault in (one, other)]
        return tuple(place for place in check.readings if all(place in view.instruments for view in views))

    def _sighting(self, name: str, fault: str, *, told: bool) -> Shown:
        """Return what a sighting shows; ``told``: it is known whether the compressor runs."""
        key = (name, fault, told)
        if key not in self._shown:
            view = self._view_of(fault) if told else self._running
            likelihoods = view.likelihoods if told else self._unknown
            cells = view.cells[fault]
            self._shown[key] = Shown(
                _shares(cells), tuple(tuple(likelihoods.chances(name, cell)) for _, cell in cells)
            )
        return self._shown[key]

    def _readings(self, fault: str, places: tuple[str, ...]) -> Readings:
        key = (fault, places)
        if key not in self._read:
            view = self._view_of(fault)
            numbers = [view.problem.places.index(place) for place in places]
            engine = [view.problem.cells[number] for number, _ in view.cells[fault]]
            self._read[key] = Readings(
                _shares(view.cells[fault]),
                tuple(tuple(cell.mean[n] for n in numbers) for cell in engine),
                tuple(tuple(tuple(slope[n] for n in numbers) for slope in cell.slopes) for cell in engine),
                _noise(view, places, numbers),
            )
        return self._read[key]


def _permitted(book: Catalogue, facts: Mapping[str, str]) -> tuple[Check, ...]:
    """Return the checks that may be done on a unit once everything they wait for was done."""
    every = book.checks_for(facts)
    closed: set[str] = set()
    for name, standing in book.standings(facts, {}, [check.id for check in every]).items():
        if standing.closed and book.guards[name].closed_until_override:
            closed |= book.guards[name].checks
    return tuple(check for check in every if not check.opens_circuit and check.id not in closed)


def _shares(cells: Sequence[tuple[int, GridCell]]) -> tuple[float, ...]:
    """Return the share of each severity of one fault."""
    raw = [exp(cell.log_weight) for _, cell in cells]
    total = fsum(raw)
    return tuple(value / total for value in raw)


def _noise(view: _View, places: Sequence[str], numbers: Sequence[int]) -> tuple[tuple[float, ...], ...]:
    """Return the covariance of readings that card, model and instruments make, lies counted in."""
    given = view.problem.sensitivity
    rows = [(*given.card[n], *given.factors[n]) for n in numbers]
    taken = [view.instruments[place] for place in places]
    found = []
    for i, (left, one) in enumerate(zip(rows, taken, strict=True)):
        line = []
        for j, (right, other) in enumerate(zip(rows, taken, strict=True)):
            value = 0.0
            for x, y in zip(left, right, strict=True):
                value += x * y
            if one.instrument_id == other.instrument_id:
                value += one.bias_sigma * other.bias_sigma
                value += one.lie_chance * one.lie_sigma * other.lie_sigma
            if i == j:
                value += given.diagonal[numbers[i]] ** 2 + one.sigma**2
            line.append(value)
        found.append(tuple(line))
    return tuple(found)


def _cliques(near: Mapping[str, set[str]]) -> Iterable[set[str]]:
    """Yield the largest sets of which every two are near each other.

    Method: Bron and Kerbosch, Algorithm 457, Communications of the ACM 16(9), 1973, with the pivot of
    Tomita, Tanaka, Takahashi, Theoretical Computer Science 363, 2006.
    """

    def grow(chosen: set[str], candidates: set[str], seen: set[str]) -> Iterable[set[str]]:
        if not candidates and not seen:
            yield chosen
            return
        pivot = max(sorted(candidates | seen), key=lambda fault: len(candidates & near[fault]))
        for fault in sorted(candidates - near[pivot]):
            yield from grow(chosen | {fault}, candidates & near[fault], seen & near[fault])
            candidates = candidates - {fault}
            seen = seen | {fault}

    return grow(set(), set(near), set()) if near else []
