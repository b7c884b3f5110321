"""The catalogues: complete, consistent, and true to the notes they were made from."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdcold.cycle.faults import axes
from holdcold.diagnosis.catalogue import (
    FILES,
    NOT_LOOKED,
    UNIT_FACTS,
    PriorTable,
    Sighting,
    catalogue,
    known_state,
)
from holdcold.errors import InputError, UnknownNameError

BOOK = catalogue()
CAUSES = [fault.id for fault in BOOK.faults.values() if fault.family != "instrument"]
INFORMING = [sighting for sighting in BOOK.sightings.values() if sighting.informs]

# Faults the first slice must tell apart, by the id each has; ids are used in call files and never change.
WANTED = {
    "undercharge": "low_charge",
    "overcharge": "overcharge",
    "non-condensables": "non_condensables",
    "condenser dirty": "condenser_dirty",
    "condenser fan stopped": "condenser_fan_stopped",
    "evaporator fans stopped": "evaporator_fan_stopped",
    "evaporator fans slow": "evaporator_fans_slow",
    "coil iced": "coil_iced",
    "drier or liquid line restricted": "drier_restricted",
    "TXV starving": "txv_starving",
    "TXV flooding": "txv_flooding",
    "bulb loose": "bulb_loose",
    "compressor not pumping well": "compressor_weak",
    "excess box load": "excess_load",
    "capillary restricted": "capillary_restricted",
    "low voltage": "low_voltage",
    "wrong box sensor": "box_sensor_wrong",
    "lying gauge": "gauge_lying",
    "lying probe": "probe_lying",
    "no power or control voltage": "no_power",
    "contactor": "contactor",
    "start gear": "start_gear",
    "motor or overload open": "compressor_motor",
    "fan or defrost control": "defrost_control",
    "defrost heater": "defrost_heater",
    "termination and fan delay": "defrost_termination",
    "drain": "drain_ice",
    "low-pressure control": "low_pressure_control",
    "thermostat or controller": "thermostat_controller",
    "set point changed": "set_point_changed",
}

# Rows of the practice notes on how faults are told apart, each with the ids that stand for it.
# Common practice, no source; purely a matter of wires: none of them.
NOTED = {
    "scroll running backwards": ["reverse_rotation"],
    "fan delay open; heater stuck on": ["fan_delay_open", "heater_stuck_on"],
    "termination never or always made; one heater open": [
        "termination_never_made", "defrost_termination", "defrost_heater",
    ],
    "clock stopped, wrong time, trippers lost; defrost not happening": [
        "defrost_clock_stopped", "defrost_control", "defrost_no_heat",
    ],
    "drain frozen, heater dead, trap": ["drain_ice"],
    "relief vent, door heater, sweep, closer": ["relief_vent", "frame_heater", "door_leak", "door_open"],
    "probe misplaced or wrong; settings changed; thermostat": [
        "box_sensor_wrong", "set_point_changed", "thermostat_controller",
    ],
    "overload open, failed winding, seized": ["overload_open", "compressor_motor", "compressor_seized"],
    "start relay, capacitor, potential relay": ["start_gear"],
    "protector or controller lockout": ["protector_lockout"],
    "contactor pitted, loose lug, burnt terminal": ["contactor", "loose_terminal"],
    "low-pressure control drifted, leaking, mis-set": ["low_pressure_control", "low_pressure_misset"],
    "condenser fan reversed, wrong blade; recirculation; clogged": [
        "condenser_fan_weak", "air_recirculating", "condenser_dirty", "hot_location",
    ],
    "fan cycling control stuck open or closed": ["fan_control_open", "fan_control_closed"],
    "head-pressure valve bypassing, not bypassing": ["head_valve_bypassing", "head_valve_not_holding"],
    "screen plugged against power head": ["txv_screen", "txv_power_head"],
    "equaliser": ["equaliser_fault"],
    "distributor or nozzle plugged": ["distributor_plugged"],
    "drier restriction against low charge": ["drier_restricted", "low_charge", "liquid_valve_part_shut"],
    "liquid injection failed": ["injection_lost"],
    "regulators drifted, hot-gas valve leaking": ["epr_drifted", "cpr_drifted", "hot_gas_leaking"],
    "stepper valve, transducer, drive": ["eev_lost_steps", "eev_sensor_off", "drive_fault"],
    "crankcase heater dead": ["crankcase_heater"],
    "wrong charge, access core, line tap": ["access_leak", "overcharge", "wrong_refrigerant"],
    "moisture freezing": ["moisture_at_valve", "moisture_at_capillary"],
    "suction strainer; oil; flash gas; solenoid": [
        "suction_strainer", "oil_logged", "flash_gas", "liquid_solenoid", "solenoid_leaking",
    ],
    "lost phase": ["lost_phase"],
}  # fmt: skip

# The practice list of checks: id, places, minutes of one's own, waiting, risk. Common practice, no source
# (practice estimates noted by the project); this guards against slips in copying.
PRACTICE_CHECKS = [
    ("user_story", "D", 3, 0, "0"),
    ("display_and_set_points", "D", 2, 0, "0"),
    ("box_air_and_product", "B", 5, 0, "0"),
    ("box_walk_round", "B", 4, 0, "1"),
    ("unit_walk_round", "U", 4, 0, "1"),
    ("door_and_gasket", "B", 3, 0, "0"),
    ("condenser_air", "U", 4, 0, "1"),
    ("coil_air", "B", 3, 0, "1"),
    ("pipe_clamps", "BU", 8, 0, "1"),
    ("breaker_and_disconnect", "P", 4, 0, "E"),
    ("line_volts", "P", 4, 0, "E"),
    ("control_chain_volts", "P", 8, 0, "E"),
    ("compressor_amps", "P", 3, 0, "E"),
    ("fan_amps_volts", "B", 5, 0, "E"),
    ("force_defrost", "P", 6, 0, "E"),
    ("watch_defrost_end", "BP", 5, 25, "1"),
    ("heater_ohms", "P", 10, 0, "I"),
    ("fan_capacitor", "P", 5, 0, "I"),
    ("windings_and_start_gear", "U", 15, 0, "I"),
    ("insulation_test", "U", 5, 0, "I"),
    ("gauges", "U", 6, 0, "RH"),
    ("superheats", "BU", 12, 0, "RH"),
    ("drier_drop", "U", 2, 0, "0"),
    ("glass_head_raised", "U", 8, 0, "H"),
    ("pump_down", "U", 10, 0, "RH"),
    ("standing_pressure", "U", 5, 30, "R"),
    ("bulb_and_valve", "B", 8, 0, "1"),
    ("leak_sweep", "BU", 40, 0, "1"),
    ("nitrogen_bubbles", "C", 150, 0, "HR"),
    ("pressure_control_trips", "PU", 10, 0, "EH"),
    ("probe_ice_bath", "B", 12, 0, "0"),
    ("clean_condenser", "U", 30, 0, "1"),
    ("melt_coil", "B", 20, 55, "1"),
]

# Percent of root causes as noted, in the order of the notes. Common practice, no source (practice estimates).
SHARES = {
    ("walk_in", "cooler"): [13, 11, 9, 8, 7, 6, 5, 5, 5, 4, 4, 4, 2.5, 2, 2, 2, 1.5, 1.5, 1, 1],
    ("walk_in", "freezer"): [11, 9, 8, 8, 7, 7, 6, 5, 5, 4, 4, 3, 3, 3, 3, 2, 2, 1.5, 1.5, 1.5],
    ("reach_in", "any"): [18, 10, 8, 8, 8, 7, 6, 6, 5, 3, 3, 3, 3, 1.5, 1.5, 1.5, 1, 1, 0.5, 0.5],
}

READINGS = [
    "suction_pa_service_valve",
    "suction_pa_coil",
    "discharge_pa",
    "coil_superheat_k",
    "total_superheat_k",
    "subcooling_k_condenser_outlet",
    "liquid_k_condenser_outlet",
    "liquid_k_receiver_outlet",
    "drier_drop_k",
    "liquid_k_valve_inlet",
    "suction_k_coil_outlet",
    "suction_k_compressor_inlet",
    "discharge_line_k",
    "condenser_air_in_k",
    "condenser_air_out_k",
    "condenser_air_rise_k",
    "condenser_split_k",
    "coil_air_in_k",
    "coil_air_out_k",
    "coil_air_drop_k",
    "coil_td_k",
    "compressor_a",
    "compressor_w",
    "capacity_w",
    "heat_rejected_w",
    "mass_flow_kg_s",
    "receiver_level_fraction",
    "sight_glass_quality",
    "supply_v",
    "box_k",
]


# ----------------------------------------------------------------------------- complete
def test_every_wanted_fault_is_there() -> None:
    assert {words for words, name in WANTED.items() if name not in BOOK.faults} == set()


def test_every_noted_row_is_there() -> None:
    assert {name for names in NOTED.values() for name in names} - set(BOOK.faults) == set()
    assert len(BOOK.faults) >= 40


def test_there_are_checks_enough() -> None:
    assert len(BOOK.checks) >= 60


def test_every_published_reading_is_a_place() -> None:
    assert list(BOOK.places) == READINGS


@pytest.mark.parametrize(("name", "places", "minutes", "wait", "risk"), PRACTICE_CHECKS)
def test_checks_are_as_noted(name: str, places: str, minutes: float, wait: float, risk: str) -> None:
    check = BOOK.check(name)
    assert "".join(check.places) == places
    assert (check.minutes, check.wait_minutes) == (minutes, wait)
    assert set(check.risk) == set(risk)


@pytest.mark.parametrize(
    "table", BOOK.prior_data.tables, ids=lambda table: f"{table.kind} {table.application}"
)
def test_shares_are_as_noted(table: PriorTable) -> None:
    noted = SHARES[table.kind, table.application]
    percents = [row.percent for row in table.rows]
    assert percents[:20] == noted
    rest = 100.0 - math.fsum([*noted, table.none, table.not_listed])
    assert percents[20:] == [pytest.approx(rest)]
    assert 2.0 <= table.not_listed <= 5.0


def test_two_faults_at_once_as_noted() -> None:
    together = BOOK.prior_data.together
    assert (together.low, together.high) == (0.15, 0.20)
    assert BOOK.prior_data.band_factor == 2.0


def test_every_row_has_a_source() -> None:
    rows = [*BOOK.faults.values(), *BOOK.checks.values(), *BOOK.sightings.values(), *BOOK.places.values()]
    rows += [*BOOK.guards.values(), *BOOK.cautions.values(), *BOOK.groups.values()]
    assert [row.id for row in rows if len(row.source) < 10] == []


def test_what_is_only_practice_says_so() -> None:
    for name in ("checks.toml", "sightings.toml", "priors.toml"):
        assert all("practice" in text or "computed" in text for text in BOOK.files[name].sources.values())


def test_every_file_is_dated() -> None:
    assert set(BOOK.files) == set(FILES)
    assert all(dated.version.startswith(dated.date.strftime("%Y.%m")) for dated in BOOK.files.values())


def test_words_of_a_fault_are_there() -> None:
    for fault in BOOK.faults.values():
        assert fault.because, fault.id
        assert fault.kills, fault.id
        assert fault.behind, fault.id


# --------------------------------------------------------------------------- consistent
def test_severities_lie_inside_the_mechanism() -> None:
    for fault in BOOK.faults.values():
        if fault.has_physics:
            low, high, _ = axes()[fault.axis]
            assert low < fault.nodes[0], fault.id
            assert fault.nodes[-1] <= high, fault.id
            assert len(fault.nodes) == (1 if fault.unit == "present" else 4), fault.id


def test_faults_of_one_mechanism_share_their_severities() -> None:
    """So that the machine is solved once for all of them: the engine's budget rests on it."""
    rotation = "reverse_rotation"  # a scroll that runs backwards moves next to nothing, never a tenth less
    fans = {"condenser_fan_stopped", "condenser_fan_weak", "fan_control_open"}
    air = {"evaporator_fan_stopped", "fan_delay_open"}
    by_axis: dict[str, set[tuple[float, ...]]] = {}
    for fault in BOOK.faults.values():
        if (
            fault.axis
            in (
                "charge_loss",
                "valve_starve",
                "liquid_restriction",
                "noncondensables",
                "head_lost",
                "capillary_restriction",
                "leak_back",
                "bulb_loose",
            )
            and fault.id != rotation
        ):
            by_axis.setdefault(fault.axis, set()).add(fault.nodes)
    assert {axis for axis, nodes in by_axis.items() if len(nodes) > 1} == set()
    assert (
        len({BOOK.fault(name).nodes for name in fans}) == len({BOOK.fault(name).nodes for name in air}) == 1
    )


