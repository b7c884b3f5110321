"""``holdcold card sharpen``: a card learns from the readings of a machine proved good."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from holdcold import __version__
from holdcold.calls import CallLog, evidence, flags, read_call
from holdcold.cards import Card, Fact, Resolved, read_card, resolve
from holdcold.cards.sharpened import Visit
from holdcold.cards.sharpened_form import is_date
from holdcold.cards.sharpened_write import visit_as_written, with_section
from holdcold.cli.common import Commands, Desk, add_shared_options, desk, read_text_file
from holdcold.cli.facts import label, shown
from holdcold.cli.tables import table
from holdcold.cli.words import between, engine_data, heading_of, percent, settle_altitude, title
from holdcold.cli.words import shown as in_units
from holdcold.cycle import Conditions
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.normal import Band, Normal, model_version, normal
from holdcold.diagnosis.proved import proved_visit
from holdcold.diagnosis.sharpen import sharpen
from holdcold.errors import InputError, InputErrors
from holdcold.refrigerants import fluid

_WORTH_SAYING: Final = 0.05
_MOST_BANDS: Final = 8


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``sharpen`` to the commands of ``card``."""
    parser = commands.add_parser(
        "sharpen",
        help="let a card learn from the readings of a machine proved good",
        description="Takes a call whose machine was proved good (proved_good = true), says what its readings "
        "teach of the unit, and keeps that on the card. Without a call it works the card's own visits out "
        "again.",
    )
    parser.add_argument("card", metavar="CARD.toml", help="file of the unit's card")
    parser.add_argument("call", metavar="CALL.toml", nargs="?", help="file of the call; none: again")
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--out", metavar="FILE", help="file to write the card to, a new one")
    where.add_argument("--in-place", action="store_true", help="write the card over itself")
    parser.add_argument(
        "--date", metavar="DAY", help="day of the call when its file does not say (default: today)"
    )
    add_shared_options(parser)
    parser.set_defaults(run=run)


@dataclass(frozen=True, slots=True)
class Change:
    """A card before and after.

    was, now: the unit. before, after: what it should read in ``here``. written: file, or empty.
    """

    was: Resolved
    now: Resolved
    here: Conditions
    before: Normal
    after: Normal
    visit: Visit
    written: str


def run(args: argparse.Namespace) -> int:
    """Print what the readings taught, keep it on the card where asked to; return the exit code."""
    at = desk(args)
    text = read_text_file(args.card, "CARD.toml")
    card = read_card(text)
    was = resolve(card)
    settle_altitude(at, args, was)
    visits = () if card.sharpened is None else card.sharpened.visits
    if args.call is not None:
        visits = (*visits, _new_visit(at, args, was, visits))
    if not visits:
        raise InputError(
            "CALL.toml", "nothing", "a call proved good",
            "The card has no visits yet: give the file of a call.",
        )  # fmt: skip
    section = sharpen(card, visits, f"holdcold {__version__}", f"model_error {model_version()}")
    now = resolve(replace(card, sharpened=section))
    own = with_section(text, section, {fact.name: _words(at, fact, was) for fact in _taught(now)})
    change = _change(was, now, visits[-1], _save(args, card, own))
    return at.answer(_data(change), _text(at, change))


def _new_visit(at: Desk, args: argparse.Namespace, unit: Resolved, known: Iterable[Visit]) -> Visit:
    """Return the visit of the call that was given, or raise with every reason why it teaches nothing."""
    book = catalogue()
    call = read_call(
        read_text_file(args.call, "CALL.toml"), catalogue=book, ambient_pa=at.preference.ambient_pa
    )
    problems = _unproved(at, unit, call)
    day = call.date or args.date or datetime.now(UTC).astimezone().date().isoformat()
    if not is_date(day):
        problems.append(
            InputError("--date", day, "year-month-day, like 2026-11-25", "Give the day of the call.")
        )
    told = evidence(call, unit.design.supply_v)
    words = [reading.typed for reading in call.readings]
    try:
        name = call.name or Path(args.call).name
        visit = visit_as_written(proved_visit(unit, told, book, day, name, words))
    except InputErrors as several:
        raise InputErrors([*problems, *several.problems]) from None
    if problems:
        raise InputErrors(problems)
    if any((visit.readings, visit.ambient_k) == (old.readings, old.ambient_k) for old in known):
        raise InputError(
            "CALL.toml", args.call, "a call whose readings are not on the card yet",
            "These readings were counted before; the same again teaches nothing.",
        )  # fmt: skip
    return visit


def _unproved(at: Desk, unit: Resolved, call: CallLog) -> list[InputError]:
    """Return why the call itself is no proof: nobody says so, or readings that cannot be true."""
    problems = []
    if not call.conditions.proved_good:
        problems.append(
            InputError(
                "conditions.proved_good", "nothing", "proved_good = true under [conditions]",
                "Only a machine proved good teaches its card. Say so in the call, if it was and every "
                "reading was taken after the repair.",
            )
        )  # fmt: skip
    odd = flags(call, fluid(unit.design.refrigerant), unit.design.supply_v, at.preference)
    problems += [
        InputError(
            f"reading {', '.join(flag.places)}", flag.message, "readings that can be true", flag.advice
        )
        for flag in odd
        if flag.kind == "impossible"
    ]
    return problems


