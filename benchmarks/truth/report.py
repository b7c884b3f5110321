"""Figures of the study from its rows.

Ranks by fault, pairs, calibration, healthy machines, unlisted faults.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

FLOORS = {
    "single, right cause first": 0.80,
    "single, right cause in the first three": 0.95,
    "pair, both causes in the first three": 0.70,
    "healthy called healthy": 0.90,
    "statements of 80 % that are right": 0.72,
}
_ECE_FLOOR = 0.07
_SHOWN = 0.05
GROUPS = {
    "ice": ("coil_iced", "defrost_heater", "defrost_control", "defrost_clock_stopped", "defrost_no_heat",
            "defrost_termination", "drain_ice"),
    "box air": ("evaporator_fan_stopped", "evaporator_fans_slow", "fan_delay_open", "coil_dirty",
    "air_blocked"),
    "load": ("excess_load", "door_open", "door_leak", "relief_vent", "frame_heater", "termination_never_made",
             "heater_stuck_on"),
    "settings": ("set_point_changed", "box_sensor_wrong"),
    "condenser air": ("condenser_dirty", "condenser_fan_stopped", "condenser_fan_weak", "fan_control_open",
                      "hot_location", "air_recirculating"),
    "charge": ("low_charge", "access_leak"),
    "liquid line": ("drier_restricted", "liquid_valve_part_shut", "flash_gas"),
    "capillary": ("capillary_restricted", "moisture_at_capillary"),
    "starving valve": ("txv_starving", "txv_screen", "txv_power_head", "equaliser_fault", "moisture_at_valve",
                       "distributor_plugged"),
    "flooding valve": ("txv_flooding", "bulb_loose"),
    "pump": ("compressor_weak", "reverse_rotation"),
    "standing": ("compressor_motor", "compressor_seized", "overload_open", "protector_lockout", "no_power",
    "lost_phase",
                 "contactor", "loose_terminal", "start_gear", "low_pressure_control", "low_pressure_misset",
                 "thermostat_controller", "liquid_solenoid"),
}  # fmt: skip
HARMLESS = ("none", "excess_load", "door_open")
Row = Mapping[str, Any]


def group(fault: str) -> str:
    """Return the mechanism group of a fault; its own name where it stands alone."""
    return next((name for name, members in GROUPS.items() if fault in members), fault)


def ranking(row: Row) -> list[str]:
    """Return suspects with *none* and *not listed* among them, likeliest first."""
    everything = [*map(tuple, row["suspects"]), ("none", row["none"]), ("not_listed", row["not_listed"])]
    return [name for name, _ in sorted(everything, key=lambda one: -one[1])]


def suspects(row: Row) -> list[str]:
    """Return suspects alone, likeliest first."""
    return [name for name, _ in row["suspects"]]


def share(hits: Iterable[bool]) -> tuple[float, int]:
    """Return (share, number)."""
    kept = list(hits)
    return (sum(kept) / len(kept) if kept else math.nan), len(kept)


def interval(value: float, number: int) -> tuple[float, float]:
    """Return Wilson's 95 % interval of a share."""
    if not number or math.isnan(value):
        return math.nan, math.nan
    z = 1.96
    middle = (value + z * z / (2 * number)) / (1 + z * z / number)
    half = z / (1 + z * z / number) * math.sqrt(value * (1 - value) / number + z * z / (4 * number**2))
    return middle - half, middle + half


def healthy_called_healthy(row: Row) -> bool:
    """Return whether the likeliest hypothesis is *nothing wrong*, or a load that will pass."""
    return row["first"] in HARMLESS


def headline(rows: list[Row]) -> dict[str, tuple[float, int]]:
    """Return the figures that have floors."""
    single = [row for row in rows if row["stratum"] == "single"]
    pairs = [row for row in rows if row["stratum"] == "pair"]
    healthy = [row for row in rows if row["stratum"] in ("healthy", "pull_down")]
    eighty = [
        (name in row["faults"]) for row in rows for name, chance in row["suspects"] if 0.75 <= chance < 0.85
    ]
    sure = [(name in row["faults"]) for row in rows for name, chance in row["suspects"] if chance >= 0.8]
    return {
        "single, right cause first": share(ranking(row)[0] in row["faults"] for row in single),
        "single, right cause in the first three": share(
            bool({*suspects(row)[:3]} & {*row["faults"]}) for row in single
        ),
        "single, right group first": share(
            group(ranking(row)[0]) == group(row["faults"][0]) for row in single
        ),
        "single, right group in the first three": share(
            group(row["faults"][0]) in {group(name) for name in suspects(row)[:3]} for row in single
        ),
        "pair, both causes in the first three": share(
            {*row["faults"]} <= {*suspects(row)[:3]} for row in pairs
        ),
        "pair, one cause first": share(ranking(row)[0] in row["faults"] for row in pairs),
        "healthy called healthy": share(map(healthy_called_healthy, healthy)),
        "healthy, none or load in the first three": share(
            bool({*HARMLESS} & {name for name, _ in row["hypotheses"][:3]}) for row in healthy
        ),
        "healthy, no repair proposed": share(
            not row["enough"] or row["act_on"] in ("", *HARMLESS) for row in healthy
        ),
        "statements of 80 % that are right": share(eighty),
        "statements of 80 % or more that are right": share(sure),
    }


