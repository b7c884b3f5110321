"""From the log of a call to what the diagnosis may learn from: the same evidence a call file gives.

The facts that count are put into the shape of a call file and read by the same reader, so that the log and
the file cannot come to mean different things.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final, Literal

from holdcold.calls.entries.merge import Log
from holdcold.calls.entries.story import Item, Story, story
from holdcold.calls.log import CallLog
from holdcold.calls.read import read_call_document
from holdcold.calls.weigh import evidence
from holdcold.cards import Resolved
from holdcold.diagnosis.catalogue import Catalogue, catalogue
from holdcold.diagnosis.evidence import Evidence

Stage = Literal["found", "left"]
"""The machine as it was found (everything not marked as left), or as it was left."""

_LISTS: Final = ("reading", "sighting", "check", "work", "override", "instrument")


def evidence_of(log: Log, unit: Resolved, stage: Stage = "found") -> Evidence:
    """Return what the log of one call has told us about a unit.

    log: entries of one call. unit: gives the air pressure gauges count from, and the nominal supply.
    """
    book = catalogue()
    call = call_of(story(log, book), book, unit.card.ambient_pa, stage)
    return evidence(call, unit.design.supply_v)


def call_of(told: Story, book: Catalogue, ambient_pa: float, stage: Stage = "found") -> CallLog:
    """Return a call as ``read_call`` would give it.

    book: the names that exist. ambient_pa: air pressure that gauges count from [Pa].
    """
    return read_call_document(call_document(told, stage), catalogue=book, ambient_pa=ambient_pa)


def call_document(told: Story, stage: Stage = "found") -> dict[str, object]:
    """Return the facts that count as a document with the keys of a call file.

    Readings are timed from the first one, in causal order: a clock that jumps back stops time, it does not
    turn it.
    """
    facts = [item for item in told.facts() if _is_of(item, stage)]
    minutes = _minutes(facts)
    document: dict[str, object] = {"schema": 1, "conditions": _conditions(facts, minutes)}
    for opened in [item for item in facts if item.entry.kind == "opened"][-1:]:
        document["name"] = opened.body["name"]
        document["date"] = datetime.fromisoformat(opened.entry.at).date().isoformat()
        document["demo"] = opened.body.get("demo", False)
    for kind in _LISTS:
        name, rows = _rows(kind, [item for item in facts if item.entry.kind == kind], minutes)
        if rows:
            document[name] = rows
    return document


def _is_of(item: Item, stage: Stage) -> bool:
    if item.entry.kind not in {"reading", "sighting", "state"}:
        return True
    return (item.body.get("stage") == "left") == (stage == "left")


def _minutes(facts: list[Item]) -> dict[str, float]:
    """Return minutes after the first reading by id of the entry; never falling, nothing before 0."""
    read = [item for item in facts if item.entry.kind in {"reading", "state"}]
    readings = [item.fact_s for item in read if item.entry.kind == "reading"]
    start = readings[0] if readings else 0.0
    found: dict[str, float] = {}
    latest = 0.0
    for item in read:
        latest = max(latest, (item.fact_s - start) / 60.0)
        found[item.entry.id] = latest
    return found


def _conditions(facts: list[Item], minutes: Mapping[str, float]) -> dict[str, object]:
    conditions: dict[str, object] = {}
    for item in facts:
        if item.entry.kind == "complaint":
            conditions["complaint"] = item.body["complaint"]
        if item.entry.kind == "state":
            conditions.pop("minutes_in_state", None)
            conditions |= {key: item.body[key] for key in _STATE_KEYS if key in item.body}
            if "minutes_in_state" in item.body:
                latest = max(minutes.values(), default=0.0)
                conditions["minutes_in_state"] = (
                    item.body["minutes_in_state"] + latest - minutes[item.entry.id]
                )
    return conditions


_STATE_KEYS: Final = ("state", "minutes_in_state", "box_trend")
_KEPT: Final[Mapping[str, tuple[str, ...]]] = {
    "reading": ("place", "value", "instrument", "note"),
    "sighting": ("id", "seen", "note"),
    "check": ("id", "outcome", "reason", "note"),
    "override": ("guard", "reason"),
}


def _rows(kind: str, items: list[Item], minutes: Mapping[str, float]) -> tuple[str, list[dict[str, Any]]]:
    """Return the list of a call file that a kind becomes, and its rows."""
    if kind == "work":
        repairs = [item.body for item in items if "fault" in item.body]
        rows = [{"fault": body["fault"], "outcome": body.get("outcome", "unknown")} for body in repairs]
        return "repair", rows
    if kind == "instrument":
        return "bias", [{key: item.body[key] for key in ("instrument", "offset")} for item in items]
    kept = [{key: item.body[key] for key in _KEPT[kind] if key in item.body} for item in items]
    if kind == "reading":
        for row, item in zip(kept, items, strict=True):
            row["at_minute"] = minutes[item.entry.id]
    return kind, kept
