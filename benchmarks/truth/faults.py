"""What each fault does to a machine, in the generator's own terms, and how bad faults are drawn.

``LISTED`` faults carry the ids of the catalogue; ``UNLISTED`` are things no row of it describes. Severity is
the fraction named beside each fault; its meaning is this generator's, not the diagnosis'.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from benchmarks.truth.circuit import Machine
from benchmarks.truth.expansion import Capillary, Valve
from benchmarks.truth.units import Unit

ICE = ("coil_iced", "defrost_heater", "defrost_control", "defrost_clock_stopped", "defrost_no_heat",
       "defrost_termination", "drain_ice")  # fmt: skip
NOT_RUNNING = ("compressor_motor", "compressor_seized", "overload_open", "protector_lockout", "no_power",
"lost_phase",
               "contactor", "loose_terminal", "start_gear", "low_pressure_control", "low_pressure_misset",
               "thermostat_controller", "liquid_solenoid")  # fmt: skip
DEFROST_LOAD = ("termination_never_made", "heater_stuck_on")
LOAD = ("excess_load", "door_open", "door_leak", "relief_vent", "frame_heater", *DEFROST_LOAD)
HOT_AIR = ("hot_location", "air_recirculating")
QUIET = (*LOAD, "set_point_changed", "box_sensor_wrong", "solenoid_leaking", "crankcase_heater")
"""Faults that leave the running machine's readings as they were."""

SWAPS = {
    "R-404A": ("R-449A", "R-22", "R-134a"), "R-449A": ("R-404A", "R-407C", "R-134a"),
    "R-448A": ("R-404A", "R-407C"), "R-22": ("R-407C", "R-404A", "R-134a"), "R-134a": ("R-22", "R-404A"),
}  # fmt: skip
"""What gets charged by mistake; common practice, no source."""


def _valve(one: Machine) -> Valve:
    if not isinstance(one.device, Valve):
        raise TypeError("no valve here")
    return one.device


def _low_charge(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, charge=one.charge * (1.0 - s))


def _overcharge(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, charge=one.charge * (1.0 + s))


def _foreign(one: Machine, s: float, _: Unit) -> Machine:
    """Severity: partial pressure [100 kPa] where the healthy machine's gas space would hold it at 40 C."""
    room = 0.55 * one.condenser.volume + 0.42 * one.receiver_volume
    return replace(one, foreign_mol=s * 1e5 * room / (8.314 * 313.0))


def _wrong_gas(one: Machine, s: float, _: Unit) -> Machine:
    """Severity: which of the gases that get mixed up."""
    others = SWAPS[one.refrigerant]
    return replace(one, refrigerant=others[int(s * 1e4) % len(others)])


def _dirty_condenser(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, air_c=one.air_c * (1.0 - 0.92 * s), surface_c=one.surface_c * (1.0 - 0.35 * s))


def _condenser_fan(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, air_c=one.air_c * max(0.92 * (1.0 - s), 0.07))


def _weak_condenser_fan(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, air_c=one.air_c * (1.0 - s))


def _fan_never_called(one: Machine, s: float, _: Unit) -> Machine:
    """One of two fans, or the only one, stands; severity: share of fans."""
    return replace(one, air_c=one.air_c * (1.0 - s) * 0.94)


def _coil_fan(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, air_e=one.air_e * max(0.93 * (1.0 - s), 0.06))


def _less_air(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, air_e=one.air_e * (1.0 - s))


def _dirty_coil(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, air_e=one.air_e * (1.0 - s), surface_e=one.surface_e * (1.0 - 0.35 * s))


def _ice(one: Machine, s: float, _: Unit) -> Machine:
    """Ice over the share ``s`` of the face: a fan curve meets a coil whose resistance grows as (1-s)^-2.2."""
    air = math.sqrt(1.0 / (0.55 + 0.45 * (1.0 - min(s, 0.95)) ** -2.2))
    return replace(one, air_e=one.air_e * air, surface_e=one.surface_e * (1.0 - 0.55 * s))


def _resistance(one: Machine, s: float, unit: Unit) -> float:
    """Return the liquid-line resistance that drops ``s`` [100 kPa] at rated flow."""
    m = unit.machine.coil.m_rated
    v = 1.0 / one.f.rho_liquid(unit.rated_ambient_k + 8.0)
    return s * 1e5 / (m * m * v * 1100.0)


