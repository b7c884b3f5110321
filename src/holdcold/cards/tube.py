"""Copper refrigeration tube by its outside diameter.

Bores: ASTM B280 annealed ACR tube (drawn from 3/4 in up); sizes above 1-3/8 in from memory.
"""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Final

from holdcold.errors import InputError
from holdcold.quantities.constants import INCH_M

BORES_IN: Final = MappingProxyType(
    {
        "1/4": 0.190,
        "3/8": 0.311,
        "1/2": 0.436,
        "5/8": 0.555,
        "3/4": 0.666,
        "7/8": 0.785,
        "1-1/8": 1.025,
        "1-3/8": 1.265,
        "1-5/8": 1.505,
        "2-1/8": 1.985,
        "2-5/8": 2.465,
    }
)
"""Bore [in] by nominal outside diameter [in]."""

_TOLERANCE_M: Final = 0.6e-3


def outside_m(size: str) -> float:
    """Return the outside diameter [m] of a size of the table, for example ``"1-1/8"``."""
    whole, _, part = size.rpartition("-")
    top, bottom = part.split("/")
    return (float(whole or 0) + float(top) / float(bottom)) * INCH_M


def nearest_size(outside: float, field: str) -> str:
    """Return the tube size whose outside diameter is ``outside`` [m] within 0.6 mm.

    Raises InputError naming ``field`` when there is no such tube.
    """
    best = min(BORES_IN, key=lambda size: abs(outside_m(size) - outside))
    if abs(outside_m(best) - outside) > _TOLERANCE_M:
        raise InputError(
            field,
            f"{outside / INCH_M:.3f} in",
            ", ".join(f"{size} in" for size in BORES_IN),
            "Give the outside diameter of the copper tube.",
        )
    return best


def bore_m2(size: str) -> float:
    """Return the free cross-section [m2] of a size of the table."""
    return math.pi / 4.0 * (BORES_IN[size] * INCH_M) ** 2


def size_for(flow_m3_s: float, speed_m_s: float, smallest: str = "1/4") -> str:
    """Return the smallest size, from ``smallest`` up, that carries ``flow_m3_s`` at most at ``speed_m_s``.

    The largest size of the table is returned when none is large enough.
    """
    sizes = list(BORES_IN)
    for size in sizes[sizes.index(smallest) :]:
        if flow_m3_s <= speed_m_s * bore_m2(size):
            return size
    return sizes[-1]
