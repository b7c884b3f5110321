"""What a person sees, hears and measures without a number at the panel and at the condensing unit.

See ``box_senses``; rates are the generator's own, from practice (field notes 5 to 7; no source).
"""

from __future__ import annotations

import numpy as np
from benchmarks.truth.box_senses import CHARGE, Rng, pick
from benchmarks.truth.context import Context


# -------------------------------------------------------------------------- panel
def breaker(c: Context, rng: Rng) -> str:
    """Return the breaker's position."""
    if c.has("no_power"):
        return pick(rng, tripped=0.6, off_by_hand=0.12, on=0.28)
    tripped = 0.15 if c.has("compressor_motor", "compressor_seized") else 0.015
    return pick(rng, tripped=tripped, on=1.0 - tripped)


def line_volts(c: Context, rng: Rng) -> str:
    """Return line volts in words."""
    if c.has("no_power"):
        return pick(rng, none=0.75, one_leg_gone=0.1, right=0.15)
    if c.has("lost_phase"):
        return pick(rng, one_leg_gone=0.95, right=0.05)
    if c.has("low_voltage"):
        return pick(rng, low=0.93, one_leg_gone=0.04, right=0.03)
    return pick(rng, right=0.975, low=0.02, one_leg_gone=0.005)


def contact_drop(c: Context, rng: Rng) -> str:
    """Return the drop across the contactor."""
    if c.has("contactor"):
        return pick(rng, not_pulled_in=0.5, large=0.47, small=0.03)
    if c.has("loose_terminal"):
        return pick(rng, large=0.6, small=0.3, not_pulled_in=0.1)
    if not c.running:
        pulled = c.has("start_gear", "compressor_motor", "compressor_seized", "overload_open", "lost_phase")
        return pick(rng, small=0.93, large=0.07) if pulled else pick(rng, not_pulled_in=0.95, small=0.05)
    if c.has("low_voltage"):
        return pick(rng, large=0.3, small=0.7)
    return pick(rng, small=0.96, large=0.04)


def contactor_face(c: Context, rng: Rng) -> str:
    """Return the contactor's points."""
    bad = 0.85 if c.has("contactor") else 0.1
    return pick(rng, pitted_or_burnt=bad, good=1.0 - bad)


def control_chain(c: Context, rng: Rng) -> str:
    """Return where the control voltage stops."""
    if c.has("no_power"):
        return pick(rng, no_control_power=0.93, reaches_coil=0.07)
    if c.has("thermostat_controller"):
        return pick(rng, stops_at_thermostat=0.92, stops_at_clock=0.05, reaches_coil=0.03)
    if c.has("low_pressure_control", "low_pressure_misset", "liquid_solenoid") or c.trip == "low":
        return pick(rng, stops_at_low_pressure=0.88, reaches_coil=0.1, stops_at_thermostat=0.02)
    if c.trip:
        return pick(rng, stops_at_safety=0.75, reaches_coil=0.25)
    if c.has("protector_lockout"):
        return pick(rng, stops_at_safety=0.92, reaches_coil=0.08)
    if c.has(
        "compressor_motor", "compressor_seized", "start_gear", "overload_open", "contactor", "lost_phase"
    ):
        return pick(rng, reaches_coil=0.93, stops_at_safety=0.07)
    if c.has("loose_terminal"):
        return pick(rng, reaches_coil=0.65, no_control_power=0.2, stops_at_safety=0.15)
    return pick(rng, reaches_coil=0.96, stops_at_thermostat=0.02, stops_at_clock=0.01, stops_at_safety=0.01)