def _drier(one: Machine, s: float, unit: Unit) -> Machine:
    return replace(one, drier=one.drier + _resistance(one, s, unit))


def _hand_valve(one: Machine, s: float, unit: Unit) -> Machine:
    return replace(one, hand_valve=_resistance(one, s, unit))


def _flash(one: Machine, s: float, _: Unit) -> Machine:
    """Severity: share of latent heat the line takes up (a warm run).

    Or for the lower digits a lift of 6 to 16 m.
    """
    if int(s * 1e4) % 2:
        return replace(one, lift=one.lift + 6.0 + 40.0 * s)
    return _hot_liquid(one, s, _)


def _capillary(one: Machine, s: float, _: Unit) -> Machine:
    if not isinstance(one.device, Capillary):
        raise TypeError("no capillary here")
    return replace(one, device=replace(one.device, lost=1.0 - (1.0 - s) ** 0.8))


def _screen(one: Machine, s: float, _: Unit) -> Machine:
    valve = _valve(one)
    return replace(
        one, device=replace(valve, screen=((1.0 - s) ** -2 - 1.0) / (2.0 * valve.area**2 * 1100.0))
    )


def _power_head(one: Machine, s: float, _: Unit) -> Machine:
    valve = _valve(one)
    return replace(one, device=replace(valve, lost_head=2.8 * s * valve.stroke, most=1.0 - 0.7 * s))


def _setting(one: Machine, s: float, _: Unit) -> Machine:
    """A spring turned in, or a valve too small (by the severity's digits)."""
    valve = _valve(one)
    if int(s * 1e4) % 3 == 0:
        return replace(one, device=replace(valve, area=valve.area * (1.0 - s)))
    return replace(one, device=replace(valve, spring=valve.spring + 3.2 * s * valve.stroke))


def _equaliser(one: Machine, s: float, _: Unit) -> Machine:
    """Pressure trapped or leaking in under the diaphragm: the valve is held shut."""
    valve = _valve(one)
    return replace(one, device=replace(valve, lost_head=3.4 * s * valve.stroke))


def _distributor(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, dead=s)


def _flooding(one: Machine, s: float, _: Unit) -> Machine:
    valve = _valve(one)
    if int(s * 1e4) % 4 == 0:
        return replace(
            one, device=replace(valve, spring=valve.spring - 2.0 * s * valve.stroke, stuck=0.4 * s)
        )
    return replace(one, device=replace(valve, stuck=s))


def _bulb(one: Machine, s: float, _: Unit) -> Machine:
    """Severity: share of the bulb's temperature that comes from its surroundings.

    Some of them warmer than box air.
    """
    return replace(one, device=replace(_valve(one), contact=s, warm=8.0 * (int(s * 1e4) % 10) / 9.0))


def _weak(one: Machine, s: float, unit: Unit) -> Machine:
    f = one.f
    p_c = f.p_dew(unit.rated_ambient_k + 14.0)
    p_e = f.p_dew(unit.set_k - 7.0)
    drive = min(p_c - p_e, 0.5 * p_c)
    area = s / (1.0 - s) * one.coil.m_rated / (0.65 * math.sqrt(2.0 * f.sat(p_c).r_v * 0.85 * drive))
    return replace(one, compressor=replace(one.compressor, leak_area=area))


def _strainer(one: Machine, s: float, unit: Unit) -> Machine:
    """Severity: drop [share of suction pressure] at rated flow."""
    m = one.coil.m_rated
    p = one.f.p_dew(unit.set_k - 7.0)
    return replace(one, kink=s * p / (m * m * 10.0 / one.f.sat(p).r_v))


def _oil_logged(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, coil=replace(one.coil, ua_ref=one.coil.ua_ref * (1.0 - s)))


def _same(one: Machine, _: float, __: Unit) -> Machine:
    return one


# ------------------------------------------------------------------ not in the catalogue
def _hot_liquid(one: Machine, s: float, _: Unit) -> Machine:
    latent = one.f.sat(one.f.p_dew(310.0)).h_v - one.f.sat(one.f.p_dew(310.0)).h_l
    return replace(one, heater_w=one.heater_w + s * latent * one.coil.m_rated)


