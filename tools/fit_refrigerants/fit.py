"""Fit one refrigerant: from catalogue entry to the content of its data file."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from . import dome_fit, gibbs_fit, saturation_fit
from .catalogue import Entry
from .measure import measure, spread
from .pairs import estimated
from .provenance import provenance
from .reference import Reference
from .saturation_fit import Curves

ZERO_C = 273.15
GLIDE_WORTH_A_CURVE_K = 0.05
FIT_STEP_K, CHECK_STEP_K = 0.5, 0.43


def fit(entry: Entry) -> dict[str, Any]:
    """The data file's content of one refrigerant, its measured errors included."""
    ref = Reference(entry)
    found = saturation_fit.curves(ref, FIT_STEP_K)
    p_min, p_max = found.p_min, found.p_max
    bubble = saturation_fit.fit_curve(found.bubble_t, found.bubble_p, p_min, p_max)
    dew = saturation_fit.fit_curve(found.dew_t, found.dew_p, p_min, p_max)
    p_min, p_max = _settle_ends(bubble, dew, found.max_k)
    coldest_k = saturation_fit.MIN_K if entry.coldest_liquid_k is None else entry.coldest_liquid_k
    zero = _zero(ref, gibbs_fit.SaturationCurve(bubble))
    rows = _inner(entry, ref, found, dome_fit.BETAS)
    content = {
        "schema": 1,
        "data_version": 2,
        "name": entry.name,
        "status": "estimated pairs" if estimated(entry) else "full",
        "note": entry.note,
        "composition": entry.composition,
        "safety_class": entry.safety_class,
        "gwp": entry.gwp,
        "molar_mass_kg_mol": ref.molar_mass,
        "critical_k": found.critical_k,
        "critical_pa": found.critical_pa,
        "envelope": {
            "min_k": saturation_fit.MIN_K,
            "max_k": found.max_k,
            "superheat_k": gibbs_fit.SUPERHEAT_K,
            "subcooling_k": entry.subcooling_k,
        },
        "p_min": p_min,
        "p_max": p_max,
        "reference_spread": {},
        "provenance": provenance(entry, found),
        "fit_error": {},
        "bubble": bubble,
        "dew": dew,
        "vapour": gibbs_fit.fit_vapour(ref, dew, p_min, p_max, zero),
        "liquid": gibbs_fit.fit_liquid(ref, bubble, p_min, p_max, coldest_k, zero),
        "dome": dome_fit.fit_dome(rows, p_min, p_max),
    }
    check = saturation_fit.curves(ref, CHECK_STEP_K)
    content["fit_error"] = measure(content, ref, check, _inner(entry, ref, check, dome_fit.CHECK_BETAS))
    content["reference_spread"] = spread(content, entry)
    return content


def _settle_ends(bubble: dict[str, Any], dew: dict[str, Any], max_k: float) -> tuple[float, float]:
    """Make the ends of both curves agree to rounding: T from p at an end is the other curve's end.

    The usable pressures are re-read from the fitted curves, and each curve's temperatures from them.
    """
    low, high = gibbs_fit.SaturationCurve(bubble), gibbs_fit.SaturationCurve(dew)
    p_min, p_max = high.pressure(saturation_fit.MIN_K), low.pressure(max_k)
    bubble |= {"t_lo_k": low.temperature(p_min), "t_hi_k": max_k}
    dew |= {"t_lo_k": saturation_fit.MIN_K, "t_hi_k": high.temperature(p_max)}
    return p_min, p_max


def _zero(ref: Reference, bubble: gibbs_fit.SaturationCurve) -> gibbs_fit.Zero:
    """Shift to 200 kJ/kg and 1 kJ/(kg K) for saturated liquid at 0 C (IIR)."""
    h, s, _, _ = ref.liquid(ZERO_C, bubble.pressure(ZERO_C))
    return gibbs_fit.Zero(200.0e3 - h, 1.0e3 - s)


def _inner(entry: Entry, ref: Reference, found: Curves, betas: tuple[float, ...]) -> np.ndarray:
    """Solved states between bubble and dew: none for pure fluids, from the mixture model for blends."""
    if entry.model == "mixture":
        return dome_fit.inner_points(ref, found, betas)
    if entry.model == "pseudo-pure" and _glide(found) > GLIDE_WORTH_A_CURVE_K:
        twin = Reference(replace(entry, model="mixture"))
        return dome_fit.inner_points(twin, saturation_fit.curves(twin, 2.0), betas)
    return np.empty((0, 8))


def _glide(found: Curves) -> float:
    """Largest difference between dew and bubble temperature at one pressure [K]."""
    at = np.interp(np.log(found.bubble_p), np.log(found.dew_p), found.dew_t)
    return float(np.abs(at - found.bubble_t)[5:-5].max())
