"""Taking entries in: each one kept once, with a receipt, in one transaction; nothing that came is lost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from sqlalchemy import Connection, RowMapping, Select, Table, and_, delete, insert, select, update
from sqlalchemy.sql.elements import ColumnElement

from holdcold.calls.entries import (
    SUMMARY_KINDS,
    Entry,
    Receipt,
    entry_of,
    files_of,
    is_uuid7,
    may_redact,
    next_receipt,
    redacted_ids,
    sha256_text,
    story,
    summary,
)
from holdcold.diagnosis.catalogue import catalogue
from holdcold.errors import InputError, InputErrors, StoreError
from holdcold.store.rows import call_log, entry_of_raw, entry_of_row, quarantined, raw_of, row_of
from holdcold.store.tables import CALLS, ENTRIES, HEADS, PHOTO_REFS, PHOTOS, QUARANTINE, RECEIPTS

_BATCH: Final = 200
_WRITTEN: Final = (RECEIPTS, CALLS, ENTRIES, PHOTO_REFS, QUARANTINE)
"""Tables that are added to, each after those it refers to."""

Outcome = Literal["kept", "known", "quarantined"]


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of one thing that came: id (empty where it has none), hash it is receipted under, outcome.

    problems: why it is in quarantine; empty for what is kept.
    """

    id: str
    sha256: str
    sequence: int
    outcome: Outcome
    problems: tuple[InputError, ...] = ()


@dataclass(frozen=True, slots=True)
class Parcel:
    """One thing that came, looked at before the transaction: an entry, or what is wrong with it."""

    document: object
    entry: Entry | None
    problems: tuple[InputError, ...] = ()


def open_parcel(document: object) -> Parcel:
    """Return one thing that came, read and hashed; document: parsed JSON."""
    try:
        entry = entry_of(document)
    except InputErrors as problems:
        return Parcel(document, None, problems.problems)
    _ = entry.sha256  # worked out here, outside the lock
    return Parcel(document, entry)