def test_frost_causes_share_the_effect() -> None:
    causes = {fault.id for fault in BOOK.faults.values() if fault.leads_to == "coil_ice"}
    assert causes == {
        "coil_iced", "defrost_heater", "defrost_control", "defrost_termination", "drain_ice",
        "defrost_clock_stopped", "defrost_no_heat",
    }  # fmt: skip
    assert all(BOOK.fault(name).axis == "coil_ice" for name in causes)


def test_faults_of_one_mechanism_are_told_apart_by_sightings() -> None:
    by_axis: dict[str, list[str]] = {}
    for fault in BOOK.faults.values():
        if fault.axis not in ("instrument", "none"):
            by_axis.setdefault(fault.axis, []).append(fault.id)
    for names in by_axis.values():
        for one in names:
            for other in names:
                if one != other:
                    assert best_ratio(one, other) > 5.0, (one, other)


def best_ratio(one: str, other: str) -> float:
    """Return how many times likelier the most telling answer is under ``one`` than under ``other``."""
    best = 1.0
    for sighting in INFORMING:
        first = BOOK.sighting_chances(sighting.id, {one: 1.0})
        second = BOOK.sighting_chances(sighting.id, {other: 1.0})
        best = max(best, *(a / b for a, b in zip(first, second, strict=True)))
    return best


