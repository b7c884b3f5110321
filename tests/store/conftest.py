"""Stores to test: the same tests on SQLite and on a PostgreSQL cluster of the run's own."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from holdcold.store import Store, open_store, own_shop
from support import postgres

DATABASES = ["sqlite", "postgresql"]


@pytest.fixture(scope="session")
def cluster() -> Iterator[str]:
    """Return the socket folder of a running cluster."""
    if postgres.programs() is None:
        pytest.skip("not installed: postgresql (tests/system-packages.txt)")
    with postgres.cluster() as home:
        yield home


@pytest.fixture(params=DATABASES)
def new_url(request: pytest.FixtureRequest) -> Callable[[], str]:
    """Return what gives the URL of a new empty database; empty for SQLite."""
    if request.param == "sqlite":
        return lambda: ""
    home = request.getfixturevalue("cluster")
    return lambda: postgres.new_database(home, f"t{uuid.uuid4().hex}")


@pytest.fixture
def new_store(new_url: Callable[[], str], tmp_path: Path) -> Iterator[Callable[..., Store]]:
    """Return what makes an empty store of its own."""
    opened: list[Store] = []

    def make(**more: object) -> Store:
        store = open_store(tmp_path / f"data-{len(opened)}", new_url(), **more)  # type: ignore[arg-type]
        opened.append(store)
        return store

    yield make
    for store in opened:
        store.close()


@pytest.fixture
def store(new_store: Callable[..., Store]) -> Store:
    """Return an empty store."""
    return new_store()


@pytest.fixture
def shop(store: Store) -> str:
    """Return the store's one shop."""
    return own_shop(store)
