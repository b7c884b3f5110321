"""The desk where shells ask: what is typed goes in as typed, what is wrong comes back as data."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from holdcold.answers.asking import preference_of, with_unit
from holdcold.answers.desk import ASKS, answer, answer_data
from holdcold.answers.ruler import ruler
from holdcold.cli.main import main
from holdcold.quantities import SI, US

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
CARD = (EXAMPLES / "cheese-cooler.toml").read_text(encoding="utf-8")


def test_answers_are_json_both_ways() -> None:
    found = json.loads(answer('{"ask": "saturation", "refrigerant": "r448a", "reading": "20 psig"}'))
    assert found["refrigerant"] == "R-448A"
    # -4.7 F dew, -16.1 F bubble: CoolProp 8, R-448A at 20 psig
    assert found["shown"]["dew"] == "-4.7 °F"
    assert found["shown"]["bubble"] == "-16.1 °F"


@pytest.mark.parametrize("name", sorted(ASKS))
def test_nothing_given_is_told_not_raised(name: str) -> None:
    found = answer_data({"ask": name})
    assert name == "lists" or {"field", "value", "allowed", "advice"} == set(found["error"][0])


def test_an_unknown_question_is_told() -> None:
    assert answer_data({"ask": "wether"})["error"][0]["field"] == "ask"


@pytest.mark.parametrize(
    ("text", "dimension", "system", "expected"),
    [("20", "pressure", US, "20 psig"), ("-10", "temperature", US, "-10 F"),
     ("\u22123.5", "temperature", SI, "\u22123.5 C"),
     ("2,4", "pressure", SI, "2,4 barg"), ("20 psig", "pressure", SI, "20 psig"),
     ("1 lb 6 oz", "mass", US, "1 lb 6 oz"),
     ("", "pressure", US, ""), ("9.2", "current", US, "9.2 A")],
)  # fmt: skip
def test_bare_numbers_get_the_persons_unit(text: str, dimension: str, system: object, expected: str) -> None:
    assert with_unit(text, dimension, system) == expected  # type: ignore[arg-type]


def test_gauges_count_from_the_air_of_the_place() -> None:
    sea, high = (preference_of({"altitude": height}) for height in ("", "5000"))
    assert high.ambient_pa < sea.ambient_pa == US.ambient_pa


def test_five_problems_at_once() -> None:
    given = {"kind": "barn", "refrigerant": "R-999", "application": "", "box": "7", "capacity": "3"}
    fields = [row["field"] for row in answer_data({"ask": "five", "answers": given})["error"]]
    assert fields == ["kind", "refrigerant", "application", "box", "capacity"]


def test_find_says_what_the_command_says(capsys: pytest.CaptureFixture[str]) -> None:
    path = EXAMPLES / "call-dirty-condenser.toml"
    call = tomllib.loads(path.read_text(encoding="utf-8"))
    asked = answer_data({"ask": "find", "card": CARD, "call": call})
    assert main(["find", str(EXAMPLES / "cheese-cooler.toml"), str(path), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    for key, value in json.loads(json.dumps(asked["told"])).items():
        assert said[key] == value, key
    page = asked["page"]
    assert page["suspects"][0]["fault"] == said["suspects"][0]["fault"]
    assert len(page["suspects"]) <= 3


def test_numbers_only_on_request() -> None:
    call = {"schema": 1, "conditions": {"ambient": "90", "box": "44"}}
    request = {"ask": "find", "card": CARD, "call": call}
    assert "%" not in answer_data(request)["page"]["headline"]
    assert "%" in answer_data({**request, "numbers": True})["page"]["besides"]


def test_no_ports_no_pressures() -> None:
    card = (EXAMPLES / "shop-reach-in.toml").read_text(encoding="utf-8")
    readings = answer_data({"ask": "walk", "card": card})["readings"]
    assert readings
    assert not [place for place in readings if "_pa" in place]


@pytest.mark.parametrize(
    ("value", "side", "place"),
    [(5.0, "inside", 0.5), (0.0, "inside", 0.6 / 2.2), (-1.0, "low", 0.5 / 2.2), (12.0, "high", 1.8 / 2.2),
     (99.0, "high", 0.98)],
)  # fmt: skip
def test_ruler_places(value: float, side: str, place: float) -> None:
    """The ruler reaches 0.6 band widths past a band of 0 to 10; beyond it the tick stays at the end."""
    found = ruler(0.0, 10.0, value)
    assert found["side"] == side
    assert found["value"] == pytest.approx(place)


def test_ruler_of_no_width() -> None:
    assert ruler(0.0, 0.0, 0.0)["side"] == "inside"
