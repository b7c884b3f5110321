"""The states between bubble and dew of a blend, and the curves that stand for them."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline

from . import equilibrium
from .equilibrium import Split
from .reference import Reference
from .saturation_fit import Curves

BETAS = (0.04, 0.12, 0.22, 0.35, 0.5, 0.65, 0.78, 0.88, 0.96)
# Powers of z, and of ln p, in each curve's bow; the runtime unpacks as many.
SIZE = 5
CHECK_BETAS = (0.08, 0.17, 0.29, 0.43, 0.57, 0.71, 0.83, 0.92)


def inner_points(ref: Reference, found: Curves, betas: tuple[float, ...] = BETAS) -> np.ndarray:
    """Rows (ln p, z, share of temperature, of volume, quality, glide, volume gap, volume) in the dome.

    Bubble and dew at the pressure of each inner point are interpolated in the solved curves.
    """
    bubble = _table(ref, found.bubble_splits)
    dew = _table(ref, found.dew_splits)
    middle = _anchor(found, 250.0)
    rows: list[tuple[float, ...] | None] = []
    for beta in betas:
        start = equilibrium.solve(ref, middle.t_k, beta, middle)
        rows += [_row(ref, each, bubble, dew) for each in _line(ref, found, beta, start)]
    return np.array([row for row in rows if row is not None])


def _anchor(found: Curves, t_k: float) -> Split:
    """The solved bubble point nearest ``t_k``, with the dew's vapour as a start for inner points."""
    return min(found.bubble_splits, key=lambda each: abs(each.t_k - t_k))


def _line(ref: Reference, found: Curves, beta: float, start: Split) -> list[Split]:
    """Equilibria of one vapour fraction, 3 K apart, over the usable pressures."""
    up = equilibrium.march(ref, np.arange(start.t_k, found.dew_t[-1], 2.0), beta, start)
    down = equilibrium.march(ref, np.arange(start.t_k - 2.0, found.bubble_t[0], -2.0), beta, start)
    return [each for each in down[::-1] + up if found.p_min <= each.p_pa <= found.p_max]


def _properties(ref: Reference, each: Split) -> tuple[float, float, float]:
    """Specific enthalpy [J/kg], specific volume [m3/kg] and mass quality of an equilibrium."""
    h_l, v_l, m_l = ref.phase_state(True, each.t_k, each.p_pa, each.liquid)
    h_v, v_v, m_v = ref.phase_state(False, each.t_k, each.p_pa, each.vapour)
    beta = each.beta
    mass = (1.0 - beta) * m_l + beta * m_v
    return (
        ((1.0 - beta) * h_l + beta * h_v) / mass,
        ((1.0 - beta) * v_l + beta * v_v) / mass,
        beta * m_v / mass,
    )


def _table(ref: Reference, splits: list[Split]) -> np.ndarray:
    """Rows (ln p, T, h, ln v) along one saturation curve."""
    rows = []
    for each in splits:
        liquid = each.beta == 0.0
        h, v, m = ref.phase_state(liquid, each.t_k, each.p_pa, np.array(ref.overall))
        rows.append((np.log(each.p_pa), each.t_k, h / m, np.log(v / m)))
    return np.array(rows)


def _row(ref: Reference, each: Split, bubble: np.ndarray, dew: np.ndarray) -> tuple[float, ...] | None:
    """One inner point against the ends of its isobar; None near the ends of the curves."""
    y = np.log(each.p_pa)
    if not max(bubble[0, 0], dew[0, 0]) <= y <= min(bubble[-1, 0], dew[-1, 0]):
        return None
    t_b, h_b, v_b = CubicSpline(bubble[:, 0], bubble[:, 1:])(y)
    t_d, h_d, v_d = CubicSpline(dew[:, 0], dew[:, 1:])(y)
    v_b, v_d = np.exp(v_b), np.exp(v_d)
    h, v, quality = _properties(ref, each)
    glide = t_d - t_b
    return (
        y,
        (h - h_b) / (h_d - h_b),
        (each.t_k - t_b) / glide,
        (v - v_b) / (v_d - v_b),
        quality,
        glide,
        v_d - v_b,
        v,
    )


def fit_dome(rows: np.ndarray, p_min: float, p_max: float) -> dict[str, Any]:
    """The dome section of the data file from inner points; pass an empty array for straight lines."""
    y_centre, y_half = 0.5 * np.log(p_min * p_max), 0.5 * np.log(p_max / p_min)
    section: dict[str, Any] = {"y_centre": float(y_centre), "y_scale": float(1.0 / y_half)}
    if not len(rows):
        return section | {"temperature": [], "volume": [], "quality": []}
    y, z = (rows[:, 0] - y_centre) / y_half, rows[:, 1]
    weights = {
        "temperature": rows[:, 5],
        "volume": rows[:, 6] / rows[:, 7],
        "quality": np.ones(len(rows)),
    }
    for column, key in enumerate(("temperature", "volume", "quality"), start=2):
        basis = np.column_stack([z * (1 - z) * z**i * y**j for i in range(SIZE) for j in range(SIZE)])
        weight = weights[key][:, None]
        found, *_ = np.linalg.lstsq(basis * weight, (rows[:, column] - z) * weight[:, 0], rcond=None)
        section[key] = found.reshape(SIZE, SIZE).tolist()
    return section