def test_every_fault_is_shown_by_something() -> None:
    """Each fault shifts some sighting by five times or has a mechanism that moves readings."""
    for fault in BOOK.faults.values():
        shifts = [
            a / b
            for sighting in INFORMING
            for a, b in zip(
                BOOK.sighting_chances(sighting.id, {fault.id: 1.0}),
                BOOK.sighting_chances(sighting.id, {}),
                strict=True,
            )
        ]
        assert max(shifts) > 5.0, fault.id


def test_what_comes_and_goes_says_when() -> None:
    """Contactors, motors, start gear, valves and probes come and go; leaks and dirt do not (practice)."""
    here = {fault.id for fault in BOOK.faults.values() if fault.intermittent}
    assert {
        "contactor",
        "evaporator_fan_stopped",
        "start_gear",
        "liquid_solenoid",
        "moisture_at_valve",
        "thermostat_controller",
        "box_sensor_wrong",
        "probe_lying",
        "loose_terminal",
    } <= here
    assert {
        "low_charge",
        "condenser_dirty",
        "compressor_weak",
        "txv_screen",
        "compressor_seized",
    } & here == set()
    for fault in BOOK.faults.values():
        assert bool(fault.presence) == fault.intermittent, fault.id
        assert (fault.mean_duty < 1.0) == fault.intermittent, fault.id
    # Beta(1.5, 2): 1.5 / 3.5
    assert BOOK.fault("moisture_at_valve").mean_duty == pytest.approx(3.0 / 7.0, rel=1e-12)
    assert BOOK.fault("low_charge").mean_duty == 1.0