def _bypassed(one: Machine, s: float, _: Unit) -> Machine:
    """A broken partition lets gas past the condenser's tubes; severity: share of the gas."""
    return replace(one, hot_gas=s)


def _discharge(one: Machine, s: float, _: Unit) -> Machine:
    """Discharge line or its check valve restricted; severity: drop [100 kPa] at rated flow."""
    return replace(one, head_lift=s * 1e5)


def _hot_suction(one: Machine, s: float, _: Unit) -> Machine:
    """Suction line bare through a hot place; severity: times its usual heat gain."""
    return replace(one, suction_ua=one.suction_ua * (1.0 + s))


def _too_small(one: Machine, s: float, _: Unit) -> Machine:
    """A replacement compressor of the wrong size; severity: share of displacement missing."""
    smaller = replace(
        one.compressor, swept=one.compressor.swept * (1.0 - s), rated_w=one.compressor.rated_w * (1.0 - s)
    )
    return replace(one, compressor=smaller)


def _plugged_circuits(one: Machine, s: float, _: Unit) -> Machine:
    """Condenser circuits plugged inside: area lost, airflow as ever; severity: share."""
    coil = one.condenser
    return replace(
        one, condenser=replace(coil, ua_air=coil.ua_air * (1.0 - s), ua_ref=coil.ua_ref * (1.0 - s))
    )


def _flooded_suction(one: Machine, s: float, _: Unit) -> Machine:
    """Liquid let into the suction line by a service bypass; severity: share of the flow."""
    return replace(one, injected=s)


Apply = Callable[[Machine, float, Unit], Machine]
Row = tuple[Apply, tuple[float, float]]
_RESTRICTED = (0.8, 9.0)
_STARVED = (0.25, 0.85)
LISTED: dict[str, Row] = {
    "low_charge": (_low_charge, (0.12, 0.75)),
    "access_leak": (_low_charge, (0.12, 0.75)),
    "overcharge": (_overcharge, (0.15, 1.2)),
    "non_condensables": (_foreign, (0.5, 4.0)),
    "wrong_refrigerant": (_wrong_gas, (0.0, 1.0)),
    "drier_restricted": (_drier, _RESTRICTED),
    "liquid_valve_part_shut": (_hand_valve, _RESTRICTED),
    "flash_gas": (_flash, (0.05, 0.25)),
    "capillary_restricted": (_capillary, (0.2, 0.8)),
    "moisture_at_capillary": (_capillary, (0.3, 0.85)),
    "condenser_dirty": (_dirty_condenser, (0.25, 0.85)),
    "condenser_fan_stopped": (_condenser_fan, (0.5, 1.0)),
    "condenser_fan_weak": (_weak_condenser_fan, (0.25, 0.65)),
    "fan_control_open": (_fan_never_called, (0.5, 0.5)),
    "evaporator_fan_stopped": (_coil_fan, (0.2, 1.0)),
    "evaporator_fans_slow": (_less_air, (0.2, 0.65)),
    "fan_delay_open": (_coil_fan, (1.0, 1.0)),
    "coil_dirty": (_dirty_coil, (0.2, 0.65)),
    "air_blocked": (_less_air, (0.2, 0.75)),
    "txv_starving": (_setting, _STARVED),
    "txv_screen": (_screen, _STARVED),
    "txv_power_head": (_power_head, _STARVED),
    "equaliser_fault": (_equaliser, _STARVED),
    "moisture_at_valve": (_screen, (0.4, 0.9)),
    "distributor_plugged": (_distributor, (0.2, 0.6)),
    "txv_flooding": (_flooding, (0.6, 1.0)),
    "bulb_loose": (_bulb, (0.35, 0.95)),
    "compressor_weak": (_weak, (0.15, 0.65)),
    "reverse_rotation": (_weak, (0.8, 0.9)),
    "suction_strainer": (_strainer, (0.15, 0.6)),
    "oil_logged": (_oil_logged, (0.6, 0.92)),
    "low_voltage": (_same, (0.08, 0.22)),
    **{name: (_ice, (0.25, 0.9)) for name in ICE if name != "drain_ice"},
    "drain_ice": (_ice, (0.15, 0.55)),
    "excess_load": (_same, (0.3, 1.2)),
    "door_open": (_same, (0.3, 1.2)),
    "door_leak": (_same, (0.2, 0.9)),
    "relief_vent": (_same, (0.15, 0.5)),
    "frame_heater": (_same, (0.1, 0.4)),
    "termination_never_made": (_same, (0.2, 0.7)),
    "heater_stuck_on": (_same, (0.4, 1.2)),
    "hot_location": (_same, (6.0, 14.0)),
    "air_recirculating": (_same, (6.0, 14.0)),
    "set_point_changed": (_same, (2.0, 8.0)),
    "box_sensor_wrong": (_same, (2.0, 8.0)),
    "solenoid_leaking": (_same, (1.0, 1.0)),
    "crankcase_heater": (_same, (1.0, 1.0)),
    **dict.fromkeys(NOT_RUNNING, (_same, (1.0, 1.0))),
}
UNLISTED: dict[str, Row] = {
    "condenser_bypassed": (_bypassed, (0.05, 0.3)),
    "discharge_restricted": (_discharge, (2.0, 9.0)),
    "suction_line_hot": (_hot_suction, (1.5, 5.0)),
    "compressor_too_small": (_too_small, (0.25, 0.5)),
    "condenser_circuits_plugged": (_plugged_circuits, (0.3, 0.65)),
    "liquid_into_suction": (_flooded_suction, (0.05, 0.2)),
}
EVERY = {**LISTED, **UNLISTED}


