"""``holdcold find``: calls on machines with known faults, as files; what scripts get and technicians read."""

from __future__ import annotations

import io
import json
import tomllib
from pathlib import Path
from typing import Any

import CoolProp.CoolProp as CP  # noqa: N817 - as its own documentation names it
import pytest

from cli.call_files import CARDS, CLEAN, EVERYTHING, ROUNDS, as_toml, call_on, off, written
from holdcold.answers.compared import Compared, compared
from holdcold.answers.verdict import strong
from holdcold.calls import evidence, read_call
from holdcold.cards import read_card, resolve
from holdcold.cli.card import load
from holdcold.cli.common import Desk
from holdcold.cli.find import answer_call, json_call, page_of
from holdcold.cli.main import main
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.problem import open_case
from holdcold.errors import InputError
from holdcold.quantities import US
from support.calls import PROPANE

Captured = pytest.CaptureFixture[str]
STANDING = """
schema = 1
[conditions]
ambient = "88 F"
box = "45 F"
state = "running"
minutes_in_state = 40
complaint = "warm"
[[reading]]
place = "suction_pa_service_valve"
value = "200 psig"
[[reading]]
place = "discharge_pa"
value = "60 psig"
"""


def asked(capsys: Captured, *typed: str) -> dict[str, Any]:
    """Return what scripts get."""
    assert main(["find", *typed, "--json"]) == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    return data


def told(capsys: Captured, *typed: str) -> str:
    """Return what a person reads, on one line so that it does not matter where it was wrapped."""
    assert main(["find", *typed]) == 0
    return " ".join(capsys.readouterr().out.split())


def both(paths: list[str], *, numbers: bool = False) -> tuple[dict[str, Any], str]:
    """Return what scripts get and what a person reads, from one finding; the page on one line."""
    at = Desk(as_json=False, preference=US)
    resolved = load(paths[0])
    text = Path(paths[1]).read_text(encoding="utf-8")
    call = read_call(text, catalogue=catalogue(), ambient_pa=resolved.card.ambient_pa)
    answered = answer_call(at, resolved, call)
    return answered.data, " ".join(page_of(at, resolved, answered, numbers=numbers).split())


def first(data: dict[str, Any]) -> str:
    """Return the leading suspect."""
    return str(data["suspects"][0]["fault"])


# ------------------------------------------------------------ what an experienced person would not laugh at
def test_low_charge(capsys: Captured, tmp_path: Path) -> None:
    data = asked(
        capsys, *written(tmp_path, "cooler", call_on("cooler", {"low_charge": 0.7}, EVERYTHING, box=50.0))
    )
    assert first(data) == "low_charge"
    assert data["suspects"][0]["chance"] > 0.9
    assert data["act"]["first"] == "low_charge"


def test_dirty_condenser(capsys: Captured, tmp_path: Path) -> None:
    call = call_on("cooler", {"condenser_dirty": 0.6}, EVERYTHING, box=44.0, condenser_face="blocked")
    data = asked(capsys, *written(tmp_path, "cooler", call))
    assert first(data) == "condenser_dirty"
    assert data["act"]["enough"]
    assert data["act"]["first"] == "condenser_dirty"


def test_one_dead_evaporator_fan(capsys: Captured, tmp_path: Path) -> None:
    call = call_on(
        "freezer", {"evaporator_fan_stopped": 1 / 3}, EVERYTHING, box=8.0, evaporator_fans="some_stopped"
    )
    data = asked(capsys, *written(tmp_path, "freezer", call))
    assert first(data) == "evaporator_fan_stopped"
    assert data["act"]["first"] == "evaporator_fan_stopped"


def test_restricted_drier(capsys: Captured, tmp_path: Path) -> None:
    call = call_on("freezer", {"drier_restricted": 500e3}, EVERYTHING, box=8.0, coil_ice="light_frost")
    data = asked(capsys, *written(tmp_path, "freezer", call))
    assert first(data) == "drier_restricted"
    assert data["act"]["first"] == "drier_restricted"