def test_what_a_fault_leaves_unmoved() -> None:
    assert BOOK.fault("liquid_valve_part_shut").unmoved == ("drier_drop_k",)
    assert BOOK.fault("liquid_valve_part_shut").axis == BOOK.fault("drier_restricted").axis
    assert all(set(fault.unmoved) <= set(BOOK.places) for fault in BOOK.faults.values())


def test_giving_up_is_dearer_than_any_repair() -> None:
    dearest = max(math.fsum(BOOK.costs.of_repair(fault.repair)) for fault in BOOK.faults.values())
    assert BOOK.costs.access["C"].open_minutes + dearest < BOOK.costs.unresolved_minutes


def test_dead_checks_are_guarded() -> None:
    for check in BOOK.checks.values():
        if check.isolate:
            assert "prove_dead" in check.guards, check.id


def test_gauges_wait_for_the_walk_round() -> None:
    for check in BOOK.checks.values():
        if {"suction_pa_service_valve", "discharge_pa"} & set(check.readings):
            assert {"look_first", "no_gauges_critical_charge", "flammable_gate"} <= set(check.guards), (
                check.id
            )


def test_whatever_taps_the_circuit_passes_the_flammable_gate() -> None:
    for check in BOOK.checks.values():
        if check.refrigerant_lost_kg > 0.0 or check.opens_circuit:
            assert "flammable_gate" in check.guards, check.id


