"""``holdcold serve`` in a process of its own: it listens here only, over TLS too, and outlives a kill."""

from __future__ import annotations

import json
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from calls.entry_samples import CALL, Device
from holdcold.store import log_of_call, open_store, own_shop, verify

ROOT = Path(__file__).parents[2]
CLOCK = "2026-11-25T08:00:00-06:00"


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@contextmanager
def served(data: Path, port: int, *more: str) -> Iterator[subprocess.Popen[str]]:
    """Run the server until the block ends."""
    server = subprocess.Popen(
        [sys.executable, "-m", "holdcold", "serve", "--data", str(data), "--port", str(port), *more],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={"PYTHONPATH": str(ROOT / "src"), "PATH": ""},
    )  # fmt: skip
    try:
        for _ in range(200):
            try:
                socket.create_connection(("127.0.0.1", port), timeout=1).close()
            except OSError:
                if server.poll() is not None:
                    raise AssertionError(server.communicate()) from None
                time.sleep(0.05)
            else:
                break
        yield server
    finally:
        if server.poll() is None:
            server.send_signal(signal.SIGINT)
        server.communicate(timeout=20)


def post(url: str, body: object, context: ssl.SSLContext | None = None) -> dict[str, Any]:
    """Send JSON and return the answer."""
    request = urllib.request.Request(
        f"{url}/api/sync", json.dumps(body).encode(), {"content-type": "application/json"}
    )
    with urllib.request.urlopen(request, timeout=20, context=context) as answer:
        found: dict[str, Any] = json.loads(answer.read())
    return found


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run a command that ends by itself."""
    return subprocess.run(
        [sys.executable, "-m", "holdcold", *arguments],
        capture_output=True, text=True, check=False, timeout=60,
        env={"PYTHONPATH": str(ROOT / "src"), "PATH": ""},
    )  # fmt: skip


def test_killed_between_two_syncs_it_goes_on(tmp_path: Path) -> None:
    ana = Device()
    wires = [ana.read("box_k", f"{n} F", n).wire() for n in range(4)]
    port = free_port()
    with served(tmp_path, port) as server:
        first = post(f"http://localhost:{port}", {"device": "a", "clock": CLOCK, "entries": wires[:2]})
        server.kill()
        server.wait(timeout=20)
    with served(tmp_path, port):
        request = {"device": "a", "clock": CLOCK, "entries": wires, "since": first["cursor"]}
        second = post(f"http://localhost:{port}", request)
    assert [item["outcome"] for item in second["taken"]] == ["known", "known", "kept", "kept"]
    assert not second["restart"]
    store = open_store(tmp_path)
    assert len(log_of_call(store, own_shop(store), CALL).everything) == 4
    assert verify(store).damage == ()
    store.close()


def test_a_backup_while_it_runs(tmp_path: Path) -> None:
    port = free_port()
    with served(tmp_path / "data", port):
        entry = Device().read("box_k", "38 F").wire()
        post(f"http://localhost:{port}", {"device": "a", "clock": CLOCK, "entries": [entry]})
        done = run("backup", str(tmp_path / "copy"), "--data", str(tmp_path / "data"), "--json")
        assert (done.returncode, json.loads(done.stdout)["counts"]["entries"]) == (0, 1), done.stderr
    assert run("verify", "--data", str(tmp_path / "copy")).returncode == 0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--host", "0.0.0.0"], "no login"), (["--host", "192.168.1.5"], "no login"),
        (["--host", "example.org"], "no login"), (["--port", "0"], "1 to 65535"),
        (["--tls-cert", "missing.pem"], "both files"),
        (["--tls-cert", "missing.pem", "--tls-key", "missing.pem"], "can be read"),
    ],
)  # fmt: skip
def test_what_cannot_be_served_is_said(tmp_path: Path, arguments: list[str], words: str) -> None:
    done = run("serve", "--data", str(tmp_path), *arguments)
    assert done.returncode == 2
    assert words in " ".join(done.stderr.split())


def test_a_port_that_is_taken_is_said(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        done = run("serve", "--data", str(tmp_path), "--port", str(other.getsockname()[1]))
    assert done.returncode == 2
    assert "a free port" in done.stderr


@pytest.mark.needs("openssl")
def test_over_tls(tmp_path: Path) -> None:
    cert, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost",
         "-addext", "subjectAltName=DNS:localhost", "-keyout", str(key), "-out", str(cert)],
        check=True, capture_output=True,
    )  # fmt: skip
    port = free_port()
    with served(tmp_path / "data", port, "--tls-cert", str(cert), "--tls-key", str(key)):
        context = ssl.create_default_context(cafile=str(cert))
        body = {"device": "a", "clock": CLOCK, "entries": [Device().read("box_k", "38 F").wire()]}
        answer = post(f"https://localhost:{port}", body, context)
        assert answer["taken"][0]["outcome"] == "kept"
        with pytest.raises(urllib.error.URLError):
            post(f"https://localhost:{port}", body, ssl.create_default_context())
    done = run("serve", "--data", str(tmp_path / "data"), "--tls-cert", str(cert), "--tls-key", str(cert))
    assert done.returncode == 2
    assert "a certificate and its key" in done.stderr
