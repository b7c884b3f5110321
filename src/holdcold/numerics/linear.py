"""Dense linear algebra for a few dozen unknowns in plain lists: Cholesky, triangular solves, LU.

Method: Golub and Van Loan, Matrix Computations, 4th ed., sections 3.1 (triangular systems), 3.4 (LU
with partial pivoting) and 4.2 (Cholesky); one row at a time, so that a factor can be extended.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holdcold.errors import SolverError

Vector = Sequence[float]
Rows = Sequence[Sequence[float]]


def forward(lower: Rows, right: Vector) -> list[float]:
    """Return x of ``lower x = right``; row i of ``lower`` holds its i + 1 entries (packed) or more.

    Raises SolverError when the lengths differ or a diagonal entry is zero.
    """
    _same_length(lower, right)
    x: list[float] = []
    for index, row in enumerate(lower):
        total = right[index]
        for factor, known in zip(row, x, strict=False):
            total -= factor * known
        x.append(total / _pivot(row[index]))
    return x


def backward(lower: Rows, right: Vector) -> list[float]:
    """Return x of ``transpose(lower) x = right`` for the same ``lower`` as ``forward`` takes.

    Raises SolverError when the lengths differ or a diagonal entry is zero.
    """
    _same_length(lower, right)
    x = list(right)
    for index in range(len(x) - 1, -1, -1):
        row = lower[index]
        value = x[index] / _pivot(row[index])
        x[index] = value
        for column in range(index):
            x[column] -= row[column] * value
    return x


@dataclass(frozen=True, slots=True)
class Cholesky:
    """A symmetric positive definite matrix A as ``lower transpose(lower)``.

    lower: packed rows; row i has i + 1 entries, the last one positive.
    """

    lower: tuple[tuple[float, ...], ...]

    @property
    def log_det(self) -> float:
        """Natural logarithm of the determinant of A."""
        return 2.0 * math.fsum(math.log(row[-1]) for row in self.lower)

    def solve(self, right: Vector) -> list[float]:
        """Return x of A x = right. Raises SolverError when the lengths differ."""
        return backward(self.lower, forward(self.lower, right))

    def extended(self, column: Vector, diagonal: float) -> Cholesky:
        """Return the factor of A with one more row and column, in O(n^2).

        column: the new column above its diagonal entry, one value per row of A.
        Raises SolverError when the larger matrix is not positive definite.
        """
        row = forward(self.lower, column)
        rest = diagonal
        for value in row:
            rest -= value * value
        # A remainder of pure rounding means the new row adds no information of its own.
        if not rest > 1e-14 * abs(diagonal):
            raise SolverError(f"matrix is not positive definite at row {len(row)}: {rest!r} is left")
        return Cholesky((*self.lower, (*row, math.sqrt(rest))))


def cholesky(matrix: Rows) -> Cholesky:
    """Factor a symmetric positive definite matrix; only its lower triangle is read.

    Raises SolverError when a pivot is not positive beyond rounding (1e-14 of its diagonal entry).
    """
    factor = Cholesky(())
    for index, row in enumerate(matrix):
        factor = factor.extended(row[:index], row[index])
    return factor


@dataclass(frozen=True, slots=True)
class LU:
    """A square matrix with its rows permuted, as unit lower times upper triangle.

    rows: both triangles in one square. order: ``order[i]`` is the row of the matrix now in place i.
    sign: +1.0 or -1.0, of the permutation.
    """

    rows: tuple[tuple[float, ...], ...]
    order: tuple[int, ...]
    sign: float

    @property
    def sign_and_log_det(self) -> tuple[float, float]:
        """Sign of the determinant and the natural logarithm of its size."""
        pivots = [row[index] for index, row in enumerate(self.rows)]
        sign = self.sign
        for pivot in pivots:
            sign = -sign if pivot < 0.0 else sign
        return sign, math.fsum(math.log(abs(pivot)) for pivot in pivots)

    def solve(self, right: Vector) -> list[float]:
        """Return x of ``matrix x = right``. Raises SolverError when the lengths differ."""
        _same_length(self.rows, right)
        x: list[float] = []
        for index, source in enumerate(self.order):
            total = right[source]
            for factor, known in zip(self.rows[index], x, strict=False):
                total -= factor * known
            x.append(total)
        for index in range(len(x) - 1, -1, -1):
            row = self.rows[index]
            total = x[index]
            for column in range(index + 1, len(x)):
                total -= row[column] * x[column]
            x[index] = total / row[index]
        return x


def lu(matrix: Rows) -> LU:
    """Factor a square matrix with partial pivoting.

    Raises SolverError when it is not square, or singular to working precision: a pivot no larger than
    1e-15 times its size times the largest entry of the matrix.
    """
    size = len(matrix)
    rows = [list(row) for row in matrix]
    if any(len(row) != size for row in rows):
        raise SolverError(f"matrix is not square: {size} rows of {[len(row) for row in rows]} entries")
    floor = 1e-15 * size * max((abs(value) for row in rows for value in row), default=0.0)
    order = list(range(size))
    sign = 1.0
    for k in range(size):
        best = max(range(k, size), key=lambda index: abs(rows[index][k]))
        if best != k:
            rows[k], rows[best] = rows[best], rows[k]
            order[k], order[best] = order[best], order[k]
            sign = -sign
        if not abs(rows[k][k]) > floor:
            raise SolverError(f"matrix is singular to working precision at column {k}")
        _eliminate(rows, k)
    return LU(tuple(tuple(row) for row in rows), tuple(order), sign)


def _eliminate(rows: list[list[float]], k: int) -> None:
    """Clear column k below its pivot, keeping the multipliers where the zeros would stand."""
    head = rows[k]
    pivot = head[k]
    for row in rows[k + 1 :]:
        factor = row[k] / pivot
        row[k] = factor
        if factor != 0.0:
            for column in range(k + 1, len(head)):
                row[column] -= factor * head[column]


def _same_length(rows: Rows, right: Vector) -> None:
    if len(rows) != len(right):
        raise SolverError(f"{len(rows)} equations, but {len(right)} values on the right")


def _pivot(value: float) -> float:
    if value == 0.0:
        raise SolverError("zero on the diagonal of a triangular matrix")
    return value
