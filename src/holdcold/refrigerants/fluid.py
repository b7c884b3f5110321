"""A refrigerant's functions, put together from its data file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from holdcold.refrigerants import dome, liquid, saturation, search, states, tables, vapour
from holdcold.refrigerants.info import FluidInfo, State
from holdcold.refrigerants.read import read_info
from holdcold.refrigerants.vapour import Properties

Curve = Callable[[float], float]
Pair = Callable[[float, float], float]


@dataclass(frozen=True, slots=True)
class Fluid:
    """One refrigerant, ready to use. SI units, absolute pressures, IIR zero of h and s.

    Every attribute but ``info``, ``p_min`` and ``p_max`` is a function (a closure with its coefficients
    bound, which is what makes it fast). All raise ``EnvelopeError`` outside the envelope.

    - info: facts, envelope and measured fit error (``FluidInfo``). p_min, p_max: usable pressures [Pa],
      from the dew pressure at the envelope's lowest to the bubble pressure at its highest temperature.
    - bubble_pa(t_k), dew_pa(t_k): saturation pressure [Pa]; bubble_k(p_pa), dew_k(p_pa): their inverse [K].
    - h_bubble(p_pa), h_dew(p_pa) [J/kg]; s_bubble, s_dew [J/(kg K)]; rho_bubble, rho_dew [kg/m3].
    - vapour(t_k, p_pa), liquid(t_k, p_pa): (h [J/kg], s [J/(kg K)], v [m3/kg], cp [J/(kg K)]), each the
      exact derivatives of one Gibbs function.
    - vapour_k_ph(p_pa, h), liquid_k_ph(p_pa, h): temperature [K]; vapour_h_ps(p_pa, s): enthalpy [J/kg].
    - wet_k(p_pa, z) [K], wet_rho(p_pa, z) [kg/m3], wet_quality(p_pa, z): between bubble (z = 0) and dew
      (z = 1), z the enthalpy fraction; density is that of the homogeneous mixture.
    - state_ph(p_pa, h), state_pt(p_pa, t_k): the whole ``State``. For a pure fluid exactly at saturation
      ``state_pt`` answers vapour.
    """

    info: FluidInfo
    p_min: float
    p_max: float
    bubble_pa: Curve
    dew_pa: Curve
    bubble_k: Curve
    dew_k: Curve
    h_bubble: Curve
    h_dew: Curve
    s_bubble: Curve
    s_dew: Curve
    rho_bubble: Curve
    rho_dew: Curve
    vapour: Properties
    liquid: Properties
    vapour_k_ph: Pair
    liquid_k_ph: Pair
    vapour_h_ps: Pair
    wet_k: Pair
    wet_rho: Pair
    wet_quality: Pair
    state_ph: Callable[[float, float], State]
    state_pt: Callable[[float, float], State]


def build(data: dict[str, Any]) -> Fluid:
    """Put a refrigerant together from its data file's content.

    data: the content, as ``read.read_file`` gives it.
    """
    info = read_info(data)
    name, reach = info.name, info.envelope
    p_min, p_max = data["p_min"], data["p_max"]
    bubble = saturation.build(name, "bubble", data["bubble"], p_min, p_max)
    dew = saturation.build(name, "dew", data["dew"], p_min, p_max)
    gas = vapour.build(name, data["vapour"], dew, reach.superheat_k)
    wet = liquid.build(name, data["liquid"], bubble, reach.subcooling_k)
    sat = tables.saturated(name, p_min, p_max, bubble, dew, gas, wet)
    inner = dome.build(name, data["dome"], bubble, dew, sat)
    finders = search.build(name, data, dew, bubble, gas, wet, sat)
    whole = states.build(name, bubble, dew, gas, wet, sat, inner, finders)
    return Fluid(
        info, p_min, p_max,
        bubble.pressure_pa, dew.pressure_pa, bubble.temperature_k, dew.temperature_k,
        sat.h_bubble, sat.h_dew, sat.s_bubble, sat.s_dew, sat.rho_bubble, sat.rho_dew,
        gas.properties, wet.properties,
        finders.vapour_k_ph, finders.liquid_k_ph, finders.vapour_h_ps,
        inner.temperature_k, inner.density, inner.quality, whole.state_ph, whole.state_pt,
    )  # fmt: skip
