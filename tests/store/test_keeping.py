"""Backup, restore, verify, export and import: nothing lost, and any change shows."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Table, delete, update

from calls.entry_samples import CALL, OTHER_CALL, UNIT, Device
from holdcold.errors import InputError, StoreError
from holdcold.store import (
    Cursor,
    Store,
    backup,
    calls,
    card_text,
    export,
    import_archive,
    log_of_call,
    open_store,
    own_shop,
    quarantine_of,
    read_photo,
    restore,
    sync,
    units,
    verify,
)
from holdcold.store.tables import CARDS, ENTRIES, HEADS, IN_ORDER, PHOTOS, QUARANTINE, RECEIPTS
from store.samples import CARD, PHOTO, PHOTO_SHA, fill, photo_body


def content(store: Store, *, but: frozenset[str] = frozenset()) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of every table, times of receipt aside where asked."""
    with store.database.reading() as connection:
        return {
            table.name: sorted(
                tuple(repr(row[c.name]) for c in table.c if c.name not in but)
                for row in connection.execute(table.select()).mappings()
            )
            for table in IN_ORDER
        }


def photo_file(store: Store, shop: str) -> Path:
    """Return the file of the sample photo."""
    return store.folder / "photos" / shop / PHOTO_SHA[:2] / PHOTO_SHA


def test_units_and_cards_keep_every_version(store: Store, shop: str) -> None:
    fill(store, shop)
    (unit,) = units(store, shop)
    assert (unit.id, unit.name, len(unit.cards)) == (UNIT, "Cheese cooler", 2)
    assert card_text(store, shop, UNIT, unit.cards[0].sha256) == CARD
    assert card_text(store, shop, UNIT, unit.cards[1].sha256) == CARD + "\n# newer\r\n"
    assert card_text(store, shop, UNIT, "0" * 64) is None


def test_a_backup_is_the_store(store: Store, shop: str, tmp_path: Path) -> None:
    fill(store, shop)
    target = tmp_path / "backup"
    assert backup(store, target).damage == ()
    copy = open_store(target)
    try:
        assert content(copy) == content(store)
        assert read_photo(copy, shop, PHOTO_SHA) == PHOTO
    finally:
        copy.close()
    with pytest.raises(InputError, match="does not exist yet"):
        backup(store, target)


def test_a_backup_is_of_one_moment(new_store: Callable[..., Store], tmp_path: Path) -> None:
    """What is written while the backup is made is in it whole or not at all."""
    ana = Device()
    wires = [ana.read("box_k", f"{n} F", n).wire() for n in range(20)]
    moments: list[Store] = []

    def write(point: str) -> None:
        if point == "database copied" and moments:
            sync(Store(moments[0].folder, moments[0].database), shop, wires[10:])

    store = new_store(at_point=write)
    shop = own_shop(store)
    sync(store, shop, wires[:10])
    moments.append(store)
    backup(store, tmp_path / "backup")
    copy = open_store(tmp_path / "backup")
    try:
        assert len(log_of_call(copy, shop, CALL).standing) == 10
        assert verify(copy).damage == ()
    finally:
        copy.close()
    assert len(log_of_call(store, shop, CALL).standing) == 20


def test_restore_brings_everything_back(
    store: Store, shop: str, new_store: Callable[..., Store], tmp_path: Path
) -> None:
    fill(store, shop)
    backup(store, tmp_path / "backup")
    other = new_store()
    assert restore(tmp_path / "backup", other).damage == ()
    assert content(other) == content(store)
    assert read_photo(other, shop, PHOTO_SHA) == PHOTO
    assert own_shop(other) == shop
    with pytest.raises(InputError, match="an empty store"):
        restore(tmp_path / "backup", other)


def test_restore_of_nothing_is_said(store: Store, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="holdcold backup wrote"):
        restore(tmp_path, store)


def test_a_damaged_backup_is_not_restored(
    store: Store, shop: str, new_store: Callable[..., Store], tmp_path: Path
) -> None:
    fill(store, shop)
    backup(store, tmp_path / "backup")
    (tmp_path / "backup" / "photos" / shop / PHOTO_SHA[:2] / PHOTO_SHA).write_bytes(b"other")
    other = new_store()
    with pytest.raises(StoreError, match="damaged"):
        restore(tmp_path / "backup", other)
    assert content(other)["shops"] == []


