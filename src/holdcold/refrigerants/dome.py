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

Share = Callable[[float, float], float]


@dataclass(frozen=True, slots=True)
class Dome:
    """Shares of the way from bubble to dew, each a closure of (p_pa, z), z from 0 to 1."""

    temperature: Share
    volume: Share
    quality: Share


def build(fluid: str, data: dict[str, Any]) -> Dome:
    """Make the three shares of one fluid from its section of the data file."""
    centre, scale = data["y_centre"], data["y_scale"]
    return Dome(*(_share(fluid, data[key], centre, scale) for key in ("temperature", "volume", "quality")))


def fraction_outside(fluid: str, z: float) -> EnvelopeError:
    """The error for an enthalpy fraction outside the dome."""
    advice = "The fraction runs from 0 at the bubble point to 1 at the dew point."
    return EnvelopeError(f"{fluid} enthalpy fraction", z, "0 to 1", advice)


def _share(fluid: str, table: list[list[float]], centre: float, scale: float) -> Share:
    """Closure (p, z) -> share; an empty table means the straight line of a pure fluid."""

    def straight(_p_pa: float, z: float) -> float:
        """Linear share."""
        if not -1e-9 <= z <= 1.0 + 1e-9:
            raise fraction_outside(fluid, z)
        return z

    if not table:
        return straight
    (a0, a1, a2, a3), (b0, b1, b2, b3), (c0, c1, c2, c3), (d0, d1, d2, d3) = table

    def curved(p_pa: float, z: float) -> float:
        """Share with the stored bow: cubic in z whose coefficients are cubic in ln p."""
        if not -1e-9 <= z <= 1.0 + 1e-9:
            raise fraction_outside(fluid, z)
        y = (math.log(p_pa) - centre) * scale
        bow = (
            a0 + y * (a1 + y * (a2 + y * a3))
            + z * (b0 + y * (b1 + y * (b2 + y * b3))
            + z * (c0 + y * (c1 + y * (c2 + y * c3))
            + z * (d0 + y * (d1 + y * (d2 + y * d3)))))
        )  # fmt: skip
        return z + z * (1.0 - z) * bow

    return curved
