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
from holdcold.refrigerants.saturation import Saturation, outside, pressure_outside
from holdcold.refrigerants.splines import Row, breaks, surface_patches

Properties = Callable[[float, float], tuple[float, float, float, float]]
Pair = Callable[[float, float], float]

SLACK_K = 0.06
Y_DEGREE, W_DEGREE = 3, 4


@dataclass(frozen=True, slots=True)
class Vapour:
    """The vapour's closures: properties(t_k, p_pa) -> (h, s, v, cp), and two searches along an isobar.

    temperature_ph(p_pa, h, w_start) -> T [K]; enthalpy_ps(p_pa, s, w_start) -> h [J/kg]; the start is a
    guess of the superheat [K].
    """

    properties: Properties
    temperature_ph: Callable[[float, float, float], float]
    enthalpy_ps: Callable[[float, float, float], float]


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
        _temperature_ph(fluid, data, dew, surface),
        _enthalpy_ps(fluid, data, dew, surface),
    )


def superheat_outside(fluid: str, t_k: float, superheat: float, limit: float) -> EnvelopeError:
    """The error for a vapour temperature below dew or too far above it."""
    dew_k = t_k - superheat
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
    t0, t1, t2, t3, t4, t5 = dew.start
    y_centre, y_scale = dew.centre, dew.scale
    p_lo, p_hi = dew.p_lo, dew.p_hi
    w_lo, w_hi = -SLACK_K, surface.superheat_k + SLACK_K
    patches, y_breaks, w_breaks = surface.patches, surface.y_breaks, surface.w_breaks
    gas = data["gas_constant"]
    k0, k1, k2, k3, k4 = data["ideal_cp"]
    h0, h1, h2, h3, h4, h5 = _enthalpy_terms(data)
    s0, s1, s2, s3, s4 = _entropy_terms(data)
    log, locate = math.log, bisect_right

    def vapour(t_k: float, p_pa: float) -> tuple[float, float, float, float]:
        """(h [J/kg], s [J/(kg K)], v [m3/kg], cp [J/(kg K)]) of vapour at ``t_k`` [K], ``p_pa`` [Pa]."""
        if not p_lo <= p_pa <= p_hi:
            raise pressure_outside(fluid, p_pa, p_lo, p_hi)
        y = log(p_pa)
        z = (y - y_centre) * y_scale
        q4 = t4 + z * t5
        q3 = t3 + z * q4
        q2 = t2 + z * q3
        q1 = t1 + z * q2
        w = t_k - t0 - z * q1
        if not w_lo <= w <= w_hi:
            raise superheat_outside(fluid, t_k, w, surface.superheat_k)
        theta_y = y_scale * (q1 + z * (q2 + z * (q3 + z * (q4 + z * t5))))
        (
            y_from, w_from, a0, a1, a2, a3, b0, b1, b2, b3, c0, c1, c2, c3, d0, d1, d2, d3, e0, e1, e2, e3,
        ) = patches[locate(y_breaks, y)][locate(w_breaks, w)]  # fmt: skip
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
            s0 + k0 * log(x) + x * (s1 + x * (s2 + x * (s3 + x * s4))) - gas * log(p_pa) - p_pa * f_w,
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


def _isobar(data: dict[str, Any], dew: Saturation, surface: Surface) -> Callable[[float], tuple[float, list[Row]]]:
    """Closure p -> (theta, quartics in w with their origins and ends): the surface cut at one pressure."""
    t0, t1, t2, t3, t4, t5 = dew.start
    y_centre, y_scale = dew.centre, dew.scale
    patches, y_breaks = surface.patches, surface.y_breaks

    def isobar(p_pa: float) -> tuple[float, list[Row]]:
        y = math.log(p_pa)
        z = (y - y_centre) * y_scale
        theta = t0 + z * (t1 + z * (t2 + z * (t3 + z * (t4 + z * t5))))
        return theta, patches[bisect_right(y_breaks, y)]

    return isobar


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