class Receiver:
    """Takes things in, inside a writing transaction of one shop.

    shop: its id. at: time of the receipts. ``take_all`` as often as needed, then ``finish`` once. What is
    new is gathered and written together; what a batch may touch is read before it.
    """

    def __init__(self, connection: Connection, shop: str, at: str) -> None:
        self._connection = connection
        self._shop = shop
        self._at = at
        self._stale: set[str] = set()
        self._known: dict[str, tuple[Entry, int]] = {}
        self._receipted: dict[str, int] = {}
        self._redacted: set[tuple[str, str]] = set()
        self._calls: set[str] = set()
        self._waiting: dict[Table, list[dict[str, Any]]] = {table: [] for table in _WRITTEN}
        self._head = self._locked_head()
        self.dropped: list[str] = []
        """Hashes of photos that a redaction took; their files go once the transaction is committed."""

    @property
    def head(self) -> Receipt | None:
        """The newest receipt."""
        return self._head

    def take_all(self, parcels: Sequence[Parcel]) -> list[Taken]:
        """Keep each entry, or put what came in quarantine, in order."""
        taken = []
        for start in range(0, len(parcels), _BATCH):
            batch = parcels[start : start + _BATCH]
            self._look_up(batch)
            taken += [self._take(parcel) for parcel in batch]
        return taken

    def entry(self, id_: str) -> Entry:
        """Return an entry that was taken, as it is kept; id_: its id."""
        return self._known[id_][0]

    def finish(self) -> None:
        """Write what is still to be written, and bring the list of calls up to date."""
        self._flush()
        book = catalogue()
        for call in sorted(self._stale):
            found = summary(story(call_log(self._connection, self._shop, call), book))
            self._connection.execute(
                update(CALLS)
                .where(CALLS.c.shop == self._shop, CALLS.c.id == call)
                .values(unit=found.unit, name=found.name, state=found.state, opened_s=found.opened_s)
            )

    def _locked_head(self) -> Receipt | None:
        """Return the newest receipt; until the transaction ends nobody else adds one."""
        where = HEADS.c.shop == self._shop
        sequence = self._connection.execute(select(HEADS.c.sequence).where(where).with_for_update()).scalar()
        if sequence is None:
            raise StoreError(f"There is no shop {self._shop} in this store.")
        row = self._connection.execute(
            select(RECEIPTS.c.sequence, RECEIPTS.c.entry_sha256, RECEIPTS.c.previous).where(
                RECEIPTS.c.shop == self._shop, RECEIPTS.c.sequence == sequence
            )
        ).one_or_none()
        return None if row is None else Receipt(*row)

    def _look_up(self, batch: Sequence[Parcel]) -> None:
        """Read what the store has of everything a batch names."""
        self._flush()
        entries = [parcel.entry for parcel in batch if parcel.entry is not None]
        ids = sorted({entry.id for entry in entries})
        rows = self._rows(select(ENTRIES), ENTRIES.c.shop, ENTRIES.c.id, ids)
        self._known |= {row["id"]: (entry_of_row(row), row["sequence"]) for row in rows}
        hashes = sorted({parcel.entry.sha256 if parcel.entry else _raw_hash(parcel) for parcel in batch})
        columns = select(RECEIPTS.c.entry_sha256, RECEIPTS.c.sequence)
        receipts = self._rows(columns, RECEIPTS.c.shop, RECEIPTS.c.entry_sha256, hashes)
        self._receipted |= {row["entry_sha256"]: row["sequence"] for row in receipts}
        named = select(ENTRIES.c.redacts, ENTRIES.c.call).where(ENTRIES.c.kind == "redaction")
        redactions = self._rows(named, ENTRIES.c.shop, ENTRIES.c.redacts, ids)
        self._redacted |= {(row["call"], row["redacts"]) for row in redactions}
        calls = sorted({entry.call for entry in entries})
        if calls:
            here = and_(QUARANTINE.c.shop == self._shop, QUARANTINE.c.call.in_(calls))
            self._redacted |= redacted_ids(quarantined(self._connection, here))
        listed = self._rows(select(CALLS.c.id), CALLS.c.shop, CALLS.c.id, calls)
        self._calls |= {row["id"] for row in listed}

    def _rows(
        self, page: Select[Any], shop: ColumnElement[str], column: ColumnElement[str], values: list[str]
    ) -> Sequence[RowMapping]:
        if not values:
            return ()
        return self._connection.execute(page.where(shop == self._shop, column.in_(values))).mappings().all()

    def _take(self, parcel: Parcel) -> Taken:
        entry = parcel.entry
        if entry is None:
            return self._quarantine(parcel)
        known = self._known.get(entry.id)
        if known is None:
            return self._keep(entry)
        if known[0].sha256 != entry.sha256:
            advice = "Another entry has this id: it stands; enter this fact again."
            taken = InputError("id", entry.id, "an id that is not taken", advice)
            return self._quarantine(Parcel(entry.wire(), entry, (taken,)))
        self._refill(known[0], entry)
        return Taken(entry.id, entry.sha256, known[1], "known")

    def _receipt(self, entry_sha256: str) -> int:
        self._head = next_receipt(self._head, entry_sha256)
        row = {
            "shop": self._shop,
            "sequence": self._head.sequence,
            "entry_sha256": entry_sha256,
            "previous": self._head.previous,
            "sha256": self._head.sha256,
            "received_at": self._at,
        }
        self._waiting[RECEIPTS].append(row)
        self._receipted[entry_sha256] = self._head.sequence
        return self._head.sequence

    def _flush(self) -> None:
        """Write what is waiting, each table after those it refers to."""
        if self._head is not None and self._waiting[RECEIPTS]:
            told = {"sequence": self._head.sequence, "sha256": self._head.sha256}
            self._connection.execute(update(HEADS).where(HEADS.c.shop == self._shop).values(**told))
        for table, rows in self._waiting.items():
            if rows:
                self._connection.execute(insert(table), rows)
                rows.clear()

    def _keep(self, entry: Entry) -> Taken:
        """Add a new entry; one that a redaction was waiting for loses its body at once."""
        if may_redact(entry) and self._is_redacted(entry):
            entry = entry.without_body()
        self._list_call(entry)
        known = self._receipted.get(entry.sha256)
        sequence = self._receipt(entry.sha256) if known is None else known
        self._waiting[ENTRIES].append(row_of(self._shop, entry, sequence))
        self._known[entry.id] = (entry, sequence)
        self._refer(entry)
        if entry.kind == "redaction":
            self._redact(entry)
        return Taken(entry.id, entry.sha256, sequence, "kept")

    def _list_call(self, entry: Entry) -> None:
        if entry.call not in self._calls:
            new = {"unit": "", "name": "", "state": "open", "opened_s": entry.seconds}
            self._waiting[CALLS].append({"shop": self._shop, "id": entry.call, **new})
            self._calls.add(entry.call)
        if entry.kind in SUMMARY_KINDS:
            self._stale.add(entry.call)

    def _refer(self, entry: Entry) -> None:
        for sha256 in files_of(entry):
            self._waiting[PHOTO_REFS].append({"shop": self._shop, "sha256": sha256, "entry": entry.id})

    def _refill(self, known: Entry, entry: Entry) -> None:
        """Put a body back that was lost without a redaction."""
        if known.body is None and entry.body is not None and not self._is_redacted(entry):
            self._flush()
            mine = and_(ENTRIES.c.shop == self._shop, ENTRIES.c.id == entry.id)
            self._connection.execute(update(ENTRIES).where(mine).values(body=entry.body))
            self._known[entry.id] = (entry, self._known[entry.id][1])
            self._refer(entry)
            self._stale.add(entry.call)

    def _is_redacted(self, entry: Entry) -> bool:
        return (entry.call, entry.id) in self._redacted

    def _redact(self, redaction: Entry) -> None:
        """Drop the body of what a redaction names, in quarantine too, and photos nothing else names."""
        self._flush()
        self._redacted |= redacted_ids([redaction])
        mine = and_(ENTRIES.c.shop == self._shop, ENTRIES.c.id == redaction.redacts)
        row = self._connection.execute(select(ENTRIES).where(mine)).mappings().one_or_none()
        if row is not None and row["call"] == redaction.call and may_redact(entry_of_row(row)):
            self._connection.execute(update(ENTRIES).where(mine).values(body=None))
            self._known[redaction.redacts] = (entry_of_row(row).without_body(), row["sequence"])
            self._drop_photos(redaction.redacts)
        theirs = and_(QUARANTINE.c.shop == self._shop, QUARANTINE.c.id == redaction.redacts)
        held = select(QUARANTINE.c.sha256, QUARANTINE.c.raw).where(theirs)
        for sha256, raw in self._connection.execute(held).all():
            entry = entry_of_raw(bytes(raw))
            if entry is not None and entry.call == redaction.call and may_redact(entry):
                self._connection.execute(
                    update(QUARANTINE)
                    .where(QUARANTINE.c.shop == self._shop, QUARANTINE.c.sha256 == sha256)
                    .values(raw=raw_of(entry.without_body().wire()))
                )

    def _drop_photos(self, entry_id: str) -> None:
        refs = and_(PHOTO_REFS.c.shop == self._shop, PHOTO_REFS.c.entry == entry_id)
        named = list(self._connection.execute(select(PHOTO_REFS.c.sha256).where(refs)).scalars())
        self._connection.execute(delete(PHOTO_REFS).where(refs))
        for sha256 in named:
            others = and_(PHOTO_REFS.c.shop == self._shop, PHOTO_REFS.c.sha256 == sha256)
            if self._connection.execute(select(PHOTO_REFS.c.entry).where(others)).first() is not None:
                continue
            mine = and_(PHOTOS.c.shop == self._shop, PHOTOS.c.sha256 == sha256)
            if self._connection.execute(select(PHOTOS.c.sha256).where(mine)).first() is None:
                gone = {"bytes": 0, "received_at": self._at, "dropped": True}
                self._connection.execute(insert(PHOTOS).values(shop=self._shop, sha256=sha256, **gone))
            self._connection.execute(update(PHOTOS).where(mine).values(dropped=True))
            self.dropped.append(sha256)

    def _quarantine(self, parcel: Parcel) -> Taken:
        entry, document = parcel.entry, parcel.document
        if entry is not None and may_redact(entry) and self._is_redacted(entry):
            document = entry.without_body().wire()
        sha256 = _raw_hash(parcel) if entry is None else entry.sha256
        id_, call = _names(document)
        known = self._receipted.get(sha256)
        if known is None:
            known = self._receipt(sha256)
            reason = "\n".join(str(problem) for problem in parcel.problems).replace("\0", "?")
            row = {"shop": self._shop, "sha256": sha256, "id": id_, "call": call, "reason": reason}
            self._waiting[QUARANTINE].append({**row, "raw": raw_of(document), "sequence": known})
            if entry is not None and entry.kind == "redaction":
                self._redact(entry)  # what was to go goes, whichever of two entries stands
        return Taken(id_, sha256, known, "quarantined", parcel.problems)


def _raw_hash(parcel: Parcel) -> str:
    return sha256_text(raw_of(parcel.document))


def _names(document: object) -> tuple[str, str]:
    """Return (id, call) where a document has such, empty texts otherwise."""
    if not isinstance(document, dict):
        return "", ""
    id_, call = document.get("id"), document.get("call")
    return str(id_) if is_uuid7(id_) else "", str(call) if is_uuid7(call) else ""