def amps_pattern(c: Context, rng: Rng) -> str:
    """Return how the compressor draws current."""
    if c.has("start_gear"):
        return pick(rng, locked_rotor_then_trip=0.85, none=0.15)
    if c.has("compressor_seized"):
        return pick(rng, locked_rotor_then_trip=0.93, none=0.07)
    if c.has("compressor_motor"):
        return pick(rng, locked_rotor_then_trip=0.3, none=0.7)
    if c.has("lost_phase"):
        return pick(rng, one_leg_zero=0.85, none=0.15)
    if c.has("contactor", "loose_terminal"):
        return pick(rng, none=0.75, one_leg_zero=0.15, steady=0.1)
    if not c.running:
        return "none"
    if c.has("low_voltage"):
        return pick(rng, steady=0.75, locked_rotor_then_trip=0.2, one_leg_zero=0.05)
    return pick(rng, steady=0.985, locked_rotor_then_trip=0.015)


def defrost_clock(c: Context, rng: Rng) -> str:
    """Return the state of clock or settings."""
    if c.has("defrost_clock_stopped"):
        return pick(rng, stopped=0.85, wrong_time=0.12, right=0.03)
    if c.has("defrost_control"):
        return pick(rng, wrong_time=0.3, settings_off=0.62, right=0.08)
    if c.has("coil_iced"):
        return pick(rng, right=0.7, settings_off=0.25, wrong_time=0.05)
    return pick(rng, right=0.92, wrong_time=0.04, settings_off=0.035, stopped=0.005)


def heater_amps(c: Context, rng: Rng) -> str:
    """Return heater amps in a forced defrost."""
    if c.has("defrost_heater"):
        return pick(rng, none=0.4, short_of_plate=0.56, as_plate=0.04)
    if c.has("defrost_no_heat"):
        return pick(rng, none=0.95, short_of_plate=0.03, as_plate=0.02)
    if c.has("heater_stuck_on"):
        return pick(rng, on_outside_defrost=0.93, as_plate=0.07)
    if c.has("defrost_termination"):
        return pick(rng, as_plate=0.8, none=0.18, short_of_plate=0.02)
    return pick(rng, as_plate=0.96, short_of_plate=0.02, none=0.01, on_outside_defrost=0.01)


def heater_ohms(c: Context, rng: Rng) -> str:
    """Return heater ohms."""
    if c.has("defrost_heater"):
        return pick(rng, open=0.85, grounded=0.1, as_plate=0.05)
    return pick(rng, as_plate=0.97, open=0.02, grounded=0.01)


def defrost_end(c: Context, rng: Rng) -> str:
    """Return how a defrost ends."""
    if c.has("defrost_termination"):
        return pick(rng, too_early=0.92, by_temperature=0.08)
    if c.has("termination_never_made"):
        return pick(rng, on_fail_safe=0.95, by_temperature=0.05)
    if c.has("fan_delay_open"):
        return pick(rng, fans_stay_off=0.9, by_temperature=0.1)
    if c.has("defrost_heater", "defrost_no_heat"):
        return pick(rng, on_fail_safe=0.8, by_temperature=0.2)
    return pick(rng, by_temperature=0.88, on_fail_safe=0.1, too_early=0.02)


def fan_capacitor(c: Context, rng: Rng) -> str:
    """Return the condenser fan's capacitor."""
    weak = 0.35 if c.has("condenser_fan_stopped", "condenser_fan_weak") else 0.04
    return pick(rng, weak=weak, as_marked=1.0 - weak)


def rotation(c: Context, rng: Rng) -> str:
    """Return what swapping two legs does."""
    cured = 0.98 if c.has("reverse_rotation") else 0.01
    return pick(rng, cured=cured, no_change=1.0 - cured)


def low_control_trip(c: Context, rng: Rng) -> str:
    """Return the low-pressure control against the gauge."""
    off = 0.92 if c.has("low_pressure_control") else 0.05
    return pick(rng, off_dial=off, at_dial=1.0 - off)


# ---------------------------------------------------------------- condensing unit
def condenser_face(c: Context, rng: Rng) -> str:
    """Return how the condenser's face looks; dirt between rows does not show."""
    if c.has("condenser_dirty"):
        blocked = np.clip((c.bad("condenser_dirty") - 0.15) / 0.4, 0.1, 0.92)
        return pick(rng, blocked=blocked, dusty=0.85 * (1.0 - blocked), clean=0.15 * (1.0 - blocked) + 0.02)
    return pick(rng, clean=0.62, dusty=0.355, blocked=0.025)


