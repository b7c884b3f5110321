"""Checks as questions: what each may show under every hypothesis, predicted, not stored."""

from __future__ import annotations

import math
import operator
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from holdcold.diagnosis.belief import Belief, believe
from holdcold.diagnosis.case import NONE, NOT_LISTED, HypothesisKey, Problem
from holdcold.diagnosis.catalogue import Check
from holdcold.diagnosis.cells import GridCell
from holdcold.diagnosis.evidence import ReadingEvidence
from holdcold.diagnosis.observe import instrument_class, instrument_name, observation
from holdcold.diagnosis.posterior import Posterior
from holdcold.diagnosis.problem import Case, SightingLikelihoods
from holdcold.diagnosis.sequential import Question

_KEYS = 45
_CELLS = 150
_LEAST_CHANCE = 1e-4
_TAIL = 1.2816
"""Eight in ten readings of a healthy machine fall inside this many sigmas."""

_ITEMS = 2
_CONSIDERED = 4
_ITEMS_OF_A_ROUND = 3
_LEAST_OUTCOME = 0.004
READING_OUTCOMES = ("low", "as expected", "high")


@dataclass(frozen=True, slots=True)
class Item:
    """One thing a check shows: a reading in three bands, or a sighting in its values.

    name: id of the place or sighting. outcomes: names. rows: per outcome its chance under each
    hypothesis. joint: the same times the chance of the hypothesis. totals: chance of each outcome.
    low, high: borders of *as expected* [SI] for a reading. gain: bits it tells.
    """

    name: str
    outcomes: tuple[str, ...]
    rows: tuple[tuple[float, ...], ...]
    joint: tuple[tuple[float, ...], ...]
    totals: tuple[float, ...]
    gain: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """A check as a question, with the items that make its outcomes. parts: item outcomes per outcome."""

    check: Check
    question: Question
    items: tuple[Item, ...]
    parts: tuple[tuple[str, ...], ...]


