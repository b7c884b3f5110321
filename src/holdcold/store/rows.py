"""Entries as rows, and rows as entries."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, RowMapping, select
from sqlalchemy.sql.elements import ColumnElement

from holdcold.calls.entries import ClockOffset, Entry, Log, canonical, entry_of, log_of
from holdcold.errors import InputErrors
from holdcold.store.tables import ENTRIES, OFFSETS, QUARANTINE, RECEIPTS


def row_of(shop: str, entry: Entry, sequence: int) -> dict[str, Any]:
    """Return the row of an entry; shop: its shop; sequence: of its receipt."""
    return {
        "shop": shop,
        "id": entry.id,
        "sha256": entry.sha256,
        "call": entry.call,
        "kind": entry.kind,
        "schema": entry.schema,
        "author": entry.author,
        "device": entry.device,
        "counter": entry.counter,
        "seen": canonical(dict(entry.seen)).decode("ascii"),
        "at": entry.at,
        "corrects": entry.corrects,
        "redacts": entry.redacts,
        "body": entry.body,
        "body_sha256": entry.body_sha256,
        "sequence": sequence,
    }


def entry_of_row(row: RowMapping) -> Entry:
    """Return the entry of a row, not checked: ``verify`` does that."""
    body = row["body"]
    return Entry(
        id=row["id"],
        call=row["call"],
        kind=row["kind"],
        schema=row["schema"],
        author=row["author"],
        device=row["device"],
        counter=row["counter"],
        at=row["at"],
        body=None if body is None else bytes(body),
        body_sha256=row["body_sha256"],
        seen=json.loads(row["seen"]),
        corrects=row["corrects"],
        redacts=row["redacts"],
    )


def raw_of(document: object) -> bytes:
    """Return what came, as the bytes that are kept in quarantine and hashed.

    NaN and the infinities, which are no JSON, are kept as their names.
    """
    try:
        return canonical(document)
    except ValueError:
        return canonical(json.loads(json.dumps(document), parse_constant=str))


def entry_of_raw(raw: bytes) -> Entry | None:
    """Return the entry in quarantined bytes, or None where they are none."""
    try:
        return entry_of(json.loads(raw))
    except (InputErrors, ValueError, RecursionError):
        return None


def quarantined(connection: Connection, where: ColumnElement[bool]) -> Iterator[Entry]:
    """Yield the entries in quarantine that fit; what is no entry is left out."""
    rows = connection.execute(select(QUARANTINE.c.raw).where(where).order_by(QUARANTINE.c.sequence))
    for raw in rows.scalars():
        entry = entry_of_raw(bytes(raw))
        if entry is not None:
            yield entry


def call_log(connection: Connection, shop: str, call: str) -> Log:
    """Return everything there is of one call; shop, call: their ids."""
    mine = (ENTRIES.c.shop == shop) & (ENTRIES.c.call == call)
    rows = list(connection.execute(select(ENTRIES).where(mine)).mappings())
    entries = [entry_of_row(row) for row in rows]
    receipts = {row["sha256"]: row["sequence"] for row in rows}
    others = list(quarantined(connection, (QUARANTINE.c.shop == shop) & (QUARANTINE.c.call == call)))
    if others:
        hashes = [entry.sha256 for entry in others]
        named = (RECEIPTS.c.shop == shop) & RECEIPTS.c.entry_sha256.in_(hashes)
        found = connection.execute(select(RECEIPTS.c.entry_sha256, RECEIPTS.c.sequence).where(named))
        receipts |= {row.entry_sha256: row.sequence for row in found}
    return log_of([*entries, *others], receipts, offsets_of(connection, shop))


def offsets_of(connection: Connection, shop: str) -> dict[str, ClockOffset]:
    """Return the clock offset of each device of a shop; shop: its id."""
    rows = connection.execute(
        select(OFFSETS.c.device, OFFSETS.c.sequence, OFFSETS.c.seconds).where(OFFSETS.c.shop == shop)
    )
    return {device: ClockOffset(sequence, seconds) for device, sequence, seconds in rows}