def condenser_light(c: Context, rng: Rng) -> str:
    """Return whether light shines through."""
    dark = np.clip((c.bad("condenser_dirty") - 0.1) / 0.3, 0.04, 0.95)
    return pick(rng, does_not=dark, shines=1.0 - dark)


def condenser_fans(c: Context, rng: Rng) -> str:
    """Return how the condenser's fans turn."""
    if not c.running:
        return pick(rng, none_turning=0.9, all_turning=0.1)
    if c.has("condenser_fan_stopped"):
        if c.bad("condenser_fan_stopped") > 0.99:
            return "none_turning"
        return "some_stopped"
    if c.has("condenser_fan_weak"):
        return pick(rng, slow=0.5, wrong_way=0.35, all_turning=0.15)
    if c.has("fan_control_open"):
        return "some_stopped"
    if c.fans_cycling:
        return pick(rng, some_stopped=0.5, all_turning=0.5)
    if (
        c.scene.point is not None
        and c.scene.unit.head_on_pa
        and c.scene.point.at.p_c < c.scene.unit.head_on_pa
    ):
        return "some_stopped" if c.scene.point.machine.air_c < 0.6 else "all_turning"
    return pick(rng, all_turning=0.985, some_stopped=0.01, wrong_way=0.005)


def condenser_place(c: Context, rng: Rng) -> str:
    """Return where the condenser stands."""
    if c.has("hot_location"):
        return pick(rng, hot_air_in=0.5, boxed_in=0.42, free_air=0.08)
    if c.has("air_recirculating"):
        return pick(rng, boxed_in=0.45, hot_air_in=0.4, free_air=0.15)
    return pick(rng, free_air=0.88, boxed_in=0.09, hot_air_in=0.03)


def compressor_sound(c: Context, rng: Rng) -> str:
    """Return the compressor by ear."""
    if c.has("start_gear", "compressor_motor", "compressor_seized", "lost_phase"):
        hums = not c.has("compressor_motor") or c.scene.state == "cycling"
        return (
            pick(rng, hums_and_trips=0.8, silent=0.2) if hums else pick(rng, silent=0.75, hums_and_trips=0.25)
        )
    if not c.running:
        return "short_cycling" if c.scene.state == "cycling" else "silent"
    if c.trip:
        return pick(rng, short_cycling=0.65, running=0.35)
    if c.has("reverse_rotation"):
        return pick(rng, loud=0.9, running=0.1)
    if c.has("solenoid_leaking"):
        return pick(rng, short_cycling=0.6, running=0.4)
    if c.has("compressor_weak", "crankcase_heater") or c.total_superheat < 1.0:
        return pick(rng, running=0.6, loud=0.4)
    if c.has("low_voltage"):
        return pick(rng, running=0.6, hums_and_trips=0.15, loud=0.25)
    return pick(rng, running=0.94, loud=0.055, short_cycling=0.005)


def sight_glass(c: Context, rng: Rng) -> str:
    """Return the sight glass, from the vapour that passes it."""
    if not c.running:
        return pick(rng, clear=0.55, empty=0.2, bubbles=0.25)
    if c.glass_x > 0.25:
        return pick(rng, bubbles=0.7, empty=0.3)
    if c.glass_x > 0.001:
        return pick(rng, bubbles=0.94, clear=0.06)
    return pick(rng, clear=0.93, bubbles=0.07)


def receiver_level(c: Context, rng: Rng) -> str:
    """Return the receiver's level as guessed by hand."""
    level = float(np.clip(c.level, 0.0, 1.0)) if c.scene.point is not None else 0.5
    if c.scene.point is None and c.has("liquid_solenoid", "low_pressure_control", "low_pressure_misset"):
        level = 0.7
    guess = level + float(rng.normal(0.0, 0.15))
    return "low" if guess < 0.15 else ("high" if guess > 0.78 else "mid")