def _save(args: argparse.Namespace, card: Card, text: str) -> str:
    """Write the card where asked to and return the file's name; refuse a text that reads as another card."""
    if dict(read_card(text).typed) != dict(card.typed):
        raise InputError(
            "CARD.toml", args.card, "a card whose own lines stand outside the marks of the section",
            "Move them above the section, or delete the section by hand.",
        )  # fmt: skip
    path = args.card if args.in_place else args.out
    if path is None:
        return ""
    if not args.in_place and Path(path).exists():
        raise InputError("--out", path, "a file that is not there yet", "Choose another, or take --in-place.")
    try:
        Path(path).write_text(text, encoding="utf-8")
    except OSError as problem:
        raise InputError("--out", path, "a file that can be written", f"{problem.strerror}.") from None
    return str(path)


def _change(was: Resolved, now: Resolved, visit: Visit, written: str) -> Change:
    here = Conditions(visit.ambient_k, visit.box_k, visit.supply_ratio)
    return Change(was, now, here, normal(was, here), normal(now, here), visit, written)


def _taught(now: Resolved) -> list[Fact]:
    """Return the facts that readings have a say in."""
    return [fact for fact in now.facts if fact.origin == "sharpened"]


def _words(at: Desk, fact: Fact, was: Resolved) -> str:
    """Return what a fact is and was, for the comment on the card."""
    before = was.fact(fact.name)
    return f"{label(fact)}: {' '.join(shown(at, fact))}, was {' '.join(shown(at, before))}"


def _narrower(before: float, after: float) -> float:
    return 1.0 - after / before if before > 0.0 else 0.0


def _rows(change: Change) -> list[tuple[Fact, Fact, float]]:
    """Return (before, after, share of the spread gone) of each fact that moved, the most first."""
    pairs = [(change.was.fact(fact.name), fact) for fact in _taught(change.now)]
    rows = [(old, new, _narrower(old.spread_si, new.spread_si)) for old, new in pairs]
    return sorted(rows, key=lambda row: (-round(row[2], 9), row[1].name))


def _bands(change: Change) -> list[tuple[str, Band, Band, float]]:
    """Return (place, before, after, share of the band gone) of each reading, the most first."""
    pairs = [
        (place, change.before.readings[place], band)
        for place, band in change.after.readings.items()
        if place in change.before.readings
    ]
    rows = [(place, old, new, _narrower(old.high - old.low, new.high - new.low)) for place, old, new in pairs]
    return sorted(rows, key=lambda row: (-round(row[3], 9), row[0]))


def _data(change: Change) -> dict[str, Any]:
    """Return what the readings taught, for scripts: SI."""
    visits = change.now.card.sharpened.visits if change.now.card.sharpened else ()
    return {
        "card": change.now.card.text("name"),
        "call": change.visit.call,
        "date": change.visit.date,
        "visits": len(visits),
        "readings": len(change.visit.readings),
        "written": change.written or None,
        "facts": [
            {
                "name": new.name,
                "dimension": new.dimension,
                "before": {"value": old.value_si, "spread": old.spread_si},
                "after": {"value": new.value_si, "spread": new.spread_si},
                "narrowed": gone,
            }
            for old, new, gone in _rows(change)
        ],
        "bands": [
            {"place": place, "before": _band_data(old), "after": _band_data(new), "narrowed": gone}
            for place, old, new, gone in _bands(change)
        ],
        "conditions": {"ambient_k": change.here.ambient_k, "box_k": change.here.box_k},
        "engine": engine_data(catalogue()),
    }


def _band_data(band: Band) -> dict[str, float]:
    return {"value": band.value, "low": band.low, "high": band.high}


def _text(at: Desk, change: Change) -> str:
    """Return what the readings taught as a page."""
    visit = change.visit
    count = len(change.now.card.sharpened.visits) if change.now.card.sharpened else 0
    air, box = (in_units(at, value, "temperature") for value in (visit.ambient_k, visit.box_k))
    parts = [
        heading_of(change.now.card),
        f"{visit.call}, {visit.date}: {len(visit.readings)} readings of a machine proved good"
        + (f"; {count} visits on the card" if count > 1 else ""),
        "",
        "What they say of the unit (spread is one standard deviation)",
        _fact_table(at, change),
        "",
        f"What the unit should read with {air} air into the condenser, {box} in the box",
        _band_table(at, change),
        "",
    ]
    parts.append(
        f"Written: {change.written}"
        if change.written
        else "Nothing is written: add --in-place, or --out FILE, to keep this on the card."
    )
    return "\n".join(parts)


def _fact_table(at: Desk, change: Change) -> str:
    rows = [
        (label(new), *shown(at, old), *shown(at, new), percent(gone))
        for old, new, gone in _rows(change)
        if gone >= _WORTH_SAYING
    ]
    if not rows:
        return "Nothing new: no spread became narrower by a twentieth."
    return table(rows, ("fact", "was", "", "is", "", "narrower by"), right=(1, 3, 5))


def _band_table(at: Desk, change: Change) -> str:
    book = catalogue()
    known = [row for row in _bands(change) if row[0] in book.places and row[3] >= _WORTH_SAYING]
    if not known:
        return "No band became narrower by a twentieth."
    rows = []
    for place, old, new, gone in known[:_MOST_BANDS]:
        dimension = book.place(place).dimension
        ranges = (between(at, band.low, band.high, dimension) for band in (old, new))
        rows.append((title(book, place), *ranges, percent(gone)))
    return table(rows, ("reading and place", "9 of 10 were within", "now within", "narrower by"), right=(3,))
