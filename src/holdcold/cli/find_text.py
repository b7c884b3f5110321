"""A finding in a technician's words: suspects, what to do next, what is held back, what was read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import exp
from typing import Any, Final

from holdcold.answers.compared import compared
from holdcold.answers.verdict import (
    LEAST_CHANCE,
    MOST_SUSPECTS,
    SHORT,
    TOGETHER,
    grouped,
    strong,
    undecided,
    verdict,
)
from holdcold.cli.common import Desk
from holdcold.cli.tables import table
from holdcold.cli.words import (
    answer,
    between,
    chance_words,
    lower,
    minutes,
    paragraph,
    percent,
    saturation,
    short_title,
    shown,
    title,
)
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.diagnosis.explain import in_words
from holdcold.diagnosis.find import Finding

_MOST_ODD: Final = 5
_OUTCOMES: Final = 4
_LEAST_OUTCOME: Final = 0.02
_SECOND: Final = 0.15
_ARROW: Final = "\N{RIGHTWARDS ARROW}"
_STATES: Final = {"running": "it runs", "cycling": "it stops and starts", "off": "it stands still"}
_COMPLAINTS: Final = {
    "warm": "box warm", "iced": "coil iced", "not_running": "not running",
    "short_cycling": "stops and starts", "noisy": "noisy", "leak": "leaking", "none": "none",
}  # fmt: skip
_TRENDS: Final = {"falling": "falling", "steady": "steady", "rising": "rising"}
_CIRCUMSTANCES: Final = {"state": _STATES, "complaint": _COMPLAINTS, "box_trend": _TRENDS}
_WHERE: Final = {
    "D": "at the door or by phone", "B": "in the box", "P": "at the panel", "U": "at the condensing unit",
    "C": "refrigerant circuit opened",
}  # fmt: skip
_DIFFERENCES: Final = {"Pa": "pressure_difference", "K": "temperature_difference"}

Data = Mapping[str, Any]


class Page:
    """Writes one finding for a person.

    at: units. finding: as found. data: the same as plain data. numbers: chances and severities too.
    """

    def __init__(self, at: Desk, finding: Finding, data: Data, *, numbers: bool) -> None:
        self.at = at
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
            return f"{_sentence(first['title'])}: {self.chance(first['chance'])}."
        if kind == "healthy":
            sound = self.chance(self.data["healthy_chance"])
            return f"No fault shows in what was read and seen so far: {sound}."
        return "Can't tell yet: take these two." if kind == "take_two" else "Can't tell yet."

    @property
    def two_checks(self) -> bool:
        """Whether to show two checks because one will hardly decide."""
        return undecided(self.data, self.suspects) and bool(self.data["other_checks"])

    def suspect_lines(self) -> Iterator[str]:
        """Yield up to three suspects: chance in words, because, what speaks against, what would kill it."""
        kept = [one for one in self.suspects if one["chance"] >= LEAST_CHANCE][:MOST_SUSPECTS]
        for number, one in enumerate(kept, start=1):
            yield f"{number}. {_sentence(one['title'])}: {self.chance(one['chance'])}{self._severity(one)}"
            short = one["chance"] < SHORT
            reasons = strong(one["why"])[: 1 if short else None]
            yield from self._reasons("because", reasons)
            if not reasons:
                yield line("because", self._usual(one))
            against = strong(one["against"], speaking_against=True)
            yield from self._reasons("but", against[: 0 if short else 2])
            yield line("killed by", str(one["would_kill_it"]))
        if not kept:
            yield "   None of the faults known here is likely."
        yield self._rest(kept)

    def _rest(self, kept: Sequence[Data]) -> str:
        """Return what is left beside the suspects shown: nothing wrong, something not listed, the others."""
        rest = [
            f"no fault at all: {self.chance(self.data['healthy_chance'])}",
            f"something not listed: {self.chance(self.data['not_listed_chance'])}",
        ]
        others = [one for one in self.suspects if one not in kept and one["chance"] >= 0.1]
        rest += [f"{self.name(one['fault'])}: {self.chance(one['chance'])}" for one in others[:3]]
        return paragraph("", "Besides: " + "; ".join(rest) + ".", indent=3, label_width=0)

    def _usual(self, one: Data) -> str:
        """Return the reason of a suspect that no reading moved: how often such units have it."""
        prior = one.get("prior")
        if not prior:
            return "its readings fit no machine as well as they fit an instrument that is off"
        share = percent(prior["chance"])
        return f"{share} of calls on such units have it; nothing read or seen so far moved it much"

    def _severity(self, one: Data) -> str:
        """Return how bad it would be, with its band; empty without numbers or without degrees."""
        severity = one.get("severity")
        if not self.numbers or not severity:
            return ""
        unit = str(severity["unit"])
        dimension = next((kind for start, kind in _DIFFERENCES.items() if unit.startswith(start)), "fraction")
        meaning = unit.removeprefix("fraction").removeprefix("Pa").removeprefix("K").strip()
        band = between(self.at, max(severity["low"], 0.0), severity["high"], dimension)
        return f"\n   severity  {shown(self.at, severity['mean'], dimension)} {meaning} ({band})"

    def _reasons(self, label: str, reasons: Sequence[Data]) -> Iterator[str]:
        for number, reason in enumerate(reasons):
            yield line("" if number else label, self.reason(reason))

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
        parts = [f"{title(self.book, item)} {shown(self.at, observed, dimension)}"]
        if reason["normal"] is not None:
            parts.append(f"normal is {shown(self.at, reason['normal'], dimension)}")
        if reason["expected"] is not None:
            parts.append(f"with this {shown(self.at, reason['expected'], dimension)}")
        return ", ".join(parts) + weight

    def check_lines(self, check: Data, label: str, *, outcomes: bool = True) -> Iterator[str]:
        """Yield a check: minutes and place, how, what it tells apart, what each outcome would mean, cautions.

        check: as in ``next_check``. label: what to call it. outcomes: whether to say what each would mean.
        """
        wait = f" and {minutes(check['wait_minutes'])} of waiting" if check["wait_minutes"] else ""
        where = " and ".join(_WHERE[place] for place in check["place"])
        doing = f"{lower(check['title'])} ({minutes(check['own_minutes'])} of work{wait}, {where})"
        yield paragraph("", f"{label}: {doing}", indent=0, label_width=0)
        yield line("how", check["how"])
        if check["why"]:
            names = "; ".join(self.name(fault) for fault in check["why"])
            yield line("tells of", names)
        if outcomes:
            yield from self._outcomes(check)
        if check["leaves_temporary_state"]:
            yield line("put back", "it leaves a temporary state: note it, undo it, see that it is undone")
        if check["who_not"]:
            yield line("not by", check["who_not"])
        yield from self.cautions(check["cautions"])

    def cautions(self, cautions: Sequence[Data]) -> Iterator[str]:
        """Yield the usual cautions of a check or repair."""
        for caution in cautions:
            yield line("caution", caution["text"])

    def _outcomes(self, check: Data) -> Iterator[str]:
        """Yield the likeliest outcomes, what they share left out, and those that mean the same told once."""
        borders = {item["item"]: item.get("as_expected") for item in check["looks_at"]}
        named = [one for one in check["outcomes"] if "anything" not in one["seen"]]
        likely = [one for one in named if one["chance"] >= _LEAST_OUTCOME][:_OUTCOMES]
        shared = {item for item in borders if len({one["seen"].get(item) for one in likely}) == 1}
        telling = set(borders) - shared if len(likely) > 1 else set(borders)
        told: set[str] = set()
        for outcome in likely:
            parts = [(item, part) for item, part in outcome["seen"].items() if item in telling]
            seen = "; ".join(self._seen(item, part, borders.get(item)) for item, part in parts)
            often = f" ({percent(outcome['chance'])})" if self.numbers else ""
            then = self._then(outcome["then"])
            if then not in told or self.numbers:
                yield line("" if told else "if", f"{seen or 'anything'}{often} {_ARROW} {then}")
            told.add(then)

    def _seen(self, item: str, part: str, borders: Mapping[str, float] | None) -> str:
        """Return one outcome of one thing looked at, a reading with its borders in the person's units."""
        name = self.full_name(item)
        if borders is None or item not in self.book.places:
            return f"{name}: {answer(self.book, item, part)}"
        dimension = self.book.place(item).dimension
        low, high = (shown(self.at, borders[end], dimension) for end in ("low", "high"))
        words = {"low": f"under {low}", "high": f"over {high}"}
        return f"{name} {words.get(part) or between(self.at, borders['low'], borders['high'], dimension)}"

    def _then(self, then: Sequence[Data]) -> str:
        """Return whom an outcome would point to: the first, and the second when it is not far behind."""
        if not then or then[0]["fault"] == "not_listed" or then[0]["chance"] < _SECOND:
            return "no suspect stands out"
        pointed = [then[0], *(one for one in then[1:2] if one["chance"] >= _SECOND)]
        return ", ".join(f"{self.name(one['fault'])} {self.chance(one['chance'])}" for one in pointed)

    def next_lines(self) -> Iterator[str]:
        """Yield what to do next: act, or the check (two when one will hardly decide)."""
        act, check = self.data["act"], self.data["next_check"]
        if act["enough"]:
            yield from self._act_lines(act)
            return
        if check is None:
            yield f"Next: {act['reason']}"
            return
        if self.two_checks:
            yield from self.check_lines(check, "Take first")
            yield from self.check_lines(self.data["other_checks"][0], "Then", outcomes=False)
        else:
            yield from self.check_lines(check, "Next")
        yield line("act?", str(act["reason"]))

    def _act_lines(self, act: Data) -> Iterator[str]:
        repair = act["repair"]
        where = _WHERE[repair["place"]]
        doing = f"{lower(repair['title'])} ({minutes(repair['minutes'])} of work, {where})"
        yield paragraph("", f"Enough to act: {doing}", indent=0, label_width=0)
        if self.suspects and act["first"] not in self.suspects[0]["faults"]:
            yield line("why first", "quicker to put right or to rule out than what is likelier")
        yield line("why now", "no check still open would shorten the way to a finished repair")
        proof = self.book.check(repair["proof"])
        yield line("proof", f"{lower(proof.title)}: {lower(proof.how)}")
        for question in repair["ask_before_closing"]:
            yield line("ask", f"before closing: {question}")
        yield from self._after(act["first"])
        yield from self.cautions(repair["cautions"])

    def _after(self, first: str) -> Iterator[str]:
        """Yield what is likely besides and comes after the first repair."""
        for one in self.suspects:
            if one["chance"] >= TOGETHER and first not in one["faults"]:
                yield line(
                    "then", f"read again: {self.name(one['fault'])} stays {self.chance(one['chance'])}"
                )

    def held_lines(self) -> Iterator[str]:
        """Yield the guards that hold a verdict back, each with what lifts it and how to set it aside."""
        for flag in self.data["flags"]:
            if flag["kind"] == "override":
                yield line("set aside", f"{flag['guard']}: {flag['text']}")
            likely = {one["fault"] for one in self.data["suspects"] if one["chance"] >= SHORT}
            held = [fault for fault in flag.get("withholds", ()) if fault in likely]
            if flag["kind"] != "guard" or not held:
                continue
            yield f"Held back: {', '.join(self.name(fault) for fault in held)}"
            yield line("guard", f"{flag['text']} {flag['why']}")
            yield line("lifted by", f"{flag['lifts']}{self._missing(flag)}")
            if self.book.guard(flag["guard"]).override:
                yield line(
                    "set aside",
                    f'only with a reason that stays on record: [[override]] guard = "{flag["guard"]}", '
                    'reason = "..." in the call file',
                )

    def _missing(self, flag: Data) -> str:
        seen = [
            f"{self.full_name(item)}: {answer(self.book, item, value)}" for item, value in flag["against"]
        ]
        open_ones = [f"not looked: {self.full_name(item)}" for item in flag["missing"]]
        return f" (now {'; '.join([*seen, *open_ones])})" if seen or open_ones else ""

    def odd_lines(self, *kinds: str) -> Iterator[str]:
        """Yield what is odd about the call itself; kinds: of flags, ``impossible`` for example."""
        for flag in self.data["flags"]:
            if flag["kind"] in kinds and "advice" in flag:
                yield paragraph(flag["kind"], f"{flag['text']}. {flag['advice']}", label_width=12)

    def out_of_place(self) -> Iterator[str]:
        """Yield the readings that are not as they should be, the farthest off first."""
        off = sorted((one for one in self.compared if one.is_off), key=lambda one: -abs(one.sigmas))
        for number, one in enumerate(off[:_MOST_ODD]):
            dimension = self.book.place(one.place).dimension
            read, band = shown(self.at, one.value, dimension), between(self.at, one.low, one.high, dimension)
            text = f"{self.full_name(one.place)} {one.verdict}: {read}, should read {band}"
            yield paragraph("" if number else "Out of place", text, indent=0, label_width=14)
        if self.compared and not off:
            yield "Every reading taken is as it should be."

    def reading_lines(self) -> Iterator[str]:
        """Yield the table of what was read beside what this unit should read now."""
        rows = []
        medium = self.finding.case.normal.unit.fluid
        for one in self.compared:
            dimension = self.book.place(one.place).dimension
            name = title(self.book, one.place) + (" (worked out)" if one.worked_out else "")
            beside = saturation(self.at, medium, one.place, one.value) if dimension == "pressure" else ""
            band = between(self.at, one.low, one.high, dimension)
            rows.append((name, shown(self.at, one.value, dimension), band, one.verdict, beside))
        if rows:
            yield table(rows, ("reading and place", "read", "should read", "", ""), right=(1,))


def line(label: str, text: str) -> str:
    """Return text as one labelled line below a suspect, check or guard, wrapped; the label may be empty."""
    return paragraph(label, text, indent=3)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
