"""What every file of the project owes its reader: no private paths, no loose ends, a source for data."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from house.tree import ROOT, name_of, project_files

REFERENCE = ROOT / "tests" / "reference"

# Written with one letter in brackets, so that this file does not match its own patterns.
UNWANTED = {
    "a path of somebody's machine": r"(?<![\w.:])/(w[o]rk|f[a]rm|r[o]ot|h[o]me|t[m]p)/",
    "the host of a package registry": r"python[h]osted|p[y]pi\.org|registry\.n[p]mjs|d[e]bian\.org",
    "a mark of unfinished work": r"\b(T[O]DO|F[I]XME|X[X]X|H[A]CK)\b",
    "talk about its making": r"(?i)this s[e]ssion|sub-?a[g]ent|language m[o]del|seed d[o]cument|transc[r]ipt",
}
BINARY = {".png", ".jpg", ".pdf", ".gz", ".zip", ".woff2", ".ico"}


def text_files() -> list[Path]:
    """Return the project's text files."""
    return [path for path in project_files() if path.suffix not in BINARY]


def unwanted(text: str) -> list[str]:
    """Return what in ``text`` does not belong in the project."""
    return [
        f"line {text.count(chr(10), 0, match.start()) + 1}: {match.group()!r} is {what}"
        for what, pattern in UNWANTED.items()
        for match in re.finditer(pattern, text)
    ]


def reference_folders() -> list[Path]:
    """Return each folder of outside data: the first level below tests/reference."""
    below = (path.relative_to(REFERENCE) for path in project_files() if path.is_relative_to(REFERENCE))
    return sorted({REFERENCE / relative.parts[0] for relative in below if len(relative.parts) > 1})


def test_no_file_holds_what_does_not_belong() -> None:
    found = {name_of(path): unwanted(path.read_text(encoding="utf-8")) for path in text_files()}
    assert {name: lines for name, lines in found.items() if lines} == {}


@pytest.mark.parametrize(
    "text",
    ["/".join(["see ", "work", "x"]), "/".join(["", "home", "ann"]), "python" + "hosted", "# TO" + "DO"],
)
def test_the_check_sees(text: str) -> None:
    assert unwanted(text)


@pytest.mark.parametrize("text", ["the farm shop", "network/home page", "src/holdcold/home/", "https://a.example/"])
def test_the_check_allows(text: str) -> None:
    assert unwanted(text) == []


def test_text_ends_with_one_newline() -> None:
    right = re.compile(r"(\A|[^\n]\n)\Z")
    texts = {name_of(path): path.read_text(encoding="utf-8") for path in text_files()}
    assert [name for name, text in texts.items() if not right.search(text)] == []


def test_outside_data_name_their_source() -> None:
    loose = [name_of(path) for path in project_files() if path.parent == REFERENCE]
    missing = [name_of(folder) for folder in reference_folders() if not (folder / "SOURCE.md").is_file()]
    assert loose + missing == []


@pytest.mark.parametrize("folder", reference_folders(), ids=name_of)
def test_source_note_says_enough(folder: Path) -> None:
    """A note names each data file beside it, so that none lies there without an origin."""
    note = (folder / "SOURCE.md").read_text(encoding="utf-8")
    data = [path for path in project_files() if path.is_relative_to(folder) and path.name != "SOURCE.md"]
    assert [name_of(path) for path in data if path.name not in note and path.suffix not in note.split()] == []
