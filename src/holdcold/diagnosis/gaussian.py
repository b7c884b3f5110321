"""Correlated Gaussian likelihood of many severity cells at once, one reading at a time.

Every cell of a hypothesis shares one covariance of the readings. Its Cholesky factor grows by a row
per reading (``Frame``), and the residuals, the severity slopes and the lie directions are whitened
along with it (``Block``, ``Directions``; pairs of faults repeat the slopes of single ones, so a slope is
whitened once for all cells that have it). A free direction v of a cell (severity, or a lying
instrument) adds v v^T to the covariance; in whitened terms that is the matrix determinant lemma and
the Sherman-Morrison formula, which need only inner products, and those are running sums. So one more
reading costs one more row, and the order of the readings does not matter beyond rounding.

Numbers are kept in columns over the cells (lists of equal length), because a comprehension over a
column is several times faster than a loop over cells in pure Python.

Sources: Golub and Van Loan, Matrix Computations, 4th ed., sections 2.1.4 (Sherman-Morrison) and 4.2
(Cholesky); determinant lemma: Harville, Matrix Algebra From a Statistician's Perspective, section 18.1.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from holdcold.numerics.linear import Cholesky

Column = list[float]
LOG_TWO_PI = math.log(2.0 * math.pi)
_NO_OVERFLOW = 600.0
"""Scores below this can be raised to powers of e as they are."""


@dataclass(frozen=True, slots=True)
class Step:
    """How one more reading is whitened: ``(reading - row . earlier whitened) / deviation``.

    lies: whitened entry of this reading in the lie direction of each instrument.
    """

    row: tuple[float, ...]
    deviation: float
    lies: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Frame:
    """The covariance the cells of one hypothesis share, factored, with the lie directions in it.

    factor: Cholesky factor over the readings so far.
    lies: per instrument its whitened lie direction, one entry per reading.
    gram: inner products of the whitened lie directions.
    """

    factor: Cholesky
    lies: tuple[tuple[float, ...], ...]
    gram: tuple[tuple[float, ...], ...]

    @property
    def log_norm(self) -> float:
        """Log of the Gaussian's normalising factor for the shared covariance."""
        return -0.5 * (self.factor.log_det + len(self.factor.lower) * LOG_TWO_PI)

    def step(self, covariance: Sequence[float], variance: float, lie: Sequence[float]) -> Step:
        """Return how a reading with this covariance to the earlier readings is whitened.

        variance: of the reading itself. lie: its raw entry in the lie direction of each instrument;
        may be longer than ``lies`` (instruments not heard of before).
        Raises SolverError when the readings have no positive definite covariance.
        """
        row = self.factor.extended(covariance, variance).lower[-1]
        known = (*self.lies, *((0.0,) * len(row),) * (len(lie) - len(self.lies)))
        entries = []
        for raw, direction in zip(lie, known, strict=True):
            for factor, entry in zip(row, direction, strict=False):
                raw -= factor * entry
            entries.append(raw / row[-1])
        return Step(row[:-1], row[-1], tuple(entries))

    def extended(self, step: Step) -> Frame:
        """Return the frame with the reading of ``step`` in it."""
        count = len(self.factor.lower)
        fresh = len(step.lies) - len(self.lies)
        directions = (*self.lies, *((0.0,) * count,) * fresh)
        padded = [(*row, *(0.0,) * fresh) for row in self.gram]
        padded += [(0.0,) * len(step.lies)] * fresh
        return Frame(
            Cholesky((*self.factor.lower, (*step.row, step.deviation))),
            tuple((*direction, entry) for direction, entry in zip(directions, step.lies, strict=True)),
            tuple(
                tuple(value + one * other for value, other in zip(row, step.lies, strict=True))
                for row, one in zip(padded, step.lies, strict=True)
            ),
        )


