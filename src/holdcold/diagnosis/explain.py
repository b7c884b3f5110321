"""Why a suspect is believed, what speaks against it, and what would change that: from the likelihoods.

The evidence is added item by item, and each item is credited with the change of the suspect's log-odds
it brings. Later items find part of the work done by earlier ones, so this is done twice, in the order
of the item ids and in the reverse order, and averaged: the credits add up exactly to the whole change
from prior to posterior, do not depend on the order of entry, and two items that say the same share it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from holdcold.diagnosis.belief import Belief, start
from holdcold.diagnosis.case import NONE, Cell, DiscreteTerm, Observation
from holdcold.diagnosis.logs import log_odds
from holdcold.diagnosis.posterior import ranked
from holdcold.diagnosis.severity import COMPONENT_FLOOR, cell_moments
from holdcold.diagnosis.shift import Candidate, Shift, what_would_change
from holdcold.diagnosis.weigh import Part, Weighed, weigh

__all__ = [
    "WORDS",
    "Candidate",
    "Explanation",
    "Reason",
    "Shift",
    "explain",
    "in_words",
    "what_would_change",
]

WORDS = (
    (0.95, "almost certain"),
    (0.65, "likely"),
    (0.35, "about even"),
    (0.10, "possible"),
    (0.02, "unlikely"),
    (0.00, "almost ruled out"),
)
"""Least chance for each word. Our choice, near the scale of S. Kent, Words of Estimative Probability
(1964; from memory): almost certain 93, probable 75, about even 50, probably not 30, almost certainly
not 7 percent."""

LEAST_DELTA = 0.1
"""Items that move the log-odds by less [nats] (a tenth of the odds) are no reason."""


@dataclass(frozen=True, slots=True)
class Reason:
    """What one item of evidence did to the log-odds of a suspect.

    item: its id. delta: change of the suspect's log-odds against everything else [nats].
    observed: the reading [unit of its place], or what was seen.
    expected, normal: for a reading, its prediction under the suspect (at the severity now believed) and
        for a healthy machine, None where there is no such cell; for a sighting, the chance of what was
        seen under each.
    sigma: one sigma of a reading about its prediction, card, model and instrument together; None for a
        sighting.
    """

    item: str
    delta: float
    observed: float | str
    expected: float | None
    normal: float | None
    sigma: float | None


@dataclass(frozen=True, slots=True)
class Explanation:
    """Log-odds of a suspect before and after the evidence, and every item's share of the change.

    ``prior_log_odds`` plus the sum of all ``delta`` is ``log_odds``.
    """

    fault: str
    prior_log_odds: float
    log_odds: float
    reasons: tuple[Reason, ...]

    def why(self, most: int = 3) -> tuple[Reason, ...]:
        """Items that speak for the suspect, strongest first."""
        return _strongest([reason for reason in self.reasons if reason.delta >= LEAST_DELTA], most)

    def against(self, most: int = 3) -> tuple[Reason, ...]:
        """Items that speak against the suspect, strongest first."""
        return _strongest([reason for reason in self.reasons if reason.delta <= -LEAST_DELTA], most)


def in_words(chance: float) -> str:
    """Return the word for a chance; thresholds in ``WORDS``."""
    return next((word for least, word in WORDS if chance >= least), WORDS[-1][1])


def explain(belief: Belief, faults: Sequence[str]) -> dict[str, Explanation]:
    """Return, for each of ``faults``, what every item of evidence did to it.

    Costs two weighings of the belief per item. Raises as ``conclude`` does.
    """
    steps = sorted(_steps(belief), key=lambda step: step.order)
    bare = start(belief.problem).with_logs([0.0] * len(belief.log_terms), 0.0)
    upward = _credits(bare, steps, faults)
    downward = _credits(bare, steps[::-1], faults)[::-1]
    weighed = weigh(belief)
    before, after = _fault_log_odds(weigh(bare), faults), _fault_log_odds(weighed, faults)
    normal = _expectation(weighed, None)
    explanations = {}
    for fault in faults:
        expected = _expectation(weighed, fault)
        reasons = tuple(
            _reason(belief, step, 0.5 * (up[fault] + down[fault]), expected, normal)
            for step, up, down in zip(steps, upward, downward, strict=True)
        )
        explanations[fault] = Explanation(fault, before[fault], after[fault], reasons)
    return explanations


@dataclass(frozen=True, slots=True)
class _Step:
    """One item of evidence: a reading, a discrete term, or (by its index) a column of cell sightings."""

    item: str
    evidence: Observation | DiscreteTerm | int
    order: tuple[str, float]

    def added_to(self, belief: Belief) -> Belief:
        """The belief with this item in it."""
        if isinstance(self.evidence, Observation):
            return belief.with_reading(self.evidence)
        if isinstance(self.evidence, DiscreteTerm):
            return belief.with_term(self.evidence)
        column = self.evidence
        cells = belief.problem.cells
        return belief.with_logs(
            [t + cell.sightings[column] for t, cell in zip(belief.log_terms, cells, strict=True)],
            belief.not_listed_term + belief.problem.cell_sightings[column].not_listed,
        )


def _steps(belief: Belief) -> Iterator[_Step]:
    for column, sighting in enumerate(belief.problem.cell_sightings):
        yield _Step(sighting.item, column, (sighting.item, 0.0))
    for term in belief.terms:
        yield _Step(term.item, term, (term.item, term.not_listed))
    for reading in belief.observations:
        yield _Step(reading.name, reading, (reading.name, reading.value))


def _credits(bare: Belief, steps: Sequence[_Step], faults: Sequence[str]) -> list[dict[str, float]]:
    """Change of each fault's log-odds as each step is added in turn."""
    belief, before = bare, _fault_log_odds(weigh(bare), faults)
    changes = []
    for step in steps:
        belief = step.added_to(belief)
        after = _fault_log_odds(weigh(belief), faults)
        changes.append({fault: after[fault] - before[fault] for fault in faults})
        before = after
    return changes


