"""Serves the app's files on this machine only, for one person and for development."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Final
from urllib.parse import urlsplit

from holdcold.web.site import HEADERS, File, site

LOOPBACK: Final = "127.0.0.1"
"""The only address listened on: browsers count it as secure, and nobody else reaches it."""

_HOSTS: Final = ("127.0.0.1", "localhost")


class AppServer(ThreadingHTTPServer):
    """A server of fixed files; port: where to listen, 0 for any free one. files: by address."""

    daemon_threads = True

    def __init__(self, port: int, files: Mapping[str, File] | None = None) -> None:
        self.files = site() if files is None else files
        super().__init__((LOOPBACK, port), AppHandler)

    @property
    def address(self) -> str:
        """Where the app is, for a browser."""
        return f"http://{LOOPBACK}:{self.server_address[1]}/"


class AppHandler(BaseHTTPRequestHandler):
    """Answers GET and HEAD with the app's files, and everything else with an error."""

    server: AppServer
    server_version = "holdcold"
    sys_version = ""

    def do_GET(self) -> None:
        """Send a file, or say that there is none."""
        self._send(with_body=True)

    def do_HEAD(self) -> None:
        """Send the headers of a file."""
        self._send(with_body=False)

    def _send(self, *, with_body: bool) -> None:
        host = (self.headers.get("Host") or "").rpartition(":")[0] or self.headers.get("Host")
        found = self.server.files.get(urlsplit(self.path).path) if host in _HOSTS else None
        body = found.content if found else b"Not here.\n"
        self.send_response(200 if found else 404)
        self.send_header("Content-Type", found.media_type if found else "text/plain; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", found.cache if found else "no-store")
        for name, value in HEADERS.items():
            self.send_header(name, value)
        self.end_headers()
        if with_body:
            with suppress(ConnectionError):  # a browser that changed its mind
                self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the name of the base class
        """Keep quiet; format, args: what would have been printed."""
