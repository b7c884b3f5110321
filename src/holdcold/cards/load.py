"""Heat that gets into a box on a design day, for sizing a machine nobody knows the size of.

Lines of the sum: transmission (U A dT), air change by the average method (the fit to the textbook
table in ``air_changes_per_day``) times 1.75 for the heavy use of shops and kitchens (1.5 to 2, from
memory), product, and lights, people and fans as a share of those. A practice estimate: good to about
a third.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from holdcold.quantities.constants import BTU_J, CUBIC_FOOT_M3, FOOT_M, RANKINE_K

_R_VALUE_SI: Final = FOOT_M**2 * RANKINE_K * 3600.0 / BTU_J
"""One h ft2 F/Btu in m2 K/W."""

_ICE_POINT_K: Final = 273.15
_DAY_S: Final = 86_400.0
_AIR_J_KGK: Final = 1006.0
_HUMIDITY_OUT: Final = 0.5
_HUMIDITY_IN: Final = 0.85
_PRODUCT_J_M3_DAY: Final = {True: 15.0 * BTU_J / CUBIC_FOOT_M3, False: 8.0 * BTU_J / CUBIC_FOOT_M3}
_USAGE: Final = 1.75
_INSIDE_SHARE: Final = 0.35
_SAFETY: Final = 1.10


@dataclass(frozen=True, slots=True)
class BoxLoad:
    """Mean heat flows into a box over a design day [W]."""

    transmission_w: float
    air_w: float
    product_w: float
    inside_w: float

    @property
    def total_w(self) -> float:
        """All of it with a tenth on top (ASHRAE's usual margin, from memory) [W]."""
        return _SAFETY * (self.transmission_w + self.air_w + self.product_w + self.inside_w)


def vapour_pressure_pa(t_k: float) -> float:
    """Return the saturation pressure of water over ice or liquid [Pa], 180 to 330 K.

    Source: Murphy and Koop (2005), Quarterly Journal of the Royal Meteorological Society 131,
    equations 7 (ice) and 10 (liquid).
    """
    if t_k < _ICE_POINT_K:
        return math.exp(9.550426 - 5723.265 / t_k + 3.53068 * math.log(t_k) - 0.00728332 * t_k)
    base = 54.842763 - 6763.22 / t_k - 4.210 * math.log(t_k) + 0.000367 * t_k
    bend = 53.878 - 1331.22 / t_k - 9.44523 * math.log(t_k) + 0.014025 * t_k
    return math.exp(base + math.tanh(0.0415 * (t_k - 218.8)) * bend)


def moist_air(t_k: float, humidity: float, pressure_pa: float) -> tuple[float, float]:
    """Return (enthalpy [J per kg dry air], density [kg/m3]) of moist air.

    t_k: dry bulb [K]. humidity: relative, 0 to 1. pressure_pa: ambient pressure [Pa].
    Source: ideal-gas moist air, ASHRAE Handbook Fundamentals, psychrometrics (from memory).
    """
    vapour_pa = humidity * vapour_pressure_pa(t_k)
    ratio = 0.621945 * vapour_pa / (pressure_pa - vapour_pa)
    celsius = t_k - _ICE_POINT_K
    enthalpy = 1e3 * (1.006 * celsius + ratio * (2501.0 + 1.86 * celsius))
    return enthalpy, (pressure_pa - 0.378 * vapour_pa) / (287.055 * t_k)


def air_changes_per_day(volume_m3: float, box_k: float) -> float:
    """Return how often door use changes the air of a box in 24 h.

    Source: average air-change method; 817.5 V^-0.5551 at or above 32 F and 596.21 V^-0.548 below, V
    in ft3: an open-source fit to the textbook table.
    """
    volume_ft3 = volume_m3 / CUBIC_FOOT_M3
    if box_k >= _ICE_POINT_K:
        return float(817.5 * volume_ft3**-0.5551)
    return float(596.21 * volume_ft3**-0.548)


def box_surface_m2(volume_m3: float) -> float:
    """Return the walls, floor and ceiling [m2] of a box of usual proportions."""
    return float(6.25 * volume_m3 ** (2.0 / 3.0))


def box_load(
    volume_m3: float,
    surface_m2: float,
    box_k: float,
    around_k: float,
    r_value: float,
    ambient_pa: float,
) -> BoxLoad:
    """Return the heat that gets into a box over a design day.

    volume_m3, surface_m2: of the box. box_k, around_k: air in and around it [K].
    r_value: of its walls [h ft2 F/Btu]. ambient_pa: air pressure [Pa].
    """
    transmission = surface_m2 * (around_k - box_k) / (r_value * _R_VALUE_SI)
    outside, _ = moist_air(around_k, _HUMIDITY_OUT, ambient_pa)
    inside, density = moist_air(box_k, _HUMIDITY_IN, ambient_pa)
    changes = air_changes_per_day(volume_m3, box_k)
    air = _USAGE * changes * volume_m3 * density * max(outside - inside, 0.0) / _DAY_S
    product = _PRODUCT_J_M3_DAY[box_k >= _ICE_POINT_K] * volume_m3 / _DAY_S
    return BoxLoad(transmission, air, product, _INSIDE_SHARE * (transmission + air + product))
