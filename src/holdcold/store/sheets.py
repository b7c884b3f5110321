"""The CSV files of an export: for people and spreadsheets; import reads the JSON beside them, never these."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Final

from holdcold.calls.entries import Story, ledger, timeline

_FORMULA: Final = ("=", "@", "\t", "\r")
_SIGNS: Final = ("+", "-")


def sheets(told: Story) -> dict[str, str]:
    """Return the sheets of a call by file name."""
    lines = [(line, line.item.entry) for line in timeline(told)]
    return {
        "timeline.csv": sheet(
            ("time_utc", "kind", "status", "words", "author", "device", "id"),
            (
                (_time(line.at_s), line.kind, line.status, line.words, entry.author, entry.device, entry.id)
                for line, entry in lines
            ),
        ),
        "readings.csv": sheet(
            ("time_utc", "place", "value", "instrument", "stage", "note", "author", "id"),
            (
                (
                    _time(item.fact_s),
                    *(item.body.get(key, "") for key in ("place", "value", "instrument", "stage", "note")),
                    item.entry.author,
                    item.entry.id,
                )
                for item in told.facts("reading")
            ),
        ),
        "amounts.csv": sheet(
            ("time_utc", "kind", "what", "movement", "amount_si", "into_machine_si", "cylinder", "reverses",
             "reversed_by", "note", "author", "id"),
            (
                (
                    _time(line.item.fact_s), line.kind, line.what, line.movement, repr(line.amount_si),
                    repr(line.into_machine_si), line.cylinder, line.reversal_of, line.reversed_by, line.note,
                    line.item.entry.author, line.item.entry.id,
                )
                for line in ledger(told)
            ),
        ),
    }  # fmt: skip


def _time(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).isoformat(timespec="milliseconds")


def sheet(names: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return rows under a line of names as CSV; names, rows: cells in their order."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(names)
    writer.writerows([_harmless(str(cell)) for cell in row] for row in rows)
    return text.getvalue()


def _harmless(cell: str) -> str:
    """Return a cell that no spreadsheet runs as a formula."""
    signed = cell.startswith(_SIGNS) and not cell[1:2].isdigit()
    return f"'{cell}" if cell.startswith(_FORMULA) or signed else cell