def test_devices_notice_that_an_old_backup_was_restored(
    store: Store, shop: str, new_store: Callable[..., Store], tmp_path: Path
) -> None:
    ana = Device()
    early = [ana.read("box_k", f"{n} F", n) for n in range(3)]
    late = [ana.read("box_k", f"{n} F", n) for n in range(3, 6)]
    sync(store, shop, [entry.wire() for entry in early])
    backup(store, tmp_path / "old")
    cursor = sync(store, shop, [entry.wire() for entry in late]).head
    restored = new_store()
    restore(tmp_path / "old", restored)
    assert sync(restored, shop, since=cursor).news.restart
    answer = sync(restored, shop, [entry.wire() for entry in early + late], since=Cursor())
    assert not answer.news.restart
    assert set(log_of_call(restored, shop, CALL).standing) == {*early, *late}
    assert verify(restored).damage == ()


TAMPERING: list[tuple[Table, dict[str, object] | None, str]] = [
    (ENTRIES, {"body": b'{"place":"box_k","value":"88 F"}'}, "not what was received"),
    (ENTRIES, {"author": "Somebody else"}, "not what was received"),
    (ENTRIES, {"body": None}, "without a redaction"),
    (ENTRIES, {"counter": 99}, "not what was received"),
    (RECEIPTS, {"entry_sha256": "0" * 64}, "not what was received|is not here|does not follow"),
    (RECEIPTS, {"previous": "1" * 64}, "does not follow"),
    (HEADS, {"sha256": "1" * 64}, "head of the receipt log"),
    (HEADS, {"sequence": 1}, "head of the receipt log"),
    (QUARANTINE, {"raw": b"{}"}, "quarantine .* not what was received"),
    (CARDS, {"text": "schema = 1"}, "card .* not what was received"),
    (PHOTOS, {"dropped": True}, "is still here"),
    (ENTRIES, None, "is not here"),
]


@pytest.mark.parametrize(("table", "change", "words"), TAMPERING)
def test_a_later_change_shows(
    store: Store, shop: str, table: Table, change: dict[str, object] | None, words: str
) -> None:
    fill(store, shop)
    assert verify(store).damage == ()
    with store.database.writing() as connection:
        if change is None:
            unnamed = table.c.kind == "refrigerant"
            connection.execute(delete(table).where(unnamed))
        elif table is ENTRIES:
            connection.execute(update(table).where(table.c.kind == "refrigerant").values(change))
        elif table is RECEIPTS:
            connection.execute(update(table).where(table.c.sequence == 3).values(change))
        else:
            connection.execute(update(table).values(change))
    with pytest.raises(AssertionError, match=words):
        assert verify(store).damage == ()


def test_photo_damage_shows(store: Store, shop: str) -> None:
    fill(store, shop)
    photo_file(store, shop).write_bytes(b"other")
    assert verify(store).damage == (f"photo {PHOTO_SHA}: not what was received",)
    photo_file(store, shop).unlink()
    assert verify(store).damage == (f"photo {PHOTO_SHA}: the file is not here",)


def test_what_may_be_in_order_is_a_remark(store: Store, shop: str) -> None:
    ana = Device()
    entry = ana.enter("photo", photo_body(b"not sent yet"))
    later = ana.enter("note", {"text": "x"}, corrects=ana.enter("note", {"text": "y"}).id)
    sync(store, shop, [entry.wire(), later.wire()])
    stray = store.folder / "photos" / shop / "ab" / ("ab" * 32)
    stray.parent.mkdir(parents=True)
    stray.write_bytes(b"x")
    verdict = verify(store)
    assert verdict.damage == ()
    assert [remark.split(":")[1].strip() for remark in verdict.remarks] == [
        "has not come yet", "nothing records it", f"speaks of entry {later.corrects}, which has not come yet",
    ]  # fmt: skip


