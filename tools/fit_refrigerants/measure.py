"""How far the packaged functions lie from the reference, worst point by quantity.

The functions measured are the public ones, built from the data file's content; the points lie between
those used in the fit (their counts have no common factor with the fit's).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np

from holdcold.refrigerants import Fluid
from holdcold.refrigerants.fluid import build

from . import saturation_fit
from .catalogue import Entry
from .gibbs_fit import SUPERHEAT_K
from .pairs import estimated
from .reference import Reference
from .saturation_fit import Curves

PRESSURES, SUPERHEATS, SUBCOOLINGS = 97, 61, 53
ATMOSPHERE_PA = 101_325.0


class Worst:
    """The largest absolute difference of each quantity, with its unit and the state it was found at."""

    def __init__(self) -> None:
        """Start with nothing."""
        self.found: Errors = {}

    def add(self, quantity: str, unit: str, difference: float, where: str) -> None:
        """Take one difference into account."""
        size = abs(float(difference))
        if quantity not in self.found or size > self.found[quantity]["worst"]:
            self.found[quantity] = {"worst": float(f"{size:.3g}"), "unit": unit, "where": where}


Errors = dict[str, dict[str, Any]]


def measure(data: dict[str, Any], ref: Reference, found: Curves, inner: np.ndarray) -> Errors:
    """Quantity -> {worst, unit, where}, over the whole envelope."""
    fluid = build(data)
    worst = Worst()
    _saturation(worst, fluid, found)
    _saturated(worst, fluid, data, ref, found)
    _vapour(worst, fluid, data, ref)
    _liquid(worst, fluid, data, ref)
    _dome(worst, fluid, inner)
    return worst.found


def zero_shift(data: dict[str, Any], ref: Reference) -> tuple[float, float]:
    """What brings the reference's h and s to the zero the data file was made with."""
    h, s, _, _ = ref.liquid(273.15, build(data).bubble_pa(273.15))
    return 200.0e3 - h, 1.0e3 - s


def _saturation(worst: Worst, fluid: Fluid, found: Curves) -> None:
    """Both curves, both ways, at the solved points between the ends."""
    for kind, temperatures, pressures, of_t, of_p in (
        ("bubble", found.bubble_t, found.bubble_p, fluid.bubble_pa, fluid.bubble_k),
        ("dew", found.dew_t, found.dew_p, fluid.dew_pa, fluid.dew_k),
    ):
        for t_k, p_pa in list(zip(temperatures, pressures, strict=True))[1:-1]:
            where = f"{t_k:.2f} K"
            worst.add(f"{kind} pressure", "%", 100.0 * (of_t(t_k) / p_pa - 1.0), where)
            if fluid.p_min <= p_pa <= fluid.p_max:
                worst.add(f"{kind} temperature", "K", of_p(p_pa) - t_k, where)


def _pressures(fluid: Fluid, count: int) -> np.ndarray:
    """Pressures evenly spread in ln p, ends included."""
    p = np.exp(np.linspace(np.log(fluid.p_min), np.log(fluid.p_max), count))
    p[0], p[-1] = fluid.p_min, fluid.p_max
    return p


def _add_state(worst: Worst, phase: str, mine: Iterable[float], theirs: Iterable[float], where: str) -> None:
    """Compare (h, s, v, cp) of one state."""
    h, s, v, cp = (np.array(each) for each in zip(mine, theirs, strict=True))
    worst.add(f"{phase} enthalpy", "kJ/kg", (h[0] - h[1]) / 1e3, where)
    worst.add(f"{phase} entropy", "J/(kg K)", s[0] - s[1], where)
    worst.add(f"{phase} density", "%", 100.0 * (v[1] / v[0] - 1.0), where)
    worst.add(f"{phase} heat capacity", "%", 100.0 * (cp[0] / cp[1] - 1.0), where)


def _saturated(worst: Worst, fluid: Fluid, data: dict[str, Any], ref: Reference, found: Curves) -> None:
    """The saturated curves at a pressure against the reference's saturated state at that pressure."""
    h0, s0 = zero_shift(data, ref)
    bubble = (found.bubble_t, found.bubble_p, ref.liquid, fluid.h_bubble, fluid.s_bubble, fluid.rho_bubble)
    dew = (found.dew_t, found.dew_p, ref.vapour, fluid.h_dew, fluid.s_dew, fluid.rho_dew)
    for phase, (temperatures, pressures, state, h, s, rho) in (("bubble", bubble), ("dew", dew)):
        for t_k, p in zip(temperatures, pressures, strict=True):
            if fluid.p_min <= p <= fluid.p_max:
                hr, sr, vr, _ = state(float(t_k), float(p))
                where = f"{t_k:.2f} K, {p / 1e5:.3f} bar"
                worst.add(f"{phase} enthalpy", "kJ/kg", (h(p) - hr - h0) / 1e3, where)
                worst.add(f"{phase} entropy", "J/(kg K)", s(p) - sr - s0, where)
                worst.add(f"{phase} density", "%", 100.0 * (rho(p) * vr - 1.0), where)


def _vapour(worst: Worst, fluid: Fluid, data: dict[str, Any], ref: Reference) -> None:
    """Superheated states: pressures times superheats, closer together near the dew line."""
    h0, s0 = zero_shift(data, ref)
    superheats = SUPERHEAT_K * np.linspace(0.0, 1.0, SUPERHEATS) ** 2
    for p in _pressures(fluid, PRESSURES):
        dew = fluid.dew_k(p)
        for gap in superheats:
            h, s, v, cp = ref.vapour(dew + gap, p)
            where = f"{p / 1e5:.3f} bar, superheat {gap:.2f} K"
            _add_state(worst, "vapour", fluid.vapour(dew + gap, p), (h + h0, s + s0, v, cp), where)


