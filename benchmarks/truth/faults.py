"""What each fault does to a machine, in the generator's own terms, and how bad faults are drawn.

``LISTED`` faults carry the ids of the catalogue; ``UNLISTED`` are things no row of it describes. Severity is the
fraction named beside each fault; its meaning is this generator's, not the diagnosis'.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from benchmarks.truth.circuit import Machine
from benchmarks.truth.expansion import Capillary, Valve
from benchmarks.truth.units import Unit

ICE = ("coil_iced", "defrost_heater", "defrost_control", "defrost_termination", "drain_ice")
NOT_RUNNING = ("compressor_motor", "no_power", "contactor", "start_gear", "low_pressure_control",
               "thermostat_controller", "liquid_solenoid")  # fmt: skip
LOAD = ("excess_load", "door_leak")
AROUND = ("hot_location", "set_point_changed", "box_sensor_wrong")
SWAPS = {
    "R-404A": ("R-449A", "R-22", "R-134a"), "R-449A": ("R-404A", "R-407C", "R-134a"),
    "R-448A": ("R-404A", "R-407C"), "R-22": ("R-407C", "R-404A", "R-134a"), "R-134a": ("R-22", "R-404A"),
}  # fmt: skip
"""What gets charged by mistake; common practice, no source."""


def _low_charge(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, charge=one.charge * (1.0 - s))


def _overcharge(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, charge=one.charge * (1.0 + s))


def _foreign(one: Machine, s: float, unit: Unit) -> Machine:
    """Severity: partial pressure [100 kPa] where the healthy machine's gas space would hold it at 40 C."""
    room = 0.55 * one.condenser.volume + 0.42 * one.receiver_volume
    return replace(one, foreign_mol=s * 1e5 * room / (8.314 * 313.0))


def _dirty_condenser(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, air_c=one.air_c * (1.0 - 0.92 * s), surface_c=one.surface_c * (1.0 - 0.35 * s))


def _condenser_fan(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, air_c=one.air_c * max(0.92 * (1.0 - s), 0.07))


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


def _drier(one: Machine, s: float, unit: Unit) -> Machine:
    """Severity: drop [100 kPa] at rated flow."""
    m = unit.machine.coil.m_rated
    v = 1.0 / one.f.rho_liquid(unit.rated_ambient_k + 8.0)
    return replace(one, drier=one.drier + s * 1e5 / (m * m * v * 1100.0))


def _capillary(one: Machine, s: float, _: Unit) -> Machine:
    if not isinstance(one.device, Capillary):
        raise TypeError("no capillary here")
    return replace(one, device=replace(one.device, lost=1.0 - (1.0 - s) ** 0.8))


def _starving(one: Machine, s: float, unit: Unit) -> Machine:
    """A plugged screen, a power head that lost gas or a spring turned in, by thirds (fixed by the severity)."""
    valve = one.device
    if not isinstance(valve, Valve):
        raise TypeError("no valve here")
    which = int(s * 1e4) % 3
    if which == 0:
        return replace(one, device=replace(valve, screen=((1.0 - s) ** -2 - 1.0) / (2.0 * valve.area**2 * 1100.0)))
    if which == 1:
        return replace(one, device=replace(valve, lost_head=2.8 * s * valve.stroke, most=1.0 - 0.7 * s))
    return replace(one, device=replace(valve, spring=valve.spring + 3.2 * s * valve.stroke))


def _flooding(one: Machine, s: float, _: Unit) -> Machine:
    valve = one.device
    if not isinstance(valve, Valve):
        raise TypeError("no valve here")
    if int(s * 1e4) % 4 == 0:
        return replace(one, device=replace(valve, spring=valve.spring - 2.0 * s * valve.stroke, stuck=0.4 * s))
    return replace(one, device=replace(valve, stuck=s))


def _bulb(one: Machine, s: float, _: Unit) -> Machine:
    """Severity: share of the bulb's temperature that comes from its surroundings, some of them warmer than box air."""
    if not isinstance(one.device, Valve):
        raise TypeError("no valve here")
    return replace(one, device=replace(one.device, contact=s, warm=8.0 * (int(s * 1e4) % 10) / 9.0))


def _weak(one: Machine, s: float, unit: Unit) -> Machine:
    f = one.f
    p_c = f.p_dew(unit.rated_ambient_k + 14.0)
    p_e = f.p_dew(unit.set_k - 7.0)
    drive = min(p_c - p_e, 0.5 * p_c)
    area = s / (1.0 - s) * one.coil.m_rated / (0.65 * math.sqrt(2.0 * f.sat(p_c).r_v * 0.85 * drive))
    return replace(one, compressor=replace(one.compressor, leak_area=area))


def _same(one: Machine, _: float, __: Unit) -> Machine:
    return one


# ------------------------------------------------------------------ not in the catalogue
def _kink(one: Machine, s: float, unit: Unit) -> Machine:
    """Suction line kinked or its strainer plugged; severity: drop [share of suction pressure] at rated flow."""
    m = one.coil.m_rated
    p = one.f.p_dew(unit.set_k - 7.0)
    return replace(one, kink=s * p / (m * m * 10.0 / one.f.sat(p).r_v))


