"""Every fault has a page, and the pages say what data and engine say."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from holdcold.diagnosis.catalogue import catalogue
from house.tree import ROOT

PAGES = ROOT / "docs" / "faults"
BOOK = catalogue()
SECTIONS = (
    "How it is recognised", "What the gauges do", "What it is confused with", "How to prove it", "What to do",
    "What lies behind it", "Cautions", "Sources",
)  # fmt: skip


def run(*words: str) -> subprocess.CompletedProcess[str]:
    """Run Python at the root of the project, with its source and its tools at hand."""
    environment = {**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"}
    command = [sys.executable, *words]
    return subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)


def test_pages_are_as_data_and_engine_would_write_them() -> None:
    done = run("-m", "tools.fault_pages", "--check")
    assert done.returncode == 0, f"run: python -m tools.fault_pages\n{done.stdout}{done.stderr}"


def test_every_fault_has_a_page_and_no_page_is_left_over() -> None:
    assert {path.stem for path in PAGES.glob("*.md")} == set(BOOK.faults)


@pytest.mark.parametrize("fault", BOOK.faults)
def test_a_page_says_all_it_should(fault: str) -> None:
    text = (PAGES / f"{fault}.md").read_text(encoding="utf-8")
    assert text.startswith(f"# {BOOK.fault(fault).title}\n\n`{fault}`")
    assert tuple(re.findall(r"^## (.*)$", text, re.MULTILINE)) == SECTIONS
    parts = re.split(r"^## .*$", text, flags=re.MULTILINE)[1:]
    assert [name for name, part in zip(SECTIONS, parts, strict=True) if len(part.strip()) < 20] == []
    assert BOOK.check(BOOK.fault(fault).repair.proof).id in text
    for caution in BOOK.fault(fault).cautions:
        assert BOOK.cautions[caution].text in text


def test_a_page_with_physics_moves_something() -> None:
    still = [
        name
        for name, fault in BOOK.faults.items()
        if fault.has_physics and not re.search("[▲▼] ", (PAGES / f"{name}.md").read_text(encoding="utf-8"))
    ]
    assert still == []


@pytest.mark.parametrize(
    ("one", "other", "verdict"),
    [("▲ 20 psi", "▲ 21 psi", True), ("▲ 20 psi", "▼ 20 psi", False), ("5.2 K", "5.3 K", True),
     ("5.2 K", "6.2 K", False), ("80 %", "84 %", True), ("80 %", "90 %", False), ("a 1", "b 1", False)],
)  # fmt: skip
def test_small_changes_of_numbers_pass(one: str, other: str, *, verdict: bool) -> None:
    told = run("-c", f"from tools.fault_pages.compare import same; print(same({one!r}, {other!r}))")
    assert told.stdout.strip() == str(verdict), told.stderr


def test_reference_units_are_read_as_cards() -> None:
    folder = Path(ROOT / "tools" / "fault_pages" / "units")
    assert {path.stem for path in folder.glob("*.toml")} == {"cooler", "freezer", "reach-in", "electronic"}
