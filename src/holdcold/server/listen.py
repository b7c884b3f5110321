"""Listening on a loopback address, with or without TLS."""

from __future__ import annotations

import ipaddress
import socket
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from holdcold.errors import InputError
from holdcold.server.app import make_app
from holdcold.store import Store, drop_leftovers, own_shop


@dataclass(frozen=True, slots=True)
class Listening:
    """Where to listen.

    host: a loopback address, or localhost. port: 1 to 65535. tls_cert, tls_key: files, both or neither.
    """

    host: str
    port: int
    tls_cert: str = ""
    tls_key: str = ""

    @property
    def url(self) -> str:
        """The address to open."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{'https' if self.tls_cert else 'http'}://{host}:{self.port}"


def serve(store: Store, listening: Listening, ready: Callable[[], None]) -> None:
    """Answer requests until stopped; ready: called once nothing can go wrong with the address any more.

    Raises InputError for an address that others could reach (there is no login yet), a port that is taken,
    or a certificate that cannot be used.
    """
    _check(listening)
    drop_leftovers(store)
    app = make_app(store, own_shop(store))
    config = uvicorn.Config(
        app,
        log_level="warning",
        server_header=False,
        ssl_certfile=listening.tls_cert or None,
        ssl_keyfile=listening.tls_key or None,
    )
    with _bound(listening) as bound:
        try:
            config.load()
        except (OSError, ssl.SSLError) as problem:
            advice = f"Cannot be used: {problem}."
            raise InputError("--tls-cert", listening.tls_cert, "a certificate and its key", advice) from None
        ready()
        uvicorn.Server(config).run(sockets=[bound])


def _check(listening: Listening) -> None:
    if not is_loopback(listening.host):
        raise InputError(
            "--host", listening.host, "localhost, 127.0.0.1 or ::1",
            "There is no login yet, so the server answers this machine only.",
        )  # fmt: skip
    if bool(listening.tls_cert) != bool(listening.tls_key):
        given = listening.tls_cert or listening.tls_key
        raise InputError("--tls-cert", given, "--tls-cert with --tls-key", "Give both files.")
    for option, file in (("--tls-cert", listening.tls_cert), ("--tls-key", listening.tls_key)):
        if file and not Path(file).is_file():
            raise InputError(option, file, "a file that can be read", "Check the name.")


def is_loopback(host: str) -> bool:
    """Say whether only this machine can reach a host address."""
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _bound(listening: Listening) -> socket.socket:
    family = socket.AF_INET6 if ":" in listening.host else socket.AF_INET
    bound = socket.socket(family, socket.SOCK_STREAM)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((listening.host, listening.port))
    except OSError as problem:
        bound.close()
        raise InputError("--port", listening.port, "a free port", f"{problem.strerror}.") from None
    return bound
