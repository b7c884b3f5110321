"""How often each fault is the cause of a call, by kind of unit, and what the user's story does to that."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

from holdcold.diagnosis.catalogue.rows import Facts, Fault, stands_for
from holdcold.errors import InputError

NOT_LISTED = "not_listed"
NONE = "none"


@dataclass(frozen=True, slots=True)
class PriorRow:
    """One line of a table as it was noted.

    percent: of root causes. split: fault id (or ``not_listed``) to its share of the line, sum 1.
    """

    label: str
    percent: float
    split: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class PriorTable:
    """The lines for one kind of unit.

    application: ``"cooler"``, ``"freezer"`` or ``"any"``. none, not_listed: percent besides the lines.
    """

    kind: str
    application: str
    none: float
    not_listed: float
    rows: tuple[PriorRow, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Together:
    """What is known of faults that come together.

    chance, low, high: share of calls with two faults at once, best guess and band.
    times: how many times more often than by chance a pair comes together; pairs not named: 1.
    """

    chance: float
    low: float
    high: float
    times: Mapping[frozenset[str], float]
    source: str


@dataclass(frozen=True, slots=True)
class Story:
    """One story a user tells.

    value: value of the sighting ``user_story``. base: how often it is told at all, 0 to 1.
    times: fault id, ``none``, ``family:NAME`` or ``axis:NAME`` to how many times more often it is told then.
    """

    value: str
    base: float
    times: Mapping[str, float]
    source: str

    def factor(self, fault: Fault | None) -> float:
        """Return how many times more often this story is told under ``fault`` (None: nothing wrong)."""
        if fault is None:
            return self.times.get(NONE, 1.0)
        for key in (fault.id, f"axis:{fault.axis}", f"family:{fault.family}"):
            if key in self.times:
                return self.times[key]
        return 1.0


@dataclass(frozen=True, slots=True)
class Priors:
    """Chances before anything was seen on one unit; faults, ``none`` and ``not_listed`` sum to 1.

    faults: chance that the fault is the cause, by id, faults that cannot occur on the unit left out.
    none: nothing found. not_listed: a cause in no list. together: two faults at once, over these.
    beside: chance that an instrument lies on this call, apart from the cause.
    band_factor: each share could be this many times larger or smaller.
    """

    kind: str
    application: str
    faults: Mapping[str, float]
    none: float
    not_listed: float
    together: Together
    beside: Mapping[str, float]
    band_factor: float
    band_words: str
    source: str

    def pairs(self) -> dict[frozenset[str], float]:
        """Return the chance of each pair of faults given that there are two; sums to 1.

        A pair weighs the product of its shares times what is known of the two together. Two faults of
        one kind are one fault: the caller leaves out pairs it cannot tell from a single one.
        """
        weights = {}
        for (one, first), (other, second) in combinations(self.faults.items(), 2):
            pair = frozenset((one, other))
            weights[pair] = first * second * self.together.times.get(pair, 1.0)
        total = math.fsum(weights.values())
        return {pair: weight / total for pair, weight in weights.items()} if total > 0.0 else {}


@dataclass(frozen=True, slots=True)
class PriorData:
    """Everything in ``priors.toml``.

    sound_factor: how many times more often than the tables say a call is about a sound machine.
    """

    tables: tuple[PriorTable, ...]
    stories: tuple[Story, ...]
    together: Together
    beside: Mapping[str, float]
    band_factor: float
    band_words: str
    sound_factor: float

    def table_for(self, kind: str, application: str) -> PriorTable:
        """Return the table for a kind of unit; raise InputError when there is none.

        kind: ``"walk_in"`` or ``"reach_in"``. application: ``"cooler"`` or ``"freezer"``.
        """
        for table in self.tables:
            if table.kind == kind and table.application in ("any", application):
                return table
        known = ", ".join(f"{table.kind} {table.application}" for table in self.tables)
        raise InputError("kind", f"{kind} {application}", known, "Choose the nearest kind of unit.")

    def priors_for(self, kind: str, application: str, facts: Facts, faults: Mapping[str, Fault]) -> Priors:
        """Return the priors of one unit, faults that cannot occur on it left out and the rest scaled up.

        kind: ``"walk_in"`` or ``"reach_in"``. application: ``"cooler"`` or ``"freezer"``.
        facts: what else is known of the unit. faults: every fault by id.
        """
        table = self.table_for(kind, application)
        known = {**facts, "kind": kind, "application": application}
        possible = {fault.id for fault in faults.values() if stands_for(fault.applies_to, known)}
        weights = {NONE: [table.none * self.sound_factor], NOT_LISTED: [table.not_listed]}
        for row in table.rows:
            for name, percent in _shared_out(row, possible):
                weights.setdefault(name, []).append(percent)
        sums = {name: math.fsum(parts) for name, parts in weights.items()}
        total = math.fsum(sums.values())
        chances = {name: share / total for name, share in sums.items() if share > 0.0}
        none, not_listed = chances.pop(NONE, 0.0), chances.pop(NOT_LISTED, 0.0)
        return Priors(
            kind, application, {name: chances[name] for name in faults if name in chances}, none, not_listed,
            self.together, self.beside, self.band_factor, self.band_words, table.source,
        )  # fmt: skip


def _shared_out(row: PriorRow, possible: Iterable[str]) -> list[tuple[str, float]]:
    """Return what each possible fault gets of a line; impossible ones give theirs to the others of it."""
    allowed = {*possible, NOT_LISTED}
    kept = {name: share for name, share in row.split.items() if name in allowed}
    total = math.fsum(kept.values())
    return [(name, row.percent * share / total) for name, share in kept.items()] if total > 0.0 else []
