"""``holdcold card``: describe a unit, see what follows from it, and let it learn from good readings."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Final

from holdcold.answers.interview import interview
from holdcold.cards import Card, Fact, Resolved, read_card, resolve
from holdcold.cards.fields import CARD_FIELDS, SECTIONS
from holdcold.cards.sharpened import SharpFact
from holdcold.cards.write import write_form
from holdcold.cli import sharpening
from holdcold.cli.common import Commands, Desk, add_shared_options, desk, problem_data, read_text_file, write
from holdcold.cli.facts import label, shown
from holdcold.cli.tables import table, wrapped
from holdcold.cycle import build
from holdcold.errors import InputError
from holdcold.quantities import format_quantity

__all__ = ["label", "load", "register", "run_check", "run_new", "shown"]

_SOURCE_WIDTH: Final = 56
_MOST_ASSUMED: Final = 8
_KEPT: Final = ("product", "doors", "defrost")


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``card`` with its commands to the command line."""
    card = commands.add_parser(
        "card", help="describe a unit, or see what follows from a description", description="Cards of units."
    )
    inner = card.add_subparsers(title="commands", metavar="COMMAND", required=True)
    new = inner.add_parser(
        "new",
        help="ask five questions and write a card",
        description="Asks the five facts a card needs, writes it and says what was assumed.",
    )
    new.add_argument(
        "--out",
        metavar="FILE",
        help="file to write (default: my-unit.toml, or the next free number); - prints it",
    )
    new.add_argument("--force", action="store_true", help="write over a file that is there")
    add_shared_options(new)
    new.set_defaults(run=run_new)
    check = inner.add_parser(
        "check",
        help="what a card gives, what is assumed, and what cannot be",
        description="Reads a card and shows every number behind it with its spread and source.",
    )
    check.add_argument("card", metavar="CARD.toml", help="file of the card")
    add_shared_options(check)
    check.set_defaults(run=run_check)
    sharpening.register(inner)


def run_check(args: argparse.Namespace) -> int:
    """Print given and assumed facts, and what is odd about a card; return the exit code."""
    at = desk(args)
    resolved = load(args.card)
    build(resolved.design)
    at.preference = at.preference.at(resolved.card.ambient_pa)
    return at.answer(_check_data(resolved), _check_text(at, resolved))


def load(path: str) -> Resolved:
    """Return the resolved card in a file; raise ``InputError`` or ``InputErrors`` with all that is wrong."""
    return resolve(read_card(read_text_file(path, "CARD.toml")))


def run_new(args: argparse.Namespace) -> int:
    """Ask, write a card and say what follows; return the exit code."""
    at = desk(args)
    out = _target(args.out, force=args.force)
    typed = interview(_ask, _tell)
    text = write_form(typed, CARD_FIELDS, SECTIONS)
    resolved = resolve(read_card(text))
    build(resolved.design)
    if out is not None:
        _save(out, text)
    return at.answer(
        {"card": str(out or "-"), "toml": text, **_check_data(resolved)},
        _new_text(at, resolved, out, text),
    )


def _target(out: str | None, *, force: bool) -> Path | None:
    """Return the file to write, None for standard output; raise ``InputError`` when it is there already."""
    if out == "-":
        return None
    if out is None:
        return next(path for path in _free_names() if not path.exists())
    path = Path(out)
    if path.exists() and not force:
        raise InputError("--out", out, "a file that is not there yet", "Choose another name, or add --force.")
    return path


def _free_names() -> Iterable[Path]:
    yield Path("my-unit.toml")
    number = 2
    while True:
        yield Path(f"my-unit-{number}.toml")
        number += 1


