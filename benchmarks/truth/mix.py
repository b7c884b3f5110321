"""How often what is wrong: shares of root causes from the project's practice table (field notes 7).

Common practice, no source; percent. A row of that table that covers several faults is split by guess. Rows for
"rest" become healthy machines and faults that no catalogue row describes.
"""

from __future__ import annotations

import numpy as np
from benchmarks.truth.faults import LISTED, NOT_RUNNING, UNLISTED, fits
from benchmarks.truth.units import Unit

COOLER = {
    "low_charge": 13, "condenser_dirty": 8.5, "hot_location": 2.5, "evaporator_fan_stopped": 8,
    "evaporator_fans_slow": 1, "door_leak": 2.5, "air_blocked": 2, "excess_load": 3.5, "condenser_fan_stopped": 7,
    "coil_iced": 5, "defrost_control": 1, "contactor": 5, "thermostat_controller": 4, "box_sensor_wrong": 2.5,
    "set_point_changed": 1.5, "start_gear": 5, "compressor_motor": 3, "compressor_weak": 1, "no_power": 3,
    "low_voltage": 1, "txv_starving": 4, "low_pressure_control": 2.5, "liquid_solenoid": 2, "drier_restricted": 2,
    "coil_dirty": 1.5, "overcharge": 0.7, "non_condensables": 0.6, "txv_flooding": 0.5, "bulb_loose": 0.5,
    "drain_ice": 1, "reverse_rotation": 0.2,
}  # fmt: skip
FREEZER = {
    "low_charge": 11, "defrost_heater": 9, "defrost_control": 8, "door_leak": 5, "excess_load": 3,
    "evaporator_fan_stopped": 7, "condenser_dirty": 6, "hot_location": 1, "defrost_termination": 6,
    "condenser_fan_stopped": 5, "drain_ice": 5, "compressor_motor": 3, "compressor_weak": 2.5, "contactor": 4,
    "start_gear": 3, "txv_starving": 3, "thermostat_controller": 1.8, "box_sensor_wrong": 1.2, "no_power": 2.3,
    "low_voltage": 0.7, "liquid_solenoid": 2, "low_pressure_control": 2, "drier_restricted": 1.5, "overcharge": 0.4,
    "non_condensables": 0.4, "txv_flooding": 0.4, "bulb_loose": 0.4, "coil_iced": 0.6, "reverse_rotation": 0.2,
}  # fmt: skip
REACH_IN = {
    "condenser_dirty": 18, "door_leak": 3, "excess_load": 4, "air_blocked": 4, "evaporator_fan_stopped": 9.5,
    "thermostat_controller": 4.5, "box_sensor_wrong": 2.5, "set_point_changed": 1, "low_charge": 9, "coil_iced": 5,
    "defrost_control": 2, "start_gear": 6, "compressor_motor": 4.5, "compressor_weak": 1.5,
    "condenser_fan_stopped": 5, "hot_location": 3, "no_power": 2.3, "low_voltage": 0.7, "capillary_restricted": 2,
    "drier_restricted": 1, "defrost_heater": 1.5, "defrost_termination": 0.5, "drain_ice": 1.5, "overcharge": 0.8,
}  # fmt: skip


def shares(unit: Unit) -> dict[str, float]:
    """Return the chance of each listed fault as the single cause on this kind of unit; they sum to 1."""
    table = REACH_IN if unit.kind == "reach_in" else (FREEZER if unit.application == "freezer" else COOLER)
    fitting = {name: share for name, share in table.items() if fits(name, unit) and name in LISTED}
    total = sum(fitting.values())
    return {name: share / total for name, share in fitting.items()}


def one_fault(unit: Unit, rng: np.random.Generator) -> str:
    """Return a cause drawn by share."""
    table = shares(unit)
    return str(rng.choice(list(table), p=list(table.values())))


def two_faults(unit: Unit, rng: np.random.Generator) -> tuple[str, str]:
    """Return two causes of a running machine drawn by share, never two that do the same to the air or the coil."""
    table = {name: share for name, share in shares(unit).items() if name not in NOT_RUNNING}
    names, p = list(table), np.array(list(table.values()))
    while True:
        first, second = (str(one) for one in rng.choice(names, size=2, replace=False, p=p / p.sum()))
        if _axis(first) != _axis(second):
            return first, second


def _axis(fault: str) -> str:
    same = {
        "ice": ("coil_iced", "defrost_heater", "defrost_control", "defrost_termination", "drain_ice"),
        "box air": ("evaporator_fan_stopped", "evaporator_fans_slow", "coil_dirty", "air_blocked"),
        "load": ("excess_load", "door_leak", "set_point_changed", "box_sensor_wrong"),
        "charge": ("low_charge", "overcharge"),
        "pump": ("compressor_weak", "reverse_rotation"),
        "flood": ("txv_flooding", "bulb_loose", "txv_starving"),
    }
    return next((name for name, members in same.items() if fault in members), fault)


def unlisted(unit: Unit, rng: np.random.Generator) -> str:
    """Return something no catalogue row describes."""
    return str(rng.choice([name for name in UNLISTED if fits(name, unit)]))
