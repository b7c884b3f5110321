"""The tables as they are now; ``migrations`` says how they came to be, and a test that both agree.

Only types that SQLite and PostgreSQL share. Bodies are kept as the bytes that came; what stands parsed beside
them is there to be searched, and can be made again from the bytes.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
)

METADATA: Final = MetaData()

SCHEMA_VERSIONS: Final = Table(
    "schema_versions",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("applied_at", Text, nullable=False),
)
"""Which migrations were applied, and when."""

SHOPS: Final = Table(
    "shops",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("made_at", Text, nullable=False),
)
"""A shop and everything in it is apart from every other shop."""

HEADS: Final = Table(
    "heads",
    METADATA,
    Column("shop", Text, primary_key=True),
    Column("sequence", BigInteger, nullable=False),
    Column("sha256", Text, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
)
"""The newest receipt of each shop; whoever adds one locks this row first."""

RECEIPTS: Final = Table(
    "receipts",
    METADATA,
    Column("shop", Text, primary_key=True),
    Column("sequence", BigInteger, primary_key=True, autoincrement=False),
    Column("entry_sha256", Text, nullable=False),
    Column("previous", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("received_at", Text, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
    Index("receipts_by_entry", "shop", "entry_sha256", unique=True),
)
"""The receipt log: one row for everything received, quarantine included."""

UNITS: Final = Table(
    "units",
    METADATA,
    Column("shop", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("made_at", Text, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
)
"""Units; the name is the newest one given."""

CARDS: Final = Table(
    "cards",
    METADATA,
    Column("shop", Text, primary_key=True),
    Column("unit", Text, primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("text", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("at", Text, nullable=False),
    ForeignKeyConstraint(["shop", "unit"], ["units.shop", "units.id"]),
)
"""Every version of every unit's card, as text; versions are added, never changed."""

CALLS: Final = Table(
    "calls",
    METADATA,
    Column("shop", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("unit", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("opened_s", Float, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
    Index("calls_by_unit", "shop", "unit", "opened_s"),
)
"""What the entries of a call amount to, kept for lists; made again whenever an entry may change it."""

ENTRIES: Final = Table(
    "entries",
    METADATA,
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
"""Entries: the exact bytes of each body (NULL when redacted), the envelope parsed beside them."""

QUARANTINE: Final = Table(
    "quarantine",
    METADATA,
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
"""What came but cannot stand: an id that is taken, or no entry at all; the JSON as it came."""

PHOTOS: Final = Table(
    "photos",
    METADATA,
    Column("shop", Text, primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("bytes", BigInteger, nullable=False),
    Column("received_at", Text, nullable=False),
    Column("dropped", Boolean, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
)
"""Files that are whole and on disk beside the database; ``dropped`` once redaction took them."""

PHOTO_REFS: Final = Table(
    "photo_refs",
    METADATA,
    Column("shop", Text, primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("entry", Text, primary_key=True),
    ForeignKeyConstraint(["shop", "entry"], ["entries.shop", "entries.id"]),
)
"""Which entry names which file."""

OFFSETS: Final = Table(
    "offsets",
    METADATA,
    Column("shop", Text, primary_key=True),
    Column("device", Text, primary_key=True),
    Column("sequence", BigInteger, nullable=False),
    Column("seconds", Float, nullable=False),
    ForeignKeyConstraint(["shop"], ["shops.id"]),
)
"""How far each device's clock was behind the shop's when it last synced."""

IN_ORDER: Final = (
    SHOPS, HEADS, RECEIPTS, UNITS, CARDS, CALLS, ENTRIES, QUARANTINE, PHOTOS, PHOTO_REFS, OFFSETS,
)  # fmt: skip
"""Tables of content, each after those it refers to."""
