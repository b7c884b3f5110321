"""Pressure settings judged on the unit they are on; the facts are common practice, no source."""

from __future__ import annotations

import pytest

from cards.samples import card_text
from holdcold.cards import Resolved, read_card, resolve
from holdcold.cycle import Conditions, build, solve
from holdcold.refrigerants import fluid

FREEZER = '[controls]\nset_point = "-10 F"\nlow_cut_in = "{cut_in}"\n'


def freezer(cut_in: str, more: str = "") -> Resolved:
    text = FREEZER.format(cut_in=cut_in) + more
    return resolve(read_card(card_text(application="freezer", refrigerant="R-404A", more=text)))


def test_usual_freezer_cut_in_is_marginal() -> None:
    """25 psig of R-404A, a usual freezer cut-in, is about -8 F dew, above the saturation of a -10 F box."""
    (caution,) = freezer("25 psig").cautions
    assert "-8.4 F" in caution
    assert "above the box at -10.0 F" in caution


def test_a_cut_in_well_below_the_box_passes() -> None:
    assert freezer("10 psig").cautions == ()


def test_a_cut_in_just_below_the_box_has_no_margin() -> None:
    (caution,) = freezer("21 psig").cautions
    assert "only just below" in caution


def test_where_the_control_is_the_thermostat_the_logic_is_the_opposite() -> None:
    assert freezer("25 psig", 'low_role = "thermostat"').cautions == ()


def test_outdoors_the_weather_counts() -> None:
    """-20 F outdoors is 16 psig of R-404A: a 15 psig cut-in never closes there (field notes, computed)."""
    place = '[condenser]\nlocation = "outdoor"\n[site]\ncoldest = "-20 F"'
    (caution,) = freezer("15 psig", place).cautions
    assert "coldest air" in caution


def test_usual_fan_cut_in_lies_below_summer_head() -> None:
    """250 psig of R-404A, a usual fan cut-in, is about 104 F condensing and lies below a 95 F day's head."""
    medium = fluid("R-404A")
    more = '[head]\ncontrol = "fan_cycling"\nfan_on = "250 psig"\nfan_off = "205 psig"'
    unit = resolve(read_card(card_text(refrigerant="R-404A", more=more)))
    assert medium.dew_k(unit.design.fan_on_pa) * 1.8 - 459.67 == pytest.approx(104.4, abs=0.6)
    assert medium.dew_k(unit.design.fan_on_pa) < unit.design.rated_ambient_k + unit.design.condenser_split_k
    assert unit.cautions == ()


def test_a_fan_cut_in_above_summer_head_is_cautioned() -> None:
    more = '[head]\ncontrol = "fan_cycling"\nfan_on = "330 psig"\nfan_off = "280 psig"'
    (caution,) = resolve(read_card(card_text(refrigerant="R-404A", more=more))).cautions
    assert "all summer" in caution


@pytest.mark.parametrize("control", ["flooding_valve", "fan_speed"])
def test_head_is_held_in_the_cold_at_the_setting(control: str) -> None:
    more = f'[head]\ncontrol = "{control}"\nsetting = "180 psig"\n[condenser]\nlocation = "outdoor"'
    unit = resolve(read_card(card_text(refrigerant="R-404A", more=more)))
    assert unit.design.head_control == control
    assert unit.design.head_set_pa == pytest.approx(101_325.0 + 180 * 6894.757, abs=1.0)
    cold = solve(build(unit.design), Conditions(268.15, unit.design.set_point_k))
    assert cold.readings["discharge_pa"] == pytest.approx(unit.design.head_set_pa, rel=0.03)


def test_an_assumed_setting_is_held_too() -> None:
    """Common practice, no source: valves on R-404A come set near 180 psig, about 85 F condensing."""
    unit = resolve(read_card(card_text(refrigerant="R-404A", more='[head]\ncontrol = "flooding_valve"')))
    assert (unit.design.head_set_pa - 101_325.0) / 6894.757 == pytest.approx(187.0, abs=8.0)
    assert "head_set_pa" in {fact.name for fact in unit.uncertain()}


def test_regulators_and_injection_reach_the_design() -> None:
    more = (
        '[regulators]\nevaporator = "45 psig"\ncrankcase = "40 psig"\n[lines]\naccumulator = "90 in3"\n'
        'exchanger = "30 %"\n[compressor]\ninjection = "225 F"\n[expansion]\ndevice = "eev"'
    )
    unit = resolve(read_card(card_text(refrigerant="R-404A", more=more)))
    design = unit.design
    assert design.coil_hold_pa > design.crankcase_hold_pa > 101_325.0
    assert design.accumulator_m3 == pytest.approx(90 * 0.0254**3)
    assert design.exchanger == 0.3
    assert design.injection_k * 1.8 - 459.67 == pytest.approx(225.0)
    assert design.expansion == "eev"
    plain = resolve(read_card(card_text(refrigerant="R-404A"))).design
    assert (plain.coil_hold_pa, plain.injection_k, plain.exchanger) == (0.0, 0.0, 0.0)


