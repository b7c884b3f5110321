"""A linear system of a few unknowns, fast enough for the inner loop of the cycle."""

from __future__ import annotations


def solve_small(matrix: list[list[float]], right: list[float]) -> list[float] | None:
    """Return x of ``matrix x = right`` for a few unknowns; None when the matrix is singular.

    matrix: square, rows of floats, left unchanged. right: same length, left unchanged.
    Method: Gaussian elimination with row scaling by pivoting (Golub and Van Loan, section 3.4).
    """
    n = len(right)
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for k in range(n):
        pivot = max(range(k, n), key=lambda index: abs(rows[index][k]))
        head = rows[pivot]
        if abs(head[k]) < 1e-300:
            return None
        rows[pivot], rows[k] = rows[k], head
        inverse = 1.0 / head[k]
        for index in range(k + 1, n):
            row = rows[index]
            factor = row[k] * inverse
            if factor != 0.0:
                for column in range(k + 1, n + 1):
                    row[column] -= factor * head[column]
    x = [0.0] * n
    for k in range(n - 1, -1, -1):
        row = rows[k]
        total = row[n]
        for column in range(k + 1, n):
            total -= row[column] * x[column]
        x[k] = total / row[k]
    return x
