"""The engine, the log and the command line need nothing but Python; an extra that is missing is named."""

from __future__ import annotations

import subprocess
import sys

from house.tree import SOURCE

BLOCKED = """
import sys

class Blocked:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"sqlalchemy", "fastapi", "starlette", "pydantic", "uvicorn", "psycopg"}:
            raise ModuleNotFoundError(name)

sys.meta_path.insert(0, Blocked())
"""


def run(code: str) -> subprocess.CompletedProcess[str]:
    """Run Python in which the packages of the extras are not there."""
    return subprocess.run(
        [sys.executable, "-c", BLOCKED + code],
        capture_output=True, text=True, check=False, timeout=60,
        env={"PYTHONPATH": str(SOURCE.parent), "PATH": ""},
    )  # fmt: skip


def test_everything_but_store_and_server_works_without_extras() -> None:
    code = "import holdcold.calls.entries, holdcold.diagnosis.find\nfrom holdcold.cli.main import main\n"
    done = run(code + "sys.exit(main(['sat', 'R-448A', '20psig']))")
    assert done.returncode == 0, done.stderr


def test_a_missing_extra_is_asked_for() -> None:
    done = run("from holdcold.cli.main import main\nsys.exit(main(['verify']))")
    assert done.returncode == 2
    assert "pip install" in done.stderr
    assert "holdcold[server]" in done.stderr


def test_the_check_sees() -> None:
    assert "ModuleNotFoundError" in run("import sqlalchemy").stderr
