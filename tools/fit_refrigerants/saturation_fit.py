"""Saturation data of one refrigerant and the fits of its bubble and dew curves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import CoolProp
import numpy as np

from . import equilibrium
from .equilibrium import Split
from .reference import Reference

MIN_K = 223.15
HOTTEST_K = 343.15
BELOW_CRITICAL_K = 8.0


@dataclass(frozen=True)
class Curves:
    """Saturation points: temperatures [K] and pressures [Pa] of bubble and dew, each rising."""

    bubble_t: np.ndarray
    bubble_p: np.ndarray
    dew_t: np.ndarray
    dew_p: np.ndarray
    bubble_splits: list[Split]
    dew_splits: list[Split]
    critical_k: float
    critical_pa: float
    max_k: float
    p_min: float
    p_max: float
    flash_failures: int
    flash_points: int
    flash_difference: float


def critical_point(ref: Reference) -> tuple[float, float]:
    """Critical temperature [K] and pressure [Pa] of the reference; of a blend, the stable one above 200 K."""
    state = ref.open()
    if ref.entry.model != "mixture":
        return float(state.T_critical()), float(state.p_critical())
    points = [each for each in state.all_critical_points() if each.stable and each.T > 200.0]
    return float(points[0].T), float(points[0].p)


def curves(ref: Reference, step_k: float = 0.5) -> Curves:
    """Bubble and dew points over the envelope: from CoolProp for pure and pseudo-pure, else solved here."""
    critical_k, critical_pa = critical_point(ref)
    max_k = min(HOTTEST_K, critical_k - BELOW_CRITICAL_K)
    return (_blend if ref.entry.model == "mixture" else _single)(ref, critical_k, critical_pa, max_k, step_k)


def _single(ref: Reference, critical_k: float, critical_pa: float, max_k: float, step_k: float) -> Curves:
    """Saturation of a pure or pseudo-pure fluid straight from its equation."""
    state = ref.open()

    def pressure(quality: float, t_k: float) -> float:
        state.update(CoolProp.QT_INPUTS, quality, t_k)
        return float(state.p())

    p_min, p_max = pressure(1.0, MIN_K), pressure(0.0, max_k)
    state.update(CoolProp.PQ_INPUTS, p_min, 0.0)
    coldest_bubble = float(state.T())
    state.update(CoolProp.PQ_INPUTS, p_max, 1.0)
    hottest_dew = float(state.T())
    bubble_t = _grid(coldest_bubble, max_k, step_k)
    dew_t = _grid(MIN_K, hottest_dew, step_k)
    bubble_p = np.array([pressure(0.0, t) for t in bubble_t])
    dew_p = np.array([pressure(1.0, t) for t in dew_t])
    return Curves(
        bubble_t, bubble_p, dew_t, dew_p, [], [], critical_k, critical_pa, max_k, p_min, p_max, 0, 0, 0.0
    )


def _grid(low: float, high: float, step: float) -> np.ndarray:
    """Values with both ends, about ``step`` apart in the middle and closer towards the ends.

    The crowding at the ends is what keeps the largest error of a polynomial fitted to them small there.
    """
    u = np.linspace(0.0, np.pi, int(1.5 * (high - low) / step) + 2)
    return low + 0.5 * (high - low) * (1.0 - np.cos(u))


def _blend(ref: Reference, critical_k: float, critical_pa: float, max_k: float, step_k: float) -> Curves:
    """Saturation of a blend by the solver of ``equilibrium``, checked against CoolProp's own flash."""
    anchor = equilibrium.solve(ref, 250.0, 0.0, equilibrium.first(ref, 250.0, 2.0e5))
    middle = equilibrium.solve(ref, 250.0, 0.5, anchor)
    at_dew = equilibrium.solve(ref, 250.0, 1.0, middle)
    p_min = _reach(ref, MIN_K, 1.0, at_dew).p_pa
    p_max = _reach(ref, max_k, 0.0, anchor).p_pa
    coldest_bubble = _temperature(ref, p_min, 0.0, anchor)
    hottest_dew = _temperature(ref, p_max, 1.0, at_dew)
    bubbles = _both_ways(ref, _grid(coldest_bubble, max_k, step_k), 0.0, anchor)
    dews = _both_ways(ref, _grid(MIN_K, hottest_dew, step_k), 1.0, at_dew)
    failures, tried, difference = _compare(ref, bubbles + dews)
    return Curves(
        np.array([each.t_k for each in bubbles]), np.array([each.p_pa for each in bubbles]),
        np.array([each.t_k for each in dews]), np.array([each.p_pa for each in dews]),
        bubbles, dews, critical_k, critical_pa, max_k, p_min, p_max, failures, tried, difference,
    )  # fmt: skip