def _hot_liquid(one: Machine, s: float, _: Unit) -> Machine:
    """Liquid line lying on a heater or a steam pipe; severity: share of latent heat it adds."""
    latent = one.f.sat(one.f.p_dew(310.0)).h_v - one.f.sat(one.f.p_dew(310.0)).h_l
    return replace(one, heater_w=one.heater_w + s * latent * one.coil.m_rated)


def _bypassed(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, hot_gas=s)


def _wrong_gas(one: Machine, s: float, _: Unit) -> Machine:
    others = SWAPS[one.refrigerant]
    return replace(one, refrigerant=others[int(s * 1e4) % len(others)])


def _oil_logged(one: Machine, s: float, _: Unit) -> Machine:
    return replace(one, coil=replace(one.coil, ua_ref=one.coil.ua_ref * (1.0 - s)))


def _discharge(one: Machine, s: float, _: Unit) -> Machine:
    """Discharge line or its check valve restricted; severity: drop [100 kPa] at rated flow."""
    return replace(one, head_lift=s * 1e5)


Apply = Callable[[Machine, float, Unit], Machine]
LISTED: dict[str, tuple[Apply, tuple[float, float]]] = {
    "low_charge": (_low_charge, (0.12, 0.75)),
    "overcharge": (_overcharge, (0.15, 1.2)),
    "non_condensables": (_foreign, (0.5, 4.0)),
    "drier_restricted": (_drier, (0.8, 9.0)),
    "capillary_restricted": (_capillary, (0.2, 0.8)),
    "condenser_dirty": (_dirty_condenser, (0.25, 0.85)),
    "condenser_fan_stopped": (_condenser_fan, (0.5, 1.0)),
    "evaporator_fan_stopped": (_coil_fan, (0.2, 1.0)),
    "evaporator_fans_slow": (_less_air, (0.2, 0.65)),
    "coil_dirty": (_dirty_coil, (0.2, 0.65)),
    "air_blocked": (_less_air, (0.2, 0.75)),
    "txv_starving": (_starving, (0.25, 0.85)),
    "txv_flooding": (_flooding, (0.6, 1.0)),
    "bulb_loose": (_bulb, (0.35, 0.95)),
    "compressor_weak": (_weak, (0.15, 0.65)),
    "reverse_rotation": (_weak, (0.8, 0.9)),
    "low_voltage": (_same, (0.08, 0.22)),
    **{name: (_ice, (0.25, 0.9)) for name in ICE if name != "drain_ice"},
    "drain_ice": (_ice, (0.15, 0.55)),
    "excess_load": (_same, (0.3, 1.2)),
    "door_leak": (_same, (0.2, 0.9)),
    "hot_location": (_same, (6.0, 14.0)),
    "set_point_changed": (_same, (2.0, 8.0)),
    "box_sensor_wrong": (_same, (2.0, 8.0)),
    **dict.fromkeys(NOT_RUNNING, (_same, (1.0, 1.0))),
}
UNLISTED: dict[str, tuple[Apply, tuple[float, float]]] = {
    "suction_kinked": (_kink, (0.15, 0.6)),
    "liquid_line_heated": (_hot_liquid, (0.05, 0.3)),
    "condenser_bypassed": (_bypassed, (0.05, 0.3)),
    "wrong_refrigerant": (_wrong_gas, (0.0, 1.0)),
    "coil_oil_logged": (_oil_logged, (0.6, 0.92)),
    "discharge_restricted": (_discharge, (2.0, 9.0)),
}


def fits(fault: str, unit: Unit) -> bool:
    """Return whether a unit can have this fault at all."""
    valve = unit.device == "txv"
    rules = {
        "capillary_restricted": not valve,
        "txv_starving": valve,
        "txv_flooding": valve,
        "bulb_loose": valve,
        "liquid_solenoid": valve,
        "reverse_rotation": unit.machine.compressor.kind == "scroll" and unit.phases == 3,
        "defrost_heater": unit.defrost == "electric",
        "defrost_termination": unit.defrost == "electric",
        "defrost_control": unit.defrost != "none",
        "start_gear": unit.phases == 1,
        "low_pressure_control": valve,
        "wrong_refrigerant": unit.machine.refrigerant in SWAPS,
        "hot_location": True,
    }
    return rules.get(fault, True)


def severity(fault: str, unit: Unit, rng: np.random.Generator, scale: float = 1.0) -> float:
    """Return how bad a fault is: uniform over its range, fans in whole fans; ``scale`` above 1 leans to the worse end."""
    low, high = {**LISTED, **UNLISTED}[fault][1]
    if fault in ("condenser_fan_stopped", "evaporator_fan_stopped"):
        fans = unit.fans_c if fault == "condenser_fan_stopped" else unit.fans_e
        stopped = fans if rng.random() < 0.25 else int(rng.integers(1, fans + 1))
        return stopped / fans
    return low + (high - low) * float(rng.random()) ** (1.0 / scale)


def broken(unit: Unit, faults: dict[str, float]) -> Machine:
    """Return the unit's machine with these faults in it."""
    machine = unit.machine
    for name, how_bad in faults.items():
        machine = {**LISTED, **UNLISTED}[name][0](machine, how_bad, unit)
    return machine
