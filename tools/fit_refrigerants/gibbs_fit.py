"""Weighted least squares of the vapour's and the liquid's Gibbs functions.

The unknowns are the spline values; v, h, s and cp of the reference are all linear in them, so one linear
least-squares solution serves every property at once. A faint ridge settles the few spline values in
corners that hold no state of the envelope.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from scipy.interpolate import BSpline

from holdcold.refrigerants.liquid import T_DEGREE
from holdcold.refrigerants.vapour import W_DEGREE, Y_DEGREE

from .reference import Reference

SUPERHEAT_K = 120.0
# What one unit of residual means in each property: about a tenth of the accuracy aimed at.
SIGMA_V, SIGMA_H, SIGMA_S, SIGMA_CP = 3e-5, 8.0, 0.03, 1.5


@dataclass(frozen=True)
class Zero:
    """What is added to the reference's h [J/kg] and s [J/(kg K)] to reach the IIR zero."""

    h: float
    s: float


def knots(inner: np.ndarray, degree: int) -> np.ndarray:
    """Full knot vector from break points."""
    return np.concatenate([[inner[0]] * degree, inner, [inner[-1]] * degree])


def _between(breaks: np.ndarray, count: int) -> np.ndarray:
    """``count`` points in each interval, its lower end among them, and the very last break."""
    parts = [np.linspace(low, high, count + 1)[:-1] for low, high in pairwise(breaks)]
    return np.concatenate([*parts, breaks[-1:]])


def design(points: np.ndarray, knot: np.ndarray, degree: int, order: int) -> np.ndarray:
    """Matrix of the ``order``-th derivatives of every B-spline at ``points``."""
    count = len(knot) - degree - 1
    splines = [BSpline(knot, np.eye(count)[i], degree, extrapolate=True) for i in range(count)]
    return np.column_stack([each.derivative(order)(points) if order else each(points) for each in splines])


