"""A finding as plain data: what it says must follow from the belief, to the last term."""

from __future__ import annotations

import json
import math
import random
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from holdcold.calls import evidence, read_call
from holdcold.cards import read_card, resolve
from holdcold.diagnosis.belief import NOT_LISTED
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.evidence import Override
from holdcold.diagnosis.explain import explain, in_words
from holdcold.diagnosis.find import Finding, find
from holdcold.diagnosis.outcome import describe
from support.calls import COOLER, FREEZER, PROPANE, Call, Machine, Truth, kelvin, solved_once, unit

WALKS = ("box_walk_round", "unit_walk_round")
WALKED = {"unit_walk_round", "box_walk_round"}


@pytest.fixture(scope="module", autouse=True)
def quick() -> Iterator[None]:
    """Solve each machine once for all tests."""
    with solved_once():
        yield


def leak() -> Call:
    seen = {"sight_glass": "bubbles", "oil_trace": "fresh_oil", "coil_ice": "clear"}
    truth = Truth(unit(COOLER), {"low_charge": 0.68}, seen=seen)
    return Call(Machine(truth, random.Random("outcome"))).do(*WALKS, "gauges", "pipe_clamps")


def ice() -> Call:
    seen = {"coil_ice": "iced", "frost_pattern": "one_end", "heater_amps": "short_of_plate"}
    truth = Truth(unit(FREEZER), {"defrost_heater": 0.6}, kelvin(85.0), kelvin(8.0), seen=seen)
    return Call(Machine(truth, random.Random("outcome"))).do(*WALKS, "force_defrost", "coil_air")


def first_look() -> Call:
    return Call(Machine(Truth(unit(COOLER), {"condenser_dirty": 0.5})))


def sealed() -> Call:
    truth = Truth(unit(PROPANE), {"capillary_restricted": 0.5}, kelvin(80.0), kelvin(47.0))
    return Call(Machine(truth, random.Random("outcome"))).do(*WALKS, "pipe_clamps", "coil_air")


CALLS = {"leak": leak, "ice": ice, "first look": first_look, "sealed": sealed}


@cache
def finding(name: str) -> Finding:
    return CALLS[name]().find()


@cache
def told(name: str) -> dict[str, Any]:
    return describe(finding(name))


def rows(name: str) -> dict[str, dict[str, Any]]:
    return {row["fault"]: row for row in told(name)["suspects"]}


@pytest.mark.parametrize("name", CALLS)
def test_it_is_plain_data(name: str) -> None:
    """JSON there and back without loss, no NaN and no infinity in it."""
    assert json.loads(json.dumps(told(name), allow_nan=False)) == told(name)


@pytest.mark.parametrize("name", CALLS)
def test_chances_are_the_beliefs_own(name: str) -> None:
    found = finding(name)
    chances = {one.fault: one.chance for one in found.chances.suspects}
    for row in told(name)["suspects"]:
        if "instrument" not in row:
            assert row["chance"] == chances[row["fault"]]
            assert row["words"] == in_words(row["chance"])
    keys = [tuple(row["faults"]) for row in told(name)["hypotheses"]]
    assert () in keys
    assert NOT_LISTED in keys
    for row in told(name)["hypotheses"]:
        assert row["chance"] == found.chances.chance(tuple(row["faults"]))
    assert math.fsum(row["chance"] for row in told(name)["hypotheses"]) <= 1.0 + 1e-9
    assert told(name)["healthy_chance"] == found.chances.none_chance
    assert told(name)["not_listed_chance"] == found.chances.not_listed_chance


@pytest.mark.parametrize("name", CALLS)
def test_suspects_come_likeliest_first(name: str) -> None:
    shown = [row["chance"] for row in told(name)["suspects"]]
    assert shown == sorted(shown, reverse=True)
    assert min(shown) >= 0.01