class Outlook:
    """The likeliest hypotheses and what they predict of anything not yet looked at.

    keys: hypotheses, likeliest first, *none* and *not listed* among them. chances: theirs, sum 1.
    belief: the belief over their likeliest severities alone, small enough to ask often.
    """

    def __init__(self, case: Case, problem: Problem, cells: Sequence[GridCell], found: Posterior) -> None:
        self._case = case
        self._likelihoods = SightingLikelihoods(case)
        ranked = [
            key for key, chance in found.hypotheses if chance >= _LEAST_CHANCE or key in (NONE, NOT_LISTED)
        ]
        kept = [key for key in ranked[:_KEYS] if key not in (NONE, NOT_LISTED)]
        self.keys: tuple[HypothesisKey, ...] = (*kept, NONE, NOT_LISTED)
        chances = dict(found.hypotheses)
        raw = [max(chances.get(key, 0.0), 1e-12) for key in self.keys]
        total = math.fsum(raw)
        self.chances = tuple(chance / total for chance in raw)
        self._numbers = _likeliest(self.keys, cells, found)
        self._cells = [cells[number] for number in self._numbers]
        self._weights = _weights(self.keys, self._cells, [found.cells[number] for number in self._numbers])
        self.belief = self._narrowed(problem)
        self._items: dict[str, Item | None] = {}
        self._members: dict[str, list[int]] = {}
        for number, key in enumerate(self.keys):
            for fault in key:
                self._members.setdefault(fault, []).append(number)

    def _narrowed(self, problem: Problem) -> Belief:
        """Return the belief over the kept cells only, so that predicting a reading is quick."""
        return self._over(problem, self._numbers, set(self.keys))

    def comparison(self, problem: Problem, cells: Sequence[GridCell]) -> Belief:
        """Return the belief over every single fault, *none* and the likely pairs.

        It is what a suspect is explained against: what rules out the others counts as a reason for it.
        """
        kept = set(self._numbers) | {number for number, cell in enumerate(cells) if len(cell.key) < 2}
        return self._over(problem, sorted(kept), {cells[number].key for number in kept})

    def _over(self, problem: Problem, numbers: Sequence[int], keys: set[HypothesisKey]) -> Belief:
        small = replace(
            problem,
            cells=tuple(problem.cells[number] for number in numbers),
            priors={key: prior for key, prior in problem.priors.items() if key in keys},
        )
        return believe(small, self._case.observations, self._case.terms)

    def item(self, name: str) -> Item | None:
        """Return what looking at a place or sighting may show; None when it is known or not predicted."""
        if name not in self._items:
            self._items[name] = (
                self._sighting(name) if name in self._case.catalogue.sightings else self._reading(name)
            )
        return self._items[name]

    def _sighting(self, name: str) -> Item | None:
        sighting = self._case.catalogue.sightings[name]
        if not sighting.informs or any(seen.id == name for seen in self._case.sightings):
            return None
        by_cell = self._likelihoods.chances_of(name, self._cells)
        unlisted = self._case.catalogue.sighting_chances(
            name, {"not_listed": 1.0}, self._case.facts["application"]
        )
        return self._made(name, sighting.values, self._mixed(by_cell, unlisted))

    def _reading(self, name: str) -> Item | None:
        if name not in self._case.places or any(one.place == name for one in self._case.observations):
            return None
        usual = self._case.predictor.healthy().readings[name]
        asked = ReadingEvidence(name, usual)
        kind = instrument_class(asked, self._case.catalogue)
        dimension = self._case.catalogue.place(name).dimension
        reading = observation(name, usual, kind, instrument_name(asked, kind, dimension))
        means, sigmas = self.belief.predict(reading)
        healthy = next(number for number, cell in enumerate(self._cells) if cell.key == NONE)
        half = _TAIL * sigmas[healthy]
        low, high = means[healthy] - half, means[healthy] + half
        below = [_normal_below(low, mean, sigma) for mean, sigma in zip(means, sigmas, strict=True)]
        above = [1.0 - _normal_below(high, mean, sigma) for mean, sigma in zip(means, sigmas, strict=True)]
        middle = [max(0.0, 1.0 - one - other) for one, other in zip(below, above, strict=True)]
        by_cell = list(zip(below, middle, above, strict=True))
        return self._made(name, READING_OUTCOMES, self._mixed(by_cell, (1.0 / 3.0,) * 3), low, high)

    def _mixed(
        self, by_cell: Sequence[tuple[float, ...]], unlisted: tuple[float, ...]
    ) -> list[tuple[float, ...]]:
        """Return the chances of the outcomes under each hypothesis, averaged over its severities."""
        found = []
        for key, weights in zip(self.keys, self._weights, strict=True):
            first = unlisted if key == NOT_LISTED else by_cell[weights[0][0]]
            # What does not depend on severity is one row for all cells.
            if any(by_cell[number] is not first for number, _ in weights):
                total = [0.0] * len(first)
                for number, weight in weights:
                    total = [t + weight * value for t, value in zip(total, by_cell[number], strict=True)]
                first = tuple(total)
            found.append(first)
        return found

    def _made(
        self,
        name: str,
        outcomes: tuple[str, ...],
        by_key: Sequence[tuple[float, ...]],
        low: float | None = None,
        high: float | None = None,
    ) -> Item:
        sums = [math.fsum(row) for row in by_key]
        rows = tuple(
            tuple(value / total for value, total in zip(column, sums, strict=True))
            for column in zip(*by_key, strict=True)
        )
        joint = tuple(tuple(map(operator.mul, self.chances, row)) for row in rows)
        return Item(name, outcomes, rows, joint, tuple(map(math.fsum, joint)), self._gain(rows), low, high)

    def _gain(self, rows: Sequence[Sequence[float]]) -> float:
        """Return the bits an item tells about the hypotheses (mutual information)."""
        gain = 0.0
        log2 = math.log2
        for row in rows:
            joint = list(map(operator.mul, self.chances, row))
            chance = math.fsum(joint)
            for both, value in zip(joint, row, strict=True):
                if both > 0.0:
                    gain += both * log2(value / chance)
        return gain

    def ask(self, check: Check, cost: float) -> Asked | None:
        """Return a check as a question; None when nothing it shows is still open."""
        items = [item for item in (self.item(name) for name in (*check.readings, *check.sightings)) if item]
        if not items:
            return None
        most = _ITEMS_OF_A_ROUND if len(check.sightings) > _ITEMS_OF_A_ROUND else _ITEMS
        chosen = self._chosen(items, most)
        parts, rows = self._outcomes(chosen)
        names = tuple("; ".join(part) for part in parts)
        return Asked(check, Question(check.id, cost, names, rows, check.places), chosen, parts)

    def _chosen(self, items: Sequence[Item], most: int) -> tuple[Item, ...]:
        """Return the items that tell most together: the best one, then what adds most to it."""
        left = sorted(items, key=lambda item: (-round(item.gain, 9), item.name))[:_CONSIDERED]
        chosen = [left.pop(0)]
        while left and len(chosen) < most:
            best = max(left, key=lambda item: (round(self._joint_gain([*chosen, item]), 9), item.name))
            left.remove(best)
            chosen.append(best)
        return tuple(chosen)

    def _joint_gain(self, items: Sequence[Item]) -> float:
        rows = [[1.0] * len(self.keys)]
        for item in items:
            rows = [list(map(operator.mul, row, more)) for row in rows for more in item.rows]
        return self._gain(rows)

    def shift(self, fault: str, item: Item) -> float:
        """Return the expected size of the change of a fault's chance if ``item`` is looked at (0 to 0.5)."""
        inside = self._members.get(fault, [])
        share = math.fsum([self.chances[number] for number in inside])
        moved = 0.0
        for joint, total in zip(item.joint, item.totals, strict=True):
            moved += abs(math.fsum([joint[number] for number in inside]) - share * total)
        return moved

    def _outcomes(
        self, items: Sequence[Item]
    ) -> tuple[tuple[tuple[str, ...], ...], tuple[tuple[float, ...], ...]]:
        """Return the joint outcomes of some items; the rare ones become one."""
        parts: list[tuple[str, ...]] = []
        rows: list[tuple[float, ...]] = []
        rest = [0.0] * len(self.keys)
        for index in product(*(range(len(item.outcomes)) for item in items)):
            row = [1.0] * len(self.keys)
            for item, place in zip(items, index, strict=True):
                row = list(map(operator.mul, row, item.rows[place]))
            chance = math.fsum(map(operator.mul, self.chances, row))
            if chance < _LEAST_OUTCOME:
                rest = [value + more for value, more in zip(rest, row, strict=True)]
            else:
                parts.append(tuple(item.outcomes[place] for item, place in zip(items, index, strict=True)))
                rows.append(tuple(row))
        if any(rest):
            parts.append(("anything else",))
            rows.append(tuple(rest))
        return tuple(parts), tuple(rows)

    def suspects_after(self, row: Sequence[float]) -> list[tuple[str, float]]:
        """Return faults with their chances after an outcome, likeliest first; *none* and *not listed* too."""
        joint = [share * value for share, value in zip(self.chances, row, strict=True)]
        total = math.fsum(joint) or 1.0
        found: dict[str, list[float]] = {}
        for key, value in zip(self.keys, joint, strict=True):
            for fault in key or ("none",):
                found.setdefault(fault, []).append(value / total)
        sums = {fault: math.fsum(values) for fault, values in found.items()}
        return sorted(sums.items(), key=lambda one: (-round(one[1], 6), one[0]))


