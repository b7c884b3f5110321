"""The ``holdcold`` command: finds the command that was typed, runs it, and turns errors into exit codes."""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Sequence
from typing import Final

from holdcold import __version__
from holdcold.cli import (
    app,
    card,
    catalogues,
    demo,
    find,
    keeping,
    normal,
    priors,
    properties,
    separability,
    serve,
)
from holdcold.cli.common import (
    EXIT_BAD_INPUT,
    EXIT_DAMAGED,
    EXIT_INTERRUPTED,
    EXIT_NO_ANSWER,
    EXIT_OK,
    Parser,
    tell_problems,
    write,
    write_json,
)
from holdcold.errors import InputError, InputErrors, SolverError, StoreError

MODULES: Final = (
    demo, normal, find, separability, card, priors, properties, catalogues, app, serve, keeping,
)  # fmt: skip
"""The modules that bring commands, in the order that help lists them; each has ``register(commands)``."""

_NEGATIVE: Final = re.compile(r"-(?=[.,]?\d)")
_MINUS: Final = "\N{MINUS SIGN}"


def build_parser() -> Parser:
    """Return the parser of the whole command line."""
    parser = Parser(
        prog="holdcold",
        description="What a commercial-refrigeration unit should read now, and what its readings say.",
        epilog="holdcold COMMAND --help tells about one command. "
        "Exit codes: 0 done, 2 something given cannot be used, 3 the answer cannot be computed, "
        "4 what is kept is damaged or cannot be opened.",
    )
    parser.add_argument("--version", action="version", version=f"holdcold {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for module in MODULES:
        module.register(commands)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    argv: what was typed after ``holdcold``; None takes it from the system.
    """
    typed = list(sys.argv[1:] if argv is None else argv) or ["--help"]
    as_json = "--json" in typed
    try:
        args = parse_arguments(build_parser(), typed)
        code = int(args.run(args))
        sys.stdout.flush()
    except InputError as problem:
        tell_problems([problem], as_json=as_json)
        return EXIT_BAD_INPUT
    except InputErrors as problems:
        tell_problems(problems.problems, as_json=as_json)
        return EXIT_BAD_INPUT
    except SolverError as problem:
        _tell_no_answer(problem, as_json=as_json)
        return EXIT_NO_ANSWER
    except StoreError as problem:
        tell_problems([InputError("store", "", "", str(problem))], as_json=as_json)
        return EXIT_DAMAGED
    except BrokenPipeError:
        return _leave_broken_pipe()
    except KeyboardInterrupt:
        return EXIT_INTERRUPTED
    return code


def parse_arguments(parser: argparse.ArgumentParser, typed: Sequence[str]) -> argparse.Namespace:
    """Return the parsed arguments, with negative quantities such as ``-10F`` taken as values.

    argparse reads every word that starts with a dash, plain numbers aside, as an option. Such words
    go through it with a true minus sign and come back as they were typed.
    """
    args = parser.parse_args(
        [_NEGATIVE.sub(_MINUS, word, count=1) if _NEGATIVE.match(word) else word for word in typed]
    )
    for name, value in vars(args).items():
        if isinstance(value, str):
            setattr(args, name, _as_typed(value))
        elif isinstance(value, list):
            setattr(args, name, [_as_typed(word) if isinstance(word, str) else word for word in value])
    return args


def _as_typed(word: str) -> str:
    """Return a word with its leading minus sign as the dash it was."""
    return "-" + word[1:] if word.startswith(_MINUS) else word


def _tell_no_answer(problem: SolverError, *, as_json: bool) -> None:
    """Say that the answer cannot be computed."""
    if as_json:
        write_json(
            {"error": [{"field": "", "value": "", "allowed": "", "advice": f"Cannot be computed: {problem}"}]}
        )
    else:
        write(f"Cannot be computed: {problem}", sys.stderr)


def _leave_broken_pipe() -> int:
    """Return quietly when the reader of our output has gone (``| head``), so that no traceback follows."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return EXIT_OK