def drier_touch(c: Context, rng: Rng) -> str:
    """Return the drier by touch."""
    felt = c.drier_k + float(rng.normal(0.0, 1.0))
    if felt > 12.0:
        return pick(rng, frost_after=0.5, cooler_after=0.5)
    return "cooler_after" if felt > 2.0 else "no_drop"


def suction_line(c: Context, rng: Rng) -> str:
    """Return the suction line at the compressor."""
    if not c.running:
        return pick(rng, warm_dry=0.85, cool=0.15)
    if c.suction_k < 271.0 + float(rng.normal(0.0, 1.5)):
        cold = c.scene.unit.application == "freezer"
        return (
            pick(rng, frosted=0.9, cool=0.1)
            if not cold or c.total_superheat < 6.0
            else pick(rng, frosted=0.6, cool=0.4)
        )
    if c.suction_k > c.room_k - 5.0 + float(rng.normal(0.0, 2.0)) or c.total_superheat > 28.0:
        return pick(rng, warm_dry=0.85, cool=0.15)
    return pick(rng, cool=0.9, warm_dry=0.1)


def oil_trace(c: Context, rng: Rng) -> str:
    """Return oil at the joints."""
    if c.has("access_leak"):
        return pick(rng, fresh_oil=0.5, old_stain=0.15, none=0.35)
    if c.has("low_charge"):
        return pick(rng, fresh_oil=0.42, old_stain=0.23, none=0.35)
    return pick(rng, none=0.8, old_stain=0.17, fresh_oil=0.03)


def glass_head_raised(c: Context, rng: Rng) -> str:
    """Return the glass once the head was raised."""
    if c.glass_x > 0.001 and c.running:
        if c.level < -0.005:
            return pick(rng, still_bubbles=0.85, clears=0.15)
        return pick(rng, still_bubbles=0.7, clears=0.3)
    return pick(rng, stays_clear=0.95, still_bubbles=0.03, clears=0.02)


def pump_down(c: Context, rng: Rng) -> str:
    """Return how a pump-down goes."""
    if c.has("compressor_weak"):
        return pick(rng, slow=0.4, will_not=0.2, rises_again=0.35, pulls_and_holds=0.05)
    if c.has("reverse_rotation"):
        return "will_not"
    if not c.running:
        return pick(rng, will_not=0.9, pulls_and_holds=0.1)
    return pick(rng, pulls_and_holds=0.93, rises_again=0.05, slow=0.02)


def standing_pressure(c: Context, rng: Rng) -> str:
    """Return the standing pressure at one temperature against saturation."""
    above = c.bad("non_condensables") * 1e5 * 0.8 if c.has("non_condensables") else 0.0
    if c.has("wrong_refrigerant"):
        return pick(rng, above=0.45, below=0.45, matches=0.1)
    gap = above + float(rng.normal(0.0, 2e4))
    if max(c.bad(name) for name in CHARGE) > 0.7:
        return pick(rng, below=0.4, matches=0.6)
    return "above" if gap > 3.5e4 else ("below" if gap < -4.5e4 else "matches")


def leak_sweep(c: Context, rng: Rng) -> str:
    """Return what a detector finds."""
    found = 0.75 if c.has(*CHARGE) else 0.05
    return pick(rng, leak_found=found, nothing=1.0 - found)


def nitrogen_bubbles(c: Context, rng: Rng) -> str:
    """Return what nitrogen and bubbles find."""
    found = 0.93 if c.has(*CHARGE) else 0.04
    return pick(rng, leak_found=found, nothing=1.0 - found)


def weighed_charge(c: Context, rng: Rng) -> str:
    """Return the charge by weight."""
    off = c.bad("overcharge") - max(c.bad(name) for name in CHARGE) + float(rng.normal(0.0, 0.05))
    return "short" if off < -0.1 else ("over" if off > 0.1 else "right")


