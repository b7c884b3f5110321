"""One request that carries entries both ways; sending it again changes nothing.

A device says how far it has read (``Cursor``: sequence and hash of a receipt). Where the store has another
receipt there, it was set back to an old backup: it says ``restart``, and the device sends everything again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, and_, delete, insert, select

from holdcold.calls.entries import GENESIS, ClockOffset, Entry, files_of, problems_of
from holdcold.diagnosis.catalogue import catalogue
from holdcold.errors import InputError
from holdcold.store.photos import drop_files
from holdcold.store.receive import Receiver, Taken, open_parcel
from holdcold.store.rows import entry_of_raw, entry_of_row, offsets_of
from holdcold.store.shop import Store
from holdcold.store.tables import ENTRIES, OFFSETS, PHOTOS, QUARANTINE, RECEIPTS

MOST_ENTRIES: Final = 500
"""Receipts answered at once; the answer says when there are more."""


@dataclass(frozen=True, slots=True)
class Cursor:
    """How far a device has read: sequence and hash of the newest receipt it has seen; 0 for nothing."""

    sequence: int = 0
    sha256: str = GENESIS


@dataclass(frozen=True)
class News:
    """What a device has not seen.

    entries: (entry, sequence) since the cursor. quarantine: (JSON as it came, reason, sequence) likewise.
    cursor: where the next request starts. more: whether there is more at once. restart: the store does
    not know the cursor: send everything again. offsets: clock offset by device.
    """

    entries: list[tuple[Entry, int]]
    quarantine: list[tuple[bytes, str, int]]
    cursor: Cursor
    more: bool
    restart: bool
    offsets: dict[str, ClockOffset]


@dataclass(frozen=True)
class Answer:
    """What a device gets back.

    taken: for each thing sent, in order. missing_photos: named by what was sent and not here yet.
    unreadable: problems by id of entries that are kept although a rule is broken. news: what the device has
    not seen. head: newest receipt.
    """

    taken: list[Taken]
    missing_photos: list[str]
    unreadable: dict[str, tuple[InputError, ...]]
    news: News
    head: Cursor


def sync(
    store: Store,
    shop: str,
    sent: Sequence[object] = (),
    since: Cursor | None = None,
    device: str = "",
    device_clock: datetime | None = None,
) -> Answer:
    """Take entries in and return what the device has not seen, in one transaction.

    shop: its id. sent: entries as they travel, parsed JSON. since: how far the device has read.
    device, device_clock: who asks and what its clock says now, to estimate its offset.
    """
    since = since or Cursor()
    parcels = [open_parcel(document) for document in sent]
    with store.database.writing() as connection:
        receiver = Receiver(connection, shop, store.stamp())
        taken = receiver.take_all(parcels)
        store.at_point("entries taken")
        receiver.finish()
        head = receiver.head
        now = Cursor() if head is None else Cursor(head.sequence, head.sha256)
        if device and device_clock is not None:
            seconds = (store.now() - device_clock).total_seconds()
            _note_offset(connection, shop, device, ClockOffset(now.sequence, seconds))
        own = [receiver.entry(item.id) for item in taken if item.outcome != "quarantined"]
        missing = _missing(connection, shop, own)
        news = _news(connection, shop, since, now)
        store.at_point("before commit")
    store.at_point("after commit")
    drop_files(store, shop, receiver.dropped)
    book = catalogue()
    unreadable = {entry.id: found for entry in own if (found := problems_of(entry, book))}
    return Answer(taken, missing, unreadable, news, now)


def _news(connection: Connection, shop: str, since: Cursor, head: Cursor) -> News:
    restart = not _is_known(connection, shop, since)
    start = Cursor() if restart else since
    last = _last_receipt(connection, shop, start)
    return News(
        _entries(connection, shop, start.sequence, last.sequence),
        _quarantine(connection, shop, start.sequence, last.sequence),
        last,
        last.sequence < head.sequence,
        restart,
        offsets_of(connection, shop),
    )


def _is_known(connection: Connection, shop: str, cursor: Cursor) -> bool:
    if cursor.sequence == 0:
        return True
    mine = and_(RECEIPTS.c.shop == shop, RECEIPTS.c.sequence == cursor.sequence)
    return bool(connection.execute(select(RECEIPTS.c.sha256).where(mine)).scalar() == cursor.sha256)


def _last_receipt(connection: Connection, shop: str, start: Cursor) -> Cursor:
    """Return the last receipt of the page after ``start``."""
    page = (
        select(RECEIPTS.c.sequence, RECEIPTS.c.sha256)
        .where(RECEIPTS.c.shop == shop, RECEIPTS.c.sequence > start.sequence)
        .order_by(RECEIPTS.c.sequence)
        .limit(MOST_ENTRIES)
    )
    rows = connection.execute(page).all()
    return Cursor(*rows[-1]) if rows else start


def _entries(connection: Connection, shop: str, after: int, upto: int) -> list[tuple[Entry, int]]:
    page = (
        select(ENTRIES)
        .where(ENTRIES.c.shop == shop, ENTRIES.c.sequence > after, ENTRIES.c.sequence <= upto)
        .order_by(ENTRIES.c.sequence)
    )
    return [(entry_of_row(row), row["sequence"]) for row in connection.execute(page).mappings()]


def _quarantine(connection: Connection, shop: str, after: int, upto: int) -> list[tuple[bytes, str, int]]:
    page = (
        select(QUARANTINE.c.raw, QUARANTINE.c.reason, QUARANTINE.c.sequence)
        .where(QUARANTINE.c.shop == shop, QUARANTINE.c.sequence > after, QUARANTINE.c.sequence <= upto)
        .order_by(QUARANTINE.c.sequence)
    )
    return [(bytes(raw), reason, sequence) for raw, reason, sequence in connection.execute(page)]


def _missing(connection: Connection, shop: str, entries: list[Entry]) -> list[str]:
    named = sorted({sha256 for entry in entries for sha256 in files_of(entry)})
    if not named:
        return []
    here = select(PHOTOS.c.sha256).where(PHOTOS.c.shop == shop, PHOTOS.c.sha256.in_(named))
    return sorted(set(named) - set(connection.execute(here).scalars()))


def _note_offset(connection: Connection, shop: str, device: str, offset: ClockOffset) -> None:
    connection.execute(delete(OFFSETS).where(OFFSETS.c.shop == shop, OFFSETS.c.device == device))
    told: dict[str, Any] = {"sequence": offset.sequence, "seconds": offset.seconds}
    connection.execute(insert(OFFSETS).values(shop=shop, device=device, **told))


def quarantine_of(store: Store, shop: str) -> list[tuple[Entry | None, str, int]]:
    """Return everything in quarantine: (entry where it is one, reason, sequence); shop: its id."""
    with store.database.reading() as connection:
        rows = _quarantine(connection, shop, 0, 1 << 62)
    return [(entry_of_raw(raw), reason, sequence) for raw, reason, sequence in rows]
