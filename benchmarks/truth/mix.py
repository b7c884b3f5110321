"""How often what is wrong: shares of root causes from the project's practice table (field notes 7).

Common practice, no source; percent. A row of that table that covers several faults is split by guess. Rows
for "rest" become healthy machines and faults that no catalogue row describes.
"""

from __future__ import annotations

import numpy as np
from benchmarks.truth.faults import HOT_AIR, ICE, LISTED, LOAD, NOT_RUNNING, UNLISTED, fits
from benchmarks.truth.units import Unit

COOLER = {
    "low_charge": 11.5, "access_leak": 1.5, "condenser_dirty": 8.5, "hot_location": 1.7,
    "air_recirculating": 0.8,
    "evaporator_fan_stopped": 8, "evaporator_fans_slow": 1, "door_leak": 1.8, "door_open": 1.5,
    "frame_heater": 0.2,
    "air_blocked": 2, "excess_load": 2.5, "condenser_fan_stopped": 5.5, "condenser_fan_weak": 1,
    "fan_control_open": 0.5, "coil_iced": 4.5, "defrost_control": 0.8, "defrost_clock_stopped": 0.7,
    "contactor": 3.5,
    "loose_terminal": 1.5, "thermostat_controller": 4, "box_sensor_wrong": 2.5, "set_point_changed": 1.5,
    "start_gear": 5, "compressor_motor": 1.5, "compressor_seized": 0.8, "overload_open": 0.9,
    "protector_lockout": 0.4,
    "compressor_weak": 0.8, "crankcase_heater": 0.2, "no_power": 2.5, "lost_phase": 0.7, "low_voltage": 0.8,
    "txv_starving": 0.8, "txv_screen": 1.5, "txv_power_head": 1, "equaliser_fault": 0.3,
    "moisture_at_valve": 0.3,
    "distributor_plugged": 0.3, "low_pressure_control": 1.5, "low_pressure_misset": 1, "liquid_solenoid": 1.6,
    "solenoid_leaking": 0.3, "drier_restricted": 1.6, "liquid_valve_part_shut": 0.3, "flash_gas": 0.3,
    "coil_dirty": 1.5, "overcharge": 0.6, "non_condensables": 0.5, "wrong_refrigerant": 0.3,
    "txv_flooding": 0.5,
    "bulb_loose": 0.5, "drain_ice": 1, "reverse_rotation": 0.2, "suction_strainer": 0.2, "oil_logged": 0.2,
}  # fmt: skip
FREEZER = {
    "low_charge": 9.7, "access_leak": 1.3, "defrost_heater": 8, "defrost_no_heat": 1, "defrost_control": 4,
    "defrost_clock_stopped": 4, "door_leak": 3, "door_open": 1.5, "relief_vent": 1, "frame_heater": 1,
    "excess_load": 2,
    "evaporator_fan_stopped": 6, "fan_delay_open": 2.5, "condenser_dirty": 6, "hot_location": 0.7,
    "air_recirculating": 0.3, "defrost_termination": 2.5, "termination_never_made": 2, "heater_stuck_on": 0.5,
    "condenser_fan_stopped": 3.8, "condenser_fan_weak": 0.8, "fan_control_open": 0.4, "drain_ice": 5,
    "compressor_motor": 1.6, "compressor_seized": 0.9, "overload_open": 1, "protector_lockout": 0.5,
    "compressor_weak": 1.8, "crankcase_heater": 0.3, "contactor": 2.8, "loose_terminal": 1.2, "start_gear": 3,
    "txv_starving": 0.5, "txv_screen": 1.1, "txv_power_head": 0.7, "equaliser_fault": 0.3,
    "moisture_at_valve": 0.4,
    "distributor_plugged": 0.3, "thermostat_controller": 1.8, "box_sensor_wrong": 1.2, "no_power": 2,
    "lost_phase": 0.6,
    "low_voltage": 0.6, "liquid_solenoid": 1.6, "solenoid_leaking": 0.3, "low_pressure_control": 1.2,
    "low_pressure_misset": 0.9, "drier_restricted": 1.2, "liquid_valve_part_shut": 0.3, "flash_gas": 0.2,
    "overcharge": 0.3, "non_condensables": 0.4, "wrong_refrigerant": 0.2, "txv_flooding": 0.4,
    "bulb_loose": 0.4,
    "coil_iced": 0.6, "reverse_rotation": 0.2, "suction_strainer": 0.2, "oil_logged": 0.4,
}  # fmt: skip
REACH_IN = {
    "condenser_dirty": 18, "door_leak": 2, "door_open": 2, "frame_heater": 0.5, "excess_load": 3,
    "air_blocked": 4,
    "evaporator_fan_stopped": 9.5, "thermostat_controller": 4.5, "box_sensor_wrong": 2.5,
    "set_point_changed": 1,
    "low_charge": 8, "access_leak": 1.2, "coil_iced": 5, "defrost_control": 1, "defrost_clock_stopped": 1,
    "start_gear": 5.5, "overload_open": 1, "compressor_motor": 3, "compressor_seized": 1.5,
    "compressor_weak": 1.5,
    "condenser_fan_stopped": 4.3, "condenser_fan_weak": 0.7, "hot_location": 3, "no_power": 2.3,
    "low_voltage": 0.7,
    "loose_terminal": 0.5, "contactor": 0.5, "capillary_restricted": 1.5, "moisture_at_capillary": 0.7,
    "drier_restricted": 0.8, "defrost_heater": 1.2, "defrost_no_heat": 0.3, "defrost_termination": 0.3,
    "termination_never_made": 0.3, "fan_delay_open": 0.3, "drain_ice": 1.5, "overcharge": 0.6,
    "wrong_refrigerant": 0.2,
    "oil_logged": 0.2,
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
    """Return two causes of a running machine drawn by share.

    Never two that do the same to the air or the coil.
    """
    table = {name: share for name, share in shares(unit).items() if name not in NOT_RUNNING}
    names, p = list(table), np.array(list(table.values()))
    while True:
        first, second = (str(one) for one in rng.choice(names, size=2, replace=False, p=p / p.sum()))
        if _axis(first) != _axis(second):
            return first, second


def _axis(fault: str) -> str:
    same = {
        "ice": ICE,
        "box air": (
            "evaporator_fan_stopped",
            "evaporator_fans_slow",
            "fan_delay_open",
            "coil_dirty",
            "air_blocked",
        ),
        "condenser fan": ("condenser_fan_stopped", "condenser_fan_weak", "fan_control_open"),
        "hot air": HOT_AIR,
        "load": (*LOAD, "set_point_changed", "box_sensor_wrong", "solenoid_leaking", "crankcase_heater"),
        "charge": ("low_charge", "access_leak", "overcharge", "wrong_refrigerant"),
        "pump": ("compressor_weak", "reverse_rotation"),
        "valve": (
            "txv_flooding",
            "bulb_loose",
            "txv_starving",
            "txv_screen",
            "txv_power_head",
            "equaliser_fault",
            "moisture_at_valve",
            "distributor_plugged",
        ),
        "liquid": ("drier_restricted", "liquid_valve_part_shut", "flash_gas"),
        "capillary": ("capillary_restricted", "moisture_at_capillary"),
    }
    return next((name for name, members in same.items() if fault in members), fault)


def unlisted(unit: Unit, rng: np.random.Generator) -> str:
    """Return something no catalogue row describes."""
    return str(rng.choice([name for name in UNLISTED if fits(name, unit)]))
