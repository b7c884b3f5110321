"""Dense linear algebra against LAPACK (through NumPy and SciPy)."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.linalg
from hypothesis import given, settings
from hypothesis import strategies as st

from holdcold.errors import SolverError
from holdcold.numerics.linear import backward, cholesky, forward, lu


def random_square(seed: int, size: int) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=(size, size))


def random_covariance(seed: int, size: int) -> np.ndarray:
    root = random_square(seed, size)
    scales = np.exp(np.random.default_rng(seed + 1).normal(scale=3.0, size=size))
    return (root @ root.T + 0.05 * np.eye(size)) * np.outer(scales, scales)


def as_rows(array: np.ndarray) -> list[list[float]]:
    return [[float(value) for value in row] for row in array]


@given(st.integers(0, 10_000), st.integers(1, 14))
@settings(max_examples=60, deadline=None)
def test_cholesky_agrees_with_lapack(seed: int, size: int) -> None:
    """Outside: numpy.linalg.cholesky and slogdet (LAPACK dpotrf, dgetrf)."""
    matrix = random_covariance(seed, size)
    factor = cholesky(as_rows(matrix))
    expected = np.linalg.cholesky(matrix)
    for row, wanted in zip(factor.lower, expected, strict=True):
        assert row == pytest.approx(list(wanted[: len(row)]), rel=1e-9, abs=1e-9 * math.sqrt(np.max(matrix)))
    assert factor.log_det == pytest.approx(np.linalg.slogdet(matrix)[1], abs=1e-8)


@given(st.integers(0, 10_000), st.integers(1, 14))
@settings(max_examples=60, deadline=None)
def test_cholesky_solution_leaves_no_residual(seed: int, size: int) -> None:
    root = random_square(seed, size)
    matrix = root @ root.T + 0.05 * np.eye(size)
    right = np.random.default_rng(seed + 7).normal(size=size)
    x = cholesky(as_rows(matrix)).solve(list(right))
    assert matrix @ np.array(x) == pytest.approx(right, abs=1e-10)


def test_extending_a_factor_is_factoring_the_larger_matrix() -> None:
    matrix = as_rows(random_covariance(3, 6))
    small = cholesky([row[:5] for row in matrix[:5]])
    assert small.extended(matrix[5][:5], matrix[5][5]).lower == cholesky(matrix).lower


def test_triangular_solves_agree_with_lapack() -> None:
    """Outside: scipy.linalg.solve_triangular (LAPACK dtrtrs)."""
    lower = np.tril(random_square(5, 7)) + 3.0 * np.eye(7)
    right = np.arange(1.0, 8.0)
    expected = scipy.linalg.solve_triangular(lower, right, lower=True)
    assert forward(as_rows(lower), list(right)) == pytest.approx(list(expected), rel=1e-12)
    expected = scipy.linalg.solve_triangular(lower, right, lower=True, trans="T")
    assert backward(as_rows(lower), list(right)) == pytest.approx(list(expected), rel=1e-12)


@given(st.integers(0, 10_000), st.integers(1, 14))
@settings(max_examples=60, deadline=None)
def test_lu_agrees_with_lapack(seed: int, size: int) -> None:
    """Outside: numpy.linalg.solve and slogdet (LAPACK dgesv, dgetrf)."""
    matrix = random_square(seed, size)
    right = np.random.default_rng(seed + 3).normal(size=size)
    factor = lu(as_rows(matrix))
    condition = np.linalg.cond(matrix)
    expected = np.linalg.solve(matrix, right)
    scale = float(np.max(np.abs(expected)))
    assert factor.solve(list(right)) == pytest.approx(list(expected), abs=1e-14 * condition * scale)
    sign, log_size = np.linalg.slogdet(matrix)
    assert factor.sign_and_log_det == pytest.approx((sign, log_size), abs=1e-13 * condition + 1e-12)


def test_lu_needs_its_pivoting() -> None:
    """Without pivoting 1e-20 on the diagonal loses the answer (Golub and Van Loan, section 3.3.1)."""
    assert lu([[1e-20, 1.0], [1.0, 1.0]]).solve([1.0, 2.0]) == pytest.approx([1.0, 1.0], rel=1e-12)


@pytest.mark.parametrize(
    "matrix",
    [[[1.0, 2.0], [2.0, 4.0]], [[0.0]], [[1.0, 2.0]], [[1.0, 2.0, 3.0], [4.0, 5.0, 6.0], [7.0, 8.0, 9.0]]],
)
def test_lu_refuses_what_it_cannot_serve(matrix: list[list[float]]) -> None:
    with pytest.raises(SolverError):
        lu(matrix)


@pytest.mark.parametrize("matrix", [[[1.0, 2.0], [2.0, 1.0]], [[0.0]], [[-1.0]], [[1.0, 1.0], [1.0, 1.0]]])
def test_cholesky_refuses_what_is_not_positive_definite(matrix: list[list[float]]) -> None:
    with pytest.raises(SolverError):
        cholesky(matrix)


def test_lengths_and_zero_pivots_are_refused() -> None:
    with pytest.raises(SolverError):
        forward([[1.0]], [1.0, 2.0])
    with pytest.raises(SolverError):
        backward([[1.0], [1.0, 0.0]], [1.0, 2.0])
    with pytest.raises(SolverError):
        lu([[1.0]]).solve([])
    with pytest.raises(SolverError):
        cholesky([[math.nan]])