def windings(c: Context, rng: Rng) -> str:
    """Return the windings as found."""
    if c.has("compressor_motor"):
        return pick(rng, open=0.5, grounded=0.35, good=0.05, overload_open=0.1)
    if c.has("overload_open"):
        return pick(rng, overload_open=0.93, good=0.05, open=0.02)
    hot = c.trip == "overload" or c.has("start_gear", "low_voltage", "compressor_seized", "lost_phase")
    return pick(rng, good=0.8, overload_open=0.2) if hot else pick(rng, good=0.98, overload_open=0.02)


def windings_cool(c: Context, rng: Rng) -> str:
    """Return the windings on a cool shell."""
    if c.has("compressor_motor"):
        return pick(rng, still_open=0.57, grounded=0.37, good=0.06)
    return pick(rng, good=0.985, still_open=0.01, grounded=0.005)


def start_gear_test(c: Context, rng: Rng) -> str:
    """Return the start gear."""
    if c.has("start_gear"):
        return pick(rng, capacitor_weak=0.45, relay_open=0.48, good=0.07)
    return pick(rng, good=0.95, capacitor_weak=0.035, relay_open=0.015)


def insulation(c: Context, rng: Rng) -> str:
    """Return the compressor's insulation."""
    low = 0.5 if c.has("compressor_motor") else 0.03
    return pick(rng, low=low, good=1.0 - low)


def after_cleaning(c: Context, rng: Rng) -> str:
    """Return how the machine does with a cleaned condenser."""
    if c.has("condenser_dirty") and len(c.scene.faults) == 1:
        return pick(rng, works_well=0.92, still_wrong=0.08)
    if c.running and c.scene.holds and not c.trip:
        return pick(rng, works_well=0.85, still_wrong=0.15)
    return pick(rng, still_wrong=0.94, works_well=0.06)


# ------------------------------------------------------------ rarer things to look at
def access_cores(c: Context, rng: Rng) -> str:
    """Return the access cores with soap."""
    if c.has("access_leak"):
        return pick(rng, bubbles=0.9, cap_missing=0.1)
    return pick(rng, capped_and_dry=0.87, cap_missing=0.11, bubbles=0.02)


def refrigerant_identity(c: Context, rng: Rng) -> str:
    """Return what an identifier says; air counts as mixed now and then."""
    mixed = 0.96 if c.has("wrong_refrigerant") else (0.25 if c.has("non_condensables") else 0.02)
    return pick(rng, other_or_mixed=mixed, as_plate=1.0 - mixed)


def receiver_valve(c: Context, rng: Rng) -> str:
    """Return the receiver's outlet valve."""
    shut = 0.92 if c.has("liquid_valve_part_shut") else 0.02
    return pick(rng, part_shut=shut, open=1.0 - shut)


def liquid_line(c: Context, rng: Rng) -> str:
    """Return the liquid line followed by hand."""
    if c.has("flash_gas"):
        return pick(rng, warmer_on_the_way=0.6, even=0.25, colder_at_a_point=0.15)
    if c.has("drier_restricted", "liquid_valve_part_shut") and c.running:
        return pick(rng, colder_at_a_point=0.75, even=0.25)
    return pick(rng, even=0.92, warmer_on_the_way=0.05, colder_at_a_point=0.03)


def head_setting(c: Context, rng: Rng) -> str:
    """Return the setting of the head control."""
    return pick(rng, right=0.9 if c.running else 0.88, too_low=0.05, too_high=0.05)


def fan_cycle(c: Context, rng: Rng) -> str:
    """Return how a cycled fan behaves."""
    if c.has("fan_control_open"):
        return pick(rng, never_starts=0.95, cycles_at_setting=0.05)
    return pick(rng, cycles_at_setting=0.93, never_stops=0.05, never_starts=0.02)


