"""The store as a whole: database, photos, clock and chance; and the shops in it."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, insert, select

from holdcold.calls.entries import GENESIS, uuid7_text
from holdcold.errors import StoreError
from holdcold.store.database import Database, open_database
from holdcold.store.files import make_folder
from holdcold.store.tables import HEADS, SHOPS

_CHANCE_BITS: Final = 74
_OWN: Final = "Own shop"


def _now() -> datetime:
    return datetime.now(UTC)


def _nothing(_point: str) -> None:
    """Do nothing at a crash point."""


@dataclass(frozen=True)
class Store:
    """Everything kept, in one folder (and in PostgreSQL where a URL was given).

    folder: photos lie here, and SQLite's file. database: open and up to date. now: the clock.
    at_point: called with the name of each point at which a crash would be worst; tests stop there.
    """

    folder: Path
    database: Database
    now: Callable[[], datetime] = _now
    at_point: Callable[[str], None] = _nothing

    def stamp(self) -> str:
        """Return the time as it is recorded, UTC."""
        return self.now().isoformat(timespec="milliseconds")

    def new_id(self) -> str:
        """Return a new identifier."""
        return uuid7_text(int(self.now().timestamp() * 1000), secrets.randbits(_CHANCE_BITS))

    def close(self) -> None:
        """Close the database."""
        self.database.close()


def open_store(
    folder: Path,
    url: str = "",
    *,
    now: Callable[[], datetime] = _now,
    at_point: Callable[[str], None] = _nothing,
) -> Store:
    """Return the store in a folder, made where there is none.

    url: of PostgreSQL, empty for SQLite in the folder. now: the clock. at_point: see ``Store``.
    Raises InputError and StoreError as ``open_database`` does, StoreError where the folder cannot be made.
    """
    try:
        make_folder(folder.absolute())
    except OSError as problem:
        raise StoreError(f"The data folder {folder} cannot be made: {problem.strerror}.") from problem
    return Store(folder, open_database(folder, url, now()), now, at_point)


def own_shop(store: Store) -> str:
    """Return the id of the one shop of a single person's store, made where there is none.

    Raises StoreError where there are several: somebody has to say which.
    """
    with store.database.writing() as connection:
        ids = list(connection.execute(select(SHOPS.c.id).order_by(SHOPS.c.id)).scalars())
        if not ids:
            return add_shop(connection, store.new_id(), _OWN, store.stamp())
    if len(ids) > 1:
        raise StoreError(f"This store holds {len(ids)} shops: name one of {', '.join(ids)}.")
    return str(ids[0])


def add_shop(connection: Connection, id_: str, name: str, at: str) -> str:
    """Add a shop with an empty receipt log; id_, name: of the shop; at: when. Returns its id."""
    connection.execute(insert(SHOPS).values(id=id_, name=name, made_at=at))
    connection.execute(insert(HEADS).values(shop=id_, sequence=0, sha256=GENESIS))
    return id_
