"""Reading a card: what it takes, and everything wrong with a file at once."""

from __future__ import annotations

import pytest

from cards.samples import SIDES, card_text
from holdcold.cards import read_card
from holdcold.errors import InputError, InputErrors
from holdcold.quantities import parse


def problems(text: str) -> dict[str, InputError]:
    """Return what is wrong with a card by the field named."""
    with pytest.raises(InputErrors) as caught:
        read_card(text)
    return {problem.field: problem for problem in caught.value.problems}


def test_smallest_card() -> None:
    card = read_card(card_text())
    assert card.text("kind") == "walk_in"
    assert card.text("refrigerant") == "R-449A"
    assert card.number("box.length") == pytest.approx(3.048)
    assert card.number("capacity.horsepower") == pytest.approx(1.5 * 745.699872)


@pytest.mark.parametrize(
    "capacity",
    [
        'rated = "9.2 kBtu/h"',
        "horsepower = 1.5",
        'horsepower = "1 1/2 hp"',
        'model = "AB-0150-X"',
        "unknown = true",
        'horsepower = "don\'t know"',
        'rated = "?"',
    ],
)
def test_any_one_statement_of_capacity_will_do(capacity: str) -> None:
    assert read_card(card_text(capacity=capacity)).text("kind") == "walk_in"


def test_capacity_may_be_not_known_in_one_line() -> None:
    text = card_text().split("[box]")[0] + 'capacity = "don\'t know"\n[box]\n' + SIDES
    assert read_card(text).flag("capacity.unknown") is True


def test_amps_come_with_volts_and_phases() -> None:
    found = problems(card_text(capacity='rated_amps = "8.6 A"'))
    assert set(found) == {"supply.voltage", "supply.phases"}
    supply = '[supply]\nvoltage = "230 V"\nphases = 1'
    assert read_card(card_text(capacity='rated_amps = "8.6 A"', more=supply)).number("supply.phases") == 1.0


@pytest.mark.parametrize(
    ("written", "read"), [("Walk-in", "walk_in"), ("walkin", "walk_in"), ("REACH IN", "reach_in")]
)
def test_choices_as_people_write_them(written: str, read: str) -> None:
    assert read_card(card_text(kind=written)).text("kind") == read


@pytest.mark.parametrize("written", ["r449a", "R 449A", "R449A"])
def test_refrigerant_gets_its_proper_spelling(written: str) -> None:
    assert read_card(card_text(refrigerant=written)).text("refrigerant") == "R-449A"


def test_every_problem_is_told_at_once() -> None:
    text = card_text(
        kind="walkinn",
        refrigerant="R-449B",
        box='length = "10"\nwidth = "8 ft"\nhight = "8 ft"',
        more='[condensor]\nfans = 2\n[coil]\ntd = "95 V"\nfans = 2.5\n[supply]\nvoltage = "5000 V"',
    )
    found = problems(text)
    assert set(found) == {
        "kind", "refrigerant", "box.length", "box.height", "key in [box]", "key or section", "coil.td",
        "coil.fans", "supply.voltage",
    }  # fmt: skip
    assert "walk_in" in found["kind"].advice
    assert "R-449A" in found["refrigerant"].advice
    assert "height" in found["key in [box]"].advice
    assert "condenser" in found["key or section"].advice
    assert found["supply.voltage"].allowed == "90 V to 700 V"
    assert "unit" in found["box.length"].advice


def test_what_is_missing_is_told_with_an_example() -> None:
    found = problems("schema = 1\n")
    assert {"kind", "refrigerant", "application", "box", "capacity"} <= set(found)
    assert 'kind = "walk_in"' in found["kind"].advice


def test_a_file_without_schema_is_told() -> None:
    assert set(problems(card_text().replace("schema = 1\n", ""))) == {"schema"}


def test_text_that_is_no_toml() -> None:
    found = problems("kind = walk in")
    assert "line 1" in str(found["file"].value)


FREEZER = {"application": "freezer", "refrigerant": "R-448A"}


