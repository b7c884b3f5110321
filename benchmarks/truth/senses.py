"""All sightings of one call: what is seen where somebody looks, with how often people are wrong."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from benchmarks.truth import box_senses, unit_senses
from benchmarks.truth.context import Context

TXV_ONLY = (
    "sight_glass", "bulb", "bulb_warm_test", "valve_frost", "solenoid", "receiver_level",
    "glass_head_raised", "pump_down",
    "equaliser", "valve_setting", "distributor_tubes", "receiver_valve", "moisture_indicator", "solenoid_off",
)  # fmt: skip
ELECTRIC_ONLY = ("heater_amps", "heater_ohms", "defrost_end")
CYCLED_ONLY = ("head_setting", "fan_cycle")

ERRORS = {
    "evaporator_fans": 0.015, "coil_ice": 0.04, "frost_pattern": 0.08, "coil_face": 0.06,
    "coil_airflow": 0.05,
    "drain_pan": 0.03, "door": 0.04, "box_stock": 0.05, "display": 0.01, "condenser_face": 0.05,
    "condenser_fans": 0.015, "condenser_place": 0.05, "compressor_sound": 0.04, "sight_glass": 0.03,
    "receiver_level": 0.05, "drier_touch": 0.06, "suction_line": 0.04, "oil_trace": 0.05, "user_story": 0.1,
    "amps_pattern": 0.02, "control_chain": 0.03, "breaker": 0.01, "line_volts": 0.01,
}  # fmt: skip
"""Chance that an answer is wrong, any other answer then; 0.03 where nothing is said. Practice, no source."""

CONSTANT = {
    "own_probe_bath": "reads_true", "gauge_zero": "reads_true", "proved_dead": "yes",
    "flammable_gate_met": "yes",
    "one_temperature": "yes", "sections_open": "yes", "insulation_conditions_met": "yes",
    "temporary_restored": "yes", "leak_settled": "yes",
}  # fmt: skip

Answer = Callable[[Context, np.random.Generator], str]


def _answers() -> dict[str, Answer]:
    return {
        name: value
        for module in (box_senses, unit_senses)
        for name, value in vars(module).items()
        if callable(value) and getattr(value, "__module__", "") == module.__name__ and name != "pick"
    }


ANSWERS = _answers()


def sightings(c: Context, values: dict[str, tuple[str, ...]], rng: np.random.Generator) -> dict[str, str]:
    """Return what would be noted for every sighting that this unit has.

    values: allowed answers of each sighting id, as published. Instruments of the technician are checked
    elsewhere.
    """
    unit = c.scene.unit
    noted: dict[str, str] = {}
    for name, answer in ANSWERS.items():
        if name in TXV_ONLY and unit.device != "txv":
            continue
        if name not in values or (name in CYCLED_ONLY and not unit.head_on_pa):
            continue
        if name in ELECTRIC_ONLY and unit.defrost != "electric":
            continue
        value = answer(c, rng)
        if value not in values[name]:
            value = values[name][0]
        if rng.random() < ERRORS.get(name, 0.03):
            value = str(rng.choice([one for one in values[name] if one != value]))
        noted[name] = value
    return noted
