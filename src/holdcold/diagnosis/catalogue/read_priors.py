"""``priors.toml`` turned into values; what is wrong is kept, never raised."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from holdcold.diagnosis.catalogue.priors import (
    NONE,
    NOT_LISTED,
    PriorData,
    PriorRow,
    PriorTable,
    Story,
    Together,
)
from holdcold.diagnosis.catalogue.read import Sources, source_of
from holdcold.diagnosis.catalogue.rows import Fault, stands_for
from holdcold.diagnosis.catalogue.table import Table
from holdcold.diagnosis.catalogue.words import APPLICATIONS, KINDS


def read_priors(file: Table, sources: Sources, faults: Mapping[str, Fault]) -> PriorData:
    """Return everything in the file.

    file: the whole file. sources: name to text. faults: all of them by id.
    """
    every = [fault for fault in faults.values() if fault.family != "instrument"]
    causes = [fault.id for fault in every]
    tables = tuple(_table(row, sources, every) for row in file.rows("table", "kind"))
    stories = tuple(_story(row, sources, faults) for row in file.rows("story", "value"))
    told = math.fsum(story.base for story in stories)
    if abs(told - 1.0) > 1e-9:
        file.complain("story", f"bases that sum to {told:.6g}", "bases that sum to 1")
    _check_cover(file, tables)
    return PriorData(
        tables,
        stories,
        _together(file.table("two_faults"), sources, causes),
        _beside(file.table("beside"), sources, faults),
        file.number("band_factor", 1.0, 10.0),
        file.text("band_words"),
        file.number("sound_factor", 1.0, 10.0),
    )


def _check_cover(file: Table, tables: Sequence[PriorTable]) -> None:
    """Keep a problem where a kind of unit has no table, or two."""
    for kind in KINDS:
        for application in APPLICATIONS:
            count = sum(1 for t in tables if t.kind == kind and t.application in ("any", application))
            if count != 1:
                file.complain("table", f"{count} tables for {kind} {application}", "exactly one")


def _table(row: Table, sources: Sources, faults: Sequence[Fault]) -> PriorTable:
    """Return the lines for one kind of unit; every fault that can occur on it must have a share."""
    kind = row.choice("kind", KINDS)
    application = row.choice("application", ("any", *APPLICATIONS))
    none, not_listed = row.number("none", 0.0, 100.0), row.number("not_listed", 0.0, 100.0)
    causes = [fault.id for fault in faults]
    lines = tuple(_line(line, causes) for line in row.rows("row", "label"))
    total = math.fsum([none, not_listed, *(line.percent for line in lines)])
    if abs(total - 100.0) > 1e-6:
        row.complain("row", f"{total:.6g} percent in all", "lines, none and not_listed that sum to 100")
    named = {name for line in lines for name in line.split}
    facts = {"kind": kind} if application == "any" else {"kind": kind, "application": application}
    for fault in faults:
        if fault.id not in named and stands_for(fault.applies_to, facts):
            row.complain("row", fault.id, "a share for every fault that can occur on such a unit")
    table = PriorTable(kind, application, none, not_listed, lines, source_of(row, sources))
    row.finish()
    return table


def _line(row: Table, causes: Sequence[str]) -> PriorRow:
    """Return one line of a table."""
    split = row.table("split")
    split.check_names("split", split.names(), (*causes, NOT_LISTED))
    shares = {name: split.number(name, 0.0, 1.0) for name in split.names()}
    if abs(math.fsum(shares.values()) - 1.0) > 1e-9:
        split.complain("split", shares, "shares that sum to 1")
    line = PriorRow(row.text("label"), row.number("percent", 0.0, 100.0), shares)
    row.finish()
    return line


def _together(row: Table, sources: Sources, causes: Sequence[str]) -> Together:
    """Return what is known of two faults at once."""
    times = {}
    for pair in row.rows("pair", "faults"):
        names = pair.texts("faults", causes)
        if len(names) != 2:
            pair.complain("faults", names, "two faults")
        times[frozenset(names)] = pair.number("times", 0.0, 100.0)
        pair.text("why")
        pair.finish()
    low, chance, high = (row.number(key, 0.0, 1.0) for key in ("low", "chance", "high"))
    if not low <= chance <= high:
        row.complain("chance", chance, f"from low ({low:g}) to high ({high:g})")
    together = Together(chance, low, high, times, source_of(row, sources))
    row.finish()
    return together


def _beside(row: Table, sources: Sources, faults: Mapping[str, Fault]) -> dict[str, float]:
    """Return the chance of each instrument fault."""
    known = [fault.id for fault in faults.values() if fault.family == "instrument"]
    names = [key for key in row.names() if key != "source"]
    row.check_names("beside", names, known)
    found = {name: row.number(name, 0.0, 1.0) for name in names}
    if set(found) != set(known):
        row.complain("beside", ", ".join(found), f"one chance for each of {', '.join(known)}")
    source_of(row, sources)
    row.finish()
    return found


def _story(row: Table, sources: Sources, faults: Mapping[str, Fault]) -> Story:
    """Return one story a user tells."""
    known = {NONE, *faults}
    known |= {f"axis:{f.axis}" for f in faults.values()} | {f"family:{f.family}" for f in faults.values()}
    times = row.table("times")
    times.check_names("times", times.names(), known)
    story = Story(
        row.text("value"),
        row.number("base", 0.0, 1.0),
        {name: times.number(name, 0.0, 100.0) for name in times.names()},
        source_of(row, sources),
    )
    row.finish()
    return story