def calibration(
    rows: list[Row], top_only: bool, bins: int = 10
) -> tuple[float, list[tuple[str, int, float, float]]]:
    """Return expected calibration error and the reliability table (bin, number, mean chance, share right).

    top_only: the likeliest suspect of each call alone; else every suspect shown (chance of 5 % or more).
    """
    said: list[tuple[float, bool]] = []
    for row in rows:
        kept = row["suspects"][:1] if top_only else [one for one in row["suspects"] if one[1] >= _SHOWN]
        said += [(chance, name in row["faults"]) for name, chance in kept]
    table, error = [], 0.0
    for number in range(bins):
        low, high = number / bins, (number + 1) / bins
        inside = [one for one in said if low <= one[0] < high or (number == bins - 1 and one[0] >= high)]
        if inside:
            mean = sum(chance for chance, _ in inside) / len(inside)
            right = sum(hit for _, hit in inside) / len(inside)
            error += len(inside) / len(said) * abs(mean - right)
            table.append((f"{low:.1f}-{high:.1f}", len(inside), mean, right))
    return error, table


def by_fault(rows: list[Row]) -> list[tuple[str, int, float, float, float, str]]:
    """Return per single fault.

    Number, right first, right in three, group first, and what was first instead.
    """
    kept: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        if row["stratum"] == "single":
            kept[row["faults"][0]].append(row)
    lines = []
    for fault, own in sorted(kept.items()):
        wrong = Counter(ranking(row)[0] for row in own if ranking(row)[0] != fault)
        instead = ", ".join(f"{name} {count}" for name, count in wrong.most_common(4))
        lines.append((
            fault, len(own), share(ranking(row)[0] == fault for row in own)[0],
            share(fault in suspects(row)[:3] for row in own)[0],
            share(group(ranking(row)[0]) == group(fault) for row in own)[0], instead,
        ))  # fmt: skip
    return lines


def unlisted(rows: list[Row]) -> dict[str, float]:
    """Return how *not listed* stands for strange faults against listed ones and healthy machines."""
    found = {}
    for name, strata in (
        ("strange", ("unlisted",)),
        ("listed", ("single", "pair")),
        ("healthy", ("healthy", "pull_down")),
    ):
        own = [row["not_listed"] for row in rows if row["stratum"] in strata]
        if own:
            found[f"mean chance of not listed, {name}"] = sum(own) / len(own)
            found[f"share above 0.2, {name}"] = sum(one > 0.2 for one in own) / len(own)
            found[f"share above 0.5, {name}"] = sum(one > 0.5 for one in own) / len(own)
    return found


def text(rows: list[Row]) -> str:
    """Return the report as text."""
    failed = [row for row in rows if "failed" in row]
    lines = [
        f"{len(rows)} calls: {dict(Counter(row['stratum'] for row in rows))}; no answer on {len(failed)}"
    ]
    lines += [f"  {row['seed']} {row['faults']} {row['failed'][:90]}" for row in failed] + [""]
    rows = [row for row in rows if "failed" not in row]
    for name, (value, number) in headline(rows).items():
        low, high = interval(value, number)
        floor = f"   floor {FLOORS[name]:.2f}" if name in FLOORS else ""
        lines.append(f"{name:45s} {value:6.3f}  (n {number}, 95 % {low:.2f} to {high:.2f}){floor}")
    listed = [row for row in rows if row["stratum"] != "unlisted"]
    for top_only, title in ((False, "every suspect shown"), (True, "the first suspect")):
        error, table = calibration(listed, top_only)
        lines += ["", f"expected calibration error, {title}: {error:.3f}   (floor {_ECE_FLOOR})"]
        lines += [
            f"  {bin_} n {number:4d}  said {mean:.2f}  right {right:.2f}"
            for bin_, number, mean, right in table
        ]
    lines += ["", "not listed"] + [f"  {name:45s} {value:.3f}" for name, value in unlisted(rows).items()]
    lines += ["", "by single fault: n, right first, in first three, group first; what was first instead"]
    lines += [
        f"  {fault:24s} {number:3d}  {one:.2f}  {three:.2f}  {grouped:.2f}  {instead}"
        for fault, number, one, three, grouped, instead in by_fault(rows)
    ]
    lines += [
        "",
        "healthy: "
        + str(
            Counter(row["first"] for row in rows if row["stratum"] in ("healthy", "pull_down")).most_common(8)
        ),
    ]
    lines += [
        "strange: "
        + str(
            Counter(
                (row["strange"], ranking(row)[0]) for row in rows if row["stratum"] == "unlisted"
            ).most_common(12)
        )
    ]
    return "\n".join(lines)