def _reach(ref: Reference, t_k: float, beta: float, start: Split) -> Split:
    """The equilibrium at ``t_k``, walked to in steps of about 2 K."""
    steps = np.linspace(start.t_k, t_k, int(abs(t_k - start.t_k) / 2.0) + 2)
    return equilibrium.march(ref, steps, beta, start)[-1]


def _temperature(ref: Reference, p_pa: float, beta: float, start: Split) -> float:
    """Temperature at which the curve passes ``p_pa``, by secant in 1/T against ln p."""
    here = start
    slope = -2500.0
    for _ in range(200):
        step = np.log(p_pa / here.p_pa) / slope
        step = max(-2.0e-5, min(2.0e-5, float(step)))
        guess = Split(here.t_k, here.p_pa * float(np.exp(slope * step)), beta, here.liquid, here.vapour)
        there = equilibrium.solve(ref, 1.0 / (1.0 / here.t_k + step), beta, guess)
        if abs(np.log(p_pa / there.p_pa)) < 1e-9:
            return there.t_k
        slope = float(np.log(there.p_pa / here.p_pa)) / (1.0 / there.t_k - 1.0 / here.t_k)
        here = there
    raise ValueError(f"no temperature at {p_pa} Pa")


def _both_ways(ref: Reference, temperatures: np.ndarray, beta: float, anchor: Split) -> list[Split]:
    """March up and down from the anchor; result rising in temperature."""
    below = temperatures[temperatures < anchor.t_k][::-1]
    above = temperatures[temperatures >= anchor.t_k]
    down = equilibrium.march(ref, below, beta, anchor)
    return down[::-1] + equilibrium.march(ref, above, beta, anchor)


def _compare(ref: Reference, splits: list[Split]) -> tuple[int, int, float]:
    """CoolProp's own flash at the same temperatures: failures, tries, worst relative difference."""
    state = ref.open()
    failures, worst = 0, 0.0
    for each in splits:
        try:
            state.update(CoolProp.QT_INPUTS, each.beta, each.t_k)
        except ValueError:
            failures += 1
            continue
        worst = max(worst, abs(float(state.p()) / each.p_pa - 1.0))
    return failures, len(splits), worst


def fit_curve(temperatures: np.ndarray, pressures: np.ndarray, p_min: float, p_max: float) -> dict[str, Any]:
    """Coefficients of ln p in 1/T (degree 9) and of the starting T in ln p (degree 6)."""
    inverse = 1.0 / temperatures
    middle, half = 0.5 * (inverse.max() + inverse.min()), 0.5 * (inverse.max() - inverse.min())
    x_scale, x_centre = 1.0 / half, middle / half
    x = x_scale / temperatures - x_centre
    y = np.log(pressures)
    y_centre, y_half = 0.5 * np.log(p_min * p_max), 0.5 * np.log(p_max / p_min)
    s = (y - y_centre) / y_half
    return {
        "x_centre": x_centre,
        "x_scale": x_scale,
        "ln_p": np.polynomial.Polynomial.fit(x, y, 9, domain=[-1, 1]).convert().coef.tolist(),
        "y_centre": float(y_centre),
        "y_scale": float(1.0 / y_half),
        "t_start": np.polynomial.Polynomial.fit(s, temperatures, 6, domain=[-1, 1]).convert().coef.tolist(),
        "t_lo_k": float(temperatures.min()),
        "t_hi_k": float(temperatures.max()),
    }
