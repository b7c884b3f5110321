"""The published sign table, and the signs our units show: shared by the tests and the long study."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path

from holdcold.cycle import HEALTHY, Conditions, Design, Faults, OperatingPoint, Unit, build, solve
from support.designs import random_design

TABLE = Path(__file__).parents[1] / "reference" / "sign_table" / "signs.csv"

FEATURES: dict[str, Callable[[Unit, dict[str, float]], float]] = {
    "evaporating": lambda unit, read: unit.fluid.dew_k(read["suction_pa_coil"]),
    "superheat": lambda _, read: read["total_superheat_k"],
    "condensing": lambda unit, read: unit.fluid.dew_k(read["discharge_pa"]),
    "subcooling": lambda _, read: read["subcooling_k_condenser_outlet"],
    "discharge": lambda _, read: read["discharge_line_k"],
    "condenser_air_rise": lambda _, read: read["condenser_air_rise_k"],
    "coil_air_drop": lambda _, read: read["coil_air_drop_k"],
}

FAULTS = {
    "refrigerant_leak": Faults(charge_loss=0.15),
    "compressor_valve_leak": Faults(leak_back=0.15),
    "liquid_line_restriction": Faults(liquid_restriction=2.0e5),
    "condenser_fouling": Faults(condenser_air=0.4),
    "evaporator_fouling": Faults(coil_air=0.3),
}
"""Small to moderate severities: each costs between 3 and 20 % of capacity."""


def published() -> dict[str, dict[str, int]]:
    """Return the published sign (+1 or -1) by fault and feature."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {row["fault"]: {name: 1 if row[name] == "+" else -1 for name in FEATURES} for row in rows}


@cache
def capillary_units(count: int) -> tuple[Unit, ...]:
    """Return the first ``count`` random units that have a capillary tube and no receiver."""
    return tuple(_built(design) for design in _designs(count, "capillary"))


@cache
def receiver_units(count: int) -> tuple[Unit, ...]:
    """Return the first ``count`` random units that have an expansion valve and a receiver."""
    return tuple(_built(design) for design in _designs(count, "txv"))


def _designs(count: int, expansion: str):
    found, seed = 0, 0
    while found < count:
        design = random_design(seed)
        seed += 1
        if design.expansion == expansion:
            found += 1
            yield design


def at(unit: Unit, cooler_k: float, faults: Faults) -> OperatingPoint:
    """Return the point at rated box and an ambient ``cooler_k`` below rated."""
    design = unit.design
    return solve(unit, Conditions(design.rated_ambient_k - cooler_k, design.rated_box_k), faults)


@cache
def _built(design: Design) -> Unit:
    return build(design)


@cache
def _healthy(design: Design, cooler_k: float) -> OperatingPoint:
    return at(_built(design), cooler_k, HEALTHY)


def shifts(unit: Unit, cooler_k: float, faults: Faults) -> dict[str, float] | None:
    """Return each feature with the fault minus without; None where either machine would not run.

    The discharge line is left out where either is hotter than the refrigerant's data.
    """
    before, after = _healthy(unit.design, cooler_k), at(unit, cooler_k, faults)
    if before.state != "running" or after.state != "running":
        return None
    hot = "discharge_line_k" not in before.readings or "discharge_line_k" not in after.readings
    known = {name: read for name, read in FEATURES.items() if not (hot and name == "discharge")}
    return {name: read(unit, after.readings) - read(unit, before.readings) for name, read in known.items()}


def agreement(units: Iterable[Unit], cooler_k: float, fault: str, faults: Faults) -> dict[str, float]:
    """Return, by feature, the share of running units that move the published way; ``n`` counts them."""
    signs = published()[fault]
    found = [one for one in (shifts(unit, cooler_k, faults) for unit in units) if one is not None]
    share = {}
    for name, sign in signs.items():
        agrees = [one[name] * sign > 0.0 for one in found if name in one]
        share[name] = sum(agrees) / len(agrees)
    return {**share, "n": float(len(found))}
