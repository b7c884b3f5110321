"""Signs of readings under faults: the published table on capillary units, and what a receiver makes of it.

Run: python benchmarks/sign_study.py [units]. Prints Markdown: for each fault and severity the share of
units that move the way the table says (tests/reference/sign_table), at three ambients; then, for units with
expansion valve and receiver, by how much subcooling, superheat and temperatures move, and the regimes met.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import quantiles

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from holdcold.cycle import Faults, Unit
from support.signs import FEATURES, agreement, at, capillary_units, receiver_units, shifts

SEVERITIES: dict[str, dict[str, tuple[float, ...]]] = {
    "refrigerant_leak": {"charge_loss": (0.05, 0.15, 0.3)},
    "compressor_valve_leak": {"leak_back": (0.05, 0.15, 0.3)},
    "liquid_line_restriction": {
        "liquid_restriction": (5.0e4, 2.0e5, 4.0e5),
        "capillary_restriction": (0.1, 0.2, 0.4),
    },
    "condenser_fouling": {"condenser_air": (0.15, 0.4, 0.5)},
    "evaporator_fouling": {"coil_air": (0.15, 0.3, 0.5)},
}
RECEIVER_CASES: dict[str, tuple[float, ...]] = {
    "charge_loss": (0.2, 0.3, 0.4, 0.5, 0.6),
    "charge_excess": (0.5, 0.8, 1.1),
    "liquid_restriction": (1.0e5, 3.0e5, 6.0e5, 1.0e6),
    "valve_starve": (0.3, 0.6),
    "leak_back": (0.15, 0.3),
    "condenser_air": (0.3,),
    "coil_air": (0.3,),
    "noncondensables": (1.0e5,),
}
SHOWN = ("subcooling", "superheat", "evaporating", "condensing", "discharge")


def cases() -> Iterator[tuple[str, str, float]]:
    """Yield (fault of the table, axis, severity)."""
    for fault, axes in SEVERITIES.items():
        for axis, values in axes.items():
            for value in values:
                yield fault, axis, value


def table(units: Sequence[Unit], cooler_k: float) -> None:
    """Print the shares of agreement at one ambient."""
    print(f"\n### Capillary units at rated box, ambient {cooler_k:g} K below rated\n")
    print("| fault | severity | n | " + " | ".join(FEATURES) + " |")
    print("|---" * (3 + len(FEATURES)) + "|")
    for fault, axis, value in cases():
        share = agreement(units, cooler_k, fault, Faults(**{axis: value}))
        cells = " | ".join(f"{100.0 * share[name]:.0f}" for name in FEATURES)
        print(f"| {fault} | {axis} {value:g} | {share['n']:.0f} | {cells} |")


def receiver(units: Sequence[Unit]) -> None:
    """Print 10, 50 and 90 % of the shifts on units with expansion valve and receiver."""
    print("\n### Expansion valve and receiver, rated surroundings: shift [K], 10 / 50 / 90 % of units\n")
    print("| axis | severity | n | " + " | ".join(SHOWN) + " | regimes |")
    print("|---" * (4 + len(SHOWN)) + "|")
    for axis, values in RECEIVER_CASES.items():
        for value in values:
            faults = Faults(**{axis: value})
            found = [one for one in (shifts(unit, 0.0, faults) for unit in units) if one is not None]
            cells = [_three([one[name] for one in found if name in one]) for name in SHOWN]
            regimes = Counter(at(unit, 0.0, faults).regime for unit in units)
            met = ", ".join(f"{name} {count}" for name, count in regimes.most_common())
            print(f"| {axis} | {value:g} | {len(found)} | {' | '.join(cells)} | {met} |")


def _three(values: list[float]) -> str:
    """Return the 10, 50 and 90 % points, or a dash where too few machines run."""
    if len(values) < 10:
        return "-"
    cuts = quantiles(values, n=10)
    return " / ".join(
        f"{cuts[index]:+.1f}".replace("-0.0", "0.0").replace("+0.0", "0.0") for index in (0, 4, 8)
    )


def main(count: int) -> None:
    """Print every table."""
    begun = time.perf_counter()
    units = capillary_units(count)
    for cooler_k in (0.0, 4.0, 10.0):
        table(units, cooler_k)
    receiver(receiver_units(count))
    print(f"\n{count} units of each kind, {time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