@dataclass(frozen=True, slots=True)
class Directions:
    """The free directions of the cells of one frame, each once, whitened, as columns over the directions.

    raw: by direction its entries over all places. white: one column per reading. squares: inner product
    with itself. shears: per instrument the inner product with its lie.
    """

    raw: tuple[tuple[float, ...], ...]
    white: tuple[Column, ...]
    squares: Column
    shears: tuple[Column, ...]

    def extended(self, step: Step, place: int) -> Directions:
        """Return the directions with one more reading, of ``place`` (its number)."""
        white = whiten(step, self.white, [entries[place] for entries in self.raw])
        fresh = len(step.lies) - len(self.shears)
        shears = (*self.shears, *([0.0] * len(white),) * fresh)
        return Directions(
            self.raw,
            (*self.white, white),
            _add_product(self.squares, white, white),
            tuple(_add_scaled(old, entry, white) for old, entry in zip(shears, step.lies, strict=True)),
        )


@dataclass(frozen=True, slots=True)
class Block:
    """Cells of one frame with the same number of free directions, whitened, as columns over the cells.

    which: per free direction, cell by cell, its number in ``Directions``.
    white: whitened residuals, one column per reading.
    fit: squared length of the whitened residual.
    pulls: per free direction its inner product with the residual.
    crosses: inner products of free direction k with those before it, row k with k columns.
    lie_pulls: inner products of each instrument's lie with the residual.
    """

    which: tuple[tuple[int, ...], ...]
    white: tuple[Column, ...]
    fit: Column
    pulls: tuple[Column, ...]
    crosses: tuple[tuple[Column, ...], ...]
    lie_pulls: tuple[Column, ...]

    def extended(self, step: Step, residual: Column, directions: Column) -> Block:
        """Return the block with one more reading: raw residuals by cell, whitened entries by direction."""
        white = whiten(step, self.white, residual)
        tilted = [_gather(directions, numbers) for numbers in self.which]
        fresh = len(step.lies) - len(self.lie_pulls)
        lie_pulls = (*self.lie_pulls, *([0.0] * len(residual),) * fresh)
        return Block(
            self.which,
            (*self.white, white),
            _add_product(self.fit, white, white),
            tuple(_add_product(old, white, new) for old, new in zip(self.pulls, tilted, strict=True)),
            tuple(
                tuple(_add_product(old, tilted[k], tilted[j]) for j, old in enumerate(row))
                for k, row in enumerate(self.crosses)
            ),
            tuple(_add_scaled(old, e, white) for old, e in zip(lie_pulls, step.lies, strict=True)),
        )

    def stiffness(self, directions: Directions) -> list[list[Column]]:
        """Return the inner products of the free directions, row k up to column k."""
        return [
            [*row, _gather(directions.squares, numbers)]
            for row, numbers in zip(self.crosses, self.which, strict=True)
        ]

    def lie_riders(self, directions: Directions) -> list[Rider]:
        """Return each instrument's lie as a direction carried along."""
        return [
            Rider(pull, tuple(_gather(shear, numbers) for numbers in self.which))
            for pull, shear in zip(self.lie_pulls, directions.shears, strict=True)
        ]


def empty_frame() -> Frame:
    """Return the frame before any reading."""
    return Frame(Cholesky(()), (), ())


def empty_directions(raw: Sequence[tuple[float, ...]]) -> Directions:
    """Return directions with these raw entries over the places, before any reading."""
    return Directions(tuple(raw), (), [0.0] * len(raw), ())


def empty_block(which: Sequence[tuple[int, ...]]) -> Block:
    """Return the block of cells whose free directions have these numbers, before any reading."""
    zero = [0.0] * len(which)
    by_direction = tuple(zip(*which, strict=True))
    crosses = tuple((zero,) * k for k in range(len(by_direction)))
    return Block(by_direction, (), zero, (zero,) * len(by_direction), crosses, ())


def _gather(column: Column, numbers: Sequence[int]) -> Column:
    return [column[number] for number in numbers]


