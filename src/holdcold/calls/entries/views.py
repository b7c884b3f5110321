"""What a person wants to see of a call: its course, what is open, what is proved, time on site."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

from holdcold.calls.entries.amounts import ledger
from holdcold.calls.entries.readings import latest_readings
from holdcold.calls.entries.story import Item, Story
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.errors import InputError

_IN_SIGHT: Final = ("quarantined", "unreadable", "not_known")


def open_temporary(told: Story) -> tuple[Item, ...]:
    """Return each temporary state that nobody has restored, oldest first.

    One whose entry was redacted, cannot be read or is contested still counts as open: words about a jumper
    may go, the jumper does not.
    """
    restored = {item.body["made"] for item in told.facts("temporary_restored")}
    withdrawn = {item.root for item in told.items if item.status == "withdrawn"}
    return tuple(
        item
        for item in told.items
        if item.entry.kind == "temporary_made"
        and item.root == item.entry.id
        and not {item.entry.id, *item.corrected_by} & restored
        and item.root not in withdrawn
    )


def why_not_closed(told: Story) -> tuple[InputError, ...]:
    """Return why the call cannot be closed: one problem for each temporary state that is still there."""
    return tuple(
        InputError(
            "close",
            item.entry.id,
            "no temporary state left",
            f"Restore first, then enter that it is restored: {_temporary_words(item)}.",
        )
        for item in open_temporary(told)
    )


def _temporary_words(item: Item) -> str:
    if not item.body:
        return f"the temporary state of {item.entry.at}, whose words cannot be read"
    return f"{item.body['what'].replace('_', ' ')} at {item.body['where']}"


CallState = Literal["open", "closed", "closed_over_temporary"]


def call_state(told: Story) -> CallState:
    """Return whether the call is closed.

    A close that arrives from a device that did not know of a temporary state leaves the call open, and
    says so (``closed_over_temporary``).
    """
    if not told.facts("close"):
        return "open"
    return "closed_over_temporary" if open_temporary(told) else "closed"


@dataclass(frozen=True, slots=True)
class Summary:
    """A call in a list: id of its unit, its name (both may be empty), state, start [s since 1970]."""

    unit: str
    name: str
    state: CallState
    opened_s: float


SUMMARY_KINDS: Final = frozenset(
    {"opened", "close", "temporary_made", "temporary_restored", "withdrawal", "redaction"}
)
"""Kinds of entries that may change a summary."""


def summary(told: Story) -> Summary:
    """Return a call as it stands in a list of calls."""
    opened = [item.body for item in told.facts("opened")][-1:]
    return Summary(
        opened[0].get("unit", "") if opened else "",
        opened[0]["name"] if opened else "",
        call_state(told),
        min((item.fact_s for item in told.items), default=0.0),
    )


@dataclass(frozen=True, slots=True)
class Stay:
    """One person's time on site.

    author: who. minutes: on site, breaks taken off [min]. break_minutes [min]. open: whether an arrival
    or a break has no end yet; it is then not counted.
    """

    author: str
    minutes: float
    break_minutes: float
    open: bool


def time_on_site(told: Story) -> tuple[Stay, ...]:
    """Return the time on site of each author, in the order of the names."""
    marks: dict[str, list[tuple[float, str]]] = {}
    for item in told.facts("time"):
        when = datetime.fromisoformat(item.body["when"]).timestamp()
        marks.setdefault(item.entry.author, []).append((when, item.body["what"]))
    return tuple(_stay(author, sorted(marks[author])) for author in sorted(marks))


def _stay(author: str, marks: Iterable[tuple[float, str]]) -> Stay:
    arrived: float | None = None
    broke: float | None = None
    on_site = breaks = 0.0
    for when, what in marks:
        if what == "arrived" and arrived is None:
            arrived = when
        elif what == "break_started" and broke is None:
            broke = when
        elif what == "break_ended" and broke is not None:
            breaks, broke = breaks + when - broke, None
        elif what == "left_site" and arrived is not None:
            on_site, arrived = on_site + when - arrived, None
    minutes = max(0.0, on_site - breaks) / 60.0
    return Stay(author, minutes, breaks / 60.0, arrived is not None or broke is not None)


@dataclass(frozen=True, slots=True)
class Point:
    """One thing proved, or not: in words, with the ids of the entries it rests on."""

    subject: str
    words: str
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """What a call has shown and what it has not."""

    proved: tuple[Point, ...]
    not_proved: tuple[Point, ...]


def what_is_proved(told: Story, catalogue: Catalogue) -> Proof:
    """Return what the log shows and what it leaves open; nothing is concluded beyond what was entered.

    catalogue: the names that exist.
    """
    proved: list[Point] = []
    loose: list[Point] = []
    for item in told.facts("work", "conclusion", "check"):
        (proved if _is_proof(item) else loose).extend(_points(item))
    loose.extend(_not_read_again(told, catalogue))
    loose.extend(_loose_ends(told))
    return Proof(tuple(proved), tuple(loose))


def _is_proof(item: Item) -> bool:
    body = item.body
    return body.get("outcome") in {"fixed", "done"} or body.get("verdict") == "pass"


def _points(item: Item) -> Iterator[Point]:
    body, ids = item.body, (item.entry.id,)
    if item.entry.kind == "check":
        words = "done" if body["outcome"] == "done" else f"put off: {body.get('reason', '')}"
        yield Point(f"check {body['id']}", words, ids)
    elif item.entry.kind == "conclusion":
        if body["what"] == "proof":
            yield Point("proof", f"{body['text']} ({body.get('verdict', 'no verdict')})", ids)
    else:
        outcomes = {"fixed": "the machine is in order after it", "symptom_stays": "the complaint stays"}
        said = outcomes.get(body.get("outcome", ""), "nobody said what the machine then did")
        yield Point(f"work {body.get('fault', '')}".strip(), f"{body['what']}: {said}", ids)


def _not_read_again(told: Story, catalogue: Catalogue) -> Iterator[Point]:
    """Yield places read as found that nobody read again after work was done."""
    if not told.facts("work"):
        return
    left = {latest.place: latest for latest in latest_readings(told, catalogue, stage="left")}
    for found in latest_readings(told, catalogue, stage="found"):
        again = left.get(found.place)
        if again is None:
            yield Point(f"reading {found.place}", "not read again as left", (found.item.entry.id,))
        elif again.steadiness in {"rising", "falling"}:
            words = f"still {again.steadiness} when it was left"
            yield Point(f"reading {found.place}", words, (again.item.entry.id,))


def _loose_ends(told: Story) -> Iterator[Point]:
    done = {item.body["done"] for item in told.facts("follow_up") if "done" in item.body}
    for item in told.facts("follow_up"):
        if item.entry.id not in done and "done" not in item.body:
            yield Point("follow-up", item.body["what"], (item.entry.id,))
    for item in open_temporary(told):
        yield Point("temporary state", _temporary_words(item), (item.entry.id,))
    for line in ledger(told):
        if line.note:
            yield Point(line.kind, line.note, (line.item.entry.id, line.reversal_of))
    for item in told.items:
        if item.status in _IN_SIGHT:
            yield Point(f"entry {item.entry.kind}", item.status.replace("_", " "), (item.entry.id,))
        elif item.counts and item.rivals:
            words = "corrected more than once; the last one counts"
            yield Point(f"entry {item.entry.kind}", words, (item.entry.id, *item.rivals))


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the timeline: when [s since 1970], what kind, what became of it, in words, the item."""

    at_s: float
    kind: str
    status: str
    words: str
    item: Item


def timeline(told: Story) -> tuple[Line, ...]:
    """Return every entry once, in causal order, those in quarantine last; nothing is left out."""
    return tuple(Line(one.at_s, one.entry.kind, one.status, _words(one), one) for one in told.items)


_MAIN: Final = ("words", "text", "what", "name", "place", "id", "guard", "instrument", "control", "complaint",
                "state", "movement", "reverses", "made", "reason")  # fmt: skip
_BESIDE: Final = ("value", "seen", "outcome", "amount", "refrigerant", "offset", "left", "answer", "where")


def _words(item: Item) -> str:
    """Return an entry in a few words, from its own fields; empty where nothing can be read."""
    keys = [*[key for key in _MAIN if key in item.body][:1], *(key for key in _BESIDE if key in item.body)]
    return ", ".join(str(item.body[key]) for key in keys)
