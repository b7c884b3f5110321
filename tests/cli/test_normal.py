"""``holdcold normal``: what scripts get, what a technician reads, and what is said of bad input."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from holdcold.cards import read_card, resolve
from holdcold.cli.common import Desk
from holdcold.cli.main import main
from holdcold.cli.normal import SHOWN, may_leak_kg, normal_text
from holdcold.cli.words import (
    answer,
    between,
    chance_words,
    computing,
    lower,
    minutes,
    percent,
    saturation,
    settle_altitude,
    short_title,
    title,
)
from holdcold.cycle import Conditions
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.normal import normal
from holdcold.errors import EnvelopeError, InputError, SolverError
from holdcold.quantities import SI, US
from holdcold.quantities.constants import PSI_PA, STANDARD_ATMOSPHERE_PA
from holdcold.refrigerants import fluid
from support.calls import COOLER, FREEZER, PROPANE, REACH_IN, kelvin

Captured = pytest.CaptureFixture[str]
DESK = Desk(as_json=False, preference=US)


def card_file(folder: Path, text: str) -> str:
    """Write a card and return its path."""
    path = folder / "unit.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def asked(capsys: Captured, folder: Path, text: str, *typed: str) -> dict[str, object]:
    """Return what scripts get for a card."""
    assert main(["normal", card_file(folder, text), *typed, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert isinstance(data, dict)
    return data


def told(capsys: Captured, folder: Path, text: str, *typed: str) -> str:
    """Return what a person reads for a card."""
    assert main(["normal", card_file(folder, text), *typed]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("text", [COOLER, FREEZER, REACH_IN, PROPANE])
def test_scripts_get_the_names_they_rely_on(capsys: Captured, tmp_path: Path, text: str) -> None:
    data = asked(capsys, tmp_path, text, "--ambient", "95F", "--box", "20F")
    promised = {
        "readings",
        "state",
        "regime",
        "balances",
        "assumed",
        "sharpen",
        "inventory",
        "right_charge_kg",
    }
    assert promised <= data.keys()
    readings = data["readings"]
    assert readings.keys() >= set(SHOWN) | {"sight_glass_quality"}
    assert catalogue().places.keys() >= set(SHOWN)
    for place, band in readings.items():
        assert band.keys() == {"value", "low", "high"}
        assert band["low"] <= band["value"] <= band["high"], place
    assert all(abs(share) < 1e-6 for share in data["balances"].values())
    parts = [mass for name, mass in data["inventory"].items() if name != "total_kg"]
    assert sum(parts) == pytest.approx(data["inventory"]["total_kg"])
    assert data["inventory"]["total_kg"] == pytest.approx(data["right_charge_kg"], rel=1e-6)


def test_what_is_assumed_comes_with_source_and_unit(capsys: Captured, tmp_path: Path) -> None:
    data = asked(capsys, tmp_path, FREEZER, "--ambient", "95F", "--box", "0F")
    for fact in data["assumed"]:
        assert fact.keys() == {"name", "value", "spread", "unit", "dimension", "source", "hint"}
        assert fact["source"]
        assert fact["spread"] > 0.0
    shares = [one["share"] for one in data["sharpen"]]
    assert shares == sorted(shares, reverse=True)
    assert 0.0 < sum(shares) <= 1.0
    assert all(one["hint"] and one["moves"] in data["readings"] for one in data["sharpen"])


def test_the_command_and_the_python_api_agree(capsys: Captured, tmp_path: Path) -> None:
    data = asked(capsys, tmp_path, COOLER, "--ambient", "95F", "--box", "38F")
    found = normal(resolve(read_card(COOLER)), Conditions(kelvin(95.0), kelvin(38.0)))
    assert data["readings"].keys() == found.readings.keys()
    for place, band in found.readings.items():
        given = data["readings"][place]
        assert [given[end] for end in ("value", "low", "high")] == pytest.approx(
            [band.value, band.low, band.high], rel=1e-6, abs=1e-9
        )


@pytest.mark.parametrize("text", [COOLER, REACH_IN])
def test_a_unit_at_rest_has_one_pressure(capsys: Captured, tmp_path: Path, text: str) -> None:
    data = asked(capsys, tmp_path, text, "--ambient", "95F", "--box", "38F", "--off")
    assert data["state"] == "off"
    assert data["inventory"] is None
    pressures = {data["readings"][place]["value"] for place in data["readings"] if place.endswith("_pa")}
    assert len(pressures) == 1
    assert data["readings"]["compressor_a"]["value"] == 0.0


def test_a_page_for_the_technician(capsys: Captured, tmp_path: Path) -> None:
    text = told(capsys, tmp_path, COOLER, "--ambient", "95F", "--box", "38F")
    book = catalogue()
    assert all(title(book, place) in text for place in SHOWN)
    assert "9 of 10 such units" in text
    assert "subcooling says little about charge here" in text
    assert text.count("% of what the card leaves open") == 3
    assert max(map(len, text.splitlines())) <= 108


def test_rows_carry_the_numbers_of_the_json(capsys: Captured, tmp_path: Path) -> None:
    data = asked(capsys, tmp_path, COOLER, "--ambient", "95F", "--box", "38F")
    text = told(capsys, tmp_path, COOLER, "--ambient", "95F", "--box", "38F")
    band = data["readings"]["discharge_pa"]
    gauge = [(band[end] - STANDARD_ATMOSPHERE_PA) / PSI_PA for end in ("value", "low", "high")]
    row = next(line for line in text.splitlines() if line.startswith("Discharge (head) pressure"))
    assert f"{gauge[0]:.0f} psig  {gauge[1]:.0f} to {gauge[2]:.0f} psig" in row


def test_other_units(capsys: Captured, tmp_path: Path) -> None:
    text = told(capsys, tmp_path, COOLER, "--ambient", "35C", "--box", "3C", "--units", "si")
    assert "barg" in text
    assert "psig" not in text
    assert "°F" not in text


def test_a_sealed_flammable_unit_has_its_cautions(capsys: Captured, tmp_path: Path) -> None:
    text = told(capsys, tmp_path, PROPANE, "--ambient", "80F", "--box", "38F")
    assert "R-290 is flammable (A3)" in text
    assert "No service ports" in text
    assert "Sight glass" not in text
    assert "Receiver level" not in text


def test_weather_in_which_it_cannot_run_is_an_answer(capsys: Captured, tmp_path: Path) -> None:
    text = " ".join(told(capsys, tmp_path, COOLER, "--ambient", "130F", "--box", "60F").split())
    assert "has no steady point" in text
    assert "would open here" in text or "worth little" in text


@pytest.mark.parametrize("control", ["fans_cycling", "over_high_cut", "under_low_cut"])
def test_controls_are_said_in_words(control: str) -> None:
    """A control named in the regime has its sentence, whatever weather it takes to meet it."""
    resolved = resolve(read_card(COOLER))
    found = normal(resolved, Conditions(kelvin(95.0), kelvin(38.0)))
    words = {"fans_cycling": "fans cycle", "over_high_cut": "high-pressure control",
             "under_low_cut": "low-pressure control"}  # fmt: skip
    object.__setattr__(found.point, "regime", f"level+{control}")
    assert words[control] in normal_text(DESK, resolved, found)


def test_how_much_may_leak_is_what_the_receiver_holds() -> None:
    """The margin is the mass of liquid in the receiver: level times volume times density."""
    found = normal(resolve(read_card(COOLER)), Conditions(kelvin(95.0), kelvin(38.0)))
    held = found.point.inventory
    assert held is not None
    density = held.liquid_line_kg / found.unit.design.liquid_line_m3
    level = found.point.readings["receiver_level_fraction"]
    assert may_leak_kg(found) == pytest.approx(level * found.unit.design.receiver_m3 * density, rel=1e-6)


def test_every_problem_is_told_at_once(capsys: Captured, tmp_path: Path) -> None:
    card = card_file(tmp_path, COOLER.replace("R-449A", "R-449").replace("12 ft", "12"))
    assert main(["normal", card, "--ambient", "95", "--box", "5 V"]) == 2
    problems = capsys.readouterr().err
    for field in ("refrigerant:", "box.length:", "--ambient:", "--box:"):
        assert f"{field}\n" in problems
    assert "Traceback" not in problems


def test_air_out_of_reach_is_told_in_the_persons_units(capsys: Captured, tmp_path: Path) -> None:
    card = card_file(tmp_path, COOLER)
    assert main(["normal", card, "--ambient", "180F", "--box", "200F", "--json"]) == 2
    problems = json.loads(capsys.readouterr().out)["error"]
    assert [one["field"] for one in problems] == ["air entering the condenser", "box air"]
    assert problems[0]["value"] == "180.0 °F"
    assert problems[0]["allowed"] == "-40 to 140 °F"


def test_a_state_beyond_the_data_is_no_bad_input() -> None:
    with pytest.raises(SolverError, match=r"R-290 pressure 9[.]5 in[.]Hg vac"), computing(DESK):
        raise EnvelopeError("R-290 pressure", 69_200.0, "70568.5 to 2.6e6 Pa", "Nothing is extrapolated.")
    with pytest.raises(SolverError, match="R-290 pressure below vacuum"), computing(DESK):
        raise EnvelopeError("R-290 pressure", -3.0, "70568.5 to 2.6e6 Pa", "Nothing is extrapolated.")
    with pytest.raises(InputError, match="box air"), computing(DESK):
        raise InputError("box_k", 400.0, "228.0 to 318.0", "Measure again.")


def test_ambient_and_box_are_asked_for(capsys: Captured, tmp_path: Path) -> None:
    assert main(["normal", card_file(tmp_path, COOLER)]) == 2
    assert "--ambient, --box" in capsys.readouterr().err


def test_a_missing_card_is_told(capsys: Captured) -> None:
    assert main(["normal", "nowhere.toml", "--ambient", "95F", "--box", "38F"]) == 2
    assert "CARD.toml:\n  got      nowhere.toml" in capsys.readouterr().err


def test_gauges_count_from_the_air_where_the_unit_stands(capsys: Captured, tmp_path: Path) -> None:
    """At 5000 ft a gauge reads about 2.46 psi more for the same absolute pressure (US Standard
    Atmosphere 1976: 84.3 kPa against 101.3 kPa)."""
    high = COOLER + 'site = { altitude = "5000 ft" }\n'
    typed = ("--ambient", "95F", "--box", "38F")
    pressures = []
    for text in (COOLER, high):
        value = asked(capsys, tmp_path, text, *typed)["readings"]["suction_pa_service_valve"]["value"]
        row = next(
            line for line in told(capsys, tmp_path, text, *typed).splitlines() if "service valve " in line
        )
        pressures.append(float(row.split("valve")[1].split()[0]) * PSI_PA - value)
    assert (pressures[1] - pressures[0]) / PSI_PA == pytest.approx(2.46, abs=0.1)


def test_the_cards_altitude_beats_the_option(capsys: Captured, tmp_path: Path) -> None:
    high = COOLER + 'site = { altitude = "5000 ft" }\n'
    text = told(capsys, tmp_path, high, "--ambient", "95F", "--box", "38F", "--altitude", "0ft")
    assert "Note: --altitude: left aside, the card says how high the unit stands." in text
    at = Desk(as_json=False, preference=US)
    settle_altitude(at, argparse.Namespace(altitude="5000 ft"), resolve(read_card(COOLER)))
    assert at.notes == []
    assert at.preference == US


def test_saturation_beside_a_pressure() -> None:
    """250 psig of R-404A is about 104 F, 25 psig about -8 F dew: common practice, no source (CoolProp
    gives 103.9 F and -8.4 F)."""
    gas = fluid("R-404A")
    assert saturation(DESK, gas, "discharge_pa", 250 * PSI_PA + STANDARD_ATMOSPHERE_PA).endswith("104 °F")
    assert saturation(DESK, gas, "suction_pa_coil", 25 * PSI_PA + STANDARD_ATMOSPHERE_PA) == "dew -8 °F"
    assert saturation(DESK, gas, "discharge_pa", 9e6) == ""


@pytest.mark.parametrize(
    ("low", "high", "dimension", "at", "text"),
    [
        (273.15, 283.15, "temperature", US, "32 to 50 °F"),
        (273.15, 283.15, "temperature", SI, "0 to 10 °C"),
        (80e3, 170e3, "pressure", US, "6 in.Hg vac to 10 psig"),
        (201_325.0, 301_325.0, "pressure", SI, "1.0 to 2.0 barg"),
        (0.0, 5.0, "temperature_difference", SI, "0 to 5 K"),
        (0.2, 0.6, "fraction", US, "20 to 60 %"),
    ],
)
def test_ranges(low: float, high: float, dimension: str, at: object, text: str) -> None:
    assert between(Desk(as_json=False, preference=at), low, high, dimension) == text


def test_words() -> None:
    book = catalogue()
    assert answer(book, "evaporator_fans", "all_turning") == "all turning"
    assert answer(book, "unheard_of", "some_thing") == "some thing"
    assert title(book, "not_listed") == "Something not listed"
    assert short_title(book, "low_charge") == "Low on refrigerant"
    assert [lower(text) for text in ("Drier", "TXV", "")] == ["drier", "TXV", ""]
    assert [percent(chance) for chance in (0.0, 0.5, 0.999)] == ["under 1 %", "50 %", "over 99 %"]
    assert [minutes(value) for value in (4.0, 89.0, 150.0, 100.0)] == ["4 min", "89 min", "2.5 h", "1.5 h"]
    assert chance_words("likely", 0.7, numbers=True) == "likely (70 %)"
    assert chance_words("likely", 0.7, numbers=False) == "likely"
