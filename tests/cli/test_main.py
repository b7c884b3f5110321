"""The frame of the command line: exit codes, errors as text and as JSON, odd terminals and broken pipes."""

from __future__ import annotations

import argparse
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TextIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

import holdcold
from holdcold.cli import main as frame
from holdcold.cli.common import (
    EXIT_BAD_INPUT,
    EXIT_INTERRUPTED,
    EXIT_NO_ANSWER,
    EXIT_OK,
    Parser,
    both,
    read_text_file,
    write,
    write_json,
)
from holdcold.cli.main import main, parse_arguments
from holdcold.cli.tables import printable, table, wrapped
from holdcold.errors import InputError, InputErrors, SolverError

Captured = pytest.CaptureFixture[str]


def raising(monkeypatch: pytest.MonkeyPatch, problem: BaseException) -> None:
    """Let the one command ``fail`` raise ``problem``."""

    def run(_args: argparse.Namespace) -> int:
        raise problem

    def build() -> Parser:
        parser = Parser(prog="holdcold")
        command = parser.add_subparsers().add_parser("fail")
        command.add_argument("--json", action="store_true")
        command.set_defaults(run=run)
        return parser

    monkeypatch.setattr(frame, "build_parser", build)


def two_problems() -> InputErrors:
    """Two problems of one file."""
    return InputErrors(
        [InputError("a", 1, "2 to 3", "Do this."), InputError("b", "x", "a number", "Do that.")]
    )


@pytest.mark.parametrize(
    ("problem", "code"),
    [
        (InputError("a", 1, "2 to 3", "Do."), EXIT_BAD_INPUT),
        (two_problems(), EXIT_BAD_INPUT),
        (SolverError("no bracket"), EXIT_NO_ANSWER),
        (KeyboardInterrupt(), EXIT_INTERRUPTED),
    ],
)
def test_exit_codes(monkeypatch: pytest.MonkeyPatch, problem: BaseException, code: int) -> None:
    raising(monkeypatch, problem)
    assert main(["fail"]) == code


def test_a_fault_of_ours_is_not_hidden(monkeypatch: pytest.MonkeyPatch) -> None:
    raising(monkeypatch, ZeroDivisionError())
    with pytest.raises(ZeroDivisionError):
        main(["fail"])