# ----------------------------------------------------------------------------- priors
FACTS = st.fixed_dictionaries(
    {}, optional={name: st.sampled_from(words) for name, words in UNIT_FACTS.items()}
)


@given(st.sampled_from(["walk_in", "reach_in"]), st.sampled_from(["cooler", "freezer"]), FACTS)
def test_priors_sum_to_one_whatever_the_unit(kind: str, application: str, facts: dict[str, str]) -> None:
    priors = BOOK.priors_for(kind, application, facts)
    assert math.fsum([*priors.faults.values(), priors.none, priors.not_listed]) == pytest.approx(
        1.0, abs=1e-12
    )
    assert all(chance > 0.0 for chance in priors.faults.values())
    known = {**facts, "kind": kind, "application": application}
    assert set(priors.faults) <= {fault.id for fault in BOOK.faults_for(known)}


def test_priors_leave_out_what_cannot_be() -> None:
    txv = BOOK.priors_for("walk_in", "cooler", {"expansion": "txv"}).faults
    capillary = BOOK.priors_for("walk_in", "cooler", {"expansion": "capillary"}).faults
    assert "capillary_restricted" not in txv
    assert {"txv_starving", "txv_screen", "txv_flooding", "bulb_loose", "liquid_solenoid"} & set(
        capillary
    ) == set()
    assert {"eev_lost_steps", "eev_sensor_off"} & set(txv) == set()
    # inside its line the share goes to the others: all of "TXV starving, 4 percent"
    line = ("txv_screen", "txv_power_head", "txv_starving", "moisture_at_valve", "equaliser_fault",
            "distributor_plugged")  # fmt: skip
    noted = BOOK.prior_data.table_for("walk_in", "cooler").none
    percent = 100.0 + noted * (BOOK.prior_data.sound_factor - 1.0)
    assert math.fsum(txv[name] for name in line) == pytest.approx(4.0 / percent, rel=1e-9)
    starved = capillary["capillary_restricted"] + capillary["moisture_at_capillary"]
    leak = capillary["low_charge"] + capillary["access_leak"]
    assert starved / leak == pytest.approx(4.0 / 13.0, rel=1e-9)


def test_parts_that_are_not_fitted_cannot_fail() -> None:
    absent = {"injection": "no", "coil_regulator": "no", "crankcase_regulator": "no", "drive": "no"}
    priors = BOOK.priors_for("walk_in", "freezer", absent).faults
    assert {"injection_lost", "epr_drifted", "cpr_drifted", "drive_fault"} & set(priors) == set()
    assert "injection_lost" in BOOK.priors_for("walk_in", "freezer", {**absent, "injection": "yes"}).faults


def test_priors_know_every_cause_when_little_is_known() -> None:
    for kind, application in (("walk_in", "cooler"), ("walk_in", "freezer"), ("reach_in", "cooler")):
        possible = {fault.id for fault in BOOK.faults_for({"kind": kind, "application": application})}
        assert set(BOOK.priors_for(kind, application).faults) == set(CAUSES) & possible
    everywhere = BOOK.priors_for("walk_in", "freezer").faults
    assert set(CAUSES) - set(everywhere) == set()


def test_pairs_sum_to_one_and_know_what_comes_together() -> None:
    priors = BOOK.priors_for("walk_in", "freezer", {})
    pairs = priors.pairs()
    assert math.fsum(pairs.values()) == pytest.approx(1.0, abs=1e-12)
    dirty_fan, dirty_charge = (
        pairs[frozenset({"condenser_dirty", other})] / priors.faults[other]
        for other in ("condenser_fan_stopped", "overcharge")
    )
    assert dirty_fan / dirty_charge == pytest.approx(1.5, rel=1e-9)


def test_unknown_kind_is_refused() -> None:
    with pytest.raises(InputError, match="walk_in cooler"):
        BOOK.priors_for("ice_rink", "cooler")


