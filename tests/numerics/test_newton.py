"""Damped Newton with Broyden's update against SciPy on standard systems; small linear ones against NumPy."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from holdcold.numerics.newton import Solution, difference_jacobian, solve_system
from holdcold.numerics.small import solve_small

np = pytest.importorskip("numpy")
optimize = pytest.importorskip("scipy.optimize")

Function = Callable[[list[float]], list[float]]


def rosenbrock(x: list[float]) -> list[float]:
    """Rosenbrock (1960) as a system, root (1, 1)."""
    return [10.0 * (x[1] - x[0] ** 2), 1.0 - x[0]]


def powell_badly_scaled(x: list[float]) -> list[float]:
    """Powell (1970), root near (1.1e-5, 9.1); variables of very different size."""
    return [1e4 * x[0] * x[1] - 1.0, math.exp(-x[0]) + math.exp(-x[1]) - 1.0001]


def helical_valley(x: list[float]) -> list[float]:
    """Fletcher and Powell (1963), root (1, 0, 0)."""
    turn = math.atan2(x[1], x[0]) / (2.0 * math.pi)
    return [10.0 * (x[2] - 10.0 * turn), 10.0 * (math.hypot(x[0], x[1]) - 1.0), x[2]]


def freudenstein_roth(x: list[float]) -> list[float]:
    """Freudenstein and Roth (1963), root (5, 4)."""
    return [
        -13.0 + x[0] + ((5.0 - x[1]) * x[1] - 2.0) * x[1],
        -29.0 + x[0] + ((x[1] + 1.0) * x[1] - 14.0) * x[1],
    ]


def broyden_tridiagonal(x: list[float]) -> list[float]:
    """Broyden (1965), as many unknowns as given."""
    n = len(x)
    return [
        (3.0 - 2.0 * x[i]) * x[i] - (x[i - 1] if i else 0.0) - 2.0 * (x[i + 1] if i < n - 1 else 0.0) + 1.0
        for i in range(n)
    ]


# More, Garbow and Hillstrom, ACM Transactions on Mathematical Software 7 (1981) 17: functions and starts.
STANDARD: dict[str, tuple[Function, list[float]]] = {
    "rosenbrock": (rosenbrock, [-1.2, 1.0]),
    "helical valley": (helical_valley, [-1.0, 0.0, 0.0]),
    "freudenstein and roth": (freudenstein_roth, [6.0, 5.0]),
    "broyden tridiagonal": (broyden_tridiagonal, [-1.0] * 5),
}


def solve(function: Function, start: list[float], **options: object) -> Solution:
    """Solve without borders that matter."""
    n = len(start)
    given = {"steps": [1e-7] * n, "caps": [1e3] * n, "lower": [-1e3] * n, "upper": [1e3] * n}
    return solve_system(function, start, **{**given, "limit": 300, **options})  # type: ignore[arg-type]


@pytest.mark.parametrize("name", STANDARD)
def test_standard_systems(name: str) -> None:
    function, start = STANDARD[name]
    expected = optimize.root(function, start, tol=1e-12)
    assert expected.success
    found = solve(function, start)
    assert found.converged
    assert found.reason == "residual"
    assert math.hypot(*found.residuals) <= 1e-9
    assert found.residuals == function(found.x)
    assert found.x == pytest.approx(list(expected.x), rel=1e-6, abs=1e-6)


def test_a_jacobian_from_nearby_saves_evaluations() -> None:
    spent = {"cold": 0, "warm": 0}
    for function, start in STANDARD.values():
        first = solve(function, start)
        near = [value * 1.0001 + 1e-7 for value in first.x]
        cold, warm = solve(function, near), solve(function, near, jacobian=first.jacobian)
        assert cold.converged
        assert warm.converged
        assert warm.x == pytest.approx(cold.x, rel=1e-6, abs=1e-7)
        spent = {"cold": spent["cold"] + cold.evaluations, "warm": spent["warm"] + warm.evaluations}
    assert spent["warm"] < spent["cold"]


def test_difference_jacobian_is_the_derivative() -> None:
    x = [0.7, -1.3]
    matrix = difference_jacobian(rosenbrock, x, rosenbrock(x), [1e-7, 1e-7])
    expected = [[-20.0 * x[0], 10.0], [-1.0, 0.0]]
    for row, true in zip(matrix, expected, strict=True):
        assert row == pytest.approx(true, abs=1e-5)


def test_steps_are_capped_and_borders_kept() -> None:
    seen: list[list[float]] = []

    def watched(x: list[float]) -> list[float]:
        seen.append(list(x))
        return [math.atan(x[0]), x[1] - 2.0]

    found = solve_system(
        watched, [4.0, 0.0], steps=[1e-6] * 2, caps=[0.5, 0.25], lower=[-5.0, -1.0], upper=[5.0, 3.0]
    )
    assert found.converged
    assert found.x == pytest.approx([0.0, 2.0], abs=1e-8)
    assert all(-5.0 - 1e-9 <= a <= 5.0 + 1e-5 and -1.0 <= b <= 3.0 + 1e-5 for a, b in seen)
    jumps = [abs(b[1] - a[1]) for a, b in pairwise(seen)]
    assert max(jumps) <= 0.25 + 1e-5


def test_a_start_outside_the_borders_is_brought_inside() -> None:
    found = solve(lambda x: [x[0] - 1.0], [50.0], lower=[-2.0], upper=[2.0])
    assert found.converged
    assert found.x == pytest.approx([1.0], abs=1e-8)


@pytest.mark.parametrize(
    ("function", "start", "options", "reason"),
    [
        (lambda x: [x[0] ** 2 + 1.0], [0.3], {}, "no descent"),
        (lambda x: [x[0] - 5.0], [0.0], {"upper": [2.0]}, "no descent"),
        (lambda x: [1.0, x[0]], [0.0, 0.0], {}, "no descent"),
        (rosenbrock, [-1.2, 1.0], {"limit": 6}, "evaluation limit"),
        (powell_badly_scaled, [0.0, 1.0], {}, "evaluation limit"),
    ],
)
def test_what_was_not_found_is_said(
    function: Function, start: list[float], options: dict[str, object], reason: str
) -> None:
    """No root, a root beyond the borders, a singular Jacobian, a spent limit, a badly scaled problem."""
    found = solve(function, start, **options)
    assert not found.converged
    assert found.reason == reason
    assert found.residuals == function(found.x)
    assert math.hypot(*found.residuals) > 1e-9


def test_a_solution_is_recognised_at_once() -> None:
    found = solve(rosenbrock, [1.0, 1.0], jacobian=[[1.0, 0.0], [0.0, 1.0]])
    assert (found.converged, found.evaluations, found.x) == (True, 1, [1.0, 1.0])


NUMBERS = st.floats(-10.0, 10.0).map(lambda value: round(value, 6))


@given(n=st.integers(1, 6), data=st.data())
def test_small_systems_against_numpy(n: int, data: st.DataObject) -> None:
    matrix = [data.draw(st.lists(NUMBERS, min_size=n, max_size=n)) for _ in range(n)]
    right = data.draw(st.lists(NUMBERS, min_size=n, max_size=n))
    condition = float(np.linalg.cond(np.array(matrix)))
    assume(condition < 1e8)
    kept = [list(row) for row in matrix], list(right)
    found = solve_small(matrix, right)
    assert (matrix, right) == kept
    assert found is not None
    expected = np.linalg.solve(np.array(matrix), np.array(right))
    assert found == pytest.approx(
        list(expected), rel=1e-13 * condition + 1e-10, abs=1e-13 * condition + 1e-10
    )


@pytest.mark.parametrize(
    "matrix", [[[0.0]], [[1.0, 2.0], [2.0, 4.0]], [[0.0, 0.0, 1.0], [0.0, 0.0, 2.0], [1.0, 1.0, 0.0]]]
)
def test_singular_systems_have_no_answer(matrix: list[list[float]]) -> None:
    assert solve_small(matrix, [1.0] * len(matrix)) is None


def test_pivoting_keeps_accuracy_where_a_leading_entry_is_tiny() -> None:
    """Golub and Van Loan, Matrix Computations, section 3.4: without exchange the answer would be (0, 1)."""
    assert solve_small([[1e-20, 1.0], [1.0, 1.0]], [1.0, 2.0]) == pytest.approx([1.0, 1.0], rel=1e-14)
