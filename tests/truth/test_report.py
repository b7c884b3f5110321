"""The study's arithmetic on rows whose answer is known by hand."""

from __future__ import annotations

from typing import Any

import pytest
from benchmarks.truth import report
from benchmarks.truth.checklist import RULES

from holdcold.diagnosis.catalogue import catalogue


def row(stratum: str, faults: list[str], suspects: list[tuple[str, float]], **more: Any) -> dict[str, Any]:
    base = {
        "stratum": stratum, "faults": faults, "suspects": suspects, "none": 0.01, "not_listed": 0.01,
        "seed": [0, 0],
        "first": suspects[0][0] if suspects else "none", "hypotheses": [], "enough": False, "act_on": "",
        "strange": "",
    }  # fmt: skip
    return {**base, **more}


ROWS = [
    row("single", ["low_charge"], [("low_charge", 0.8), ("drier_restricted", 0.1)]),
    row("single", ["low_charge"], [("drier_restricted", 0.8), ("low_charge", 0.1)]),
    row("single", ["condenser_dirty"], [("condenser_fan_stopped", 0.6), ("hot_location", 0.3)]),
    row(
        "pair",
        ["condenser_dirty", "low_charge"],
        [("low_charge", 0.9), ("door_leak", 0.2), ("condenser_dirty", 0.1)],
    ),
    row("healthy", [], [("low_charge", 0.2)], first="none", none=0.5),
    row("pull_down", [], [("low_charge", 0.6)], first="low_charge"),
    row("unlisted", [], [("low_charge", 0.1)], strange="discharge_restricted", not_listed=0.7),
]


def test_headline() -> None:
    found = report.headline(ROWS)
    assert found["single, right cause first"] == (pytest.approx(1 / 3), 3)
    assert found["single, right cause in the first three"] == (pytest.approx(2 / 3), 3)
    assert found["single, right group first"] == (pytest.approx(2 / 3), 3)  # a stopped fan for dirt: same air
    assert found["pair, both causes in the first three"] == (1.0, 1)
    assert found["healthy called healthy"] == (0.5, 2)
    assert found["statements of 80 % that are right"] == (0.5, 2)


def test_calibration_error_by_hand() -> None:
    """First suspects of the two first rows: said 0.8 twice, right once: error 0.3."""
    error, table = report.calibration(ROWS[:2], top_only=True)
    assert error == pytest.approx(0.3)
    assert table == [("0.8-0.9", 2, pytest.approx(0.8), 0.5)]


def test_wilson_interval() -> None:
    """8 of 10: 0.490 to 0.943 (Wilson 1927; the usual worked example, from memory)."""
    low, high = report.interval(0.8, 10)
    assert (low, high) == (pytest.approx(0.490, abs=1e-3), pytest.approx(0.943, abs=1e-3))


def test_not_listed_is_told_apart() -> None:
    found = report.unlisted(ROWS)
    assert found["mean chance of not listed, strange"] == pytest.approx(0.7)
    assert found["mean chance of not listed, listed"] == pytest.approx(0.01)


def test_text_holds_every_floor() -> None:
    told = report.text(ROWS)
    assert [name for name in report.FLOORS if name not in told] == []


def test_checklist_rules_speak_of_what_there_is() -> None:
    book = catalogue()
    assert {name for name in RULES if name not in book.sightings} == set()
    odd = {
        (name, value)
        for name, rules in RULES.items()
        for value in rules
        if value not in book.sightings[name].values
    }
    assert odd == set()
    assert {fault for rules in RULES.values() for named in rules.values() for fault in named} <= set(
        book.faults
    )
