"""The app in a real browser: a server that can be killed, the pages, and questions put to their engine."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from math import isclose
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

from holdcold.cards import read_card, resolve
from support.random_calls import random_call
from support.random_cards import random_card

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
CHROMIUM = "/usr/bin/chromium"
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
PHONE = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True}
DESKTOP = {"viewport": {"width": 1280, "height": 900}}
ENOUGH_S = 40.0


class Served:
    """The app's server as a process of its own, which a test may kill."""

    def __init__(self) -> None:
        environment = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "PYTHONUNBUFFERED": "1"}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "holdcold", "app", "--port", "0"],
            stdout=subprocess.PIPE, env=environment, text=True,
        )  # fmt: skip
        assert self.process.stdout is not None
        words = self.process.stdout.readline().split()
        self.address = next(word for word in words if word.startswith("http"))

    def kill(self) -> None:
        """End the server at once, as a power cut would."""
        self.process.kill()
        self.process.communicate()


@contextmanager
def chromium() -> Iterator[Browser]:
    """Open a browser without its window."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield browser
        browser.close()


def until(true: Callable[[], Any], what: str, seconds: float = ENOUGH_S) -> Any:
    """Return what ``true`` gives once it gives something; ``page.wait_for_function`` would need eval."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = true()
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError(f"not within {seconds:.0f} s: {what}")


def engine_is_ready(page: Page) -> None:
    """Wait until the engine answers."""
    until(lambda: page.locator(".state").inner_text() in {"engine ready", "motor listo"}, "engine ready")


def shell_is_kept(page: Page) -> None:
    """Wait until the whole shell is in the browser's own store."""
    ready = "navigator.serviceWorker.getRegistration().then((one) => one?.active?.state === 'activated')"
    until(lambda: page.evaluate(ready), "service worker active")


def ask(page: Page, request: Mapping[str, Any]) -> dict[str, Any]:
    """Put a question to the engine of a page, as its screens do."""
    script = "([name, given]) => import('/js/engine.js').then(({ ask }) => ask(name, given))"
    answered = page.evaluate(script, [request["ask"], dict(request)])
    return dict(answered)


def questions(random_ones: int) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield (name, find request) for every example call with its card, and for as many random ones."""
    for path in sorted(EXAMPLES.glob("call-*.toml")):
        call = tomllib.loads(path.read_text(encoding="utf-8"))
        card = (EXAMPLES / call["card"]).read_text(encoding="utf-8")
        yield path.stem, {"ask": "find", "card": card, "call": call}
    for seed in range(random_ones):
        yield f"random {seed}", random_question(seed)


def random_question(seed: int) -> dict[str, Any]:
    """Return the find request of one random card with one random call on it; invented numbers."""
    text = random_card(seed)
    evidence = random_call(resolve(read_card(text)), seed).evidence
    here = evidence.situation
    document = {
        "schema": 1,
        "conditions": {
            "ambient": f"{here.ambient_k!r} K", "box": f"{here.box_k!r} K", "state": here.state,
            "minutes_in_state": here.minutes_in_state, "complaint": here.complaint,
            "box_trend": here.box_trend,
        },
        "reading": [
            {"place": one.place, "value": f"{one.value_si!r} {_si_unit(one.place)}".strip()}
            for one in evidence.readings
        ],
        "sighting": [{"id": one.id, "seen": one.value} for one in evidence.sightings],
    }  # fmt: skip
    return {"ask": "find", "card": text, "call": document}


def _si_unit(place: str) -> str:
    endings = {"_k": "K", "_a": "A", "_w": "W", "_v": "V"}
    if "_pa" in place:
        return "Pa"
    return next(
        (unit for ending, unit in endings.items() if place.endswith(ending) or f"{ending}_" in place), ""
    )


def differences(one: object, other: object, path: str = "") -> list[str]:
    """Return where two answers differ: numbers by more than 1e-9 of themselves, else at all, order too.

    The weights of reasons (``delta_nats``) come from sums over lies that a screen cuts short, and it may cut
    one term earlier or later by the last bit of a logarithm: they are compared to 1e-6.
    """
    if isinstance(one, dict) and isinstance(other, dict):
        if list(one) != list(other):
            return [f"{path}: {list(one)} and {list(other)}"]
        return [found for key in one for found in differences(one[key], other[key], f"{path}.{key}")]
    if isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            return [f"{path}: {len(one)} and {len(other)} items"]
        pairs = zip(one, other, strict=True)
        return [found for n, (a, b) in enumerate(pairs) for found in differences(a, b, f"{path}[{n}]")]
    if isinstance(one, float | int) and isinstance(other, float | int):
        within = 1e-6 if path.endswith(".delta_nats") else 1e-9
        if isclose(one, other, rel_tol=within, abs_tol=within):
            return []
        return [f"{path}: {one!r} and {other!r}"]
    return [] if one == other else [f"{path}: {one!r} and {other!r}"]


def plain(data: object) -> Any:
    """Return data as it comes through JSON."""
    return json.loads(json.dumps(data))