def _save(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as problem:
        raise InputError("--out", str(path), "a file that can be written", f"{problem.strerror}.") from None


def _ask(prompt: str) -> str:
    """Show a prompt on standard error and return the next line of standard input."""
    sys.stderr.write(prompt)
    sys.stderr.flush()
    line = sys.stdin.readline()
    if not line:
        raise InputError(
            "card new", "end of input", "an answer to every question", "Run it again and answer all five."
        )
    if not sys.stdin.isatty():
        sys.stderr.write(line)
    return line


def _tell(problem: InputError) -> None:
    data = problem_data(problem)
    text = f"  {data['advice']} (got {data['value']}; allowed: {data['allowed']})"
    write(wrapped(text, indent="  "), sys.stderr)


def _fact_data(fact: Fact) -> dict[str, object]:
    return {
        "name": fact.name,
        "value": fact.value_si,
        "dimension": fact.dimension,
        "spread": fact.spread_si,
        "source": fact.source,
        "hint": fact.hint,
        "uncertain": fact.uncertain,
    }


def _sharp_facts(resolved: Resolved) -> tuple[SharpFact, ...]:
    """Return the facts that proved-good readings taught, none while the section is set aside."""
    return () if resolved.sharpened is None else resolved.sharpened.facts


def _sharp_data(fact: SharpFact) -> dict[str, object]:
    return {
        "name": fact.name,
        "value": fact.value_si,
        "spread": fact.spread_si,
        "before": {"value": fact.before_si, "spread": fact.before_spread_si},
        "date": fact.date,
        "call": fact.call,
    }


def _check_data(resolved: Resolved) -> dict[str, object]:
    """Return a card's facts for scripts: SI, names with their unit."""
    return {
        "given": [_fact_data(fact) for fact in resolved.facts if fact.origin == "given"],
        "assumed": [_fact_data(fact) for fact in resolved.facts if fact.origin == "assumed"],
        "sharpened": [_sharp_data(fact) for fact in _sharp_facts(resolved)],
        "choices": {
            "expansion": resolved.choices.expansion,
            "compressor": resolved.choices.compressor_kind,
            "head_control": resolved.choices.head_control,
            "location": resolved.choices.location,
            "receiver": resolved.choices.receiver,
        },
        "assumed_choices": dict(resolved.choices.assumed),
        "cautions": list(resolved.cautions),
    }


def _fact_table(at: Desk, facts: Iterable[Fact]) -> str:
    rows = [(label(fact), *shown(at, fact), fact.source) for fact in facts]
    return table(_folded(rows), ("fact", "value", "spread", "source"), right=(1,))


def _sharp_table(at: Desk, resolved: Resolved) -> str:
    """Return the sharpened facts beside what they were, and the visits behind them."""
    rows = []
    for fact in _sharp_facts(resolved):
        now = resolved.fact(fact.name)
        before = replace(now, value_si=fact.before_si, spread_si=fact.before_spread_si)
        rows.append((label(now), *shown(at, now), *shown(at, before)))
    source = "" if resolved.sharpened is None else resolved.sharpened.source()
    facts = table(rows, ("fact", "value", "spread", "without", ""), right=(1, 3))
    return f"{facts}\nFrom {source}; delete the section [sharpened] to go back."


def _folded(rows: Iterable[tuple[str, ...]]) -> list[list[str]]:
    """Return rows whose last cell goes on in further rows where it is long."""
    folded = []
    for row in rows:
        first, *further = wrapped(row[-1], _SOURCE_WIDTH).splitlines() or [""]
        folded.append([*row[:-1], first])
        folded.extend([*[""] * (len(row) - 1), line] for line in further)
    return folded


def _title(card: Card) -> str:
    kind = card.text("kind").replace("_", "-")
    name = card.text("name") or "Unit"
    return f"{name}: {kind} {card.text('application')}, {card.text('refrigerant')}"


def _check_text(at: Desk, resolved: Resolved) -> str:
    given = [fact for fact in resolved.facts if fact.origin == "given"]
    assumed = [fact for fact in resolved.facts if fact.origin == "assumed"]
    choices = [(path, reason) for path, reason in resolved.choices.assumed.items()]
    parts = [
        _title(resolved.card),
        "\nGiven\n" + _fact_table(at, given),
        "\nAssumed (spread is one standard deviation)\n" + _fact_table(at, assumed),
    ]
    if resolved.sharpened is not None:
        parts.append("\nSharpened by readings of the machine proved good\n" + _sharp_table(at, resolved))
    if choices:
        parts.append("\nAssumed kinds\n" + table(choices, ("field", "taken as")))
    kept = [name for name in _KEPT if any(path.startswith(f"{name}.") for path in resolved.card.values)]
    if kept:
        parts.append(f"\nKept, without effect on these numbers: {', '.join(kept)}.")
    parts.extend("\n" + wrapped(f"Caution: {caution}", indent="  ") for caution in resolved.cautions)
    parts.append("\nNothing on this card contradicts itself.")
    return "\n".join(parts)


def _new_text(at: Desk, resolved: Resolved, out: Path | None, text: str) -> str:
    """Return what a newcomer should see: the card's place, what was assumed, what next."""
    assumed = [fact for fact in resolved.uncertain() if fact.origin == "assumed"]
    shortened = sorted(assumed, key=_share, reverse=True)[:_MOST_ASSUMED]
    rows = [(label(fact), *shown(at, fact), fact.hint) for fact in shortened]
    name = str(out or "CARD.toml")
    box, ambient = (
        format_quantity(value_k, "temperature", at.preference, 0)
        for value_k in (resolved.design.set_point_k, resolved.design.rated_ambient_k)
    )
    return "\n".join(
        [
            f"\nWritten: {out}" if out is not None else f"\n{text}",
            "",
            "Assumed because nobody said, widest first (holdcold card check shows all, with sources):",
            table(_folded(rows), ("what", "value", "spread", "to sharpen it"), right=(1,)),
            "",
            "Next:",
            f"  holdcold normal {name} --ambient {_word(ambient)} --box {_word(box)}",
            f"  holdcold card check {name}",
            "Anything you read off a plate goes into the file; docs/card.md lists every line it can hold.",
        ]
    )


def _word(quantity: str) -> str:
    """Return a quantity as one word of a command line."""
    return quantity.replace(" ", "").replace("°", "")


def _share(fact: Fact) -> float:
    """Return how wide a fact is against what is usual for its kind, for ordering only."""
    if fact.dimension == "temperature":
        return fact.spread_si / 15.0
    return fact.spread_si / max(abs(fact.value_si), 1e-12)
