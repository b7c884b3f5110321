"""Bubble and dew curves: ln p as a polynomial in 1/T, and T from p by one Newton step on the same.

The start of the inverse is a polynomial in ln p good to a few millikelvin; one Newton step on the
forward curve then makes both directions one curve to better than 1e-6 K.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from holdcold.errors import EnvelopeError

Curve = Callable[[float], float]

# A border value that comes from a table or another model, rounded, still counts as inside: 0.005 % of a
# pressure, 0.001 % (3 mK) of a temperature, both within the error of the fit.
SLACK_P, SLACK_T = 5e-5, 1e-5


@dataclass(frozen=True, slots=True)
class Saturation:
    """One saturation curve, both ways, with the range of each argument.

    pressure_pa(t_k), temperature_k(p_pa); t_lo, t_hi [K]; p_lo, p_hi [Pa]. ``start`` is the polynomial
    (lowest power first) of the approximate temperature in s = (ln p - centre) * scale.
    """

    pressure_pa: Curve
    temperature_k: Curve
    t_lo: float
    t_hi: float
    p_lo: float
    p_hi: float
    start: Sequence[float]
    centre: float
    scale: float


def outside(field: str, value: float, low: float, high: float, unit: str, advice: str) -> EnvelopeError:
    """Return the error for a value outside [low, high]; temperatures are also given in degrees Celsius."""
    allowed = f"{low:.6g} to {high:.6g} {unit}"
    if unit == "K":
        allowed += f" ({low - 273.15:.1f} to {high - 273.15:.1f} C)"
    return EnvelopeError(field, value, allowed, advice)


def pressure_outside(fluid: str, value: float, low: float, high: float) -> EnvelopeError:
    """Return the error for a pressure outside the usable range of a fluid; the slack is left unsaid."""
    advice = (
        "Pressures here are absolute. The data reach from a dew point of -50 C to a bubble point of 70 C or"
        " 8 K below critical, whichever is lower; nothing is extrapolated."
    )
    return outside(f"{fluid} pressure", value, low / (1.0 - SLACK_P), high / (1.0 + SLACK_P), "Pa", advice)


def build(fluid: str, kind: str, data: dict[str, Any], p_lo: float, p_hi: float) -> Saturation:
    """Make the two closures of one curve.

    fluid, kind: names for messages (``"bubble"`` or ``"dew"``). data: the curve's section of the data
    file. p_lo, p_hi: usable pressures [Pa]. The closures raise EnvelopeError outside their range.
    """
    t_lo, t_hi = nudged(data["t_lo_k"], data["t_hi_k"], SLACK_T)
    low_pa, high_pa = nudged(p_lo, p_hi, SLACK_P)
    pressure = _pressure_of(fluid, kind, data, t_lo, t_hi)
    temperature = _temperature_of(fluid, data, low_pa, high_pa)
    return Saturation(
        pressure, temperature, t_lo, t_hi, low_pa, high_pa, data["t_start"], data["y_centre"], data["y_scale"]
    )


def numbers(values: Sequence[Any]) -> list[float]:
    """Return ``values`` of a data file as floats."""
    return [float(value) for value in values]


def nudged(low: float, high: float, slack: float) -> tuple[float, float]:
    """Return a range widened by the share ``slack`` of its ends.

    low, high: the ends, both positive.
    """
    return low * (1.0 - slack), high * (1.0 + slack)


def _pressure_of(fluid: str, kind: str, data: dict[str, Any], t_lo: float, t_hi: float) -> Curve:
    """Closure p(T) of one curve."""
    a0, a1, a2, a3, a4, a5, a6, a7, a8, a9 = numbers(data["ln_p"])
    centre, scale, exp = float(data["x_centre"]), float(data["x_scale"]), math.exp

    def pressure_pa(t_k: float) -> float:
        """Saturation pressure [Pa] at ``t_k`` [K]."""
        if not t_lo <= t_k <= t_hi:
            advice = "The data of this refrigerant end there; nothing is extrapolated."
            raise outside(f"{fluid} {kind} temperature", t_k, data["t_lo_k"], data["t_hi_k"], "K", advice)
        x = scale / t_k - centre
        high = a5 + x * (a6 + x * (a7 + x * (a8 + x * a9)))
        return exp(a0 + x * (a1 + x * (a2 + x * (a3 + x * (a4 + x * high)))))

    return pressure_pa


def _temperature_of(fluid: str, data: dict[str, Any], p_lo: float, p_hi: float) -> Curve:
    """Closure T(p) of one curve: polynomial start, one Newton step on ln p(T)."""
    a0, a1, a2, a3, a4, a5, a6, a7, a8, a9 = numbers(data["ln_p"])
    b0, b1, b2, b3, b4, b5, b6 = numbers(data["t_start"])
    centre, scale, log = float(data["x_centre"]), float(data["x_scale"]), math.log
    y_centre, y_scale = float(data["y_centre"]), float(data["y_scale"])

    def temperature_k(p_pa: float) -> float:
        """Saturation temperature [K] at ``p_pa`` [Pa]."""
        if not p_lo <= p_pa <= p_hi:
            raise pressure_outside(fluid, p_pa, p_lo, p_hi)
        y = log(p_pa)
        s = (y - y_centre) * y_scale
        t_k = b0 + s * (b1 + s * (b2 + s * (b3 + s * (b4 + s * (b5 + s * b6)))))
        ratio = scale / t_k
        x = ratio - centre
        # Horner with the derivative carried along: value c0, slope d1 (with respect to x).
        c8 = a8 + x * a9
        c7 = a7 + x * c8
        c6 = a6 + x * c7
        c5 = a5 + x * c6
        c4 = a4 + x * c5
        c3 = a3 + x * c4
        c2 = a2 + x * c3
        c1 = a1 + x * c2
        high = c5 + x * (c6 + x * (c7 + x * (c8 + x * a9)))
        slope = c1 + x * (c2 + x * (c3 + x * (c4 + x * high)))
        # d ln p / dT = slope * dx/dT and dx/dT = -ratio / T.
        return t_k + (a0 + x * c1 - y) * t_k / (slope * ratio)

    return temperature_k