def _liquid(worst: Worst, fluid: Fluid, data: dict[str, Any], ref: Reference) -> None:
    """Subcooled states: to 40 K below bubble, and on down to the coldest temperature served."""
    h0, s0 = zero_shift(data, ref)
    for p in _pressures(fluid, PRESSURES):
        bubble = fluid.bubble_k(p)
        depth = max(data["envelope"]["subcooling_k"], bubble - data["liquid"]["coldest_k"])
        for gap in depth * np.linspace(0.0, 1.0, SUBCOOLINGS) ** 2:
            h, s, v, cp = ref.liquid(bubble - gap, p)
            where = f"{p / 1e5:.3f} bar, subcooling {gap:.2f} K"
            _add_state(worst, "liquid", fluid.liquid(bubble - gap, p), (h + h0, s + s0, v, cp), where)


def _dome(worst: Worst, fluid: Fluid, inner: np.ndarray) -> None:
    """The glide curve at the solved inner points of a blend."""
    for y, z, temperature, volume, quality, *_ in inner:
        p = float(np.exp(y))
        if not fluid.p_min <= p <= fluid.p_max:
            continue
        where = f"{p / 1e5:.3f} bar, z {z:.3f}"
        low, high = fluid.bubble_k(p), fluid.dew_k(p)
        worst.add("wet temperature", "K", fluid.wet_k(p, z) - low - temperature * (high - low), where)
        v_low, v_high = 1.0 / fluid.rho_bubble(p), 1.0 / fluid.rho_dew(p)
        v = v_low + volume * (v_high - v_low)
        worst.add("wet density", "%", 100.0 * (fluid.wet_rho(p, z) * v - 1.0), where)
        worst.add("wet quality", "1", fluid.wet_quality(p, z) - quality, where)


def spread(data: dict[str, Any], entry: Entry) -> Errors:
    """How far other models and published points lie off; empty where there are none."""
    worst = Worst()
    for quantity, (percent, where) in entry.known_spread.items():
        worst.add(quantity, "%", percent, where)
    second = _second(entry)
    if second:
        _second_curves(worst, data, second)
        _second_states(worst, build(data), data, second)
    if entry.normal_k:
        _normal_points(worst, build(data), entry.normal_k)
    return worst.found


def _second(entry: Entry) -> Reference | None:
    """The other model of this refrigerant, or the same with its estimated pairs by their second rules."""
    if entry.second_model:
        model = "mixture" if entry.second_model == "mixture" else "pseudo-pure"
        return Reference(replace(entry, model=model))
    return Reference(entry, second_rules=True) if estimated(entry) else None


def _second_curves(worst: Worst, data: dict[str, Any], second: Reference) -> None:
    """Saturation of a second model, where both are served."""
    fluid = build(data)
    curves = saturation_fit.curves(second, 3.0)
    lowest, highest = data["envelope"]["min_k"], data["envelope"]["max_k"]
    for kind, temperatures, pressures, of_t, of_p in (
        ("bubble", curves.bubble_t, curves.bubble_p, fluid.bubble_pa, fluid.bubble_k),
        ("dew", curves.dew_t, curves.dew_p, fluid.dew_pa, fluid.dew_k),
    ):
        for t_k, p_pa in zip(temperatures, pressures, strict=True):
            if lowest <= t_k <= highest and fluid.p_min <= p_pa <= fluid.p_max:
                worst.add(f"{kind} pressure", "%", 100.0 * (p_pa / of_t(t_k) - 1.0), f"{t_k:.2f} K")
                worst.add(f"{kind} temperature", "K", of_p(p_pa) - t_k, f"{t_k:.2f} K")


def _normal_points(worst: Worst, fluid: Fluid, normal_k: tuple[float, float]) -> None:
    """Published bubble and dew points at atmospheric pressure (to 0.1 K or 0.01 K), if that is served."""
    if not fluid.p_min <= ATMOSPHERE_PA <= fluid.p_max:
        return
    where = "101.325 kPa, as published"
    for kind, of_p, of_t, t_k in (
        ("bubble", fluid.bubble_k, fluid.bubble_pa, normal_k[0]),
        ("dew", fluid.dew_k, fluid.dew_pa, normal_k[1]),
    ):
        worst.add(f"normal {kind} point", "K", t_k - of_p(ATMOSPHERE_PA), where)
        worst.add(f"normal {kind} pressure", "%", 100.0 * (ATMOSPHERE_PA / of_t(t_k) - 1.0), where)


def _second_states(worst: Worst, fluid: Fluid, data: dict[str, Any], second: Reference) -> None:
    """Single-phase states of a second model, on a coarse grid that keeps 1 K off saturation."""
    h0, s0 = zero_shift(data, second)
    for p in _pressures(fluid, 25):
        dew, bubble = fluid.dew_k(p), fluid.bubble_k(p)
        for gap in (1.0, 5.0, 20.0, 60.0, SUPERHEAT_K):
            h, s, v, cp = second.vapour(dew + gap, p)
            where = f"{p / 1e5:.3f} bar, superheat {gap:.0f} K"
            _add_state(worst, "vapour", (h + h0, s + s0, v, cp), fluid.vapour(dew + gap, p), where)
        for gap in (1.0, 5.0, 20.0, data["envelope"]["subcooling_k"]):
            h, s, v, cp = second.liquid(bubble - gap, p)
            where = f"{p / 1e5:.3f} bar, subcooling {gap:.0f} K"
            _add_state(worst, "liquid", (h + h0, s + s0, v, cp), fluid.liquid(bubble - gap, p), where)
