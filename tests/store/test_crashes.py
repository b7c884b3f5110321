"""Killed at the worst moments, and power cut: nothing acknowledged is lost, nothing is there twice."""

from __future__ import annotations

import json
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from calls.entry_samples import CALL, Device
from holdcold.calls.entries import entry_of
from holdcold.errors import StoreError
from holdcold.store import FILE, log_of_call, open_store, own_shop, put_part, sync, upload_state, verify
from store.samples import PART, PARTS, PHOTO, PHOTO_SHA, photo_body

ROOT = Path(__file__).parents[2]
VICTIM = """
import json, os, signal, sys
from pathlib import Path
from holdcold.store import open_store, own_shop, put_part, sync

folder, point, after, work = sys.argv[1:5]
left = [int(after)]

def die(name):
    if name == point:
        left[0] -= 1
        if left[0] < 0:
            os.kill(os.getpid(), signal.SIGKILL)

store = open_store(Path(folder), at_point=die)
shop = own_shop(store)
if work == "sync":
    for line in sys.stdin:
        answer = sync(store, shop, [json.loads(line)])
        print(answer.taken[0].id, flush=True)
else:
    content, part = Path(work).read_bytes(), 256 * 1024
    pieces = [content[n:n + part] for n in range(0, len(content), part)]
    for number, piece in enumerate(pieces):
        state = put_part(store, shop, sys.argv[5], number, len(pieces), piece)
        print("whole" if state.whole else number, flush=True)
"""


def run(folder: Path, point: str, after: int, *work: str, text: str = "") -> list[str]:
    """Run the victim until it is killed; return what it had acknowledged."""
    done = subprocess.run(
        [sys.executable, "-c", VICTIM, str(folder), point, str(after), *work],
        input=text, capture_output=True, text=True, check=False, timeout=60,
        env={"PYTHONPATH": str(ROOT / "src"), "PATH": ""},
    )  # fmt: skip
    assert done.returncode == -signal.SIGKILL, done.stderr
    return done.stdout.split()


@pytest.mark.parametrize("point", ["entries taken", "before commit", "after commit"])
@pytest.mark.parametrize("after", [0, 3])
def test_killed_in_a_sync(tmp_path: Path, point: str, after: int) -> None:
    ana = Device()
    lines = [json.dumps(ana.read("box_k", f"{n} F", n).wire()) for n in range(6)]
    acknowledged = run(tmp_path, point, after, "sync", text="\n".join(lines))
    assert len(acknowledged) == after
    store = open_store(tmp_path)
    shop = own_shop(store)
    kept = [entry.id for entry in log_of_call(store, shop, CALL).standing]
    assert set(acknowledged) <= set(kept)
    assert len(kept) == after + (point == "after commit")
    sync(store, shop, [json.loads(line) for line in lines])  # the phone sends again what nobody confirmed
    wanted = [entry_of(json.loads(line)) for line in lines]
    assert sorted(log_of_call(store, shop, CALL).everything, key=lambda one: one.id) == wanted
    assert verify(store).damage == ()
    store.close()


@pytest.mark.parametrize(
    ("point", "after"),
    [("part kept", 0), ("part kept", PARTS - 1), ("photo in place", 0), ("photo recorded", 0)],
)
def test_killed_in_an_upload(tmp_path: Path, point: str, after: int) -> None:
    file = tmp_path / "photo"
    file.write_bytes(PHOTO)
    acknowledged = run(tmp_path / "data", point, after, str(file), PHOTO_SHA)
    assert "whole" not in acknowledged
    store = open_store(tmp_path / "data")
    shop = own_shop(store)
    sync(store, shop, [Device().enter("photo", photo_body(PHOTO)).wire()])
    assert verify(store).damage == ()
    state = upload_state(store, shop, PHOTO_SHA, PARTS)
    assert set(map(int, acknowledged)) <= set(state.parts) or state.whole
    for number in range(PARTS):
        state = put_part(store, shop, PHOTO_SHA, number, PARTS, PHOTO[number * PART : (number + 1) * PART])
    assert state.whole
    assert (verify(store).damage, verify(store).remarks) == ((), ())
    store.close()


def test_power_cut_at_any_sync_point(tmp_path: Path) -> None:
    """What a disk holds after a power cut: files as they were when last synced, the rest cut off.

    The write-ahead log is copied after each acknowledgement and cut at every length a torn write could leave
    beyond the acknowledged one; every acknowledged entry must be in each such copy, in an unbroken chain.
    """
    store = open_store(tmp_path / "data")
    shop = own_shop(store)
    ana = Device()
    acknowledged: list[str] = []
    moments: list[tuple[int, int]] = []
    log = tmp_path / "data" / f"{FILE}-wal"
    for n in range(6):
        entry = ana.read("box_k", f"{n} F", n)
        sync(store, shop, [entry.wire()])
        acknowledged.append(entry.id)
        moments.append((log.stat().st_size, len(acknowledged)))
    wal, main = log.read_bytes(), (tmp_path / "data" / FILE).read_bytes()
    store.close()
    assert moments[-1][0] == len(wal)
    for (size, count), (following, _) in zip(moments, [*moments[1:], moments[-1]], strict=True):
        for torn in sorted({size, size + 1, (size + following) // 2, max(size, following - 1)}):
            copy = tmp_path / f"cut-{torn}"
            shutil.rmtree(copy, ignore_errors=True)
            copy.mkdir()
            (copy / FILE).write_bytes(main)
            (copy / f"{FILE}-wal").write_bytes(wal[:torn])
            cut = open_store(copy)
            kept = {entry.id for entry in log_of_call(cut, shop, CALL).standing}
            assert set(acknowledged[:count]) <= kept
            assert verify(cut).damage == ()
            cut.close()


def test_a_cut_within_what_was_acknowledged_is_seen(tmp_path: Path) -> None:
    """The cut copies are real ones: one byte less than the acknowledged log, and the entry is gone."""
    store = open_store(tmp_path / "data")
    shop = own_shop(store)
    sync(store, shop, [Device().read("box_k", "38 F").wire()])
    wal, main = (tmp_path / "data" / f"{FILE}-wal").read_bytes(), (tmp_path / "data" / FILE).read_bytes()
    store.close()
    copy = tmp_path / "cut"
    copy.mkdir()
    (copy / FILE).write_bytes(main)
    (copy / f"{FILE}-wal").write_bytes(wal[:-1])
    cut = open_store(copy)
    assert log_of_call(cut, shop, CALL).standing == ()
    cut.close()


def test_a_full_disk_is_said_and_costs_nothing(tmp_path: Path) -> None:
    """SQLite's limit of pages stands for a full disk (sqlite.org/pragma.html): the same error comes of it."""
    store = open_store(tmp_path)
    shop = own_shop(store)
    ana = Device()
    before = ana.read("box_k", "38 F")
    sync(store, shop, [before.wire()])
    large = ana.enter("note", {"text": "x" * 500_000}, 1)
    with store.database.reading() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 60")
    with pytest.raises(StoreError, match="full"):
        sync(store, shop, [large.wire()])
    assert log_of_call(store, shop, CALL).standing == (before,)
    with store.database.reading() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    sync(store, shop, [large.wire()])
    assert log_of_call(store, shop, CALL).standing == (before, large)
    assert verify(store).damage == ()
    store.close()


def test_commits_are_set_to_be_on_disk(tmp_path: Path) -> None:
    """FULL is 2 and WAL is the journal, on every connection (sqlite.org/pragma.html)."""
    store = open_store(tmp_path)
    with store.database.writing() as one, store.database.reading() as other:
        for connection in (one, other):
            assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
            assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    store.close()
