"""The beta distribution: how sure a share is after so many counts.

Method: regularised incomplete beta function by its continued fraction (DLMF 8.17.22), evaluated by the
modified Lentz algorithm (Press et al., Numerical Recipes, section 5.2); quantiles by bisection, on a
logarithmic scale where they are small.
"""

from __future__ import annotations

import math
from typing import Final

from holdcold.errors import InputError, SolverError

_TINY: Final = 1e-300
_CLOSE: Final = 1e-14
_TERMS: Final = 400
_HALVINGS: Final = 200
_LEAST: Final = 1e-300


def beta_cdf(x: float, a: float, b: float) -> float:
    """Return the chance that a beta variable lies below ``x``.

    x: 0 to 1. a, b: above 0. Raises InputError outside these ranges.
    """
    _check(a, b)
    if not 0.0 <= x <= 1.0:
        raise InputError("x", x, "0 to 1", "Give a share.")
    if x in (0.0, 1.0):
        return x
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    if x < (a + 1.0) / (a + b + 2.0):
        return math.exp(log_front) * _fraction(x, a, b) / a
    return 1.0 - math.exp(log_front) * _fraction(1.0 - x, b, a) / b


def beta_quantile(share: float, a: float, b: float) -> float:
    """Return the value below which a beta variable lies with chance ``share``.

    share: above 0, below 1. a, b: above 0. Quantiles below 1e-300 come back as 0. Raises InputError
    outside these ranges.
    """
    _check(a, b)
    if not 0.0 < share < 1.0:
        raise InputError("share", share, "above 0 and below 1", "Give a chance.")
    low, high = _LEAST, 1.0
    if beta_cdf(low, a, b) > share:
        return 0.0
    for _ in range(_HALVINGS):
        middle = math.sqrt(low * high) if high > 4.0 * low else 0.5 * (low + high)
        if beta_cdf(middle, a, b) < share:
            low = middle
        else:
            high = middle
        if high - low <= _CLOSE * high:
            break
    return 0.5 * (low + high)


def _check(a: float, b: float) -> None:
    for name, value in (("a", a), ("b", b)):
        if not 0.0 < value < math.inf:
            raise InputError(name, value, "above 0", "Give counts, pseudo-counts included.")


def _fraction(x: float, a: float, b: float) -> float:
    """Return the continued fraction of the incomplete beta function (converges fast below the mean)."""
    c, d = 1.0, 1.0 / _kept(1.0 - (a + b) * x / (a + 1.0))
    value = d
    for m in range(1, _TERMS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        for term in (even, odd):
            d = 1.0 / _kept(1.0 + term * d)
            c = _kept(1.0 + term / c)
            value *= c * d
        if abs(c * d - 1.0) < _CLOSE:
            return value
    raise SolverError(f"incomplete beta function at x={x!r}, a={a!r}, b={b!r} did not converge")


def _kept(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
