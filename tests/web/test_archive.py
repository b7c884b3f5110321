"""The archive of the pure rooms: the same bytes every time, complete, and able to stand alone."""

from __future__ import annotations

import hashlib
import subprocess
import sys
import zipfile
from io import BytesIO
from pathlib import Path

from holdcold.web.archive import build
from house.tree import SOURCE, name_of, pure_files

# Only the standard library and the archive: no site packages, no folder of the source, no shell of ours.
ALONE = """
import sys
class Refuse:
    def find_spec(self, name, path=None, target=None):
        top = name.partition(".")[0]
        ours = top == "holdcold" and name not in {"holdcold.cli", "holdcold.web"}
        if not ours and top not in sys.stdlib_module_names:
            raise ImportError(f"{name} is blocked")
sys.meta_path.insert(0, Refuse())
sys.path.insert(0, sys.argv[1])
import json
from holdcold.answers.desk import answer
assert "holdcold-" in sys.modules["holdcold"].__file__
print(json.loads(answer(sys.argv[2]))["shown"]["dew"])
try:
    import holdcold.cli
except ImportError as problem:
    print(problem)
"""


def test_two_builds_are_the_same_bytes() -> None:
    one, other = build(), build()
    assert one == other
    assert one.name == f"holdcold-{hashlib.sha256(one.content).hexdigest()[:16]}.zip"


def test_another_process_builds_the_same() -> None:
    code = "from holdcold.web.archive import build; print(build().name)"
    done = subprocess.run(
        [sys.executable, "-R", "-c", code], capture_output=True, text=True, check=True,
        env={"PYTHONPATH": str(SOURCE.parent), "TZ": "Asia/Kolkata", "PYTHONHASHSEED": "7"},
    )  # fmt: skip
    assert done.stdout.strip() == build().name


def test_every_pure_file_travels_and_no_shell() -> None:
    with zipfile.ZipFile(BytesIO(build().content)) as archive:
        names = archive.namelist()
        assert names == sorted(names)
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    travelling = {f"src/{name}" for name in names if name.endswith(".py")}
    pure = {name_of(path) for path in pure_files()} - {"src/holdcold/__main__.py"}
    assert travelling == pure


def test_it_stands_alone(tmp_path: Path) -> None:
    archive = build()
    path = tmp_path / archive.name
    path.write_bytes(archive.content)
    question = '{"ask": "saturation", "refrigerant": "R-448A", "reading": "20 psig"}'
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", ALONE, str(path), question],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == ["-4.7 °F", "holdcold.cli is blocked"]
