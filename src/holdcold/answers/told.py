"""A finding in a technician's sentences, whoever shows them: who is suspected, why, and what would follow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import exp
from typing import Any, Final

from holdcold.answers.compared import compared
from holdcold.answers.verdict import (
    LEAST_CHANCE,
    MOST_SUSPECTS,
    SHORT,
    grouped,
    strong,
    undecided,
    verdict,
)
from holdcold.answers.words import answer, between, chance_words, lower, percent, short_title, shown, title
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.diagnosis.explain import in_words
from holdcold.diagnosis.find import Finding
from holdcold.quantities import UnitPreference

_OUTCOMES: Final = 4
_LEAST_OUTCOME: Final = 0.02
_SECOND: Final = 0.15
_STATES: Final = {"running": "it runs", "cycling": "it stops and starts", "off": "it stands still"}
_COMPLAINTS: Final = {
    "warm": "box warm", "iced": "coil iced", "not_running": "not running",
    "short_cycling": "stops and starts", "noisy": "noisy", "leak": "leaking", "none": "none",
}  # fmt: skip
_TRENDS: Final = {"falling": "falling", "steady": "steady", "rising": "rising"}
_CIRCUMSTANCES: Final = {"state": _STATES, "complaint": _COMPLAINTS, "box_trend": _TRENDS}
WHERE: Final = {
    "D": "at the door or by phone", "B": "in the box", "P": "at the panel", "U": "at the condensing unit",
    "C": "refrigerant circuit opened",
}  # fmt: skip
"""Where work is done, by letter."""

_DIFFERENCES: Final = {"Pa": "pressure_difference", "K": "temperature_difference"}

Data = Mapping[str, Any]


class Told:
    """Puts one finding into sentences.

    preference: units. finding: as found. data: the same as plain data. numbers: chances and severities too.
    """

    def __init__(self, preference: UnitPreference, finding: Finding, data: Data, *, numbers: bool) -> None:
        self.preference = preference
        self.finding = finding
        self.data = data
        self.numbers = numbers
        self.book: Catalogue = finding.case.catalogue
        self.compared = compared(finding.case)
        self.suspects = grouped(finding, data["suspects"], self.book)

    def name(self, name: str) -> str:
        """Return what a fault is called inside a sentence; name: its id."""
        return lower(short_title(self.book, name))

    def full_name(self, name: str) -> str:
        """Return what a place, sighting or fault is called in full; name: its id."""
        return lower(title(self.book, name))

    def chance(self, chance: float) -> str:
        """Return a chance (0 to 1) in words, with its number when numbers are asked for."""
        return chance_words(in_words(chance), chance, numbers=self.numbers)

    def headline(self) -> str:
        """Return the whole finding in one sentence."""
        kind = verdict(self.data, self.suspects)
        if kind == "unsteady":
            return next(str(flag["text"]) for flag in self.data["flags"] if flag["kind"] == "unsteady")
        if kind == "pair":
            best = self.data["hypotheses"][0]
            both = " and ".join(self.name(fault) for fault in best["faults"])
            return f"Two things at once, {self.chance(best['chance'])}: {both}."
        if kind == "named":
            first = self.suspects[0]
            return f"{sentence(first['title'])}: {self.chance(first['chance'])}."
        if kind == "healthy":
            sound = self.chance(self.data["healthy_chance"])
            return f"No fault shows in what was read and seen so far: {sound}."
        return "Can't tell yet: take these two." if kind == "take_two" else "Can't tell yet."

    @property
    def two_checks(self) -> bool:
        """Whether to show two checks because one will hardly decide."""
        return undecided(self.data, self.suspects) and bool(self.data["other_checks"])

    def rest(self, kept: Sequence[Data]) -> str:
        """Return what is left beside the suspects shown: nothing wrong, something not listed, the others."""
        rest = [
            f"no fault at all: {self.chance(self.data['healthy_chance'])}",
            f"something not listed: {self.chance(self.data['not_listed_chance'])}",
        ]
        others = [one for one in self.suspects if one not in kept and one["chance"] >= SHORT]
        rest += [f"{self.name(one['fault'])}: {self.chance(one['chance'])}" for one in others[:3]]
        return "Besides: " + "; ".join(rest) + "."

    def usual(self, one: Data) -> str:
        """Return the reason of a suspect that no reading moved: how often such units have it."""
        prior = one.get("prior")
        if not prior:
            return "its readings fit no machine as well as they fit an instrument that is off"
        share = percent(prior["chance"])
        return f"{share} of calls on such units have it; nothing read or seen so far moved it much"

    def severity(self, one: Data) -> str:
        """Return how bad it would be, with its band; empty without numbers or without degrees."""
        severity = one.get("severity")
        if not self.numbers or not severity:
            return ""
        unit = str(severity["unit"])
        dimension = next((kind for start, kind in _DIFFERENCES.items() if unit.startswith(start)), "fraction")
        meaning = unit.removeprefix("fraction").removeprefix("Pa").removeprefix("K").strip()
        band = between(self.preference, max(severity["low"], 0.0), severity["high"], dimension)
        return f"{shown(self.preference, severity['mean'], dimension)} {meaning} ({band})"

    def reason(self, reason: Data) -> str:
        """Return one item of evidence: what was read and what it should be, or what was seen."""
        item, observed = reason["item"], reason["observed"]
        weight = f" [x {exp(reason['delta_nats']):.2g}]" if self.numbers else ""
        if item in _CIRCUMSTANCES:
            words = _CIRCUMSTANCES[item]
            return f"{title(self.book, item)}: {words.get(observed, observed)}{weight}"
        if isinstance(observed, str):
            return f"{title(self.book, item)}: {answer(self.book, item, observed)}{weight}"
        dimension = self.book.place(item).dimension
        parts = [f"{title(self.book, item)} {shown(self.preference, observed, dimension)}"]
        if reason["normal"] is not None:
            parts.append(f"normal is {shown(self.preference, reason['normal'], dimension)}")
        if reason["expected"] is not None:
            parts.append(f"with this {shown(self.preference, reason['expected'], dimension)}")
        return ", ".join(parts) + weight

    @property
    def kept(self) -> list[Data]:
        """The suspects to tell in full, likeliest first."""
        return [one for one in self.suspects if one["chance"] >= LEAST_CHANCE][:MOST_SUSPECTS]

    def because(self, one: Data) -> list[str]:
        """Return why a suspect is one: what was read and seen, or how common it is. one: the suspect."""
        reasons = strong(one["why"])[: 1 if one["chance"] < SHORT else None]
        return [self.reason(reason) for reason in reasons] or [self.usual(one)]

    def but(self, one: Data) -> list[str]:
        """Return what speaks against a suspect, the two heaviest. one: the suspect."""
        against = strong(one["against"], speaking_against=True)
        return [self.reason(reason) for reason in against[: 0 if one["chance"] < SHORT else 2]]

    def outcomes(self, check: Data) -> Iterator[tuple[str, str]]:
        """Yield (outcome, whom it points to): the likeliest, those that mean the same told once.

        check: as in ``next_check``. What the outcomes share is left out.
        """
        borders = {item["item"]: item.get("as_expected") for item in check["looks_at"]}
        named = [one for one in check["outcomes"] if "anything" not in one["seen"]]
        likely = [one for one in named if one["chance"] >= _LEAST_OUTCOME][:_OUTCOMES]
        shared = {item for item in borders if len({one["seen"].get(item) for one in likely}) == 1}
        telling = set(borders) - shared if len(likely) > 1 else set(borders)
        told: set[str] = set()
        for outcome in likely:
            parts = [(item, part) for item, part in outcome["seen"].items() if item in telling]
            seen = "; ".join(self.seen(item, part, borders.get(item)) for item, part in parts)
            often = f" ({percent(outcome['chance'])})" if self.numbers else ""
            then = self.then(outcome["then"])
            if then not in told or self.numbers:
                yield f"{seen or 'anything'}{often}", then
            told.add(then)

    def seen(self, item: str, part: str, borders: Mapping[str, float] | None) -> str:
        """Return one outcome of one thing looked at, a reading with its borders in the person's units."""
        name = self.full_name(item)
        if borders is None or item not in self.book.places:
            return f"{name}: {answer(self.book, item, part)}"
        dimension = self.book.place(item).dimension
        low, high = (shown(self.preference, borders[end], dimension) for end in ("low", "high"))
        words = {"low": f"under {low}", "high": f"over {high}"}
        inside = between(self.preference, borders["low"], borders["high"], dimension)
        return f"{name} {words.get(part) or inside}"

    def then(self, then: Sequence[Data]) -> str:
        """Return whom an outcome would point to: the first, and the second when it is not far behind."""
        if not then or then[0]["fault"] == "not_listed" or then[0]["chance"] < _SECOND:
            return "no suspect stands out"
        pointed = [then[0], *(one for one in then[1:2] if one["chance"] >= _SECOND)]
        return ", ".join(f"{self.name(one['fault'])} {self.chance(one['chance'])}" for one in pointed)

    def missing(self, flag: Data) -> str:
        """Return in brackets what a guard still waits for; flag: as in ``flags``."""
        seen = [
            f"{self.full_name(item)}: {answer(self.book, item, value)}" for item, value in flag["against"]
        ]
        open_ones = [f"not looked: {self.full_name(item)}" for item in flag["missing"]]
        return f" (now {'; '.join([*seen, *open_ones])})" if seen or open_ones else ""


def sentence(text: str) -> str:
    """Return ``text`` with its first letter large."""
    return text[:1].upper() + text[1:]