def test_two_at_once(tmp_path: Path) -> None:
    faults = {"condenser_dirty": 0.6, "low_charge": 0.7}
    call = call_on("cooler", faults, EVERYTHING, box=50.0, condenser_face="blocked")
    paths = written(tmp_path, "cooler", call)
    data, text = both(paths)
    assert data["hypotheses"][0]["faults"] == ["condenser_dirty", "low_charge"]
    assert data["act"]["first"] == "condenser_dirty"
    assert "Two things at once" in text
    assert "Enough to act: clean the condenser" in text
    assert "Held back: low on refrigerant" in text
    assert "now condenser face: matted or blocked" in text
    assert '[[override]] guard = "airflow_first"' in text
    assert "then read again: low on refrigerant stays almost certain" in text


def test_no_charge_is_checked_or_added_with_a_fan_standing(capsys: Captured, tmp_path: Path) -> None:
    call = call_on("cooler", {"low_charge": 0.7}, EVERYTHING, box=50.0, evaporator_fans="none_turning")
    data = asked(capsys, *written(tmp_path, "cooler", call))
    assert data["act"]["first"] != "low_charge"
    held = [flag for flag in data["flags"] if flag["kind"] == "guard"]
    assert "low_charge" in held[0]["withholds"]


def test_nothing_runs(capsys: Captured, tmp_path: Path) -> None:
    call = off(call_on("cooler", {"contactor": 1.0}, (*ROUNDS, "control_chain_volts"), box=55.0))
    data = asked(capsys, *written(tmp_path, "cooler", call))
    electrical = {"contactor", "no_power", "start_gear", "compressor_motor", "thermostat_controller"}
    assert first(data) in electrical
    assert not any(one["fault"] == "low_charge" and one["chance"] > 0.1 for one in data["suspects"])


def test_an_iced_freezer_is_a_defrost_call(capsys: Captured, tmp_path: Path) -> None:
    seen = {"coil_ice": "iced", "frost_pattern": "even_thick"}
    call = call_on("freezer", {"defrost_heater": 0.6}, ROUNDS, box=15.0, **seen)
    data = asked(capsys, *written(tmp_path, "freezer", call))
    family = {fault.id for fault in catalogue().faults.values() if fault.leads_to == "coil_ice"}
    assert first(data) in family


def test_a_phone_call_sends_one_to_look_first(capsys: Captured, tmp_path: Path) -> None:
    paths = written(tmp_path, "cooler", 'schema = 1\n[conditions]\ncomplaint = "warm"\n')
    text = told(capsys, *paths)
    assert "Can't tell yet: take these two." in text
    assert "Take first: walk round" in text
    assert "Then: walk round" in text
    assert "nobody measured it: the set point" in text


def test_no_gauges_are_asked_of_a_sealed_unit(tmp_path: Path) -> None:
    rounds = "".join(f'[[check]]\nid = "{name}"\noutcome = "done"\n' for name in ROUNDS)
    seen = "".join(f'[[sighting]]\nid = "{name}"\nseen = "{value}"\n' for name, value in CLEAN.items())
    call = STANDING.partition("[[reading]]")[0] + rounds + seen
    paths = written(tmp_path, PROPANE, call)
    data, text = both(paths)
    asked_for = [data["next_check"]["check"], *(one["check"] for one in data["other_checks"])]
    assert not {"gauges", "superheats", "standing_pressure"} & set(asked_for)
    assert "R-290 is flammable (A3)" in text


# ---------------------------------------------------------------------------------- what scripts rely on
@pytest.fixture
def dirty(tmp_path: Path) -> list[str]:
    """Card and call of a cooler with a dirty condenser, as two paths."""
    call = call_on("cooler", {"condenser_dirty": 0.6}, EVERYTHING, box=44.0, condenser_face="blocked")
    return written(tmp_path, "cooler", call)


@pytest.fixture
def looked(tmp_path: Path) -> list[str]:
    """The same after the walk-rounds alone: something is left to ask."""
    call = call_on("cooler", {"condenser_dirty": 0.6}, ROUNDS, box=44.0, condenser_face="dusty")
    return written(tmp_path, "cooler", call)


def test_scripts_get_the_names_they_rely_on(capsys: Captured, looked: list[str]) -> None:
    data = asked(capsys, *looked)
    assert {"suspects", "hypotheses", "next_check", "act", "flags", "engine"} <= data.keys()
    for suspect in data["suspects"]:
        assert {"fault", "chance", "severity", "why", "against"} <= suspect.keys()
        assert suspect["fault"] in catalogue().faults
        assert 0.0 <= suspect["chance"] <= 1.0
    assert all(one.keys() == {"faults", "chance"} for one in data["hypotheses"])
    promised = {"check", "cost_minutes", "place", "why", "outcomes", "cautions"}
    assert promised <= data["next_check"].keys()
    assert data["next_check"]["check"] in catalogue().checks
    assert {"enough", "reason"} <= data["act"].keys()
    assert data["engine"]["version"]
    assert set(data["engine"]["data"]) == set(catalogue().files)


