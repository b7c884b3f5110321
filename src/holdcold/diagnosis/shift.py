"""What would change a suspect: how far each thing not yet looked at is expected to move its chance.

For a suspect of chance p whose candidate reading has the density f with it and g without it, the
expected size of the change of its chance is exactly p (1 - p) times the integral of abs(f - g) (write
out Bayes' rule): nothing is sampled.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from holdcold.diagnosis.belief import Belief
from holdcold.diagnosis.case import NOT_LISTED, HypothesisKey, Observation
from holdcold.diagnosis.discrete import Table
from holdcold.diagnosis.logs import log_sum
from holdcold.diagnosis.posterior import ranked
from holdcold.diagnosis.severity import Component
from holdcold.diagnosis.weigh import NOT_LISTED_WIDENING, Weighed, weigh

Candidate = Observation | Table
"""A reading that could be taken (its value is not used), or a sighting that could be made."""

COMPONENTS = 16
"""Cells kept on either side of a suspect, the heaviest ones; the others hardly shape the density."""


@dataclass(frozen=True, slots=True)
class Shift:
    """Expected size of the change of a suspect's chance (0 to 0.5) if ``item`` is looked at."""

    item: str
    expected: float


def what_would_change(belief: Belief, fault: str, candidates: Sequence[Candidate]) -> tuple[Shift, ...]:
    """Return the candidates with how far each is expected to move ``fault``, the most telling first.

    Candidates of the same id count once, the last one. A reading whose instrument lies tells nothing.
    Raises as ``Belief.predict`` and ``conclude`` do.
    """
    weighed = weigh(belief)
    shifts: dict[str, float] = {}
    for candidate in candidates:
        if isinstance(candidate, Table):
            shifts[candidate.item] = _table_shift(weighed, fault, candidate)
        else:
            shifts[candidate.name] = _reading_shift(weighed, fault, candidate)
    return tuple(Shift(item, expected) for item, expected in ranked(shifts))


def _table_shift(weighed: Weighed, fault: str, table: Table) -> float:
    chances = weighed.chances()
    share = _chance(chances, fault)
    total = 0.0
    for value in table.values:
        term = table.term(value, weighed.belief.problem.priors)
        likelihoods = {**term.logs, NOT_LISTED: term.not_listed}
        with_fault = math.fsum(c * math.exp(likelihoods[k]) for k, c in chances.items() if _has(k, fault))
        overall = math.fsum(c * math.exp(likelihoods[k]) for k, c in chances.items())
        total += abs(with_fault - share * overall)
    return total


def _reading_shift(weighed: Weighed, fault: str, candidate: Observation) -> float:
    """Expected shift by a reading; its density is a mixture of normals on either side."""
    belief = weighed.belief
    means, sigmas = belief.predict(candidate)
    sides: dict[bool, list[Component]] = {True: [], False: []}
    cells = zip(belief.problem.cells, weighed.cells, means, sigmas, strict=True)
    for cell, chance, mean, sigma in cells:
        sides[fault in cell.hypothesis].append(Component(chance, mean, sigma))
    sides[False] += _not_listed(weighed, means, sigmas)
    share = _chance(weighed.chances(), fault)
    if not 0.0 < share < 1.0:
        return 0.0
    distance = _distance(_heaviest(sides[True]), _heaviest(sides[False]))
    return (1.0 - candidate.lie_chance) * share * (1.0 - share) * distance


def _not_listed(weighed: Weighed, means: Sequence[float], sigmas: Sequence[float]) -> list[Component]:
    """What *not listed* predicts: every cell as it is, with three times the sigma."""
    total = log_sum(value for part in weighed.parts for value in part.wide)
    widening = math.sqrt(NOT_LISTED_WIDENING)
    return [
        Component(weighed.not_listed * math.exp(value - total), means[index], widening * sigmas[index])
        for part in weighed.parts
        for index, value in zip(part.indices, part.wide, strict=True)
    ]


def _heaviest(components: Iterable[Component]) -> list[Component]:
    """The heaviest components, their weights made to sum to 1."""
    kept = sorted(components, key=lambda part: -part.weight)[:COMPONENTS]
    total = math.fsum(part.weight for part in kept)
    return [Component(part.weight / total, part.mean, part.sigma) for part in kept if part.weight > 0.0]


def _distance(left: Sequence[Component], right: Sequence[Component]) -> float:
    """Integral of the absolute difference of two mixtures, by trapezoids of half a sigma or less."""
    points = sorted(
        {part.mean + 0.5 * step * part.sigma for part in (*left, *right) for step in range(-12, 13)}
    )
    gaps = [abs(_density(left, point) - _density(right, point)) for point in points]
    return math.fsum(
        0.5 * (gaps[i] + gaps[i + 1]) * (points[i + 1] - points[i]) for i in range(len(points) - 1)
    )


def _density(components: Sequence[Component], value: float) -> float:
    total = 0.0
    for part in components:
        away = (value - part.mean) / part.sigma
        if -7.0 < away < 7.0:
            total += part.weight * math.exp(-0.5 * away * away) / part.sigma
    return total / math.sqrt(2.0 * math.pi)


def _has(key: HypothesisKey, fault: str) -> bool:
    return fault in key and key != NOT_LISTED


def _chance(chances: Mapping[HypothesisKey, float], fault: str) -> float:
    return math.fsum(chance for key, chance in chances.items() if _has(key, fault))
