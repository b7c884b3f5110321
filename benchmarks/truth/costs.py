"""What a way of working costs until the right cause is mended: following the advice, or a fixed checklist.

Every way pays by the same ledger (``holdcold``'s published costs of checks, places and repairs): checks with
their danger and refrigerant, reaching places, and wrong repairs. The right repair itself is left out: every
way ends with it. A call that ends without it pays for a technician who starts again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from benchmarks.truth.calls import Call
from benchmarks.truth.evidence import evidence, resolved_card

from holdcold.diagnosis.catalogue import Catalogue, catalogue
from holdcold.diagnosis.evidence import Evidence, RepairEvidence, SightingEvidence
from holdcold.diagnosis.find import Finding, find

ANSWERED = (
    "flammable_gate_met",
    "proved_dead",
    "one_temperature",
    "sections_open",
    "insulation_conditions_met",
)
"""Conditions of guards, answered yes on every call: they say nothing of the cause."""

_MOST_STEPS = 45


@dataclass
class Ledger:
    """Minutes paid so far, where the person stands and what was opened. trail: what was done, for reading."""

    book: Catalogue
    roof: bool
    minutes: float = 0.0
    here: str = ""
    opened: set[str] = field(default_factory=set)
    trail: list[str] = field(default_factory=list)
    wrong: int = 0

    def _reach(self, places: Iterable[str]) -> float:
        paid = 0.0
        for place in places:
            access = self.book.costs.access[place]
            if place not in self.opened:
                paid += access.open_minutes
            if place != self.here:
                paid += access.travel_minutes + (access.roof_minutes if self.roof else 0.0)
            self.opened.add(place)
            self.here = place
        return paid

    def check(self, name: str) -> None:
        """Pay for a check."""
        self.minutes += self.book.check_cost(name) + self._reach(self.book.checks[name].places)
        self.trail.append(name)

    def wrong_repair(self, fault: str) -> None:
        """Pay for a repair that does not help."""
        repair = self.book.fault(fault).repair
        self.minutes += self.book.costs.of_repair(repair)[0] + self._reach((repair.place,))
        self.wrong += 1
        self.trail.append(f"wrong:{fault}")

    def right_repair(self, fault: str) -> None:
        """Go to the place of the right repair; the repair itself is paid by every way alike."""
        self.minutes += self._reach((self.book.fault(fault).repair.place,))
        self.trail.append(f"right:{fault}")

    def lost(self) -> None:
        """Pay for a call that ends without the cause."""
        self.minutes += self.book.costs.unresolved_minutes
        self.trail.append("lost")


class Way:
    """One way of working through one call, up to the last right repair."""

    def __init__(self, call: Call) -> None:
        self.call = call
        self.left = set(call.faults)
        self.resolved = resolved_card(call)
        self.book = catalogue()
        self.ledger = Ledger(self.book, 'location = "roof"' in call.card)
        self.done: list[str] = []
        self.repairs: list[RepairEvidence] = []

    def told(self) -> Evidence:
        """Return the evidence so far."""
        found = evidence(self.call, self.done, self.book, self.repairs)
        known = {one.id for one in found.sightings}
        gates = tuple(SightingEvidence(name, "yes") for name in ANSWERED if name not in known)
        return Evidence(
            found.situation, found.readings, (*found.sightings, *gates), found.checks, found.repairs
        )

    def finding(self) -> Finding:
        """Return what the diagnosis says now."""
        return find(self.resolved, self.told())

    def makes_sense(self, check: str) -> bool:
        """Return whether what was seen so far leaves a check its purpose (no melting of a clear coil)."""
        needed = self.book.checks[check].only_if
        shown = {name for one in self.done for name in self.book.checks[one].sightings}
        return all(name in shown and self.call.seen.get(name) in values for name, values in needed.items())

    def do(self, check: str) -> None:
        """Do a check."""
        self.ledger.check(check)
        self.done.append(check)

    def mend(self, fault: str) -> bool:
        """Try a repair; return whether nothing is left.

        After one of two causes the call goes on with the other.
        """
        self.repairs.append(RepairEvidence(fault, "symptom_stays"))
        if fault not in self.left:
            self.ledger.wrong_repair(fault)
            return False
        self.ledger.right_repair(fault)
        self.left.discard(fault)
        if not self.left:
            return True
        rest = self.call.after.get(fault)
        if rest is None:
            self.left.clear()
            return True
        self.call = rest
        return False


def advised(call: Call) -> Ledger:
    """Return the cost of doing what the diagnosis advises, step by step."""
    way = Way(call)
    for _ in range(_MOST_STEPS):
        step = way.finding().step
        tried = {repair.fault for repair in way.repairs}
        if step.enough and step.act_on and step.act_on not in tried:
            if way.mend(step.act_on):
                return way.ledger
        elif step.ranked and step.ranked[0].id not in way.done:
            way.do(step.ranked[0].id)
        elif step.act_on and step.act_on not in tried:
            if way.mend(step.act_on):
                return way.ledger
        else:
            break
    way.ledger.lost()
    return way.ledger


def in_order(call: Call, order: Sequence[str]) -> Ledger:
    """Return the cost of a fixed order of checks.

    Read and stopped by the same diagnosis (order alone differs).
    """
    way = Way(call)
    for check in order:
        if not way.makes_sense(check):
            continue
        way.do(check)
        if len(way.done) < 3:
            continue
        for _ in range(3):
            step = way.finding().step
            tried = {repair.fault for repair in way.repairs}
            if not (step.enough and step.act_on) or step.act_on in tried:
                break
            if way.mend(step.act_on):
                return way.ledger
    for _ in range(6):
        step = way.finding().step
        if not step.act_on or step.act_on in {repair.fault for repair in way.repairs}:
            break
        if way.mend(step.act_on):
            return way.ledger
    way.ledger.lost()
    return way.ledger
