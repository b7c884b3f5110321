"""Weighing a belief: the chance of every severity cell, of *not listed*, and of every lie.

A lying instrument is a mixture over which instruments lie (none, one or two), shared by all readings
of the instrument. *Not listed* predicts the mixture of all listed cells with nine times the covariance
(three times every sigma; there at most one instrument lies), normalised, so that it wins only where
everything listed fits badly.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from holdcold.diagnosis.belief import Belief
from holdcold.diagnosis.case import NOT_LISTED, HypothesisKey
from holdcold.diagnosis.gaussian import (
    Block,
    CellLies,
    Column,
    Frame,
    Free,
    Lies,
    PairScore,
    Rider,
    anchored_promise,
    cell_rows,
    integrate_slopes,
    log_mixture,
    pair_lies,
    pair_promise,
    single_lies,
)
from holdcold.diagnosis.logs import log_chance, log_sum
from holdcold.errors import InputError

NOT_LISTED_WIDENING = 9.0
"""Factor on the covariance under *not listed*."""

SCREEN_NATS = 16.0
"""Pairs of lies are worked out only where one promises to bring a cell this close to the best one.
Against working out every pair the chances moved by 7e-6 at most (total variation; 348 random cases of
7 to 876 cells, up to two liars)."""

TRACE = 1e-10
"""Cells with less chance than this are left out when the lies are added up."""

Configuration = tuple[tuple[int, ...], float]
"""Indices of the instruments that lie, and the share of a cell's chance that goes with it."""


@dataclass(frozen=True, slots=True)
class Part:
    """One block of cells, weighed.

    indices: of its cells in ``Problem.cells``, the first of each set of twins. free: the block with its
    free directions integrated.
    bases: log joint of each cell and its twins with no lie. lies: what each single lie would do.
    wide, wide_lies: log joint of each cell under the wide covariance of *not listed*, lies included.
    """

    indices: tuple[int, ...]
    frame: Frame
    block: Block
    free: Free
    bases: Column
    lies: Lies
    wide: Column
    wide_lies: Lies
    wide_mixture: Column


@dataclass(frozen=True, slots=True)
class Weighed:
    """Chances of the cells and of *not listed*, with what they were made of.

    cells: chance of each cell of ``Problem.cells``; they and ``not_listed`` sum to 1. sets: by the first
    of a set of twins, the chance of all of them.
    log_evidence: log of the probability density of all the evidence [nats].
    mixtures: per first cell the log of the sum over lie configurations, relative to no lie.
    pairs: pairs of lies that were tried, by cell: (one, other, log share relative to no lie).
    """

    belief: Belief
    cells: Column
    sets: dict[int, float]
    not_listed: float
    log_evidence: float
    parts: tuple[Part, ...]
    mixtures: Column
    pairs: dict[int, list[PairScore]]

    def chances(self) -> dict[HypothesisKey, float]:
        """Chance of every hypothesis, *not listed* included."""
        terms: dict[HypothesisKey, list[float]] = {key: [] for key in self.belief.problem.priors}
        for cell, chance in zip(self.belief.problem.cells, self.cells, strict=True):
            terms[cell.hypothesis].append(chance)
        return {**{key: math.fsum(values) for key, values in terms.items()}, NOT_LISTED: self.not_listed}

    def configurations(self, part: Part, offset: int) -> Iterator[Configuration]:
        """Yield who lies in one cell, with the share of its chance; the shares sum to 1."""
        index = part.indices[offset]
        mixture = self.mixtures[index]
        yield (), math.exp(-mixture)
        for instrument, column in enumerate(part.lies.scores):
            yield (instrument,), math.exp(column[offset] - mixture)
        for one, other, score in self.pairs.get(index, ()):
            yield (one, other), math.exp(score - mixture)

    def lying(self) -> list[float]:
        """Chance that each instrument of the belief is far off."""
        terms: list[list[float]] = [[] for _ in self.belief.instruments]
        wide_total = log_sum(value for part in self.parts for value in part.wide)
        for part in self.parts:
            chances = [self.sets[index] for index in part.indices]
            mixtures = [self.mixtures[index] for index in part.indices]
            unlisted = [self.not_listed * math.exp(value - wide_total) for value in part.wide]
            for instrument, found in enumerate(terms):
                found += _shares(chances, part.lies.scores[instrument], mixtures)
                found += _shares(unlisted, part.wide_lies.scores[instrument], part.wide_mixture)
        for index, pairs in self.pairs.items():
            if self.sets[index] > TRACE:
                for one, other, score in pairs:
                    share = self.sets[index] * math.exp(score - self.mixtures[index])
                    terms[one].append(share)
                    terms[other].append(share)
        return [math.fsum(values) for values in terms]


def _shares(chances: Column, scores: Column, mixtures: Column) -> list[float]:
    """Chance of each cell together with one lie, for the cells that have any chance worth counting."""
    return [
        chance * math.exp(score - mixture)
        for chance, score, mixture in zip(chances, scores, mixtures, strict=True)
        if chance > TRACE
    ]


