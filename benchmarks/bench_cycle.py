"""Operating point with conserved charge: time, evaluations and failures over a faulted grid.

Run: python benchmarks/bench_cycle.py [units]. Every solve starts cold (no memo, no warm start).
The clock counts processor time of this process.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from holdcold.cycle import Conditions, Faults, Unit, build, solve
from support.designs import random_design

GRID = {
    "charge_loss": (0.1, 0.25, 0.4, 0.55, 0.7),
    "charge_excess": (0.1, 0.3, 0.5),
    "noncondensables": (4.0e4, 1.5e5, 3.0e5),
    "condenser_air": (0.2, 0.4, 0.6, 0.8),
    "condenser_fan": (0.5, 1.0),
    "coil_air": (0.25, 0.5, 0.75, 1.0),
    "coil_ice": (0.3, 0.6, 0.85),
    "liquid_restriction": (5.0e4, 1.5e5, 3.5e5, 7.0e5),
    "valve_starve": (0.2, 0.4, 0.6, 0.8),
    "valve_flood": (0.2, 0.5, 0.8),
    "bulb_loose": (2.0, 5.0, 8.0),
    "leak_back": (0.1, 0.25, 0.45, 0.6),
    "capillary_restriction": (0.2, 0.4, 0.6, 0.8),
    "low_voltage": (0.1,),
}
VALVE_ONLY = ("valve_starve", "valve_flood", "bulb_loose")


def cases(unit: Unit) -> list[tuple[str, Conditions, Faults]]:
    """Return the faulted grid of one unit: single faults at set point and in a warm box, two ambients."""
    design = unit.design
    found = []
    for ambient_k in (design.rated_ambient_k, design.rated_ambient_k - 17.0):
        for warm_k in (0.0, 10.0):
            where = Conditions(ambient_k, design.set_point_k + warm_k)
            found.append(("healthy", where, Faults()))
            for axis, severities in GRID.items():
                absent = (
                    axis in VALVE_ONLY if design.expansion == "capillary" else axis == "capillary_restriction"
                )
                if not absent:
                    found += [(axis, where, Faults(**{axis: severity})) for severity in severities]
    return found


def main(units: int) -> None:
    """Print percentiles of time and evaluations, and every kind of failure with its count."""
    times: list[float] = []
    evaluations: list[int] = []
    failures: Counter[str] = Counter()
    examples: dict[str, str] = {}
    for seed in range(units):
        unit = build(random_design(seed))
        for axis, where, faults in cases(unit):
            begun = time.process_time()
            point = solve(unit, where, faults)
            times.append(time.process_time() - begun)
            evaluations.append(point.evaluations)
            if not point.converged:
                key = f"{unit.design.expansion} {axis}: {point.regime}: {point.reason}"
                failures[key] += 1
                examples.setdefault(key, f"seed {seed} {unit.design.refrigerant} {where} {faults}")
    report(times, evaluations, failures, examples)


def report(
    times: list[float], evaluations: list[int], failures: Counter[str], examples: dict[str, str]
) -> None:
    """Print the table."""
    total = len(times)
    print(f"points {total}  failures {failures.total()} ({failures.total() / total:.2e})")
    for name, values, scale in (("ms", times, 1e3), ("passes round the circuit", evaluations, 1.0)):
        ranked = sorted(values)
        shares = (0.5, 0.9, 0.99, 0.999)
        cells = [f"p{100 * share:g} {scale * ranked[int(share * total)]:.2f}" for share in shares]
        print(f"{name}: " + "  ".join(cells) + f"  max {scale * ranked[-1]:.2f}")
    for key, count in failures.most_common(25):
        print(f"{count:5d} {key}\n      {examples[key]}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