@pytest.mark.parametrize("name", ["leak", "ice", "sealed"])
def test_reasons_are_likelihood_terms_that_add_up(name: str) -> None:
    """Why and against are picked from the terms of ``explain``, whose sum is the whole change of log-odds."""
    found = finding(name)
    compared = found.outlook.comparison(found.problem, found.cells)
    explained = explain(compared, list(rows(name))[:4])
    for fault, explanation in explained.items():
        total = math.fsum(reason.delta for reason in explanation.reasons)
        assert explanation.prior_log_odds + total == pytest.approx(explanation.log_odds, abs=1e-6)
        terms = {reason.item: reason.delta for reason in explanation.reasons}
        for side, sign in (("why", 1.0), ("against", -1.0)):
            deltas = [row["delta_nats"] for row in rows(name)[fault][side]]
            assert all(sign * delta > 0.0 for delta in deltas)
            assert [abs(delta) for delta in deltas] == sorted(map(abs, deltas), reverse=True)
            for row in rows(name)[fault][side]:
                assert terms[row["item"]] == pytest.approx(row["delta_nats"], abs=1e-9)


@pytest.mark.parametrize("name", ["leak", "ice", "sealed"])
def test_no_stronger_reason_is_left_out(name: str) -> None:
    found = finding(name)
    compared = found.outlook.comparison(found.problem, found.cells)
    for fault, explanation in explain(compared, list(rows(name))[:2]).items():
        shown = {row["item"] for row in [*rows(name)[fault]["why"], *rows(name)[fault]["against"]]}
        for sign in (1.0, -1.0):
            side = [reason for reason in explanation.reasons if sign * reason.delta > 0.0]
            weakest = min((abs(r.delta) for r in side if r.item in shown), default=0.0)
            hidden = [abs(r.delta) for r in side if r.item not in shown]
            if len([r for r in side if r.item in shown]) == 3:
                assert max(hidden, default=0.0) <= weakest + 1e-9


def test_a_leak_is_explained_as_a_technician_would() -> None:
    """Bubbles, oil and a light receiver speak for it (field notes 6)."""
    items = {row["item"] for row in rows("leak")["low_charge"]["why"]}
    assert items & {"sight_glass", "oil_trace", "receiver_level"}
    assert not items & {"coil_ice", "display", "door"}
    assert rows("leak")["low_charge"]["because"]
    assert rows("leak")["low_charge"]["would_kill_it"]


def test_a_reason_shows_what_was_read_and_what_was_expected() -> None:
    reasons = [
        reason
        for name in CALLS
        for row in told(name)["suspects"]
        for reason in [*row["why"], *row["against"]]
    ]
    numbers = [reason for reason in reasons if isinstance(reason["observed"], float)]
    words = [reason for reason in reasons if isinstance(reason["observed"], str)]
    assert numbers
    assert words
    for reason in numbers:
        assert reason["sigma"] > 0.0
        assert math.isfinite(reason["expected"])
    for reason in words:
        assert 0.0 <= reason["expected"] <= 1.0


@pytest.mark.parametrize(
    "name",
    ["leak", "ice", "sealed"],
)
def test_severity_has_a_unit_and_a_band(name: str) -> None:
    """A band never leaves the severities the fault can have."""
    found = finding(name)
    for fault, row in rows(name).items():
        if row["severity"] is not None and "instrument" not in row:
            steps = found.case.hypotheses.ladders[fault]
            low, high = row["severity"]["low"], row["severity"]["high"]
            assert row["severity"]["unit"]
            assert steps.nodes[0] - steps.halves[0] <= low + 1e-6 * high
            assert low <= row["severity"]["mean"] * (1.0 + 1e-4)
            assert high <= (steps.nodes[-1] + steps.halves[-1]) * (1.0 + 1e-6)


@pytest.mark.parametrize("name", CALLS)
def test_readings_stand_beside_their_band(name: str) -> None:
    found = finding(name)
    rows_ = told(name)["readings"]
    assert [row["place"] for row in rows_] == [one.place for one in found.case.observations]
    for row in rows_:
        band = found.case.normal.readings[row["place"]]
        assert (row["normal"], row["low"], row["high"]) == (band.value, band.low, band.high)
        assert row["low"] <= row["normal"] <= row["high"]
        assert (row["sigmas_off"] > 0.0) == (row["value"] > row["normal"])


# ----------------------------------------------------------------------------------- the next check
def shown_checks(name: str) -> list[dict[str, Any]]:
    """Checks shown: none where nothing still open tells anything."""
    data = told(name)
    assert (data["next_check"] is None) == (finding(name).step.ranked == ())
    return [check for check in (data["next_check"], *data["other_checks"]) if check is not None]


