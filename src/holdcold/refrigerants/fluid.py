"""A refrigerant's functions, put together from its data file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from holdcold.errors import EnvelopeError
from holdcold.refrigerants import dome, liquid, saturation, tables, vapour
from holdcold.refrigerants.info import FluidInfo, State
from holdcold.refrigerants.read import read_info

Curve = Callable[[float], float]
Pair = Callable[[float, float], float]


@dataclass(frozen=True, slots=True)
class Fluid:
    """One refrigerant, ready to use. SI units, absolute pressures, IIR zero of h and s.

    Every attribute but ``info``, ``p_min`` and ``p_max`` is a function (a closure with its coefficients
    bound, which is what makes it fast). All raise ``EnvelopeError`` outside the envelope.

    - info: facts, envelope and measured fit error (``FluidInfo``). p_min, p_max: usable pressures [Pa].
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
    vapour: vapour.Properties
    liquid: liquid.Properties
    vapour_k_ph: Pair
    liquid_k_ph: Pair
    vapour_h_ps: Pair
    wet_k: Pair
    wet_rho: Pair
    wet_quality: Pair
    state_ph: Callable[[float, float], State]
    state_pt: Callable[[float, float], State]


@dataclass(frozen=True, slots=True)
class _Saturated:
    """The six saturated curves."""

    h_bubble: Curve
    h_dew: Curve
    s_bubble: Curve
    s_dew: Curve
    rho_bubble: Curve
    rho_dew: Curve


def build(data: dict[str, Any]) -> Fluid:
    """Put a refrigerant together from its data file's content."""
    info = read_info(data)
    name, reach = info.name, info.envelope
    p_min, p_max = data["p_min"], data["p_max"]
    bubble = saturation.build(name, "bubble", data["bubble"], p_min, p_max)
    dew = saturation.build(name, "dew", data["dew"], p_min, p_max)
    gas = vapour.build(name, data["vapour"], dew, reach.superheat_k)
    wet = liquid.build(name, data["liquid"], bubble, reach.subcooling_k)
    sat = _saturated(name, p_min, p_max, bubble, dew, gas, wet)
    inner = dome.build(name, data["dome"])
    wet_k = _wet_temperature(bubble, dew, inner)
    wet_rho = _wet_density(sat, inner)
    k_ph = _searched(gas.temperature_ph, sat.h_dew, dew, data["vapour"]["w_start_h"])
    h_ps = _searched(gas.enthalpy_ps, sat.s_dew, dew, data["vapour"]["w_start_s"])
    core = _Core(info, bubble, dew, gas, wet, sat, inner, wet_k, wet_rho, k_ph)
    return Fluid(
        info, p_min, p_max,
        bubble.pressure_pa, dew.pressure_pa, bubble.temperature_k, dew.temperature_k,
        sat.h_bubble, sat.h_dew, sat.s_bubble, sat.s_dew, sat.rho_bubble, sat.rho_dew,
        gas.properties, wet.properties, k_ph, wet.temperature_ph, h_ps,
        wet_k, wet_rho, inner.quality, _state_ph(core), _state_pt(core),
    )  # fmt: skip


def _saturated(
    name: str,
    p_min: float,
    p_max: float,
    bubble: saturation.Saturation,
    dew: saturation.Saturation,
    gas: vapour.Vapour,
    wet: liquid.Liquid,
) -> _Saturated:
    """Tabulate the saturated states from the Gibbs functions."""
    pressures = tables.nodes(p_min, p_max)
    low = [wet.properties(bubble.temperature_k(p), p) for p in pressures]
    high = [gas.properties(dew.temperature_k(p), p) for p in pressures]

    def along(values: list[float]) -> Curve:
        return tables.curve(name, p_min, p_max, values)

    return _Saturated(
        along([each[0] for each in low]), along([each[0] for each in high]),
        along([each[1] for each in low]), along([each[1] for each in high]),
        along([1.0 / each[2] for each in low]), along([1.0 / each[2] for each in high]),
    )  # fmt: skip


def _searched(
    search: Callable[[float, float, float], float], at_dew: Curve, dew: saturation.Saturation, starts: list[list[float]]
) -> Pair:
    """Give a search along an isobar its starting superheat, a polynomial in ln p and (value - dew value)."""
    (a0, a1, a2), (b0, b1, b2), (c0, c1, c2), (d0, d1, d2) = starts
    centre, scale = dew.centre, dew.scale
    from math import log

    def found(p_pa: float, target: float) -> float:
        """The value the search finds for ``target`` (h [J/kg] or s [J/(kg K)]) at ``p_pa`` [Pa]."""
        u = target - at_dew(p_pa)
        y = (log(p_pa) - centre) * scale
        start = u * (
            a0 + y * (a1 + y * a2)
            + u * (b0 + y * (b1 + y * b2)
            + u * (c0 + y * (c1 + y * c2)
            + u * (d0 + y * (d1 + y * d2))))
        )  # fmt: skip
        return search(p_pa, target, start)

    return found


