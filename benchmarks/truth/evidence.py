"""From a generated call to what the diagnosis is told: which checks were done decides which readings and
sightings.

The only place, with ``study``, ``checklist`` and ``costs``, that knows ``holdcold.diagnosis``.
"""

from __future__ import annotations

from collections.abc import Iterable

from benchmarks.truth.calls import Call
from benchmarks.truth.props import fluid

from holdcold.cards import Resolved, read_card, resolve
from holdcold.diagnosis.catalogue import Catalogue, catalogue
from holdcold.diagnosis.evidence import (
    CheckEvidence,
    Evidence,
    ReadingEvidence,
    RepairEvidence,
    SightingEvidence,
    Situation,
)

ROUNDS = ("box_walk_round", "unit_walk_round")
METERS = ("condenser_air", "coil_air", "pipe_clamps", "gauges", "superheats", "compressor_amps")
"""What is read on nearly every call.

Air pairs, pipe clamps, gauges with superheats where there are ports, amps.
"""

FOLLOW_RUNNING = ("user_story", "display_and_set_points", "box_air_and_product", "door_and_gasket",
"drier_drop",
                  "bulb_and_valve", "receiver_level_touch", "paper_airflow", "line_volts")  # fmt: skip
FOLLOW_ICE = ("defrost_clock_look", "force_defrost", "watch_defrost_end", "pan_pour")
FOLLOW_STARVED = ("equaliser_look", "warm_valve", "valve_setting_look", "distributor_look",
"moisture_indicator_look",
                  "receiver_valve_look", "liquid_line_follow", "suction_filter_drop",
                  "core_bubbles")  # fmt: skip
FOLLOW_HEAD = ("condenser_flashlight", "ribbon_test", "condenser_fan_volts", "fan_cycle_watch",
"standing_pressure",
               "identify_refrigerant")  # fmt: skip
FOLLOW_BOX_FAN = ("fan_amps_volts", "fan_delay_volts")
FOLLOW_STANDING = (
    "user_story", "display_and_set_points", "breaker_and_disconnect", "line_volts", "voltage_drop",
    "control_chain_volts",
    "windings_and_start_gear", "shell_touch", "protector_test", "terminal_pull", "contactor_look",
    "solenoid_magnet",
    "low_control_setting_look",
)  # fmt: skip
_STARVED_K = 8.0
_HEAD_K = 19.0


def resolved_card(call: Call) -> Resolved:
    """Return the call's card with its assumptions."""
    return resolve(read_card(call.card))


def brief_checks(call: Call) -> tuple[str, ...]:
    """Return the two walk-rounds, and the meters where the machine runs (amps alone where it stands)."""
    if "discharge_line_k" not in call.readings:
        return (*ROUNDS, "compressor_amps")
    return (*ROUNDS, *METERS)


def careful_checks(call: Call) -> tuple[str, ...]:
    """Return what a careful technician adds, by what the walk-rounds and the first readings showed."""
    done = list(brief_checks(call))
    if "discharge_line_k" not in call.readings:
        if call.seen.get("windings") in ("open", "overload_open"):
            done.append("cool_and_retry")
        if call.seen.get("control_chain") == "stops_at_low_pressure":
            done.append("pressure_control_trips")
        return (*done, *FOLLOW_STANDING)
    if call.seen.get("coil_ice") == "iced":
        done += FOLLOW_ICE
    if call.seen.get("evaporator_fans") in ("some_stopped", "none_turning"):
        done += FOLLOW_BOX_FAN
    if _starved(call):
        done += FOLLOW_STARVED
    if _high_head(call):
        done += FOLLOW_HEAD
    return (*done, *FOLLOW_RUNNING)


def _starved(call: Call) -> bool:
    """Return whether coil superheat is high, by gauges where there are ports, else by the frost."""
    read = {place: row[0] for place, row in call.readings.items()}
    if "suction_pa_service_valve" not in read:
        return call.seen.get("frost_pattern") == "first_passes_only"
    dew = fluid(_plate(call)).sat(read["suction_pa_service_valve"]).t_d
    return read["suction_k_coil_outlet"] - dew > _STARVED_K


def _high_head(call: Call) -> bool:
    """Return whether the head stands high over the air entering, by gauge, else by the liquid's warmth."""
    read = {place: row[0] for place, row in call.readings.items()}
    if "discharge_pa" not in read:
        return read["liquid_k_condenser_outlet"] - call.ambient_k > _HEAD_K - 5.0
    return fluid(_plate(call)).sat(read["discharge_pa"]).t_d - call.ambient_k > _HEAD_K


def _plate(call: Call) -> str:
    """Return the refrigerant that the card names."""
    return call.card.split('refrigerant = "')[1].split('"')[0]


def evidence(
    call: Call, checks: Iterable[str], book: Catalogue | None = None, repairs: Iterable[RepairEvidence] = ()
) -> Evidence:
    """Return the evidence of a call after these checks."""
    book = book or catalogue()
    places: list[str] = []
    seen: list[str] = []
    done: list[CheckEvidence] = []
    for name in checks:
        if name not in book.checks:
            continue
        check = book.checks[name]
        done.append(CheckEvidence(name, "done"))
        places += [one for one in check.readings if one in call.readings and one not in places]
        seen += [one for one in check.sightings if one in call.seen and one not in seen]
    readings = tuple(
        ReadingEvidence(place, value, name, None, kind)
        for place, (value, kind, name) in ((place, call.readings[place]) for place in places)
    )
    return Evidence(
        situation=situation(call, places),
        readings=readings,
        sightings=tuple(SightingEvidence(name, call.seen[name]) for name in seen),
        checks=tuple(done),
        repairs=tuple(repairs),
    )


def situation(call: Call, places: Iterable[str]) -> Situation:
    """Return the conditions noted: air and box are read on every call, supply only where it was measured."""
    measured = "supply_v" in places
    nominal = resolved_card(call).design.supply_v if measured else 0.0
    return Situation(
        ambient_k=call.ambient_k,
        box_k=call.box_k,
        state=call.state,
        minutes_in_state=call.minutes,
        supply_ratio=call.readings["supply_v"][0] / nominal if measured and nominal else 1.0,
        complaint=call.complaint,
        box_trend=call.trend,
        supply_measured=measured,
    )


def answers(book: Catalogue | None = None) -> dict[str, tuple[str, ...]]:
    """Return the published answers of every sighting.

    All that the generator is told of the catalogue's data.
    """
    book = book or catalogue()
    return {name: tuple(sighting.values) for name, sighting in book.sightings.items()}