@pytest.mark.parametrize("name", CALLS)
def test_the_next_check_says_what_it_may_show(name: str) -> None:
    for check in shown_checks(name):
        chances = [row["chance"] for row in check["outcomes"]]
        assert chances == sorted(chances, reverse=True)
        assert math.fsum(chances) <= 1.0 + 1e-9
        assert math.fsum(chances) > 0.5
        assert check["cost_minutes"] >= check["own_minutes"] > 0.0
        assert check["how"]
        assert check["place"]
        for row in check["outcomes"]:
            assert all(0.0 <= after["chance"] <= 1.0 for after in row["then"])


@pytest.mark.parametrize("name", CALLS)
def test_what_an_outcome_would_make_of_the_suspects(name: str) -> None:
    """Law of total probability: what the outcomes make of a suspect averages to what is believed now."""
    found = finding(name)
    now: dict[str, float] = {}
    for key, chance in zip(found.outlook.keys, found.outlook.chances, strict=True):
        for fault in key or ("none",):
            now[fault] = now.get(fault, 0.0) + chance
    for ranked in found.step.ranked[:4]:
        asked = found.step.asked[ranked.id]
        later = dict.fromkeys(now, 0.0)
        for row in asked.question.table:
            share = math.fsum(c * value for c, value in zip(found.outlook.chances, row, strict=True))
            for fault, chance in found.outlook.suspects_after(row):
                later[fault] += share * chance
        assert later == pytest.approx(now, abs=1e-9)


def test_walk_rounds_come_first() -> None:
    """Field notes 1: look first. A four-minute walk, with its cautions."""
    check = told("first look")["next_check"]
    assert check["check"] in WALKED
    assert check["own_minutes"] == 4.0
    assert {"ladder"} <= {caution["id"] for caution in check["cautions"]}
    assert told("first look")["act"]["enough"] is False


def test_dangerous_checks_say_so() -> None:
    for name in CALLS:
        for check in shown_checks(name):
            book = finding(name).case.catalogue.check(check["check"])
            assert check["isolate"] == book.isolate
            assert check["opens_circuit"] == book.opens_circuit
            assert [caution["id"] for caution in check["cautions"]] == list(book.cautions)
            assert all(caution["text"] for caution in check["cautions"])
            if "E" in book.risk:
                assert "energised" in {caution["id"] for caution in check["cautions"]}


# ----------------------------------------------------------------------------------- act and flags
@pytest.mark.parametrize("name", CALLS)
def test_act_is_what_was_decided(name: str) -> None:
    step, act = finding(name).step, told(name)["act"]
    assert act["enough"] == step.enough
    assert act["reason"]
    if step.enough:
        assert act["first"] == step.act_on
        assert act["repair"]["proof"] in finding(name).case.catalogue.checks
        assert act["expected_minutes"] == step.act_first


def test_a_closed_guard_says_what_would_open_it() -> None:
    """Iced coil: a leak among the first three may not be judged; the flag says why and what lifts it."""
    call = leak().see(coil_ice="iced")
    found = call.find()
    data = describe(found)
    flag = next(flag for flag in data["flags"] if flag.get("guard") == "airflow_first")
    assert "low_charge" in flag["withholds"]
    assert ["coil_ice", "iced"] in flag["against"]
    assert flag["lifts"]
    row = next(row for row in data["suspects"] if row["fault"] == "low_charge")
    assert row["withheld_by"] == "airflow_first"
    assert data["act"]["first"] != "low_charge"


def test_an_override_is_shown_with_its_reason() -> None:
    call = leak().see(coil_ice="iced")
    call.evidence = replace(call.evidence, overrides=(Override("airflow_first", "seen by two of us"),))
    flags = describe(call.find())["flags"]
    assert any(flag["kind"] == "override" and "seen by two of us" in flag["text"] for flag in flags)
    assert not any(flag.get("guard") == "airflow_first" and flag["kind"] == "guard" for flag in flags)


