"""Where a unit works when its readings are taken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holdcold.errors import InputError

Rest = Literal["equalised", "apart", "pumped_down", "defrosting", "draining", "tripped", "dead"]
"""How a machine that does not run can stand; see ``rest.resting_readings``."""

RESTS: tuple[Rest, ...] = (
    "equalised", "apart", "pumped_down", "defrosting", "draining", "tripped", "dead",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Conditions:
    """Surroundings of the machine at the moment of a prediction.

    ambient_k: air entering the condenser [K], 233 to 333.
    box_k: air returning to the coil [K], 228 to 318.
    supply_ratio: supply voltage over nominal, 0.6 to 1.3.
    running: False asks for the machine at rest.
    rest: how it stands at rest, one of ``rest.RESTS``.
    """

    ambient_k: float
    box_k: float
    supply_ratio: float = 1.0
    running: bool = True
    rest: Rest = "equalised"

    def __post_init__(self) -> None:
        """Refuse surroundings no technician has measured."""
        for name, low, high in (
            ("ambient_k", 233.0, 333.0),
            ("box_k", 228.0, 318.0),
            ("supply_ratio", 0.6, 1.3),
        ):
            value = getattr(self, name)
            if not low <= value <= high:
                raise InputError(name, value, f"{low} to {high}", "Measure again and check the unit typed.")