@pytest.mark.parametrize(
    ("changes", "more", "field"),
    [
        (FREEZER, '[controls]\nset_point = "36 F"', "controls.set_point"),
        ({}, '[controls]\nset_point = "0 F"', "controls.set_point"),
        ({}, '[controls]\nlow_cut_in = "10 psig"\nlow_cut_out = "20 psig"', "controls.low_cut_out"),
        ({}, '[head]\ncontrol = "fan_cycling"\nfan_on = "180 psig"\nfan_off = "220 psig"', "head.fan_off"),
        ({}, '[head]\ncontrol = "none"\nfan_on = "220 psig"', "head.fan_on"),
        ({}, '[head]\nfans_cycled = 3\n[condenser]\nfans = 2', "head.fans_cycled"),
        ({}, '[head]\ncontrol = "fan_cycling"\nsetting = "180 psig"', "head.setting"),
        ({}, '[expansion]\ndevice = "capillary"\n[receiver]\nvolume = "200 in3"', "receiver.volume"),
        ({"kind": "reach_in"}, '[receiver]\nvolume = "60 in3"', "receiver.volume"),
        ({}, '[expansion]\ndevice = "capillary"\nreserve = 1.3', "expansion.reserve"),
        ({}, '[expansion]\ndevice = "txv"\nsubcooling = "9 F"', "expansion.subcooling"),
        ({}, '[charge]\namount = "60 lb"', "charge.amount"),
        ({}, '[expansion]\nsuperheat = "9.5 F"\n[coil]\ntd = "10 F"', "expansion.superheat"),
        ({}, '[supply]\nphases = 2', "supply.phases"),
        ({}, '[supply]\nphases = 3\nvoltage = "115 V"', "supply.voltage"),
        ({}, '[receiver]\nfitted = false\nvolume = "100 in3"', "receiver.volume"),
        ({}, '[condenser]\nairflow = "90 cfm"', "condenser.airflow"),
        ({}, '[coil]\nairflow = "60 cfm"', "coil.airflow"),
        ({"box": SIDES + '\nvolume = "2000 ft3"'}, "", "box.volume"),
        ({"box": 'length = "10 ft"\nwidth = "8 ft"'}, "", "box.height"),
        ({"capacity": 'rated = "60 kBtu/h"\nhorsepower = "1 hp"'}, "", "capacity.horsepower"),
        ({"capacity": 'rated = "9 kBtu/h"\npower = "9 kW"'}, "", "capacity.power"),
        ({"capacity": 'rated = "9 kBtu/h"\nsuction = "40 F"'}, "", "capacity.suction"),
        ({"capacity": 'rated = "9 kBtu/h"\nambient = "95 F"\ncondensing = "90 F"'}, "", "capacity.ambient"),
        ({"capacity": 'rated = "9 kBtu/h"\nsuction = "25 F"\nreturn_gas = "10 F"'}, "", "capacity.suction"),
    ],
)  # fmt: skip
def test_contradictions(changes: dict[str, str], more: str, field: str) -> None:
    found = problems(card_text(**changes, more=more))
    assert set(found) == {field}
    assert found[field].advice
    assert found[field].allowed


def test_gauge_pressures_count_from_the_altitude() -> None:
    """Denver's 5000 ft is about 12.2 psia (ISO 2533 standard atmosphere): 2.5 psi below sea level."""
    control = '[controls]\nlow_cut_out = "5 psig"'
    sea = read_card(card_text(more=control)).number("controls.low_cut_out")
    denver = control + '\n[site]\naltitude = "5000 ft"'
    high = read_card(card_text(more=denver)).number("controls.low_cut_out")
    assert sea is not None
    assert high is not None
    assert (sea - high) / 6894.757 == pytest.approx(2.46, abs=0.02)


def test_altitude_that_cannot_be_is_one_problem() -> None:
    assert set(problems(card_text(more='[site]\naltitude = "50000 ft"'))) == {"site.altitude"}


def test_values_are_read_as_people_write_them() -> None:
    more = '[charge]\namount = "1 lb 6 oz"\n[lines]\nliquid_size = "3/8 in"\n[controls]\nset_point = "36F"'
    card = read_card(card_text(more=more))
    assert card.number("charge.amount") == pytest.approx(parse("22 oz", "mass"))
    assert card.number("lines.liquid_size") == pytest.approx(0.009525)
    assert card.number("controls.set_point") == pytest.approx(275.372, abs=1e-3)


def test_a_tube_that_is_not_made() -> None:
    found = problems(card_text(more='[lines]\nsuction_size = "1.0 in"'))
    assert "1-1/8 in" in found["lines.suction_size"].allowed


def test_a_rating_outside_the_refrigerant_data_is_told() -> None:
    found = problems(card_text(refrigerant="R-507A", more='[condenser]\nsplit = "59 F"'))
    assert all(field.startswith("rating temperatures") for field in found)
    (problem,) = found.values()
    assert problem.allowed
