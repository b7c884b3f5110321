"""``holdcold priors``: how often each cause is the matter, and what closed calls have taught of that."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import shorten
from typing import Any, Final

from holdcold import __version__
from holdcold.cards import Resolved
from holdcold.cli.common import Commands, Desk, add_shared_options, desk, read_text_file
from holdcold.cli.tables import table
from holdcold.cli.words import engine_data, paragraph, short_title
from holdcold.diagnosis.catalogue import Priors, catalogue
from holdcold.diagnosis.catalogue.words import APPLICATIONS, KINDS
from holdcold.diagnosis.closed import read_closed, read_counts, write_counts
from holdcold.diagnosis.find import Finding
from holdcold.diagnosis.learn import PSEUDO_CALLS, Counts, band, count_all, learnt, left_out, strength
from holdcold.errors import InputError, InputErrors

_PLAIN: Final = {"none": "Nothing found", "not_listed": "Something not listed", "pair": "Two causes at once"}
_NOTHING: Final = 5e-5
_NOTHING_OF_A_BAND: Final = 1e-3
_STDIN: Final = "-"
_WIDEST: Final = 44


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``priors`` with its commands to the command line."""
    group = commands.add_parser(
        "priors", help="how often each cause is the matter, learnt from closed calls", description="Priors."
    )
    inner = group.add_subparsers(title="commands", metavar="COMMAND", required=True)
    learn = inner.add_parser(
        "learn",
        help="count the causes of closed calls",
        description="Counts what closed calls came down to, shows what that does to the chances, and writes "
        "the counts for holdcold find --priors.",
    )
    learn.add_argument(
        "closed",
        metavar="CLOSED.jsonl",
        help="closed calls, one JSON object a line: kind, application, causes, date, unit (-: from stdin)",
    )
    learn.add_argument("--out", metavar="FILE", help="file for the counts; one written before is replaced")
    add_shared_options(learn)
    learn.set_defaults(run=run_learn)
    show = inner.add_parser(
        "show",
        help="chance of each cause, with its band and source",
        description="Shows how often each cause is the matter on a kind of unit, with 90 %% bands.",
    )
    show.add_argument("--kind", choices=KINDS, help="only this kind of unit")
    show.add_argument("--application", choices=APPLICATIONS, help="only this application")
    show.add_argument("--learnt", metavar="FILE", help="counts of closed calls, to show beside the estimates")
    add_shared_options(show)
    show.set_defaults(run=run_show)


@dataclass(frozen=True, slots=True)
class Row:
    """One cause: share and 90 % band before and after the closed calls, and how many calls had it."""

    cause: str
    before: float
    before_band: tuple[float, float]
    after: float
    after_band: tuple[float, float]
    counted: float


@dataclass(frozen=True, slots=True)
class Page:
    """The causes of one kind of unit. counts: None for the estimates alone."""

    before: Priors
    after: Priors
    counts: Counts | None
    rows: tuple[Row, ...]


def run_learn(args: argparse.Namespace) -> int:
    """Count closed calls, show what they change, write the counts where asked to; return the exit code."""
    at = desk(args)
    text = sys.stdin.read() if args.closed == _STDIN else read_text_file(args.closed, "CLOSED.jsonl")
    calls, remarks = read_closed(text, catalogue().faults)
    if not calls:
        raise InputError("CLOSED.jsonl", args.closed, "at least one closed call", "Write one call a line.")
    counts = count_all(calls)
    at.notes += remarks
    pages = [page_of(one.kind, one.application, one) for one in counts]
    written = _save(args.out, write_counts(counts, f"holdcold {__version__}")) if args.out else ""
    last = (
        f"Written: {written}. Use it: holdcold find CARD.toml CALL.toml --priors {written}"
        if written
        else "Nothing is written: add --out FILE to keep the counts for holdcold find --priors."
    )
    shown = "\n\n".join([*(page_text(page) for page in pages), last])
    return at.answer({"written": written or None, "calls": len(calls), **_pages_data(pages)}, shown)


def run_show(args: argparse.Namespace) -> int:
    """Show the chances of each cause; return the exit code."""
    at = desk(args)
    known = () if args.learnt is None else load_counts(args.learnt, "--learnt")
    wanted = [
        (kind, application)
        for kind in KINDS
        for application in APPLICATIONS
        if args.kind in (None, kind) and args.application in (None, application)
    ]
    pages = [page_of(*unit, _of(known, *unit)) for unit in wanted]
    if args.learnt is not None:
        at.notes += [
            f"{page.before.kind} {page.before.application}: no closed calls in {args.learnt}"
            for page in pages
            if page.counts is None
        ]
    return at.answer(_pages_data(pages), "\n\n".join(page_text(page) for page in pages))


def load_counts(path: str, field: str) -> tuple[Counts, ...]:
    """Return the counts in a file; raise ``InputErrors`` with all that is wrong.

    path: of the file. field: the option that named it.
    """
    return read_counts(read_text_file(path, field), catalogue().faults)


def counts_for(at: Desk, path: str | None, resolved: Resolved) -> Counts | None:
    """Return the counts of a file for the kind of a unit; None without a file, or (noted) without calls.

    at: gets the note. path: of the file. resolved: the unit.
    """
    if path is None:
        return None
    kind, application = (resolved.card.text(key) for key in ("kind", "application"))
    counts = _of(load_counts(path, "--priors"), kind, application)
    if counts is None:
        at.notes.append(f"{path} has no closed calls of a {kind} {application}: practice estimates alone")
    return counts