def test_the_same_call_gives_the_same_answer(capsys: Captured, dirty: list[str]) -> None:
    assert asked(capsys, *dirty) == asked(capsys, *dirty)


def test_readings_reach_the_answer_in_si(capsys: Captured, dirty: list[str]) -> None:
    call = read_call(Path(dirty[1]).read_text(encoding="utf-8"), catalogue=catalogue())
    typed = {reading.place: reading.value_si for reading in call.readings}
    shown = {row["place"]: row["value"] for row in asked(capsys, *dirty)["readings"]}
    assert shown
    assert all(typed[place] == value for place, value in shown.items())


# ------------------------------------------------------------------------------------ what a person reads
def test_three_suspects_in_words_without_numbers(capsys: Captured, dirty: list[str]) -> None:
    assert main(["find", *dirty]) == 0
    page = capsys.readouterr().out
    suspects = page.split("\n1. ")[1].split("Besides:")[0]
    assert "%" not in suspects.replace("% of calls", "")
    assert "4. " not in suspects
    assert "because" in suspects
    assert "killed by" in suspects
    assert max(map(len, page.splitlines())) <= 115


def test_numbers_on_request(dirty: list[str]) -> None:
    data, text = both(dirty, numbers=True)
    chance = data["suspects"][0]["chance"]
    assert ("over 99 %" if chance > 0.995 else f"({100 * chance:.0f} %)") in text
    assert "severity" in text
    assert "of air and conductance lost" in text
    assert "[x " in text


def test_other_units(capsys: Captured, dirty: list[str]) -> None:
    text = told(capsys, *dirty, "--units", "si", "--numbers")
    assert "barg" in text
    assert "psig" not in text


def test_the_repair_comes_with_proof_and_cautions(dirty: list[str]) -> None:
    _, text = both(dirty)
    assert "Enough to act: clean the condenser (30 min of work, at the condensing unit)" in text
    assert "proof" in text
    assert "caution" in text
    assert "Out of place" in text


def test_unsteady_readings_hold_everything_back(tmp_path: Path) -> None:
    call = as_toml(call_on("cooler", {"low_charge": 0.7}, EVERYTHING, box=50.0))
    call = call.replace("minutes_in_state = 60", "minutes_in_state = 3")
    paths = written(tmp_path, "cooler", call)
    data, text = both(paths)
    assert not data["act"]["enough"]
    assert all(one["chance"] <= 0.8 for one in data["suspects"])
    assert "Not steady yet: wait 7 minutes" in text


def test_an_override_stays_in_sight(capsys: Captured, tmp_path: Path) -> None:
    call = as_toml(call_on("cooler", {"low_charge": 0.7}, EVERYTHING, box=50.0, evaporator_fans="slow"))
    call += '[[override]]\nguard = "airflow_first"\nreason = "owner wants the charge weighed today"\n'
    text = told(capsys, *written(tmp_path, "cooler", call))
    assert "set aside airflow_first: Set aside: owner wants the charge weighed today" in text


# ------------------------------------------------------------------------------- readings beside normal
def test_superheat_and_subcooling_against_coolprop() -> None:
    """Superheat is pipe minus dew, subcooling bubble minus pipe, with saturation from CoolProp 8 (R290)."""
    text = STANDING.replace("200 psig", "45 psig").replace("60 psig", "200 psig")
    text += '[[reading]]\nplace = "suction_k_compressor_inlet"\nvalue = "50 F"\n'
    text += '[[reading]]\nplace = "liquid_k_condenser_outlet"\nvalue = "95 F"\n'
    resolved = resolve(read_card(PROPANE))
    call = read_call(text, catalogue=catalogue())
    rows = {one.place: one for one in compared(open_case(resolved, evidence(call, 115.0), catalogue()))}
    low, high = (CP.PropsSI("T", "P", (psig + 14.69595) * 6894.757, "Q", 1, "R290") for psig in (45.0, 200.0))
    kelvin_50, kelvin_95 = (50 + 459.67) / 1.8, (95 + 459.67) / 1.8
    assert rows["total_superheat_k"].value == pytest.approx(kelvin_50 - low, abs=0.05)
    assert rows["subcooling_k_condenser_outlet"].value == pytest.approx(high - kelvin_95, abs=0.05)
    assert rows["total_superheat_k"].worked_out
    assert not rows["discharge_pa"].worked_out
    assert "suction_k_coil_outlet" not in rows


