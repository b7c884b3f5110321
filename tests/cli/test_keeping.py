"""Commands that look after the store: what they say, and their exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from calls.entry_samples import CALL
from holdcold.cli import keeping
from holdcold.cli.main import main
from holdcold.store import FILE, open_store, own_shop
from store.samples import PHOTO_SHA, fill


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """Return the folder of a store with content."""
    store = open_store(tmp_path / "data")
    fill(store, own_shop(store))
    store.close()
    return tmp_path / "data"


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    """Run a command; return exit code, output, errors."""
    code = main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_backup_restore_verify(data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "backup", tmp_path / "copy", "--data", data)
    assert (code, "and checked" in out) == (0, True)
    code, out, _ = run(capsys, "restore", tmp_path / "copy", "--data", tmp_path / "new", "--json")
    assert (code, json.loads(out)["damage"]) == (0, [])
    code, out, _ = run(capsys, "verify", "--data", tmp_path / "new")
    assert (code, out.splitlines()[0]) == (0, "Everything is as it was received.")
    code, _, err = run(capsys, "backup", tmp_path / "copy", "--data", data)
    assert (code, "does not exist yet" in err) == (2, True)


def test_verify_says_what_is_damaged(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    photo = next(path for path in data.rglob(PHOTO_SHA))
    photo.write_bytes(b"other")
    code, out, _ = run(capsys, "verify", "--data", data)
    assert code == 4
    assert f"Damage: photo {PHOTO_SHA}: not what was received" in out


def test_a_file_that_is_no_database_exits_4(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / FILE).write_text("no database" * 1000, encoding="utf-8")
    code, _, err = run(capsys, "verify", "--data", tmp_path)
    assert (code, "cannot be opened" in err) == (4, True)
    code, out, _ = run(capsys, "verify", "--data", tmp_path, "--json")
    assert (code, json.loads(out)["error"][0]["field"]) == (4, "store")


def test_export_and_import(data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "export", tmp_path / "call.zip", "--call", CALL, "--data", data, "--json")
    assert (code, json.loads(out)["entries"], json.loads(out)["photos"]) == (0, 10, 1)
    for expected in ("Entries: 10 kept, 0 known, 1 quarantined", "Entries: 0 kept, 10 known, 1 quarantined"):
        code, out, _ = run(capsys, "import", tmp_path / "call.zip", "--data", tmp_path / "new")
        assert (code, expected in out) == (0, True)
    code, _, err = run(capsys, "export", tmp_path / "x.zip", "--call", "nothing", "--data", data)
    assert (code, "a call of this shop" in err) == (2, True)


def test_where_there_is_no_store(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in (["verify"], ["backup", tmp_path / "x"], ["export", tmp_path / "x"]):
        code, _, err = run(capsys, *command, "--data", tmp_path / "none")
        assert (code, "a folder with a store" in err) == (2, True)
    assert not (tmp_path / "none").exists()


def test_a_missing_extra_is_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(keeping.importlib.util, "find_spec", lambda _name: None)
    code, _, err = run(capsys, "verify")
    assert code == 2
    assert "pip install 'holdcold[server]'" in " ".join(err.split())
    code, _, err = run(capsys, "verify", "--database", "postgresql://x/y")
    assert "holdcold[server,postgres]" in err


def test_a_wrong_url_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, _, err = run(capsys, "verify", "--database", "mysql://x/y", "--data", tmp_path)
    assert (code, "postgresql://" in err) == (2, True)
