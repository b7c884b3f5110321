"""The application over an empty store, and what asks it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from holdcold.server import make_app
from holdcold.store import Store, open_store, own_shop


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Return an empty store."""
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def shop(store: Store) -> str:
    """Return the store's one shop."""
    return own_shop(store)


@pytest.fixture
def ask(store: Store, shop: str) -> Iterator[TestClient]:
    """Return a client of the application."""
    with TestClient(make_app(store, shop), base_url="http://localhost:8765") as client:
        yield client


@pytest.fixture
def sync_over(ask: TestClient) -> Callable[..., dict]:  # type: ignore[type-arg]
    """Return what sends entries and gives the answer."""

    def send(*documents: object, **more: object) -> dict:  # type: ignore[type-arg]
        request = {
            "device": "ana-phone",
            "clock": "2026-11-25T08:00:00-06:00",
            "entries": list(documents),
            **more,
        }
        answer = ask.post("/api/sync", json=request)
        assert answer.status_code == 200, answer.text
        found: dict = answer.json()  # type: ignore[type-arg]
        return found

    return send
