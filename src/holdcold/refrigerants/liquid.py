"""Liquid: one Gibbs function of temperature and pressure, and everything as its exact derivatives.

    g(T, p) = G(T, q),   q = (p - p_ref) / p_ref

with p_ref the highest usable pressure, at which every temperature of the envelope is liquid. G is a tensor
spline (quintic in T, one quartic in q: a liquid hardly answers to pressure). From it

    v = G_q / p_ref      s = -G_T      h = G - T G_T      cp = -T G_TT
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from holdcold.errors import EnvelopeError, SolverError
from holdcold.refrigerants.saturation import Saturation, outside, pressure_outside
from holdcold.refrigerants.splines import Row, breaks, curve_patches
from holdcold.refrigerants.vapour import CLOSE_K, MOST_ROUNDS, SLACK_K, Properties

T_DEGREE = 5


@dataclass(frozen=True, slots=True)
class Liquid:
    """The liquid's closures: properties(t_k, p_pa) -> (h, s, v, cp); temperature_ph(p_pa, h) -> T [K]."""

    properties: Properties
    temperature_ph: Callable[[float, float], float]


@dataclass(frozen=True, slots=True)
class Surface:
    """G as patches in T with their origins, the interior breaks, and the coldest temperature fitted."""

    patches: list[Row]
    t_breaks: list[float]
    coldest_k: float
    subcooling_k: float


def read_surface(data: dict[str, Any], subcooling_k: float) -> Surface:
    """Turn the stored spline into patches: origin, then five coefficients in q for each power of T."""
    t_all = breaks(data["t_knots"])
    columns = [curve_patches(data["t_knots"], T_DEGREE, values) for values in data["values"]]
    patches = [
        (t_all[i], *(column[i][power] for power in range(T_DEGREE + 1) for column in columns))
        for i in range(len(t_all) - 1)
    ]
    return Surface(patches, t_all[1:-1], data["coldest_k"], subcooling_k)


def build(fluid: str, data: dict[str, Any], bubble: Saturation, subcooling_k: float) -> Liquid:
    """Make the closures of one fluid's liquid from its section of the data file."""
    surface = read_surface(data, subcooling_k)
    properties = _properties(fluid, data, bubble, surface)
    return Liquid(properties, _temperature_ph(fluid, data, bubble, surface))


def subcooling_outside(fluid: str, t_k: float, bubble_k: float, surface: Surface) -> EnvelopeError:
    """Return the error for a liquid temperature above bubble or too far below it."""
    low = min(bubble_k - surface.subcooling_k, surface.coldest_k)
    advice = (
        f"Liquid is served from its bubble point at this pressure to {surface.subcooling_k:.0f} K below it,"
        f" and everywhere down to {surface.coldest_k - 273.15:.0f} C."
    )
    return outside(f"{fluid} liquid temperature", t_k, low, bubble_k, "K", advice)


def _properties(fluid: str, data: dict[str, Any], bubble: Saturation, surface: Surface) -> Properties:
    """Closure (T, p) -> (h, s, v, cp)."""
    bubble_k, p_lo, p_hi = bubble.temperature_k, bubble.p_lo, bubble.p_hi
    patches, t_breaks = surface.patches, surface.t_breaks
    depth, coldest = surface.subcooling_k + SLACK_K, surface.coldest_k - SLACK_K
    p_ref = data["p_ref"]
    per_pa, locate = 1.0 / p_ref, bisect_right

    def liquid(t_k: float, p_pa: float) -> tuple[float, float, float, float]:
        """(h [J/kg], s [J/(kg K)], v [m3/kg], cp [J/(kg K)]) of liquid at ``t_k`` [K], ``p_pa`` [Pa]."""
        if not p_lo <= p_pa <= p_hi:
            raise pressure_outside(fluid, p_pa, p_lo, p_hi)
        top = bubble_k(p_pa)
        if not top - depth <= t_k <= top + SLACK_K and not coldest <= t_k <= top:
            raise subcooling_outside(fluid, t_k, top, surface)
        (
            t_from, a0, a1, a2, a3, a4, b0, b1, b2, b3, b4, c0, c1, c2, c3, c4,
            d0, d1, d2, d3, d4, e0, e1, e2, e3, e4, f0, f1, f2, f3, f4,
        ) = patches[locate(t_breaks, t_k)]  # fmt: skip
        x = t_k - t_from
        q = p_pa * per_pa - 1.0
        # Value (r) and slope (m) in q, one for each power of T.
        r0 = a0 + q * (a1 + q * (a2 + q * (a3 + q * a4)))
        r1 = b0 + q * (b1 + q * (b2 + q * (b3 + q * b4)))
        r2 = c0 + q * (c1 + q * (c2 + q * (c3 + q * c4)))
        r3 = d0 + q * (d1 + q * (d2 + q * (d3 + q * d4)))
        r4 = e0 + q * (e1 + q * (e2 + q * (e3 + q * e4)))
        r5 = f0 + q * (f1 + q * (f2 + q * (f3 + q * f4)))
        m0 = a1 + q * (2.0 * a2 + q * (3.0 * a3 + q * 4.0 * a4))
        m1 = b1 + q * (2.0 * b2 + q * (3.0 * b3 + q * 4.0 * b4))
        m2 = c1 + q * (2.0 * c2 + q * (3.0 * c3 + q * 4.0 * c4))
        m3 = d1 + q * (2.0 * d2 + q * (3.0 * d3 + q * 4.0 * d4))
        m4 = e1 + q * (2.0 * e2 + q * (3.0 * e3 + q * 4.0 * e4))
        m5 = f1 + q * (2.0 * f2 + q * (3.0 * f3 + q * 4.0 * f4))
        # Quintic in T: value, first and (half the) second derivative.
        u4 = r4 + x * r5
        u3 = r3 + x * u4
        u2 = r2 + x * u3
        u1 = r1 + x * u2
        v4 = u4 + x * r5
        v3 = u3 + x * v4
        v2 = u2 + x * v3
        g_t = u1 + x * v2
        return (
            r0 + x * u1 - t_k * g_t,
            -g_t,
            per_pa * (m0 + x * (m1 + x * (m2 + x * (m3 + x * (m4 + x * m5))))),
            -2.0 * t_k * (v2 + x * (v3 + x * (v4 + x * r5))),
        )

    return liquid