def condenser_fan_lead(c: Context, rng: Rng) -> str:
    """Return volts at the condenser fan's lead."""
    if c.has("condenser_fan_stopped"):
        return pick(rng, volts_not_turning=0.92, no_volts=0.08)
    if c.has("fan_control_open") or not c.running:
        return pick(rng, no_volts=0.94, volts_and_turning=0.04, volts_not_turning=0.02)
    return pick(rng, volts_and_turning=0.97, no_volts=0.02, volts_not_turning=0.01)


def recirculation(c: Context, rng: Rng) -> str:
    """Return where the condenser's air goes."""
    back = 0.9 if c.has("air_recirculating") else (0.25 if c.has("hot_location") else 0.05)
    return pick(rng, drawn_back=back, blown_away=1.0 - back)


def moisture_indicator(c: Context, rng: Rng) -> str:
    """Return the colour of the moisture indicator."""
    wet = (
        0.85
        if c.has("moisture_at_valve")
        else (0.3 if c.has("non_condensables", "drier_restricted") else 0.07)
    )
    return pick(rng, wet=wet, dry=1.0 - wet)


def suction_filter(c: Context, rng: Rng) -> str:
    """Return the drop across the suction filter."""
    drop = 0.92 if c.has("suction_strainer") else 0.04
    return pick(rng, drop=drop, no_drop=1.0 - drop)


def oil_level(c: Context, rng: Rng) -> str:
    """Return the oil at the compressor."""
    if c.has("oil_logged"):
        return pick(rng, low=0.75, right=0.25)
    if c.has("crankcase_heater") or (c.total_superheat < 1.0 and c.running):
        return pick(rng, foaming=0.55, right=0.4, low=0.05)
    if c.has(*CHARGE):
        return pick(rng, low=0.25, right=0.75)
    return pick(rng, right=0.88, low=0.08, foaming=0.04)


def shell_when_off(c: Context, rng: Rng) -> str:
    """Return the crankcase heater by hand and clamp."""
    cold = 0.95 if c.has("crankcase_heater") else 0.07
    return pick(rng, cold=cold, warm=1.0 - cold)


def shell_heat(c: Context, rng: Rng) -> str:
    """Return the shell of a compressor that does not run."""
    if c.has("overload_open", "compressor_seized", "start_gear", "lost_phase"):
        return pick(rng, too_hot_to_touch=0.75, hand_warm=0.2, cold=0.05)
    if c.trip == "overload":
        return "too_hot_to_touch"
    return pick(rng, cold=0.55, hand_warm=0.42, too_hot_to_touch=0.03)


def protector(c: Context, rng: Rng) -> str:
    """Return the protector module."""
    if c.has("protector_lockout"):
        return pick(rng, locked_out=0.8, sensor_hot=0.15, passes=0.05)
    hot = c.has("overload_open") or c.trip == "overload"
    return (
        pick(rng, sensor_hot=0.35, passes=0.65)
        if hot
        else pick(rng, passes=0.96, locked_out=0.02, sensor_hot=0.02)
    )


def terminals(c: Context, rng: Rng) -> str:
    """Return every terminal pulled and looked at."""
    loose = 0.92 if c.has("loose_terminal") else (0.2 if c.has("contactor", "low_voltage") else 0.05)
    return pick(rng, loose_or_burnt=loose, tight=1.0 - loose)


def low_control_setting(c: Context, rng: Rng) -> str:
    """Return the low-pressure control's setting against the coldest saturation."""
    wrong = 0.93 if c.has("low_pressure_misset") else 0.05
    return pick(rng, wrong=wrong, right=1.0 - wrong)


def solenoid_off(c: Context, rng: Rng) -> str:
    """Return whether the suction stays down once pumped down."""
    rises = 0.9 if c.has("solenoid_leaking") else (0.5 if c.has("compressor_weak") else 0.05)
    return pick(rng, rises=rises, stays_down=1.0 - rises)
