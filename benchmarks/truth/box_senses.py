"""What a person sees, hears and is told at the door, in the box and at the panel, from what is physically so.

Each function returns the answer of one careful look; how often people are wrong is in ``senses.ERRORS``.
Rates are the generator's own, from practice (field notes 5 to 7; no source).
"""

from __future__ import annotations

import numpy as np
from benchmarks.truth.context import Context
from benchmarks.truth.faults import DEFROST_LOAD, ICE, NOT_RUNNING

Rng = np.random.Generator
CHARGE = ("low_charge", "access_leak")
STARVING = ("txv_starving", "txv_screen", "txv_power_head", "equaliser_fault", "moisture_at_valve")
STARVED = (*CHARGE, *STARVING, "drier_restricted", "liquid_valve_part_shut", "capillary_restricted",
           "moisture_at_capillary", "flash_gas")  # fmt: skip


def pick(rng: Rng, **shares: float) -> str:
    """Return one of the names by share."""
    names = list(shares)
    p = np.array([shares[name] for name in names])
    return str(rng.choice(names, p=p / p.sum()))


# ------------------------------------------------------------------ door or phone
def user_story(c: Context, rng: Rng) -> str:
    """Return what the user tells."""
    if not c.scene.faults and c.warm_k > 4.0:
        return pick(
            rng,
            after_delivery=0.45,
            hot_day=0.15,
            no_complaint=0.2,
            sudden=0.1,
            on_and_off=0.05,
            after_power_cut=0.05,
        )
    if c.has("excess_load"):
        return pick(rng, after_delivery=0.55, hot_day=0.1, sudden=0.15, no_complaint=0.1, slow_over_weeks=0.1)
    if c.has(
        "overcharge", "non_condensables", "bulb_loose", "reverse_rotation", "wrong_refrigerant", "access_leak"
    ):
        return pick(rng, after_service=0.5, hot_day=0.15, sudden=0.1, slow_over_weeks=0.15, no_complaint=0.1)
    if c.has("liquid_valve_part_shut"):
        return pick(rng, after_service=0.6, slow_over_weeks=0.15, sudden=0.15, no_complaint=0.1)
    if c.has("moisture_at_valve", "moisture_at_capillary"):
        return pick(
            rng, on_and_off=0.5, after_service=0.25, slow_over_weeks=0.1, sudden=0.1, no_complaint=0.05
        )
    if c.has("txv_flooding", *STARVING, "drier_restricted", "distributor_plugged", "suction_strainer"):
        return pick(
            rng, after_service=0.2, slow_over_weeks=0.35, sudden=0.25, on_and_off=0.1, no_complaint=0.1
        )
    if c.has("condenser_dirty", "hot_location", "air_recirculating"):
        return pick(rng, slow_over_weeks=0.35, hot_day=0.35, on_and_off=0.1, sudden=0.1, no_complaint=0.1)
    if c.has("condenser_fan_stopped", "condenser_fan_weak", "fan_control_open"):
        return pick(rng, sudden=0.4, hot_day=0.2, on_and_off=0.25, no_complaint=0.1, slow_over_weeks=0.05)
    if c.has("defrost_control", "defrost_clock_stopped"):
        return pick(rng, after_power_cut=0.25, slow_over_weeks=0.5, sudden=0.15, no_complaint=0.1)
    slow = ("low_charge", "compressor_weak", "capillary_restricted", "coil_dirty", "oil_logged", *ICE)
    if c.has(*slow, "door_leak", "relief_vent", "frame_heater"):
        return pick(rng, slow_over_weeks=0.55, sudden=0.15, on_and_off=0.1, no_complaint=0.1, hot_day=0.1)
    if c.has("no_power", "lost_phase"):
        return pick(rng, sudden=0.6, after_power_cut=0.25, on_and_off=0.1, no_complaint=0.05)
    if c.has("overload_open", "loose_terminal", *DEFROST_LOAD):
        return pick(rng, on_and_off=0.45, sudden=0.35, hot_day=0.1, no_complaint=0.1)
    if c.has(*NOT_RUNNING, "low_voltage", "evaporator_fan_stopped", "fan_delay_open"):
        return pick(rng, sudden=0.55, on_and_off=0.25, after_power_cut=0.1, no_complaint=0.1)
    return pick(rng, slow_over_weeks=0.25, sudden=0.25, no_complaint=0.3, on_and_off=0.1, hot_day=0.1)


