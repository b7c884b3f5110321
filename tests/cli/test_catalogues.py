"""``holdcold faults``, ``checks``, ``places``, ``sightings``, ``instruments``: lists, pages, JSON, docs."""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path
from typing import Any

import pytest

from holdcold.cli import catalogues
from holdcold.cli.common import Parser
from holdcold.diagnosis.catalogue import RISKS, WORKPLACES, catalogue
from holdcold.errors import UnknownNameError

DOCS = Path(__file__).parents[2] / "docs"
BOOK = catalogue()
Captured = pytest.CaptureFixture[str]

# Names that scripts rely on: a key may be added, none may change.
KEYS = {
    "faults": {"id", "title", "family", "axis", "severity", "repair", "priors", "because", "kills", "source"},
    "checks": {"id", "title", "how", "places", "minutes", "wait_minutes", "cost_minutes", "risk", "readings",
               "sightings", "guards", "cautions", "opens_circuit", "refrigerant_lost_kg", "source"},
    "places": {"id", "title", "meaning", "dimension", "si_unit", "measured", "where", "mistakes",
               "default_instrument", "checks", "source"},
    "sightings": {"id", "title", "ask", "place", "values", "healthy", "error", "given", "checks", "source"},
    "instruments": {"id", "title", "dimension", "si_unit", "sigma_si", "bias_si", "lie_chance", "source"},
}  # fmt: skip
ONE = {
    "faults": "fault",
    "checks": "check",
    "places": "place",
    "sightings": "sighting",
    "instruments": "instrument",
}


def run(*words: str) -> int:
    """Run one of the commands and return its exit code."""
    parser = Parser(prog="holdcold")
    commands: argparse._SubParsersAction[argparse.ArgumentParser] = parser.add_subparsers(required=True)
    catalogues.register(commands)
    args = parser.parse_args(words)
    return int(args.run(args))


def answered(capsys: Captured, *words: str) -> dict[str, Any]:
    """Return the JSON that a command prints."""
    assert run(*words, "--json") == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    return dict(json.loads(printed.out))


def shown(capsys: Captured, *words: str) -> str:
    """Return the text that a command prints."""
    assert run(*words) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("command", KEYS)
def test_json_lists_every_row_with_its_source(capsys: Captured, command: str) -> None:
    rows = answered(capsys, command)[command]
    assert len({row["id"] for row in rows}) == len(rows) > 20
    for row in rows:
        assert KEYS[command] <= set(row), row["id"]
        assert len(row["source"]) > 10, row["id"]


@pytest.mark.parametrize("command", ["faults", "checks", "places", "sightings"])
def test_json_is_dated(capsys: Captured, command: str) -> None:
    data = answered(capsys, command)
    dated = BOOK.files[f"{command}.toml"]
    assert (data["version"], data["date"]) == (dated.version, dated.date.isoformat())
    assert [row["id"] for row in data[command]] == list(getattr(BOOK, command))


@pytest.mark.parametrize("command", KEYS)
def test_table_has_a_line_for_every_row(capsys: Captured, command: str) -> None:
    ids = [row["id"] for row in answered(capsys, command)[command]]
    lines = shown(capsys, command).splitlines()
    assert [line.split()[0] for line in lines[2 : 2 + len(ids)]] == ids


@pytest.mark.parametrize("command", KEYS)
def test_one_row_in_full(capsys: Captured, command: str) -> None:
    for row in answered(capsys, command)[command]:
        assert answered(capsys, command, row["id"])[ONE[command]] == row
        page = shown(capsys, command, row["id"])
        assert page.startswith(f"{row['title']}  ({row['id']})\n")
        assert " ".join(row["source"].split()[:3]) in " ".join(page.split())
        assert max(len(line) for line in page.splitlines()) <= 100


