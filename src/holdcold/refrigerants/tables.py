"""Fast curves of the saturated states, made once per fluid from the Gibbs functions themselves.

A curve is piecewise cubic in ln p over equal steps, through four points of each step with its ends among
them. Because the points come from the vapour and liquid functions, the curve agrees with them to about
a millijoule per gram's thousandth (measured in the tests), and nothing is fitted twice.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from holdcold.refrigerants.saturation import Curve, pressure_outside

STEPS = 48


def nodes(p_lo: float, p_hi: float) -> list[float]:
    """Pressures [Pa] at which the saturated states are taken: three to each step, and the last end."""
    y_lo, count = math.log(p_lo), 3 * STEPS
    width = (math.log(p_hi) - y_lo) / count
    middle = [math.exp(y_lo + width * k) for k in range(1, count)]
    return [p_lo, *middle, p_hi]


def curve(fluid: str, p_lo: float, p_hi: float, values: Sequence[float], slack: float = 1e-9) -> Curve:
    """Closure p -> value through ``values`` at ``nodes(p_lo, p_hi)``; EnvelopeError outside.

    slack: relative widening of the border that absorbs rounding.
    """
    pieces = [_cubic(values[3 * k : 3 * k + 4]) for k in range(STEPS)]
    y_lo = math.log(p_lo)
    per_y = STEPS / (math.log(p_hi) - y_lo)
    low, high, last, log = p_lo * (1.0 - slack), p_hi * (1.0 + slack), STEPS - 1, math.log

    def saturated(p_pa: float) -> float:
        """The saturated value at ``p_pa`` [Pa]."""
        if not low <= p_pa <= high:
            raise pressure_outside(fluid, p_pa, low, high)
        x = (log(p_pa) - y_lo) * per_y
        k = int(x)
        if k > last:
            k = last
        a, b, c, d = pieces[k]
        x -= k
        return a + x * (b + x * (c + x * d))

    return saturated


def _cubic(four: Sequence[float]) -> tuple[float, float, float, float]:
    """Power coefficients on [0, 1] of the cubic through values at 0, 1/3, 2/3 and 1."""
    f0, f1, f2, f3 = four
    return (
        f0,
        -5.5 * f0 + 9.0 * f1 - 4.5 * f2 + f3,
        9.0 * f0 - 22.5 * f1 + 18.0 * f2 - 4.5 * f3,
        4.5 * (f3 - f0) + 13.5 * (f1 - f2),
    )


Tabulated = Callable[[Sequence[float]], Curve]
