"""How well what two faults show can be told apart: the share of right guesses between the two.

Between two causes that are equally likely beforehand, the best guess from what is seen is right with
chance (1 + d) / 2, d being the total variation distance of what the two show (Devroye, Györfi, Lugosi,
A Probabilistic Theory of Pattern Recognition, 1996, section 2.1). Readings that go together are
weighed as one number, along the direction in which the two causes lie furthest apart for their
spread (Fisher's linear discriminant; ibid., section 4.1), so the share found is a floor.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product

from holdcold.numerics.linear import cholesky

Vector = Sequence[float]
Rows = Sequence[Vector]

_BINS = 16
_REACH = 4.0
"""The readings' number is counted in so many bins, out to this many sigmas beyond the outermost cell."""

_ITEMS = 3
_NOTHING = 0.02
_CERTAIN = 0.98
"""At most so many items are weighed jointly; not where one decides all, or the second adds nothing."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What one item shows under one fault.

    weights: share of each severity, sum 1. rows: per severity the chances of the item's outcomes.
    """

    weights: tuple[float, ...]
    rows: tuple[tuple[float, ...], ...]

    def mixture(self) -> list[float]:
        """Return the chance of each outcome, averaged over the severities."""
        return [
            math.fsum(weight * value for weight, value in zip(self.weights, column, strict=True))
            for column in zip(*self.rows, strict=True)
        ]


@dataclass(frozen=True, slots=True)
class Readings:
    """What some readings show under one fault, each severity a normal.

    weights: share of each severity, sum 1. means: per severity the readings [SI].
    slopes: per severity the directions in which the readings are free, one sigma each.
    noise: covariance of everything else: card, model, instruments.
    """

    weights: tuple[float, ...]
    means: tuple[tuple[float, ...], ...]
    slopes: tuple[tuple[tuple[float, ...], ...], ...]
    noise: tuple[tuple[float, ...], ...]

    def centre(self) -> list[float]:
        """Return the mean of the readings over the severities."""
        return [
            math.fsum(weight * value for weight, value in zip(self.weights, column, strict=True))
            for column in zip(*self.means, strict=True)
        ]

    def covariance(self) -> list[list[float]]:
        """Return the covariance of the readings, severities included."""
        total = [list(row) for row in self.noise]
        centre = self.centre()
        for weight, mean, slopes in zip(self.weights, self.means, self.slopes, strict=True):
            off = tuple(value - middle for value, middle in zip(mean, centre, strict=True))
            for direction in (off, *slopes):
                for row, left in zip(total, direction, strict=True):
                    for column, right in enumerate(direction):
                        row[column] += weight * left * right
        return total


def distance(one: Shown, other: Shown) -> float:
    """Return the total variation distance of an item under two faults (0: the same, 1: never the same)."""
    return _distance(one.mixture(), other.mixture())


def _distance(one: Vector, other: Vector) -> float:
    return 0.5 * math.fsum(abs(x - y) for x, y in zip(one, other, strict=True))


def together(ones: Sequence[Shown], others: Sequence[Shown]) -> float:
    """Return the distance of several items seen on one visit, independent at a given severity.

    ones, others: the same items under two faults, each with the same severities throughout. The three
    that tell most are weighed jointly, so this is a floor.
    """
    distances = [distance(one, other) for one, other in zip(ones, others, strict=True)]
    alone = sorted(
        ((value, number) for number, value in enumerate(distances)),
        key=lambda found: (-round(found[0], 9), found[1]),
    )
    kept = [number for value, number in alone if value > _NOTHING][:_ITEMS]
    if len(kept) < 2 or alone[0][0] > _CERTAIN:
        return alone[0][0] if alone else 0.0
    return max(alone[0][0], _distance(_joint([ones[n] for n in kept]), _joint([others[n] for n in kept])))


def _joint(items: Sequence[Shown]) -> list[float]:
    """Return the chances of every combination of the items' outcomes."""
    total: list[float] = []
    for number, weight in enumerate(items[0].weights):
        chances = [weight * math.prod(values) for values in product(*(item.rows[number] for item in items))]
        total = [x + y for x, y in zip(total, chances, strict=True)] if total else chances
    return total


def along_best(one: Readings, other: Readings) -> tuple[Shown, Shown]:
    """Return the readings of two faults as one item: their number along the telling direction, in bins."""
    first, second = one.covariance(), other.covariance()
    pooled = [
        [0.5 * (x + y) for x, y in zip(left, right, strict=True)]
        for left, right in zip(first, second, strict=True)
    ]
    apart = [x - y for x, y in zip(one.centre(), other.centre(), strict=True)]
    direction = _scaled_solution(pooled, apart)
    lines = [_projected(side, direction) for side in (one, other)]
    every = [cell for line in lines for cell in line]
    low = min(mean - _REACH * sigma for mean, sigma in every)
    high = max(mean + _REACH * sigma for mean, sigma in every)
    borders = [low + (high - low) * number / _BINS for number in range(1, _BINS)]
    return (
        Shown(one.weights, tuple(_binned(cell, borders) for cell in lines[0])),
        Shown(other.weights, tuple(_binned(cell, borders) for cell in lines[1])),
    )


def _scaled_solution(matrix: Rows, right: Vector) -> list[float]:
    """Return the solution of a positive definite system whose rows differ in unit by powers of ten."""
    scale = [1.0 / math.sqrt(matrix[k][k]) for k in range(len(right))]
    rows = [
        [value * left * across for value, across in zip(row, scale, strict=True)]
        for row, left in zip(matrix, scale, strict=True)
    ]
    solved = cholesky(rows).solve([value * left for value, left in zip(right, scale, strict=True)])
    return [value * left for value, left in zip(solved, scale, strict=True)]


def _projected(side: Readings, direction: Vector) -> list[tuple[float, float]]:
    """Return mean and sigma of each severity along a direction."""
    noise = 0.0
    for weight, row in zip(direction, side.noise, strict=True):
        noise += weight * _dot(row, direction)
    found = []
    for mean, slopes in zip(side.means, side.slopes, strict=True):
        variance = noise + math.fsum(_dot(slope, direction) ** 2 for slope in slopes)
        found.append((_dot(mean, direction), math.sqrt(max(variance, 1e-30))))
    return found


def _binned(cell: tuple[float, float], borders: Vector) -> tuple[float, ...]:
    mean, sigma = cell
    below = [0.5 * math.erfc((mean - border) / (sigma * math.sqrt(2.0))) for border in borders]
    edges = [0.0, *below, 1.0]
    return tuple(max(high - low, 0.0) for low, high in pairwise(edges))


def _dot(left: Vector, right: Vector) -> float:
    total = 0.0
    for x, y in zip(left, right, strict=True):
        total += x * y
    return total
