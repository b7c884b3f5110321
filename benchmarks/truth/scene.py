"""Where a machine stands when the technician arrives.

Weather, load, box, and the point it runs at or trips from.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from benchmarks.truth.circuit import Around, Look, Machine, NoPointError, solve
from benchmarks.truth.faults import HOT_AIR, ICE, LOAD, NOT_RUNNING, QUIET, broken
from benchmarks.truth.units import Unit

_HOTTEST_GAS_K = 438.0
"""Discharge gas at which the compressor's own protector opens; common practice, no source."""

_FELT = {"t_e": 2.0, "t_c": 3.0, "capacity": 0.07, "superheat": 4.0, "amps": 0.12}
"""Least change against the healthy machine that somebody would call about."""


@dataclass(frozen=True)
class Point:
    """A steady point, or the last one before a control stopped the machine.

    trip: "" while it runs, else "high", "low" or "overload". share: how much of each severity was in it.
    fans_cycling: a condenser fan stops and starts by head pressure. level: liquid coordinate.
    """

    machine: Machine
    at: Look
    x: np.ndarray
    level: float
    trip: str
    fans_cycling: bool = False


@dataclass(frozen=True)
class Scene:
    """One machine as found.

    faults: what is wrong and how bad. where: conditions. weather_k: air away from the machine. point: None
    where it does not run. state, minutes, complaint, trend: what is noted on arrival. holds: the box keeps
    its set point.
    """

    unit: Unit
    faults: dict[str, float]
    where: Around
    weather_k: float
    point: Point | None
    healthy: Point
    state: str
    minutes: float
    complaint: str
    trend: str
    holds: bool


def weather(unit: Unit, rng: np.random.Generator) -> float:
    """Return air temperature where the condenser should breathe it [K]."""
    if unit.location == "indoor":
        return 273.15 + float(np.clip(rng.normal(26.0, 4.0), 18.0, 37.0))
    return 273.15 + float(np.clip(rng.normal(27.0, 7.0), 5.0 if unit.head_on_pa else 13.0, 41.0))


def point(unit: Unit, faults: dict[str, float], where: Around, start: np.ndarray, z: float) -> Point:
    """Return where the machine runs; where a control stops it, the last point before that.

    Raises NoPointError when even a hundredth of the faults finds none.
    """
    full = _try(unit, faults, where, 1.0, start, z)
    if full is not None and not _stopped_by(full, unit):
        return full
    low, good = 0.0, _try(unit, faults, where, 0.0, start, z)
    if good is None:
        raise NoPointError("healthy machine")
    first = _stopped_by(good, unit)
    if first:
        return replace(good, trip=first)
    high, trip = 1.0, ""
    for _ in range(9):
        middle = 0.5 * (low + high)
        found = _try(unit, faults, where, middle, good.x, good.level)
        stopped = "none" if found is None else _stopped_by(found, unit)
        if found is not None and not stopped:
            low, good = middle, found
        else:
            high, trip = middle, stopped if found is not None else trip
    if not trip or trip == "none":
        trip = _nearest(good, unit)
    return replace(good, trip=trip)


def _try(
    unit: Unit, faults: dict[str, float], where: Around, share: float, start: np.ndarray, z: float
) -> Point | None:
    machine = (
        broken(unit, {name: how_bad * share for name, how_bad in faults.items()})
        if share > 0.0
        else unit.machine
    )
    try:
        at, x, level = solve(machine, where, start, _start_level(machine, z))
    except NoPointError:
        return None
    if not unit.head_on_pa or at.p_c >= unit.head_off_pa:
        return Point(machine, at, x, level, "")
    return _with_fan_control(unit, machine, where, Point(machine, at, x, level, ""))


def _start_level(machine: Machine, z: float) -> float:
    return min(max(z, 0.0), 1.0) if machine.receiver_volume > 0.0 else z


def _with_fan_control(unit: Unit, machine: Machine, where: Around, cold: Point) -> Point | None:
    """Return the point under fan cycling: one of two fans off, or off and on in turn."""
    half = replace(machine, air_c=machine.air_c * 0.47)
    try:
        at, x, level = solve(half, where, cold.x, _start_level(half, cold.level))
    except NoPointError:
        return None
    if at.p_c < unit.head_on_pa:
        return Point(half, at, x, level, "")
    aim = 0.5 * (unit.head_on_pa + unit.head_off_pa)
    low, high, best = 0.47, 1.0, Point(half, at, x, level, "", True)
    for _ in range(6):
        share = 0.5 * (low + high)
        one = replace(machine, air_c=machine.air_c * share)
        try:
            at, x, level = solve(one, where, best.x, _start_level(one, best.level))
        except NoPointError:
            return best
        best = Point(one, at, x, level, "", True)
        low, high = (share, high) if at.p_c > aim else (low, share)
    return best


