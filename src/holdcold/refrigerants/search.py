"""Temperature from enthalpy or entropy along an isobar: starts, range checks and Newton's method.

Every search first compares its target with what the envelope holds at that pressure, so that Newton's
method only ever works where the surfaces were fitted.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from holdcold.errors import EnvelopeError
from holdcold.refrigerants.liquid import Liquid
from holdcold.refrigerants.saturation import Curve, Saturation
from holdcold.refrigerants.tables import Saturated, curve, nodes
from holdcold.refrigerants.vapour import SLACK_K, Search, Vapour

Pair = Callable[[float, float], float]


@dataclass(frozen=True, slots=True)
class Finders:
    """vapour_k_ph(p, h) and liquid_k_ph(p, h) -> T [K]; vapour_h_ps(p, s) -> h [J/kg]."""

    vapour_k_ph: Pair
    liquid_k_ph: Pair
    vapour_h_ps: Pair


def build(
    fluid: str,
    data: dict[str, Any],
    dew: Saturation,
    bubble: Saturation,
    gas: Vapour,
    wet: Liquid,
    sat: Saturated,
) -> Finders:
    """Make the searches of one fluid.

    fluid: name for messages. data: content of the data file.
    """
    pressures = nodes(data["p_min"], data["p_max"])
    top = data["envelope"]["superheat_k"]
    hottest = [gas.properties(dew.temperature_k(p) + top, p) for p in pressures]

    def along(index: int) -> Curve:
        return curve(fluid, data["p_min"], data["p_max"], [each[index] for each in hottest])

    section = data["vapour"]
    by_h = _started(fluid, "enthalpy", gas.temperature_ph, sat.h_dew, along(0), dew, section["w_start_h"])
    by_s = _started(fluid, "entropy", gas.temperature_ps, sat.s_dew, along(1), dew, section["w_start_s"])
    properties = gas.properties

    def vapour_h_ps(p_pa: float, s_j_kgk: float) -> float:
        """Enthalpy [J/kg] of vapour of entropy ``s_j_kgk`` at ``p_pa`` [Pa]."""
        return properties(by_s(p_pa, s_j_kgk), p_pa)[0]

    return Finders(by_h, _liquid(fluid, data, bubble, wet, sat.h_bubble), vapour_h_ps)


def _outside(fluid: str, what: str, phase: str, value: float, low: float, high: float) -> EnvelopeError:
    """The error for a target that no state of the phase has at this pressure."""
    unit = "J/kg" if what == "enthalpy" else "J/(kg K)"
    advice = f"At this pressure {phase} inside the envelope has no other {what}; nothing is extrapolated."
    return EnvelopeError(f"{fluid} {phase} {what}", value, f"{low:.6g} to {high:.6g} {unit}", advice)


def _started(
    fluid: str,
    what: str,
    search: Search,
    at_dew: Curve,
    at_top: Curve,
    dew: Saturation,
    starts: list[list[float]],
) -> Pair:
    """Give a vapour search its range check and its starting superheat.

    The start is a polynomial in u (the distance of the target from its dew value) and ln p, good to a
    few tenths of a kelvin.
    """
    (a0, a1, a2), (b0, b1, b2), (c0, c1, c2), (d0, d1, d2) = starts
    centre, scale, log = dew.centre, dew.scale, math.log

    def found(p_pa: float, target: float) -> float:
        """Temperature [K] of vapour with the enthalpy or entropy ``target`` at ``p_pa`` [Pa]."""
        low, high = at_dew(p_pa), at_top(p_pa)
        u = target - low
        span = high - low
        if not -1e-3 * span <= u <= 1.001 * span:
            raise _outside(fluid, what, "vapour", target, low, high)
        y = (log(p_pa) - centre) * scale
        start = u * (
            a0 + y * (a1 + y * a2)
            + u * (b0 + y * (b1 + y * b2)
            + u * (c0 + y * (c1 + y * c2)
            + u * (d0 + y * (d1 + y * d2))))
        )  # fmt: skip
        return search(p_pa, target, start)

    return found


def _liquid(fluid: str, data: dict[str, Any], bubble: Saturation, wet: Liquid, at_bubble: Curve) -> Pair:
    """Give the liquid search its range check."""
    deepest_k = bubble.temperature_k(data["p_min"]) - data["envelope"]["subcooling_k"]
    lowest = wet.properties(deepest_k + SLACK_K, data["p_min"])[0]
    search = wet.temperature_ph

    def found(p_pa: float, h_j_kg: float) -> float:
        """Temperature [K] of liquid with enthalpy ``h_j_kg`` at ``p_pa`` [Pa]."""
        high = at_bubble(p_pa)
        if not lowest - 1e3 <= h_j_kg <= high + 5e2:
            raise _outside(fluid, "enthalpy", "liquid", h_j_kg, lowest, high)
        return search(p_pa, h_j_kg)

    return found
