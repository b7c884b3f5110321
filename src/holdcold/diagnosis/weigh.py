"""Weighing a belief: the chance of every severity cell, of *not listed*, and of every lie.

A lying instrument is a mixture over which instruments lie (none, one or two), shared by all readings
of the instrument. *Not listed* predicts the mixture of all listed cells with nine times the covariance
(three times every sigma; there at most one instrument lies), normalised, so that it wins only where
everything listed fits badly.
"""

from __future__ import annotations

import itertools
import math
import operator
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from holdcold.diagnosis.belief import Belief, Group
from holdcold.diagnosis.case import NOT_LISTED, HypothesisKey
from holdcold.diagnosis.gaussian import (
    Block,
    Column,
    Directions,
    Frame,
    Free,
    Lies,
    anchored_promise,
    cell_lies,
    instrument_pairs,
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

_TIED = 6
"""Decimals to which promises count: cells that differ in the last bit only come in the order of their places;
else two C libraries would try different ones first."""

_FIRST_TRIED = 16
_TRIED_AT_ONCE = 5
"""Most instruments for which working out every pair is cheaper than asking which may matter."""

TRACE = 1e-10
"""Cells with less chance than this are left out when the lies are added up."""

Configuration = tuple[tuple[int, ...], float]
"""Indices of the instruments that lie, and the share of a cell's chance that goes with it."""


@dataclass(frozen=True, slots=True)
class Part:
    """One block of cells, weighed.

    indices: of its cells in ``Problem.cells``, the first of each set of twins. directions: what
    ``block.which`` counts. free: the block with its free directions integrated.
    bases: log joint of each cell and its twins with no lie. lies: what each single lie would do.
    wide, wide_lies: log joint of each cell under the wide covariance of *not listed*, lies included.
    """

    indices: tuple[int, ...]
    frame: Frame
    directions: Directions
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
    pairs: per first cell where pairs of lies were tried, the log share of each of ``instrument_pairs``,
    relative to no lie.
    """

    belief: Belief
    cells: Column
    sets: dict[int, float]
    not_listed: float
    log_evidence: float
    parts: tuple[Part, ...]
    mixtures: Column
    pairs: dict[int, tuple[float, ...]]

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
        if index in self.pairs:
            named = instrument_pairs(self.belief.log_odds)
            for pair, score in zip(named, self.pairs[index], strict=True):
                yield pair, math.exp(score - mixture)

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
        rows = [
            _shares_of_row(self.sets[index], scores, self.mixtures[index])
            for index, scores in self.pairs.items()
            if self.sets[index] > TRACE
        ]
        named = instrument_pairs(self.belief.log_odds)
        for (one, other), column in zip(named if rows else (), zip(*rows, strict=True), strict=True):
            both = math.fsum(column)
            terms[one].append(both)
            terms[other].append(both)
        return [math.fsum(values) for values in terms]


def _shares(chances: Column, scores: Column, mixtures: Column) -> list[float]:
    """Chance of each cell together with one lie, for the cells that have any chance worth counting."""
    return [
        chance * math.exp(score - mixture)
        for chance, score, mixture in zip(chances, scores, mixtures, strict=True)
        if chance > TRACE
    ]


def _shares_of_row(chance: float, scores: Sequence[float], mixture: float) -> Column:
    """Chance of one cell together with each pair of lies."""
    exp = math.exp
    return [chance * exp(score - mixture) for score in scores]


def weigh(belief: Belief) -> Weighed:
    """Return the chance of every cell and of *not listed*.

    Raises InputError when the evidence is impossible under every hypothesis, *not listed* included.
    """
    parts = tuple(
        _part(belief, group, indices, block) for group in belief.groups for indices, block in group.blocks
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
    shares = belief.sets.shares
    for first, chance in sets.items():
        for twin in belief.twins[first]:
            cells[twin] = chance * shares[twin]
    return cells


def _part(belief: Belief, group: Group, indices: tuple[int, ...], block: Block) -> Part:
    frame, count = group.frame, len(belief.observations)
    free = integrate_slopes(block, group.directions, block.lie_riders(group.directions))
    wide_lies = single_lies(frame, free, belief.log_odds, NOT_LISTED_WIDENING)
    wide_mixture = log_mixture(wide_lies.scores, len(indices))
    norm = frame.log_norm
    wide_norm = norm - 0.5 * count * math.log(NOT_LISTED_WIDENING)
    scales = [count * math.log(belief.problem.cells[index].sigma_scale) for index in indices]
    owns = [-half - scale for half, scale in zip(free.half_log_det, scales, strict=True)]
    priors, joints = belief.sets.priors, belief.sets.joints
    bases = [
        own + norm - 0.5 * fit + joints[index]
        for own, fit, index in zip(owns, free.fit, indices, strict=True)
    ]
    share = 0.5 / NOT_LISTED_WIDENING
    wide = [
        own + priors[index] + wide_norm - share * fit + mixture
        for own, fit, index, mixture in zip(owns, free.fit, indices, wide_mixture, strict=True)
    ]
    lies = single_lies(frame, free, belief.log_odds)
    return Part(indices, frame, group.directions, block, free, bases, lies, wide, wide_lies, wide_mixture)


def _mixtures(belief: Belief, parts: Sequence[Part]) -> tuple[Column, dict[int, tuple[float, ...]]]:
    """Sum over lie configurations in every cell, pairs only where the screen lets them matter."""
    mixtures = [0.0] * len(belief.problem.cells)
    hopes: list[tuple[float, int, int]] = []
    best = -math.inf
    for number, part in enumerate(parts):
        singles = log_mixture(part.lies.scores, len(part.indices))
        for index, mixture in zip(part.indices, singles, strict=True):
            mixtures[index] = mixture
        best = max(best, *map(operator.add, part.bases, singles))
        promises = pair_promise(part.frame, part.free, part.lies, belief.log_odds)
        if promises:
            both = zip(part.bases, promises, strict=True)
            rounded = (round(base + promise, _TIED) for base, promise in both)
            hopes += zip(rounded, itertools.repeat(number), itertools.count())
    # The most promising first: what they turn out to be worth raises the bar for the others.
    hopes = sorted(hope for hope in hopes if hope[0] > best - SCREEN_NATS)
    hopes.reverse()
    pairs: dict[int, tuple[float, ...]] = {}
    for start, end in ((0, _FIRST_TRIED), (_FIRST_TRIED, len(hopes))):
        chosen: dict[int, list[int]] = {}
        for hope, number, offset in hopes[start:end]:
            if hope > best - SCREEN_NATS:
                chosen.setdefault(number, []).append(offset)
        for number, offsets in chosen.items():
            best = max(best, _with_pairs(belief, parts[number], offsets, best - SCREEN_NATS, mixtures, pairs))
    return mixtures, pairs


def _with_pairs(
    belief: Belief,
    part: Part,
    offsets: Sequence[int],
    bar: float,
    mixtures: Column,
    pairs: dict[int, tuple[float, ...]],
) -> float:
    """Add the pairs of lies to ``mixtures`` and ``pairs`` of some cells; return the best joint among them.

    bar: log joint below which a pair does not matter. Where there are many pairs, each cell is asked first
    what its likeliest liars promise.
    """
    if len(belief.log_odds) > _TRIED_AT_ONCE:
        cells = cell_lies(part.free, part.lies, offsets)
        offsets = [
            offset
            for offset, cell in zip(offsets, cells, strict=True)
            if part.bases[offset] + anchored_promise(part.frame, cell, belief.log_odds) > bar
        ]
    if not offsets:
        return -math.inf
    columns = pair_lies(part.frame, part.free, part.lies, belief.log_odds, offsets)
    singles = [[column[offset] for offset in offsets] for column in part.lies.scores]
    best = -math.inf
    summed = log_mixture([*singles, *columns], len(offsets))
    for offset, mixture, row in zip(offsets, summed, zip(*columns, strict=True), strict=True):
        index = part.indices[offset]
        mixtures[index] = mixture
        pairs[index] = row
        best = max(best, part.bases[offset] + mixture)
    return best


def _log_configurations(log_odds: Sequence[float], most: int) -> float:
    """Log of the summed prior odds of every configuration with at most ``most`` lying instruments."""
    odds = [math.exp(value) for value in log_odds]
    total = math.fsum(odds)
    pairs = 0.5 * (total * total - math.fsum(value * value for value in odds)) if most > 1 else 0.0
    return math.log1p(total + pairs)