def _outer(left: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Row-wise Kronecker product: columns for each pair of B-splines."""
    return (left[:, :, None] * right[:, None, :]).reshape(len(left), -1)


def _solve(blocks: list[tuple[np.ndarray, np.ndarray, np.ndarray]], ridge: float) -> np.ndarray:
    """Least squares of stacked (matrix, target, sigma) blocks with columns scaled and a faint ridge."""
    matrix = np.vstack([block / sigma[:, None] for block, _, sigma in blocks])
    target = np.concatenate([value / sigma for _, value, sigma in blocks])
    scale = np.sqrt((matrix**2).mean(axis=0)) + 1e-300
    count = matrix.shape[1]
    full = np.vstack([matrix / scale, ridge * np.sqrt(len(target)) * np.eye(count)])
    solution, *_ = np.linalg.lstsq(full, np.concatenate([target, np.zeros(count)]), rcond=None)
    return solution / scale


def theta_and_slope(dew: dict[str, Any], y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The vapour's theta(p) and its derivative with respect to ln p."""
    s = (y - dew["y_centre"]) * dew["y_scale"]
    poly = np.polynomial.Polynomial(dew["t_start"])
    return poly(s), poly.deriv()(s) * dew["y_scale"]


Y_BREAKS = np.array([0.0, 0.2, 0.38, 0.54, 0.67, 0.78, 0.86, 0.92, 0.96, 0.985, 1.0])
W_BREAKS = np.array([-0.12, 1.2, 3.5, 8.0, 15.0, 26.0, 42.0, 62.0, 88.0, 120.6])


def fit_vapour(ref: Reference, dew: dict[str, Any], p_min: float, p_max: float, zero: Zero) -> dict[str, Any]:
    """The vapour section of the data file."""
    y_lo, y_hi = np.log(p_min), np.log(p_max)
    y_breaks = y_lo + Y_BREAKS * (y_hi - y_lo)
    y_knots, w_knots = knots(y_breaks, Y_DEGREE), knots(W_BREAKS, W_DEGREE)
    y, w = _between(y_breaks, 6), _between(W_BREAKS, 7)
    yy, ww = (grid.ravel() for grid in np.meshgrid(y, w, indexing="ij"))
    theta, theta_y = theta_and_slope(dew, yy)
    t, p = theta + ww, np.exp(yy)
    states = np.array([ref.vapour(float(a), float(b)) for a, b in zip(t, p, strict=True)])
    h, s, v, cp = states.T
    gas = ref.gas_constant
    ideal = _ideal(ref, zero)
    h_id, s_id, cp_id = _ideal_values(ideal, t)
    by, byy = design(yy, y_knots, Y_DEGREE, 0), design(yy, y_knots, Y_DEGREE, 1)
    bw, bw1, bw2 = (design(ww, w_knots, W_DEGREE, order) for order in range(3))
    f, f_y = _outer(bw, by), _outer(bw, byy)
    f_w, f_ww = _outer(bw1, by), _outer(bw2, by)
    blocks = [
        (f + f_y - theta_y[:, None] * f_w, v - gas * t / p, SIGMA_V * v),
        (p[:, None] * (f - t[:, None] * f_w), h + zero.h - h_id, np.full_like(h, SIGMA_H)),
        (-p[:, None] * f_w, s + zero.s - s_id + gas * np.log(p), np.full_like(h, SIGMA_S)),
        ((-t * p)[:, None] * f_ww, cp - cp_id, SIGMA_CP * (1 + 20.0 * (cp / cp_id - 1.0))),
    ]
    values = _solve(blocks, 1e-9).reshape(bw.shape[1], by.shape[1])
    return {
        "gas_constant": gas,
        **ideal,
        "y_knots": y_knots.tolist(),
        "w_knots": w_knots.tolist(),
        "values": values.tolist(),
        "w_start_h": _start(yy, dew, ww, h + zero.h),
        "w_start_s": _start(yy, dew, ww, s + zero.s),
    }


def _ideal(ref: Reference, zero: Zero) -> dict[str, Any]:
    """Quartic ideal heat capacity in T/1000, and the constants of ideal enthalpy and entropy."""
    t = np.linspace(215.0, 475.0, 80)
    cp = np.array([ref.ideal_cp(float(each)) for each in t])
    coefficients = np.polynomial.Polynomial.fit(t / 1000.0, cp, 4, domain=[0, 1], window=[0, 1]).coef
    ideal = {"ideal_cp": coefficients.tolist(), "h_zero": 0.0, "s_zero": 0.0}
    # Anchored where the vapour is nearly ideal: 330 K and 10 Pa.
    h, s, _, _ = ref.vapour(330.0, 10.0)
    h_id, s_id, _ = _ideal_values(ideal, np.array([330.0]))
    ideal["h_zero"] = float(h + zero.h - h_id[0])
    ideal["s_zero"] = float(s + zero.s + ref.gas_constant * np.log(10.0) - s_id[0])
    return ideal


def _ideal_values(ideal: dict[str, Any], t: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Ideal h, s (without the pressure term) and cp at temperatures."""
    x, k = t / 1000.0, ideal["ideal_cp"]
    cp = sum(c * x**n for n, c in enumerate(k))
    h = ideal["h_zero"] + 1000.0 * sum(c * x ** (n + 1) / (n + 1) for n, c in enumerate(k))
    s = ideal["s_zero"] + k[0] * np.log(x) + sum(c * x**n / n for n, c in enumerate(k) if n)
    return h, s, cp


def _start(yy: np.ndarray, dew: dict[str, Any], ww: np.ndarray, value: np.ndarray) -> list[list[float]]:
    """Starting superheat as u (quadratic in ln p, cubic in u), u the distance of ``value`` from dew."""
    s = (yy - dew["y_centre"]) * dew["y_scale"]
    at_dew = {key: value[(yy == key)][np.argmin(np.abs(ww[yy == key]))] for key in np.unique(yy)}
    u = value - np.array([at_dew[key] for key in yy])
    scale = u.max()
    columns = [(u / scale) ** (i + 1) * s**j for i in range(4) for j in range(3)]
    found, *_ = np.linalg.lstsq(np.column_stack(columns), ww, rcond=None)
    table = found.reshape(4, 3)
    return [[float(c) / scale ** (i + 1) for c in table[i]] for i in range(4)]


Q_DEGREE = 4
T_BREAKS = np.array([0.0, 0.22, 0.42, 0.58, 0.7, 0.79, 0.855, 0.902, 0.936, 0.96, 0.977, 0.989, 1.0])


def fit_liquid(
    ref: Reference, bubble: dict[str, Any], p_min: float, p_max: float, coldest_k: float, zero: Zero
) -> dict[str, Any]:
    """The liquid section of the data file: tensor of T splines and powers of q = p / p_max - 1."""
    curve = SaturationCurve(bubble)
    t_lo = min(bubble["t_lo_k"] - ref.entry.subcooling_k, coldest_k) - 0.1
    t_hi = curve.temperature(p_max) + 0.1
    t_breaks = t_lo + T_BREAKS * (t_hi - t_lo)
    t_knots = knots(t_breaks, T_DEGREE)
    points = [(t, p) for t in _between(t_breaks, 9) for p in _pressures(curve, t, p_min, p_max)]
    t, p = np.array(points).T
    states = np.array([ref.liquid(float(a), float(b)) for a, b in points])
    h, s, v, cp = states.T
    q = p / p_max - 1.0
    bt = [design(t, t_knots, T_DEGREE, order) for order in range(3)]
    powers = np.column_stack([q**n for n in range(Q_DEGREE + 1)])
    slopes = np.column_stack([n * q ** max(n - 1, 0) for n in range(Q_DEGREE + 1)])
    g, g_t, g_tt = (_outer(powers, each) for each in bt)
    g_q = _outer(slopes, bt[0])
    blocks = [
        (g_q / p_max, v, SIGMA_V * v),
        (g - t[:, None] * g_t, h + zero.h, np.full_like(h, SIGMA_H)),
        (-g_t, s + zero.s, np.full_like(h, SIGMA_S)),
        (-t[:, None] * g_tt, cp, SIGMA_CP * np.exp((t - t_hi) / 20.0) * 10 + SIGMA_CP),
    ]
    values = _solve(blocks, 1e-10).reshape(Q_DEGREE + 1, bt[0].shape[1])
    return {
        "p_ref": p_max,
        "coldest_k": coldest_k,
        "t_knots": t_knots.tolist(),
        "values": values.tolist(),
        **_liquid_start(t, q, h + zero.h),
    }


def _pressures(curve: SaturationCurve, t: float, p_min: float, p_max: float) -> np.ndarray:
    """Pressures at which the liquid at ``t`` is taken: from bubble (or the least usable) to the highest."""
    low = min(max(p_min, curve.pressure(t)), p_max)
    u = np.linspace(0.0, 1.0, 12)
    return np.unique(low + (p_max - low) * u**1.5)


def _liquid_start(t: np.ndarray, q: np.ndarray, h: np.ndarray) -> dict[str, Any]:
    """Starting temperature: powers 0..5 of the scaled enthalpy (highest first), quadratic in q."""
    centre, half = 0.5 * (h.max() + h.min()), 0.5 * (h.max() - h.min())
    u = (h - centre) / half
    columns = [u**i * q**j for i in range(5, -1, -1) for j in range(3)]
    found, *_ = np.linalg.lstsq(np.column_stack(columns), t, rcond=None)
    return {
        "h_centre": float(centre),
        "h_scale": float(1.0 / half),
        "t_start": [[float(c) for c in row] for row in found.reshape(6, 3)],
    }


@dataclass(frozen=True)
class SaturationCurve:
    """The fitted curve, for use inside the tool (extrapolates where the runtime refuses)."""

    data: dict[str, Any]

    def pressure(self, t_k: float) -> float:
        """Pressure [Pa]."""
        x = self.data["x_scale"] / t_k - self.data["x_centre"]
        return float(np.exp(np.polynomial.Polynomial(self.data["ln_p"])(x)))

    def temperature(self, p_pa: float) -> float:
        """Temperature [K], by Newton from the stored start."""
        y = np.log(p_pa)
        s = (y - self.data["y_centre"]) * self.data["y_scale"]
        t = float(np.polynomial.Polynomial(self.data["t_start"])(s))
        poly = np.polynomial.Polynomial(self.data["ln_p"])
        for _ in range(4):
            ratio = self.data["x_scale"] / t
            x = ratio - self.data["x_centre"]
            t += float((poly(x) - y) * t / (poly.deriv()(x) * ratio))
        return t
