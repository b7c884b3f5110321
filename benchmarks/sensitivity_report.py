"""How much the answers rest on each prior, spread and epsilon: every one moved, the calls answered again.

Run: python benchmarks/sensitivity_report.py [--write] [--calls N]

Calls: those of examples/, and N drawn ones (6 by default) on random cards. Priors and epsilons are
doubled and halved, spreads scaled by 1.5 and 1/1.5. Printed for each: mean and worst change of the first
suspect's chance, how often another suspect comes first, how often another check is next. With --write
the tables of docs/sensitivity.md are replaced.
"""

from __future__ import annotations

import argparse
import datetime
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass, field, fields, replace
from functools import cache
from pathlib import Path
from unittest import mock

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from holdcold.calls import evidence as evidence_of
from holdcold.calls import read_call
from holdcold.cards import Resolved, read_card, resolve
from holdcold.diagnosis import normal as normal_room
from holdcold.diagnosis import observe, problem
from holdcold.diagnosis.case import NOT_LISTED, HypothesisKey
from holdcold.diagnosis.catalogue import Catalogue, PriorData, Priors, catalogue
from holdcold.diagnosis.circumstances import circumstances
from holdcold.diagnosis.evidence import Evidence
from holdcold.diagnosis.find import Finding, find
from holdcold.diagnosis.hypotheses import hypotheses
from holdcold.diagnosis.observe import instrument_class
from holdcold.quantities.instruments import Instrument, instrument
from support.random_calls import random_call
from support.random_cards import random_unit

ROOT = Path(__file__).resolve().parents[1]
DOCUMENT = ROOT / "docs" / "sensitivity.md"
BEGIN = "<!-- tables: written by benchmarks/sensitivity_report.py -->"
END = "<!-- end of tables -->"
TWICE = (2.0, 0.5)
HALF_AS_MUCH_AGAIN = (1.5, 1.0 / 1.5)
STILL = 0.002
"""A change of priors that moves no chance by this much leaves the next check as it was."""

SHOWN = 15
SEED = 100

Given = tuple[Resolved, Catalogue]


@dataclass(frozen=True)
class Call:
    """One call with the unit it is about, and what the engine makes of it as things are."""

    name: str
    resolved: Resolved
    evidence: Evidence
    finding: Finding

    @property
    def first(self) -> str:
        """The first suspect."""
        return self.finding.chances.suspects[0].fault


@dataclass(frozen=True)
class Knob:
    """Something the answers rest on.

    factors: what it is multiplied by. turn: what the engine is given at a factor, while the context lasts.
    concerns: whether it can matter to a call at all. prior: whether it only moves priors.
    """

    group: str
    name: str
    factors: tuple[float, float]
    turn: Callable[[Given, float], AbstractContextManager[Given]]
    concerns: Callable[[Call], bool] = field(default=lambda _: True)
    prior: bool = False


@dataclass(frozen=True)
class Moved:
    """What turning a knob did to one call: change of the first suspect's chance, what changed, to what."""

    call: str
    factor: float
    change: float
    suspect: bool
    check: bool


# ------------------------------------------------------------------------------ calls


@cache
def book() -> Catalogue:
    """Return the packaged catalogue."""
    return catalogue()


def example_calls() -> Iterator[tuple[str, Resolved, Evidence]]:
    """Yield the calls of examples/ with their cards."""
    for path in sorted((ROOT / "examples").glob("call-*.toml")):
        text = path.read_text(encoding="utf-8")
        name = read_call(text, catalogue=book()).card
        resolved = resolve(read_card((ROOT / "examples" / name).read_text(encoding="utf-8")))
        call = read_call(text, catalogue=book(), ambient_pa=resolved.card.ambient_pa)
        yield path.stem, resolved, evidence_of(call, resolved.design.supply_v)


def drawn_calls(count: int) -> Iterator[tuple[str, Resolved, Evidence]]:
    """Yield calls drawn on random cards, every third with a nearly empty receiver."""
    for seed in range(SEED, SEED + count):
        resolved = random_unit(seed, near_empty=seed % 3 == 0)
        yield f"drawn {seed}", resolved, random_call(resolved, seed).evidence


