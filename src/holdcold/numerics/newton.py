"""Damped Newton for a few coupled equations, its Jacobian kept up to date by Broyden's formula."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

from holdcold.numerics.small import solve_small

_FINE: Final = 1e-12
"""Residual norm gone on to where that is easy: the answer then does not hang on the last bit of a library's
exponential. What was accepted only just would differ between server and phone by as much as the tolerance."""

Vector = list[float]
Matrix = list[list[float]]


@dataclass(frozen=True, slots=True)
class Solution:
    """Where an iteration ended: point, residuals, Jacobian there, and whether it converged and why."""

    x: Vector
    residuals: Vector
    jacobian: Matrix
    converged: bool
    evaluations: int
    reason: str


def difference_jacobian(
    function: Callable[[Vector], Vector], x: Vector, residuals: Vector, steps: Sequence[float]
) -> Matrix:
    """Return d residual / d x by forward differences of the given ``steps`` (rows are equations).

    function: the residual vector of a point, same length as ``x``.
    x, residuals: the point and the residuals there.
    steps: one step per unknown, in the unknown's own unit.
    """
    columns = []
    for index, step in enumerate(steps):
        moved = x.copy()
        moved[index] += step
        shifted = function(moved)
        columns.append([(f1 - f0) / step for f1, f0 in zip(shifted, residuals, strict=True)])
    return [list(row) for row in zip(*columns, strict=True)]


def solve_system(
    function: Callable[[Vector], Vector],
    start: Vector,
    *,
    steps: Sequence[float],
    caps: Sequence[float],
    lower: Sequence[float],
    upper: Sequence[float],
    tolerance: float = 1e-9,
    jacobian: Matrix | None = None,
    limit: int = 80,
) -> Solution:
    """Solve ``function(x) = 0`` for a handful of unknowns.

    function: residuals (dimensionless) of a point; same length as ``start``.
    start: first guess. steps: difference steps for the Jacobian. caps: largest move of each unknown
    in one iteration. lower, upper: borders the iterates stay inside of.
    tolerance: largest residual norm accepted; less is tried for.
    jacobian: one from a nearby problem, to save evaluations. limit: most evaluations of ``function``.

    The result is never silently wrong: ``converged`` is False with the reason when the borders, the
    evaluation limit or a singular Jacobian stopped it.
    Method: Newton with step caps and halving, Broyden's good update between Jacobians
    (Dennis and Schnabel 1996, sections 6.3 and 8.1).
    """
    x = [min(max(value, lo), hi) for value, lo, hi in zip(start, lower, upper, strict=True)]
    residuals = function(x)
    calls, fresh = 1, jacobian is None
    matrix = jacobian
    if matrix is None:
        matrix = difference_jacobian(function, x, residuals, steps)
        calls += len(x)
    size = _norm(residuals)
    while size > min(tolerance, _FINE):
        if calls >= limit:
            return _ended(Solution(x, residuals, matrix, False, calls, "evaluation limit"), size, tolerance)
        step = solve_small(matrix, residuals)
        moved, next_residuals, next_size, used = _move(function, x, step, size, caps, lower, upper, fresh)
        calls += used
        if moved is None:
            if fresh or size <= tolerance:
                return _ended(Solution(x, residuals, matrix, False, calls, "no descent"), size, tolerance)
            matrix, fresh = difference_jacobian(function, x, residuals, steps), True
            calls += len(x)
            continue
        slow = next_size > 0.3 * size and next_size > 1e-6
        _broyden(matrix, [b - a for a, b in zip(x, moved, strict=True)], residuals, next_residuals)
        x, residuals, size = moved, next_residuals, next_size
        fresh = False
        if slow and size > tolerance:
            matrix, fresh = difference_jacobian(function, x, residuals, steps), True
            calls += len(x)
    return Solution(x, residuals, matrix, True, calls, "residual")


def _ended(stopped: Solution, size: float, tolerance: float) -> Solution:
    """Return where the search stopped, as converged when its residual is small enough all the same."""
    if size > tolerance:
        return stopped
    return Solution(stopped.x, stopped.residuals, stopped.jacobian, True, stopped.evaluations, "residual")


def _move(
    function: Callable[[Vector], Vector],
    x: Vector,
    step: Vector | None,
    size: float,
    caps: Sequence[float],
    lower: Sequence[float],
    upper: Sequence[float],
    patient: bool,
) -> tuple[Vector | None, Vector, float, int]:
    """Take the capped step, halving it until the residual shrinks; None when nothing helps."""
    if step is None:
        return None, [], size, 0
    scale = 1.0
    for move, cap in zip(step, caps, strict=True):
        if abs(move) * scale > cap:
            scale = cap / abs(move)
    for attempt in range(6 if patient else 2):
        moved = [
            min(max(value - scale * move, lo), hi)
            for value, move, lo, hi in zip(x, step, lower, upper, strict=True)
        ]
        residuals = function(moved)
        next_size = _norm(residuals)
        if next_size < size * (1.0 - 1e-4 * scale):
            return moved, residuals, next_size, attempt + 1
        scale *= 0.4
    return None, [], size, 6 if patient else 2


def _norm(residuals: Vector) -> float:
    total = 0.0
    for value in residuals:
        total += value * value
    return sqrt(total)


def _broyden(matrix: Matrix, move: Vector, before: Vector, after: Vector) -> None:
    """Correct ``matrix`` in place so that it maps ``move`` to the residual change seen."""
    length2 = 0.0
    for value in move:
        length2 += value * value
    if length2 == 0.0:
        return
    for row, f0, f1 in zip(matrix, before, after, strict=True):
        predicted = 0.0
        for entry, value in zip(row, move, strict=True):
            predicted += entry * value
        error = (f1 - f0 - predicted) / length2
        for column, value in enumerate(move):
            row[column] += error * value