def test_unsteady_caps_what_is_said_and_asks_to_wait() -> None:
    """Engine notes 4: when unsteady say *wait N minutes* and cap the chances."""
    call = leak()
    call.evidence = replace(call.evidence, situation=call.machine.situation(minutes_in_state=4.0))
    data = describe(call.find())
    assert max(row["chance"] for row in data["suspects"]) <= 0.80
    assert data["act"]["enough"] is False
    assert "6 minutes" in data["act"]["reason"]
    assert any(flag["kind"] == "unsteady" and "6 minutes" in flag["text"] for flag in data["flags"])


def test_a_lying_gauge_is_a_suspect_of_its_own() -> None:
    call = leak()
    call.evidence = replace(
        call.evidence,
        readings=tuple(
            replace(one, value_si=one.value_si + 4.1e5) if one.place == "suction_pa_service_valve" else one
            for one in call.evidence.readings
        ),
    )
    row = next(row for row in describe(call.find())["suspects"] if row["fault"] == "gauge_lying")
    assert row["instrument"] == "gauge_digital:suction_pa_service_valve"
    assert row["chance"] > 0.3


def test_faults_nothing_outside_can_part_are_shown_together() -> None:
    """A sealed capillary unit: low charge and a restricted capillary starve the coil alike."""
    group = rows("sealed")["capillary_restricted"]["together_with"]
    assert set(group["faults"]) >= {"low_charge", "capillary_restricted"}
    assert group["why"]


def test_what_would_change_a_suspect_is_still_open() -> None:
    for name in CALLS:
        seen = {one.id for one in finding(name).case.evidence.sightings}
        read = {one.place for one in finding(name).case.observations}
        for row in told(name)["suspects"]:
            if row["would_change_it"] is not None:
                assert row["would_change_it"]["item"] not in seen | read
                assert 0.0 <= row["would_change_it"]["expected_change"] <= 0.5 + 1e-9


# ------------------------------------------------------------------------------ the worked example
ROOT = Path(__file__).resolve().parent.parent.parent
STAGES = {
    "the phone: warm, running": lambda whole: replace(whole, readings=(), sightings=(), checks=()),
    "both walk-rounds": lambda whole: replace(whole, readings=(), checks=whole.checks[:2]),
    "gauges, clamps, amps": lambda whole: whole,
}


def worked_example() -> dict[str, list[str]]:
    """Return the rows of the table in the document, by stage."""
    text = (ROOT / "docs" / "diagnosis.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (.*) \|$", text.split("<!-- example")[1].split("## ")[0], re.MULTILINE)
    cells = [[cell.strip() for cell in row.split(" | ")] for row in rows[1:]]
    return {row[0]: row[1:] for row in cells if row[0] in STAGES}


def test_the_worked_example_of_the_document_is_what_comes_out() -> None:
    """Chances within a tenth of what the document says, and the same next check, at each stage."""
    card = read_card((ROOT / "examples" / "cheese-cooler.toml").read_text(encoding="utf-8"))
    resolved, book = resolve(card), catalogue()
    text = (ROOT / "examples" / "call-low-charge.toml").read_text(encoding="utf-8")
    call = read_call(text, catalogue=book, ambient_pa=card.ambient_pa)
    whole = evidence(call, resolved.design.supply_v)
    assert set(worked_example()) == set(STAGES)
    for stage, (leak_, second, none, unlisted, check) in worked_example().items():
        found = find(resolved, STAGES[stage](whole))
        data = describe(found)
        top, other = data["suspects"][:2]
        assert (top["fault"], float(leak_)) == ("low_charge", pytest.approx(top["chance"], abs=0.1))
        assert float(second.split()[-1]) == pytest.approx(other["chance"], abs=0.1)
        assert float(none) == pytest.approx(data["healthy_chance"], abs=0.1)
        assert float(unlisted) == pytest.approx(data["not_listed_chance"], abs=0.1)
        assert check.strip("`") == data["next_check"]["check"]


def test_the_prior_is_shown_as_broad_as_it_is() -> None:
    for row in told("leak")["suspects"]:
        if row["prior"] is not None:
            assert 0.0 <= row["prior"]["chance"] < 0.3
            assert "double or half" in row["prior"]["band"]
            assert row["prior"]["source"]
