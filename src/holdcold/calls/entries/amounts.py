"""The refrigerant and oil ledger of a call: every movement, every reversal, and what is left of them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from holdcold.calls.entries.story import Item, Story
from holdcold.quantities import parse

SIGNS: Final[Mapping[str, float]] = {
    "charged": 1.0, "recovered": -1.0, "lost": -1.0, "removed_for_disposal": 0.0,
    "added": 1.0, "drained": -1.0,
}  # fmt: skip
"""What a movement does to what is in the machine: in, out, or (from a cylinder) neither."""

_DIMENSIONS: Final = {"refrigerant": "mass", "oil": "volume"}


@dataclass(frozen=True, slots=True)
class Movement:
    """One line of the ledger.

    item: the entry. kind: refrigerant or oil. what: which one. movement: which way. amount_si: [kg] or [m3],
    never negative. into_machine_si: signed, as it changes what the machine holds, reversals included.
    cylinder: its mark. reversal_of: id of the entry taken back, empty for a movement. reversed_by: id of
    the entry that took this one back. note: what is odd about the line, empty when nothing is.
    """

    item: Item
    kind: Literal["refrigerant", "oil"]
    what: str
    movement: str
    amount_si: float
    into_machine_si: float
    cylinder: str = ""
    reversal_of: str = ""
    reversed_by: str = ""
    note: str = ""


def ledger(told: Story) -> tuple[Movement, ...]:
    """Return every movement of refrigerant and oil in order, each reversal as a line of its own."""
    facts = told.facts("refrigerant", "oil")
    reversed_by: dict[str, str] = {}
    for item in facts:
        target = item.body.get("reverses", "")
        if target:
            reversed_by.setdefault(target, item.entry.id)
    moved = {
        item.entry.id: _movement(item, reversed_by.get(item.entry.id, ""))
        for item in facts
        if "reverses" not in item.body
    }
    return tuple(
        moved[item.entry.id] if item.entry.id in moved else _reversal(item, moved, reversed_by)
        for item in facts
    )


def totals(lines: Iterable[Movement]) -> dict[tuple[str, str], float]:
    """Return what the machine gained by (kind, what): [kg] of a refrigerant, [m3] of an oil."""
    found: dict[tuple[str, str], list[float]] = {}
    for line in lines:
        if line.what:
            found.setdefault((line.kind, line.what), []).append(line.into_machine_si)
    return {key: math.fsum(values) for key, values in found.items()}


def _kind_of(item: Item) -> Literal["refrigerant", "oil"]:
    return "oil" if item.entry.kind == "oil" else "refrigerant"


def _movement(item: Item, reversed_by: str) -> Movement:
    kind = _kind_of(item)
    amount = parse(item.body["amount"], _DIMENSIONS[kind], field="amount")
    movement = item.body["movement"]
    return Movement(
        item,
        kind,
        item.body.get("refrigerant") or item.body.get("oil", "not named"),
        movement,
        amount,
        SIGNS[movement] * amount,
        item.body.get("cylinder", ""),
        reversed_by=reversed_by,
    )


def _reversal(item: Item, moved: Mapping[str, Movement], reversed_by: Mapping[str, str]) -> Movement:
    target = item.body["reverses"]
    kind, line = _kind_of(item), moved.get(target)
    if line is None or line.kind != kind:
        note = "what it takes back is not in this log as an amount: nothing is taken back"
        return Movement(item, kind, "", "reversal", 0.0, 0.0, reversal_of=target, note=note)
    if reversed_by[target] != item.entry.id:
        note = "taken back already by an earlier entry: this one takes nothing back"
        return Movement(item, kind, line.what, "reversal", 0.0, 0.0, line.cylinder, target, note=note)
    back = 0.0 - line.into_machine_si
    return Movement(item, kind, line.what, "reversal", line.amount_si, back, line.cylinder, target)
