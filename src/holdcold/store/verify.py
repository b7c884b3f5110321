"""Whether everything kept is still what was received: receipts, entries, photos, cards, references."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, func, select

from holdcold.calls.entries import (
    GENESIS,
    Receipt,
    broken_links,
    entry_of,
    may_redact,
    redacted_ids,
    sha256_text,
)
from holdcold.errors import InputErrors
from holdcold.store.photos import photo_path
from holdcold.store.rows import entry_of_raw, entry_of_row, quarantined
from holdcold.store.shop import Store
from holdcold.store.tables import (
    CALLS,
    CARDS,
    ENTRIES,
    HEADS,
    PHOTO_REFS,
    PHOTOS,
    QUARANTINE,
    RECEIPTS,
    SHOPS,
    UNITS,
)


@dataclass(frozen=True)
class Verdict:
    """What ``verify`` found.

    counts: how many of what was looked at. damage: what is not as it was received. remarks: what may be
    in order (a photo not here yet, a file nobody recorded) and is worth a look.
    """

    counts: dict[str, int]
    damage: tuple[str, ...]
    remarks: tuple[str, ...]


def verify(store: Store) -> Verdict:
    """Check everything in the store; reads every entry and every photo."""
    damage: list[str] = []
    remarks: list[str] = []
    with store.database.reading() as connection:
        damage += _file_damage(store, connection)
        shops = list(connection.execute(select(SHOPS.c.id)).scalars())
        for shop in shops:
            damage += _receipt_damage(connection, shop)
            damage += _entry_damage(connection, shop)
            damage += _quarantine_damage(connection, shop)
            damage += _card_damage(connection, shop)
            damage += _photo_damage(store, connection, shop)
            remarks += _remarks(store, connection, shop)
        tables = (SHOPS, UNITS, CARDS, CALLS, ENTRIES, QUARANTINE, RECEIPTS, PHOTOS)
        counts = {
            table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in tables
        }
    return Verdict(counts, tuple(damage), tuple(remarks))


def _file_damage(store: Store, connection: Connection) -> Iterator[str]:
    """Yield what SQLite itself finds wrong with its file, and rows that refer to nothing."""
    if not store.database.is_sqlite:
        return
    for (line,) in connection.exec_driver_sql("PRAGMA integrity_check"):
        if line != "ok":
            yield f"database file: {line}"
    for row in connection.exec_driver_sql("PRAGMA foreign_key_check"):
        yield f"table {row[0]}, row {row[1]}: refers to a row of {row[2]} that is not there"


def _receipt_damage(connection: Connection, shop: str) -> Iterator[str]:
    columns = (RECEIPTS.c.sequence, RECEIPTS.c.entry_sha256, RECEIPTS.c.previous, RECEIPTS.c.sha256)
    rows = connection.execute(
        select(*columns).where(RECEIPTS.c.shop == shop).order_by(RECEIPTS.c.sequence)
    ).all()
    receipts = [Receipt(row.sequence, row.entry_sha256, row.previous) for row in rows]
    yield from broken_links(receipts)
    for receipt, row in zip(receipts, rows, strict=True):
        if receipt.sha256 != row.sha256:
            yield f"receipt {receipt.sequence} has another hash than recorded"
    head = connection.execute(
        select(HEADS.c.sequence, HEADS.c.sha256).where(HEADS.c.shop == shop)
    ).one_or_none()
    newest = (receipts[-1].sequence, receipts[-1].sha256) if receipts else (0, GENESIS)
    if head is None or tuple(head) != newest:
        yield f"the head of the receipt log of shop {shop} is not its newest receipt"
    here = {
        sequence: sha256
        for table in (ENTRIES, QUARANTINE)
        for sequence, sha256 in connection.execute(
            select(table.c.sequence, table.c.sha256).where(table.c.shop == shop)
        )
    }
    for receipt in receipts:
        if here.get(receipt.sequence) != receipt.entry_sha256:
            yield f"receipt {receipt.sequence}: what was received then is not here"


def _entry_damage(connection: Connection, shop: str) -> Iterator[str]:
    """Yield entries that do not give the hash that was receipted, and bodies gone without a redaction."""
    named = select(ENTRIES.c.redacts, ENTRIES.c.call).where(
        ENTRIES.c.shop == shop, ENTRIES.c.kind == "redaction"
    )
    redacted = {(call, id_) for id_, call in connection.execute(named)}
    redacted |= redacted_ids(quarantined(connection, QUARANTINE.c.shop == shop))
    rows = connection.execute(select(ENTRIES).where(ENTRIES.c.shop == shop)).mappings()
    for row in rows:
        entry = entry_of_row(row)
        try:
            sound = entry_of(entry.wire()).sha256 == row["sha256"]
        except (InputErrors, UnicodeDecodeError):
            sound = False
        if not sound:
            yield f"entry {entry.id}: not what was received"
        asked = (entry.call, entry.id) in redacted and may_redact(entry)
        if entry.body is None and not asked:
            yield f"entry {entry.id}: its body is gone without a redaction"
        if entry.body is not None and asked:
            yield f"entry {entry.id}: its body was redacted and is still here"


def _quarantine_damage(connection: Connection, shop: str) -> Iterator[str]:
    for sha256, raw in connection.execute(
        select(QUARANTINE.c.sha256, QUARANTINE.c.raw).where(QUARANTINE.c.shop == shop)
    ):
        entry = entry_of_raw(bytes(raw))
        if (sha256_text(bytes(raw)) if entry is None else entry.sha256) != sha256:
            yield f"quarantine {sha256}: not what was received"


def _card_damage(connection: Connection, shop: str) -> Iterator[str]:
    for unit, sha256, text in connection.execute(
        select(CARDS.c.unit, CARDS.c.sha256, CARDS.c.text).where(CARDS.c.shop == shop)
    ):
        if sha256_text(text.encode("utf-8")) != sha256:
            yield f"card {sha256} of unit {unit}: not what was received"


def _photo_damage(store: Store, connection: Connection, shop: str) -> Iterator[str]:
    rows = connection.execute(select(PHOTOS.c.sha256, PHOTOS.c.dropped).where(PHOTOS.c.shop == shop)).all()
    for sha256, dropped in rows:
        path = photo_path(store, shop, sha256)
        if dropped:
            if path.exists():
                yield f"photo {sha256}: was redacted and is still here"
        elif not path.exists():
            yield f"photo {sha256}: the file is not here"
        elif sha256_text(path.read_bytes()) != sha256:
            yield f"photo {sha256}: not what was received"


def _remarks(store: Store, connection: Connection, shop: str) -> Iterator[str]:
    recorded = set(connection.execute(select(PHOTOS.c.sha256).where(PHOTOS.c.shop == shop)).scalars())
    named = select(PHOTO_REFS.c.sha256, PHOTO_REFS.c.entry).where(PHOTO_REFS.c.shop == shop)
    for sha256, entry in connection.execute(named):
        if sha256 not in recorded:
            yield f"photo {sha256}, named by entry {entry}: has not come yet"
    for path in _files(store.folder / "photos" / shop):
        if path.name not in recorded:
            yield f"photo file {path.name}: nothing records it"
    here = set(connection.execute(select(ENTRIES.c.id).where(ENTRIES.c.shop == shop)).scalars())
    for column in (ENTRIES.c.corrects, ENTRIES.c.redacts):
        rows = connection.execute(select(ENTRIES.c.id, column).where(ENTRIES.c.shop == shop, column != ""))
        for id_, target in rows:
            if target not in here:
                yield f"entry {id_}: speaks of entry {target}, which has not come yet"


def _files(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    shelves = [path for path in folder.iterdir() if path.is_dir() and path.name != "incoming"]
    return sorted(path for shelf in shelves for path in shelf.iterdir())
