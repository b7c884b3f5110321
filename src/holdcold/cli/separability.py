"""``holdcold separability``: which faults of a unit can be told from each other, by which check, how well."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Final

from holdcold.cards import Resolved
from holdcold.cli.card import load
from holdcold.cli.common import Commands, Desk, add_shared_options, both, desk
from holdcold.cli.tables import table, wrapped
from holdcold.cli.words import (
    WIDTH,
    conditions_in_units,
    engine_data,
    heading_of,
    settle_altitude,
    short_title,
    shown,
)
from holdcold.diagnosis.catalogue import Catalogue, catalogue
from holdcold.diagnosis.separability import HEALTHY, LEAST_RIGHT, Matrix, separability

_LOOK_ALIKES: Final = 2
_LEGEND: Final = (
    "Under each fault the causes that look most like it, the permitted check that tells the two apart best "
    "(the cheapest of those about as good), and how often the better guess after it is right; 50 % is a coin."
)


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``separability`` to the command line."""
    parser = commands.add_parser(
        "separability",
        help="which faults of a unit can be told apart, by which check, and which cannot",
        description="For every two faults of a card's unit: the permitted check that tells them apart best, "
        "and how well. Faults that no check tells apart are listed; find shows those as one group.",
    )
    parser.add_argument("card", metavar="CARD.toml", help="file of the unit's card")
    parser.add_argument(
        "--ambient", metavar="AIR", help='air entering the condenser: "95 F" (default: the rating point)'
    )
    parser.add_argument("--box", metavar="AIR", help='air in the box: "38 F" (default: the set point)')
    add_shared_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what tells the faults of a unit apart; return the exit code."""
    at = desk(args)
    resolved, (ambient_k, box_k) = both(
        lambda: load(args.card),
        lambda: both(
            lambda: _air(at, args.ambient, "--ambient"),
            lambda: _air(at, args.box, "--box"),
        ),
    )
    settle_altitude(at, args, resolved)
    design = resolved.design
    here = conditions_in_units(
        at,
        design.rated_ambient_k if ambient_k is None else ambient_k,
        design.set_point_k if box_k is None else box_k,
    )
    book = catalogue()
    found = separability(resolved, here, book)
    data = {"card": resolved.card.text("name"), **found.as_data(), "engine": engine_data(book)}
    return at.answer(data, matrix_text(at, resolved, found, book))


def _air(at: Desk, typed: str | None, option: str) -> float | None:
    """Return an air temperature as typed [K], None when it was left out."""
    return None if typed is None else at.read(typed, "temperature", option)


def matrix_text(at: Desk, resolved: Resolved, found: Matrix, book: Catalogue) -> str:
    """Return the matrix as a page: each fault with its nearest look-alikes, then what none tells apart."""
    here = found.conditions
    air = [shown(at, value_k, "temperature") for value_k in (here.ambient_k, here.box_k)]
    counts = f"{len(found.faults) - 1} faults, {len(found.checks)} permitted checks"
    return "\n".join(
        [
            heading_of(resolved.card),
            f"{air[0]} air into the condenser, {air[1]} in the box; {counts}",
            "",
            wrapped(_LEGEND, WIDTH),
            "",
            *fault_lines(found, book),
            "",
            *group_lines(found, book),
        ]
    )


def matrix_rows(found: Matrix, book: Catalogue, count: int) -> Iterator[tuple[str, str, str, str]]:
    """Yield fault, look-alike, what tells them apart, and how often that is right, in words.

    found: the matrix. book: for titles. count: look-alikes of each fault, the hardest to tell first.
    """
    for fault in found.faults:
        for other, separation in found.look_alikes(fault)[:count]:
            apart = separation.right >= LEAST_RIGHT
            check = short_title(book, separation.check) if apart else "no permitted check"
            yield _name(book, fault), _name(book, other), check, f"{100.0 * separation.right:.0f} %"


def fault_lines(found: Matrix, book: Catalogue) -> Iterator[str]:
    """Yield every fault and under it the faults most like it."""
    every = list(matrix_rows(found, book, _LOOK_ALIKES))
    rows = [(right, other, check) for _, other, check, right in every]
    heading, line, *lines = table(rows, ("right", "looks like", "told apart by"), right=(0,)).split("\n")
    yield heading
    yield line
    before = ""
    for (fault, *_), text in zip(every, lines, strict=True):
        if fault != before:
            yield fault
        before = fault
        yield text


def _name(book: Catalogue, fault: str) -> str:
    return "Nothing wrong" if fault == HEALTHY else short_title(book, fault)


def group_lines(found: Matrix, book: Catalogue) -> Iterator[str]:
    """Yield the groups of faults that no permitted check tells apart, one a line."""
    groups, least = found.groups(), f"{100.0 * LEAST_RIGHT:.0f} times in 100"
    if not groups:
        yield f"Every two of these are told apart by some check at least {least}."
        return
    yield f"No permitted check tells these apart {least}:"
    for group in groups:
        yield wrapped("  " + "; ".join(_name(book, fault) for fault in group), WIDTH, "    ")