def test_a_readings_own_error_widens_what_would_not_surprise() -> None:
    """An analogue gauge errs more than a digital one (instruments.toml), so its band is wider."""
    resolved = resolve(read_card(CARDS["cooler"]))
    widths = []
    for tool in ("gauge_digital", "gauge_analogue"):
        text = STANDING.replace('"200 psig"', f'"45 psig"\ninstrument = "{tool}"').replace(
            "60 psig", "250 psig"
        )
        rows = compared(
            open_case(resolved, evidence(read_call(text, catalogue=catalogue()), 230.0), catalogue())
        )
        row = next(one for one in rows if one.place == "suction_pa_service_valve")
        widths.append(row.high - row.low)
    assert widths[0] < widths[1]


@pytest.mark.parametrize(
    ("sigmas", "words"),
    [
        (0.0, "as it should"),
        (1.6, "as it should"),
        (-2.0, "low"),
        (2.0, "high"),
        (4.0, "far too high"),
        (-9.0, "far too low"),
    ],
)
def test_how_a_reading_compares(sigmas: float, words: str) -> None:
    assert Compared("box_k", 1.0, 0.0, 2.0, sigmas, worked_out=False).verdict == words


def reason(delta: float, observed: float | str, expected: float, normal: float) -> dict[str, object]:
    """One reason as the diagnosis gives it."""
    return {
        "item": "coil_ice",
        "delta_nats": delta,
        "observed": observed,
        "expected": expected,
        "normal": normal,
    }


def test_reasons_that_read_the_other_way_round_are_left_out() -> None:
    good, weak = reason(0.9, 10.0, 11.0, 5.0), reason(0.1, 10.0, 11.0, 5.0)
    odd, heavy = reason(0.5, 10.0, 5.0, 11.0), reason(2.0, "seen", 0.9, 0.92)
    assert strong([good, weak, odd]) == [good]
    assert strong([heavy, good, reason(0.31, "seen", 0.5, 0.1)]) == [
        heavy,
        good,
        reason(0.31, "seen", 0.5, 0.1),
    ]
    assert strong([reason(-0.5, 10.0, 11.0, 5.0)], speaking_against=True) == []
    assert strong([reason(-0.5, 10.0, 5.0, 11.0)], speaking_against=True) != []


# ------------------------------------------------------------------------------------------- bad input
BAD_CALL = """
[conditions]
ambient = "88"
box = "45 F"
state = "runing"
[[reading]]
place = "suction_presure"
value = "45 psig"
[[reading]]
place = "discharge_pa"
value = "-500 F"
[[sighting]]
id = "evaporator_fans"
seen = "turning"
"""


def test_all_problems_of_both_files_at_once(capsys: Captured, tmp_path: Path) -> None:
    paths = written(tmp_path, CARDS["cooler"].replace("R-449A", "R-449"), BAD_CALL)
    assert main(["find", *paths, "--json"]) == 2
    problems = {one["field"]: one for one in json.loads(capsys.readouterr().out)["error"]}
    expected = {"refrigerant", "schema", "conditions.ambient", "conditions.state", "reading 1: place",
                "reading 2: discharge_pa", "sighting 1: evaporator_fans.seen"}  # fmt: skip
    assert expected <= problems.keys()
    assert all(one["allowed"] and one["advice"] for one in problems.values())
    assert "R-449A" in problems["refrigerant"]["advice"]


