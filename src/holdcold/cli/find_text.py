"""A finding in a technician's words: suspects, what to do next, what is held back, what was read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from holdcold.answers.told import WHERE, Told, sentence
from holdcold.answers.verdict import SHORT, TOGETHER
from holdcold.cli.common import Desk
from holdcold.cli.tables import table
from holdcold.cli.words import (
    between,
    lower,
    minutes,
    paragraph,
    saturation,
    shown,
    title,
)
from holdcold.diagnosis.find import Finding

_MOST_ODD: Final = 5
_ARROW: Final = "\N{RIGHTWARDS ARROW}"

Data = Mapping[str, Any]


class Page(Told):
    """Writes one finding for a person at a terminal.

    at: units. finding: as found. data: the same as plain data. numbers: chances and severities too.
    """

    def __init__(self, at: Desk, finding: Finding, data: Data, *, numbers: bool) -> None:
        super().__init__(at.preference, finding, data, numbers=numbers)
        self.at = at

    def suspect_lines(self) -> Iterator[str]:
        """Yield up to three suspects: chance in words, because, what speaks against, what would kill it."""
        for number, one in enumerate(self.kept, start=1):
            yield f"{number}. {sentence(one['title'])}: {self.chance(one['chance'])}"
            severity = self.severity(one)
            if severity:
                yield f"   severity  {severity}"
            yield from _lines("because", self.because(one))
            yield from _lines("but", self.but(one))
            yield line("killed by", str(one["would_kill_it"]))
        if not self.kept:
            yield "   None of the faults known here is likely."
        yield paragraph("", self.rest(self.kept), indent=3, label_width=0)

    def check_lines(self, check: Data, label: str, *, outcomes: bool = True) -> Iterator[str]:
        """Yield a check: minutes and place, how, what it tells apart, what each outcome would mean, cautions.

        check: as in ``next_check``. label: what to call it. outcomes: whether to say what each would mean.
        """
        wait = f" and {minutes(check['wait_minutes'])} of waiting" if check["wait_minutes"] else ""
        where = " and ".join(WHERE[place] for place in check["place"])
        doing = f"{lower(check['title'])} ({minutes(check['own_minutes'])} of work{wait}, {where})"
        yield paragraph("", f"{label}: {doing}", indent=0, label_width=0)
        yield line("how", check["how"])
        if check["why"]:
            names = "; ".join(self.name(fault) for fault in check["why"])
            yield line("tells of", names)
        if outcomes:
            for number, (seen, then) in enumerate(self.outcomes(check)):
                yield line("" if number else "if", f"{seen} {_ARROW} {then}")
        if check["leaves_temporary_state"]:
            yield line("put back", "it leaves a temporary state: note it, undo it, see that it is undone")
        if check["who_not"]:
            yield line("not by", check["who_not"])
        yield from self.cautions(check["cautions"])

    def cautions(self, cautions: Sequence[Data]) -> Iterator[str]:
        """Yield the usual cautions of a check or repair."""
        for caution in cautions:
            yield line("caution", caution["text"])

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
        where = WHERE[repair["place"]]
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
            yield line("lifted by", f"{flag['lifts']}{self.missing(flag)}")
            if self.book.guard(flag["guard"]).override:
                yield line(
                    "set aside",
                    f'only with a reason that stays on record: [[override]] guard = "{flag["guard"]}", '
                    'reason = "..." in the call file',
                )

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


def _lines(label: str, texts: Sequence[str]) -> Iterator[str]:
    for number, text in enumerate(texts):
        yield line("" if number else label, text)


def line(label: str, text: str) -> str:
    """Return text as one labelled line below a suspect, check or guard, wrapped; the label may be empty."""
    return paragraph(label, text, indent=3)