def display(c: Context, rng: Rng) -> str:
    """Return what the display shows."""
    if c.has("no_power"):
        return pick(rng, blank=0.75, as_box=0.25)
    if c.has("box_sensor_wrong"):
        return pick(rng, differs=0.75, as_box=0.2, alarm=0.05)
    if c.has("thermostat_controller"):
        return pick(rng, as_box=0.45, blank=0.2, alarm=0.25, differs=0.1)
    if c.has("termination_never_made"):
        return pick(rng, in_defrost=0.25, alarm=0.3, as_box=0.45)
    alarm = 0.4 if c.warm_k > 4.5 else 0.04
    return pick(rng, alarm=alarm, as_box=1.0 - alarm - 0.03, differs=0.025, in_defrost=0.005)


def set_point(c: Context, rng: Rng) -> str:
    """Return whether the settings are as left."""
    changed = (
        0.95 if c.has("set_point_changed") else (0.25 if c.has("coil_iced", "defrost_control") else 0.04)
    )
    return pick(rng, changed=changed, as_left=1.0 - changed)


def logger_trace(c: Context, rng: Rng) -> str:
    """Return what a logger would show."""
    if c.trip or c.scene.state == "cycling" or c.has("solenoid_leaking"):
        return pick(rng, trips_and_returns=0.8, slow_climb=0.1, runs_long=0.1)
    if c.has(*ICE, *DEFROST_LOAD):
        return pick(rng, steps_with_defrost=0.6, slow_climb=0.25, runs_long=0.15)
    if not c.running:
        return pick(rng, slow_climb=0.7, trips_and_returns=0.3)
    return (
        pick(rng, steady=0.8, runs_long=0.2)
        if c.scene.holds
        else pick(rng, runs_long=0.65, slow_climb=0.3, steady=0.05)
    )


def after_wait(c: Context, rng: Rng) -> str:
    """Return what half an hour with everything on does."""
    if c.trip or c.has(
        "contactor", "start_gear", "compressor_motor", "compressor_seized", "overload_open", "lost_phase"
    ):
        return pick(rng, trips=0.7, still_warm=0.3)
    if c.running and c.scene.holds:
        return pick(rng, recovers=0.9, still_warm=0.1)
    return pick(rng, still_warm=0.93, recovers=0.07)


# ---------------------------------------------------------------------------- box
def evaporator_fans(c: Context, rng: Rng) -> str:
    """Return how the box fans turn."""
    if c.has("no_power"):
        return pick(rng, none_turning=0.7, all_turning=0.3)
    if c.has("evaporator_fan_stopped"):
        return "none_turning" if c.bad("evaporator_fan_stopped") > 0.99 else "some_stopped"
    if c.has("fan_delay_open"):
        return "none_turning"
    if c.has("evaporator_fans_slow"):
        return pick(rng, slow=0.75, all_turning=0.25)
    return pick(rng, all_turning=0.985, slow=0.015)


def coil_ice(c: Context, rng: Rng) -> str:
    """Return how much ice is on the coil."""
    thick = c.ice > 0.3 + rng.normal(0.0, 0.06)
    if thick or (c.air_e < 0.45 and c.running and rng.random() < 0.5):
        return "iced"
    if c.ice > 0.12:
        return pick(rng, iced=0.4, light_frost=0.6)
    cold = c.scene.unit.application == "freezer"
    if not c.running:
        return pick(rng, clear=0.75, light_frost=0.25)
    if c.has(*STARVED):
        return pick(rng, light_frost=0.6, clear=0.35, iced=0.05)
    return pick(rng, clear=0.35 if cold else 0.65, light_frost=0.63 if cold else 0.34, iced=0.015)


def frost_pattern(c: Context, rng: Rng) -> str:
    """Return the frost's pattern."""
    if c.ice > 0.12:
        if c.has("drain_ice"):
            return pick(rng, up_from_pan=0.75, even_thick=0.15, one_end=0.1)
        if c.has("defrost_heater"):
            return pick(rng, even_thick=0.45, one_end=0.5, up_from_pan=0.05)
        if c.has("door_leak", "relief_vent"):
            return pick(rng, by_door=0.4, even_thick=0.6)
        return pick(rng, even_thick=0.8, one_end=0.15, by_door=0.05)
    if not c.running:
        return pick(rng, none=0.8, normal_thin=0.2)
    if c.total_superheat < 3.0 and c.suction_k < 273.0:
        return pick(rng, back_to_compressor=0.7, normal_thin=0.3)
    if c.has("distributor_plugged"):
        return pick(rng, one_end=0.55, first_passes_only=0.25, normal_thin=0.2)
    if c.coil_superheat > 12.0:
        return pick(rng, first_passes_only=0.7, normal_thin=0.2, none=0.1)
    if c.coil_superheat > 8.5:
        return pick(rng, first_passes_only=0.35, normal_thin=0.6, none=0.05)
    if c.air_e < 0.6:
        return pick(rng, even_thick=0.35, normal_thin=0.45, one_end=0.15, back_to_compressor=0.05)
    if c.has("door_leak", "door_open", "relief_vent"):
        return pick(rng, by_door=0.5, normal_thin=0.5)
    return pick(rng, normal_thin=0.85, none=0.1, by_door=0.025, one_end=0.025)


