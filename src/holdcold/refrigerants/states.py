"""Whole states: which phase, and everything that is known of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from holdcold.errors import EnvelopeError
from holdcold.refrigerants.dome import Dome
from holdcold.refrigerants.info import State
from holdcold.refrigerants.liquid import Liquid
from holdcold.refrigerants.saturation import Saturation
from holdcold.refrigerants.search import Finders
from holdcold.refrigerants.tables import Saturated
from holdcold.refrigerants.vapour import Vapour

Whole = Callable[[float, float], State]


@dataclass(frozen=True, slots=True)
class States:
    """state_ph(p_pa, h_j_kg) and state_pt(p_pa, t_k)."""

    state_ph: Whole
    state_pt: Whole


@dataclass(frozen=True, slots=True)
class _Parts:
    """The functions of one fluid that whole states are made of."""

    fluid: str
    bubble: Saturation
    dew: Saturation
    gas: Vapour
    wet: Liquid
    sat: Saturated
    inner: Dome
    finders: Finders


def build(
    fluid: str,
    bubble: Saturation,
    dew: Saturation,
    gas: Vapour,
    wet: Liquid,
    sat: Saturated,
    inner: Dome,
    finders: Finders,
) -> States:
    """Make the whole-state functions of one fluid.

    fluid: name for messages.
    """
    parts = _Parts(fluid, bubble, dew, gas, wet, sat, inner, finders)
    return States(_state_ph(parts), _state_pt(parts))


def _liquid_state(parts: _Parts, p_pa: float, t_k: float) -> State:
    """A subcooled state."""
    h, s, v, _ = parts.wet.properties(t_k, p_pa)
    gap = max(0.0, parts.bubble.temperature_k(p_pa) - t_k)
    return State("liquid", t_k, p_pa, h, s, 1.0 / v, None, gap, None)


def _vapour_state(parts: _Parts, p_pa: float, t_k: float) -> State:
    """A superheated state."""
    h, s, v, _ = parts.gas.properties(t_k, p_pa)
    gap = max(0.0, t_k - parts.dew.temperature_k(p_pa))
    return State("vapour", t_k, p_pa, h, s, 1.0 / v, gap, None, None)


def _wet_state(parts: _Parts, p_pa: float, z: float, h_j_kg: float) -> State:
    """A state between bubble and dew.

    Along the isobar ds = dh / T, so the entropy is shared out by Simpson's rule over 1 / T up to z,
    scaled to end at the dew value.
    """
    share = parts.inner.glide_share
    low = parts.bubble.temperature_k(p_pa)
    glide = parts.dew.temperature_k(p_pa) - low
    t_k = low + glide * share(p_pa, z)
    part = z * (1.0 / low + 4.0 / (low + glide * share(p_pa, 0.5 * z)) + 1.0 / t_k)
    whole = 1.0 / low + 4.0 / (low + glide * share(p_pa, 0.5)) + 1.0 / (low + glide)
    s_low = parts.sat.s_bubble(p_pa)
    s = s_low + (parts.sat.s_dew(p_pa) - s_low) * part / whole
    rho, quality = parts.inner.density(p_pa, z), parts.inner.quality(p_pa, z)
    return State("wet", t_k, p_pa, h_j_kg, s, rho, None, None, quality)


def _state_ph(parts: _Parts) -> Whole:
    """Closure (p, h) -> State."""
    h_bubble, h_dew = parts.sat.h_bubble, parts.sat.h_dew
    vapour_k_ph, liquid_k_ph = parts.finders.vapour_k_ph, parts.finders.liquid_k_ph

    def state_ph(p_pa: float, h_j_kg: float) -> State:
        """The state with enthalpy ``h_j_kg`` [J/kg] at ``p_pa`` [Pa]."""
        low, high = h_bubble(p_pa), h_dew(p_pa)
        if h_j_kg > high:
            return _vapour_state(parts, p_pa, vapour_k_ph(p_pa, h_j_kg))
        if h_j_kg < low:
            return _liquid_state(parts, p_pa, liquid_k_ph(p_pa, h_j_kg))
        z = (h_j_kg - low) / (high - low)
        if not 0.0 <= z <= 1.0:
            raise EnvelopeError(f"{parts.fluid} enthalpy", h_j_kg, "a number [J/kg]", "Give a finite value.")
        return _wet_state(parts, p_pa, z, h_j_kg)

    return state_ph


def _state_pt(parts: _Parts) -> Whole:
    """Closure (p, T) -> State."""

    def state_pt(p_pa: float, t_k: float) -> State:
        """The state at ``p_pa`` [Pa] and ``t_k`` [K]; wet only where a blend glides between the two."""
        low, high = parts.bubble.temperature_k(p_pa), parts.dew.temperature_k(p_pa)
        if low < t_k < high:
            z = _fraction_at(parts, p_pa, t_k)
            h_low, h_high = parts.sat.h_bubble(p_pa), parts.sat.h_dew(p_pa)
            return _wet_state(parts, p_pa, z, h_low + z * (h_high - h_low))
        if t_k <= low and t_k < high:
            return _liquid_state(parts, p_pa, t_k)
        return _vapour_state(parts, p_pa, t_k)

    return state_pt


def _fraction_at(parts: _Parts, p_pa: float, t_k: float) -> float:
    """Enthalpy fraction at which the glide passes ``t_k``, by halving (the curve rises with z)."""
    below, above = 0.0, 1.0
    for _ in range(50):
        middle = 0.5 * (below + above)
        if parts.inner.temperature_k(p_pa, middle) < t_k:
            below = middle
        else:
            above = middle
    return 0.5 * (below + above)
