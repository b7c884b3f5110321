"""Vapour: one Gibbs function of temperature and pressure, and everything as its exact derivatives.

    g(T, p) = g_ideal(T, p) + p F(y, w),   y = ln p,   w = T - theta(p)

g_ideal is the ideal gas with a quartic heat capacity. F is a tensor spline (cubic in y, quartic in w);
theta is the polynomial that approximates the dew temperature, so that w is very nearly the superheat and
the fitted region is a rectangle whose knots follow the dew line, where the vapour is least ideal. From g:

    v = dg/dp = R T / p + F + F_y - theta_y F_w          s = -dg/dT = s_ideal - p F_w
    h = g + T s = h_ideal + p (F - T F_w)                cp = cp_ideal - p T F_ww

The factor p makes the ideal limit exact at low pressure, whatever the spline says there.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from holdcold.errors import EnvelopeError, SolverError
from holdcold.refrigerants.saturation import Saturation, numbers, outside, pressure_outside
from holdcold.refrigerants.splines import Row, breaks, surface_patches

Properties = Callable[[float, float], tuple[float, float, float, float]]
Search = Callable[[float, float, float], float]

# Solvers sit on the border of the region: this much beyond it is still served (and was fitted): 0.05 K, and
# 0.025 K because theta is the dew temperature only to 0.02 K.
SLACK_K = 0.075
Y_DEGREE, W_DEGREE = 3, 4
# Newton's step below which an isobar search ends; the error left is its square over 100 K.
CLOSE_K, MOST_ROUNDS = 1e-5, 12


@dataclass(frozen=True, slots=True)
class Vapour:
    """The vapour's closures: properties(t_k, p_pa) -> (h, s, v, cp), and two searches along an isobar.

    temperature_ph(p_pa, h, start) and temperature_ps(p_pa, s, start) -> T [K]; the start is a guess of the
    superheat [K], inside the envelope.
    """

    properties: Properties
    temperature_ph: Search
    temperature_ps: Search


@dataclass(frozen=True, slots=True)
class Surface:
    """F as patches with their corner coordinates, and the interior breaks used to find a patch."""

    patches: list[list[Row]]
    y_breaks: list[float]
    w_breaks: list[float]
    superheat_k: float


def read_surface(data: dict[str, Any], superheat_k: float) -> Surface:
    """Turn the stored spline into patches, each with its lower corner (y, w) and upper w in front."""
    y_all, w_all = breaks(data["y_knots"]), breaks(data["w_knots"])
    plain = surface_patches(data["w_knots"], W_DEGREE, data["y_knots"], Y_DEGREE, data["values"])
    patches = [
        [(y_all[j], w_all[i], *plain[i][j]) for i in range(len(w_all) - 1)] for j in range(len(y_all) - 1)
    ]
    return Surface(patches, y_all[1:-1], w_all[1:-1], superheat_k)


def build(fluid: str, data: dict[str, Any], dew: Saturation, superheat_k: float) -> Vapour:
    """Make the closures of one fluid's vapour from its section of the data file."""
    surface = read_surface(data, superheat_k)
    return Vapour(
        _properties(fluid, data, dew, surface),
        _search(fluid, data, dew, surface, by_entropy=False),
        _search(fluid, data, dew, surface, by_entropy=True),
    )


def superheat_outside(fluid: str, t_k: float, dew_k: float, limit: float) -> EnvelopeError:
    """Return the error for a vapour temperature below dew or too far above it."""
    return outside(
        f"{fluid} vapour temperature",
        t_k,
        dew_k,
        dew_k + limit,
        "K",
        f"Vapour is served from its dew point at this pressure to {limit:.0f} K of superheat.",
    )


