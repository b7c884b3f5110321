"""Backup and restore: a folder that is a store of its own, consistent although the server runs.

A backup is always SQLite with its photos, so that it opens anywhere, and a store can move between SQLite
and PostgreSQL through it.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from sqlalchemy import Connection, Table, insert, select

from holdcold.errors import InputError, StoreError
from holdcold.store.database import FILE, Database, migrate, sqlite_engine
from holdcold.store.files import make_folder, sync_file, sync_folder, write_durably
from holdcold.store.photos import photo_path
from holdcold.store.shop import Store, open_store
from holdcold.store.tables import IN_ORDER, PHOTOS, SHOPS
from holdcold.store.verify import Verdict, verify

_ROWS: Final = 500
_TRIES: Final = 3


def backup(store: Store, target: Path) -> Verdict:
    """Write a backup into a new folder and check it there; the store may be in use meanwhile.

    target: a folder that does not exist yet. It appears only when the backup is whole.
    Raises InputError where it exists, StoreError where the backup does not check.
    """
    if target.exists():
        raise InputError("DEST", str(target), "a folder that does not exist yet", "Name a new folder.")
    aside = target.with_name(f".{target.name}.part")
    for _ in range(_TRIES):
        verdict = _write(store, aside)
        if not verdict.damage:
            sync_file(aside / FILE)
            aside.rename(target)
            sync_folder(target.absolute().parent)
            return verdict
    raise StoreError("The backup does not check and was left aside: " + "; ".join(verdict.damage[:5]))


def _write(store: Store, aside: Path) -> Verdict:
    """Write and check one backup; a photo redacted between database and files makes it fail."""
    shutil.rmtree(aside, ignore_errors=True)
    make_folder(aside.absolute())
    if store.database.is_sqlite:
        _copy_file(store.folder / FILE, aside / FILE)
    else:
        _copy_into_file(store, aside / FILE)
    store.at_point("database copied")
    copy = open_store(aside, now=store.now)
    try:
        _copy_photos(copy, store, copy)
        return verify(copy)
    finally:
        copy.close()


def restore(source: Path, store: Store) -> Verdict:
    """Fill an empty store from a backup, checked before and after; source: the folder of the backup.

    Raises InputError where there is no backup or the store is not empty, StoreError where it is damaged.
    """
    if not (source / FILE).is_file():
        advice = "Name the folder that holdcold backup wrote."
        raise InputError("SOURCE", str(source), f"a folder with {FILE}", advice)
    with store.database.reading() as connection:
        if connection.execute(select(SHOPS.c.id)).first() is not None:
            advice = "Name a new data folder, or an empty database; put it in place when it checks."
            raise InputError("--data", str(store.folder), "an empty store", advice)
    with _opened_copy(source) as copy:
        found = verify(copy)
        if found.damage:
            raise StoreError("The backup is damaged: " + "; ".join(found.damage[:5]))
        _copy_photos(copy, copy, store)
        with copy.database.reading() as old, store.database.writing() as new:
            copy_rows(old, new)
    verdict = verify(store)
    if verdict.damage:
        raise StoreError("What was restored does not check: " + "; ".join(verdict.damage[:5]))
    return verdict


@contextmanager
def _opened_copy(source: Path) -> Iterator[Store]:
    """Give a backup as a store without touching it: its database is copied aside and brought up to date."""
    with TemporaryDirectory() as aside:
        _copy_file(source / FILE, Path(aside) / FILE)
        opened = open_store(Path(aside))
        try:
            yield Store(source, opened.database, opened.now)
        finally:
            opened.close()


def _copy_file(source: Path, target: Path) -> None:
    """Copy a SQLite database as it is at one moment, writers or not."""
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)


def _copy_into_file(store: Store, target: Path) -> None:
    copy = Database(sqlite_engine(target))
    try:
        with store.database.reading() as old, copy.writing() as new:
            migrate(new, store.now())
            copy_rows(old, new)
    finally:
        copy.close()


def copy_rows(old: Connection, new: Connection) -> None:
    """Copy the content of every table into the same tables, empty so far, of another database."""
    for table in IN_ORDER:
        for rows in _pages(old, table):
            new.execute(insert(table), rows)


def _pages(connection: Connection, table: Table) -> Iterator[list[dict[str, object]]]:
    streamed = select(table).execution_options(stream_results=True)
    result = connection.execute(streamed).mappings()
    while rows := result.fetchmany(_ROWS):
        yield [dict(row) for row in rows]


def _copy_photos(listed: Store, old: Store, new: Store) -> None:
    """Copy files from one store to another: those that the database of ``listed`` records."""
    with listed.database.reading() as connection:
        kept = select(PHOTOS.c.shop, PHOTOS.c.sha256).where(PHOTOS.c.dropped.is_(False))
        rows = connection.execute(kept).all()
    for shop, sha256 in rows:
        path = photo_path(old, shop, sha256)
        if path.exists():
            write_durably(photo_path(new, shop, sha256), path.read_bytes())
