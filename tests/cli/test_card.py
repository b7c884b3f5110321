"""``holdcold card new`` and ``holdcold card check``, as a person and as a script meet them."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from holdcold.answers.interview import read_box, read_capacity
from holdcold.cards import read_card
from holdcold.cli.main import main
from holdcold.errors import InputError

Captured = pytest.CaptureFixture[str]
ROOT = Path(__file__).parents[2]
ANSWERS = ["walk-in", "R-449A", "cooler", "10 x 8 x 8 ft", "1.5 hp"]


@pytest.fixture
def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def answer(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    """Put answers on standard input."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def test_five_answers_make_a_card(at: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    answer(monkeypatch, *ANSWERS)
    assert main(["card", "new", "--out", "mine.toml"]) == 0
    shown = capsys.readouterr()
    assert shown.err.count("/5") == 5
    assert "Written: mine.toml" in shown.out
    assert "holdcold normal mine.toml --ambient 95F --box 35F" in shown.out
    card = read_card((at / "mine.toml").read_text(encoding="utf-8"))
    assert card.text("refrigerant") == "R-449A"
    assert card.said("capacity.horsepower") == "1.5 hp"


def test_a_bad_answer_is_asked_again(at: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    lines = ["fridge", "reach-in", "R-999", "R-290", "?", "freezer", "23", "23 ft3", "1/3", "don't know"]
    answer(monkeypatch, *lines)
    assert main(["card", "new", "--out", "mine.toml"]) == 0
    shown = capsys.readouterr().err
    assert "walk_in" in shown
    assert "R-290" in shown
    assert "This one is needed" in shown
    assert "Add the unit" in shown
    assert "don't know" in shown
    card = read_card((at / "mine.toml").read_text(encoding="utf-8"))
    assert card.flag("capacity.unknown") is True


def test_amps_ask_for_the_supply(at: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answer(monkeypatch, *ANSWERS[:4], "8.6 A", "230", "2", "1")
    assert main(["card", "new"]) == 0
    card = read_card((at / "my-unit.toml").read_text(encoding="utf-8"))
    assert card.number("supply.voltage") == 230.0
    assert card.number("supply.phases") == 1.0
    assert card.number("capacity.rated_amps") == 8.6


@pytest.mark.usefixtures("at")
def test_no_file_is_written_over(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    for _ in range(2):
        answer(monkeypatch, *ANSWERS)
        assert main(["card", "new"]) == 0
    assert "my-unit-2.toml" in capsys.readouterr().out
    answer(monkeypatch, *ANSWERS)
    assert main(["card", "new", "--out", "my-unit.toml"]) == 2
    assert "--force" in capsys.readouterr().err
    answer(monkeypatch, *ANSWERS)
    assert main(["card", "new", "--out", "my-unit.toml", "--force"]) == 0


def test_answers_that_end_too_soon(at: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    answer(monkeypatch, "walk-in", "R-449A")
    assert main(["card", "new"]) == 2
    assert "end of input" in capsys.readouterr().err
    assert list(at.iterdir()) == []


@pytest.mark.usefixtures("at")
def test_json_goes_to_standard_output_alone(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    answer(monkeypatch, *ANSWERS)
    assert main(["card", "new", "--out", "-", "--json"]) == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert read_card(data["toml"]).text("kind") == "walk_in"
    assert data["assumed"]


@pytest.mark.parametrize("name", ["cheese-cooler", "butter-freezer", "shop-reach-in", "smallest"])
def test_check_of_the_examples(name: str, capsys: Captured) -> None:
    assert main(["card", "check", str(ROOT / "examples" / f"{name}.toml")]) == 0
    text = capsys.readouterr().out
    assert "Given" in text
    assert "Assumed" in text
    assert "common practice, no source" in text
    assert max(map(len, text.splitlines())) <= 110


def test_check_as_json(capsys: Captured) -> None:
    assert main(["card", "check", str(ROOT / "examples" / "cheese-cooler.toml"), "--json"]) == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    given = {fact["name"]: fact for fact in data["given"]}
    assumed = {fact["name"]: fact for fact in data["assumed"]}
    assert given["charge_kg"]["value"] == pytest.approx(2.948, abs=1e-3)
    assert assumed["condenser_split_k"]["spread"] > 0.0
    assert assumed["condenser_split_k"]["source"]
    assert not given.keys() & assumed.keys()
    assert data["choices"]["expansion"] == "txv"


def test_check_in_si_units(capsys: Captured) -> None:
    assert main(["card", "check", str(ROOT / "examples" / "smallest.toml"), "--units", "si"]) == 0
    text = capsys.readouterr().out
    assert "°C" in text
    assert "psig" not in text.replace("2 psig", "")


def test_everything_wrong_with_a_card_is_told(at: Path, capsys: Captured) -> None:
    (at / "bad.toml").write_text(
        'schema = 1\nkind = "walk_in"\nrefrigerant = "R-448"\napplication = "freezer"\n'
        '[box]\nlength = "10"\n[controls]\nset_point = "40 F"\n',
        encoding="utf-8",
    )
    assert main(["card", "check", "bad.toml"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    fields = ["refrigerant", "box.length", "box.width, box.height", "capacity", "controls.set_point"]
    assert [field for field in fields if f"{field}:" not in shown.err] == []
    assert main(["card", "check", "bad.toml", "--json"]) == 2
    assert len(json.loads(capsys.readouterr().out)["error"]) == 5


def test_a_card_that_is_not_there(capsys: Captured) -> None:
    assert main(["card", "check", "nowhere.toml"]) == 2
    assert "nowhere.toml" in capsys.readouterr().err


def test_a_caution_is_shown(at: Path, capsys: Captured) -> None:
    """25 psig of R-404A is about -8 F dew, above a -10 F box (common practice, no source)."""
    text = (ROOT / "examples" / "smallest.toml").read_text(encoding="utf-8")
    text = text.replace("R-449A", "R-404A").replace('"cooler"', '"freezer"')
    (at / "marginal.toml").write_text(text + '[controls]\nset_point = "-10 F"\nlow_cut_in = "25 psig"\n')
    assert main(["card", "check", "marginal.toml"]) == 0
    assert "Caution: low-pressure cut-in 25 psig is -8.4 F" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("answer", "typed"),
    [
        ("10 x 8 x 8 ft", {"box.length": "10 ft", "box.width": "8 ft", "box.height": "8 ft"}),
        ("10x8x8 ft", {"box.length": "10 ft", "box.width": "8 ft", "box.height": "8 ft"}),
        ("10 ft by 8 ft by 96 in", {"box.length": "10 ft", "box.width": "8 ft", "box.height": "96 in"}),
        ("10' x 8' x 8'", {"box.length": "10'", "box.width": "8'", "box.height": "8'"}),
        ("3 x 2.5 x 2.4 m", {"box.length": "3 m", "box.width": "2.5 m", "box.height": "2.4 m"}),
        ("640 ft3", {"box.volume": "640 ft3"}),
    ],
)
def test_boxes_as_people_write_them(answer: str, typed: dict[str, str]) -> None:
    assert read_box(answer) == typed


@pytest.mark.parametrize("answer", ["10 x 8", "big", "10 x 8 x 8", "0 ft3", "don't know"])
def test_boxes_that_are_none(answer: str) -> None:
    with pytest.raises(InputError):
        read_box(answer)


@pytest.mark.parametrize(
    ("answer", "field"),
    [
        ("9.2 kBtu/h", "capacity.rated"),
        ("0.75 ton", "capacity.rated"),
        ("2.7 kW", "capacity.rated"),
        ("1-1/2 hp", "capacity.horsepower"),
        ("1.5HP", "capacity.horsepower"),
        ("8.6 A", "capacity.rated_amps"),
        ("8.6 amps", "capacity.rated_amps"),
        ("AB-0150-X", "capacity.model"),
        ("Don't know", "capacity.unknown"),
        ("?", "capacity.unknown"),
        ("", "capacity.unknown"),
    ],
)
def test_capacities_as_people_write_them(answer: str, field: str) -> None:
    assert list(read_capacity(answer)) == [field]


@pytest.mark.parametrize("answer", ["1.5", "9.2 kg", "900 hp", "12 psig"])
def test_capacities_that_are_none(answer: str) -> None:
    with pytest.raises(InputError):
        read_capacity(answer)