def _properties(fluid: str, data: dict[str, Any], dew: Saturation, surface: Surface) -> Properties:
    """Closure (T, p) -> (h, s, v, cp)."""
    t0, t1, t2, t3, t4, t5, t6 = dew.start
    y_centre, y_scale = dew.centre, dew.scale
    p_lo, p_hi = dew.p_lo, dew.p_hi
    w_lo, w_hi = -SLACK_K, surface.superheat_k + SLACK_K
    patches, y_breaks, w_breaks = surface.patches, surface.y_breaks, surface.w_breaks
    gas = float(data["gas_constant"])
    k0, k1, k2, k3, k4 = numbers(data["ideal_cp"])
    h0, h1, h2, h3, h4, h5 = _enthalpy_terms(data)
    s0, s1, s2, s3, s4 = _entropy_terms(data)
    log, locate = math.log, bisect_right

    def vapour(t_k: float, p_pa: float) -> tuple[float, float, float, float]:
        """(h [J/kg], s [J/(kg K)], v [m3/kg], cp [J/(kg K)]) of vapour at ``t_k`` [K], ``p_pa`` [Pa]."""
        if not p_lo <= p_pa <= p_hi:
            raise pressure_outside(fluid, p_pa, p_lo, p_hi)
        y = log(p_pa)
        z = (y - y_centre) * y_scale
        q5 = t5 + z * t6
        q4 = t4 + z * q5
        q3 = t3 + z * q4
        q2 = t2 + z * q3
        q1 = t1 + z * q2
        theta = t0 + z * q1
        w = t_k - theta
        if not w_lo <= w <= w_hi:
            raise superheat_outside(fluid, t_k, theta, surface.superheat_k)
        theta_y = y_scale * (q1 + z * (q2 + z * (q3 + z * (q4 + z * (q5 + z * t6)))))
        (
            y_from, w_from, a0, a1, a2, a3, b0, b1, b2, b3, c0, c1, c2, c3, d0, d1, d2, d3, e0, e1, e2, e3,
        ) = patches[locate(y_breaks, y)][locate(w_breaks, w)]  # fmt: skip
        ln_p = y
        y -= y_from
        w -= w_from
        # Cubics in y, value and slope, one for each power of w.
        m = a2 + y * a3
        n = a1 + y * m
        f0, g0 = a0 + y * n, n + y * (m + y * a3)
        m = b2 + y * b3
        n = b1 + y * m
        f1, g1 = b0 + y * n, n + y * (m + y * b3)
        m = c2 + y * c3
        n = c1 + y * m
        f2, g2 = c0 + y * n, n + y * (m + y * c3)
        m = d2 + y * d3
        n = d1 + y * m
        f3, g3 = d0 + y * n, n + y * (m + y * d3)
        m = e2 + y * e3
        n = e1 + y * m
        f4, g4 = e0 + y * n, n + y * (m + y * e3)
        # Quartic in w: value f, first and (half the) second derivative.
        u3 = f3 + w * f4
        u2 = f2 + w * u3
        u1 = f1 + w * u2
        v3 = u3 + w * f4
        v2 = u2 + w * v3
        f_w = u1 + w * v2
        f = f0 + w * u1
        f_y = g0 + w * (g1 + w * (g2 + w * (g3 + w * g4)))
        half_f_ww = v2 + w * (v3 + w * f4)
        x = t_k * 0.001
        return (
            h0 + x * (h1 + x * (h2 + x * (h3 + x * (h4 + x * h5)))) + p_pa * (f - t_k * f_w),
            s0 + k0 * log(x) + x * (s1 + x * (s2 + x * (s3 + x * s4))) - gas * ln_p - p_pa * f_w,
            gas * t_k / p_pa + f + f_y - theta_y * f_w,
            k0 + x * (k1 + x * (k2 + x * (k3 + x * k4))) - 2.0 * p_pa * t_k * half_f_ww,
        )

    return vapour


def _enthalpy_terms(data: dict[str, Any]) -> Sequence[float]:
    """Coefficients in x = T / 1000 of the ideal enthalpy, the integral of the heat capacity."""
    return [data["h_zero"], *(1000.0 * k / (power + 1) for power, k in enumerate(data["ideal_cp"]))]