def _temperature_ph(
    fluid: str, data: dict[str, Any], dew: Saturation, surface: Surface
) -> Callable[[float, float, float], float]:
    """Closure (p, h, superheat guess) -> T by Newton along the isobar."""
    isobar = _isobar(data, dew, surface)
    w_breaks, top = surface.w_breaks, surface.superheat_k
    k0, k1, k2, k3, k4 = data["ideal_cp"]
    h0, h1, h2, h3, h4, h5 = _enthalpy_terms(data)
    last = len(w_breaks)

    def temperature_ph(p_pa: float, h_j_kg: float, start_k: float) -> float:
        """Temperature [K] of vapour with enthalpy ``h_j_kg`` at ``p_pa``."""
        theta, row = isobar(p_pa)
        y = math.log(p_pa)
        w, index = start_k, -1
        w_from = f0 = f1 = f2 = f3 = f4 = 0.0
        for _ in range(12):
            here = bisect_right(w_breaks, w)
            if here != index:
                index = min(here, last)
                w_from, f0, f1, f2, f3, f4 = _cut(row[index], y)
            x = w - w_from
            u3 = f3 + x * f4
            u2 = f2 + x * u3
            u1 = f1 + x * u2
            v3 = u3 + x * f4
            v2 = u2 + x * v3
            t_k = theta + w
            r = t_k * 0.001
            h = (
                h0
                + r * (h1 + r * (h2 + r * (h3 + r * (h4 + r * h5))))
                + p_pa * (f0 + x * u1 - t_k * (u1 + x * v2))
            )
            cp = k0 + r * (k1 + r * (k2 + r * (k3 + r * k4))) - 2.0 * p_pa * t_k * (v2 + x * (v3 + x * f4))
            step = (h_j_kg - h) / cp
            w += step
            if -1e-6 < step < 1e-6:
                if not -SLACK_K <= w <= top + SLACK_K:
                    raise superheat_outside(fluid, theta + w, w, top)
                return theta + w
        raise SolverError(f"{fluid}: no vapour temperature for h {h_j_kg} J/kg at {p_pa} Pa")

    return temperature_ph


def _enthalpy_ps(
    fluid: str, data: dict[str, Any], dew: Saturation, surface: Surface
) -> Callable[[float, float, float], float]:
    """Closure (p, s, superheat guess) -> h by Newton along the isobar."""
    isobar = _isobar(data, dew, surface)
    w_breaks, top = surface.w_breaks, surface.superheat_k
    gas = data["gas_constant"]
    k0, k1, k2, k3, k4 = data["ideal_cp"]
    h0, h1, h2, h3, h4, h5 = _enthalpy_terms(data)
    s0, s1, s2, s3, s4 = _entropy_terms(data)
    last = len(w_breaks)

    def enthalpy_ps(p_pa: float, s_j_kgk: float, start_k: float) -> float:
        """Enthalpy [J/kg] of vapour with entropy ``s_j_kgk`` at ``p_pa``."""
        theta, row = isobar(p_pa)
        y = math.log(p_pa)
        w, index = start_k, -1
        w_from = f0 = f1 = f2 = f3 = f4 = 0.0
        for _ in range(12):
            here = bisect_right(w_breaks, w)
            if here != index:
                index = min(here, last)
                w_from, f0, f1, f2, f3, f4 = _cut(row[index], y)
            x = w - w_from
            u3 = f3 + x * f4
            u2 = f2 + x * u3
            u1 = f1 + x * u2
            v3 = u3 + x * f4
            v2 = u2 + x * v3
            f_w = u1 + x * v2
            t_k = theta + w
            r = t_k * 0.001
            s = s0 + k0 * math.log(r) + r * (s1 + r * (s2 + r * (s3 + r * s4))) - gas * y - p_pa * f_w
            cp = k0 + r * (k1 + r * (k2 + r * (k3 + r * k4))) - 2.0 * p_pa * t_k * (v2 + x * (v3 + x * f4))
            step = (s_j_kgk - s) * t_k / cp
            w += step
            if -1e-5 < step < 1e-5:
                if not -SLACK_K <= w <= top + SLACK_K:
                    raise superheat_outside(fluid, theta + w, w, top)
                ideal = h0 + r * (h1 + r * (h2 + r * (h3 + r * (h4 + r * h5))))
                return ideal + p_pa * (f0 + x * u1 - t_k * f_w) + cp * step
        raise SolverError(f"{fluid}: no vapour of entropy {s_j_kgk} J/(kg K) at {p_pa} Pa")

    return enthalpy_ps