def test_a_shop_goes_out_and_in_exactly(
    store: Store, shop: str, new_store: Callable[..., Store], tmp_path: Path
) -> None:
    fill(store, shop)
    done = export(store, shop, tmp_path / "shop.zip")
    assert (done.calls, done.photos, done.missing_photos) == (1, 1, ())
    other = new_store()
    taken = import_archive(other, tmp_path / "shop.zip")
    assert (taken.shop, taken.photos) == (shop, 1)
    times = frozenset({"received_at", "made_at"})
    assert content(other, but=times) == content(store, but=times)
    assert read_photo(other, shop, PHOTO_SHA) == PHOTO
    assert verify(other).damage == ()
    export(other, shop, tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == (tmp_path / "shop.zip").read_bytes()


def test_importing_twice_changes_nothing(store: Store, shop: str, tmp_path: Path) -> None:
    fill(store, shop)
    export(store, shop, tmp_path / "shop.zip")
    before = content(store)
    assert import_archive(store, tmp_path / "shop.zip").photos == 0
    assert content(store) == before


def test_one_call_goes_out_with_its_unit_and_photos(
    store: Store, shop: str, new_store: Callable[..., Store], tmp_path: Path
) -> None:
    entries = fill(store, shop)
    sync(store, shop, [Device("x", "X", 7).read("box_k", "1 F", call=OTHER_CALL).wire()])
    export(store, shop, tmp_path / "call.zip", CALL)
    other = new_store()
    mine = own_shop(other)
    import_archive(other, tmp_path / "call.zip")
    assert [row.id for row in calls(other, mine)] == [CALL]
    assert len(units(other, mine)) == 1
    found = log_of_call(other, mine, CALL)
    assert {e.sha256: e.body for e in found.everything} == {
        e.sha256: e.body for e in log_of_call(store, shop, CALL).everything
    }
    assert {e.sha256 for e in found.everything} == {e.sha256 for e in entries}
    assert read_photo(other, mine, PHOTO_SHA) == PHOTO
    assert [one for one, _, _ in quarantine_of(other, mine)] == [found.quarantined[0]]
    with pytest.raises(InputError, match="a call of this shop"):
        export(store, shop, tmp_path / "none.zip", UNIT)


def test_the_sheets_are_for_people(store: Store, shop: str, tmp_path: Path) -> None:
    fill(store, shop)
    export(store, shop, tmp_path / "shop.zip")
    with zipfile.ZipFile(tmp_path / "shop.zip") as archive:
        timeline = archive.read(f"calls/{CALL}/timeline.csv").decode("utf-8")
        readings = archive.read(f"calls/{CALL}/readings.csv").decode("utf-8").splitlines()
        manifest = json.loads(archive.read("manifest.json"))
    assert "HYPERLINK" not in timeline  # it was redacted
    assert [line.split(",")[1:3] for line in readings[1:]] == [["box_k", "38 F"]]
    assert manifest["shop"]["id"] == shop


def test_no_cell_is_a_formula(store: Store, shop: str, tmp_path: Path) -> None:
    note = Device().enter("note", {"text": "=1+1"})
    reading = Device("b", "B", 2).read("box_k", "-10 F")
    sync(store, shop, [note.wire(), reading.wire()])
    export(store, shop, tmp_path / "shop.zip")
    with zipfile.ZipFile(tmp_path / "shop.zip") as archive:
        assert ",'=1+1," in archive.read(f"calls/{CALL}/timeline.csv").decode("utf-8")
        assert ",-10 F," in archive.read(f"calls/{CALL}/readings.csv").decode("utf-8")


@pytest.mark.parametrize("harm", ["no zip", "cut", "changed", "newer", "empty zip", "no file"])
def test_what_is_no_export_is_refused_whole(
    store: Store, shop: str, new_store: Callable[..., Store], tmp_path: Path, harm: str
) -> None:
    fill(store, shop)
    good, bad = tmp_path / "good.zip", tmp_path / "bad.zip"
    export(store, shop, good)
    if harm == "no zip":
        bad.write_text("hello", encoding="utf-8")
    elif harm == "cut":
        bad.write_bytes(good.read_bytes()[:-300])
    elif harm != "no file":
        with zipfile.ZipFile(good) as old, zipfile.ZipFile(bad, "w") as new:
            for name in old.namelist() if harm != "empty zip" else []:
                text = old.read(name)
                if harm == "changed" and name == "entries.jsonl":
                    text = text.replace(b"box_k", b"box_j")
                if harm == "newer" and name == "manifest.json":
                    text = text.replace(b'"version": 1', b'"version": 2')
                new.writestr(name, text)
    other = new_store()
    with pytest.raises(InputError):
        import_archive(other, bad)
    assert content(other)["entries"] == content(other)["photos"] == content(other)["units"] == []
