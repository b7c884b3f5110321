"""The demo in a technician's words: units, steps, what each step taught, repairs and proofs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from holdcold.answers.compared import Compared, compared
from holdcold.calls import CallLog, Reading
from holdcold.cards import Resolved
from holdcold.cli.common import Desk
from holdcold.cli.demo_story import Episode, Step
from holdcold.cli.find import Answer
from holdcold.cli.find_text import Page
from holdcold.cli.normal import may_leak_kg
from holdcold.cli.tables import table
from holdcold.cli.words import (
    answer,
    between,
    heading_of,
    lower,
    minutes,
    paragraph,
    short_title,
    shown,
    title,
    unit_cautions,
)
from holdcold.cycle import axes
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.explain import in_words
from holdcold.diagnosis.normal import Normal
from holdcold.diagnosis.problem import Case

_USUAL: Final = (
    "suction_pa_service_valve",
    "discharge_pa",
    "coil_superheat_k",
    "discharge_line_k",
    "coil_air_drop_k",
)
_SEALED: Final = ("discharge_line_k", "liquid_k_condenser_outlet", "coil_air_drop_k", "compressor_a")
_NAMED: Final = 0.02
_MOST_NAMED: Final = 3
_MOVED: Final = 0.10
_MOST_OFF: Final = 4
_ADVANCE: Final = (
    "Everything above is invented except the physics: the readings were computed for units with known "
    "faults and given the errors of real instruments."
)
_FURTHER: Final = (
    ("holdcold card new", "describe a unit of your own: five questions"),
    ("holdcold normal my-unit.toml --ambient 95F --box 38F", "what it should read now"),
    ("holdcold find my-unit.toml my-call.toml", "what your readings say; docs/call.md shows a call"),
    ("README.md, docs/cli.md", "a tour, and every command"),
)


@dataclass(frozen=True, slots=True)
class Proof:
    """The last step of an episode: the call on the mended unit, and what the unit should read then."""

    call: CallLog
    case: Case


@dataclass(frozen=True, slots=True)
class Told:
    """One episode: answers of its steps but the last, and the proof that the last one is."""

    episode: Episode
    resolved: Resolved
    answers: tuple[Answer, ...]
    proof: Proof


def demo_text(at: Desk, told: Sequence[Told]) -> str:
    """Return the whole demo as text; at: units; told: its episodes."""
    parts = ["A small dairy with a farm shop. Demonstration data: people, place and numbers are invented."]
    for number, one in enumerate(told, start=1):
        here = Desk(at.as_json, at.preference.at(one.resolved.card.ambient_pa))
        parts += [
            "",
            f"{number}. {one.episode.title}",
            "=" * (len(one.episode.title) + 3),
            *_unit_lines(here, one),
        ]
        for index in range(len(one.answers)):
            parts += ["", *step_lines(here, one, index)]
        parts += ["", *proof_lines(here, one)]
        parts += ["", paragraph("Truth", _truth(here, one.episode), indent=0, label_width=8)]
    parts += ["", paragraph("", _ADVANCE, indent=0, label_width=0), "", "Where to go next:", table(_FURTHER)]
    return "\n".join(parts)


def _unit_lines(at: Desk, told: Told) -> Iterator[str]:
    """Yield the unit, its story, and what it should read as it stands."""
    found = told.answers[0].finding.case.normal
    yield paragraph("", told.episode.story, indent=0, label_width=0)
    yield paragraph(
        "",
        f"{heading_of(told.resolved.card)}. {_should_read(at, found, told.resolved)}",
        indent=0,
        label_width=0,
    )
    for caution in unit_cautions(told.resolved):
        yield paragraph("Caution", caution, indent=0, label_width=9)


def _should_read(at: Desk, found: Normal, resolved: Resolved) -> str:
    """Return the few readings a technician would hold in mind, with their bands."""
    book = catalogue()
    places = _SEALED if resolved.card.flag("charge.ports") is False else _USUAL
    parts = []
    for place in places:
        band = found.readings[place]
        width = between(at, band.low, band.high, book.place(place).dimension)
        parts.append(f"{lower(short_title(book, place))} {width}")
    air = [
        shown(at, value, "temperature", 0) for value in (found.conditions.ambient_k, found.conditions.box_k)
    ]
    return f"With {air[0]} on the condenser and {air[1]} in the box it should read: {'; '.join(parts)}."


def step_lines(at: Desk, told: Told, index: int) -> Iterator[str]:
    """Yield one step: what was done, what is out of place, suspects, what moved, what to do next.

    at: units. told: the episode. index: number of the step, from 0.
    """
    step, answered = told.episode.steps[index], told.answers[index]
    page = Page(at, answered.finding, answered.data, numbers=False)
    new = answered.call.readings
    if index and not step.fresh:
        new = new[len(told.answers[index - 1].call.readings) :]
    yield from _done(at, step, index, new, page.compared)
    yield _line("suspects", _suspects(page))
    if index:
        yield from _moved(page, told.answers[index - 1], step)
    yield from _next(page, answered)


def _done(
    at: Desk, step: Step, index: int, new: Sequence[Reading], rows: Sequence[Compared]
) -> Iterator[str]:
    """Yield what was done in a step, what was read, and what of it is out of place."""
    yield paragraph("", f"Step {index + 1}. {step.title}", indent=0, label_width=0)
    yield paragraph("", step.told, indent=3, label_width=0)
    if new:
        yield _line("read", "; ".join(_read(at, reading) for reading in new))
        yield _line("off", _off(at, rows) or "nothing: every reading is as it should be")


def _line(label: str, text: str) -> str:
    return paragraph(label, text, indent=3)


def _name(name: str) -> str:
    return lower(short_title(catalogue(), name))


def _read(at: Desk, reading: Reading) -> str:
    """Return a reading as it was typed, or in the units asked for when they are others."""
    text = reading.typed if at.preference.name == "us" else shown(at, reading.value_si, reading.dimension)
    return f"{_name(reading.place)} {text}"


def _off(at: Desk, rows: Sequence[Compared]) -> str:
    """Return the readings out of place, the farthest off first."""
    parts = []
    for one in sorted((one for one in rows if one.is_off), key=lambda one: -abs(one.sigmas))[:_MOST_OFF]:
        dimension = catalogue().place(one.place).dimension
        read, band = shown(at, one.value, dimension, 0), between(at, one.low, one.high, dimension)
        parts.append(f"{_name(one.place)} {one.verdict} ({read}; should be {band})")
    return "; ".join(parts)


def _suspects(page: Page) -> str:
    """Return the leading suspects with their chances in words; a healthy machine where it leads."""
    named = [
        (one["chance"], lower(one["title"]) if len(one["faults"]) > 1 else page.name(one["fault"]))
        for one in page.suspects[:_MOST_NAMED]
        if one["chance"] >= _NAMED
    ]
    if page.data["healthy_chance"] >= _NAMED:
        named.append((page.data["healthy_chance"], "no fault"))
    named.sort(key=lambda one: -one[0])
    words = "; ".join(f"{name} {in_words(chance)}" for chance, name in named[:_MOST_NAMED])
    return words or "none stands out"


def _moved(page: Page, before: Answer, step: Step) -> Iterator[str]:
    """Yield what the step taught: the suspects whose chance it changed most."""
    if step.fresh:
        return
    old = {one["fault"]: one["chance"] for one in before.data["suspects"]}
    new = {one["fault"]: one["chance"] for one in page.data["suspects"]}
    changes = sorted(
        ((abs(new.get(fault, 0.0) - old.get(fault, 0.0)), fault) for fault in old.keys() | new.keys()),
        key=lambda one: (-one[0], one[1]),
    )
    parts = []
    for change, fault in changes[:3]:
        was, now = in_words(old.get(fault, 0.0)), in_words(new.get(fault, 0.0))
        if change >= _MOVED and was != now:
            parts.append(f"{page.name(fault)} went from {was} to {now}")
    yield _line("taught", "; ".join(parts) or "nothing new: the chances stayed where they were")


def _next(page: Page, answered: Answer) -> Iterator[str]:
    """Yield what to do next: the check, or the repair with what a guard holds back."""
    act, check = answered.data["act"], answered.data["next_check"]
    if act["enough"]:
        repair = act["repair"]
        proof = lower(title(page.book, repair["proof"]))
        yield _line(
            "act", f"{lower(repair['title'])}, {minutes(repair['minutes'])} of work; proof then: {proof}"
        )
        yield from _held(page)
        for caution in repair["cautions"][:2]:
            yield _line("caution", caution["text"])
    elif check is not None:
        yield _line("next", f"{lower(check['title'])}, {minutes(check['own_minutes'])}")


def proof_lines(at: Desk, told: Told) -> Iterator[str]:
    """Yield the last step: readings as found and as left, and what such a proof could not have seen."""
    rows = compared(told.proof.case)
    yield from _done(at, told.episode.steps[-1], len(told.answers), told.proof.call.readings, rows)
    found = {one.place: one for answered in told.answers for one in compared(answered.finding.case)}
    parts = []
    for one in rows:
        dimension = catalogue().place(one.place).dimension
        if one.place in found and found[one.place].is_off:
            was, now = (shown(at, value, dimension, 0) for value in (found[one.place].value, one.value))
            parts.append(f"{_name(one.place)} was {was}, now {now}, {one.verdict}")
    yield _line("proof", "; ".join(parts))
    hidden_kg = may_leak_kg(told.proof.case.normal)
    if hidden_kg > 0.0:
        amount = shown(at, hidden_kg, "mass", 0)
        yield _line(
            "not shown", f"a charge short by up to about {amount} reads the same: the scale is the proof"
        )


def _held(page: Page) -> Iterator[str]:
    """Yield in one line what a guard holds back, and why."""
    for flag in page.data["flags"]:
        if flag["kind"] == "guard":
            held = ", ".join(page.name(fault) for fault in flag["withholds"])
            against = "; ".join(
                f"{page.full_name(item)} {answer(page.book, item, value)}" for item, value in flag["against"]
            )
            yield _line("held back", f"{held}: {lower(flag['text'])} Now: {against or 'not looked yet'}.")


def _truth(at: Desk, one: Episode) -> str:
    """Return the faults the readings were computed with."""
    parts = []
    for axis, severity in one.steps[0].truth.items():
        unit, _, meaning = axes()[axis][2].partition(" ")
        dimension = {"Pa": "pressure_difference", "K": "temperature_difference"}.get(unit, "fraction")
        parts.append(f"{shown(at, severity, dimension)} {meaning}")
    return f"the readings were computed with {' and with '.join(parts)}."
