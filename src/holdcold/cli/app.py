"""``holdcold app``: the app on this machine, for a browser here; nobody else can reach it."""

from __future__ import annotations

import argparse

from holdcold.cli.common import EXIT_OK, Commands, add_shared_options, desk
from holdcold.errors import InputError
from holdcold.web.serve import AppServer

_PORTS = range(65536)


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``app`` to the command line."""
    parser = commands.add_parser(
        "app",
        help="the app in a browser on this machine; it goes on working without it",
        description="Serves the app on this machine only. Once it has loaded, it needs neither this command "
        "nor a network.",
    )
    parser.add_argument(
        "--port", metavar="NUMBER", default="8766", help="port to listen on (default 8766; 0: any free one)"
    )
    add_shared_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Serve until it is stopped from the keyboard; return the exit code."""
    at = desk(args)
    if not args.port.isdigit() or int(args.port) not in _PORTS:
        raise InputError("--port", args.port, "0 to 65535", "Leave it out for 8766.")
    try:
        server = AppServer(int(args.port))
    except OSError as problem:
        advice = f"{problem.strerror}. Another port may be free: --port 0."
        raise InputError("--port", args.port, "a free port", advice) from None
    with server:
        at.answer({"address": server.address}, f"The app is at {server.address}  (Ctrl+C ends it)")
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            return EXIT_OK
    return EXIT_OK
