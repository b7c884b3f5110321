"""The demo's three units and their calls, read from packaged files: invented people, place and numbers."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final

EPISODES: Final = ("cooler", "freezer", "reach-in")
"""Units of the demo, in the order they are told."""

_LISTS: Final = ("reading", "sighting", "check", "repair", "override", "bias")

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a call.

    title, told: what happens, in words. truth: severity of each fault that the readings were computed
    with, by axis. document: everything the call has told up to here, as a call file. fresh: whether
    the machine was read anew, so that what was told before does not hold any more. proof: whether
    it shows that the repair held.
    """

    title: str
    told: str
    truth: Mapping[str, float]
    document: Document
    fresh: bool
    proof: bool


@dataclass(frozen=True, slots=True)
class Episode:
    """One unit of the demo with its call: what was the matter, step by step.

    name: id. title, story: in words. card_file, card_text: the unit's card. steps: in order.
    """

    name: str
    title: str
    story: str
    card_file: str
    card_text: str
    steps: tuple[Step, ...]


def packaged(name: str) -> str:
    """Return the text of one packaged file of the demo."""
    return files("holdcold.cli").joinpath("demo_data", name).read_text(encoding="utf-8")


def episode(name: str) -> Episode:
    """Return one unit of the demo; name: one of ``EPISODES``."""
    data = tomllib.loads(packaged(f"{name}.toml"))
    card = str(data["card"])
    return Episode(name, data["title"], data["story"], card, packaged(card), tuple(_steps(data)))


def _steps(data: Mapping[str, Any]) -> Iterator[Step]:
    """Yield the steps, each with all that was told since the machine was last read anew."""
    document: Document = {}
    truth: Mapping[str, float] = {}
    for row in data["step"]:
        fresh = bool(row.get("fresh", False))
        if fresh or not document:
            document = {"schema": 1, "demo": True, "name": data["title"], "card": data["card"]}
        document = added(document, row["call"])
        truth = MappingProxyType(row.get("truth", truth))
        yield Step(row["title"], row["told"], truth, document, fresh, bool(row.get("proof", False)))


def added(document: Document, more: Mapping[str, Any]) -> Document:
    """Return a call file with more in it: lists grow, conditions told later replace earlier ones.

    document, more: as the TOML reader gives them.
    """
    joined = {**document, "conditions": {**document.get("conditions", {}), **more.get("conditions", {})}}
    for name in _LISTS:
        entries = [*document.get(name, []), *more.get(name, [])]
        if entries:
            joined[name] = entries
    return joined
