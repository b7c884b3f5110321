"""Fast curves of the saturated states, made once per fluid from the Gibbs functions themselves.

A curve is piecewise cubic in ln p over equal steps, through four points of each step with its ends among
them. Because the points come from the vapour and liquid functions, nothing is fitted twice, and the curves
agree with those functions to a small part of a joule per kilogram (tested).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holdcold.refrigerants.liquid import Liquid
from holdcold.refrigerants.saturation import SLACK_P, Curve, Saturation, nudged, pressure_outside
from holdcold.refrigerants.vapour import Vapour

STEPS = 80


def nodes(p_lo: float, p_hi: float) -> list[float]:
    """Return the pressures [Pa] at which saturated states are taken: three to each step, and the last end.

    p_lo, p_hi: usable pressures [Pa].
    """
    y_lo, count = math.log(p_lo), 3 * STEPS
    width = (math.log(p_hi) - y_lo) / count
    middle = [math.exp(y_lo + width * k) for k in range(1, count)]
    return [p_lo, *middle, p_hi]


def curve(fluid: str, p_lo: float, p_hi: float, values: Sequence[float]) -> Curve:
    """Return the closure p -> value through ``values`` at ``nodes(p_lo, p_hi)``.

    fluid: name for messages. p_lo, p_hi: usable pressures [Pa]; the closure raises EnvelopeError outside
    them. values: one for each node.
    """
    pieces = [_cubic(values[3 * k : 3 * k + 4]) for k in range(STEPS)]
    y_lo = math.log(p_lo)
    per_y = STEPS / (math.log(p_hi) - y_lo)
    low, high = nudged(p_lo, p_hi, SLACK_P)
    last, log = STEPS - 1, math.log

    def saturated(p_pa: float) -> float:
        """The saturated value at ``p_pa`` [Pa]."""
        if not low <= p_pa <= high:
            raise pressure_outside(fluid, p_pa, low, high)
        x = (log(p_pa) - y_lo) * per_y
        k = int(x)
        if k > last:  # only at the very end; min() here would cost as much as the cubic
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


@dataclass(frozen=True, slots=True)
class Saturated:
    """The six saturated curves, each a closure of p [Pa]: h [J/kg], s [J/(kg K)], rho [kg/m3]."""

    h_bubble: Curve
    h_dew: Curve
    s_bubble: Curve
    s_dew: Curve
    rho_bubble: Curve
    rho_dew: Curve


def saturated(
    fluid: str, p_lo: float, p_hi: float, bubble: Saturation, dew: Saturation, gas: Vapour, wet: Liquid
) -> Saturated:
    """Tabulate the saturated states of one fluid from its Gibbs functions.

    fluid: name for messages. p_lo, p_hi: usable pressures [Pa].
    """
    pressures = nodes(p_lo, p_hi)
    low = [wet.properties(bubble.temperature_k(p), p) for p in pressures]
    high = [gas.properties(dew.temperature_k(p), p) for p in pressures]

    def along(values: list[float]) -> Curve:
        return curve(fluid, p_lo, p_hi, values)

    return Saturated(
        along([h for h, _, _, _ in low]), along([h for h, _, _, _ in high]),
        along([s for _, s, _, _ in low]), along([s for _, s, _, _ in high]),
        along([1.0 / v for _, _, v, _ in low]), along([1.0 / v for _, _, v, _ in high]),
    )  # fmt: skip