def coil_face(c: Context, rng: Rng) -> str:
    """Return how clean the fins are."""
    if c.has("coil_dirty"):
        return pick(rng, matted=0.8 if c.bad("coil_dirty") > 0.35 else 0.5, dusty=0.3, clean=0.03)
    return pick(rng, clean=0.72, dusty=0.26, matted=0.02)


def coil_airflow(c: Context, rng: Rng) -> str:
    """Return what a sheet of paper says of the air."""
    if c.air_e < 0.1:
        return "none"
    weak = 1.0 / (1.0 + np.exp((c.air_e - 0.70) / 0.07))
    return pick(rng, weak=weak, strong=1.0 - weak + 1e-9)


def drain_pan(c: Context, rng: Rng) -> str:
    """Return the state of the pan."""
    if c.has("drain_ice"):
        return pick(rng, ice=0.8, water_standing=0.18, draining=0.02)
    cold = c.scene.unit.application == "freezer"
    return pick(rng, draining=0.92, water_standing=0.03 if cold else 0.06, ice=0.05 if cold else 0.02)


def drain_pour(c: Context, rng: Rng) -> str:
    """Return what poured water does."""
    back = 0.93 if c.has("drain_ice") else 0.04
    return pick(rng, comes_back=back, runs_away=1.0 - back)


def door(c: Context, rng: Rng) -> str:
    """Return the state of door and gasket."""
    if c.has("door_leak"):
        return pick(rng, gasket_bad=0.5, edge_frosted=0.25, left_open=0.08, tight=0.17)
    if c.has("door_open"):
        return pick(rng, left_open=0.65, tight=0.3, gasket_bad=0.05)
    if c.has("relief_vent", "frame_heater"):
        return pick(rng, edge_frosted=0.5, tight=0.45, gasket_bad=0.05)
    return pick(rng, tight=0.87, gasket_bad=0.06, left_open=0.04, edge_frosted=0.03)


def door_light(c: Context, rng: Rng) -> str:
    """Return whether light shows at the shut door."""
    light = 0.75 if c.has("door_leak") else (0.15 if c.has("door_open") else 0.05)
    return pick(rng, light=light, dark=1.0 - light)


def box_stock(c: Context, rng: Rng) -> str:
    """Return how the goods stand."""
    if c.has("air_blocked"):
        return pick(rng, blocking_air=0.85, overfull=0.12, clear=0.03)
    if c.has("excess_load"):
        return pick(rng, hot_delivery=0.5, overfull=0.3, clear=0.18, blocking_air=0.02)
    if not c.scene.faults and c.warm_k > 4.0:
        return pick(rng, hot_delivery=0.35, clear=0.5, overfull=0.1, blocking_air=0.05)
    return pick(rng, clear=0.82, overfull=0.08, blocking_air=0.07, hot_delivery=0.03)


def product_warmth(c: Context, rng: Rng) -> str:
    """Return how warm the goods are."""
    if c.has("excess_load", "door_open") or (not c.scene.faults and c.warm_k > 4.0):
        return pick(rng, new_stock_warm=0.65, all_warm=0.25, cold=0.1)
    if c.warm_k > 4.0:
        return pick(rng, all_warm=0.75, cold=0.15, new_stock_warm=0.1)
    return pick(rng, cold=0.88, all_warm=0.07, new_stock_warm=0.05)


def sensor_agrees(c: Context, rng: Rng) -> str:
    """Return own thermometer against the display."""
    off = c.bad("box_sensor_wrong") + rng.normal(0.0, 0.9)
    return "box_warmer" if off > 1.8 else ("box_colder" if off < -1.8 else "agrees")


def box_sensor_bath(c: Context, rng: Rng) -> str:
    """Return the box sensor in an ice bath; a misplaced sensor reads true there."""
    off = 0.65 if c.has("box_sensor_wrong") else 0.04
    return pick(rng, off=off, reads_true=1.0 - off)


