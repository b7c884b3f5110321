"""``holdcold card sharpen``: a card learns from a call, keeps it, shows it, and goes back."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from holdcold.cards import read_card
from holdcold.cli.main import main

Captured = pytest.CaptureFixture[str]
EXAMPLES = Path(__file__).parents[2] / "examples"
CALL = (EXAMPLES / "call-as-left.toml").read_text(encoding="utf-8")
CARD = (EXAMPLES / "cheese-cooler.toml").read_text(encoding="utf-8")


@pytest.fixture
def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder with a card and a proved-good call."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "cooler.toml").write_text(CARD, encoding="utf-8")
    (tmp_path / "call.toml").write_text(CALL, encoding="utf-8")
    return tmp_path


def sharpen(capsys: Captured, *more: str, code: int = 0) -> dict[str, Any]:
    assert main(["card", "sharpen", "cooler.toml", *more, "--json"]) == code
    return dict(json.loads(capsys.readouterr().out))


def edit(at: Path, old: str, new: str) -> None:
    text = (at / "call.toml").read_text(encoding="utf-8")
    assert old in text
    (at / "call.toml").write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.usefixtures("at")
def test_what_narrowed_is_shown(capsys: Captured) -> None:
    assert main(["card", "sharpen", "cooler.toml", "call.toml"]) == 0
    text = capsys.readouterr().out
    assert "condenser split" in text
    assert "narrower by" in text
    assert "Discharge (head) pressure" in text
    assert "Nothing is written" in text
    assert max(map(len, text.splitlines())) <= 100
    assert Path("cooler.toml").read_text(encoding="utf-8") == CARD


@pytest.mark.usefixtures("at")
def test_numbers_for_scripts(capsys: Captured) -> None:
    data = sharpen(capsys, "call.toml")
    facts = {fact["name"]: fact for fact in data["facts"]}
    split = facts["condenser_split_k"]
    assert split["before"]["spread"] > 2.0 * split["after"]["spread"]
    assert split["narrowed"] == pytest.approx(1 - split["after"]["spread"] / split["before"]["spread"])
    bands = {band["place"]: band for band in data["bands"]}
    head = bands["discharge_pa"]
    widths = [head[when]["high"] - head[when]["low"] for when in ("before", "after")]
    assert widths[1] < 0.7 * widths[0]
    assert head["after"]["low"] < 1_801_078 < head["after"]["high"]  # 247 psig at 900 ft
    assert (data["visits"], data["readings"], data["date"]) == (1, 9, "2026-07-14")
    assert data["written"] is None
    assert data["engine"]["version"]


def test_in_place_keeps_a_persons_lines(at: Path, capsys: Captured) -> None:
    data = sharpen(capsys, "call.toml", "--in-place")
    assert data["written"] == "cooler.toml"
    text = (at / "cooler.toml").read_text(encoding="utf-8")
    assert text.startswith(CARD.rstrip("\n"))
    assert read_card(text).sharpened is not None
    assert read_card(CARD).sharpened is None


def test_another_file_is_written_only_when_it_is_new(at: Path, capsys: Captured) -> None:
    assert sharpen(capsys, "call.toml", "--out", "better.toml")["written"] == "better.toml"
    assert (at / "cooler.toml").read_text(encoding="utf-8") == CARD
    assert read_card((at / "better.toml").read_text(encoding="utf-8")).sharpened is not None
    (error,) = sharpen(capsys, "call.toml", "--out", "better.toml", code=2)["error"]
    assert error["field"] == "--out"
    assert main(["card", "sharpen", "cooler.toml", "call.toml", "--out", "a", "--in-place"]) == 2


@pytest.mark.usefixtures("at")
def test_check_shows_what_was_taught(capsys: Captured) -> None:
    sharpen(capsys, "call.toml", "--in-place")
    assert main(["card", "check", "cooler.toml"]) == 0
    text = capsys.readouterr().out
    assert "Sharpened by readings of the machine proved good" in text
    assert "one proved-good call, last 2026-07-14" in text
    assert main(["card", "check", "cooler.toml", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    names = {fact["name"] for fact in data["sharpened"]}
    assert "condenser_split_k" in names
    assert not names & {fact["name"] for key in ("given", "assumed") for fact in data[key]}


def width(capsys: Captured, place: str) -> float:
    assert main(["normal", "cooler.toml", "--ambient", "88F", "--box", "39F", "--json"]) == 0
    band = json.loads(capsys.readouterr().out)["readings"][place]
    return float(band["high"] - band["low"])


def test_normal_becomes_narrower_and_goes_back(at: Path, capsys: Captured) -> None:
    before = width(capsys, "discharge_pa")
    sharpen(capsys, "call.toml", "--in-place")
    assert width(capsys, "discharge_pa") < 0.7 * before
    text = (at / "cooler.toml").read_text(encoding="utf-8")
    (at / "cooler.toml").write_text(text[: text.index("# sharpened: begin")], encoding="utf-8")
    assert width(capsys, "discharge_pa") == before


def test_a_second_call_goes_beside_the_first(at: Path, capsys: Captured) -> None:
    first = sharpen(capsys, "call.toml", "--in-place")
    edit(at, '"88 F"', '"78 F"')
    edit(at, '"2026-07-14"', '"2026-09-02"')
    for old, new in (("247 psig", "213 psig"), ('"96 F"', '"86 F"'), ("172 F", "157 F"), ("99 F", "89 F")):
        edit(at, old, new)
    second = sharpen(capsys, "call.toml", "--in-place")
    assert second["visits"] == 2
    left = {fact["name"]: fact["after"]["spread"] for fact in first["facts"]}
    assert all(fact["after"]["spread"] <= 1.03 * left.get(fact["name"], 1e9) for fact in second["facts"])
    assert (at / "cooler.toml").read_text(encoding="utf-8").count("[[sharpened.visit]]") == 2


@pytest.mark.usefixtures("at")
def test_the_same_readings_count_once(capsys: Captured) -> None:
    sharpen(capsys, "call.toml", "--in-place")
    (error,) = sharpen(capsys, "call.toml", code=2)["error"]
    assert "counted before" in error["advice"]


def test_without_a_call_the_visits_are_worked_out_again(at: Path, capsys: Captured) -> None:
    (error,) = sharpen(capsys, code=2)["error"]
    assert "no visits yet" in error["advice"]
    sharpen(capsys, "call.toml", "--in-place")
    text = (at / "cooler.toml").read_text(encoding="utf-8")
    changed = text.replace('td = "10 F"', 'td = "11 F"')
    (at / "cooler.toml").write_text(changed, encoding="utf-8")
    assert main(["card", "check", "cooler.toml"]) == 0
    assert "set aside" in " ".join(capsys.readouterr().out.split())
    assert sharpen(capsys, "--in-place")["visits"] == 1
    assert main(["card", "check", "cooler.toml"]) == 0
    assert "set aside" not in " ".join(capsys.readouterr().out.split())


def test_a_call_without_a_day_takes_the_one_typed(at: Path, capsys: Captured) -> None:
    edit(at, 'date = "2026-07-14"\n', "")
    assert sharpen(capsys, "call.toml", "--date", "2026-08-01")["date"] == "2026-08-01"
    assert len(sharpen(capsys, "call.toml")["date"]) == 10
    (error,) = sharpen(capsys, "call.toml", "--date", "1.8.2026", code=2)["error"]
    assert error["field"] == "--date"


@pytest.mark.parametrize(
    ("old", "new", "field", "words"),
    [
        ("proved_good = true\n", "", "conditions.proved_good", "proved good"),
        ("proved_good = true", "proved_good = false", "conditions.proved_good", "proved good"),
        ('state = "running"', 'state = "off"', "conditions.state", "running"),
        ("minutes_in_state = 55", "minutes_in_state = 5", "conditions.minutes_in_state", "Unsteady"),
        ('seen = "clear"', 'seen = "iced"', "sighting coil_ice", "Air comes first"),
        ('seen = "clean"', 'seen = "blocked"', "sighting condenser_face", "Air comes first"),
        ('"247 psig"', '"340 psig"', "readings of 2026-07-14", "do not fit"),
        ('"247 psig"', '"3 psig"', "reading suction_pa_service_valve, discharge_pa", "swapped"),
        ("name =", "nmae =", "key or section", "name"),
    ],
)
def test_what_teaches_nothing_is_refused_with_the_reason(
    at: Path, capsys: Captured, old: str, new: str, field: str, words: str
) -> None:
    edit(at, old, new)
    errors = sharpen(capsys, "call.toml", "--in-place", code=2)["error"]
    named = next(error for error in errors if error["field"] == field)
    assert words in named["advice"]
    assert (at / "cooler.toml").read_text(encoding="utf-8") == CARD


def test_every_reason_is_told(at: Path, capsys: Captured) -> None:
    edit(at, "proved_good = true\n", "")
    edit(at, 'box = "39 F"\n', "")
    edit(at, 'seen = "clear"', 'seen = "iced"')
    fields = [error["field"] for error in sharpen(capsys, "call.toml", code=2)["error"]]
    assert fields == ["conditions.proved_good", "conditions.box", "sighting coil_ice"]


@pytest.mark.usefixtures("at")
def test_in_si_units(capsys: Captured) -> None:
    assert main(["card", "sharpen", "cooler.toml", "call.toml", "--units", "si", "--in-place"]) == 0
    text = capsys.readouterr().out
    assert "°C" in text
    assert "psig" not in text
    assert "12.2 K" in Path("cooler.toml").read_text(encoding="utf-8")