def test_a_fault_shows_what_would_rule_it_out(capsys: Captured) -> None:
    page = " ".join(shown(capsys, "faults", "drier_restricted").split())
    assert "ruled out by same temperature on both sides of the drier" in page
    assert "7.25 psi, 21.8 psi" in page  # 50 and 150 kPa
    assert "walk_in_cooler 1.3%" in page  # 72 % of "drier, strainer, 2 percent"
    assert "50.0 kPa" in shown(capsys, "faults", "drier_restricted", "--units", "si")


def test_an_intermittent_fault_shows_when_it_is_there(capsys: Captured) -> None:
    """Beta(1.5, 2) of the share of time: mean 43 %."""
    page = " ".join(shown(capsys, "faults", "moisture_at_valve").split())
    assert "intermittent there about 43% of the time; after some time below freezing" in page
    assert "intermittent" not in shown(capsys, "faults", "low_charge")
    row = answered(capsys, "faults", "moisture_at_valve")["fault"]
    assert (row["intermittent"], row["duty"]) == (True, [1.5, 2.0])
    assert answered(capsys, "faults", "low_charge")["fault"]["duty"] is None


def test_a_check_shows_its_guards_and_cost(capsys: Captured) -> None:
    check = answered(capsys, "checks", "gauges")["check"]
    assert set(check["guards"]) == {"look_first", "no_gauges_critical_charge", "flammable_gate"}
    assert check["cost_minutes"] == pytest.approx(13.4)
    assert "Walk round box and unit before gauges go on." in " ".join(
        shown(capsys, "checks", "gauges").split()
    )


def test_places_say_what_follows_from_what(capsys: Captured) -> None:
    place = answered(capsys, "places", "coil_superheat_k")["place"]
    assert place["follows_from"] == ["suction_k_coil_outlet", "suction_pa_coil"]
    assert place["si_unit"] == "K"
    assert place["checks"] == ["superheats"]


def test_chances_of_answers_sum_to_one(capsys: Captured) -> None:
    for row in answered(capsys, "sightings")["sightings"]:
        if row["informs"]:
            assert sum(row["healthy"].values()) == pytest.approx(1.0)
            for pair in row["given"].values():
                assert sum(pair["mild"]) == pytest.approx(1.0)
                assert sum(pair["severe"]) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("command", "typed", "meant"),
    [("faults", "lowcharge", "low_charge"), ("checks", "gauge", "gauges")],
)
def test_unknown_id_suggests_near_ones(command: str, typed: str, meant: str) -> None:
    with pytest.raises(UnknownNameError) as caught:
        run(command, typed)
    assert meant in caught.value.suggestions


def listed(document: str) -> dict[str, list[str]]:
    """Return the cells of each table row of a document whose first cell is an id in code type."""
    rows = {}
    for line in (DOCS / document).read_text(encoding="utf-8").splitlines():
        if match := re.match(r"\| \[?`(\w+)`(?:\]\([\w/]+\.md\))? \|", line):
            rows[match[1]] = [cell.strip() for cell in line.strip("|").split("|")]
    return rows


def test_fault_document_lists_every_fault() -> None:
    rows = listed("faults.md")
    assert {name: cells[1:3] for name, cells in rows.items() if name in BOOK.faults} == {
        fault.id: [fault.family, fault.title] for fault in BOOK.faults.values()
    }


def test_check_document_lists_every_check() -> None:
    rows = listed("checks.md")
    assert {name: cells[1:5] for name, cells in rows.items() if name in BOOK.checks} == {
        check.id: [
            " ".join(check.places),
            f"{check.minutes:g}" + (f" + {check.wait_minutes:g}" if check.wait_minutes else ""),
            " ".join(check.risk),
            check.title,
        ]
        for check in BOOK.checks.values()
    }


def test_check_document_lists_every_guard_place_and_risk() -> None:
    rows = listed("checks.md")
    assert set(BOOK.guards) <= set(rows)
    assert {rows[name][1] for name in BOOK.guards} == {guard.title for guard in BOOK.guards.values()}
    assert set(WORKPLACES) <= set(rows)
    assert set(RISKS) <= set(rows)
