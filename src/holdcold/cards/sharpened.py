"""What proved-good readings taught of a unit, as its card keeps it: visits, and the facts that follow.

The visits are what somebody read; everything else in the section can be worked out from them again
(``holdcold.diagnosis.sharpen``). Each fact stands beside what it was without them, so that a card that
has changed since is noticed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

_SAME: Final = 0.02
"""A fact is as it was when value and spread moved by less than this share of the spread."""


@dataclass(frozen=True, slots=True)
class VisitReading:
    """One reading of a visit.

    place: id. value_si: SI, pressures absolute, what was known of the instrument's offset taken off.
    instrument_id: readings with the same one share its error, over visits too. instrument_class: a
    class of ``quantities.instruments``. typed: the words.
    """

    place: str
    value_si: float
    instrument_id: str
    instrument_class: str
    typed: str = ""


@dataclass(frozen=True, slots=True)
class Visit:
    """Readings of a machine proved good.

    date: day of the call, year-month-day. call: its name. ambient_k, box_k: measured air [K].
    supply_ratio: measured over nominal voltage, 1 when nobody measured it.
    """

    date: str
    call: str
    ambient_k: float
    box_k: float
    supply_ratio: float
    readings: tuple[VisitReading, ...]


@dataclass(frozen=True, slots=True)
class SharpFact:
    """One fact of the card as the visits leave it [SI], and what it was without them.

    date, call: of the last visit behind it.
    """

    name: str
    value_si: float
    spread_si: float
    before_si: float
    before_spread_si: float
    date: str
    call: str

    @property
    def narrowed(self) -> float:
        """Share of the spread that is gone, 0 to 1."""
        return 1.0 - self.spread_si / self.before_spread_si


@dataclass(frozen=True, slots=True)
class Sharpened:
    """The section ``[sharpened]`` of a card.

    facts: those the visits say something of. together: how they hang together, correlations of the
    errors left; row i has i + 1 entries, the last one 1. visits: in the order they were added.
    engine, data: versions that worked it out. card: digest of what the card said then without this
    section (``Resolved.digest``).
    """

    facts: tuple[SharpFact, ...]
    together: tuple[tuple[float, ...], ...]
    visits: tuple[Visit, ...]
    engine: str = ""
    data: str = ""
    card: str = ""

    def source(self) -> str:
        """Return where the facts come from, in words for a person."""
        count = len(self.visits)
        calls = "one proved-good call" if count == 1 else f"{count} proved-good calls"
        last = f", last {self.visits[-1].date}" if self.visits else ""
        return f"{calls}{last} ({self.engine})" if self.engine else f"{calls}{last}"


def set_aside(sharpened: Sharpened, without: Mapping[str, tuple[float, float]], digest: str) -> str:
    """Return why the section does not hold for a card as it stands now, empty when it does.

    sharpened: the section. without: the card's facts without it, (value, spread) [SI] by name. digest: of
    all the card says without it.
    """
    if digest == sharpened.card:
        return ""
    for fact in sharpened.facts:
        if fact.name not in without:
            return f"this unit has no {fact.name}"
        value, spread = without[fact.name]
        room = _SAME * fact.before_spread_si
        if abs(value - fact.before_si) > room or abs(spread - fact.before_spread_si) > room:
            return (
                f"{fact.name} was {fact.before_si:.6g} with spread {fact.before_spread_si:.3g}, "
                f"is {value:.6g} with {spread:.3g}"
            )
    return "a part or a size is another now"
