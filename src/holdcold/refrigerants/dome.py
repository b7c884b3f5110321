"""Between bubble and dew at one pressure: temperature, volume, entropy and quality against enthalpy.

z = (h - h_bubble) / (h_dew - h_bubble) runs from 0 to 1. For a pure fluid everything is linear in z. In a
blend with glide it is not: the stored curve of each quantity is

    share(z) = z + z (1 - z) P(z, ln p)

of the way from its bubble to its dew value, P a small polynomial, so the ends are exact by construction.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from holdcold.errors import EnvelopeError
from holdcold.refrigerants.saturation import Curve, Saturation
from holdcold.refrigerants.tables import Saturated

Pair = Callable[[float, float], float]


@dataclass(frozen=True, slots=True)
class Dome:
    """Closures of (p_pa, z), z from 0 to 1: temperature_k [K], density [kg/m3], quality (mass fraction).

    glide_share is the temperature's share of the way from bubble to dew.
    """

    temperature_k: Pair
    glide_share: Pair
    density: Pair
    quality: Pair


def build(fluid: str, data: dict[str, Any], bubble: Saturation, dew: Saturation, sat: Saturated) -> Dome:
    """Make the curves of one fluid from its section of the data file.

    fluid: name for messages. data: the section.
    """
    centre, scale = data["y_centre"], data["y_scale"]
    temperature = _share(fluid, data["temperature"], centre, scale)
    volume = _share(fluid, data["volume"], centre, scale)
    return Dome(
        _between(bubble.temperature_k, dew.temperature_k, temperature),
        temperature,
        _density(sat.rho_bubble, sat.rho_dew, volume),
        _share(fluid, data["quality"], centre, scale),
    )


def _between(at_bubble: Curve, at_dew: Curve, share: Pair) -> Pair:
    """Closure (p, z) -> temperature."""

    def wet_k(p_pa: float, z: float) -> float:
        """Temperature [K] at enthalpy fraction ``z`` between bubble and dew at ``p_pa`` [Pa]."""
        low = at_bubble(p_pa)
        return low + (at_dew(p_pa) - low) * share(p_pa, z)

    return wet_k


def _density(at_bubble: Curve, at_dew: Curve, share: Pair) -> Pair:
    """Closure (p, z) -> homogeneous density, from the share of the specific volume."""

    def wet_rho(p_pa: float, z: float) -> float:
        """Homogeneous density [kg/m3] at enthalpy fraction ``z`` at ``p_pa`` [Pa]."""
        low = 1.0 / at_bubble(p_pa)
        return 1.0 / (low + (1.0 / at_dew(p_pa) - low) * share(p_pa, z))

    return wet_rho


def fraction_outside(fluid: str, z: float) -> EnvelopeError:
    """Return the error for an enthalpy fraction outside the dome.

    fluid: name for messages. z: the fraction as given.
    """
    advice = "The fraction runs from 0 at the bubble point to 1 at the dew point."
    return EnvelopeError(f"{fluid} enthalpy fraction", z, "0 to 1", advice)


def _share(fluid: str, table: list[list[float]], centre: float, scale: float) -> Pair:
    """Closure (p, z) -> share; an empty table means the straight line of a pure fluid."""

    def straight(_p_pa: float, z: float) -> float:
        """Linear share."""
        if not -1e-9 <= z <= 1.0 + 1e-9:
            raise fraction_outside(fluid, z)
        return z

    if not table:
        return straight
    (a0, a1, a2, a3, a4), (b0, b1, b2, b3, b4), (c0, c1, c2, c3, c4), (d0, d1, d2, d3, d4), last = table
    e0, e1, e2, e3, e4 = last
    log = math.log

    def curved(p_pa: float, z: float) -> float:
        """Share with the stored bow: quartic in z whose coefficients are quartic in ln p."""
        if not -1e-9 <= z <= 1.0 + 1e-9:
            raise fraction_outside(fluid, z)
        y = (log(p_pa) - centre) * scale
        bow = (
            a0 + y * (a1 + y * (a2 + y * (a3 + y * a4)))
            + z * (b0 + y * (b1 + y * (b2 + y * (b3 + y * b4)))
            + z * (c0 + y * (c1 + y * (c2 + y * (c3 + y * c4)))
            + z * (d0 + y * (d1 + y * (d2 + y * (d3 + y * d4)))
            + z * (e0 + y * (e1 + y * (e2 + y * (e3 + y * e4)))))))
        )  # fmt: skip
        return z + z * (1.0 - z) * bow

    return curved