def calls(count: int) -> list[Call]:
    """Return every call, answered as things are."""
    told = [*example_calls(), *drawn_calls(count)]
    return [Call(name, resolved, seen, find(resolved, seen, book())) for name, resolved, seen in told]


# ------------------------------------------------------------------------------ knobs


@dataclass(frozen=True)
class ScaledPriors(PriorData):
    """Priors of which some are multiplied and all scaled to sum to 1 again.

    factors: by fault id, ``none``, ``not_listed``, or ``two at once``.
    """

    factors: Mapping[str, float] = field(default_factory=dict)

    def priors_for(self, *asked: object) -> Priors:
        """Return the priors of a unit, moved."""
        base = PriorData.priors_for(self, *asked)  # type: ignore[arg-type]
        by = self.factors
        faults = {name: chance * by.get(name, 1.0) for name, chance in base.faults.items()}
        none, unlisted = base.none * by.get("none", 1.0), base.not_listed * by.get(NOT_LISTED[0], 1.0)
        total = sum(faults.values()) + none + unlisted
        both = min(0.9, base.together.chance * by.get("two at once", 1.0))
        return replace(
            base,
            faults={name: chance / total for name, chance in faults.items()},
            none=none / total,
            not_listed=unlisted / total,
            together=replace(base.together, chance=both),
        )


def with_priors(known: Catalogue, factors: Mapping[str, float]) -> Catalogue:
    """Return a catalogue whose priors are multiplied by ``factors``."""
    data = {one.name: getattr(known.prior_data, one.name) for one in fields(PriorData)}
    return replace(known, prior_data=ScaledPriors(**data, factors=factors))


def prior_knob(name: str, group: str = "prior") -> Knob:
    """Return the knob of one prior."""

    @contextmanager
    def turn(given: Given, factor: float) -> Iterator[Given]:
        yield given[0], with_priors(given[1], {name: factor})

    def concerns(call: Call) -> bool:
        listed = call.finding.case.hypotheses.faults
        return name in listed or name in ("none", "two at once", NOT_LISTED[0])

    return Knob(group, name, TWICE, turn, concerns, prior=True)


def instrument_knob(name: str, group: str, factors: tuple[float, float], change: str) -> Knob:
    """Return the knob of a class of instruments (all of them when ``name`` is empty).

    change: ``"spread"`` for noise and bias, ``"lie"`` for the chance of being plain wrong.
    """

    def changed(kind: Instrument, factor: float) -> Instrument:
        if name and kind.id != name:
            return kind
        if change == "lie":
            return replace(kind, lie_chance=min(0.4, kind.lie_chance * factor))
        return replace(
            kind,
            sigma_floor=kind.sigma_floor * factor,
            sigma_gain=kind.sigma_gain * factor,
            bias_floor=kind.bias_floor * factor,
            bias_gain=kind.bias_gain * factor,
        )

    @contextmanager
    def turn(given: Given, factor: float) -> Iterator[Given]:
        with mock.patch.object(observe, "instrument", lambda asked: changed(instrument(asked), factor)):
            yield given

    def concerns(call: Call) -> bool:
        return not name or name in used_instruments(call)

    words = {"spread": name or "every instrument", "lie": "chance that an instrument is plain wrong"}
    return Knob(group, words[change], factors, turn, concerns)


def used_instruments(call: Call) -> set[str]:
    """Return the classes of instruments a call was read with."""
    places = {one.place for one in call.finding.case.observations}
    return {
        instrument_class(reading, book()).id for reading in call.evidence.readings if reading.place in places
    }


def model_knob(place: str) -> Knob:
    """Return the knob of the model's own error at a place (everywhere when it is empty)."""

    @contextmanager
    def turn(given: Given, factor: float) -> Iterator[Given]:
        plain = normal_room.model_sigma

        def scaled(asked: str, *more: float) -> float:
            return plain(asked, *more) * (factor if asked == place or not place else 1.0)

        with ExitStack() as stack:
            stack.enter_context(mock.patch.object(normal_room, "model_sigma", scaled))
            stack.enter_context(mock.patch.object(problem, "model_sigma", scaled))
            yield given

    return Knob(
        "model error",
        place or "everywhere",
        HALF_AS_MUCH_AGAIN,
        turn,
        lambda call: not place or place in told(call),
    )