def whiten(step: Step, earlier: Sequence[Column], raw: Column) -> Column:
    """Return the whitened entry of a new reading, cell by cell, from its raw entries."""
    deviation = step.deviation
    factors = [(factor, column) for factor, column in zip(step.row, earlier, strict=True) if factor != 0.0]
    while len(factors) > 2:
        (a, one), (b, two), (c, three) = factors.pop(), factors.pop(), factors.pop()
        raw = [r - a * x - b * y - c * z for r, x, y, z in zip(raw, one, two, three, strict=True)]
    for a, one in factors:
        raw = [r - a * x for r, x in zip(raw, one, strict=True)]
    return [r / deviation for r in raw]


def _add_product(total: Column, left: Column, right: Column) -> Column:
    return [t + x * y for t, x, y in zip(total, left, right, strict=True)]


def _add_scaled(total: Column, factor: float, column: Column) -> Column:
    return [t + factor * x for t, x in zip(total, column, strict=True)] if factor != 0.0 else total


@dataclass(frozen=True, slots=True)
class Rider:
    """A direction carried through the elimination: its pull on the residual and shear on each slope."""

    pull: Column
    shears: tuple[Column, ...]


@dataclass(frozen=True, slots=True)
class Free:
    """A block with its free directions integrated out.

    fit: squared Mahalanobis length of the residual. half_log_det: half the log of the factor by which
    the free directions enlarge the determinant. riders: the riders' pulls on what is left, and their
    shears scaled so that two riders' inner product is reduced by the sum of products of their shears.
    """

    fit: Column
    half_log_det: Column
    riders: tuple[Rider, ...]


def integrate_slopes(block: Block, directions: Directions, riders: Sequence[Rider]) -> Free:
    """Integrate every free direction of ``block`` against a unit normal, one rank-1 update each."""
    fit = block.fit
    log_det = [0.0] * len(fit)
    pulls = list(block.pulls)
    rows = block.stiffness(directions)
    rider_pulls = [rider.pull for rider in riders]
    shears = [list(rider.shears) for rider in riders]
    for k in range(len(pulls)):
        size = [1.0 + g for g in rows[k][k]]
        root = [math.sqrt(d) for d in size]
        share = [c / d for c, d in zip(pulls[k], size, strict=True)]
        fit = [q - c * f for q, c, f in zip(fit, pulls[k], share, strict=True)]
        log_det = [t + math.log(r) for t, r in zip(log_det, root, strict=True)]
        for later in range(k + 1, len(pulls)):
            cross = rows[later][k]
            ratio = [g / d for g, d in zip(cross, size, strict=True)]
            pulls[later] = _less(pulls[later], ratio, pulls[k])
            for row in shears:
                row[later] = _less(row[later], ratio, row[k])
            for other in range(k + 1, later + 1):
                rows[later][other] = _less(rows[later][other], ratio, rows[other][k])
        for index, row in enumerate(shears):
            rider_pulls[index] = _less(rider_pulls[index], share, row[k])
            row[k] = [b / r for b, r in zip(row[k], root, strict=True)]
    return Free(fit, log_det, tuple(map(Rider, rider_pulls, map(tuple, shears))))


def _less(total: Column, left: Column, right: Column) -> Column:
    return [t - x * y for t, x, y in zip(total, left, right, strict=True)]


@dataclass(frozen=True, slots=True)
class Lies:
    """What each single lying instrument would do to the likelihood of each cell.

    scores: per instrument, log of (prior odds of lying times likelihood ratio against no lie).
    sizes: per instrument, the lie's determinant factor (1 + whitened variance).
    """

    scores: tuple[Column, ...]
    sizes: tuple[Column, ...]


