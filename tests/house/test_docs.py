"""The documents are true: their commands run, every command is in them, versions and names agree."""

from __future__ import annotations

import os
import re
import shutil
import sys
from pathlib import Path

import pytest

import holdcold
from house.cli_tree import CLI_EXISTS, commands, root_parser, silent_options
from house.console import Shown, fits, run, shown_commands
from house.tree import ROOT, SOURCE, name_of, project_files, python_files, room_of

needs_cli = pytest.mark.skipif(not CLI_EXISTS, reason="the command line (src/holdcold/cli) is not there yet")
DOCUMENTS = [path for path in project_files() if path.suffix == ".md"]
WITH_COMMANDS = [path for path in DOCUMENTS if shown_commands(path.read_text(encoding="utf-8"))]
LINK = re.compile(r"\]\((?!https?:|mailto:|#)([^)\s#]+)")


def read(name: str) -> str:
    """Return the text of a document named from the project's root."""
    return (ROOT / name).read_text(encoding="utf-8")


@pytest.fixture
def workplace(tmp_path: Path) -> Path:
    """Return a copy of the project's documents and examples in which commands may write."""
    for path in project_files():
        if path.is_relative_to(SOURCE) or path.is_relative_to(ROOT / "tests"):
            continue
        copy = tmp_path / "project" / path.relative_to(ROOT)
        copy.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, copy)
    return tmp_path / "project"


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    """Return an environment whose ``holdcold`` is this source, installed or not."""
    command = tmp_path / "bin" / "holdcold"
    command.parent.mkdir()
    code = "import sys\nfrom holdcold.cli.main import main\nsys.exit(main())\n"
    command.write_text(f"#!{sys.executable}\n{code}", encoding="utf-8")
    command.chmod(0o755)
    path = os.pathsep.join([str(command.parent), os.environ["PATH"]])
    return {**os.environ, "PATH": path, "PYTHONPATH": str(SOURCE.parent), "NO_COLOR": "1", "COLUMNS": "100"}


@needs_cli
@pytest.mark.parametrize("document", WITH_COMMANDS, ids=name_of)
def test_commands_shown_run(document: Path, workplace: Path, environment: dict[str, str]) -> None:
    shown = shown_commands(document.read_text(encoding="utf-8"))
    ours = [one for one in shown if one.command.startswith("holdcold")]
    wrong = [problem for one in ours if (problem := run(one, workplace, environment))]
    assert wrong == [], "\n\n".join(wrong)


@needs_cli
def test_readme_shows_commands() -> None:
    assert any(one.command.startswith("holdcold") for one in shown_commands(read("README.md")))


@needs_cli
def test_every_command_is_in_the_command_reference() -> None:
    headings = set(re.findall(r"^#+ `?(holdcold[\w -]*?)`?$", read("docs/cli.md"), re.MULTILINE))
    names = {name for name, _, _ in commands(root_parser())}
    assert names
    assert names - headings == set(), "docs/cli.md has no heading for these"
    assert headings - names - {"holdcold"} == set(), "docs/cli.md describes commands that are not there"


@needs_cli
def test_every_option_is_in_the_command_reference() -> None:
    text = read("docs/cli.md")
    options = {
        option
        for _, _, parser in commands(root_parser())
        for action in parser._actions
        for option in action.option_strings
        if option.startswith("--") and option != "--help"
    }
    assert {option for option in options if f"`{option}" not in text} == set()


@needs_cli
def test_every_command_has_help() -> None:
    silent = []
    for name, short, parser in commands(root_parser()):
        silent += [] if short else [name]
        silent += [f"{name} {option}" for option in silent_options(parser)]
    assert silent == []


def test_newest_change_is_this_version() -> None:
    newest = re.search(r"^## (\S+)", read("CHANGELOG.md"), re.MULTILINE)
    assert newest is not None
    assert newest[1] == holdcold.__version__


def test_benchmarks_have_results() -> None:
    scripts = [path for path in python_files(ROOT / "benchmarks") if not path.name.startswith("_")]
    results = read("benchmarks/RESULTS.md") if scripts else ""
    assert [path.name for path in scripts if path.name not in results] == []


def test_every_room_is_on_the_map() -> None:
    rooms = {room_of(path) for path in python_files(SOURCE)} - {"", "__main__"}
    for document in ("ARCHITECTURE.md", "README.md"):
        text = read(document)
        assert {room for room in rooms if f"`{room}`" not in text} == set(), document


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_links_lead_somewhere(document: Path) -> None:
    targets = LINK.findall(document.read_text(encoding="utf-8"))
    assert [target for target in targets if not (document.parent / target).exists()] == []


def test_decisions_are_numbered_without_gaps() -> None:
    records = sorted(path for path in (ROOT / "decisions").glob("[0-9]*.md"))
    assert [int(path.name[:4]) for path in records] == list(range(1, len(records) + 1))
    for path in records:
        headings = re.findall(r"^## (\w+)", path.read_text(encoding="utf-8"), re.MULTILINE)
        assert headings == ["Context", "Decision", "Consequences"], path.name


def test_documents_stay_short() -> None:
    """A newcomer reads both before touching anything: README in three screens, the map in two."""
    assert read("README.md").count("\n") <= 160
    assert read("ARCHITECTURE.md").count("\n") <= 120


def test_shown_commands_are_read() -> None:
    console = "```console\n$ holdcold a  # exits 2\nno\n$ holdcold b <<X\n> 1\n> X\n```\n"
    text = console + "```sh\n$ holdcold c\n```\n"
    assert shown_commands(text) == [
        Shown("holdcold a  # exits 2", 2, ["no"]),
        Shown("holdcold b <<X\n1\nX", 0, []),
    ]


@pytest.mark.parametrize(
    ("expected", "printed", "verdict"),
    [(["a  b", "...", "z"], "a b\n1\n2\nz\n", True), (["a ... z"], "a z", True), (["a"], "a b", False),
     (["250.0 K"], "250x0 K", False), ([], "whatever", True)],
)  # fmt: skip
def test_output_is_compared(expected: list[str], printed: str, *, verdict: bool) -> None:
    assert fits(expected, printed) is verdict


def test_a_wrong_exit_code_is_seen(tmp_path: Path) -> None:
    assert "exit code 3, 0 expected" in run(Shown("exit 3"), tmp_path, dict(os.environ))
    assert run(Shown("exit 3  # exits 3", 3), tmp_path, dict(os.environ)) == ""
    assert "something else" in run(Shown("echo a", 0, ["b"]), tmp_path, dict(os.environ))