def priors_data(finding: Finding, counts: Counts | None) -> dict[str, object]:
    """Return which priors an answer rests on: version and number of closed calls, and the source."""
    return {
        "version": None if counts is None else counts.version,
        "calls": 0 if counts is None else counts.calls,
        "source": finding.case.hypotheses.source.source,
    }


def _of(known: Sequence[Counts], kind: str, application: str) -> Counts | None:
    return next((one for one in known if (one.kind, one.application) == (kind, application)), None)


def _save(path: str, text: str) -> str:
    """Write the counts; refuse to write over a file that is none."""
    target = Path(path)
    if target.exists():
        try:
            load_counts(path, "--out")
        except InputErrors:
            raise InputError(
                "--out", path, "a new file, or one with counts", "Choose another name."
            ) from None
    try:
        target.write_text(text, encoding="utf-8")
    except OSError as problem:
        raise InputError("--out", path, "a file that can be written", f"{problem.strerror}.") from None
    return path


def page_of(kind: str, application: str, counts: Counts | None) -> Page:
    """Return the causes of a kind of unit before and after its closed calls, the most frequent first."""
    before = catalogue().priors_for(kind, application)
    after = before if counts is None else learnt(before, counts)
    calls = strength(before, counts)
    counted = {} if counts is None else dict(counts.causes)
    rows = [
        _row(name, chance, after.faults[name], calls, counted.get(name, 0.0))
        for name, chance in before.faults.items()
    ]
    none, other, pairs = (0.0, 0.0, 0) if counts is None else (counts.none, counts.not_listed, counts.pairs)
    rows.append(_row("none", before.none, after.none, calls, none))
    rows.append(_row("not_listed", before.not_listed, after.not_listed, calls, other))
    rows.sort(key=lambda row: (-round(row.after, 12), row.cause))
    whole = PSEUDO_CALLS + (0 if counts is None else counts.calls)
    rows.append(_row("pair", before.together.chance, after.together.chance, whole, float(pairs)))
    return Page(before, after, counts, tuple(rows))


def _row(cause: str, before: float, after: float, calls: float, counted: float) -> Row:
    return Row(cause, before, band(before, PSEUDO_CALLS), after, band(after, calls), counted)


def _pages_data(pages: Sequence[Page]) -> dict[str, Any]:
    return {"units": [_page_data(page) for page in pages], "engine": engine_data(catalogue())}


def _page_data(page: Page) -> dict[str, Any]:
    """Return the causes of one kind of unit for scripts; shares and bands are 0 to 1."""
    counts = page.counts
    return {
        "kind": page.before.kind,
        "application": page.before.application,
        "version": None if counts is None else counts.version,
        "calls": 0 if counts is None else counts.calls,
        "first": counts.first if counts else "",
        "last": counts.last if counts else "",
        "source": page.after.source,
        "pseudo_calls": PSEUDO_CALLS,
        "causes": [
            {
                "cause": row.cause,
                "before": {"share": row.before, "low": row.before_band[0], "high": row.before_band[1]},
                "after": {"share": row.after, "low": row.after_band[0], "high": row.after_band[1]},
                "counted": row.counted,
            }
            for row in page.rows
        ],
        "left_out": {} if counts is None else left_out(page.before, counts),
    }


def page_text(page: Page) -> str:
    """Return the causes of one kind of unit as a page."""
    name = f"{page.before.kind.replace('_', '-')} {page.before.application}"
    counts = page.counts
    if counts is None:
        rows = [(_title(row.cause), _percent(row.before), _range(row.before_band)) for row in page.rows]
        lines = [f"{name}: practice estimates", table(rows, ("cause", "share", "9 of 10"), right=(1,))]
    else:
        rows_ = [
            (
                _title(row.cause), _percent(row.before), _range(row.before_band), f"{row.counted:g}",
                _percent(row.after), _range(row.after_band),
            )
            for row in page.rows
        ]  # fmt: skip
        heads = ("cause", "before", "9 of 10", "calls", "after", "9 of 10")
        calls = "1 closed call" if counts.calls == 1 else f"{counts.calls} closed calls"
        span = f", {counts.first} to {counts.last}" if counts.first < counts.last else ""
        lines = [
            f"{name}: practice estimates with {calls}{span} (version {counts.version})",
            table(rows_, heads, right=(1, 3, 4)),
        ]
    return "\n".join([*lines, *_below(page)])


def _below(page: Page) -> Iterator[str]:
    yield paragraph("Estimates", f"{page.before.source}; they weigh {PSEUDO_CALLS:.0f} calls.", indent=0)
    gone = {} if page.counts is None else left_out(page.before, page.counts)
    if gone:
        names = ", ".join(f"{_title(name)} ({number:g})" for name, number in gone.items())
        yield paragraph("Left out", f"no cause of such a unit: {names}.", indent=0)


def _title(cause: str) -> str:
    """Return what people call a cause, short enough for a table."""
    name = _PLAIN.get(cause) or short_title(catalogue(), cause)
    return shorten(name, _WIDEST, placeholder=" ...")


def _figures(share: float, least: float) -> str:
    return f"{100.0 * share:.2g}" if share >= least else "0"


def _percent(share: float) -> str:
    """Return a share in per cent with two figures, however small: causes are compared with each other."""
    return f"{_figures(share, _NOTHING)} %"


def _range(ends: tuple[float, float]) -> str:
    low, high = ends
    return f"{_figures(low, _NOTHING_OF_A_BAND)} to {_figures(high, _NOTHING)} %"
