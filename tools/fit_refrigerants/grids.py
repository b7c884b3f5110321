"""Reference grids for the tests: CoolProp's numbers themselves, none from the fitted functions."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline

from . import dome_fit, saturation_fit
from .catalogue import Entry
from .reference import Reference
from .saturation_fit import Curves

# Every 7.5 K, and one point inside each band where CoolProp's own flash fails for some blend here.
SATURATION_C = (*np.arange(-50.0, 70.1, 7.5), 54.5, 55.5, 57.0, 58.5, 63.0, 65.5, 67.5)
SUPERHEATS_K = (0.5, 4.0, 12.0, 30.0, 65.0, 119.0)
SUBCOOLINGS_K = (0.5, 5.0, 17.0, 39.0)

SATURATION_HEAD = (
    "name", "temperature_k", "bubble_pa", "dew_pa", "h_bubble_j_kg", "h_dew_j_kg", "s_bubble_j_kgk",
    "s_dew_j_kgk", "rho_bubble_kg_m3", "rho_dew_kg_m3",
)  # fmt: skip
SINGLE_HEAD = ("name", "phase", "temperature_k", "pressure_pa", "h_j_kg", "s_j_kgk", "rho_kg_m3", "cp_j_kgk")
WET_HEAD = ("name", "pressure_pa", "h_fraction", "temperature_k", "rho_kg_m3", "quality")

Rows = list[tuple[object, ...]]


def write(folder: Path, entries: Iterable[Entry]) -> None:
    """Write ``saturation.csv``, ``single_phase.csv`` and ``wet.csv`` into ``folder``."""
    saturation: Rows = []
    single: Rows = []
    wet: Rows = []
    for entry in entries:
        ref = Reference(entry)
        found = saturation_fit.curves(ref, 1.0)
        zero = _zero(ref, found)
        saturation += _saturation(entry.name, ref, found, zero)
        single += _single(entry.name, ref, found, zero)
        wet += _wet(entry.name, ref, found) if entry.model == "mixture" else []
    for name, head, rows in (
        ("saturation.csv", SATURATION_HEAD, saturation),
        ("single_phase.csv", SINGLE_HEAD, single),
        ("wet.csv", WET_HEAD, wet),
    ):
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(head)
            writer.writerows(rows)


def _pressure(temperatures: np.ndarray, pressures: np.ndarray, t_k: float) -> float:
    """Pressure at ``t_k`` on a solved curve, by cubic spline of ln p in 1/T (1 K apart: error < 1e-8)."""
    spline = CubicSpline(1.0 / temperatures[::-1], np.log(pressures[::-1]))
    return float(np.exp(spline(1.0 / t_k)))


def _temperature(temperatures: np.ndarray, pressures: np.ndarray, p_pa: float) -> float:
    """Temperature at ``p_pa`` on a solved curve, by cubic spline of 1/T in ln p."""
    return float(1.0 / CubicSpline(np.log(pressures), 1.0 / temperatures)(np.log(p_pa)))


def _zero(ref: Reference, found: Curves) -> tuple[float, float]:
    """Shift of h and s to the IIR zero, from the reference's own bubble point at 0 C."""
    h, s, _, _ = ref.liquid(273.15, _pressure(found.bubble_t, found.bubble_p, 273.15))
    return 200.0e3 - h, 1.0e3 - s


def _numbers(*values: float) -> tuple[str, ...]:
    """Ten significant digits each."""
    return tuple(f"{value:.10g}" for value in values)


def _saturation(name: str, ref: Reference, found: Curves, zero: tuple[float, float]) -> Rows:
    """Bubble and dew at the same temperature."""
    rows: Rows = []
    for t_k in sorted(273.15 + c for c in SATURATION_C):
        if t_k > found.max_k:
            continue
        bubble = _pressure(found.bubble_t, found.bubble_p, t_k)
        dew = _pressure(found.dew_t, found.dew_p, t_k)
        low, high = ref.liquid(t_k, bubble), ref.vapour(t_k, dew)
        states = (low[0] + zero[0], high[0] + zero[0], low[1] + zero[1], high[1] + zero[1])
        rows.append((name, *_numbers(t_k, bubble, dew, *states, 1.0 / low[2], 1.0 / high[2])))
    return rows


def _single(name: str, ref: Reference, found: Curves, zero: tuple[float, float]) -> Rows:
    """Superheated and subcooled states at eight pressures."""
    rows: Rows = []
    for p_pa in np.exp(np.linspace(np.log(found.p_min * 1.001), np.log(found.p_max * 0.999), 8)):
        dew = _temperature(found.dew_t, found.dew_p, p_pa)
        bubble = _temperature(found.bubble_t, found.bubble_p, p_pa)
        for phase, t_k, state in (
            *(("vapour", dew + gap, ref.vapour) for gap in SUPERHEATS_K),
            *(("liquid", bubble - gap, ref.liquid) for gap in _subcoolings(ref.entry, bubble)),
        ):
            # Rounded first, so that the printed state is exactly the one computed.
            t_k, p_round = round(t_k, 6), round(float(p_pa), 3)
            h, s, v, cp = state(t_k, p_round)
            rows.append((name, phase, *_numbers(t_k, p_round, h + zero[0], s + zero[1], 1.0 / v, cp)))
    return rows


def _subcoolings(entry: Entry, bubble_k: float) -> list[float]:
    """Those of the subcoolings that this refrigerant is served at."""
    coldest = bubble_k if entry.coldest_liquid_k is None else entry.coldest_liquid_k
    return [gap for gap in SUBCOOLINGS_K if gap <= entry.subcooling_k or bubble_k - gap >= coldest]


def _wet(name: str, ref: Reference, found: Curves) -> Rows:
    """States between bubble and dew of a blend, by its own two-phase equilibrium."""
    inner = dome_fit.inner_points(ref, found, (0.15, 0.4, 0.7, 0.9))
    rows: Rows = []
    for y, z, share, _, quality, glide, _, v in inner[::9]:
        p_pa = float(np.exp(y))
        t_k = _temperature(found.bubble_t, found.bubble_p, p_pa) + share * glide
        rows.append((name, *_numbers(p_pa, z, t_k, 1.0 / v, quality)))
    return rows
