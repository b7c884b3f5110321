"""One browser, one server and one loaded engine for all tests of the app that do not end them."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from support.app_in_browser import PHONE, Served, chromium, engine_is_ready


@pytest.fixture(scope="session")
def served() -> Iterator[Served]:
    """Serve the app for the whole run."""
    server = Served()
    yield server
    server.kill()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Open the one browser."""
    if shutil.which("chromium") is None:
        pytest.skip("not installed: chromium (tests/system-packages.txt)")
    with chromium() as opened:
        yield opened


@pytest.fixture
def page(browser: Browser, served: Served) -> Iterator[Page]:
    """Return a phone's page with the engine ready; its console must be without complaint at the end."""
    context = browser.new_context(**PHONE)
    opened = context.new_page()
    said: list[str] = []
    opened.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    opened.on("pageerror", lambda problem: said.append(str(problem)))
    opened.goto(served.address)
    engine_is_ready(opened)
    yield opened
    context.close()
    assert said == []
