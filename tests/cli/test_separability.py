"""``holdcold separability``: page, JSON, defaults, and what is refused."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from holdcold.cli.main import main
from holdcold.cli.separability import group_lines, matrix_text
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.separability import LEAST_RIGHT
from support.calls import REACH_IN

Captured = pytest.CaptureFixture[str]


@pytest.fixture
def card(tmp_path: Path) -> str:
    path = tmp_path / "reach-in.toml"
    path.write_text(REACH_IN, encoding="utf-8")
    return str(path)


def printed(capsys: Captured, *words: str) -> dict[str, Any]:
    assert main(["separability", *words, "--json"]) == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    return data


def test_page_names_look_alikes_and_checks(card: str, capsys: Captured) -> None:
    assert main(["separability", card]) == 0
    out = capsys.readouterr().out
    assert "90.0 °F air into the condenser, 37.0 °F in the box" in out
    lines = out.splitlines()
    at = lines.index("Low on refrigerant")
    assert "%" in lines[at + 1]
    assert "%" in lines[at + 2]
    assert max(map(len, lines)) <= 130
    assert "told apart by some check at least" in out or "No permitted check tells these apart" in out


def test_json_holds_every_pair(card: str, capsys: Captured) -> None:
    data = printed(capsys, card)
    count = len(data["faults"])
    assert len(data["pairs"]) == count * (count - 1) // 2
    assert data["conditions"]["ambient_k"] == pytest.approx((90.0 + 459.67) / 1.8)
    assert {"card", "engine", "groups", "inseparable", "notes"} <= set(data)
    for row in data["pairs"]:
        listed = row["faults"] in data["inseparable"]
        assert listed == (row["right"] < LEAST_RIGHT)


def test_the_weather_may_be_given(card: str, capsys: Captured) -> None:
    data = printed(capsys, card, "--ambient", "70F", "--box", "45 F")
    assert data["conditions"]["ambient_k"] == pytest.approx((70.0 + 459.67) / 1.8)
    assert data["conditions"]["box_k"] == pytest.approx((45.0 + 459.67) / 1.8)


def test_every_problem_is_told(card: str, capsys: Captured) -> None:
    assert main(["separability", card, "--ambient", "95", "--box", "45 psi"]) == 2
    err = capsys.readouterr().err
    assert "--ambient" in err
    assert "--box" in err


def test_air_nobody_has_met_is_refused_in_the_units_typed(card: str, capsys: Captured) -> None:
    assert main(["separability", card, "--ambient", "400 F"]) == 2
    assert "air entering the condenser" in capsys.readouterr().err


def test_groups_are_named() -> None:
    class Found:
        def groups(self) -> list[tuple[str, ...]]:
            return [("contactor", "start_gear")]

    lines = list(group_lines(Found(), catalogue()))  # type: ignore[arg-type]
    assert lines[1].strip() == "Contactor or relay; Start relay, capacitor or potential relay"
    assert callable(matrix_text)
