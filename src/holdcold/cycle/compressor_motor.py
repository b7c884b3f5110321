"""Running current of a compressor motor from its power and supply voltage."""

from __future__ import annotations

from math import hypot, sqrt
from typing import Final

from holdcold.errors import InputError

_POWER_FACTOR: Final = {1: 0.90, 3: 0.85}
"""Full-load power factor when the plate does not tell: run-capacitor single-phase, three-phase
induction motors; common practice, no source."""

_FACTORS: Final = (0.5, 0.98)
_LEAKAGE: Final = 0.15
"""Share of the reactive current at rating that follows the load (leakage); the rest magnetises.
Chosen on the equivalent circuit of a 19 kW four-pole motor, which the formula then meets within 2 %
from half to 1.2 times load and 0.8 to 1.1 times voltage (tests/cycle/test_compressor_motor.py)."""


def running_amps(
    power_w: float,
    supply_ratio: float,
    rated_amps: float,
    rated_power_w: float,
    phases: int,
    supply_v: float | None = None,
) -> float:
    """Return the current [A] a compressor draws at a given electrical input and supply.

    power_w: electrical input now [W], 0 or more; supply_ratio: supply over nominal voltage, 0.5 to 1.3;
    rated_amps, rated_power_w: current and input at one and the same rated point and nominal voltage;
    phases: 1 or 3; supply_v: nominal voltage [V], from which the rated power factor follows, otherwise
    a usual one is taken.

    The working current is proportional to power over voltage and rises as the voltage falls; the
    magnetising current is proportional to the voltage and stays when the load goes; leakage reactance
    adds reactive power with the square of the current. A well-loaded motor therefore draws more at
    low voltage, a lightly loaded one may draw less. Source: the induction motor's equivalent circuit
    (any textbook of electrical machines); shares of it common practice, no source. Raises InputError.
    """
    if phases not in _POWER_FACTOR:
        raise InputError("phases", phases, "1 or 3", "Read the plate: one or three phases.")
    if not 0.0 < supply_ratio < 2.0:
        raise InputError(
            "supply_ratio", supply_ratio, "above 0, below 2", "Give measured over nominal volts."
        )
    if not (rated_amps > 0.0 and rated_power_w > 0.0):
        raise InputError(
            "rated_amps", (rated_amps, rated_power_w), "both above 0", "Read them off the plate."
        )
    factor = _power_factor(rated_amps, rated_power_w, phases, supply_v)
    reactive = sqrt(1.0 - factor * factor)
    working = factor * power_w / (rated_power_w * supply_ratio)
    magnetising = (1.0 - _LEAKAGE) * reactive * supply_ratio
    leakage = _LEAKAGE * reactive
    idle_squared = working * working + magnetising * magnetising
    squared = working * working + (magnetising + leakage * idle_squared / supply_ratio) ** 2
    rated = hypot(factor, (1.0 - _LEAKAGE) * reactive + leakage * _idle_at_rating(factor, reactive))
    return rated_amps * sqrt(squared) / rated


def _idle_at_rating(factor: float, reactive: float) -> float:
    """Return the squared current without leakage at the rated point, over the rated current squared."""
    magnetising = (1.0 - _LEAKAGE) * reactive
    return factor * factor + magnetising * magnetising


def _power_factor(rated_amps: float, rated_power_w: float, phases: int, supply_v: float | None) -> float:
    """Return the power factor at rating, kept in the range a motor can have."""
    if supply_v is None:
        return _POWER_FACTOR[phases]
    apparent = rated_amps * supply_v * (sqrt(3.0) if phases == 3 else 1.0)
    return min(max(rated_power_w / apparent, _FACTORS[0]), _FACTORS[1])
