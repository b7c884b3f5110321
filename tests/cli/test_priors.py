"""``holdcold priors learn``, ``holdcold priors show`` and ``holdcold find --priors``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from holdcold.cli.main import main

Captured = pytest.CaptureFixture[str]
EXAMPLES = Path(__file__).parents[2] / "examples"


def line(*causes: str, kind: str = "walk_in", **more: str) -> str:
    return json.dumps({"kind": kind, "application": "cooler", "causes": list(causes), **more})


CLOSED = [
    *[line("condenser_dirty", date=f"2026-0{month}-02") for month in range(1, 8)],
    line("low_charge", "condenser_dirty", date="2026-07-20"),
    line(date="2026-07-21"),
    line("not_listed", kind="reach_in"),
]


@pytest.fixture
def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder with closed calls."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "closed.jsonl").write_text("\n".join(CLOSED), encoding="utf-8")
    return tmp_path


def run(capsys: Captured, *words: str, code: int = 0) -> dict[str, Any]:
    assert main([*words, "--json"]) == code
    return dict(json.loads(capsys.readouterr().out))


def causes(page: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {row["cause"]: row for row in page["causes"]}


@pytest.mark.usefixtures("at")
def test_learning_shows_what_changed(capsys: Captured) -> None:
    assert main(["priors", "learn", "closed.jsonl"]) == 0
    text = capsys.readouterr().out
    assert "walk-in cooler: practice estimates with 9 closed calls, 2026-01-02 to 2026-07-21" in text
    assert "reach-in cooler: practice estimates with 1 closed call (" in text
    assert "Nothing is written" in text
    assert "common practice, no source" in text
    assert max(map(len, text.splitlines())) <= 110
    walk_in = text[text.index("walk-in cooler") :]
    dirty = next(row for row in walk_in.splitlines() if row.startswith("Condenser dirty"))
    assert " 7.5 " in dirty


def test_counts_are_written_and_used(at: Path, capsys: Captured) -> None:
    data = run(capsys, "priors", "learn", "closed.jsonl", "--out", "learnt.toml")
    assert (data["written"], data["calls"]) == ("learnt.toml", 10)
    reach_in, walk_in = data["units"]
    row = causes(walk_in)["condenser_dirty"]
    assert row["counted"] == 7.5
    assert row["before"]["low"] < row["before"]["share"] < row["before"]["high"]
    expected = (30 * row["before"]["share"] + 7.5) / 39
    assert row["after"]["share"] == pytest.approx(expected)
    assert causes(reach_in)["not_listed"]["counted"] == 1.0
    assert causes(walk_in)["none"]["counted"] == 1.0
    assert causes(walk_in)["pair"]["counted"] == 1.0
    text = (at / "learnt.toml").read_text(encoding="utf-8")
    assert walk_in["version"] in text
    again = run(
        capsys, "priors", "show", "--learnt", "learnt.toml", "--kind", "walk_in", "--application", "cooler"
    )
    assert again["units"] == [walk_in]
    assert again["notes"] == []


def test_a_file_of_counts_may_be_replaced_and_no_other(at: Path, capsys: Captured) -> None:
    for _ in range(2):
        run(capsys, "priors", "learn", "closed.jsonl", "--out", "learnt.toml")
    (error,) = run(capsys, "priors", "learn", "closed.jsonl", "--out", "closed.jsonl", code=2)["error"]
    assert error["field"] == "--out"
    assert (at / "closed.jsonl").read_text(encoding="utf-8") == "\n".join(CLOSED)


def test_unknown_causes_are_named(at: Path, capsys: Captured) -> None:
    (at / "closed.jsonl").write_text(
        "\n".join([*CLOSED, line("low_gas"), line("gremlins")]), encoding="utf-8"
    )
    errors = run(capsys, "priors", "learn", "closed.jsonl", "--out", "learnt.toml", code=2)["error"]
    assert [(error["field"], error["value"]) for error in errors] == [
        ("line 11: cause", "low_gas"), ("line 12: cause", "gremlins"),
    ]  # fmt: skip
    assert not (at / "learnt.toml").exists()


def test_a_file_without_calls(at: Path, capsys: Captured) -> None:
    (at / "empty.jsonl").write_text("\n\n", encoding="utf-8")
    (error,) = run(capsys, "priors", "learn", "empty.jsonl", code=2)["error"]
    assert "at least one" in error["allowed"]


def test_shares_without_any_calls(capsys: Captured) -> None:
    data = run(capsys, "priors", "show")
    assert len(data["units"]) == 4
    for page in data["units"]:
        rows = [row for row in page["causes"] if row["cause"] != "pair"]
        assert sum(row["after"]["share"] for row in rows) == pytest.approx(1.0)
        assert all(row["before"] == row["after"] and row["counted"] == 0 for row in rows)
        assert page["version"] is None
        assert page["source"]
    assert main(["priors", "show", "--kind", "reach_in"]) == 0
    text = capsys.readouterr().out
    assert text.count("practice estimates\n") == 2
    assert "they weigh 30 calls" in " ".join(text.split())


@pytest.mark.usefixtures("at")
def test_kinds_without_calls_are_noted(capsys: Captured) -> None:
    run(capsys, "priors", "learn", "closed.jsonl", "--out", "learnt.toml")
    data = run(capsys, "priors", "show", "--learnt", "learnt.toml")
    assert [page["calls"] for page in data["units"]] == [9, 0, 1, 0]
    assert len(data["notes"]) == 2


def find(
    capsys: Captured, *more: str, card: str = "cheese-cooler", call: str = "call-dirty-condenser"
) -> dict[str, Any]:
    return run(capsys, "find", str(EXAMPLES / f"{card}.toml"), str(EXAMPLES / f"{call}.toml"), *more)


def chance(data: dict[str, Any], fault: str) -> float:
    return next((float(one["chance"]) for one in data["suspects"] if one["fault"] == fault), 0.0)


def test_find_weighs_causes_by_learnt_priors(at: Path, capsys: Captured) -> None:
    (at / "hot.jsonl").write_text("\n".join([line("hot_location", date="2026-08-01")] * 90), encoding="utf-8")
    run(capsys, "priors", "learn", "hot.jsonl", "--out", "hot.toml")
    plain, taught = find(capsys), find(capsys, "--priors", "hot.toml")
    assert chance(taught, "hot_location") > chance(plain, "hot_location") + 0.05
    assert plain["priors"]["version"] is None
    assert taught["priors"]["version"].startswith("2026-08-01.90.")
    assert taught["priors"]["version"] in taught["priors"]["source"]
    assert taught["priors"]["calls"] == 90
    here = [str(EXAMPLES / f"{name}.toml") for name in ("cheese-cooler", "call-dirty-condenser")]
    assert main(["find", *here, "--priors", "hot.toml"]) == 0
    assert "with 90 closed calls (version 2026-08-01.90." in " ".join(capsys.readouterr().out.split())


def test_find_in_batches_takes_them_too(at: Path, capsys: Captured) -> None:
    run(capsys, "priors", "learn", "closed.jsonl", "--out", "learnt.toml")
    call = {"schema": 1, "conditions": {"ambient": "90 F", "box": "45 F", "complaint": "warm"}}
    (at / "calls.jsonl").write_text(json.dumps(call), encoding="utf-8")
    card = str(EXAMPLES / "cheese-cooler.toml")
    assert main(["find", card, "--batch", "calls.jsonl", "--priors", "learnt.toml"]) == 0
    assert json.loads(capsys.readouterr().out)["priors"]["calls"] == 9


@pytest.mark.usefixtures("at")
def test_priors_of_another_kind_leave_the_estimates_alone(capsys: Captured) -> None:
    run(capsys, "priors", "learn", "closed.jsonl", "--out", "learnt.toml")
    data = find(capsys, "--priors", "learnt.toml", card="butter-freezer", call="call-restricted-drier")
    assert data["priors"]["version"] is None
    assert any("no closed calls of a walk_in freezer" in note for note in data["notes"])


@pytest.mark.usefixtures("at")
def test_a_file_that_holds_no_counts(capsys: Captured) -> None:
    here = [str(EXAMPLES / f"{name}.toml") for name in ("cheese-cooler", "call-dirty-condenser")]
    (error,) = run(capsys, "find", *here, "--priors", "closed.jsonl", code=2)["error"]
    assert "TOML" in error["allowed"]
    (error,) = run(capsys, "find", *here, "--priors", "nowhere.toml", code=2)["error"]
    assert error["field"] == "--priors"
