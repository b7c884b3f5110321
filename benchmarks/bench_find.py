"""From a card and a call to suspects and the next check: time of each step over several cards and calls.

Run: python benchmarks/bench_find.py [rounds] [--profile]. Every first answer is on a card never seen before
(its box is a little longer each time), so nothing solved earlier helps. Refrigerants and catalogue are
loaded before the clock starts, as they are once per process. Medians and the slowest, beside the budget.
The clock counts processor time of this process, so that a busy machine does not count as slow code.
Garbage of the step before is collected outside the clock, a step's own inside. *Next check* is the whole
advice: every permitted check with reaching its places, and the best repairs tried first with a check after
them. *Sets* are the cells that read differently: only they cost anything per reading.
"""

from __future__ import annotations

import cProfile
import gc
import pstats
import random
import re
import statistics
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from holdcold.cards import Resolved, read_card, resolve
from holdcold.diagnosis.advice import next_step
from holdcold.diagnosis.evidence import Evidence, ReadingEvidence
from holdcold.diagnosis.find import Finding, find
from holdcold.diagnosis.observe import observations
from holdcold.diagnosis.outcome import describe
from holdcold.diagnosis.posterior import conclude
from holdcold.diagnosis.questions import Outlook
from support.calls import COOLER, FREEZER, PROPANE, REACH_IN, Call, Machine, Truth, kelvin

LOOK = ("box_walk_round", "unit_walk_round")
PORTS = (*LOOK, "gauges", "pipe_clamps", "compressor_amps")
OUTSIDE = (*LOOK, "pipe_clamps", "coil_air", "condenser_air", "compressor_amps")
BUDGETS = {
    "first answer": 1.0,
    "one more reading": 0.020,
    "twelve readings": 0.060,
    "next check": 0.050,
    "describe": None,
}


@dataclass(frozen=True)
class Sample:
    """One call on one kind of unit: faults, checks done, air temperatures [F]."""

    card: str
    faults: Mapping[str, float]
    checks: tuple[str, ...]
    ambient_f: float
    box_f: float


SAMPLES = {
    "cooler, nothing seen": Sample(COOLER, {"low_charge": 0.68}, (), 90.0, 50.0),
    "cooler, looked": Sample(COOLER, {"low_charge": 0.68}, LOOK, 90.0, 50.0),
    "cooler, leak": Sample(COOLER, {"low_charge": 0.68}, PORTS, 90.0, 50.0),
    "cooler, two faults": Sample(COOLER, {"condenser_dirty": 0.5, "low_charge": 0.6}, PORTS, 90.0, 50.0),
    "cooler, off": Sample(COOLER, {"contactor": 1.0}, LOOK, 85.0, 52.0),
    "freezer, heater": Sample(FREEZER, {"defrost_heater": 0.6}, (*LOOK, "coil_air"), 85.0, 8.0),
    "freezer, valve": Sample(FREEZER, {"txv_starving": 0.4}, PORTS, 85.0, 8.0),
    "reach-in, dirt": Sample(REACH_IN, {"condenser_dirty": 0.6}, OUTSIDE, 80.0, 47.0),
    "propane, capillary": Sample(PROPANE, {"capillary_restricted": 0.5}, OUTSIDE, 80.0, 47.0),
}
Result = TypeVar("Result")


@dataclass
class Times:
    """Seconds by step, and sizes of the problem, of one sample over the rounds."""

    seconds: dict[str, list[float]] = field(default_factory=dict)
    cells: int = 0
    sets: int = 0
    hypotheses: int = 0
    solves: int = 0

    def clock(self, step: str, work: Callable[[], Result]) -> Result:
        """Do some work and keep how long it took."""
        gc.collect()
        begun = time.process_time()
        result = work()
        self.seconds.setdefault(step, []).append(time.process_time() - begun)
        return result


def renewed(card: str, number: int) -> Resolved:
    """Return a unit of a card nobody has solved before: its box or its set point is a little different."""
    text = re.sub(
        r'length = "(\d+) ft"', lambda found: f'length = "{int(found[1]) + 0.01 * number} ft"', card
    )
    text = re.sub(
        r'volume = "(\d+) ft3"', lambda found: f'volume = "{int(found[1]) + 0.05 * number} ft3"', text
    )
    return resolve(read_card(text))