def _entropy_terms(data: dict[str, Any]) -> Sequence[float]:
    """Coefficients in x = T / 1000 of the ideal entropy apart from its two logarithms."""
    return [data["s_zero"], *(k / power for power, k in enumerate(data["ideal_cp"]) if power)]


def _search(
    fluid: str, data: dict[str, Any], dew: Saturation, surface: Surface, *, by_entropy: bool
) -> Search:
    """Closure (p, h or s, superheat guess) -> T by Newton along the isobar.

    The surface is cut once at the pressure; each round then costs a quartic in w and the ideal gas.
    """
    theta_of = _theta(dew)
    patches, y_breaks, w_breaks = surface.patches, surface.y_breaks, surface.w_breaks
    w_lo, w_hi, top = -SLACK_K, surface.superheat_k + SLACK_K, surface.superheat_k
    gas = float(data["gas_constant"])
    k0, k1, k2, k3, k4 = numbers(data["ideal_cp"])
    h0, h1, h2, h3, h4, h5 = _enthalpy_terms(data)
    s0, s1, s2, s3, s4 = _entropy_terms(data)
    log, locate = math.log, bisect_right

    def temperature(p_pa: float, target: float, start_k: float) -> float:
        """Temperature [K] of vapour at ``p_pa`` with enthalpy [J/kg] or entropy [J/(kg K)] ``target``."""
        y = log(p_pa)
        theta, column = theta_of(y), patches[locate(y_breaks, y)]
        w, index = start_k, -1
        w_from = f0 = f1 = f2 = f3 = f4 = 0.0
        for _ in range(MOST_ROUNDS):
            here = locate(w_breaks, w)
            if here != index:
                index = here
                w_from, f0, f1, f2, f3, f4 = _cut(column[index], y)
            x = w - w_from
            u3 = f3 + x * f4
            u2 = f2 + x * u3
            u1 = f1 + x * u2
            v3 = u3 + x * f4
            v2 = u2 + x * v3
            f_w = u1 + x * v2
            t_k = theta + w
            r = t_k * 0.001
            cp = k0 + r * (k1 + r * (k2 + r * (k3 + r * k4))) - 2.0 * p_pa * t_k * (v2 + x * (v3 + x * f4))
            if by_entropy:
                s = s0 + k0 * log(r) + r * (s1 + r * (s2 + r * (s3 + r * s4))) - gas * y - p_pa * f_w
                step = (target - s) * t_k / cp
            else:
                h = h0 + r * (h1 + r * (h2 + r * (h3 + r * (h4 + r * h5))))
                step = (target - h - p_pa * (f0 + x * u1 - t_k * f_w)) / cp
            w += step
            if -CLOSE_K < step < CLOSE_K:
                if not w_lo <= w <= w_hi:
                    raise superheat_outside(fluid, theta + w, theta, top)
                return theta + w
        raise SolverError(f"{fluid}: no vapour temperature for {target} at {p_pa} Pa")

    return temperature


def _theta(dew: Saturation) -> Callable[[float], float]:
    """Closure ln p -> theta."""
    t0, t1, t2, t3, t4, t5, t6 = dew.start
    centre, scale = dew.centre, dew.scale

    def theta(y: float) -> float:
        z = (y - centre) * scale
        return t0 + z * (t1 + z * (t2 + z * (t3 + z * (t4 + z * (t5 + z * t6)))))

    return theta


def _cut(row: Row, y: float) -> tuple[float, float, float, float, float, float]:
    """The patch at one y: its w origin and the five coefficients in w."""
    (
        y_from, w_from, a0, a1, a2, a3, b0, b1, b2, b3, c0, c1, c2, c3, d0, d1, d2, d3, e0, e1, e2, e3,
    ) = row  # fmt: skip
    y -= y_from
    return (
        w_from,
        a0 + y * (a1 + y * (a2 + y * a3)),
        b0 + y * (b1 + y * (b2 + y * b3)),
        c0 + y * (c1 + y * (c2 + y * c3)),
        d0 + y * (d1 + y * (d2 + y * d3)),
        e0 + y * (e1 + y * (e2 + y * e3)),
    )