def told(call: Call) -> set[str]:
    """Return the places a call's readings and sightings speak of."""
    rules = [book().sighting(seen.id).from_reading for seen in call.finding.case.sightings]
    return {one.place for one in call.finding.case.observations} | {rule.reading for rule in rules if rule}


def card_knob(name: str) -> Knob:
    """Return the knob of one fact's spread (of every fact's when it is empty)."""

    @contextmanager
    def turn(given: Given, factor: float) -> Iterator[Given]:
        facts = [
            replace(fact, spread_si=fact.spread_si * factor) if not name or fact.name == name else fact
            for fact in given[0].facts
        ]
        yield replace(given[0], facts=tuple(facts)), given[1]

    return Knob(
        "card spread",
        name or "every fact",
        HALF_AS_MUCH_AGAIN,
        turn,
        lambda call: not name or any(fact.name == name for fact in call.resolved.uncertain()),
    )


def sighting_error_knob() -> Knob:
    """Return the knob of the chance that what was noted is not what was there."""

    @contextmanager
    def turn(given: Given, factor: float) -> Iterator[Given]:
        rows = given[1].sightings
        moved = {name: replace(row, error=min(0.5, row.error * factor)) for name, row in rows.items()}
        yield given[0], replace(given[1], sightings=moved)

    return Knob("epsilon", "chance of a wrong answer to a sighting", TWICE, turn)


def state_error_knob() -> Knob:
    """Return the knob of the chance that state or complaint were noted wrongly."""

    @contextmanager
    def turn(given: Given, factor: float) -> Iterator[Given]:
        moved = replace(circumstances(), error=circumstances().error * factor)
        with mock.patch.object(problem, "circumstances", return_value=moved):
            yield given

    return Knob("epsilon", "chance of a wrong state or complaint", TWICE, turn)


def knobs(every: Sequence[Call]) -> list[Knob]:
    """Return everything that is turned for these calls."""
    faults = sorted({name for call in every for name in call.finding.case.hypotheses.faults})
    kinds = sorted({name for call in every for name in used_instruments(call)})
    places = sorted({name for call in every for name in told(call)})
    facts = sorted({fact.name for call in every for fact in call.resolved.uncertain()})
    return [
        *(prior_knob(name) for name in ("none", "two at once", *faults)),
        *(instrument_knob(name, "instrument", HALF_AS_MUCH_AGAIN, "spread") for name in ("", *kinds)),
        *(model_knob(place) for place in ("", *places)),
        *(card_knob(name) for name in ("", *facts)),
        prior_knob(NOT_LISTED[0], "epsilon"),
        instrument_knob("", "epsilon", TWICE, "lie"),
        sighting_error_knob(),
        state_error_knob(),
    ]


# ----------------------------------------------------------------------------- turning


def turned(knob: Knob, call: Call, factor: float) -> Moved:
    """Return what a call's answer becomes with a knob turned."""
    if not knob.concerns(call):
        return Moved(call.name, factor, 0.0, suspect=False, check=False)
    with knob.turn((call.resolved, book()), factor) as (resolved, known):
        if knob.prior and not matters(call, known):
            return Moved(call.name, factor, 0.0, suspect=False, check=False)
        found = find(resolved, call.evidence, known)
    before = call.finding.chances.suspects[0]
    after = next(one.chance for one in found.chances.suspects if one.fault == before.fault)
    first = found.chances.suspects[0].fault
    return Moved(
        call.name,
        factor,
        after - before.chance,
        suspect=first != before.fault,
        check=step(found) != step(call.finding),
    )


def matters(call: Call, known: Catalogue) -> bool:
    """Say whether moved priors move any chance of a call noticeably: Bayes' rule on its hypotheses."""
    case = call.finding.case
    design = case.resolved.design
    pieces = {"coil_fans": design.coil_fans, "condenser_fans": design.condenser_fans}
    fresh = hypotheses(known, case.facts, pieces)
    before = dict(call.finding.chances.hypotheses)
    ratios: dict[HypothesisKey, float] = {
        key: fresh.priors.get(key, 0.0) / prior * (1.0 - fresh.not_listed)
        for key, prior in case.hypotheses.priors.items()
    }
    scale = (
        sum(case.hypotheses.priors.values()) / sum(fresh.priors.values()) / (1.0 - case.hypotheses.not_listed)
    )
    after = {key: before[key] * ratio * scale for key, ratio in ratios.items()}
    after[NOT_LISTED] = before[NOT_LISTED] * fresh.not_listed / case.hypotheses.not_listed
    total = sum(after.values())
    return max(abs(after[key] / total - before[key]) for key in after) > STILL