def _fault_log_odds(weighed: Weighed, faults: Sequence[str]) -> dict[str, float]:
    chances = weighed.chances()
    found = {}
    for fault in faults:
        sides: tuple[list[float], list[float]] = ([], [])
        for key, chance in chances.items():
            sides[fault in key].append(chance)
        found[fault] = log_odds(math.fsum(sides[True]), math.fsum(sides[False]))
    return found


def _strongest(reasons: Sequence[Reason], most: int) -> tuple[Reason, ...]:
    order = ranked({str(index).zfill(4): abs(reason.delta) for index, reason in enumerate(reasons)})
    return tuple(reasons[int(index)] for index, _ in order[:most])


@dataclass(frozen=True, slots=True)
class _Expectation:
    """What a set of cells predicts, weighted by their chances: readings by place, weights by cell."""

    readings: tuple[float, ...]
    weights: dict[int, float]


def _expectation(weighed: Weighed, fault: str | None) -> _Expectation | None:
    """What ``fault`` (None: a healthy machine) predicts at the severities now believed.

    A healthy machine is weighted by its prior, so that it stays there to compare with however small
    its chance has become.
    """
    belief = weighed.belief
    cells = belief.problem.cells
    if fault is None:
        weights = {i: math.exp(belief.log_priors[i]) for i, c in enumerate(cells) if c.hypothesis == NONE}
    else:
        weights = {i: weighed.cells[i] for i, cell in enumerate(cells) if fault in cell.hypothesis}
    total = math.fsum(weights.values())
    kept = {i: weight / total for i, weight in weights.items() if weight > COMPONENT_FLOOR * total}
    if not kept:
        return None
    share = math.fsum(kept.values())
    kept = {i: weight / share for i, weight in kept.items()}
    readings = [0.0] * len(belief.problem.places)
    for part in weighed.parts:
        for offset, first in enumerate(part.indices):
            weight = math.fsum(kept.get(index, 0.0) for index in belief.twins[first])
            if weight > 0.0:
                places = belief.slope_places[first]
                predicted = _at(cells[first], places, _direction_means(weighed, part, offset))
                readings = [r + weight * p for r, p in zip(readings, predicted, strict=True)]
    return _Expectation(tuple(readings), kept)


def _direction_means(weighed: Weighed, part: Part, offset: int) -> list[float]:
    """Posterior mean of each free direction of a cell, over who lies."""
    total = 0.0
    means = [0.0] * len(part.block.pulls)
    for share, found, _ in cell_moments(weighed, part, offset):
        means = [m + share * f for m, f in zip(means, found, strict=True)]
        total += share
    return [mean / total for mean in means]


def _at(cell: Cell, places: Sequence[int], directions: Sequence[float]) -> list[float]:
    """Return the readings of a cell moved along its slopes.

    places: of its slopes in ``directions``, or -1.
    """
    predicted = list(cell.mean)
    for place, slope in zip(places, cell.slopes, strict=True):
        if place >= 0:
            amount = directions[place]
            predicted = [p + amount * s for p, s in zip(predicted, slope, strict=True)]
    return predicted


def _reason(
    belief: Belief, step: _Step, delta: float, expected: _Expectation | None, normal: _Expectation | None
) -> Reason:
    evidence = step.evidence
    if isinstance(evidence, Observation):
        place = belief.problem.places.index(evidence.place)
        told, usual = (side.readings[place] if side else None for side in (expected, normal))
        side = expected or normal
        sigma = belief.spread(evidence, max(side.weights, key=side.weights.__getitem__)) if side else None
        return Reason(step.item, delta, evidence.value, told, usual, sigma)
    told, usual = (_sighting_chance(belief, evidence, side) for side in (expected, normal))
    seen = evidence if isinstance(evidence, DiscreteTerm) else belief.problem.cell_sightings[evidence]
    return Reason(step.item, delta, seen.observed, told, usual, None)


def _sighting_chance(belief: Belief, evidence: DiscreteTerm | int, side: _Expectation | None) -> float | None:
    """Chance of what was seen, over the cells of one side."""
    if side is None:
        return None
    terms = []
    for index, weight in side.weights.items():
        cell = belief.problem.cells[index]
        if isinstance(evidence, DiscreteTerm):
            terms.append(weight * math.exp(evidence.logs[cell.hypothesis]))
        else:
            terms.append(weight * math.exp(cell.sightings[evidence]))
    return math.fsum(terms)