def bulb(c: Context, rng: Rng) -> str:
    """Return how the bulb sits."""
    loose = 0.92 if c.has("bulb_loose") else 0.05
    return pick(rng, loose_or_bare=loose, tight=1.0 - loose)


def bulb_warm_test(c: Context, rng: Rng) -> str:
    """Return what the warmed bulb does."""
    if c.has("txv_power_head"):
        return pick(rng, no_change=0.9, responds=0.1)
    if c.has("txv_screen", "moisture_at_valve", "equaliser_fault"):
        return pick(rng, no_change=0.5, responds=0.5)
    if c.has("txv_flooding"):
        return pick(rng, floods_always=0.75, responds=0.25)
    if c.running and c.glass_x > 0.03:
        return pick(rng, no_change=0.35, responds=0.65)
    return pick(rng, responds=0.92, no_change=0.05, floods_always=0.03)


def valve_frost(c: Context, rng: Rng) -> str:
    """Return frost at the valve's body."""
    frost = (
        0.75
        if c.has("txv_screen", "moisture_at_valve")
        else (0.4 if c.has(*STARVING) else (0.15 if c.running else 0.03))
    )
    return pick(rng, frost_at_body=frost, dry=1.0 - frost)


def equaliser(c: Context, rng: Rng) -> str:
    """Return the external equaliser."""
    if c.has("equaliser_fault"):
        return pick(rng, capped_or_kinked=0.55, cold_or_frosted=0.4, open_and_warm=0.05)
    return pick(rng, open_and_warm=0.94, cold_or_frosted=0.04, capped_or_kinked=0.02)


def valve_warmed(c: Context, rng: Rng) -> str:
    """Return what warming the valve or the capillary's outlet does."""
    opens = 0.85 if c.has("moisture_at_valve", "moisture_at_capillary") else 0.04
    return pick(rng, opens=opens, no_change=1.0 - opens)


def valve_setting(c: Context, rng: Rng) -> str:
    """Return the valve's stem, nozzle and size."""
    turned = 0.85 if c.has("txv_starving") else (0.4 if c.has("txv_flooding") else 0.06)
    return pick(rng, turned_or_wrong_size=turned, as_left=1.0 - turned)


def distributor_tubes(c: Context, rng: Rng) -> str:
    """Return the distributor's tubes one by one."""
    uneven = 0.9 if c.has("distributor_plugged") else (0.2 if c.running and c.glass_x > 0.02 else 0.06)
    return pick(rng, uneven=uneven, even=1.0 - uneven)


def vent(c: Context, rng: Rng) -> str:
    """Return the relief vent."""
    iced = 0.9 if c.has("relief_vent") else 0.05
    return pick(rng, iced_or_missing=iced, free=1.0 - iced)


def frame(c: Context, rng: Rng) -> str:
    """Return the door's frame by hand."""
    cold = 0.9 if c.has("frame_heater") else 0.06
    return pick(rng, cold_and_wet=cold, warm_or_dry=1.0 - cold)


def solenoid(c: Context, rng: Rng) -> str:
    """Return what the liquid solenoid does."""
    if c.has("liquid_solenoid"):
        return pick(rng, no_pull=0.65, pulls_no_flow=0.3, pulls_and_passes=0.05)
    if c.has("no_power", "thermostat_controller"):
        return pick(rng, no_pull=0.75, pulls_and_passes=0.25)
    return pick(rng, pulls_and_passes=0.95, no_pull=0.02, pulls_no_flow=0.03)


def after_melt(c: Context, rng: Rng) -> str:
    """Return how the machine does on a melted coil."""
    if c.has(*ICE):
        return pick(rng, works_well=0.8, ices_again=0.15, still_wrong=0.05)
    if not c.running or not c.scene.holds:
        return pick(rng, still_wrong=0.93, works_well=0.07)
    return pick(rng, works_well=0.9, still_wrong=0.1)


def fan_lead(c: Context, rng: Rng) -> str:
    """Return volts at the fan's lead."""
    if c.has("evaporator_fan_stopped"):
        return pick(rng, volts_not_turning=0.9, no_volts=0.1)
    if c.has("fan_delay_open", "no_power"):
        return pick(rng, no_volts=0.93, volts_and_turning=0.04, volts_not_turning=0.03)
    return pick(rng, volts_and_turning=0.97, volts_not_turning=0.015, no_volts=0.015)
