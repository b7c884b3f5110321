"""Ambient air pressure from altitude, for gauges read away from sea level.

A gauge reads against the air around it: at 5000 ft the same needle stands for 2.5 psi less absolute
pressure than at sea level. The standard atmosphere is a mean; weather moves the real one by about
3 % (35 mbar either way is a strong storm or high; common practice, no source).
"""

from __future__ import annotations

import math
from typing import Final

from holdcold.errors import InputError
from holdcold.quantities.constants import STANDARD_ATMOSPHERE_PA, STANDARD_GRAVITY_M_S2

LOWEST_ALTITUDE_M: Final = -500.0
"""Lowest altitude served [m]: below every inhabited shore."""

HIGHEST_ALTITUDE_M: Final = 6_000.0
"""Highest altitude served [m]: above every inhabited place."""

_EARTH_RADIUS_M: Final = 6_356_766.0
_SEA_LEVEL_K: Final = 288.15
_LAPSE_K_M: Final = -0.0065
_AIR_GAS_CONSTANT: Final = 287.052_87
_EXPONENT: Final = -STANDARD_GRAVITY_M_S2 / (_LAPSE_K_M * _AIR_GAS_CONSTANT)


def ambient_pa_at(altitude_m: float, *, field: str = "altitude") -> float:
    """Return the standard air pressure [Pa] at a geometric altitude above sea level [m].

    Valid from -500 to 6000 m (inside the lowest layer of the model, lapse -6.5 K/km). Raises
    ``InputError`` naming ``field`` outside that range. Method: ISO 2533:1975 Standard Atmosphere,
    equations for the layer with a temperature gradient, with geometric altitude turned into
    geopotential altitude by its nominal earth radius of 6 356 766 m.
    """
    if not LOWEST_ALTITUDE_M <= altitude_m <= HIGHEST_ALTITUDE_M:
        raise InputError(
            field,
            f"{altitude_m:.0f} m",
            f"{LOWEST_ALTITUDE_M:.0f} to {HIGHEST_ALTITUDE_M:.0f} m (-1640 to 19685 ft)",
            "Give the height of the place above sea level.",
        )
    geopotential_m = _EARTH_RADIUS_M * altitude_m / (_EARTH_RADIUS_M + altitude_m)
    ratio = 1.0 + _LAPSE_K_M * geopotential_m / _SEA_LEVEL_K
    return STANDARD_ATMOSPHERE_PA * math.exp(_EXPONENT * math.log(ratio))
