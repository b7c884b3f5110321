"""What every command shares: options, units, reading what was typed, printing, and telling what is wrong."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, NoReturn, TextIO, TypeVar

from holdcold.cli.tables import printable, wrapped
from holdcold.errors import InputError, InputErrors
from holdcold.quantities import SI, US, Parsed, UnitPreference, ambient_pa_at, parse_noted, parse_one_of

A = TypeVar("A")
B = TypeVar("B")

EXIT_OK: Final = 0
"""The command did what was asked."""

EXIT_BAD_INPUT: Final = 2
"""Something that was given cannot be used; every problem found is listed."""

EXIT_NO_ANSWER: Final = 3
"""The input is in order, but the answer cannot be computed."""

EXIT_DAMAGED: Final = 4
"""What is kept on disk cannot be opened, or is not what it was."""

EXIT_INTERRUPTED: Final = 130
"""Stopped from the keyboard."""


class Parser(argparse.ArgumentParser):
    """An argument parser that raises what is wrong instead of ending the program."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - passed on to argparse as given
        super().__init__(*args, **{"allow_abbrev": False, **kwargs})

    def error(self, message: str) -> NoReturn:
        """Raise ``InputError`` with argparse's message and the form the command has."""
        usage = " ".join(self.format_usage().removeprefix("usage: ").split())
        raise InputError("command line", message, usage, f"{self.prog} --help tells more.")


Commands = argparse._SubParsersAction
"""What a command module's ``register`` adds its commands to."""


def add_shared_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that every command has: ``--json``, ``--units`` and ``--altitude``."""
    shared = parser.add_argument_group("shared options")
    shared.add_argument("--json", action="store_true", help="print JSON in SI units, for scripts")
    shared.add_argument(
        "--units", choices=("us", "si"), default="us", help="units to show: us (default) or si"
    )
    shared.add_argument(
        "--altitude",
        metavar="HEIGHT",
        default="0 ft",
        help='height of the place above sea level, for gauge pressures: "5000 ft" (default: sea level)',
    )


@dataclass
class Desk:
    """Reads what was typed and prints the answer, in one person's units.

    as_json: print JSON in SI instead of text.
    preference: the units to show, with the air pressure that gauges count from.
    notes: remarks on doubtful wording met so far, in order.
    """

    as_json: bool
    preference: UnitPreference
    notes: list[str] = field(default_factory=list)

    def read(self, text: str, dimension: str, field: str, default_unit: str | None = None) -> float:
        """Return the SI value of ``text``; note doubtful wording. Raises ``InputError``."""
        ambient_pa = self.preference.ambient_pa
        return self._noted(
            field,
            parse_noted(text, dimension, field=field, default_unit=default_unit, ambient_pa=ambient_pa),
        )

    def read_one_of(self, text: str, dimensions: Sequence[str], field: str) -> tuple[str, float]:
        """Return which of ``dimensions`` was typed and its SI value; like ``read`` in all else."""
        name, parsed = parse_one_of(text, dimensions, field=field, ambient_pa=self.preference.ambient_pa)
        return name, self._noted(field, parsed)

    def _noted(self, field: str, parsed: Parsed) -> float:
        """Keep the notes of a reading and return its value."""
        self.notes += [f"{field}: {note}" for note in parsed.notes]
        return parsed.value_si

    def answer(self, data: Mapping[str, object], text: str) -> int:
        """Print the answer (``data`` with the notes as JSON, or ``text`` with the notes below it)."""
        if self.as_json:
            write_json({**data, "notes": self.notes})
        else:
            write("\n".join([text, *(f"Note: {note}." for note in self.notes)]))
        return EXIT_OK


def desk(args: argparse.Namespace) -> Desk:
    """Return the desk for a command's shared options; raise ``InputError`` for a height that is none."""
    sea_level = SI if args.units == "si" else US
    made = Desk(as_json=args.json, preference=sea_level)
    altitude_m = made.read(args.altitude, "length", "--altitude")
    made.preference = sea_level.at(ambient_pa_at(altitude_m, field="--altitude"))
    return made


def both(first: Callable[[], A], second: Callable[[], B]) -> tuple[A, B]:
    """Return what two functions that read input return; their problems are reported together.

    first, second: called without arguments; both are called, whatever the first one raises.
    Raises: ``InputErrors`` with the problems of both.
    """
    problems: list[InputError] = []
    one, other = _attempt(first, problems), _attempt(second, problems)
    if problems:
        raise InputErrors(problems)
    return one[0], other[0]


def _attempt(call: Callable[[], A], problems: list[InputError]) -> list[A]:
    """Return the result in a list, or an empty list with what was wrong added to ``problems``."""
    try:
        return [call()]
    except InputError as problem:
        problems.append(problem)
    except InputErrors as several:
        problems.extend(several.problems)
    return []


def write(text: str, stream: TextIO | None = None) -> None:
    """Print ``text`` in characters the stream can show (standard output unless another is given)."""
    target = sys.stdout if stream is None else stream
    print(printable(text, target.encoding), file=target)


def write_json(data: object, *, one_line: bool = False) -> None:
    """Print ``data`` as JSON in ASCII; NaN and infinity have no JSON form and raise ``ValueError``."""
    write(json.dumps(data, indent=None if one_line else 2, allow_nan=False))


def tell_problems(problems: Sequence[InputError], *, as_json: bool) -> None:
    """Print every problem: as text on standard error, or with ``--json`` as JSON on standard output."""
    if as_json:
        write_json({"error": [problem_data(problem) for problem in problems]})
        return
    for problem in problems:
        write("\n".join(_problem_lines(problem)), sys.stderr)


def problem_data(problem: InputError) -> dict[str, str]:
    """Return a problem as the four texts that scripts get."""
    return {
        "field": problem.field,
        "value": str(problem.value),
        "allowed": problem.allowed,
        "advice": problem.advice,
    }


def _problem_lines(problem: InputError) -> list[str]:
    """Return a problem as lines for a person."""
    rows = (("got", str(problem.value)), ("allowed", problem.allowed), ("do", problem.advice))
    return [
        f"{problem.field}:",
        *(wrapped(f"  {label:<8} {text}", indent=" " * 11) for label, text in rows if text),
    ]


def read_text_file(path: str, field: str) -> str:
    """Return the content of a UTF-8 text file; raise ``InputError`` naming ``field`` if it cannot be read."""
    try:
        return Path(path).read_text(encoding="utf-8-sig")
    except OSError as problem:
        raise InputError(field, path, "a file that can be read", f"{problem.strerror or problem}.") from None
    except UnicodeDecodeError:
        raise InputError(field, path, "text in UTF-8", "Save the file as UTF-8 text.") from None