def _temperature_ph(
    fluid: str, data: dict[str, Any], bubble: Saturation, surface: Surface
) -> Callable[[float, float], float]:
    """Closure (p, h) -> T by Newton along the isobar from a stored polynomial start."""
    starts, patches, t_breaks = data["t_start"], surface.patches, surface.t_breaks
    h_centre, h_scale, p_ref = data["h_centre"], data["h_scale"], data["p_ref"]
    coldest = surface.coldest_k - SLACK_K

    def temperature_ph(p_pa: float, h_j_kg: float) -> float:
        """Temperature [K] of liquid with enthalpy ``h_j_kg`` at ``p_pa``."""
        top = bubble.temperature_k(p_pa)
        q = p_pa / p_ref - 1.0
        u = (h_j_kg - h_centre) * h_scale
        t_k = 0.0
        for c0, c1, c2 in starts:
            t_k = t_k * u + c0 + q * (c1 + q * c2)
        t_k, index = min(t_k, top), -1
        t_from = r0 = r1 = r2 = r3 = r4 = r5 = 0.0
        for _ in range(MOST_ROUNDS):
            here = bisect_right(t_breaks, t_k)
            if here != index:
                index = here
                t_from, r0, r1, r2, r3, r4, r5 = _cut(patches[index], q)
            x = t_k - t_from
            u4 = r4 + x * r5
            u3 = r3 + x * u4
            u2 = r2 + x * u3
            u1 = r1 + x * u2
            v4 = u4 + x * r5
            v3 = u3 + x * v4
            v2 = u2 + x * v3
            half_g_tt = v2 + x * (v3 + x * (v4 + x * r5))
            step = (h_j_kg - r0 - x * u1 + t_k * (u1 + x * v2)) / (-2.0 * t_k * half_g_tt)
            t_k += step
            if -CLOSE_K < step < CLOSE_K:
                if not min(top - surface.subcooling_k - SLACK_K, coldest) <= t_k <= top + SLACK_K:
                    raise subcooling_outside(fluid, t_k, top, surface)
                return t_k
        raise SolverError(f"{fluid}: no liquid temperature for h {h_j_kg} J/kg at {p_pa} Pa")

    return temperature_ph


def _cut(row: Row, q: float) -> tuple[float, float, float, float, float, float, float]:
    """The patch at one pressure: its T origin and the six coefficients in T."""
    (
        t_from, a0, a1, a2, a3, a4, b0, b1, b2, b3, b4, c0, c1, c2, c3, c4,
        d0, d1, d2, d3, d4, e0, e1, e2, e3, e4, f0, f1, f2, f3, f4,
    ) = row  # fmt: skip
    return (
        t_from,
        a0 + q * (a1 + q * (a2 + q * (a3 + q * a4))),
        b0 + q * (b1 + q * (b2 + q * (b3 + q * b4))),
        c0 + q * (c1 + q * (c2 + q * (c3 + q * c4))),
        d0 + q * (d1 + q * (d2 + q * (d3 + q * d4))),
        e0 + q * (e1 + q * (e2 + q * (e3 + q * e4))),
        f0 + q * (f1 + q * (f2 + q * (f3 + q * f4))),
    )