# -------------------------------------------------------------------------- sightings
LEVELS = st.dictionaries(
    st.sampled_from([*BOOK.faults, "not_listed"]), st.floats(0.0, 1.0), min_size=0, max_size=3
)


@given(
    st.sampled_from(INFORMING),
    LEVELS,
    st.sampled_from(["", "freezer"]),
    st.sampled_from(["", "running", "off"]),
)
def test_chances_of_a_sighting_sum_to_one(
    sighting: Sighting, levels: dict[str, float], application: str, state: str
) -> None:
    chances = BOOK.sighting_chances(sighting.id, levels, application, state)
    assert len(chances) == len(sighting.values)
    assert math.fsum(chances) == pytest.approx(1.0, abs=1e-9)
    assert min(chances) >= sighting.error / len(sighting.values) - 1e-12 > 0.0


@given(st.sampled_from(INFORMING), st.sampled_from(CAUSES), st.sampled_from(CAUSES), st.floats(0.0, 1.0))
def test_two_faults_never_look_more_normal_than_one(
    sighting: Sighting, one: str, other: str, level: float
) -> None:
    if sighting.combine == "worst" and one != other and {one, other} <= set(sighting.given):
        both = BOOK.sighting_chances(sighting.id, {one: level, other: level})[0]
        singles = [BOOK.sighting_chances(sighting.id, {name: level})[0] for name in (one, other)]
        assert both <= min(singles) + 1e-12


@given(st.sampled_from(INFORMING), st.permutations(["low_charge", "condenser_dirty"]))
def test_order_of_faults_does_not_matter(sighting: Sighting, names: list[str]) -> None:
    forth = BOOK.sighting_chances(sighting.id, dict.fromkeys(names, 0.7))
    back = BOOK.sighting_chances(sighting.id, dict.fromkeys(reversed(names), 0.7))
    assert forth == pytest.approx(back, abs=1e-12)


def test_a_worse_fault_shows_more() -> None:
    mild, worst = (BOOK.sighting_chances("sight_glass", {"low_charge": level}) for level in (0.0, 1.0))
    # by hand: rows (0.70, 0.28, 0.02) and (0.03, 0.57, 0.40), 3 % of wrong answers over three values
    assert mild[0] == pytest.approx(0.97 * 0.70 + 0.01, abs=1e-12)
    assert worst[2] == pytest.approx(0.97 * 0.40 + 0.01, abs=1e-12)


def test_own_row_beats_axis_beats_family() -> None:
    given_rows = BOOK.sighting("condenser_fans").given
    assert given_rows["condenser_fan_stopped"][0][0] == 0.04
    assert given_rows["no_power"][0] == (0.20, 0.02, 0.76, 0.01, 0.01)
    assert BOOK.sighting("after_cleaning").given["condenser_dirty"][0] == (0.92, 0.08)
    assert BOOK.sighting("after_cleaning").given["hot_location"][0] == (0.55, 0.45)
    assert BOOK.sighting("after_cleaning").given["low_pressure_control"][0] == (0.04, 0.96)
    assert "low_charge" not in BOOK.sighting("bulb").given


def test_freezers_have_rates_of_their_own() -> None:
    cooler, freezer = (BOOK.sighting_chances("coil_ice", {}, one) for one in ("cooler", "freezer"))
    assert freezer[1] > 2.0 * cooler[1]


def test_a_dead_compressor_is_not_counted_again() -> None:
    """Known to stand, a warm line says nothing new of what stops it; known to run, nothing stops it."""
    for fault in ("thermostat_controller", "low_pressure_control", "liquid_solenoid"):
        silent = BOOK.sighting_chances("suction_line", {fault: 1.0}, state="off")
        assert silent == BOOK.sighting_chances("suction_line", {"low_charge": 1.0}, state="off")
        running = BOOK.sighting_chances("suction_line", {fault: 1.0}, state="running")
        assert running == BOOK.sighting_chances("suction_line", {})
    assert known_state({"compressor_sound": "silent"}) == "off"
    assert known_state({"compressor_sound": "loud"}) == "running"
    assert known_state({"compressor_sound": "short_cycling"}) == known_state({}) == ""


