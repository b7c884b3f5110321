"""The engine's chances against importance sampling of the nonlinear machine, on random cards.

Run: python benchmarks/truth_gate.py [--cards 20] [--solves 6000] [--first 0] [--remedy]

Each card gets one call drawn from the model itself: facts of the card within their spreads, one fault
(now and then none or two) at a drawn severity, model error, noise and bias of the instruments. Every
third card is nearly empty of liquid. The chances of *none*, every single fault the cycle predicts and
twelve pairs are estimated from machines drawn and solved anew, and compared with the engine's, each set
scaled to sum to 1. Total variation of at most 0.03 was the aim. With --remedy the same estimates judge
finer severities and slopes found where the readings put the machine (``_relinearised``).
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from _relinearised import Remedy

from holdcold.diagnosis.find import Finding, find
from support.drawn_machines import Comparison, Estimate, compare
from support.importance import HypothesisKey, Sampler, chosen_keys, engine_chances, sample
from support.random_calls import DrawnCall, random_call
from support.random_cards import random_unit

AIM = 0.03
PAIRS = 12
SHOWN = 5
REMEDIES = (("finer severities", 0.0), ("and own slopes", 5.0))
"""What is tried, with how close to the best a piece must be to be linearised anew [nats]."""


@dataclass(frozen=True)
class Result:
    """One card: the finding, the comparison, and total variation by remedy with the solves it took."""

    seed: int
    call: DrawnCall
    finding: Finding
    compared: Comparison
    count: int
    raised: tuple[str, ...]
    remedies: dict[str, tuple[float, int]]


def judged(seed: int, solves: int, *, remedy: bool) -> Result:
    """Return what sampling says of the engine on one card."""
    resolved = random_unit(seed, near_empty=seed % 3 == 0)
    call = random_call(resolved, seed)
    finding = find(resolved, call.evidence)
    keys = chosen_keys(finding, PAIRS, seed)
    sampler = sample(finding, keys, solves, seed)
    estimates = {key: sampler.estimate(key) for key in keys}
    compared = compare(engine_chances(finding, keys), estimates)
    count = sum(len(pool.z) for pool in sampler.pools.values())
    raised = tuple(sampler.raised)
    remedies = remedied(sampler, estimates) if remedy else {}
    return Result(seed, call, finding, compared, count, raised, remedies)


def remedied(sampler: Sampler, estimates: dict[HypothesisKey, Estimate]) -> dict[str, tuple[float, int]]:
    """Return total variation and solves of each remedy."""
    pieces = Remedy(sampler, 2)
    found = {}
    for name, within in REMEDIES:
        chances = pieces.chances(within)
        found[name] = (compare(chances, estimates).distance, pieces.solves)
    return found


def line(result: Result) -> str:
    """Return one card as lines of text."""
    case, compared = result.finding.case, result.compared
    card = case.resolved.card
    truth = ", ".join(f"{name} {severity:.3g}" for name, severity in result.call.faults.items()) or "none"
    level = case.normal.point.readings["receiver_level_fraction"]
    what = f"{card.text('kind')} {card.text('application')} {card.text('refrigerant')}, receiver {level:.2f}"
    told = f"{len(case.observations)} readings, {len(case.sightings)} sightings"
    distance = f"{compared.distance:.3f} +- {compared.distance_error:.3f}"
    lines = [
        f"card {result.seed:2d}: {what}, {told}, truth {truth}",
        f"   total variation {distance}, {result.count} machines",
    ]
    lines += [f"   {name}: {value:.3f}, {solves} solves" for name, (value, solves) in result.remedies.items()]
    rows = zip(
        compared.keys, compared.engine, compared.sampled, compared.errors, compared.effective, strict=True
    )
    for key, engine, sampled, error, effective in list(rows)[:SHOWN]:
        both = f"engine {engine:.3f}  sampled {sampled:.3f} +- {error:.3f}"
        lines.append(f"   {' + '.join(key) or 'none':45s} {both}  ess {effective:.0f}")
    return "\n".join(lines + [f"   raised: {text}" for text in result.raised[:2]])


def summary(results: list[Result], seconds: float) -> str:
    """Return mean, median, worst and share within the aim."""
    lines = []
    for name in ("engine", *results[0].remedies):
        values = [one.compared.distance if name == "engine" else one.remedies[name][0] for one in results]
        middle = f"mean {statistics.mean(values):.3f}, median {statistics.median(values):.3f}"
        within = sum(value <= AIM for value in values)
        lines.append(
            f"{name}: total variation {middle}, worst {max(values):.3f}; "
            f"{within} of {len(values)} within {AIM}"
        )
    errors = [one.compared.distance_error for one in results]
    raised = sum(len(one.raised) for one in results)
    lines.append(f"standard error for a card: mean {statistics.mean(errors):.3f}, worst {max(errors):.3f}")
    lines.append(f"processor time {seconds:.0f} s; solves that raised: {raised}")
    return "\n".join(lines)


def main() -> None:
    """Judge the cards one by one and print them."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--cards", type=int, default=20, help="how many cards")
    parser.add_argument("--first", type=int, default=0, help="seed of the first")
    parser.add_argument("--solves", type=int, default=6000, help="machines drawn for each card")
    parser.add_argument("--remedy", action="store_true", help="judge the remedies too")
    args = parser.parse_args()
    begun, results = time.process_time(), []
    for seed in range(args.first, args.first + args.cards):
        results.append(judged(seed, args.solves, remedy=args.remedy))
        print(line(results[-1]), flush=True)
    print(summary(results, time.process_time() - begun))


if __name__ == "__main__":
    main()
