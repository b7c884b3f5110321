"""How long a sync takes while 50 phones send, and what is lost: the server in a process of its own.

Budgets: 50 clients with 20 entries each within 10 s, p95 100 ms; all at once, p95 500 ms; server under
300 MB; nothing lost or doubled. No peer is known that does the same; the figures stand by themselves.
"""

from __future__ import annotations

import http.client
import json
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src")]

from holdcold.calls.entries import make_entry, uuid7_text  # noqa: E402
from holdcold.store import log_of_call, open_store, own_shop, sync, verify  # noqa: E402

CLIENTS, ENTRIES, SPREAD_S = 50, 20, 10.0
CLOCK = "2026-11-25T08:00:00-06:00"
BUDGET_SPREAD_MS, BUDGET_BURST_MS, BUDGET_MB = 100.0, 500.0, 300.0


def entries(client: int, call: str, base: int) -> list[dict[str, object]]:
    """Return the entries of one phone, as they travel."""
    body = b'{"place":"box_k","value":"38 F"}'
    made = []
    for number in range(1, ENTRIES + 1):
        envelope = {
            "id": uuid7_text(base + number, client << 20 | number), "call": call, "kind": "reading",
            "schema": 1, "author": f"person {client}", "device": f"phone {base}-{client}", "counter": number,
            "seen": {}, "at": CLOCK,
        }  # fmt: skip
        made.append(make_entry(envelope, body).wire())
    return made


def send(port: int, client: int, documents: list[dict[str, object]], since: object) -> tuple[float, object]:
    """Send entries; return the time taken [ms] and the cursor for the next time."""
    told = {"device": f"phone {client}", "clock": CLOCK, "entries": documents}
    body = json.dumps(told if since is None else {**told, "since": since})
    start = time.perf_counter()
    connection = http.client.HTTPConnection("localhost", port, timeout=60)
    connection.request("POST", "/api/sync", body, {"content-type": "application/json"})
    answer = connection.getresponse()
    content = answer.read()
    taken = 1000.0 * (time.perf_counter() - start)
    connection.close()
    if answer.status != 200 or any(one["outcome"] != "kept" for one in json.loads(content)["taken"]):
        raise SystemExit(f"not taken: {content[:300]!r}")
    return taken, json.loads(content)["cursor"]


def round_of(
    port: int, base: int, spread_s: float, call: Callable[[int], str], cursors: list[object]
) -> list[float]:
    """Return the times of all clients [ms], their starts spread over some seconds."""
    times = [0.0] * CLIENTS
    documents = [entries(client, call(client), base) for client in range(CLIENTS)]

    def one(client: int) -> None:
        time.sleep(spread_s * client / CLIENTS)
        times[client], cursors[client] = send(port, client, documents[client], cursors[client])

    threads = [threading.Thread(target=one, args=(client,)) for client in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return times


def memory_mb(pid: int) -> float:
    """Return the largest resident memory a process had [MB]; 0 where the system does not say."""
    status = Path(f"/proc/{pid}/status")
    if not status.exists():
        return 0.0
    line = next(line for line in status.read_text("utf-8").splitlines() if line.startswith("VmHWM"))
    return float(line.split()[1]) / 1024.0


def p95(times: list[float]) -> float:
    """Return the 95th percentile."""
    return statistics.quantiles(times, n=20)[18]


def alone() -> tuple[float, float]:
    """Return processor time and time in all of one sync of 20 entries, nobody else about [ms]."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder))
        shop = own_shop(store)
        batches = [entries(client, uuid7_text(1, client), 3_000_000) for client in range(30)]
        cursor = sync(store, shop, batches[0]).news.cursor
        processor, wall = time.process_time(), time.perf_counter()
        for batch in batches[1:]:
            cursor = sync(store, shop, batch, cursor).news.cursor
        count = len(batches) - 1
        figures = 1000.0 * (time.process_time() - processor), 1000.0 * (time.perf_counter() - wall)
        store.close()
    return figures[0] / count, figures[1] / count


def main() -> int:
    """Print the figures; return 1 where something was lost or a budget is not kept."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = int(found.getsockname()[1])
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "holdcold", "serve", "--data", folder, "--port", str(port)]
        server = subprocess.Popen(command, env={"PYTHONPATH": str(ROOT / "src"), "PATH": ""})
        try:
            for _ in range(100):
                try:
                    socket.create_connection(("localhost", port), timeout=1).close()
                    break
                except OSError:
                    time.sleep(0.1)
            calls = [uuid7_text(1, client) for client in range(CLIENTS)]
            cursors: list[object] = [send(port, 999, [], None)[1]] * CLIENTS
            spread = round_of(port, 1_000_000, SPREAD_S, lambda client: calls[client], cursors)
            burst = round_of(port, 2_000_000, 0.0, lambda client: calls[client], cursors)
            memory = memory_mb(server.pid)
        finally:
            server.terminate()
            server.wait(timeout=30)
        store = open_store(Path(folder))
        shop = own_shop(store)
        kept = sum(len(log_of_call(store, shop, call).everything) for call in calls)
        damage = verify(store).damage
        store.close()
    print("one sync of 20 entries: {:.1f} ms of processor time, {:.1f} ms in all".format(*alone()))
    print(f"spread over {SPREAD_S:.0f} s: p50 {statistics.median(spread):.0f} ms, p95 {p95(spread):.0f} ms "
          f"(budget {BUDGET_SPREAD_MS:.0f})")  # fmt: skip
    print(f"all at once: p50 {statistics.median(burst):.0f} ms, p95 {p95(burst):.0f} ms "
          f"(budget {BUDGET_BURST_MS:.0f})")  # fmt: skip
    print(f"server memory {memory:.0f} MB (budget {BUDGET_MB:.0f})")
    print(f"entries kept {kept} of {2 * CLIENTS * ENTRIES}, damage {len(damage)}")
    good = kept == 2 * CLIENTS * ENTRIES and not damage
    kept_budget = p95(spread) <= BUDGET_SPREAD_MS and p95(burst) <= BUDGET_BURST_MS and memory <= BUDGET_MB
    return 0 if good and kept_budget else 1


if __name__ == "__main__":
    sys.exit(main())