def _wet_temperature(bubble: saturation.Saturation, dew: saturation.Saturation, inner: dome.Dome) -> Pair:
    """Closure (p, z) -> T [K] in the dome."""
    bubble_k, dew_k, share = bubble.temperature_k, dew.temperature_k, inner.temperature

    def wet_k(p_pa: float, z: float) -> float:
        """Temperature [K] at enthalpy fraction ``z`` between bubble and dew at ``p_pa`` [Pa]."""
        low = bubble_k(p_pa)
        return low + (dew_k(p_pa) - low) * share(p_pa, z)

    return wet_k


def _wet_density(sat: _Saturated, inner: dome.Dome) -> Pair:
    """Closure (p, z) -> homogeneous density [kg/m3] in the dome."""
    rho_bubble, rho_dew, share = sat.rho_bubble, sat.rho_dew, inner.volume

    def wet_rho(p_pa: float, z: float) -> float:
        """Homogeneous density [kg/m3] at enthalpy fraction ``z`` at ``p_pa`` [Pa]."""
        low = 1.0 / rho_bubble(p_pa)
        return 1.0 / (low + (1.0 / rho_dew(p_pa) - low) * share(p_pa, z))

    return wet_rho


@dataclass(frozen=True, slots=True)
class _Core:
    """What the whole-state functions need."""

    info: FluidInfo
    bubble: saturation.Saturation
    dew: saturation.Saturation
    gas: vapour.Vapour
    wet: liquid.Liquid
    sat: _Saturated
    inner: dome.Dome
    wet_k: Pair
    wet_rho: Pair
    vapour_k_ph: Pair


def _liquid_state(core: _Core, p_pa: float, t_k: float) -> State:
    """A subcooled state."""
    h, s, v, _ = core.wet.properties(t_k, p_pa)
    gap = core.bubble.temperature_k(p_pa) - t_k
    return State("liquid", t_k, p_pa, h, s, 1.0 / v, None, gap, None)


def _vapour_state(core: _Core, p_pa: float, t_k: float) -> State:
    """A superheated state."""
    h, s, v, _ = core.gas.properties(t_k, p_pa)
    gap = t_k - core.dew.temperature_k(p_pa)
    return State("vapour", t_k, p_pa, h, s, 1.0 / v, gap, None, None)


def _wet_state(core: _Core, p_pa: float, z: float, h_j_kg: float) -> State:
    """A state between bubble and dew.

    Along the isobar ds = dh / T, so the entropy is shared out by Simpson's rule over 1 / T up to z,
    scaled to end at the dew value.
    """
    t_k = core.wet_k(p_pa, z)
    s_low, s_high = core.sat.s_bubble(p_pa), core.sat.s_dew(p_pa)
    low, high = core.bubble.temperature_k(p_pa), core.dew.temperature_k(p_pa)
    part = z * (1.0 / low + 4.0 / core.wet_k(p_pa, 0.5 * z) + 1.0 / t_k)
    whole = 1.0 / low + 4.0 / core.wet_k(p_pa, 0.5) + 1.0 / high
    s = s_low + (s_high - s_low) * part / whole
    return State("wet", t_k, p_pa, h_j_kg, s, core.wet_rho(p_pa, z), None, None, core.inner.quality(p_pa, z))


def _state_ph(core: _Core) -> Callable[[float, float], State]:
    """Closure (p, h) -> State."""
    h_bubble, h_dew = core.sat.h_bubble, core.sat.h_dew
    vapour_k_ph, liquid_k_ph = core.vapour_k_ph, core.wet.temperature_ph

    def state_ph(p_pa: float, h_j_kg: float) -> State:
        """The state with enthalpy ``h_j_kg`` [J/kg] at ``p_pa`` [Pa]."""
        low, high = h_bubble(p_pa), h_dew(p_pa)
        if h_j_kg > high:
            return _vapour_state(core, p_pa, vapour_k_ph(p_pa, h_j_kg))
        if h_j_kg < low:
            return _liquid_state(core, p_pa, liquid_k_ph(p_pa, h_j_kg))
        if h_j_kg != h_j_kg:
            raise EnvelopeError(f"{core.info.name} enthalpy", h_j_kg, "a number [J/kg]", "Give a finite value.")
        return _wet_state(core, p_pa, (h_j_kg - low) / (high - low), h_j_kg)

    return state_ph


def _state_pt(core: _Core) -> Callable[[float, float], State]:
    """Closure (p, T) -> State."""

    def state_pt(p_pa: float, t_k: float) -> State:
        """The state at ``p_pa`` [Pa] and ``t_k`` [K]; wet only where a blend glides between the two."""
        low, high = core.bubble.temperature_k(p_pa), core.dew.temperature_k(p_pa)
        if low < t_k < high:
            z = _fraction_at(core, p_pa, t_k)
            h_low, h_high = core.sat.h_bubble(p_pa), core.sat.h_dew(p_pa)
            return _wet_state(core, p_pa, z, h_low + z * (h_high - h_low))
        if t_k <= low and t_k < high:
            return _liquid_state(core, p_pa, t_k)
        return _vapour_state(core, p_pa, t_k)

    return state_pt


def _fraction_at(core: _Core, p_pa: float, t_k: float) -> float:
    """Enthalpy fraction at which the glide passes ``t_k``, by halving (the curve rises with z)."""
    below, above = 0.0, 1.0
    for _ in range(50):
        middle = 0.5 * (below + above)
        if core.wet_k(p_pa, middle) < t_k:
            below = middle
        else:
            above = middle
    return 0.5 * (below + above)
