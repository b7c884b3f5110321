"""Pressure settings judged on the unit they are on; the facts are common practice, no source."""

from __future__ import annotations

import pytest

from cards.samples import card_text
from holdcold.cards import Resolved, read_card, resolve
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


def test_a_flooding_valve_is_kept_and_said_not_to_be_modelled() -> None:
    more = '[head]\ncontrol = "flooding_valve"\nvalve_setting = "180 psig"'
    unit = resolve(read_card(card_text(more=more)))
    assert unit.design.head_control == "none"
    assert unit.unit_facts()["head_control"] == "flooding_valve"
    assert "not in the model" in unit.cautions[0]


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
