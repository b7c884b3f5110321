"""Facts about a unit: each with its origin, its spread and its source; and the ledger that collects them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from holdcold.cards.card import Card
from holdcold.errors import UnknownNameError

Origin = Literal["given", "assumed", "sharpened"]


@dataclass(frozen=True, slots=True)
class Default:
    """A value for when nobody gave one.

    value: SI. spread: standard deviation, SI, or a fraction of the value when ``relative``.
    source: where value and spread come from. least, most: physical bounds [SI].
    """

    value: float
    spread: float
    source: str
    relative: bool = False
    least: float = float("-inf")
    most: float = float("inf")


@dataclass(frozen=True, slots=True)
class Fact:
    """One number the design rests on.

    name: id, unit-suffixed. value_si: SI. dimension: a dimension of ``quantities``, or ``"count"``.
    origin: given by a person, assumed, or sharpened by proved-good readings. spread_si: standard
    deviation [SI]; 0 for what is known well enough. source: who says so. hint: what to measure to
    sharpen it; empty when nothing helps. least_si, most_si: physical bounds. uncertain: whether a
    sensitivity study should move it.
    """

    name: str
    value_si: float
    dimension: str
    origin: Origin
    spread_si: float
    source: str
    hint: str = ""
    least_si: float = float("-inf")
    most_si: float = float("inf")
    uncertain: bool = False


@dataclass(frozen=True, slots=True)
class Given:
    """How well a value that somebody gave is known: spread, SI or relative, and why."""

    spread: float = 0.0
    relative: bool = False
    source: str = "given on the card"


EXACT = Given()


@dataclass(frozen=True, slots=True)
class Taught:
    """What readings taught of a fact: the spread they left [SI], and in which words to say so."""

    spread: float
    source: str


@dataclass
class Ledger:
    """Facts in the order they were settled; a later default may rest on an earlier fact.

    changes: values [SI] that take the place of what the card and its defaults say, by fact name; the
    facts that rest on them follow. taught: facts that readings taught something of. offsets: how far
    each of those lies off what card and defaults say [SI]. targets: where it lies instead [SI], while
    the offsets are not known yet; they are then worked out. central: what card and defaults say.
    """

    card: Card
    changes: Mapping[str, float] = field(default_factory=dict)
    taught: Mapping[str, Taught] = field(default_factory=dict)
    offsets: dict[str, float] = field(default_factory=dict)
    targets: Mapping[str, float] = field(default_factory=dict)
    facts: dict[str, Fact] = field(default_factory=dict)
    central: dict[str, float] = field(default_factory=dict)

    def __getitem__(self, name: str) -> float:
        """Return the value [SI] of a fact already settled."""
        return self.facts[name].value_si

    def get(self, name: str) -> float:
        """Return the value [SI] of a fact that few units have, 0 when this one has not."""
        return self.facts[name].value_si if name in self.facts else 0.0

    def settle(
        self,
        name: str,
        dimension: str,
        default: Default,
        *,
        path: str = "",
        worked_out: float | None = None,
        given: Given = EXACT,
        hint: str = "",
        uncertain: bool = False,
    ) -> float:
        """Settle one fact from the card (``path``, or ``worked_out`` from it) or its default.

        Returns its value [SI], after any change asked for. Values are held to the default's physical
        bounds, except those of the card as it was given.
        """
        told = worked_out if worked_out is not None else self.card.number(path) if path else None
        central = default.value if told is None else told
        share = default if told is None else given
        spread = share.spread * abs(central) if share.relative else share.spread
        self.central[name] = central
        origin: Origin = "assumed" if told is None else "given"
        value, source = central, share.source
        taught = self.taught.get(name)
        if taught is not None:
            value += self._offset(name, central)
            spread, source, origin = taught.spread, taught.source, "sharpened"
        if self.changes or origin != "given":
            value = min(max(self.changes.get(name, value), default.least), default.most)
        self.facts[name] = Fact(
            name,
            value,
            dimension,
            origin,
            spread,
            source,
            hint,
            default.least,
            default.most,
            uncertain and spread > 0.0,
        )
        return value

    def _offset(self, name: str, central: float) -> float:
        """Return how far a taught fact lies off ``central`` [SI], worked out where it has a target."""
        if name in self.targets:
            self.offsets[name] = self.targets[name] - central
        return self.offsets.get(name, 0.0)

    def refuse_unknown_changes(self) -> None:
        """Raise UnknownNameError when a change names no fact of this unit."""
        for name in self.changes:
            if name not in self.facts:
                raise UnknownNameError("fact", name, self.facts)