def test_problems_as_text(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    raising(monkeypatch, two_problems())
    assert main(["fail"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.splitlines() == [
        "a:",
        "  got      1",
        "  allowed  2 to 3",
        "  do       Do this.",
        "b:",
        "  got      x",
        "  allowed  a number",
        "  do       Do that.",
    ]


def test_problems_as_json(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    raising(monkeypatch, two_problems())
    assert main(["fail", "--json"]) == 2
    told = capsys.readouterr()
    assert told.err == ""
    assert json.loads(told.out) == {
        "error": [
            {"field": "a", "value": "1", "allowed": "2 to 3", "advice": "Do this."},
            {"field": "b", "value": "x", "allowed": "a number", "advice": "Do that."},
        ]
    }


def test_no_answer_as_json(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    raising(monkeypatch, SolverError("no bracket"))
    assert main(["fail", "--json"]) == 3
    assert "no bracket" in json.loads(capsys.readouterr().out)["error"][0]["advice"]


@pytest.mark.parametrize(
    "typed",
    [
        ["frob"],
        ["sat"],
        ["sat", "R-448A"],
        ["sat", "R-448A", "20psig", "--frob"],
        ["sat", "R-22", "1F", "--units", "x"],
    ],
)
def test_a_command_that_is_none(typed: list[str], capsys: Captured) -> None:
    assert main(typed) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("command line:\n")
    assert "--help" in told.err
    assert main([*typed, "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"][0]["field"] == "command line"


def test_help_and_version_end_well(capsys: Captured) -> None:
    for typed, said in (([], "commands:"), (["--help"], "sat"), (["sat", "--help"], "--altitude")):
        with pytest.raises(SystemExit) as ended:
            main(typed)
        assert ended.value.code == EXIT_OK
        assert said in capsys.readouterr().out
    with pytest.raises(SystemExit):
        main(["--version"])
    assert capsys.readouterr().out == f"holdcold {holdcold.__version__}\n"


def test_words_that_start_with_a_minus() -> None:
    parser = Parser()
    parser.add_argument("--box")
    parser.add_argument("words", nargs="*")
    args = parse_arguments(parser, ["--box", "-10F", "-.5", "-5,5 C", "-10 F", "R-22", "−3F"])
    assert args.box == "-10F"
    assert args.words == ["-.5", "-5,5 C", "-10 F", "R-22", "-3F"]


def test_both_collects() -> None:
    def fail(field: str) -> int:
        raise InputError(field, 1, "2", "Do.")

    def fail_twice() -> int:
        raise two_problems()

    assert both(lambda: 1, lambda: "x") == (1, "x")
    with pytest.raises(InputErrors) as caught:
        both(lambda: fail("c"), fail_twice)
    assert [problem.field for problem in caught.value.problems] == ["c", "a", "b"]


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    good = tmp_path / "good.toml"
    good.write_text("\ufeffa = '°'\n", encoding="utf-8")
    assert read_text_file(str(good), "card") == "a = '°'\n"
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"\xff\xfe\x00")
    for path in (bad, tmp_path / "none.toml", tmp_path):
        with pytest.raises(InputError) as caught:
            read_text_file(str(path), "card")
        assert caught.value.field == "card"
        assert caught.value.value == str(path)


def test_numbers_that_have_no_json_form() -> None:
    with pytest.raises(ValueError, match="nan"):
        write_json({"a": float("nan")})


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8", "no-such-encoding", None])
def test_any_terminal_can_show_it(encoding: str | None) -> None:
    text = printable("−10 °F → 20 µm ≤ 3 Ω × ½ \N{SNOWMAN}", encoding)
    known = encoding if encoding not in {"no-such-encoding", None} else "ascii"
    assert text.encode(known).decode(known) == text
    if encoding == "ascii":
        assert text == "-10 F -> 20 um <= 3 ohm x 1/2 ?"


@given(st.text(), st.sampled_from(["ascii", "latin-1", "cp1252", "shift_jis", "utf-8"]))
def test_nothing_is_refused_by_a_terminal(text: str, encoding: str) -> None:
    stream: TextIO = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    write(text, stream)
    stream.flush()


def test_table() -> None:
    text = table([["dew", "-4.7 °F"], ["bubble", "-16.1 °F"]], ["what", "value"], right=(1,))
    assert text.splitlines() == [
        "what       value",
        "------  --------",
        "dew      -4.7 °F",
        "bubble  -16.1 °F",
    ]
    assert table([]) == ""
    with pytest.raises(ValueError, match="zip"):
        table([["a", "b"], ["c"]], ["x", "y"])


def test_wrapped() -> None:
    assert wrapped("aaa bbb ccc", width=7, indent="  ") == "aaa bbb\n  ccc"


def holdcold_process(words: list[str], **environment: str) -> subprocess.Popen[bytes]:
    """Start the command as a process of its own."""
    code = "import sys; from holdcold.cli.main import main; sys.exit(main())"
    source = str(Path(holdcold.__file__).parents[1])
    return subprocess.Popen(
        [sys.executable, "-c", code, *words],
        env={**os.environ, "PYTHONPATH": source, **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def test_a_reader_that_leaves() -> None:
    """``holdcold ... | head -0``: no traceback, whatever the moment."""
    process = holdcold_process(["sat", "R-448A", "20psig", "--json"])
    assert process.stdout is not None
    process.stdout.close()
    assert process.wait(timeout=60) == 0
    assert process.stderr is not None
    assert process.stderr.read() == b""
    process.stderr.close()


def test_an_ascii_terminal() -> None:
    out, err = holdcold_process(["sat", "R-448A", "20psig"], PYTHONIOENCODING="ascii").communicate(timeout=60)
    assert b"-4.7 F" in out
    assert err == b""
    out, err = holdcold_process(
        ["sat", "R-448A", "900°F"], PYTHONIOENCODING="ascii", PYTHONUTF8="1"
    ).communicate(timeout=60)
    assert b"got      900" in err
    assert b"Traceback" not in err