def step(found: Finding) -> str:
    """Return what is to be done next: a repair, or the best check."""
    if found.step.enough:
        return f"mend {found.step.act_on}"
    return found.step.ranked[0].id if found.step.ranked else ""


@dataclass(frozen=True)
class Row:
    """What turning one knob both ways did to all calls.

    mean, worst: change of the first suspect's chance. where: of the worst. suspects, checks: how often
    another one came first.
    """

    knob: Knob
    mean: float
    worst: float
    where: str
    suspects: float
    checks: float


def row_of(knob: Knob, every: Sequence[Call]) -> Row:
    """Return what a knob does."""
    moved = [turned(knob, call, factor) for call in every for factor in knob.factors]
    worst = max(moved, key=lambda one: abs(one.change))
    count = len(moved)
    return Row(
        knob,
        sum(abs(one.change) for one in moved) / count,
        abs(worst.change),
        worst.call,
        sum(one.suspect for one in moved) / count,
        sum(one.check for one in moved) / count,
    )


# -------------------------------------------------------------------------------- report


def tables(rows: Sequence[Row], every: Sequence[Call], seconds: float, command: str) -> str:
    """Return the report in Markdown."""
    date = datetime.datetime.now(datetime.UTC).date().isoformat()
    lines = [f"`{command}`, {date}, {seconds / 60.0:.0f} min of processor time.", ""]
    lines += ["| call | first suspect | chance | then |", "|---|---|---|---|"]
    for call in every:
        first = call.finding.chances.suspects[0]
        lines.append(f"| {call.name} | `{first.fault}` | {first.chance:.2f} | `{step(call.finding)}` |")
    for group in dict.fromkeys(row.knob.group for row in rows):
        lines += ["", *group_table(group, [row for row in rows if row.knob.group == group])]
    return "\n".join(lines)


def group_table(group: str, rows: Sequence[Row]) -> list[str]:
    """Return the table of one group, the knobs that move most first."""
    high, low = rows[0].knob.factors
    ranked = sorted(rows, key=lambda row: (-row.mean, -row.checks, row.knob.name))
    lines = [
        f"### {group.capitalize()}: times {high:g} and {low:.2g}",
        "",
        "| | mean change | worst | on | other suspect | other next step |",
        "|---|---|---|---|---|---|",
    ]
    for row in ranked[:SHOWN]:
        where = row.where if row.worst > 0.0 else ""
        shares = f"{100.0 * row.suspects:.0f} % | {100.0 * row.checks:.0f} %"
        lines.append(f"| {row.knob.name} | {row.mean:.3f} | {row.worst:.2f} | {where} | {shares} |")
    left = ranked[SHOWN:]
    if left:
        mean, worst = max(row.mean for row in left), max(row.worst for row in left)
        lines.append(f"| {len(left)} others, each at most | {mean:.3f} | {worst:.2f} | | | |")
    return lines


def main() -> None:
    """Turn every knob on every call and print the report."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--write", action="store_true", help="replace the tables of docs/sensitivity.md")
    parser.add_argument("--calls", type=int, default=6, help="how many drawn calls beside the examples")
    args = parser.parse_args()
    begun = time.process_time()
    every = calls(args.calls)
    rows = []
    for knob in knobs(every):
        rows.append(row_of(knob, every))
        print(f"{knob.group:12s} {knob.name:45s} {rows[-1].mean:.4f} {rows[-1].worst:.3f}", file=sys.stderr)
    command = f"python benchmarks/sensitivity_report.py --write --calls {args.calls}"
    text = tables(rows, every, time.process_time() - begun, command)
    print(text)
    if args.write:
        before = DOCUMENT.read_text(encoding="utf-8")
        head, _, rest = before.partition(BEGIN)
        tail = rest.partition(END)[2]
        DOCUMENT.write_text(f"{head}{BEGIN}\n\n{text}\n\n{END}{tail}", encoding="utf-8")


if __name__ == "__main__":
    main()
