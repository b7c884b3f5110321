"""The command line as its parser describes it, whoever builds the parser and wherever."""

from __future__ import annotations

import argparse
import contextlib
import importlib
from collections.abc import Iterator
from functools import cache
from typing import NoReturn

from house.tree import SOURCE

CLI_EXISTS = (SOURCE / "cli" / "main.py").is_file()


class _Caught(BaseException):
    """Carries the parser out of ``main`` at the moment it would read the arguments."""

    def __init__(self, parser: argparse.ArgumentParser) -> None:
        self.parser = parser


@cache
def root_parser() -> argparse.ArgumentParser:
    """Return the parser that the ``holdcold`` command uses."""
    main = importlib.import_module("holdcold.cli.main").main

    def catch(self: argparse.ArgumentParser, *_args: object, **_kwargs: object) -> NoReturn:
        raise _Caught(self)

    original = argparse.ArgumentParser.parse_known_args
    argparse.ArgumentParser.parse_known_args = catch  # type: ignore[method-assign, assignment]
    try:
        with contextlib.suppress(SystemExit):
            main(["--help"])
    except _Caught as caught:
        return caught.parser
    finally:
        argparse.ArgumentParser.parse_known_args = original  # type: ignore[method-assign]
    raise LookupError("holdcold.cli.main:main(argv) reads its arguments without argparse")


def commands(
    parser: argparse.ArgumentParser, prefix: str = "holdcold"
) -> Iterator[tuple[str, str, argparse.ArgumentParser]]:
    """Yield (full name, one-line help, parser) of each command; of a group, its commands."""
    for action in parser._actions:
        if not isinstance(action, argparse._SubParsersAction):
            continue
        helps = {choice.dest: choice.help or "" for choice in action._choices_actions}
        for name, inner in action.choices.items():
            nested = list(commands(inner, f"{prefix} {name}"))
            yield from nested or [(f"{prefix} {name}", helps.get(name, ""), inner)]


def silent_options(parser: argparse.ArgumentParser) -> list[str]:
    """Return the arguments of ``parser`` that its help says nothing about."""
    arguments = (action for action in parser._actions if not isinstance(action, argparse._SubParsersAction))
    return [(action.option_strings or [action.dest])[0] for action in arguments if not action.help]