def fits(fault: str, unit: Unit) -> bool:
    """Return whether a unit can have this fault at all."""
    valve, electric = unit.device == "txv", unit.defrost == "electric"
    only_valve = ("txv_starving", "txv_screen", "txv_power_head", "equaliser_fault", "moisture_at_valve",
    "bulb_loose",
                  "distributor_plugged", "txv_flooding", "liquid_solenoid", "solenoid_leaking", "flash_gas",
                  "liquid_valve_part_shut", "low_pressure_control", "low_pressure_misset", "suction_line_hot",
                  "liquid_into_suction", "suction_strainer", "air_recirculating")  # fmt: skip
    only_electric = ("defrost_heater", "defrost_termination", "defrost_no_heat", "termination_never_made",
                     "heater_stuck_on", "fan_delay_open")  # fmt: skip
    rules = {
        **dict.fromkeys(only_valve, valve),
        **dict.fromkeys(only_electric, electric),
        "capillary_restricted": not valve,
        "moisture_at_capillary": not valve,
        "reverse_rotation": unit.machine.compressor.kind == "scroll" and unit.phases == 3,
        "defrost_control": unit.defrost != "none",
        "defrost_clock_stopped": unit.defrost != "none",
        "start_gear": unit.phases == 1,
        "lost_phase": unit.phases == 3,
        "wrong_refrigerant": unit.machine.refrigerant in SWAPS,
        "fan_control_open": unit.head_on_pa > 0.0,
        "relief_vent": unit.kind == "walk_in" and unit.application == "freezer",
        "crankcase_heater": unit.kind == "walk_in",
        "protector_lockout": unit.kind == "walk_in",
    }
    return rules.get(fault, True)


def severity(fault: str, unit: Unit, rng: np.random.Generator, scale: float = 1.0) -> float:
    """Return how bad a fault is.

    Uniform over its range, fans in whole fans; ``scale`` above 1 leans to the worse end.
    """
    low, high = EVERY[fault][1]
    if fault in ("condenser_fan_stopped", "evaporator_fan_stopped"):
        fans = unit.fans_c if fault == "condenser_fan_stopped" else unit.fans_e
        stopped = fans if rng.random() < 0.25 else int(rng.integers(1, fans + 1))
        return stopped / fans
    return low + (high - low) * float(rng.random()) ** (1.0 / scale)


def broken(unit: Unit, faults: dict[str, float]) -> Machine:
    """Return the unit's machine with these faults in it."""
    machine = unit.machine
    for name, how_bad in faults.items():
        machine = EVERY[name][0](machine, how_bad, unit)
    return machine