def _stopped_by(found: Point, unit: Unit) -> str:
    f, at = found.machine.f, found.at
    if at.p_c > unit.high_pa:
        return "high"
    if unit.device == "txv" and at.p_s < unit.low_pa:
        return "low"
    if f.temperature(at.p_c, at.pumped.h_out) > _HOTTEST_GAS_K:
        return "overload"
    return ""


def _nearest(found: Point, unit: Unit) -> str:
    """Return which control is nearest when no point lies beyond.

    The head's when it is near, else suction's.
    """
    if found.at.p_c > 0.8 * unit.high_pa:
        return "high"
    return "low" if unit.device == "txv" else "overload"


def felt(found: Point, healthy: Point) -> bool:
    """Return whether a fault shows at all against the healthy machine at the same conditions."""
    if found.trip:
        return True
    f, g = found.machine.f, healthy.machine.f
    a, b = found.at, healthy.at
    gaps = {
        "t_e": g.sat(a.p_s).t_d - g.sat(b.p_s).t_d,
        "t_c": g.sat(a.p_c).t_d - g.sat(b.p_c).t_d,
        "capacity": a.coil.heat / b.coil.heat - 1.0,
        "superheat": (f.temperature(a.p_s, a.h_suction) - f.sat(a.p_s).t_d)
        - (g.temperature(b.p_s, b.h_suction) - g.sat(b.p_s).t_d),
        "amps": a.pumped.amps / b.pumped.amps - 1.0,
    }
    return any(abs(gap) > _FELT[name] for name, gap in gaps.items())


def scene(
    unit: Unit, faults: dict[str, float], rng: np.random.Generator, *, warm: bool, slow: bool = False
) -> Scene | None:
    """Return the machine as found, or None when nobody would have called (a fault that does not show).

    warm: whether the load may be raised so that the box is too warm. slow: a healthy machine found in a hot
    pull-down. Raises NoPointError where no point is found.
    """
    outside = weather(unit, rng)
    ambient = outside + sum(faults.get(name, 0.0) for name in HOT_AIR)
    room = outside if unit.location == "indoor" else min(outside, 308.0)
    volts = (
        unit.volts
        * float(1.0 + np.clip(rng.normal(0.0, 0.015), -0.035, 0.035))
        * (1.0 - faults.get("low_voltage", 0.0))
    )
    relative = min(
        unit.relative
        + (0.1 if any(name in faults for name in ("door_leak", "door_open", "relief_vent")) else 0.0),
        0.95,
    )
    where = Around(ambient, unit.set_k, room, volts, relative)
    normal = Around(outside, unit.set_k, room, unit.volts, unit.relative)
    healthy = point(unit, {}, normal, unit.start, 0.3)
    if any(name in NOT_RUNNING for name in faults):
        return _standing(unit, faults, where, outside, healthy, rng)
    first = point(unit, faults, where, healthy.x, healthy.level)
    if faults and not all(name in QUIET for name in faults) and not felt(first, healthy):
        return None
    share = float(rng.uniform(0.55, 0.92))
    box, trend, holds = _box(unit, faults, where, healthy, first, share, rng, warm=warm, slow=slow)
    where = replace(where, box_k=box)
    found = point(unit, faults, where, first.x, first.level)
    still = point(unit, {}, replace(where, ambient_k=outside, volts=unit.volts), healthy.x, healthy.level)
    state, minutes = (
        ("cycling", float(rng.uniform(2.0, 8.0)))
        if found.trip
        else ("running", float(rng.uniform(15.0, 180.0)))
    )
    complaint = _complaint(unit, faults, found, box, rng)
    return Scene(unit, faults, where, outside, found, still, state, minutes, complaint, trend, holds)


