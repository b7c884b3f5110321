"""``holdcold find``: from a card and a call to suspects, the next check, and whether it is enough to act."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final

from holdcold.answers.finding import Answer as Answer
from holdcold.answers.finding import finding_data, found
from holdcold.calls import CallLog, read_call, read_call_document
from holdcold.cards import Resolved
from holdcold.cli.card import load
from holdcold.cli.common import (
    EXIT_BAD_INPUT,
    EXIT_OK,
    Commands,
    Desk,
    add_shared_options,
    both,
    desk,
    problem_data,
    read_text_file,
    write_json,
)
from holdcold.cli.find_text import Page
from holdcold.cli.priors import counts_for, priors_data
from holdcold.cli.words import (
    computing,
    heading_of,
    paragraph,
    settle_altitude,
    shown,
)
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.learn import Counts
from holdcold.errors import InputError, InputErrors, SolverError

_STDIN: Final = "-"


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``find`` to the command line."""
    parser = commands.add_parser(
        "find",
        help="what a call says: suspects, the next check, and whether it is enough to act",
        description="Compares what was read and seen on a call with what the unit of a card should do, and "
        "says what may be wrong, why, what to look at next, and whether it is enough to act.",
    )
    parser.add_argument("card", metavar="CARD.toml", help="file of the unit's card")
    parser.add_argument("call", metavar="CALL.toml", nargs="?", help="file of the call (- is standard input)")
    parser.add_argument(
        "--batch",
        metavar="CALLS.jsonl",
        help="many calls on this unit: one JSON object a line in (- is standard input), one JSON line out",
    )
    parser.add_argument(
        "--numbers", action="store_true", help="show chances, severities, weights of reasons as numbers too"
    )
    parser.add_argument(
        "--priors", metavar="FILE", help="counts of closed calls (holdcold priors learn), to weigh causes by"
    )
    add_shared_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what one call, or each call of a batch, says; return the exit code."""
    at = desk(args)
    if (args.call is None) == (args.batch is None):
        raise InputError(
            "command line",
            "no call" if args.call is None else "a call and a batch",
            "holdcold find CARD.toml CALL.toml, or holdcold find CARD.toml --batch CALLS.jsonl",
            "Give the file of one call, or the file of many.",
        )
    if args.batch is not None:
        return run_batch(at, args)
    resolved, call = _card_and_call(at, args)
    answered = answer_call(at, resolved, call, counts_for(at, args.priors, resolved))
    _compare_card_names(at, args, call)
    return at.answer(answered.data, page_of(at, resolved, answered, numbers=args.numbers))


def _card_and_call(at: Desk, args: argparse.Namespace) -> tuple[Resolved, CallLog]:
    """Return card and call; the problems of both files together.

    A call counts its gauge pressures from the air of the card's altitude; where the card cannot be
    read, sea level serves to find the call's own problems.
    """

    def read_card_file() -> Resolved:
        resolved = load(args.card)
        settle_altitude(at, args, resolved)
        return resolved

    def read_call_file() -> CallLog:
        text = sys.stdin.read() if args.call == _STDIN else read_text_file(args.call, "CALL.toml")
        return read_call(text, catalogue=catalogue(), ambient_pa=at.preference.ambient_pa)

    return both(read_card_file, read_call_file)


def _compare_card_names(at: Desk, args: argparse.Namespace, call: CallLog) -> None:
    """Note a call that names another card than the one it is read with."""
    if call.card and Path(call.card).name != Path(args.card).name:
        at.notes.append(f"the call names another card, {call.card}")


def answer_call(at: Desk, resolved: Resolved, call: CallLog, counts: Counts | None = None) -> Answer:
    """Return what a call on a unit says.

    at: units. resolved, call: unit and call. counts: closed calls to learn the priors from.
    Raises ``InputError`` with the air temperatures in the person's units when nothing can be predicted
    there, ``SolverError`` when the machine leaves the refrigerant's data, and as ``find`` does.
    """
    with computing(at):
        finding = found(resolved, call, counts)
    data = finding_data(at.preference, resolved, call, finding)
    engine = data.pop("engine")
    return Answer(call, finding, {**data, "priors": priors_data(finding, counts), "engine": engine})


def page_of(at: Desk, resolved: Resolved, answered: Answer, *, numbers: bool) -> str:
    """Return an answer as a page for the technician.

    at: units. resolved: the unit. answered: the call. numbers: chances and severities as numbers too.
    """
    page = Page(at, answered.finding, answered.data, numbers=numbers)
    parts: list[str] = [heading_of(resolved.card), *filter(None, [answered.call.name])]
    parts.append(paragraph("", _conditions_line(at, answered), indent=0, label_width=0))
    parts += ["", page.headline()]
    for lines in (
        page.odd_lines("impossible", "unlikely", "unsteady"),
        page.out_of_place(),
        page.suspect_lines(),
        page.next_lines(),
        page.held_lines(),
        page.reading_lines(),
        page.odd_lines("missing"),
        (paragraph("Caution", text) for text in answered.data["cautions"]),
        _prior_lines(answered.data["priors"]),
    ):
        part = list(lines)
        if part:
            parts += ["", *part]
    return "\n".join(parts)


def _prior_lines(told: dict[str, Any]) -> Iterator[str]:
    """Yield which closed calls the chances rest on, nothing where they are the practice estimates."""
    if told["version"]:
        yield paragraph("Priors", f"with {told['calls']} closed calls (version {told['version']})")


def _conditions_line(at: Desk, answered: Answer) -> str:
    given, here = answered.call.conditions, answered.finding.case.normal.conditions
    situation = answered.finding.case.evidence.situation
    ambient, box = (shown(at, value_k, "temperature") for value_k in (here.ambient_k, here.box_k))
    guesses = [
        " (nobody measured it: the rating)" if situation.ambient_k is None else "",
        " (nobody measured it: the set point)" if situation.box_k is None else "",
    ]
    words = [f"{ambient} air into the condenser{guesses[0]}", f"{box} in the box{guesses[1]}"]
    if given.state != "unknown":
        lasted = "" if given.minutes_in_state is None else f" for {given.minutes_in_state:.0f} min"
        words.append(f"{given.state}{lasted}")
    return ", ".join(words)


def run_batch(at: Desk, args: argparse.Namespace) -> int:
    """Print one JSON line for each call of a file, in order; return 2 when any line could not be answered.

    at: units of messages. args: with card and batch. A line that cannot be used gives an object with
    ``error``; the lines after it are answered all the same.
    """
    resolved, lines = both(lambda: load(args.card), lambda: _lines(args.batch))
    settle_altitude(at, args, resolved)
    counts = counts_for(at, args.priors, resolved)
    failed = False
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        data = _answer_line(at, resolved, line, counts)
        failed = failed or "error" in data
        write_json({"line": number, **data}, one_line=True)
    return EXIT_BAD_INPUT if failed else EXIT_OK


def _lines(path: str) -> Iterable[str]:
    """Return the lines of a file, or (``-``) those of standard input as they come."""
    return sys.stdin if path == _STDIN else read_text_file(path, "--batch").splitlines()


def _answer_line(at: Desk, resolved: Resolved, line: str, counts: Counts | None) -> dict[str, Any]:
    """Return the answer to one line of a batch, or what is wrong with it."""
    try:
        document = json_call(line)
        call = read_call_document(document, catalogue=catalogue(), ambient_pa=at.preference.ambient_pa)
        return answer_call(at, resolved, call, counts).data
    except InputError as problem:
        return {"error": [problem_data(problem)]}
    except InputErrors as several:
        return {"error": [problem_data(problem) for problem in several.problems]}
    except SolverError as problem:
        return {"error": [problem_data(InputError("", "", "", f"Cannot be computed: {problem}"))]}


def json_call(line: str) -> dict[str, object]:
    """Return one line of a batch as a document with the keys of a call file, or raise ``InputError``."""
    try:
        document = json.loads(line, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as problem:
        raise InputError("line", line.strip()[:60], "one JSON object", f"Not JSON: {problem}.") from None
    if not isinstance(document, dict):
        advice = "Write { ... } with the keys of a call file."
        raise InputError("line", line.strip()[:60], "one JSON object", advice)
    return document


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")
