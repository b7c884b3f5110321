"""``holdcold faults``, ``checks``, ``places``, ``sightings``, ``instruments``: what is known, and whence."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from holdcold.cli.catalogue_data import (
    check_data,
    fault_data,
    instrument_data,
    place_data,
    sighting_data,
)
from holdcold.cli.common import Commands, Desk, add_shared_options, desk
from holdcold.cli.tables import table
from holdcold.diagnosis.catalogue import RISKS, WORKPLACES, Catalogue, catalogue
from holdcold.errors import UnknownNameError
from holdcold.quantities import format_quantity, instruments

_WIDTH: Final = 92
_LABEL: Final = 14
_DIFFERENCES: Final = {"Pa": "pressure_difference", "K": "temperature_difference", "fraction": "fraction"}

Data = Mapping[str, Any]
Details = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class _Kind:
    """One command: what it lists and how.

    name: of the command, and of the list in JSON. one: a single row, for messages. data: every row by id.
    headings, columns: of the table. details: label and text lines of one row. dated: data file, or empty.
    """

    name: str
    one: str
    help: str
    data: Callable[[Catalogue], dict[str, Data]]
    headings: tuple[str, ...]
    columns: Callable[[Desk, Data], Sequence[str]]
    details: Callable[[Desk, Data], Details]
    dated: str


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``faults``, ``checks``, ``places``, ``sightings`` and ``instruments`` to the command line."""
    for kind in _KINDS:
        parser = commands.add_parser(
            kind.name,
            help=kind.help,
            description=f"{kind.help[0].upper()}{kind.help[1:]}. With an id: all that is known of it.",
        )
        parser.add_argument("id", metavar="ID", nargs="?", help=f"show one {kind.one} in full")
        add_shared_options(parser)
        parser.set_defaults(run=lambda args, kind=kind: _run(kind, args))


def _run(kind: _Kind, args: argparse.Namespace) -> int:
    """Print the list, or one row in full; return the exit code."""
    at = desk(args)
    book = catalogue()
    rows = kind.data(book)
    head: dict[str, object] = {}
    if kind.dated:
        dated = book.files[kind.dated]
        head = {"version": dated.version, "date": dated.date.isoformat()}
    if args.id is None:
        shown = table([kind.columns(at, row) for row in rows.values()], kind.headings)
        foot = f"\n\n{len(rows)} {kind.name}, data of {head['version']}." if head else ""
        return at.answer({**head, kind.name: list(rows.values())}, shown + foot)
    if args.id not in rows:
        raise UnknownNameError(kind.one, args.id, rows)
    row = rows[args.id]
    return at.answer({**head, kind.one: row}, _page(row, kind.details(at, row)))


def _page(row: Data, details: Details) -> str:
    """Return one row as a page: title, id, then labelled paragraphs; empty ones left out."""
    lines = [f"{row['title']}  ({row['id']})"]
    for label, text in [*details, ("source", row["source"])]:
        if text:
            lines.append(
                textwrap.fill(
                    text,
                    _WIDTH,
                    initial_indent=f"  {label:<{_LABEL}}",
                    subsequent_indent=" " * (_LABEL + 2),
                    break_on_hyphens=False,
                )
            )
    return "\n".join(lines)


def _words(items: Iterable[str]) -> str:
    """Return items joined by commas."""
    return ", ".join(items)


def _conditions(asked: Mapping[str, Sequence[str]]) -> str:
    """Return facts of the unit as words: ``expansion txv; defrost electric or hot_gas``."""
    return "; ".join(f"{name} {' or '.join(values)}" for name, values in asked.items())


def _minutes(low: float, high: float) -> str:
    """Return a band of minutes."""
    return f"{low:g} to {high:g} min" if high > low else f"{low:g} min"


def _severities(at: Desk, severity: Mapping[str, Any]) -> str:
    """Return the severities of a fault in the person's units."""
    unit: str = severity["unit"]
    dimension = _DIFFERENCES.get(unit.split(maxsplit=1)[0])
    if dimension is None:
        return ""
    numbers = _words(format_quantity(node, dimension, at.preference) for node in severity["nodes"])
    meaning = unit.removeprefix("fraction").removeprefix("Pa").removeprefix("K").strip()
    return f"{numbers} {meaning}".strip()


def _fault_details(at: Desk, row: Data) -> Details:
    """Return what is known of one fault."""
    repair = row["repair"]
    return [
        ("family", f"{row['family']}, mechanism {row['axis']}"),
        ("severities", _severities(at, row["severity"])),
        ("where", _conditions(row["applies_to"])),
        ("intermittent", _presence(row)),
        ("because", row["because"]),
        ("ruled out by", row["kills"]),
        ("behind it", "; ".join(row["behind"])),
        ("share", _words(f"{kind} {share:.1%}" for kind, share in row["priors"].items())),
        ("repair", f"{repair['title']}; {WORKPLACES[repair['place']]}, {repair['minutes']:g} min"),
        ("part", _part(repair)),
        ("proof", repair["proof"]),
        ("cautions", " ".join(row["cautions"])),
    ]


def _presence(row: Data) -> str:
    """Return when an intermittent fault is there; empty for one that stays."""
    return f"there about {row['mean_duty']:.0%} of the time; {row['presence']}" if row["intermittent"] else ""


def _part(repair: Data) -> str:
    """Return what a part costs, in minutes of paid time."""
    band = _minutes(repair["part_minutes_low"], repair["part_minutes_high"])
    return f"worth {band} of paid time; {repair['on_van']:.0%} likely on the van"