def _box(
    unit: Unit, faults: dict[str, float], where: Around, healthy: Point, found: Point, share: float,
    rng: np.random.Generator, *, warm: bool, slow: bool,
) -> tuple[float, str, bool]:  # fmt: skip
    """Return box temperature, the way it moves, and whether the machine holds it."""
    set_k, room = (
        unit.set_k + faults.get("set_point_changed", 0.0) + faults.get("box_sensor_wrong", 0.0),
        where.room_k,
    )
    if slow:
        return unit.set_k + float(rng.uniform(4.0, 13.0)), "falling", True
    extra = 1.0 + sum(faults.get(name, 0.0) for name in LOAD)
    if found.trip:
        return set_k + float(rng.uniform(2.0, 11.0)), str(rng.choice(["rising", "steady"])), False
    warmer = point(unit, faults, replace(where, box_k=set_k + 8.0), found.x, found.level)
    here, there = found.at.coil.heat, warmer.at.coil.heat
    if warm:
        share = max(share, min(0.97, 1.04 * here / (healthy.at.coil.heat * extra)))
    load = share * healthy.at.coil.heat * extra
    fall = 0.5 * load / max(room - set_k, 10.0)
    gap, gain = load - here, (there - here) / 8.0 + fall
    if gap <= 0.0:
        trend = str(rng.choice(["falling", "steady"], p=[0.6, 0.4]))
        if any(name in LOAD for name in faults):
            return set_k + float(rng.uniform(2.0, 9.0)), trend, True
        return set_k + float(rng.uniform(-0.5, 1.8)), trend, True
    rise = min(gap / max(gain, 1e-3), 20.0, room - set_k - 2.0)
    draw = rng.random()
    if draw < 0.55:
        return set_k + rise, "steady", False
    if draw < 0.8:
        return set_k + rise * float(rng.uniform(0.4, 0.95)), "rising", False
    return set_k + rise + float(rng.uniform(0.5, 4.0)), "falling", False


def _complaint(
    unit: Unit, faults: dict[str, float], found: Point, box: float, rng: np.random.Generator
) -> str:
    """Return what the customer called about."""
    ice = any(name in faults for name in ICE)
    if found.trip:
        return str(rng.choice(["warm", "short_cycling", "not_running"], p=[0.6, 0.3, 0.1]))
    if ice and rng.random() < 0.4:
        return "iced"
    if box > unit.set_k + 2.2:
        return "warm" if rng.random() < 0.94 else str(rng.choice(["noisy", "none", "iced"]))
    if "solenoid_leaking" in faults and rng.random() < 0.6:
        return "short_cycling"
    if ("low_charge" in faults or "access_leak" in faults) and rng.random() < 0.1:
        return "leak"
    noisy = ("reverse_rotation", "compressor_weak", "condenser_fan_stopped", "condenser_fan_weak",
    "evaporator_fan_stopped",
             "crankcase_heater", "evaporator_fans_slow")  # fmt: skip
    loud = any(name in faults for name in noisy)
    if loud and rng.random() < 0.5:
        return "noisy"
    return str(rng.choice(["none", "warm", "noisy"], p=[0.6, 0.3, 0.1]))


def _standing(
    unit: Unit,
    faults: dict[str, float],
    where: Around,
    outside: float,
    healthy: Point,
    rng: np.random.Generator,
) -> Scene:
    """Return the scene of a machine that does not run."""
    warm = where.room_k - unit.set_k
    box = unit.set_k + float(rng.uniform(0.15, 0.8)) * min(warm, 18.0)
    tries = {"start_gear": 1.0, "compressor_motor": 0.4, "compressor_seized": 0.85, "lost_phase": 0.9}
    hums = any(name in faults and rng.random() < chance for name, chance in tries.items())
    returns = {"contactor": 0.25, "loose_terminal": 0.35, "low_pressure_control": 0.5,
    "low_pressure_misset": 0.15,
               "overload_open": 0.35, "protector_lockout": 0.2}  # fmt: skip
    chatters = any(name in faults and rng.random() < chance for name, chance in returns.items())
    state = "cycling" if chatters or (hums and rng.random() < 0.4) else "off"
    complaint = str(
        rng.choice(
            ["warm", "not_running", "short_cycling" if state == "cycling" else "warm"], p=[0.6, 0.3, 0.1]
        )
    )
    return Scene(
        unit, faults, replace(where, box_k=box), outside, None, healthy, state, float(rng.uniform(20.0,
        600.0)),
        complaint, "rising" if rng.random() < 0.7 else "steady", False,
    )  # fmt: skip
