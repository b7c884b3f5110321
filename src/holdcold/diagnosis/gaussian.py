"""Correlated Gaussian likelihood of many severity cells at once, one reading at a time.

Every cell of a hypothesis shares one covariance of the readings. Its Cholesky factor grows by a row
per reading (``Frame``), and the residuals, the severity slopes and the lie directions are whitened
along with it (``Block``). A free direction v of a cell (severity, or a lying instrument) adds v v^T to
the covariance; in whitened terms that is the matrix determinant lemma and the Sherman-Morrison
formula, which need only inner products, and those are running sums. So one more reading costs one
more row, and the order of the readings does not matter beyond rounding.

Numbers are kept in columns over the cells (lists of equal length), because a comprehension over a
column is several times faster than a loop over cells in pure Python.

Sources: Golub and Van Loan, Matrix Computations, 4th ed., sections 2.1.4 (Sherman-Morrison) and 4.2
(Cholesky); determinant lemma: Harville, Matrix Algebra From a Statistician's Perspective, section 18.1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holdcold.numerics.linear import Cholesky

Column = list[float]
LOG_TWO_PI = math.log(2.0 * math.pi)


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
class Block:
    """Cells of one frame with the same number of free directions, whitened, as columns over the cells.

    white: whitened residuals, one column per reading.
    slopes: per free direction its whitened entries, one column per reading.
    fit: squared length of the whitened residual.
    pulls: per free direction its inner product with the residual.
    stiffness: inner products of the free directions, row k up to column k.
    lie_pulls, lie_shears: inner products of each instrument's lie with the residual, and with each
        free direction.
    """

    white: tuple[Column, ...]
    slopes: tuple[tuple[Column, ...], ...]
    fit: Column
    pulls: tuple[Column, ...]
    stiffness: tuple[tuple[Column, ...], ...]
    lie_pulls: tuple[Column, ...]
    lie_shears: tuple[tuple[Column, ...], ...]

    def extended(self, step: Step, residual: Column, slopes: Sequence[Column]) -> Block:
        """Return the block with one more reading: raw residuals and raw slope entries, cell by cell."""
        white = whiten(step, self.white, residual)
        tilted = [whiten(step, old, raw) for old, raw in zip(self.slopes, slopes, strict=True)]
        count = len(step.lies) - len(self.lie_pulls)
        zero = [0.0] * len(residual)
        lie_pulls = (*self.lie_pulls, *(zero,) * count)
        lie_shears = (*self.lie_shears, *((zero,) * len(slopes),) * count)
        return Block(
            (*self.white, white),
            tuple((*old, new) for old, new in zip(self.slopes, tilted, strict=True)),
            _add_product(self.fit, white, white),
            tuple(_add_product(old, white, new) for old, new in zip(self.pulls, tilted, strict=True)),
            tuple(
                tuple(_add_product(old, tilted[k], tilted[j]) for j, old in enumerate(row))
                for k, row in enumerate(self.stiffness)
            ),
            tuple(_add_scaled(old, e, white) for old, e in zip(lie_pulls, step.lies, strict=True)),
            tuple(
                tuple(_add_scaled(old, entry, new) for old, new in zip(row, tilted, strict=True))
                for row, entry in zip(lie_shears, step.lies, strict=True)
            ),
        )


def empty_frame() -> Frame:
    """Return the frame before any reading."""
    return Frame(Cholesky(()), (), ())


def empty_block(cells: int, directions: int) -> Block:
    """Return the block of ``cells`` cells with ``directions`` free directions before any reading."""
    zero = [0.0] * cells
    triangle = tuple((zero,) * (k + 1) for k in range(directions))
    return Block((), ((),) * directions, zero, (zero,) * directions, triangle, (), ())


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


def integrate_slopes(block: Block, riders: Sequence[Rider]) -> Free:
    """Integrate every free direction of ``block`` against a unit normal, one rank-1 update each."""
    fit = block.fit
    log_det = [0.0] * len(fit)
    pulls = list(block.pulls)
    rows = [list(row) for row in block.stiffness]
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
    for index, (rider, prior) in enumerate(zip(free.riders, log_odds, strict=True)):
        own = frame.gram[index][index]
        size = [1.0 + own / widening] * len(free.fit)
        for shear in rider.shears:
            size = [m - x * x / widening for m, x in zip(size, shear, strict=True)]
        scale = 0.5 / (widening * widening)
        scores.append(
            [prior + scale * a * a / m - 0.5 * math.log(m) for a, m in zip(rider.pull, size, strict=True)]
        )
        sizes.append(size)
    return Lies(tuple(scores), tuple(sizes))


def log_mixture(scores: Sequence[Column], cells: int) -> Column:
    """Return log(1 + sum of exp(scores)) cell by cell; with no scores, zeros."""
    if not scores:
        return [0.0] * cells
    exp, log = math.exp, math.log
    result = []
    for row in zip(*scores, strict=True):
        top = max(row)
        if top < -40.0:  # below the rounding of the sum
            result.append(0.0)
            continue
        top = max(top, 0.0)
        total = exp(-top)
        for score in row:
            if score - top > -40.0:
                total += exp(score - top)
        result.append(top + log(total))
    return result


PairScore = tuple[int, int, float]
"""Two instruments, and a score as in ``Lies``."""


@dataclass(frozen=True, slots=True)
class CellLies:
    """What ``Free`` and ``Lies`` say of one cell: entries over the instruments.

    pulls, sizes, scores: as there. shears: per free direction, one entry per instrument.
    """

    pulls: tuple[float, ...]
    sizes: tuple[float, ...]
    scores: tuple[float, ...]
    shears: tuple[tuple[float, ...], ...]


CellRow = tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...], tuple[tuple[float, ...], ...]]


def cell_rows(free: Free, lies: Lies) -> list[CellRow]:
    """Turn the columns of a block into the fields of one ``CellLies`` per cell; empty without instruments."""
    if not free.riders:
        return []
    directions = range(len(free.riders[0].shears))
    by_direction = [zip(*(rider.shears[k] for rider in free.riders), strict=True) for k in directions]
    none: tuple[tuple[float, ...], ...] = ()
    shears = zip(*by_direction, strict=True) if by_direction else [none] * len(free.fit)
    pulls = zip(*(rider.pull for rider in free.riders), strict=True)
    return list(
        zip(pulls, zip(*lies.sizes, strict=True), zip(*lies.scores, strict=True), shears, strict=True)
    )


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
    crosses = _crosses(frame.gram[anchor], cell.shears, anchor, 0)
    # The anchor's entry for itself comes along; it is worth less than a lie of its own.
    best = max(
        [
            prior + 0.5 * (rest := pull - cross * lift) * rest / (own - cross * cross / size)
            for prior, pull, own, cross in zip(log_odds, cell.pulls, cell.sizes, crosses, strict=True)
        ]
    )
    return cell.scores[anchor] + best


def _crosses(
    row: Sequence[float], shears: Sequence[Sequence[float]], one: int, start: int
) -> Sequence[float]:
    """Inner products of one lie with those from ``start`` on, less what the free directions explain."""
    if start:
        row = row[start:]
    if len(shears) == 2:  # two faults: by far the most cells
        first, second = shears
        x, y = first[one], second[one]
        if start:
            first, second = first[start:], second[start:]
        return [cross - x * u - y * v for cross, u, v in zip(row, first, second, strict=True)]
    for shear in shears:
        x = shear[one]
        row = [cross - x * y for cross, y in zip(row, shear[start:], strict=True)]
    return row


def pair_lies(frame: Frame, cell: CellLies, log_odds: Sequence[float]) -> list[PairScore]:
    """Score every pair of lying instruments for one cell.

    Pairs that cannot matter (40 nats below no lie and below the best single lie) are left out.
    """
    count = len(log_odds)
    floor = max(0.0, *cell.scores) - 40.0
    pulls, sizes = cell.pulls, cell.sizes
    log = math.log
    found: list[PairScore] = []
    for one in range(count - 1):
        size = sizes[one]
        crosses = _crosses(frame.gram[one], cell.shears, one, one + 1)
        lift = pulls[one] / size
        start = log_odds[one] + 0.5 * pulls[one] * lift
        for other, cross in enumerate(crosses, one + 1):
            rest = pulls[other] - cross * lift
            left = sizes[other] - cross * cross / size
            score = start + log_odds[other] + 0.5 * rest * rest / left
            if score > floor:
                found.append((one, other, score - 0.5 * log(size * left)))
    return found


def pair_promise(frame: Frame, free: Free, lies: Lies, log_odds: Sequence[float]) -> Column:
    """Return, cell by cell, an optimistic score of the best pair of lies, to decide who gets ``pair_lies``.

    With x and y the whitened pulls of two lies alone, and c the size of the cosine between them, the
    pair gains at most half of x^2 + (y + c x)^2 / (1 - c^2), and never more than the whole residual.
    The largest cosine is taken before the cell's own slopes: a screen, not a strict bound.
    """
    able = [index for index, prior in enumerate(log_odds) if prior > -math.inf]
    if len(able) < 2:
        return [-math.inf] * len(free.fit)
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