def _likeliest(keys: Iterable[HypothesisKey], cells: Sequence[GridCell], found: Posterior) -> list[int]:
    """Return the numbers of the cells that carry the hypotheses: the best of each, then the likeliest."""
    wanted = set(keys)
    best: dict[HypothesisKey, int] = {}
    for number, cell in enumerate(cells):
        if cell.key in wanted and (cell.key not in best or found.cells[number] > found.cells[best[cell.key]]):
            best[cell.key] = number
    order = sorted(
        (number for number, cell in enumerate(cells) if cell.key in wanted),
        key=lambda n: (-found.cells[n], n),
    )
    return sorted({*best.values(), *order[:_CELLS]})


def _weights(
    keys: Sequence[HypothesisKey], cells: Sequence[GridCell], chances: Sequence[float]
) -> list[list[tuple[int, float]]]:
    """Return per hypothesis its cells with their shares."""
    found: list[list[tuple[int, float]]] = []
    for key in keys:
        own = [(number, chances[number]) for number, cell in enumerate(cells) if cell.key == key]
        total = math.fsum(chance for _, chance in own)
        even = 1.0 / len(own) if own else 0.0
        found.append([(number, chance / total if total > 0.0 else even) for number, chance in own])
    return found


def _normal_below(border: float, mean: float, sigma: float) -> float:
    return 0.5 * math.erfc((mean - border) / (sigma * math.sqrt(2.0)))


def outcome_words(asked: Asked, parts: Sequence[str]) -> Mapping[str, str]:
    """Return the outcome of each item of a check by its id; empty for the rare rest."""
    if len(parts) != len(asked.items):
        return {}
    return {item.name: part for item, part in zip(asked.items, parts, strict=True)}