def test_what_still_differs_on_a_dead_compressor() -> None:
    hum = BOOK.sighting("amps_pattern").values.index("locked_rotor_then_trip")
    start_gear = BOOK.sighting_chances("amps_pattern", {"start_gear": 1.0}, state="off")[hum]
    thermostat = BOOK.sighting_chances("amps_pattern", {"thermostat_controller": 1.0}, state="off")[hum]
    assert start_gear > 10.0 * thermostat


def test_a_check_waits_for_what_makes_it_sensible() -> None:
    def offered(**seen: str) -> set[str]:
        return {check.id for check in BOOK.checks_for({}, seen)}

    assert {"melt_coil", "clean_condenser", "cool_and_retry"} & offered() == set()
    assert "melt_coil" in offered(coil_ice="iced")
    assert "melt_coil" not in offered(coil_ice="clear")
    assert "clean_condenser" in offered(condenser_face="blocked")


def test_stories_multiply() -> None:
    """Under one fault a story's chance is base times factor, scaled; by hand for overcharge after service."""
    values = BOOK.sighting("user_story").values
    stories = {story.value: story for story in BOOK.prior_data.stories}
    fault = BOOK.fault("overcharge")
    weights = {value: stories[value].base * stories[value].factor(fault) for value in values}
    row = BOOK.sighting("user_story").given["overcharge"][0]
    assert row[values.index("after_service")] == pytest.approx(
        0.05 * 8.0 / math.fsum(weights.values()), rel=1e-9
    )
    both = BOOK.sighting_chances("user_story", {"overcharge": 1.0, "non_condensables": 1.0})
    assert both[values.index("after_service")] > 0.6


@given(st.sampled_from([s for s in INFORMING if s.from_reading]), st.floats(-1.0, 50.0), st.floats(0.0, 10.0))
def test_answers_follow_a_predicted_reading(sighting: Sighting, reading: float, more: float) -> None:
    rule = sighting.from_reading
    assert rule is not None
    low, high = (
        dict(zip(sighting.values, sighting.chances_at(x), strict=True)) for x in (reading, reading + more)
    )
    assert math.fsum(low.values()) == pytest.approx(1.0, abs=1e-9)
    assert low[rule.order[0]] >= high[rule.order[0]] - 1e-12
    assert low[rule.order[-1]] <= high[rule.order[-1]] + 1e-12


def test_a_dry_glass_bubbles_and_a_full_one_is_clear() -> None:
    glass = BOOK.sighting("sight_glass")
    assert glass.chances_at(0.0)[0] > 0.9
    assert glass.chances_at(0.08)[1] > 0.8
    assert glass.chances_at(0.6)[2] > 0.9


def test_a_sighting_without_a_reading_says_so() -> None:
    with pytest.raises(ValueError, match="condenser_face"):
        BOOK.sighting("condenser_face").chances_at(1.0)


# ----------------------------------------------------------------------------- guards
GOOD = {
    "coil_ice": "clear",
    "condenser_face": "clean",
    "condenser_fans": "all_turning",
    "evaporator_fans": "all_turning",
}


def test_no_verdict_on_charge_before_air_is_seen() -> None:
    guard = BOOK.guard("airflow_first")
    assert {"low_charge", "overcharge", "txv_starving", "compressor_weak", "drier_restricted"} <= guard.faults
    assert {"condenser_dirty", "contactor", "coil_iced", "compressor_motor"} & guard.faults == set()
    nothing = guard.standing({}, {}, frozenset())
    assert nothing.closed
    assert set(nothing.missing) == set(GOOD)
    assert not guard.standing({}, GOOD, frozenset()).closed


@pytest.mark.parametrize(
    ("sighting", "value"),
    [("coil_ice", "iced"), ("condenser_face", "blocked"), ("evaporator_fans", "some_stopped")],
)
def test_ice_dirt_and_a_dead_fan_keep_it_closed(sighting: str, value: str) -> None:
    standing = BOOK.guard("airflow_first").standing({}, {**GOOD, sighting: value}, frozenset())
    assert standing.closed
    assert standing.against == ((sighting, value),)


def test_not_looked_is_not_seen() -> None:
    standing = BOOK.guard("airflow_first").standing({}, {**GOOD, "coil_ice": NOT_LOOKED}, frozenset())
    assert standing.closed
    assert standing.missing == ("coil_ice",)


