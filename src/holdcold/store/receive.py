"""Taking entries in: each one kept once, with a receipt, in one transaction; nothing that came is lost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sqlalchemy import Connection, and_, delete, insert, select, update

from holdcold.calls.entries import (
    SUMMARY_KINDS,
    Entry,
    Receipt,
    entry_of,
    files_of,
    is_uuid7,
    may_redact,
    next_receipt,
    sha256_text,
    story,
    summary,
)
from holdcold.diagnosis.catalogue import catalogue
from holdcold.errors import InputError, InputErrors, StoreError
from holdcold.store.rows import call_log, entry_of_raw, entry_of_row, raw_of, row_of
from holdcold.store.tables import CALLS, ENTRIES, HEADS, PHOTO_REFS, PHOTOS, QUARANTINE, RECEIPTS

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


class Receiver:
    """Takes things in, inside a writing transaction of one shop.

    shop: its id. at: time of the receipts. ``take`` for each thing, then ``finish`` once.
    """

    def __init__(self, connection: Connection, shop: str, at: str) -> None:
        self._connection = connection
        self._shop = shop
        self._at = at
        self._stale: set[str] = set()
        self._head = self._locked_head()
        self.dropped: list[str] = []
        """Hashes of photos that a redaction took; their files go once the transaction is committed."""

    @property
    def head(self) -> Receipt | None:
        """The newest receipt."""
        return self._head

    def take(self, document: object) -> Taken:
        """Keep one entry as it travels, or put it in quarantine; document: parsed JSON."""
        try:
            entry = entry_of(document)
        except InputErrors as problems:
            return self._quarantine(document, problems.problems)
        mine = and_(ENTRIES.c.shop == self._shop, ENTRIES.c.id == entry.id)
        row = self._connection.execute(select(ENTRIES).where(mine)).mappings().one_or_none()
        if row is None:
            return self._keep(entry)
        if row["sha256"] != entry.sha256:
            advice = "Another entry has this id: it stands; enter this fact again."
            taken = InputError("id", entry.id, "an id that is not taken", advice)
            return self._quarantine(entry.wire(), (taken,), entry)
        self._refill(entry_of_row(row), entry)
        return Taken(entry.id, entry.sha256, row["sequence"], "known")

    def take_all(self, documents: Sequence[object]) -> list[Taken]:
        """Take several things in their order."""
        return [self.take(document) for document in documents]

    def finish(self) -> None:
        """Bring the list of calls up to date."""
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

    def _receipt(self, entry_sha256: str) -> int:
        self._head = next_receipt(self._head, entry_sha256)
        told = {"sequence": self._head.sequence, "sha256": self._head.sha256}
        self._connection.execute(
            insert(RECEIPTS).values(
                shop=self._shop,
                entry_sha256=entry_sha256,
                previous=self._head.previous,
                received_at=self._at,
                **told,
            )
        )
        self._connection.execute(update(HEADS).where(HEADS.c.shop == self._shop).values(**told))
        return self._head.sequence

    def _keep(self, entry: Entry) -> Taken:
        """Add a new entry; one that a redaction was waiting for loses its body at once."""
        if may_redact(entry) and self._is_redacted(entry):
            entry = entry.without_body()
        self._list_call(entry)
        known = self._receipted(entry.sha256)
        sequence = self._receipt(entry.sha256) if known is None else known
        self._connection.execute(insert(ENTRIES).values(row_of(self._shop, entry, sequence)))
        self._refer(entry)
        if entry.kind == "redaction":
            self._redact(entry)
        return Taken(entry.id, entry.sha256, sequence, "kept")

    def _list_call(self, entry: Entry) -> None:
        where = and_(CALLS.c.shop == self._shop, CALLS.c.id == entry.call)
        if self._connection.execute(select(CALLS.c.id).where(where)).first() is None:
            new = {"unit": "", "name": "", "state": "open", "opened_s": entry.seconds}
            self._connection.execute(insert(CALLS).values(shop=self._shop, id=entry.call, **new))
            self._stale.add(entry.call)
        if entry.kind in SUMMARY_KINDS:
            self._stale.add(entry.call)

    def _refer(self, entry: Entry) -> None:
        for sha256 in files_of(entry):
            row = {"shop": self._shop, "sha256": sha256, "entry": entry.id}
            self._connection.execute(insert(PHOTO_REFS).values(row))

    def _refill(self, known: Entry, entry: Entry) -> None:
        """Put a body back that was lost without a redaction."""
        if known.body is None and entry.body is not None and not self._is_redacted(entry):
            mine = and_(ENTRIES.c.shop == self._shop, ENTRIES.c.id == entry.id)
            self._connection.execute(update(ENTRIES).where(mine).values(body=entry.body))
            self._refer(entry)
            self._stale.add(entry.call)

    def _is_redacted(self, entry: Entry) -> bool:
        named = and_(
            ENTRIES.c.shop == self._shop,
            ENTRIES.c.redacts == entry.id,
            ENTRIES.c.call == entry.call,
            ENTRIES.c.kind == "redaction",
        )
        return self._connection.execute(select(ENTRIES.c.id).where(named)).first() is not None

    def _redact(self, redaction: Entry) -> None:
        """Drop the body of what a redaction names, in quarantine too, and photos nothing else names."""
        mine = and_(ENTRIES.c.shop == self._shop, ENTRIES.c.id == redaction.redacts)
        row = self._connection.execute(select(ENTRIES).where(mine)).mappings().one_or_none()
        if row is not None and row["call"] == redaction.call and may_redact(entry_of_row(row)):
            self._connection.execute(update(ENTRIES).where(mine).values(body=None))
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

    def _receipted(self, sha256: str) -> int | None:
        mine = and_(RECEIPTS.c.shop == self._shop, RECEIPTS.c.entry_sha256 == sha256)
        return self._connection.execute(select(RECEIPTS.c.sequence).where(mine)).scalar()

    def _quarantine(
        self, document: object, problems: Sequence[InputError], entry: Entry | None = None
    ) -> Taken:
        if entry is not None and may_redact(entry) and self._is_redacted(entry):
            document = entry.without_body().wire()
        raw = raw_of(document)
        sha256 = sha256_text(raw) if entry is None else entry.sha256
        id_, call = _names(document)
        known = self._receipted(sha256)
        if known is not None:
            return Taken(id_, sha256, known, "quarantined", tuple(problems))
        sequence = self._receipt(sha256)
        reason = "\n".join(str(problem) for problem in problems).replace("\0", "?")
        self._connection.execute(
            insert(QUARANTINE).values(
                shop=self._shop, sha256=sha256, id=id_, call=call, reason=reason, raw=raw, sequence=sequence
            )
        )
        return Taken(id_, sha256, sequence, "quarantined", tuple(problems))


def _names(document: object) -> tuple[str, str]:
    """Return (id, call) where a document has such, empty texts otherwise."""
    if not isinstance(document, dict):
        return "", ""
    id_, call = document.get("id"), document.get("call")
    return str(id_) if is_uuid7(id_) else "", str(call) if is_uuid7(call) else ""
