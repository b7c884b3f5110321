"""Readings that cannot be are kept, flagged and explained; readings that can be are left alone.

Saturation: R-404A at 62.1 psig is 25.0 F dew; R-134a at 135.0 psig is 105.0 F (CoolProp 8.0.0).
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from calls.samples import CONDITIONS, call, reading
from holdcold.calls import CallLog, Flag, evidence, flags, read_call
from holdcold.cards import read_card, resolve
from holdcold.diagnosis.catalogue import catalogue
from holdcold.refrigerants import fluid

EXAMPLES = Path(__file__).parents[2] / "examples"


def flagged(found: CallLog, refrigerant: str = "R-404A", nominal_v: float | None = 230.0) -> list[Flag]:
    return list(flags(found, fluid(refrigerant), nominal_v))


def test_a_plain_call_has_no_flags() -> None:
    found = call(
        reading("suction_pa_service_valve", "60 psig"),
        reading("discharge_pa", "290 psig"),
        reading("suction_k_compressor_inlet", "45 F"),
        reading("suction_k_coil_outlet", "34 F"),
        reading("liquid_k_condenser_outlet", "110 F"),
        reading("discharge_line_k", "180 F"),
        reading("condenser_air_out_k", "108 F"),
        reading("coil_air_in_k", "38 F"),
        reading("coil_air_out_k", "33 F"),
        reading("compressor_a", "7 A"),
    )
    assert flagged(found) == []


IMPOSSIBLE = {
    "above critical": ([("discharge_pa", "560 psig")], "critical"),
    "suction above discharge": (
        [("suction_pa_service_valve", "200 psig"), ("discharge_pa", "150 psig")], "above discharge",
    ),
    "gas below its dew": (
        [("suction_pa_service_valve", "62.1 psig"), ("suction_k_compressor_inlet", "5 F")], "below dew",
    ),
    "coil outlet below dew": (
        [("suction_pa_coil", "62.1 psig"), ("suction_k_coil_outlet", "10 F")], "below dew",
    ),
    "liquid hotter than discharge": (
        [("liquid_k_condenser_outlet", "150 F"), ("discharge_line_k", "120 F")], "hotter than the discharge",
    ),
    "condenser outlet above dew": (
        [("discharge_pa", "252.1 psig"), ("liquid_k_condenser_outlet", "130 F")], "above dew",
    ),
    "superheat far below zero": ([("coil_superheat_k", "-15 F")], "below zero"),
    "hotter than any part": ([("discharge_line_k", "450 F")], "no part"),
}  # fmt: skip


@pytest.mark.parametrize(("readings", "words"), IMPOSSIBLE.values(), ids=IMPOSSIBLE)
def test_what_cannot_be_is_kept_and_explained(readings: list[tuple[str, str]], words: str) -> None:
    found = call(*(reading(place, value) for place, value in readings))
    told = [flag for flag in flagged(found) if flag.kind == "impossible"]
    assert len(told) == 1
    assert words in told[0].message
    assert told[0].advice
    assert {place for place, _ in readings} >= set(told[0].places)
    assert [one.place for one in evidence(found).readings] == [place for place, _ in readings]


def test_the_excess_is_told_in_the_persons_units() -> None:
    """R-404A at 62.1 psig is 25.0 F dew, so a pipe at 5 F would be 20 F below it."""
    found = call(
        reading("suction_pa_service_valve", "62.1 psig"), reading("suction_k_compressor_inlet", "5 F")
    )
    (flag,) = flagged(found)
    assert "20.0 °F below dew" in flag.message
    assert "25.0 °F" in flag.message


UNLIKELY = {
    "colder after the condenser": [("condenser_air_in_k", "95 F"), ("condenser_air_out_k", "80 F")],
    "warmer after the coil": [("coil_air_in_k", "38 F"), ("coil_air_out_k", "50 F")],
    "discharge colder than condensing": [("discharge_pa", "252.1 psig"), ("discharge_line_k", "80 F")],
    "gas warmer than the air": [("coil_air_in_k", "38 F"), ("suction_k_coil_outlet", "52 F")],
    "running without amps": [("compressor_a", "0.1 A")],
    "ambient far from the air": [("condenser_air_in_k", "118 F")],
    "half the volts": [("supply_v", "120 V")],
}


@pytest.mark.parametrize("readings", UNLIKELY.values(), ids=UNLIKELY)
def test_what_hardly_can_be_is_flagged(readings: list[tuple[str, str]]) -> None:
    found = call(*(reading(place, value) for place, value in readings))
    told = flagged(found)
    assert [flag.kind for flag in told] == ["unlikely"]
    assert told[0].advice


@pytest.mark.parametrize("fahrenheit", ["26 F", "24.5 F", "23 F"])
def test_a_superheat_within_what_instruments_err_is_not_flagged(fahrenheit: str) -> None:
    found = call(
        reading("suction_pa_service_valve", "62.1 psig"), reading("suction_k_compressor_inlet", fahrenheit)
    )
    assert flagged(found) == []


def test_a_worse_instrument_is_given_more_room() -> None:
    pressure = reading("suction_pa_service_valve", "62.1 psig")
    pipe = ("suction_k_compressor_inlet", "17 F")
    assert len(flagged(call(pressure, reading(*pipe, 'instrument = "clamp_thermocouple"')))) == 1
    assert flagged(call(pressure, reading(*pipe, 'instrument = "hand"'))) == []


def test_at_rest_equal_pressures_are_fine() -> None:
    rest = CONDITIONS.replace("running", "off")
    found = call(
        reading("suction_pa_service_valve", "151 psig"), reading("discharge_pa", "150 psig"), conditions=rest
    )
    assert flagged(found) == []


def test_amps_at_rest_are_told() -> None:
    found = call(reading("compressor_a", "28 A"), conditions=CONDITIONS.replace("running", "off"))
    assert "locked" in flagged(found)[0].advice


@pytest.mark.parametrize(
    ("conditions", "kind", "place"),
    [
        ('ambient = "95 F"\nbox = "38 F"\nstate = "defrost"', "unsteady", "conditions.state"),
        (CONDITIONS.replace("30", "4"), "unsteady", "conditions.minutes_in_state"),
        ('ambient = "95 F"\nbox = "38 F"', "missing", "conditions.state"),
        (CONDITIONS.replace('box = "38 F"', ""), "missing", "conditions.box"),
        (CONDITIONS.replace('ambient = "95 F"', ""), "missing", "conditions.ambient"),
    ],
)
def test_unsteady_and_missing_conditions(conditions: str, kind: str, place: str) -> None:
    (flag,) = flagged(call(reading("discharge_pa", "290 psig"), conditions=conditions))
    assert (flag.kind, flag.places) == (kind, (place,))


def test_a_later_reading_of_a_place_counts() -> None:
    found = call(
        reading("suction_pa_service_valve", "62.1 psig"),
        reading("suction_k_compressor_inlet", "5 F"),
        reading("suction_k_compressor_inlet", "44 F"),
    )
    assert flagged(found) == []
    assert len(evidence(found).readings) == 3


def test_pressure_beyond_the_data_is_told_with_its_range() -> None:
    (flag,) = flagged(call(reading("suction_pa_service_valve", "25 in.Hg vac")), "R-134a")
    assert flag.kind == "unlikely"
    assert "range" in flag.message


def test_bubble_is_not_mistaken_for_dew() -> None:
    """R-407C at 43.5 psig is 25.0 F dew and 13.6 F bubble: a pipe at 20 F lies below dew by 5 F."""
    found = call(
        reading("suction_pa_service_valve", "43.5 psig"), reading("suction_k_compressor_inlet", "16 F")
    )
    (flag,) = flagged(found, "R-407C")
    assert "9.0 °F below dew" in flag.message


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("call-*.toml")), ids=lambda path: path.stem)
def test_examples_are_read_without_flags(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    card = EXAMPLES / str(tomllib.loads(text)["card"])
    unit = resolve(read_card(card.read_text(encoding="utf-8")))
    found = read_call(text, catalogue=catalogue(), ambient_pa=unit.card.ambient_pa)
    assert found.demo
    assert flagged(found, unit.design.refrigerant, unit.design.supply_v) == []