def read_at_rating(more: str = "") -> tuple[dict[str, float], float]:
    """Return readings at the rating point, and the right charge."""
    unit = resolve(read_card(card_text(more=more)))
    machine = build(unit.design)
    point = solve(machine, Conditions(unit.design.rated_ambient_k, unit.design.set_point_k))
    assert point.state == "running"
    return dict(point.readings), machine.right_charge_kg


def test_each_part_does_what_it_is_for() -> None:
    """Directions: what each part is made for (common practice, no source)."""
    plain, charge_kg = read_at_rating()
    held, _ = read_at_rating('[regulators]\nevaporator = "53 psig"')
    assert plain["suction_pa_coil"] < 101_325.0 + 53 * 6894.757
    assert held["suction_pa_coil"] == pytest.approx(101_325.0 + 53 * 6894.757, rel=0.01)
    assert held["suction_pa_service_valve"] < plain["suction_pa_service_valve"]
    spared, _ = read_at_rating('[regulators]\ncrankcase = "40 psig"')
    assert spared["suction_pa_service_valve"] == pytest.approx(101_325.0 + 40 * 6894.757, rel=0.01)
    assert spared["compressor_w"] < plain["compressor_w"]
    cooled, _ = read_at_rating('[compressor]\ninjection = "160 F"')
    assert cooled["discharge_line_k"] < plain["discharge_line_k"] - 3.0
    _, larger_kg = read_at_rating('[lines]\naccumulator = "90 in3"')
    assert larger_kg > charge_kg
    warmed, _ = read_at_rating('[lines]\nexchanger = "40 %"')
    assert warmed["liquid_k_valve_inlet"] < plain["liquid_k_valve_inlet"] - 3.0
    assert warmed["suction_k_compressor_inlet"] > plain["suction_k_compressor_inlet"] + 3.0


PARTS = {
    "injection": '[compressor]\ninjection = "225 F"',
    "coil_regulator": '[regulators]\nevaporator = "45 psig"',
    "crankcase_regulator": '[regulators]\ncrankcase = "40 psig"',
    "accumulator": '[lines]\naccumulator = "90 in3"',
    "exchanger": '[lines]\nexchanger = "30 %"',
}


@pytest.mark.parametrize("part", PARTS)
def test_a_part_is_there_when_the_card_has_it(part: str) -> None:
    facts = resolve(read_card(card_text(more=PARTS[part]))).unit_facts()
    assert {name: facts[name] for name in PARTS} == {name: "yes" if name == part else "no" for name in PARTS}


def test_words_of_the_card_are_the_words_of_the_catalogues() -> None:
    more = (
        '[expansion]\ndevice = "eev"\n[head]\ncontrol = "fan_speed"\n[controls]\nlow_role = "pump_down"\n'
        '[compressor]\ndrive = true\n[defrost]\nkind = "hot_gas"'
    )
    facts = resolve(read_card(card_text(more=more))).unit_facts()
    words = {"expansion": "eev", "head_control": "fan_speed", "low_role": "pump_down", "drive": "yes"}
    assert words.items() <= facts.items()
    assert facts["defrost"] == "hot_gas"
    bare = resolve(read_card(card_text())).unit_facts()
    assert bare.keys() & {"low_role", "defrost"} == set()
    assert (bare["expansion"], bare["head_control"], bare["drive"]) == ("txv", "fan_cycling", "no")


@pytest.mark.parametrize("refrigerant", ["R-22", "R-134a", "R-290", "R-404A", "R-448A", "R-507A", "R-513A"])
@pytest.mark.parametrize("application", ["cooler", "freezer"])
def test_assumed_cut_outs_leave_room_to_run(refrigerant: str, application: str) -> None:
    design = resolve(read_card(card_text(refrigerant=refrigerant, application=application))).design
    medium = fluid(refrigerant)
    summer_pa = medium.dew_pa(design.rated_ambient_k + design.condenser_split_k)
    assert design.high_cut_pa > 1.15 * summer_pa
    assert design.high_cut_pa < medium.p_max
    assert medium.p_min <= design.low_cut_pa < 0.9 * medium.dew_pa(design.rated_evap_k)
    assert design.fan_off_pa < design.fan_on_pa < summer_pa
