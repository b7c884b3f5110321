"""Opening the database: SQLite in a folder, or PostgreSQL by its URL, with settings that lose no write.

SQLite runs in WAL mode with ``synchronous=FULL`` (a commit that was acknowledged survives a power cut), and
both are read back and asserted at the start. Writers take turns: a lock in the process, ``BEGIN IMMEDIATE``
between processes; on PostgreSQL the row of the shop's head is locked.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event, func, insert, inspect, make_url, select
from sqlalchemy.exc import ArgumentError, SQLAlchemyError

from holdcold.errors import InputError, StoreError
from holdcold.store.migrations import STEPS
from holdcold.store.tables import SCHEMA_VERSIONS

FILE: Final = "holdcold.sqlite"
"""Name of the database in its folder."""

_BUSY_S: Final = 30.0
_FULL: Final = 2
_WRITES: Final = "holdcold_writes"
_MIGRATION_LOCK: Final = 4_801_001


class Database:
    """A database that is open and up to date.

    engine: SQLAlchemy's. Reading and writing are the two ways in; everything inside one of them is one
    transaction, and what a writer raises takes all of it back.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self._writers = Lock()

    @property
    def is_sqlite(self) -> bool:
        """Whether the database is a file of this machine."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one moment of the database. Raises StoreError where it fails."""
        options = {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ"}
        with (
            _in_words("Reading or writing failed"),
            self.engine.connect().execution_options(**options) as one,
            one.begin(),
        ):
            yield one

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection that may write; commits at the end. Raises StoreError where that fails."""
        options = {_WRITES: True}
        with (
            _in_words("Reading or writing failed"),
            self._writers,
            self.engine.connect().execution_options(**options) as one,
            one.begin(),
        ):
            yield one

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()


def open_database(folder: Path, url: str, now: datetime) -> Database:
    """Return the database, made or brought up to date where needed.

    folder: where SQLite's file lies. url: of PostgreSQL, empty for SQLite. now: for the record of
    migrations. Raises InputError for a URL that is none, StoreError where the database cannot be opened
    or was made by a newer release.
    """
    engine = _postgresql(url) if url else sqlite_engine(folder / FILE)
    database = Database(engine)
    try:
        with _in_words("The database cannot be opened"), engine.connect() as connection:
            if not url:
                _assert_durable(connection)
        with database.writing() as connection, _in_words("The database cannot be opened"):
            migrate(connection, now)
    except StoreError:
        engine.dispose()
        raise
    return database


@contextmanager
def _in_words(what: str) -> Iterator[None]:
    """Turn what the database says into a StoreError; what: what failed."""
    try:
        yield
    except SQLAlchemyError as problem:
        raise StoreError(f"{what}: {str(problem).splitlines()[0]}") from problem


def migrate(connection: Connection, now: datetime, upto: int = len(STEPS)) -> None:
    """Apply the steps that were not applied yet.

    now: for the record. upto: last step, for tests of old schemas. Raises StoreError when the database
    has steps that this release does not know.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(select(func.pg_advisory_xact_lock(_MIGRATION_LOCK)))
    if not inspect(connection).has_table(SCHEMA_VERSIONS.name):
        SCHEMA_VERSIONS.create(connection)
    applied = set(connection.execute(select(SCHEMA_VERSIONS.c.number)).scalars())
    unknown = applied - set(range(1, len(STEPS) + 1))
    if unknown:
        raise StoreError(
            f"The database was made by a newer release (step {max(unknown)}, this one knows {len(STEPS)}): "
            "install that release."
        )
    for number, step in enumerate(STEPS[:upto], start=1):
        if number not in applied:
            step(connection)
            connection.execute(insert(SCHEMA_VERSIONS).values(number=number, applied_at=now.isoformat()))


def sqlite_engine(path: Path) -> Engine:
    """Return an engine on a SQLite file, set so that a commit is on disk."""
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": _BUSY_S, "check_same_thread": False})
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def _set_up(connection: sqlite3.Connection, _record: object) -> None:
    """Leave transactions to us, and set what a connection does not keep by itself."""
    connection.isolation_level = None
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    """Start a transaction; a writer takes the lock at once instead of failing half way."""
    writes = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _assert_durable(connection: Connection) -> None:
    journal: Any = connection.exec_driver_sql("PRAGMA journal_mode").scalar()
    synchronous: Any = connection.exec_driver_sql("PRAGMA synchronous").scalar()
    if journal != "wal" or synchronous != _FULL:
        raise StoreError(
            f"The database file would not keep what it acknowledged (journal {journal}, synchronous "
            f"{synchronous}): put the folder on a local disk."
        )


def _postgresql(url: str) -> Engine:
    try:
        parsed = make_url(url)
    except ArgumentError:
        parsed = None
    if parsed is None or parsed.get_backend_name() != "postgresql":
        raise InputError(
            "--database", url, "postgresql://user@host/name", "Leave it out for SQLite in the data folder."
        )
    return create_engine(parsed.set(drivername="postgresql+psycopg"))
