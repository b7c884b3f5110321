"""Set-up on a machine that lacks something says what, in words, and leaves no half-made environment."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from house.tree import ROOT

SHELL = shutil.which("sh") or "sh"

# Stand-ins for an interpreter: they answer the questions scripts/make-venv asks, and no others.
TOO_OLD = """#!{shell}
case "$1" in --version) echo "Python 3.9.2" ;; *) exit 1 ;; esac
"""
NO_ENSUREPIP = """#!{shell}
case "$2" in
    *ensurepip*) exit 1 ;;
    *print*) echo 3.12 ;;
    *) exit 0 ;;
esac
"""
NOT_ROOT = "#!{shell}\necho 1000\n"


@pytest.fixture
def machine(tmp_path: Path) -> Path:
    """Return the only folder on PATH: it holds what the test puts there, and an ``id`` that is not root."""
    folder = tmp_path / "bin"
    folder.mkdir()
    add(folder, "id", NOT_ROOT)
    return folder


def add(folder: Path, name: str, text: str) -> None:
    """Put a command of that name into ``folder``."""
    (folder / name).write_text(text.replace("{shell}", SHELL), encoding="utf-8")
    (folder / name).chmod(0o755)


def make_venv(machine: Path) -> subprocess.CompletedProcess[str]:
    """Run the set-up script with nothing but ``machine`` on PATH."""
    return subprocess.run(
        [SHELL, str(ROOT / "scripts" / "make-venv"), str(machine.parent / "venv"), "python3"],
        env={"PATH": str(machine)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_an_old_python_is_named(machine: Path) -> None:
    add(machine, "python3", TOO_OLD)
    done = make_venv(machine)
    assert done.returncode == 1
    assert "needs Python 3.11 to 3.14; 'python3' here is: Python 3.9.2" in done.stderr
    assert "make PYTHON=" in done.stderr
    assert not (machine.parent / "venv").exists()


def test_no_python_is_said(machine: Path) -> None:
    done = make_venv(machine)
    assert done.returncode == 1
    assert "needs Python 3.11 to 3.14" in done.stderr


def test_a_newer_python_beside_the_old_one_is_found(machine: Path) -> None:
    add(machine, "python3", TOO_OLD)
    add(machine, "python3.12", "#!{shell}\ncase \"$2\" in *print*) echo 3.12 ;; esac\n")
    done = make_venv(machine)
    assert done.returncode == 0, done.stderr
    assert "so python3.12 is used" in done.stdout


def test_missing_ensurepip_names_the_package(machine: Path) -> None:
    add(machine, "python3", NO_ENSUREPIP)
    done = make_venv(machine)
    assert done.returncode == 1
    assert "apt install python3.12-venv" in done.stderr
    assert not (machine.parent / "venv").exists()
