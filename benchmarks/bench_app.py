"""The app in a real browser: how soon it can be used, and whether its engine answers as CPython does.

usage: python benchmarks/bench_app.py [RANDOM_CALLS]      default 300 random cards with one call each

The slow run holds the whole browser to a quarter of one core: every process of it on one core, stopped for
three quarters of each 40 ms. Developer tools' own throttling does not reach workers.
"""

from __future__ import annotations

import os
import signal
import statistics
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from playwright.sync_api import Browser

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from holdcold.answers.desk import answer_data
from support.app_in_browser import (
    PHONE,
    Served,
    ask,
    chromium,
    differences,
    engine_is_ready,
    plain,
    questions,
    shell_is_kept,
    until,
)

PERIOD_S = 0.04
SHARE = 0.25
MARKS = "['interactive', 'engine'].map((name) => performance.getEntriesByName(name)[0]?.startTime ?? null)"


def descendants(root: int) -> list[int]:
    """Return the processes below one, itself left out."""
    parents: dict[int, list[int]] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with suppress(OSError):
                fields = (entry / "stat").read_text().rpartition(")")[2].split()
                parents.setdefault(int(fields[1]), []).append(int(entry.name))
    found, open_ones = [], [root]
    while open_ones:
        below = parents.get(open_ones.pop(), [])
        found += below
        open_ones += below
    return found


def browser_processes() -> list[int]:
    """Return the processes of the browser this script started."""
    named = []
    for number in descendants(os.getpid()):
        with suppress(OSError):
            if b"chrom" in Path(f"/proc/{number}/cmdline").read_bytes().split(b"\0")[0]:
                named.append(number)
    return named


@contextmanager
def quarter_of_a_core() -> Iterator[None]:
    """Hold the browser to a quarter of one core for a while."""
    core, over = {max(os.sched_getaffinity(0))}, threading.Event()

    def hold() -> None:
        while not over.is_set():
            numbers = browser_processes()
            halves = ((PERIOD_S * (1 - SHARE), signal.SIGSTOP), (PERIOD_S * SHARE, signal.SIGCONT))
            for pause, wanted in halves:
                for number in numbers:
                    with suppress(OSError):
                        os.sched_setaffinity(number, core)
                        os.kill(number, wanted)
                time.sleep(pause)

    thread = threading.Thread(target=hold)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
        for number in browser_processes():
            with suppress(OSError):
                os.sched_setaffinity(number, os.sched_getaffinity(0))


def start_times(browser: Browser, address: str) -> tuple[float, float, float]:
    """Return seconds to a usable screen and a ready engine, cold, and to the engine the second time."""
    context = browser.new_context(**PHONE)
    page = context.new_page()
    page.goto(address, timeout=120_000)
    until(lambda: page.evaluate(MARKS)[1], "engine ready", 120)
    interactive, engine = page.evaluate(MARKS)
    shell_is_kept(page)
    page.reload(timeout=120_000)
    until(lambda: page.evaluate(MARKS)[1], "engine ready again", 120)
    again = page.evaluate(MARKS)[1]
    context.close()
    return interactive / 1000, engine / 1000, again / 1000


def report_starts(label: str, runs: list[tuple[float, float, float]]) -> None:
    """Print the median of some starts."""
    interactive, engine, again = (statistics.median(column) for column in zip(*runs, strict=True))
    print(f"{label}: usable after {interactive:.2f} s, engine ready after {engine:.1f} s, "
          f"from the phone's own store {again:.1f} s (median of {len(runs)})")  # fmt: skip


def compare(browser: Browser, address: str, random_ones: int) -> None:
    """Ask the same of both engines and print how many answers differ, and what the answers took."""
    page = browser.new_context(**PHONE).new_page()
    page.goto(address)
    engine_is_ready(page)
    off, times, own = {}, [], []
    count = 0
    for name, request in questions(random_ones):
        began = time.perf_counter()
        found = ask(page, request)
        times.append(time.perf_counter() - began)
        began = time.perf_counter()
        expected = plain(answer_data(request))
        own.append(time.perf_counter() - began)
        count += 1
        rows = differences(found, expected)
        if rows:
            off[name] = rows
    print(f"{count} calls: {count - len(off)} the same to 1e-9, next check and order included")
    for name, rows in off.items():
        print(f"  {name}: {len(rows)} numbers, first {rows[0]}")
    print(f"a finding: browser median {statistics.median(times):.2f} s, worst {max(times):.2f} s; "
          f"CPython median {statistics.median(own):.2f} s")  # fmt: skip


def main() -> None:
    """Measure and print."""
    random_ones = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    server = Served()
    try:
        with chromium() as browser:
            report_starts("whole machine", [start_times(browser, server.address) for _ in range(3)])
            with quarter_of_a_core():
                runs = [start_times(browser, server.address) for _ in range(3)]
                report_starts("a quarter of one core", runs)
            if random_ones:
                compare(browser, server.address, random_ones)
    finally:
        server.kill()


if __name__ == "__main__":
    main()
