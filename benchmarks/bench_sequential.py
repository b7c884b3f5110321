"""Calls drawn at random and followed to the finished repair: minutes, wrong repairs, honesty of the chances.

Run: python benchmarks/bench_sequential.py [calls] [seed]. Faults are drawn from the priors of three units,
severities from their ladders, the machine from the spreads of its card, model and instrument errors and
every answer drawn too; a wrong repair costs what it costs and the call goes on. Costs are the catalogue's
minutes of paid time; a call that ends without a repair costs what such a call costs.
"""

from __future__ import annotations

import itertools
import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from holdcold.cards import Resolved
from holdcold.cycle import Design, build
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.circumstances import circumstances
from holdcold.diagnosis.evidence import Situation
from holdcold.diagnosis.hypotheses import Hypotheses, hypotheses
from holdcold.diagnosis.normal import model_sigma, normal
from holdcold.diagnosis.predict import INPUTS
from holdcold.diagnosis.problem import conditions_of
from holdcold.errors import InputError
from support.calls import COOLER, FREEZER, REACH_IN, Story, Truth, follow, solved_once, unit

CARDS = {"cooler": COOLER, "freezer": FREEZER, "reach-in": REACH_IN}
MOST_CHECKS = 15
BINS = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0001)


@dataclass(frozen=True)
class Outcome:
    """One call, without what was believed on the way (that fills the memory).

    card: the unit. faults: what was wrong. finished, repairs, checks, minutes: how it went. cost: in all
    [min of paid time]. said: chance of each suspect before the first repair, and whether it was there.
    seconds: processor time.
    """

    card: str
    faults: tuple[str, ...]
    finished: bool
    repairs: tuple[str, ...]
    checks: tuple[str, ...]
    minutes: float
    cost: float
    said: tuple[tuple[float, bool], ...]
    seconds: float


def listed(resolved: Resolved) -> Hypotheses:
    """Return the hypotheses of a unit."""
    pieces = {"coil_fans": resolved.design.coil_fans, "condenser_fans": resolved.design.condenser_fans}
    return hypotheses(catalogue(), resolved.unit_facts(), pieces)


def drawn_design(resolved: Resolved, draw: random.Random) -> Design:
    """Return a machine the card leaves possible; draws that no machine can be are drawn again."""
    for _ in range(100):
        facts = {
            fact.name: min(max(draw.gauss(fact.value_si, fact.spread_si), fact.least_si), fact.most_si)
            for fact in resolved.uncertain()
        }
        try:
            design = resolved.design_with(facts)
            build(design)
            return design
        except InputError:
            continue
    return resolved.design


def drawn_truth(name: str, draw: random.Random) -> Truth:
    """Return a call drawn from the priors of a unit: something is wrong on it."""
    resolved = unit(CARDS[name])
    found = listed(resolved)
    keys = [key for key in found.priors if key]
    (key,) = draw.choices(keys, [found.priors[key] for key in keys])
    faults = {
        fault: draw.choices(found.ladders[fault].nodes, found.ladders[fault].weights)[0] for fault in key
    }
    design = resolved.design
    tables = circumstances()
    still = any(found.faults[fault].axis == "not_running" for fault in key)
    row = tables.complaint["not_running" if still else "machine"]
    truth = Truth(
        resolved,
        faults,
        ambient_k=design.rated_ambient_k - draw.uniform(0.0, 12.0),
        box_k=design.set_point_k + draw.uniform(2.0, 8.0),
        design=drawn_design(resolved, draw),
        complaint=draw.choices(tables.complaints, row)[0],  # type: ignore[arg-type]
    )
    usual = normal(resolved, conditions_of(_situation(truth), resolved)).point.readings
    astray = {
        place: draw.gauss(0.0, model_sigma(place, value, device=design.expansion))
        for place, value in usual.items()
        if place not in INPUTS
    }
    return replace(truth, astray=astray)


def _situation(truth: Truth) -> Situation:
    """Return the measured surroundings in the form the room asks for."""
    return Situation(truth.ambient_k, truth.box_k)


def cost_of(story: Story, truth: Truth) -> float:
    """Return the minutes of a whole call: checks, every repair tried, and what an unfinished call costs."""
    costs, book = catalogue().costs, catalogue()
    total = story.minutes
    for fault in story.repairs:
        tried, cure = costs.of_repair(book.fault(fault).repair)
        total += tried + (cure if fault in truth.faults else 0.0)
    return total if story.finished else total + costs.unresolved_minutes


def played(calls: int, seed: int) -> list[Outcome]:
    """Return calls followed to their end, the three units in turn."""
    found = []
    for number in range(calls):
        name = list(CARDS)[number % len(CARDS)]
        draw = random.Random(f"{seed}/{number}")
        truth = drawn_truth(name, draw)
        begun = time.process_time()
        with solved_once():
            story = follow(truth, draw, most=MOST_CHECKS)
        found.append(outcome(name, truth, story, time.process_time() - begun))
    return found


def outcome(card: str, truth: Truth, story: Story, seconds: float) -> Outcome:
    """Return what is kept of a call."""
    said = tuple(
        (one.chance, one.fault in truth.faults)
        for step in story.steps
        if step.stage == 0
        for one in step.finding.chances.suspects
    )
    return Outcome(
        card,
        tuple(sorted(truth.faults)),
        story.finished,
        story.repairs,
        story.checks,
        story.minutes,
        cost_of(story, truth),
        said,
        seconds,
    )


def report(outcomes: Sequence[Outcome]) -> None:
    """Print what the calls came to, by unit and in all, and how honest the chances were."""
    print("unit       calls  done 1st right  wrong checks   min   cost")
    for name in [*CARDS, "all"]:
        some = [one for one in outcomes if name in (one.card, "all")]
        if some:
            print(f"{name:10s} {_row(some)}")
    print()
    print("chance said   cases   came true")
    for low, high, count, said, true in reliability(outcomes):
        print(f"{low:4.2f} to {min(high, 1.0):4.2f} {count:7d}   {true:5.2f} (said {said:4.2f})")
    lost = Counter(one.faults for one in outcomes if not one.finished)
    print()
    print(f"not finished: {dict(lost)}")
    print(f"processor seconds per call: median {statistics.median(one.seconds for one in outcomes):.2f}")


def _row(some: Sequence[Outcome]) -> str:
    done = statistics.mean(one.finished for one in some)
    right = statistics.mean(one.repairs[:1] != () and one.repairs[0] in one.faults for one in some)
    wrong = statistics.mean(sum(fault not in one.faults for fault in one.repairs) for one in some)
    checks = statistics.mean(len(one.checks) for one in some)
    minutes = statistics.mean(one.minutes for one in some)
    cost = statistics.mean(one.cost for one in some)
    return f"{len(some):5d} {done:5.2f} {right:9.2f} {wrong:6.2f} {checks:6.1f} {minutes:5.0f} {cost:6.0f}"


def reliability(outcomes: Sequence[Outcome]) -> list[tuple[float, float, int, float, float]]:
    """Return (low, high, cases, mean chance said, share that came true) of every suspect till a repair."""
    cases = [case for outcome in outcomes for case in outcome.said]
    rows = []
    for low, high in itertools.pairwise(BINS):
        inside = [(chance, true) for chance, true in cases if low <= chance < high]
        if inside:
            said, true = (statistics.mean(float(row[at]) for row in inside) for at in (0, 1))
            rows.append((low, high, len(inside), said, true))
    return rows


if __name__ == "__main__":
    arguments = [int(word) for word in sys.argv[1:]]
    report(played(arguments[0] if arguments else 60, arguments[1] if len(arguments) > 1 else 1))