def test_problems_as_text(capsys: Captured, tmp_path: Path) -> None:
    assert main(["find", *written(tmp_path, "cooler", BAD_CALL)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "reading 1: place:\n  got      suction_presure" in told.err
    assert "Traceback" not in told.err


def test_impossible_readings_are_kept_and_flagged(tmp_path: Path) -> None:
    paths = written(tmp_path, "cooler", STANDING)
    data, text = both(paths)
    flag = next(flag for flag in data["flags"] if flag["kind"] == "impossible")
    assert flag["places"] == ["suction_pa_service_valve", "discharge_pa"]
    assert len(data["readings"]) == 2
    assert "impossible suction (200 psig) above discharge (60 psig)" in text


def test_what_was_not_measured_is_said(capsys: Captured, tmp_path: Path) -> None:
    call = STANDING.replace('ambient = "88 F"\n', "").replace('state = "running"\n', "")
    flags = asked(capsys, *written(tmp_path, "cooler", call))["flags"]
    missing = {place for flag in flags if flag["kind"] == "missing" for place in flag["places"]}
    assert {"conditions.ambient", "conditions.state"} <= missing


def test_air_out_of_reach_is_told_in_the_persons_units(capsys: Captured, tmp_path: Path) -> None:
    assert main(["find", *written(tmp_path, "cooler", STANDING.replace("88 F", "150 F"))]) == 2
    assert (
        "air entering the condenser:\n  got      150.0 °F\n  allowed  -40 to 140 °F"
        in capsys.readouterr().err
    )


@pytest.mark.parametrize("more", [[], ["call.toml", "--batch", "calls.jsonl"]])
def test_one_call_or_a_batch(capsys: Captured, more: list[str]) -> None:
    assert main(["find", "unit.toml", *more]) == 2
    assert "--batch CALLS.jsonl" in capsys.readouterr().err


def test_a_call_for_another_card_is_noted(capsys: Captured, tmp_path: Path) -> None:
    call = STANDING.replace("schema = 1", 'schema = 1\ncard = "freezer.toml"')
    assert "the call names another card, freezer.toml" in told(capsys, *written(tmp_path, "cooler", call))


def test_gauges_of_a_call_count_from_the_cards_altitude(capsys: Captured, tmp_path: Path) -> None:
    """60 psig at 5000 ft is 84.3 kPa and 413.7 kPa absolute (US Standard Atmosphere 1976)."""
    card = CARDS["cooler"] + 'site = { altitude = "5000 ft" }\n'
    data = asked(capsys, *written(tmp_path, card, STANDING))
    value = next(row["value"] for row in data["readings"] if row["place"] == "discharge_pa")
    assert value == pytest.approx(413_685.0 + 84_307.0, rel=1e-4)


# ------------------------------------------------------------------------------------------------ batch
def as_line(toml: str) -> str:
    """Return a call file as one line of a batch."""
    return json.dumps(tomllib.loads(toml))


def test_a_batch_answers_what_it_can(capsys: Captured, tmp_path: Path) -> None:
    card, call = written(tmp_path, "cooler", STANDING)
    single = asked(capsys, card, call)
    lines = [as_line(STANDING), "", "{broken", as_line(BAD_CALL), "[1]", as_line(STANDING)]
    batch = tmp_path / "calls.jsonl"
    batch.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert main(["find", card, "--batch", str(batch)]) == 2
    answers = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [one["line"] for one in answers] == [1, 3, 4, 5, 6]
    assert ["error" in one for one in answers] == [False, True, True, True, False]
    assert len(answers[2]["error"]) >= 5
    assert "notes" in single
    assert {**answers[0], "line": 6} == answers[4]
    assert {key: value for key, value in single.items() if key != "notes"} == {
        key: value for key, value in answers[0].items() if key != "line"
    }


def test_a_batch_from_standard_input(
    capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    card, _ = written(tmp_path, "cooler", STANDING)
    monkeypatch.setattr("sys.stdin", io.StringIO(as_line(STANDING) + "\n"))
    assert main(["find", card, "--batch", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["line"] == 1


def test_a_call_from_standard_input(
    capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    card, call = written(tmp_path, "cooler", STANDING)
    monkeypatch.setattr("sys.stdin", io.StringIO(STANDING))
    assert asked(capsys, card, "-") == asked(capsys, card, call)


def test_a_batch_with_a_broken_card(capsys: Captured, tmp_path: Path) -> None:
    card, _ = written(tmp_path, CARDS["cooler"].replace("R-449A", "R-449"), STANDING)
    assert main(["find", card, "--batch", str(tmp_path / "none.jsonl")]) == 2
    problems = capsys.readouterr().err
    assert "refrigerant:" in problems
    assert "--batch:" in problems


@pytest.mark.parametrize("line", ["{", "[1]", "3", '{"a": NaN}', "[" * 20_000])
def test_lines_that_are_no_call(line: str) -> None:
    with pytest.raises(InputError) as problem:
        json_call(line)
    assert problem.value.allowed == "one JSON object"
