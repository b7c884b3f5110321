"""Step 1: shops, units with their cards, calls, entries, quarantine, receipts, photos."""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Connection,
    Float,
    ForeignKeyConstraint,
    Index,
    LargeBinary,
    MetaData,
    Table,
    Text,
)

_METADATA: Final = MetaData()

Table(
    "shops",
    _METADATA,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("made_at", Text, nullable=False),
)

Table(
    "heads",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("sequence", BigInteger, nullable=False),
    Column("sha256", Text, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
)

Table(
    "receipts",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("sequence", BigInteger, primary_key=True, autoincrement=False),
    Column("entry_sha256", Text, nullable=False),
    Column("previous", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("received_at", Text, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
    Index("receipts_by_entry", "shop", "entry_sha256", unique=True),
)

Table(
    "units",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("made_at", Text, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
)

Table(
    "cards",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("unit", Text, primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("text", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("at", Text, nullable=False),
    ForeignKeyConstraint(["shop", "unit"], ["units.shop", "units.id"]),
)

Table(
    "calls",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("unit", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("opened_s", Float, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
    Index("calls_by_unit", "shop", "unit", "opened_s"),
)

Table(
    "entries",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("sha256", Text, nullable=False),
    Column("call", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("schema", BigInteger, nullable=False),
    Column("author", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("counter", BigInteger, nullable=False),
    Column("seen", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("corrects", Text, nullable=False),
    Column("redacts", Text, nullable=False),
    Column("body", LargeBinary, nullable=True),
    Column("body_sha256", Text, nullable=False),
    Column("sequence", BigInteger, nullable=False),
    ForeignKeyConstraint(["shop", "call"], ["calls.shop", "calls.id"]),
    ForeignKeyConstraint(["shop", "sequence"], ["receipts.shop", "receipts.sequence"]),
    Index("entries_by_call", "shop", "call"),
    Index("entries_by_sequence", "shop", "sequence", unique=True),
    Index("entries_by_redacted", "shop", "redacts"),
)

Table(
    "quarantine",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("id", Text, nullable=False),
    Column("call", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("raw", LargeBinary, nullable=False),
    Column("sequence", BigInteger, nullable=False),
    ForeignKeyConstraint(["shop", "sequence"], ["receipts.shop", "receipts.sequence"]),
    Index("quarantine_by_id", "shop", "id"),
)

Table(
    "photos",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("bytes", BigInteger, nullable=False),
    Column("received_at", Text, nullable=False),
    Column("dropped", Boolean, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
)

Table(
    "photo_refs",
    _METADATA,
    Column("shop", Text, primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("entry", Text, primary_key=True),
    ForeignKeyConstraint(["shop", "entry"], ["entries.shop", "entries.id"]),
)


def apply(connection: Connection) -> None:
    """Make the tables."""
    _METADATA.create_all(connection, checkfirst=False)
