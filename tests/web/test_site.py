"""What is served: types, headers, this machine only, a release that changes with every byte."""

from __future__ import annotations

import http.client
import re
import threading
import tomllib
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import pytest

from holdcold.cli.main import main
from holdcold.errors import InputError
from holdcold.web import site as site_module
from holdcold.web.serve import AppServer
from holdcold.web.site import HEADERS, site
from house.tree import ROOT, SOURCE

WEB = SOURCE / "web"


@pytest.fixture(scope="module")
def server() -> Iterator[AppServer]:
    """Serve in a thread, for the headers."""
    with AppServer(0) as running:
        threading.Thread(target=running.serve_forever, daemon=True).start()
        yield running
        running.shutdown()


def get(server: AppServer, path: str, host: str = "127.0.0.1") -> tuple[int, dict[str, str], bytes]:
    """Return status, headers and content of one answer."""
    connection = http.client.HTTPConnection("127.0.0.1", server.server_address[1], timeout=10)
    connection.request("GET", path, headers={"Host": f"{host}:{server.server_address[1]}"})
    reply = connection.getresponse()
    return reply.status, dict(reply.getheaders()), reply.read()


@pytest.mark.parametrize(
    ("path", "media_type"),
    [("/", "text/html; charset=utf-8"), ("/js/main.js", "text/javascript; charset=utf-8"),
     ("/vendor/pyodide/pyodide.mjs", "text/javascript; charset=utf-8"),
     ("/vendor/pyodide/pyodide.asm.wasm", "application/wasm"),
     ("/manifest.webmanifest", "application/manifest+json"), ("/messages/es.json", "application/json")],
)  # fmt: skip
def test_types_and_headers(server: AppServer, path: str, media_type: str) -> None:
    status, headers, content = get(server, f"{path}?x=1")
    assert status == 200
    assert headers["Content-Type"] == media_type
    assert HEADERS.items() <= headers.items()
    assert int(headers["Content-Length"]) == len(content) > 0


def test_only_this_machine(server: AppServer) -> None:
    assert server.server_address[0] == "127.0.0.1"
    assert get(server, "/", host="elsewhere.example")[0] == 404
    assert get(server, "/", host="localhost")[0] == 200


@pytest.mark.parametrize("path", ["/nothing", "/../pyproject.toml", "/js/", "//etc/hosts"])
def test_what_is_not_there(server: AppServer, path: str) -> None:
    assert get(server, path)[0] == 404


def test_no_inline_script_and_nothing_from_elsewhere() -> None:
    assert "unsafe-inline" not in HEADERS["Content-Security-Policy"]
    assert "'unsafe-eval'" not in HEADERS["Content-Security-Policy"]
    for path in (WEB / "static").rglob("*"):
        if path.is_file():
            addresses = re.findall(r"https?://[\w.]+", path.read_text(encoding="utf-8"))
            assert set(addresses) <= {"http://www.w3.org"}, path.name  # the name of the SVG language


def test_every_file_of_the_release_is_listed() -> None:
    files = site()
    listed = re.search(r"FILES = (\[.*\]);", files["/sw.js"].content.decode())
    assert listed is not None
    assert set(re.findall(r'"([^"]+)"', listed[1])) == set(files) - {"/sw.js"}
    archive = re.search(r'ARCHIVE = "([^"]+)"', files["/js/release.js"].content.decode())
    assert archive is not None
    assert archive[1] in files


def test_the_release_changes_with_any_byte() -> None:
    files = {"/a": b"1", "/b": b"2"}
    names = {site_module._digest(files, "w"), site_module._digest({**files, "/b": b"3"}, "w"),
             site_module._digest(files, "v"), site_module._digest({"/a": b"1", "/c": b"2"}, "w")}  # fmt: skip
    assert len(names) == 4


def test_missing_parts_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(site_module, "_VENDORED", ("pyodide/none.mjs",))
    with pytest.raises(InputError, match="scripts/vendor-web"):
        site()


@pytest.mark.parametrize("port", ["x", "-1", "70000"])
def test_a_port_that_is_none(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["app", "--port", port]) == 2
    assert "--port" in capsys.readouterr().err


def test_a_port_that_is_taken(server: AppServer, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["app", "--port", str(server.server_address[1])]) == 2
    assert "--port 0" in capsys.readouterr().err


def test_vendored_files_are_the_pinned_ones() -> None:
    packages = tomllib.loads((WEB / "vendor.toml").read_text(encoding="utf-8"))["package"]
    listed = (WEB / "THIRD-PARTY.md").read_text(encoding="utf-8")
    for one in packages:
        folder = (ROOT / "tests" / "web" if one.get("tests_only") else WEB) / "vendor" / one["to"]
        for name, digest in one["files"].items():
            assert sha256((folder / Path(name).name).read_bytes()).hexdigest() == digest, name
        assert f"| {one['version']} |" in listed, one["name"]