def weigh(belief: Belief) -> Weighed:
    """Return the chance of every cell and of *not listed*.

    Raises InputError when the evidence is impossible under every hypothesis, *not listed* included.
    """
    parts = tuple(
        _part(belief, group.frame, indices, block)
        for group in belief.groups
        for indices, block in group.blocks
    )
    mixtures, pairs = _mixtures(belief, parts)
    share = belief.problem.not_listed_prior
    listed = log_chance(1.0 - share) - _log_configurations(belief.log_odds, 2)
    logs = {
        index: listed + mixtures[index] + base
        for part in parts
        for index, base in zip(part.indices, part.bases, strict=True)
    }
    unlisted = log_chance(share) - _log_configurations(belief.log_odds, 1) + belief.not_listed_term
    unlisted += log_sum(value for part in parts for value in part.wide)
    total = log_sum([*logs.values(), unlisted])
    if total == -math.inf:
        advice = "Give every sighting some chance of being wrong."
        raise InputError("evidence", total, "possible under at least one hypothesis", advice)
    sets = {index: math.exp(value - total) for index, value in logs.items()}
    cells = _shared_out(belief, sets)
    return Weighed(belief, cells, sets, math.exp(unlisted - total), total, parts, mixtures, pairs)


def _shared_out(belief: Belief, sets: dict[int, float]) -> Column:
    """Return the chance of every cell: a set of twins shares its chance by prior and discrete evidence."""
    cells = [0.0] * len(belief.problem.cells)
    for first, chance in sets.items():
        twins = belief.twins[first]
        if len(twins) == 1:
            cells[first] = chance
            continue
        logs = [belief.log_priors[twin] + belief.log_terms[twin] for twin in twins]
        total = log_sum(logs)
        for twin, value in zip(twins, logs, strict=True):
            cells[twin] = chance * math.exp(value - total) if total > -math.inf else 0.0
    return cells


def _part(belief: Belief, frame: Frame, indices: tuple[int, ...], block: Block) -> Part:
    count = len(belief.observations)
    free = integrate_slopes(block, list(map(Rider, block.lie_pulls, block.lie_shears)))
    wide_lies = single_lies(frame, free, belief.log_odds, NOT_LISTED_WIDENING)
    wide_mixture = log_mixture(wide_lies.scores, len(indices))
    norm = frame.log_norm
    wide_norm = norm - 0.5 * count * math.log(NOT_LISTED_WIDENING)
    bases, wide = [], []
    for offset, index in enumerate(indices):
        own = -free.half_log_det[offset] - count * math.log(belief.problem.cells[index].sigma_scale)
        fit = 0.5 * free.fit[offset]
        prior, joint = _of_twins(belief, index)
        bases.append(own + norm - fit + joint)
        wide.append(own + prior + wide_norm - fit / NOT_LISTED_WIDENING + wide_mixture[offset])
    lies = single_lies(frame, free, belief.log_odds)
    return Part(indices, frame, block, free, bases, lies, wide, wide_lies, wide_mixture)


def _of_twins(belief: Belief, first: int) -> tuple[float, float]:
    """Return the log of the prior mass of a set of twins, without and with the discrete evidence."""
    twins = belief.twins[first]
    if len(twins) == 1:
        return belief.log_priors[first], belief.log_priors[first] + belief.log_terms[first]
    prior = log_sum(belief.log_priors[twin] for twin in twins)
    return prior, log_sum(belief.log_priors[twin] + belief.log_terms[twin] for twin in twins)


def _mixtures(belief: Belief, parts: Sequence[Part]) -> tuple[Column, dict[int, list[PairScore]]]:
    """Sum over lie configurations in every cell, pairs only where the screen lets them matter."""
    mixtures = [0.0] * len(belief.problem.cells)
    hopes = []
    best = -math.inf
    for part in parts:
        singles = log_mixture(part.lies.scores, len(part.indices))
        for index, base, mixture in zip(part.indices, part.bases, singles, strict=True):
            mixtures[index] = mixture
            best = max(best, base + mixture)
        promises = pair_promise(part.frame, part.free, part.lies, belief.log_odds)
        rows = zip(promises, part.indices, part.bases, cell_rows(part.free, part.lies), strict=False)
        hopes += [(base + promise, index, base, part.frame, row) for promise, index, base, row in rows]
    # The most promising first: what they turn out to be worth raises the bar for the others.
    hopes.sort(key=lambda hope: (-hope[0], hope[1]))
    pairs = {}
    for hope, index, base, frame, row in hopes:
        if hope <= best - SCREEN_NATS:
            break
        cell = CellLies(*row)
        if base + anchored_promise(frame, cell, belief.log_odds) > best - SCREEN_NATS:
            pairs[index] = pair_lies(frame, cell, belief.log_odds)
            mixtures[index] = log_sum([mixtures[index], *(score for _, _, score in pairs[index])])
            best = max(best, base + mixtures[index])
    return mixtures, pairs


def _log_configurations(log_odds: Sequence[float], most: int) -> float:
    """Log of the summed prior odds of every configuration with at most ``most`` lying instruments."""
    odds = [math.exp(value) for value in log_odds]
    total = math.fsum(odds)
    pairs = 0.5 * (total * total - math.fsum(value * value for value in odds)) if most > 1 else 0.0
    return math.log1p(total + pairs)
