"""Adding a refrigerant is one file and one command: done here with a mixture that has no designation.

Half R-124, half R-152a by mass: CoolProp 8 has no parameters for that pair, so the file must give an
estimate.
"""

from __future__ import annotations

import importlib
import json
import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

from holdcold.refrigerants import names
from holdcold.refrigerants.fluid import build

coolprop = pytest.importorskip("CoolProp")
pytest.importorskip("scipy")

ROOT = Path(__file__).parents[2]
MADE_UP = """\
name = "R-999Z"
safety_class = "A2"
model = "mixture"
source = "Made up."
note = "Of no use."

[composition]  # mass %
"R-124" = 50.0
"R-152a" = 50.0
"""
ESTIMATE = """
[[pair]]
components = ["R-124", "R-152a"]
simple = "Lorentz-Berthelot"
second = "linear"
why = "Nothing is known here."
"""


Tool = Callable[[str], ModuleType]


@pytest.fixture
def tool(monkeypatch: pytest.MonkeyPatch) -> Tool:
    """Import a module of the fitting tool."""
    monkeypatch.syspath_prepend(str(ROOT))
    return lambda name: importlib.import_module(f"tools.fit_refrigerants.{name}")


def run(source: Path, *command: str) -> str:
    """Run Python from the project's root with ``source`` first on its path; return what it prints."""
    environment = {**os.environ, "PYTHONPATH": f"{source}{os.pathsep}{ROOT}"}
    done = subprocess.run(
        [sys.executable, *command], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_new_mixture_is_one_file_and_one_command(tmp_path: Path) -> None:
    package = tmp_path / "src" / "holdcold"
    shutil.copytree(ROOT / "src" / "holdcold", package, ignore=shutil.ignore_patterns("__pycache__"))
    file, folder = tmp_path / "R-999Z.toml", package / "refrigerants" / "data"
    file.write_text(MADE_UP + ESTIMATE, encoding="utf-8")
    said = run(package.parent, "-m", "tools.fit_refrigerants", str(file), "--out", str(folder))
    assert "R-999Z: wrote R-999Z.json" in said

    content = json.loads((folder / "R-999Z.json").read_text(encoding="utf-8"))
    new = build(content)
    assert new.info.status == "estimated pairs"
    assert new.info.note == "Of no use."
    assert new.info.reference_spread["bubble pressure"].worst > 0.0
    # (609 + 124) / 2, component values of AR4.
    assert list(new.info.gwp.values()) == pytest.approx([366.5])
    assert_agrees_with_coolprop(new)

    # The whole program knows it, without another change.
    script = "import sys; from holdcold.cli.main import main; sys.exit(main(['sat', 'r999z', '0C']))"
    said = run(package.parent, "-c", script)
    assert "R-999Z" in said
    assert "dew" in said


def assert_agrees_with_coolprop(new) -> None:
    """Compare with CoolProp's own mixture flash under the same simple rule."""
    cas = [coolprop.CoolProp.get_fluid_param_string(part, "CAS") for part in ("R124", "R152A")]
    coolprop.CoolProp.apply_simple_mixing_rule(*cas, "Lorentz-Berthelot")
    state = coolprop.AbstractState("HEOS", "R124&R152A")
    state.set_mass_fractions([0.5, 0.5])
    for celsius in (-30.0, 5.0, 45.0):
        for quality, mine in ((0.0, new.bubble_pa), (1.0, new.dew_pa)):
            state.update(coolprop.QT_INPUTS, quality, 273.15 + celsius)
            assert mine(273.15 + celsius) == pytest.approx(state.p(), rel=1e-4)
    state.update(coolprop.PT_INPUTS, 3.0e5, 300.0)
    assert 1.0 / new.vapour(300.0, 3.0e5)[2] == pytest.approx(state.rhomass(), rel=1e-4)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        (MADE_UP, "no parameters for R-124/R-152a"),
        (MADE_UP.replace("50.0", "49.0"), "does not sum to 100 %"),
        (MADE_UP.replace('"mixture"', '"solution"'), "none of pure, pseudo-pure, mixture"),
        (MADE_UP.replace("note", "remark"), "remark"),
    ],
)
def test_what_is_wrong_with_a_file_is_said(tool: Tool, text: str, complaint: str) -> None:
    catalogue, pairs = tool("catalogue"), tool("pairs")
    with pytest.raises(SystemExit, match=complaint):
        pairs.estimated(catalogue.read(tomllib.loads(text), "R-999Z.toml"))


def test_an_unknown_designation_lists_the_catalogue(tool: Tool) -> None:
    catalogue = tool("catalogue")
    with pytest.raises(SystemExit, match="R-448A"):
        catalogue.entry("R-999Y")
    assert set(catalogue.catalogued()) == set(names())


def test_the_tables_of_the_page_are_those_of_the_data(tool: Tool) -> None:
    table = tool("table")
    page = (ROOT / "docs" / "refrigerants.md").read_text(encoding="utf-8")
    assert table.renewed(page) == page, "run: python -m tools.fit_refrigerants --table"
