"""Bracketing on the standard problems, against SciPy; the result never claims what it has not found."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from holdcold.errors import SolverError
from holdcold.numerics.roots import bracketed_root

optimize = pytest.importorskip("scipy.optimize")

# Alefeld, Potra and Shi, ACM Transactions on Mathematical Software 21 (1995) 327, table I (from memory), and
# the corners this code meets: a flat start, a kink, a steep wall.
PROBLEMS: dict[str, tuple[Callable[[float], float], float, float]] = {
    "sin(x) - x / 2": (lambda x: math.sin(x) - 0.5 * x, math.pi / 2.0, math.pi),
    "x exp(-n) + 1 - ...": (lambda x: 2.0 * x * math.exp(-20.0) + 1.0 - 2.0 * math.exp(-20.0 * x), 0.0, 1.0),
    "(1 + (1 - n)^2) x - (1 - n x)^2": (lambda x: 17.0 * x - (1.0 - 5.0 * x) ** 2, 0.0, 1.0),
    "x^2 - (1 - x)^n": (lambda x: x * x - (1.0 - x) ** 20, 0.0, 1.0),
    "x^9": (lambda x: x**9, -1.0, 4.0),
    "x^19": (lambda x: x**19, -0.5, 0.7),
    "atan of a far start": (math.atan, -3.0, 1.0e4),
    "kink": (lambda x: x - 0.3 if x > 0.3 else 40.0 * (x - 0.3), 0.0, 5.0),
    "wall": (lambda x: math.exp(30.0 * x) - 2.0, -2.0, 1.0),
    "saturation-like": (lambda x: math.exp(12.0 - 2400.0 / x) - 3.0, 200.0, 400.0),
}


@pytest.mark.parametrize("name", PROBLEMS)
def test_standard_problems(name: str) -> None:
    function, low, high = PROBLEMS[name]
    expected = optimize.brentq(function, low, high, xtol=1e-13, rtol=1e-15, maxiter=500)
    found = bracketed_root(function, low, high, x_tolerance=1e-12, limit=200)
    assert found.converged
    assert found.residual == function(found.x)
    # Where the function is flat to the ninth power only its own size can be asked for.
    assert found.x == pytest.approx(expected, abs=1e-9) or abs(found.residual) < 1e-30


@pytest.mark.parametrize("name", PROBLEMS)
def test_it_cannot_stall(name: str) -> None:
    """At worst the bracket halves every fourth evaluation."""
    function, low, high = PROBLEMS[name]
    bisections = math.ceil(math.log2((high - low) / 1e-10))
    found = bracketed_root(function, low, high, x_tolerance=1e-10, limit=300)
    assert found.converged
    assert found.evaluations <= 2 + 4 * bisections


def test_smooth_problems_take_few_evaluations() -> None:
    found = bracketed_root(lambda x: math.cos(x) - x, 0.0, 1.0, x_tolerance=1e-12, f_tolerance=1e-12)
    assert found.converged
    assert found.x == pytest.approx(0.7390851332151607, abs=1e-11)  # the Dottie number
    assert found.evaluations <= 10


def test_ends_the_caller_knows_are_not_computed_again() -> None:
    seen: list[float] = []

    def function(x: float) -> float:
        seen.append(x)
        return x - 0.25

    found = bracketed_root(function, 0.0, 1.0, x_tolerance=1e-12, f_low=-0.25, f_high=0.75)
    assert found.converged
    assert 0.0 not in seen
    assert 1.0 not in seen
    assert found.evaluations == len(seen)


@pytest.mark.parametrize(("low", "high"), [(0.0, 2.0), (-2.0, 0.0)])
def test_a_root_at_an_end_is_exact(low: float, high: float) -> None:
    found = bracketed_root(lambda x: x, low, high, x_tolerance=1e-12)
    assert (found.x, found.residual, found.converged, found.reason) == (0.0, 0.0, True, "exact")


def test_ends_of_one_sign_are_refused() -> None:
    with pytest.raises(SolverError, match="no sign change"):
        bracketed_root(lambda x: x * x + 1.0, -1.0, 1.0, x_tolerance=1e-12)


def test_a_spent_limit_is_said() -> None:
    found = bracketed_root(lambda x: x**19, -0.5, 0.7, x_tolerance=1e-15, limit=6)
    assert not found.converged
    assert found.reason == "evaluation limit"
    assert found.evaluations == 6


@given(
    coefficients=st.tuples(*(st.floats(-5.0, 5.0).map(lambda value: round(value, 3)) for _ in range(4))),
    low=st.floats(-10.0, -0.01).map(lambda value: round(value, 3)),
    high=st.floats(0.01, 10.0).map(lambda value: round(value, 3)),
)
def test_random_cubics_end_in_a_bracketed_sign_change(
    coefficients: tuple[float, ...], low: float, high: float
) -> None:
    a, b, c, d = coefficients

    def cubic(x: float) -> float:
        return ((a * x + b) * x + c) * x + d

    assume(cubic(low) * cubic(high) < 0.0)
    found = bracketed_root(cubic, low, high, x_tolerance=1e-11, limit=300)
    assert found.converged
    assert low <= found.x <= high
    width = 1e-9
    assert found.residual == 0.0 or cubic(found.x - width) * cubic(found.x + width) <= 0.0