def single_lies(frame: Frame, free: Free, log_odds: Sequence[float], widening: float = 1.0) -> Lies:
    """Score one lying instrument at a time.

    log_odds: prior log-odds of each instrument lying (``-inf``: cannot lie).
    widening: factor on the covariance of everything but the lie.
    """
    scores, sizes = [], []
    log, share, scale = math.log, 1.0 / widening, 0.5 / (widening * widening)
    for index, (rider, prior) in enumerate(zip(free.riders, log_odds, strict=True)):
        whole = 1.0 + share * frame.gram[index][index]
        if len(rider.shears) == 2:  # two faults: by far the most cells
            size = [whole - share * (x * x + y * y) for x, y in zip(*rider.shears, strict=True)]
        else:
            size = [whole] * len(free.fit)
            for shear in rider.shears:
                size = [m - share * x * x for m, x in zip(size, shear, strict=True)]
        scores.append(
            [prior + scale * a * a / m - 0.5 * log(m) for a, m in zip(rider.pull, size, strict=True)]
        )
        sizes.append(size)
    return Lies(tuple(scores), tuple(sizes))


def log_mixture(scores: Sequence[Column], cells: int) -> Column:
    """Return log(1 + sum of exp(scores)) cell by cell; with no scores, zeros."""
    if not scores or not cells:
        return [0.0] * cells
    exp, log = math.exp, math.log
    if max(map(max, scores)) < _NO_OVERFLOW:
        total = [1.0] * cells
        for column in scores:
            total = [t + e for t, e in zip(total, map(exp, column), strict=True)]
        return list(map(log, total))
    tops = [max(0.0, *row) for row in zip(*scores, strict=True)]
    total = [exp(-top) for top in tops]
    for column in scores:
        total = [t + exp(score - top) for t, score, top in zip(total, column, tops, strict=True)]
    return [top + log(t) for top, t in zip(tops, total, strict=True)]


class CellLies(NamedTuple):
    """What ``Free`` and ``Lies`` say of one cell: entries over the instruments.

    pulls, sizes, scores: as there. shears: per free direction, one entry per instrument.
    """

    pulls: tuple[float, ...]
    sizes: tuple[float, ...]
    scores: tuple[float, ...]
    shears: tuple[tuple[float, ...], ...]


def cell_lies(free: Free, lies: Lies, offsets: Sequence[int]) -> list[CellLies]:
    """Return what the lies would do to some cells; offsets: their places in the columns."""

    def rows(columns: Iterable[Column]) -> list[tuple[float, ...]]:
        return list(zip(*(_gather(column, offsets) for column in columns), strict=True))

    by_direction = [rows(rider.shears[k] for rider in free.riders) for k in range(len(free.riders[0].shears))]
    none: tuple[tuple[float, ...], ...] = ()
    shears = list(zip(*by_direction, strict=True)) if by_direction else [none] * len(offsets)
    pulls = rows(rider.pull for rider in free.riders)
    return list(map(CellLies, pulls, rows(lies.sizes), rows(lies.scores), shears))


def anchored_promise(frame: Frame, cell: CellLies, log_odds: Sequence[float]) -> float:
    """Return an upper limit of the score of every pair with a likely single liar of one cell.

    That is the likeliest, and the second when it explains at least half as much: two correlated
    instruments can each half explain what a third does better together with either.
    """
    scores = cell.scores
    *_, second, first = sorted(scores)
    anchor = scores.index(first)
    promise = _with_anchor(frame, cell, log_odds, anchor)
    if second > 0.5 * first > 0.0:
        rival = scores.index(second, anchor + 1 if second == first else 0)
        promise = max(promise, _with_anchor(frame, cell, log_odds, rival))
    return promise


def _with_anchor(frame: Frame, cell: CellLies, log_odds: Sequence[float], anchor: int) -> float:
    size = cell.sizes[anchor]
    lift = cell.pulls[anchor] / size
    crosses: Sequence[float] = frame.gram[anchor]
    if len(cell.shears) == 2:  # two faults: by far the most cells
        first, second = cell.shears
        x, y = first[anchor], second[anchor]
        crosses = [cross - x * u - y * v for cross, u, v in zip(crosses, first, second, strict=True)]
    else:
        for shear in cell.shears:
            x = shear[anchor]
            crosses = [cross - x * y for cross, y in zip(crosses, shear, strict=True)]
    # The anchor's entry for itself comes along; it is worth less than a lie of its own.
    best = max(
        [
            prior + 0.5 * (rest := pull - cross * lift) * rest / (own - cross * cross / size)
            for prior, pull, own, cross in zip(log_odds, cell.pulls, cell.sizes, crosses, strict=True)
        ]
    )
    return cell.scores[anchor] + best


