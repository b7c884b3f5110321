"""Every earlier schema, with content, is brought up to date on both databases.

``schemas/NNNN.json`` holds rows as the release with that schema wrote them (bytes as hexadecimal digits); a
release that adds a step adds the file of the schema before it.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, MetaData, inspect, select, text

from calls.entry_samples import CALL
from holdcold.errors import InputError, StoreError
from holdcold.store import Cursor, log_of_call, open_store, own_shop, sync, verify
from holdcold.store.database import FILE, Database, _postgresql, migrate, open_database, sqlite_engine
from holdcold.store.migrations import STEPS
from holdcold.store.tables import METADATA, SCHEMA_VERSIONS
from store.samples import visit

SCHEMAS = Path(__file__).parent / "schemas"
EARLIER = range(1, len(STEPS))
NOW = datetime(2026, 11, 25, tzinfo=UTC)


def engine_of(folder: Path, url: str) -> Engine:
    """Return an engine on a database that nothing was done to."""
    folder.mkdir(exist_ok=True)
    return _postgresql(url) if url else sqlite_engine(folder / FILE)


def load(connection: Connection, schema: int) -> None:
    """Put the content of an old release into its tables."""
    tables = MetaData()
    tables.reflect(connection)
    content = json.loads((SCHEMAS / f"{schema:04}.json").read_text(encoding="utf-8"))
    for name, rows in content.items():
        for row in rows:
            for key in ("body", "raw"):
                if row.get(key) is not None:
                    row[key] = bytes.fromhex(row[key])
            connection.execute(tables.tables[name].insert().values(row))


@pytest.mark.parametrize("schema", EARLIER)
def test_an_earlier_schema_is_brought_up_to_date(
    new_url: Callable[[], str], tmp_path: Path, schema: int
) -> None:
    url = new_url()
    database = Database(engine_of(tmp_path / "data", url))
    with database.writing() as connection:
        migrate(connection, NOW, schema)
        load(connection, schema)
    database.close()
    store = open_store(tmp_path / "data", url)
    try:
        damage = [line for line in verify(store).damage if not line.startswith("photo ")]  # no files here
        assert damage == []
        shop = own_shop(store)
        wanted = {entry.sha256 for entry in visit()}
        assert {entry.sha256 for entry in log_of_call(store, shop, CALL).everything} == wanted
        assert (
            sync(store, shop, [visit()[0].wire()], device="ana-phone", device_clock=NOW).news.restart is False
        )
        assert len(sync(store, shop, since=Cursor()).news.entries) == len(wanted) - 1
    finally:
        store.close()


def shape(connection: Connection) -> dict[str, Any]:
    """Return tables, columns, keys and indexes as the database has them."""
    seen = inspect(connection)
    return {
        name: {
            "columns": {one["name"]: bool(one["nullable"]) for one in seen.get_columns(name)},
            "key": seen.get_pk_constraint(name)["constrained_columns"],
            "indexes": sorted(
                (one["name"], one["column_names"], bool(one["unique"])) for one in seen.get_indexes(name)
            ),
            "refers": sorted(
                (one["constrained_columns"], one["referred_table"], one["referred_columns"])
                for one in seen.get_foreign_keys(name)
            ),
        }
        for name in seen.get_table_names()
    }


def test_the_steps_lead_to_the_tables_of_today(new_url: Callable[[], str], tmp_path: Path) -> None:
    stepped = open_database(tmp_path, new_url(), NOW)
    at_once = Database(engine_of(tmp_path / "other", new_url()))
    try:
        with at_once.writing() as connection:
            METADATA.create_all(connection)
        with stepped.reading() as one, at_once.reading() as other:
            assert shape(one) == shape(other)
            assert len(shape(one)) == len(METADATA.tables)
    finally:
        stepped.close()
        at_once.close()


def test_every_earlier_schema_has_content() -> None:
    assert sorted(path.stem for path in SCHEMAS.glob("*.json")) == [f"{n:04}" for n in EARLIER]


def test_opening_again_changes_nothing(new_url: Callable[[], str], tmp_path: Path) -> None:
    url = new_url()
    for _ in range(2):
        database = open_database(tmp_path, url, NOW)
        with database.reading() as connection:
            numbers = list(connection.execute(select(SCHEMA_VERSIONS.c.number)).scalars())
        database.close()
        assert sorted(numbers) == list(range(1, len(STEPS) + 1))


def test_a_newer_schema_is_left_alone(new_url: Callable[[], str], tmp_path: Path) -> None:
    url = new_url()
    database = open_database(tmp_path, url, NOW)
    with database.writing() as connection:
        connection.execute(SCHEMA_VERSIONS.insert().values(number=99, applied_at="later"))
    database.close()
    with pytest.raises(StoreError, match="newer release"):
        open_database(tmp_path, url, NOW)


def test_a_step_that_fails_leaves_nothing(
    new_url: Callable[[], str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(connection: Connection) -> None:
        STEPS[1](connection)
        connection.execute(text("INSERT INTO no_such_table VALUES (1)"))

    url = new_url()
    with monkeypatch.context() as patched:
        patched.setattr("holdcold.store.database.STEPS", (STEPS[0], fail))
        with pytest.raises(StoreError, match="cannot be opened"):
            open_database(tmp_path, url, NOW)
    database = open_database(tmp_path, url, NOW)
    with database.reading() as connection:
        assert len(shape(connection)) == len(METADATA.tables)
    database.close()


@pytest.mark.parametrize("url", ["sqlite:///x", "mysql://x/y", "nonsense", "postgresql"])
def test_a_url_that_is_none_is_refused(tmp_path: Path, url: str) -> None:
    with pytest.raises(InputError, match="postgresql://"):
        open_database(tmp_path, url, NOW)


def test_a_database_that_does_not_answer_is_said(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be opened"):
        open_database(tmp_path, f"postgresql://x@/y?host={tmp_path}", NOW)


def test_a_file_that_is_no_database_is_said(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text("hello, this is no database at all" * 100, encoding="utf-8")
    with pytest.raises(StoreError, match="cannot be opened"):
        open_store(tmp_path)