def call_of(sample: Sample, resolved: Resolved, number: int) -> Evidence:
    """Return the evidence of a call with instrument errors of its own."""
    truth = Truth(resolved, sample.faults, kelvin(sample.ambient_f), kelvin(sample.box_f))
    return Call(Machine(truth, random.Random(number))).do(*sample.checks).evidence


def more_readings(finding: Finding, count: int) -> list[ReadingEvidence]:
    """Return further readings a technician might type, at the values of a healthy machine."""
    usual = finding.case.normal.point.readings
    places = [place for place in finding.case.places if usual.get(place)]
    return [ReadingEvidence(places[n % len(places)], usual[places[n % len(places)]]) for n in range(count)]


def measured(sample: Sample, rounds: int) -> Times:
    """Return the times of every step over ``rounds`` new cards."""
    times = Times()
    for number in range(1, rounds + 1):
        resolved = renewed(sample.card, number)
        evidence = call_of(sample, resolved, number)
        found = times.clock("first answer", lambda r=resolved, e=evidence: find(r, e))
        case, book = found.case, found.case.catalogue
        more = observations(more_readings(found, 12), case.places, book, ())
        times.clock("one more reading", lambda f=found, m=more: conclude(f.belief.with_reading(m[0])))
        times.clock("twelve readings", lambda f=found, m=more: _all_in(f, m))
        times.clock("next check", lambda f=found: _next(f))
        times.clock("describe", lambda f=found: describe(f))
        times.cells, times.hypotheses = len(found.cells), len(found.problem.priors)
        times.sets = len(found.belief.twins)
        times.solves = len(case.predictor.solved) + 2 * len(case.normal.effects) + 4
    return times


def _all_in(found: Finding, more: Sequence[object]) -> object:
    belief = found.belief
    for one in more:
        belief = belief.with_reading(one)  # type: ignore[arg-type]
    return conclude(belief)


def _next(found: Finding) -> object:
    return next_step(found.case, Outlook(found.case, found.problem, found.cells, found.chances))


def report(results: Mapping[str, Times]) -> None:
    """Print medians in milliseconds, the slowest of all, and what is over its budget."""
    steps = list(BUDGETS)
    print(f"{'':22s}" + "".join(f"{step:>18s}" for step in steps) + "   cells  sets  hyp  solves")
    for name, times in results.items():
        row = "".join(f"{1e3 * statistics.median(times.seconds[step]):15.1f} ms" for step in steps)
        print(f"{name:22s}{row}  {times.cells:6d} {times.sets:5d} {times.hypotheses:4d}  {times.solves:6d}")
    slowest = {step: max(max(times.seconds[step]) for times in results.values()) for step in steps}
    print(f"{'slowest':22s}" + "".join(f"{1e3 * slowest[step]:15.1f} ms" for step in steps))
    budgets = "".join(f"{1e3 * budget:15.0f} ms" if budget else f"{'':18s}" for budget in BUDGETS.values())
    print(f"{'budget':22s}{budgets}")
    for step, budget in BUDGETS.items():
        median = max(statistics.median(times.seconds[step]) for times in results.values())
        if budget is not None and median > budget:
            print(f"OVER BUDGET: {step}: worst median {1e3 * median:.1f} ms, budget {1e3 * budget:.0f} ms")


def profile(sample: Sample) -> None:
    """Print where the time of a first answer and of the next check goes."""
    resolved = renewed(sample.card, 997)
    evidence = call_of(sample, resolved, 997)
    watch = cProfile.Profile()
    found = watch.runcall(find, resolved, evidence)
    pstats.Stats(watch).sort_stats("cumulative").print_stats(25)
    watch = cProfile.Profile()
    watch.runcall(_next, found)
    pstats.Stats(watch).sort_stats("cumulative").print_stats(15)


if __name__ == "__main__":
    words = [word for word in sys.argv[1:] if not word.startswith("-")]
    find(renewed(COOLER, 998), call_of(SAMPLES["cooler, looked"], renewed(COOLER, 998), 1))
    report({name: measured(sample, int(words[0]) if words else 5) for name, sample in SAMPLES.items()})
    if "--profile" in sys.argv:
        profile(SAMPLES["cooler, two faults"])