def instrument_pairs(log_odds: Sequence[float]) -> list[tuple[int, int]]:
    """Return every pair of instruments that can both lie."""
    able = [index for index, prior in enumerate(log_odds) if prior > -math.inf]
    return [(one, other) for place, other in enumerate(able) for one in able[:place]]


def pair_lies(
    frame: Frame, free: Free, lies: Lies, log_odds: Sequence[float], offsets: Sequence[int]
) -> list[Column]:
    """Score every pair of ``instrument_pairs`` as in ``Lies``, a column over the cells at ``offsets``."""
    pulls = [_gather(rider.pull, offsets) for rider in free.riders]
    shears = [[_gather(shear, offsets) for shear in rider.shears] for rider in free.riders]
    sizes = [_gather(column, offsets) for column in lies.sizes]
    log = math.log
    columns = []
    for one, other in instrument_pairs(log_odds):
        cross = [frame.gram[one][other]] * len(offsets)
        for mine, theirs in zip(shears[one], shears[other], strict=True):
            cross = _less(cross, mine, theirs)
        prior = log_odds[one] + log_odds[other]
        left = [n - c * c / m for n, c, m in zip(sizes[other], cross, sizes[one], strict=True)]
        rest = [b - c * a / m for a, b, c, m in zip(pulls[one], pulls[other], cross, sizes[one], strict=True)]
        columns.append(
            [
                prior + 0.5 * (a * a / m + r * r / n) - 0.5 * log(m * n)
                for a, m, r, n in zip(pulls[one], sizes[one], rest, left, strict=True)
            ]
        )
    return columns


def pair_promise(frame: Frame, free: Free, lies: Lies, log_odds: Sequence[float]) -> Column:
    """Return, cell by cell, an optimistic score of the best pair of lies, to decide who gets ``pair_lies``.

    With x and y the whitened pulls of two lies alone, and c the size of the cosine between them, the
    pair gains at most half of x^2 + (y + c x)^2 / (1 - c^2), and never more than the whole residual.
    The largest cosine is taken before the cell's own slopes: a screen, not a strict bound. Empty when
    fewer than two instruments can lie.
    """
    able = [index for index, prior in enumerate(log_odds) if prior > -math.inf]
    if len(able) < 2:
        return []
    cosine = _largest_cosine(frame, able)
    free_share = 1.0 - cosine * cosine
    # Prior and determinant are taken at their best over the instruments, so the gain alone decides.
    costs = sorted((log_odds[index] - 0.5 * math.log(min(lies.sizes[index])) for index in able), reverse=True)
    cost = costs[0] + costs[1] - 0.5 * math.log(free_share)
    gains = [
        [a * a / m for a, m in zip(free.riders[index].pull, lies.sizes[index], strict=True)] for index in able
    ]
    promise = []
    for whole, row in zip(free.fit, zip(*gains, strict=True), strict=True):
        best = second = 0.0
        for gain in row:
            if gain > second:
                best, second = (gain, best) if gain > best else (best, gain)
        rest = math.sqrt(second) + cosine * math.sqrt(best)
        promise.append(cost + 0.5 * min(whole, best + rest * rest / free_share))
    return promise


def _largest_cosine(frame: Frame, able: Sequence[int]) -> float:
    largest = 0.0
    for place, one in enumerate(able):
        for other in able[place + 1 :]:
            sizes = (1.0 + frame.gram[one][one]) * (1.0 + frame.gram[other][other])
            largest = max(largest, abs(frame.gram[one][other]) / math.sqrt(sizes))
    return largest
