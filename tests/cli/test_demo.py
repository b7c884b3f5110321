"""``holdcold demo``: the story is complete, its readings are what the units with those faults would read."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from holdcold.calls import evidence, read_call_document
from holdcold.cards import read_card, resolve
from holdcold.cli.common import Desk
from holdcold.cli.demo import tell, told_data
from holdcold.cli.demo_story import EPISODES, added, episode
from holdcold.cli.demo_text import Told, demo_text
from holdcold.cli.main import main
from holdcold.cycle import Faults, build, solve
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.observe import observations
from holdcold.diagnosis.problem import conditions_of
from holdcold.quantities import US

Captured = pytest.CaptureFixture[str]
DESK = Desk(as_json=False, preference=US)
ROOT = Path(__file__).parents[2]
STEPS = [(name, index) for name in EPISODES for index in range(len(episode(name).steps))]
CAUSES = {
    "condenser_air": {"condenser_dirty"},
    "charge_loss": {"low_charge"},
    "liquid_restriction": {"drier_restricted"},
    "capillary_restriction": {"capillary_restricted"},
}
"""Faults that push an axis used in the demo."""


@cache
def story() -> tuple[Told, ...]:
    """Return the whole demo, told once for all tests."""
    return tuple(tell(DESK, episode(name)) for name in EPISODES)


@cache
def everything() -> tuple[dict[str, Any], ...]:
    """Return the demo's units as scripts get them, through JSON."""
    return tuple(json.loads(json.dumps(told_data(told), allow_nan=False)) for told in story())


def finding(name: str, index: int) -> dict[str, Any]:
    """Return what one step of the demo found."""
    unit = everything()[EPISODES.index(name)]
    found: dict[str, Any] = unit["steps"][index]["find"]
    return found


@pytest.mark.parametrize(("name", "index"), STEPS)
def test_readings_are_what_such_a_unit_reads(name: str, index: int) -> None:
    """Four standard deviations of each instrument and half a digit of rounding about the solved machine.

    This says that the files belong to this engine (tools/make_demo.py writes them), not that it is right.
    """
    told = episode(name)
    step = told.steps[index]
    resolved = resolve(read_card(told.card_text))
    call = read_call_document(step.document, catalogue=catalogue(), ambient_pa=resolved.card.ambient_pa)
    given = evidence(call, resolved.design.supply_v)
    here = conditions_of(given.situation, resolved)
    true = solve(build(resolved.design), here, Faults(**step.truth)).readings
    for one in observations(given.readings, tuple(true), catalogue(), ()):
        rounding = 0.5 * 6894.757 if one.place.endswith("_pa") or "_pa_" in one.place else 0.5
        spread = 4.0 * (one.sigma**2 + one.bias_sigma**2) ** 0.5
        assert abs(one.value - true[one.place]) <= spread + rounding, one.place


def last_read(name: str) -> int:
    """Return the number of the last step before anything was mended."""
    steps = episode(name).steps
    return next(number for number, step in enumerate(steps) if step.fresh) - 1


@pytest.mark.parametrize("name", EPISODES)
def test_what_was_put_in_is_found(name: str) -> None:
    number = last_read(name)
    true = {fault for axis in episode(name).steps[number].truth for fault in CAUSES[axis]}
    suspects = finding(name, number)["suspects"]
    alike = {fault: fault for fault in true}
    for one in suspects[: len(true)]:
        alike |= dict.fromkeys((one["together_with"] or {"faults": ()})["faults"], one["fault"])
    # what no check from outside tells apart counts as one: a sealed circuit short of charge, or of tube
    assert {one["fault"] for one in suspects[: len(true)]} == {alike[fault] for fault in true}
    assert all(one["chance"] > 0.5 for one in suspects[: len(true)])


def test_suspects_narrow_as_evidence_comes() -> None:
    """Chance of both true faults together rises from the phone to the last reading."""
    pair = ["condenser_dirty", "low_charge"]
    chances = []
    for number in range(last_read("cooler") + 1):
        together = {tuple(one["faults"]): one["chance"] for one in finding("cooler", number)["hypotheses"]}
        chances.append(together.get(tuple(pair), 0.0))
    assert chances == sorted(chances)
    assert chances[0] < 0.1
    assert chances[-1] > 0.5


@pytest.mark.parametrize("name", EPISODES)
def test_each_call_ends_with_a_proof(name: str) -> None:
    steps = episode(name).steps
    assert [step.proof for step in steps] == [False] * (len(steps) - 1) + [True]
    assert steps[-1].truth == {}
    proof = everything()[EPISODES.index(name)]["steps"][-1]["proof"]
    assert len(proof) >= 4
    assert all(row["as_it_should"] for row in proof)


def test_the_page() -> None:
    page = demo_text(DESK, story())
    for name in EPISODES:
        told = episode(name)
        assert told.title in page
        assert all(step.title in page for step in told.steps)
    assert page.count("   suspects") == sum(
        not step.proof for name in EPISODES for step in episode(name).steps
    )
    assert page.count("   proof ") == len(EPISODES)
    assert page.count("\nTruth ") == len(EPISODES)
    assert "Demonstration data: people, place and numbers are invented." in page
    assert "R-290 is flammable (A3)" in page
    assert "Refrigerant is recovered, never vented" in page
    assert "holdcold card new" in page.split("Where to go next:")[1]
    assert max(map(len, page.splitlines())) <= 105


def test_the_list(capsys: Captured) -> None:
    assert main(["demo", "--list", "--json"]) == 0
    units = json.loads(capsys.readouterr().out)["units"]
    assert [one["name"] for one in units] == list(EPISODES)
    assert main(["demo", "--list"]) == 0
    page = capsys.readouterr().out
    assert all(step in page for one in units for step in one["steps"])


def test_scripts_get_each_call_with_its_finding() -> None:
    for unit in everything():
        assert unit["normal"]["readings"]
        for step in unit["steps"]:
            assert step["call"]["demo"] is True
            assert ("find" in step) is not ("proof" in step)
            assert "proof" in step or {"suspects", "next_check", "act"} <= step["find"].keys()


@pytest.mark.parametrize("name", EPISODES)
def test_cards_are_those_of_the_examples(name: str) -> None:
    """The packaged card is the one that documents show, so that a newcomer meets one dairy."""
    told = episode(name)
    assert told.card_text == (ROOT / "examples" / told.card_file).read_text(encoding="utf-8")


def test_files_are_marked_as_invented() -> None:
    for path in (ROOT / "src/holdcold/cli/demo_data").glob("*.toml"):
        assert "demo = true" in path.read_text(encoding="utf-8")


def test_a_call_grows() -> None:
    first = {"conditions": {"ambient": "90 F", "box": "40 F"}, "reading": [{"place": "a"}]}
    more = {"conditions": {"box": "38 F"}, "reading": [{"place": "b"}], "check": [{"id": "c"}]}
    assert added(first, more) == {
        "conditions": {"ambient": "90 F", "box": "38 F"},
        "reading": [{"place": "a"}, {"place": "b"}],
        "check": [{"id": "c"}],
    }
    assert first["reading"] == [{"place": "a"}]


def test_a_machine_read_anew_forgets_what_was_read_before() -> None:
    before, after = episode("freezer").steps[1:3]
    assert after.fresh
    places = [row["place"] for row in after.document["reading"]]
    assert len(places) == len(set(places))
    assert before.document["conditions"] != after.document["conditions"]