def test_a_guard_yields_to_a_recorded_override_but_not_every_one() -> None:
    waived = frozenset({"airflow_first", "no_dry_ice_entry"})
    assert not BOOK.guard("airflow_first").standing({}, {}, frozenset(), waived).closed
    assert BOOK.guard("no_dry_ice_entry").standing({"kind": "walk_in"}, {}, frozenset(), waived).closed


def test_gauges_on_a_critical_charge_wait_for_temperatures() -> None:
    sealed = {"expansion": "capillary", "receiver": "no"}
    done = frozenset({"pipe_clamps", "coil_air", "condenser_air"})
    guard = BOOK.guard("no_gauges_critical_charge")
    assert guard.standing(sealed, {}, done).missing == ("compressor_amps",)
    assert not guard.standing(sealed, {}, done | {"compressor_amps"}).closed
    assert not guard.standing({"expansion": "txv", "receiver": "yes"}, {}, frozenset()).applies


def test_flammable_gate_stands_for_flammables_only() -> None:
    for safety, stands in (("A1", False), ("A2L", True), ("A3", True)):
        standings = BOOK.standings({"safety_class": safety}, {})
        assert ("flammable_gate" in standings) is stands
    assert not BOOK.standings({"safety_class": "A3"}, {"flammable_gate_met": "yes"})["flammable_gate"].closed


def test_a_scroll_is_not_condemned_by_pump_down() -> None:
    assert BOOK.standings({"compressor": "scroll"}, {})["no_pump_down_scroll"].closed
    assert "no_pump_down_scroll" not in BOOK.standings({"compressor": "hermetic"}, {})


# ------------------------------------------------------------------------------ costs
def test_cost_of_a_check_by_hand() -> None:
    # gauges: 6 min, 10 g at 40 min/kg, risk R 4 and H 3
    assert BOOK.check_cost("gauges") == pytest.approx(6.0 + 0.4 + 7.0, abs=1e-12)
    # logger: 5 min, a wait that counts as 120 min at 0.4, a second visit of 150
    assert BOOK.check_cost("logger") == pytest.approx(5.0 + 48.0 + 150.0, abs=1e-12)


def test_cost_of_a_repair_by_hand() -> None:
    # fan motor: 45 min; part 25 to 100, middle 50, 0.7 of it lost if wrong; 0.35 of 150 for coming back
    tried, kept = BOOK.costs.of_repair(BOOK.fault("evaporator_fan_stopped").repair)
    assert tried == pytest.approx(45.0 + 35.0 + 52.5, abs=1e-9)
    assert kept == pytest.approx(15.0, abs=1e-9)


def test_level_of_a_severity() -> None:
    fault = BOOK.fault("low_charge")
    assert [fault.level(x) for x in (0.0, 0.1, 0.4, 0.7, 0.9)] == [0.0, 0.0, pytest.approx(0.5), 1.0, 1.0]
    assert BOOK.fault("contactor").level(1.0) == 1.0


def test_faults_that_cannot_be_parted_are_a_group() -> None:
    sealed = {"expansion": "capillary", "ports": "no"}
    group = BOOK.group_of("low_charge", sealed)
    assert group is not None
    assert group.faults == ("low_charge", "capillary_restricted")
    assert BOOK.fault("moisture_at_capillary").group == ""  # a warm cloth at its outlet tells it
    assert BOOK.group_of("low_charge", {"expansion": "capillary", "ports": "yes"}) is None
    assert BOOK.group_of("contactor", sealed) is None


def test_checks_for_a_unit() -> None:
    sealed = {
        check.id for check in BOOK.checks_for({"expansion": "capillary", "ports": "no", "receiver": "no"})
    }
    assert {"gauges", "superheats", "bulb_and_valve", "receiver_level_touch"} & sealed == set()
    assert {"pipe_clamps", "compressor_amps", "coil_air"} <= sealed


@pytest.mark.parametrize("what", ["fault", "check", "sighting", "place", "guard"])
def test_near_names_are_offered(what: str) -> None:
    names = {
        "fault": "low_chrge",
        "check": "gages",
        "sighting": "site_glass",
        "place": "discharge_p",
        "guard": "look_frst",
    }
    with pytest.raises(UnknownNameError) as caught:
        getattr(BOOK, what)(names[what])
    assert caught.value.suggestions
