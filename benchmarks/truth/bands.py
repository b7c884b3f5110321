"""Healthy machines against their bands: how far the generator's readings lie from what the card predicts.

    python -m benchmarks.truth.bands --seed 7 --count 60

Per place: mean and spread of (reading - normal) / sigma, and the mean difference by kind of unit. A spread
near 1 and a mean near 0 say that the bands are right for this population.
"""

from __future__ import annotations

import argparse
import math
import statistics
from collections import defaultdict

from benchmarks.truth.calls import make
from benchmarks.truth.evidence import answers, brief_checks, evidence, resolved_card

from holdcold.diagnosis.find import find


def main() -> None:
    """Print the comparison."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--count", type=int, default=60)
    args = parser.parse_args()
    values = answers()
    found: dict[str, list[tuple[float, float, str]]] = defaultdict(list)
    for number in range(args.count):
        call = make(args.seed, number, "healthy" if number % 2 else "pull_down", values)
        finding = find(resolved_card(call), evidence(call, brief_checks(call)))
        kind = f"{call.about['kind']} {call.about['application']}"
        for one in finding.case.observations:
            band = finding.case.normal.readings.get(one.place)
            if band is not None:
                sigma = math.hypot(band.card_sigma, band.model_sigma, one.sigma, one.bias_sigma)
                found[one.place].append(((one.value - band.value) / sigma, one.value - band.value, kind))
    print(f"{args.count} healthy machines, half of them in a hot pull-down")
    for place, rows in found.items():
        z = [row[0] for row in rows]
        kinds = sorted({row[2] for row in rows})
        by_kind = ", ".join(
            f"{kind} {statistics.fmean(row[1] for row in rows if row[2] == kind):+.4g}" for kind in kinds
        )
        middle, spread = statistics.fmean(z), statistics.pstdev(z)
        print(f"  {place:28s} n {len(z):3d}  mean {middle:+.2f}  spread {spread:.2f}   {by_kind}")


if __name__ == "__main__":
    main()