def _check_details(at: Desk, row: Data) -> Details:
    """Return what is known of one check."""
    wait = f", {row['wait_minutes']:g} min waiting besides" if row["wait_minutes"] else ""
    lost = row["refrigerant_lost_kg"]
    return [
        ("how", row["how"]),
        ("place", _words(WORKPLACES[place] for place in row["places"])),
        ("minutes", f"{row['minutes']:g} min{wait}; all told worth {row['cost_minutes']:.0f} min"),
        ("risk", _words(RISKS[code] for code in row["risk"])),
        ("lost", f"{format_quantity(lost, 'mass', at.preference)} of refrigerant" if lost else ""),
        ("reads", _words(row["readings"])),
        ("shows", _words(row["sightings"])),
        ("where", _conditions(row["applies_to"])),
        ("only after", _conditions(row["only_if"])),
        ("first", " ".join(row["guards"].values())),
        ("not by", row["who_not"]),
        ("cautions", " ".join(row["cautions"])),
    ]


def _place_details(at: Desk, row: Data) -> Details:
    """Return what is known of one place."""
    del at
    return [
        ("meaning", row["meaning"]),
        ("dimension", f"{row['dimension']} [{row['si_unit']}]"),
        ("where", row["where"]),
        ("mistakes", row["mistakes"]),
        ("follows from", _words(row["follows_from"])),
        ("instrument", row["default_instrument"]),
        ("checks", _words(row["checks"])),
    ]


def _sighting_details(at: Desk, row: Data) -> Details:
    """Return what is known of one sighting."""
    del at
    healthy = row["healthy"]
    return [
        ("ask", row["ask"]),
        ("place", WORKPLACES[row["place"]]),
        ("answers", "; ".join(f"{value} ({words})" for value, words in row["values"].items())),
        ("healthy", _words(f"{value} {chance:.1%}" for value, chance in healthy.items())),
        ("tells of", _words(row["given"])),
        ("follows", f"from the predicted {row['follows_from']}" if row["follows_from"] else ""),
        ("checks", _words(row["checks"])),
    ]


def _instrument_details(at: Desk, row: Data) -> Details:
    """Return what is known of one class of instrument."""
    difference = {"pressure": "pressure_difference", "temperature": "temperature_difference"}
    reads: str = row["dimension"]
    dimension = difference.get(reads, reads)

    def shown(fixed: float, share: float) -> str:
        text = format_quantity(fixed, dimension, at.preference)
        return f"{text} and {share:.1%} of the reading" if share else text

    return [
        ("reads", row["dimension"] + (", unless another is named" if row["is_default"] else "")),
        ("noise", shown(row["sigma_si"], row["sigma_gain"]) + ", one sigma"),
        ("bias", shown(row["bias_si"], row["bias_gain"]) + ", one sigma, the same all call"),
        ("lies", f"{row['lie_chance']:.1%} of the time, by {shown(row['lie_sigma_si'], 0.0)}"),
    ]


def _fault_columns(at: Desk, row: Data) -> Sequence[str]:
    """Return a row of the list of faults."""
    del at
    return row["id"], row["family"], row["title"]


def _check_columns(at: Desk, row: Data) -> Sequence[str]:
    """Return a row of the list of checks."""
    del at
    wait = f" + {row['wait_minutes']:g}" if row["wait_minutes"] else ""
    return row["id"], "".join(row["places"]), f"{row['minutes']:g}{wait}", "".join(row["risk"]), row["title"]


def _place_columns(at: Desk, row: Data) -> Sequence[str]:
    """Return a row of the list of places."""
    del at
    return row["id"], row["dimension"], row["default_instrument"] or "computed", row["title"]


def _sighting_columns(at: Desk, row: Data) -> Sequence[str]:
    """Return a row of the list of sightings."""
    del at
    return row["id"], row["place"], " / ".join(row["values"])


def _instrument_columns(at: Desk, row: Data) -> Sequence[str]:
    """Return a row of the list of instruments."""
    del at
    return row["id"], row["dimension"], "yes" if row["is_default"] else "", row["title"]


def _instruments(book: Catalogue) -> dict[str, Data]:
    """Return every class of instrument; they stand in ``quantities``, not in the catalogue."""
    del book
    return {name: instrument_data(one) for name, one in instruments().items()}


_KINDS: Final = (
    _Kind(
        "faults", "fault", "faults with ids, shares of calls, repairs and sources",
        lambda book: {name: fault_data(book, fault) for name, fault in book.faults.items()},
        ("id", "family", "fault"), _fault_columns, _fault_details, "faults.toml",
    ),
    _Kind(
        "checks", "check", "checks with ids, place (D door, B box, P panel, U unit, C circuit), minutes",
        lambda book: {name: check_data(book, check) for name, check in book.checks.items()},
        ("id", "place", "min", "risk", "check"), _check_columns, _check_details, "checks.toml",
    ),
    _Kind(
        "places", "place", "readings with ids: what each means, where it is taken, how people go wrong",
        lambda book: {name: place_data(book, place) for name, place in book.places.items()},
        ("id", "dimension", "instrument", "reading"), _place_columns, _place_details, "places.toml",
    ),
    _Kind(
        "sightings", "sighting", "things seen or heard, with ids and the answers each allows",
        lambda book: {name: sighting_data(book, one) for name, one in book.sightings.items()},
        ("id", "place", "answers"), _sighting_columns, _sighting_details, "sightings.toml",
    ),
    _Kind(
        "instruments", "instrument", "classes of instruments with ids and what their readings are worth",
        _instruments,
        ("id", "reads", "default", "instrument"), _instrument_columns, _instrument_details, "",
    ),
)  # fmt: skip
