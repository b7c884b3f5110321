"""Expansion devices: what flows through a thermostatic valve or a capillary tube."""

from __future__ import annotations

from math import exp, log1p, sqrt

_SOFTNESS = 0.05
_BLEED = 0.015
_CAPILLARY_PER_K = 0.02


def valve_opening(superheat_k: float, closed_k: float, ramp_k: float) -> float:
    """Return the opening (0.015 to 1) of a thermostatic valve.

    superheat_k: superheat its bulb feels (difference) [K]; closed_k: where it begins to open;
    ramp_k: how much more opens it fully (about 4 K; engine notes, from memory of valve makers'
    static and opening superheat). The ends are rounded so that derivatives stay finite; the bleed
    stands for seat leakage (common practice, no source).
    """
    u = (superheat_k - closed_k) / (ramp_k * _SOFTNESS)
    return _BLEED + (1.0 - _BLEED) * _SOFTNESS * (_softplus(u) - _softplus(u - 1.0 / _SOFTNESS))


def _softplus(u: float) -> float:
    return u + log1p(exp(-u)) if u > 0.0 else log1p(exp(u))


def orifice_flow(area_m2: float, density: float, drop_pa: float) -> float:
    """Return the mass flow [kg/s] of ``area_m2`` (coefficient included) at a pressure drop [Pa].

    density: of what enters, liquid and flash gas as one homogeneous stream [kg/m3].
    drop_pa: above zero. Source: Bernoulli's orifice equation; homogeneous inlet density
    (Whalley 1987, Boiling, Condensation and Gas-Liquid Flow, chapter 4; from memory).
    """
    return area_m2 * sqrt(2.0 * density * drop_pa)


def capillary_flow(area_m2: float, density: float, inlet_pa: float, subcooling_k: float) -> float:
    """Return the choked flow [kg/s] of a capillary tube, whatever the pressure behind it.

    area_m2: flow coefficient. inlet_pa: pressure at the inlet [Pa]; density there [kg/m3];
    subcooling_k: how far below bubble the liquid is (>= 0).
    The form (square root of pressure times density, about 2 % more flow per kelvin of subcooling) is
    from memory of the ASHRAE capillary charts; the size comes from the unit's own rating.
    """
    return area_m2 * sqrt(2.0 * density * inlet_pa) * (1.0 + _CAPILLARY_PER_K * subcooling_k)
