"""``holdcold serve``: the server for one person, on this machine."""

from __future__ import annotations

import argparse
import sys

from holdcold.cli.common import EXIT_OK, Commands, add_shared_options, desk, write
from holdcold.cli.keeping import add_store_options, opened
from holdcold.errors import InputError

_PORTS = (1, 65535)


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``serve`` to the command line."""
    parser = commands.add_parser(
        "serve",
        help="run the server for one person, without login, reachable from this machine only",
        description="Keeps calls, cards and photos in the data folder and answers the app on this machine.",
    )
    parser.add_argument(
        "--host", default="127.0.0.1", help="loopback address to listen on (default: 127.0.0.1)"
    )
    parser.add_argument("--port", type=int, default=8765, help="port to listen on (default: 8765)")
    parser.add_argument("--tls-cert", metavar="FILE", default="", help="certificate, for https")
    parser.add_argument("--tls-key", metavar="FILE", default="", help="key of the certificate")
    add_store_options(parser)
    add_shared_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Serve until stopped from the keyboard; return the exit code."""
    at = desk(args)
    if not _PORTS[0] <= args.port <= _PORTS[1]:
        raise InputError("--port", args.port, f"{_PORTS[0]} to {_PORTS[1]}", "Name a free port.")
    with opened(args, make=True) as store:
        from holdcold.server import Listening, serve  # noqa: PLC0415 - an extra

        listening = Listening(args.host, args.port, args.tls_cert, args.tls_key)
        said = f"Holdcold listens on {listening.url}; stop it with Ctrl-C."
        serve(store, listening, lambda: None if at.as_json else write(said, sys.stderr))
    return EXIT_OK
