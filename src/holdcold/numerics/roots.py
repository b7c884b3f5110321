"""Roots of one function of one variable, by bracketing; the result says how it went."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from holdcold.errors import SolverError


@dataclass(frozen=True, slots=True)
class Root:
    """Where a bracketing search ended: ``x``, the residual there, and whether it converged and why."""

    x: float
    residual: float
    converged: bool
    evaluations: int
    reason: str


def bracketed_root(
    function: Callable[[float], float],
    low: float,
    high: float,
    *,
    x_tolerance: float,
    f_tolerance: float = 0.0,
    f_low: float | None = None,
    f_high: float | None = None,
    limit: int = 60,
) -> Root:
    """Return a root of ``function`` between ``low`` and ``high``, which must bracket one.

    function: continuous, called at most ``limit`` times.
    low, high: ends of the bracket; the function must differ in sign there.
    x_tolerance, f_tolerance: stop when the bracket or the residual is this small.
    f_low, f_high: the function at the ends where the caller knows it already.
    limit: most evaluations; when they run out the best point comes back with ``converged`` False.

    Raises SolverError when the ends do not bracket a root.
    Method: regula falsi with the Anderson-Bjorck weight (BIT 13 (1973) 253) and a bisection whenever
    three steps have not halved the bracket, so that it cannot stall.
    """
    fa = function(low) if f_low is None else f_low
    fb = function(high) if f_high is None else f_high
    calls = (f_low is None) + (f_high is None)
    if fa == 0.0:
        return Root(low, 0.0, True, calls, "exact")
    if fb == 0.0:
        return Root(high, 0.0, True, calls, "exact")
    if (fa > 0.0) == (fb > 0.0):
        raise SolverError(f"no sign change between {low} ({fa}) and {high} ({fb})")
    a, b = low, high
    slow, width = 0, abs(high - low)
    while calls < limit:
        x = 0.5 * (a + b) if slow >= 3 else b - fb * (b - a) / (fb - fa)
        fx = function(x)
        calls += 1
        if abs(fx) <= f_tolerance or fx == 0.0:
            return Root(x, fx, True, calls, "residual")
        if (fx > 0.0) == (fb > 0.0):
            weight = 1.0 - fx / fb
            fa *= weight if weight > 0.0 else 0.5
        else:
            a, fa = b, fb
        b, fb = x, fx
        if abs(b - a) <= x_tolerance:
            return Root(b, fb, True, calls, "bracket")
        if abs(b - a) <= 0.5 * width:
            slow, width = 0, abs(b - a)
        else:
            slow = 0 if slow >= 3 else slow + 1
    return Root(b, fb, False, calls, "evaluation limit")
