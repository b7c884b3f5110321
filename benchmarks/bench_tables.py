"""Prediction tables of one unit: every fault at its severities, common pairs of mechanisms at three by three.

Run: python benchmarks/bench_tables.py. The pairs are those of the fourteen mechanisms most often at fault.
Printed for each card: machines solved, processor time of this process (budget 5 s, in the background), and
the memory of the table (budget 5 MB), every object in it counted once.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from itertools import combinations, product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from bench_find import renewed

from holdcold.cards import Resolved
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.evidence import Evidence, Situation
from holdcold.diagnosis.predict import Predictor
from holdcold.diagnosis.problem import open_case
from support.calls import COOLER, FREEZER, PROPANE, REACH_IN

CARDS = {"cooler": COOLER, "freezer": FREEZER, "reach-in": REACH_IN, "propane": PROPANE}
AMBIENT_K, BOX_ABOVE_SET_K = 305.0, 4.0
SECONDS, MEGABYTES = 5.0, 5.0
MECHANISMS = 14


def empty(resolved: Resolved) -> Predictor:
    """Return the predictor of a unit on a hot day with a warm box, nothing but the healthy machine solved."""
    box_k = resolved.design.set_point_k + BOX_ABOVE_SET_K
    return open_case(resolved, Evidence(Situation(AMBIENT_K, box_k, "running")), catalogue()).predictor


def fill(predictor: Predictor) -> int:
    """Solve the table; return how many machines stand in it."""
    faults, ladders = predictor.hypotheses.faults, predictor.hypotheses.ladders
    moving = {name: ladders[name].nodes for name, fault in faults.items() if fault.has_physics}
    for name, nodes in moving.items():
        for node in nodes:
            predictor.predict({name: node})
    shares: dict[str, float] = {}
    for name in moving:
        share = predictor.hypotheses.priors[(name,)]
        shares[faults[name].axis] = shares.get(faults[name].axis, 0.0) + share
    common = sorted(shares, key=lambda axis: -shares[axis])[:MECHANISMS]
    by_axis = {faults[name].axis: name for name in moving if faults[name].axis in common}
    for one, other in combinations(by_axis.values(), 2):
        for pair in product(three(moving[one]), three(moving[other])):
            predictor.predict(dict(zip((one, other), pair, strict=True)))
    return len(predictor.solved)


def three(nodes: tuple[float, ...]) -> tuple[float, ...]:
    """Return the mildest, a middle and the worst severity; fewer where there are fewer."""
    return nodes if len(nodes) < 3 else (nodes[0], nodes[len(nodes) // 2], nodes[-1])


def size(thing: object, seen: set[int]) -> int:
    """Return the bytes of an object and all it holds that was not counted yet."""
    if id(thing) in seen:
        return 0
    seen.add(id(thing))
    held: list[object] = []
    if isinstance(thing, Mapping):
        held = [*thing.keys(), *thing.values()]
    elif isinstance(thing, (tuple, list)):
        held = list(thing)
    elif is_dataclass(thing):
        held = [getattr(thing, one.name) for one in fields(thing)]
    return sys.getsizeof(thing) + sum(size(one, seen) for one in held)


def main() -> None:
    """Fill a table for every card."""
    for name, card in CARDS.items():
        predictor = empty(renewed(card, 61))
        begun = time.process_time()
        count = fill(predictor)
        seconds = time.process_time() - begun
        megabytes = size(predictor.solved, set()) / 1e6
        over = "" if seconds <= SECONDS and megabytes <= MEGABYTES else "   OVER BUDGET"
        print(f"{name:10s} {count:6d} machines {seconds:6.2f} s {megabytes:6.2f} MB{over}", flush=True)


if __name__ == "__main__":
    main()
