"""The whole circuit at one moment: pressures, flows and the charge they hold.

Unknowns: pressure at the coil outlet, pressure at the compressor outlet, enthalpy at the coil outlet. A
fourth coordinate says where the liquid stands: below 0 the receiver is empty and vapour leaves the condenser,
0 to 1 is the receiver's level, above 1 liquid backs up into the condenser. The charge fixes that coordinate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from benchmarks.truth.compressors import Compressor, Pumped, pump
from benchmarks.truth.exchangers import Coil, Leaving, condense, evaporate, humidity
from benchmarks.truth.expansion import Capillary, Valve, capillary_flow, valve_flow
from benchmarks.truth.props import Fluid, fluid
from scipy.optimize import brentq, root

_GAS = 8.314
_BACKED_UP_K = 25.0
_OIL_SHELL_K = 25.0
_TWO_PHASE_STEP = 0.10


class NoPointError(Exception):
    """No steady point was found for a machine under these conditions."""


@dataclass(frozen=True)
class Machine:
    """A machine as it truly is, faults included; SI.

    drain_k: subcooling at the condenser outlet while liquid stands in the receiver. liquid: volume [m3],
    friction [Pa s2/kg2 at 1100 kg/m3], lift [m], ua [W/K] to the surroundings. suction: volume, friction [Pa
    s2/kg2 at 10 kg/m3], ua. drier [Pa s2/kg2]. kink [Pa s2/kg2] in the suction line. heater_w: heat into the
    liquid line. hot_gas [-]: share of the discharge gas that goes past the condenser's tubes. shell_volume,
    discharge_volume. foreign_mol: foreign gas. head_lift [Pa]: drop between compressor and condenser at rated
    flow. hand_valve [Pa s2/kg2] before the clamp at the receiver outlet. dead [-]: share of coil circuits
    without refrigerant. injected [-]: liquid let into the suction line, share of the flow. air_e, air_c:
    share of rated airflow; surface_e, surface_c: share of conductance.
    """

    refrigerant: str
    compressor: Compressor
    condenser: Coil
    coil: Coil
    device: Valve | Capillary
    receiver_volume: float
    drain_k: float
    liquid_volume: float
    liquid_friction: float
    lift: float
    liquid_ua: float
    suction_volume: float
    suction_friction: float
    suction_ua: float
    drier: float
    shell_volume: float
    oil_kg: float
    charge: float
    air_e: float = 1.0
    air_c: float = 1.0
    surface_e: float = 1.0
    surface_c: float = 1.0
    kink: float = 0.0
    heater_w: float = 0.0
    hot_gas: float = 0.0
    foreign_mol: float = 0.0
    head_lift: float = 0.0
    hand_valve: float = 0.0
    dead: float = 0.0
    injected: float = 0.0

    @property
    def f(self) -> Fluid:
        """Tables of the refrigerant."""
        return fluid(self.refrigerant)


@dataclass(frozen=True)
class Around:
    """Conditions: air at the condenser.

    In the box, around the lines [K]; supply [V]; relative humidity of the box.
    """

    ambient_k: float
    box_k: float
    room_k: float
    volts: float
    relative: float = 0.8


@dataclass
class Look:
    """Everything about one evaluation of the circuit; ``residual`` is what the solver drives to zero."""

    residual: np.ndarray
    pumped: Pumped
    condenser: Leaving
    coil: Leaving
    p_s: float
    p_e: float
    p_c: float
    p_liquid: float
    p_king: float
    p_after_drier: float
    p_valve: float
    h_suction: float
    h_coil_out: float
    h_liquid: float
    h_valve: float
    glass_x: float
    foreign_pa: float
    level: float
    opening: float
    charge: float
    stats: dict[str, float] = field(default_factory=dict)


def _pumped(
    one: Machine, where: Around, p_e: float, h_out: float, p_c: float
) -> tuple[Pumped, float, float, float]:
    """Return what the compressor does, its flow, and pressure and enthalpy at its inlet."""
    f = one.f
    m, p_s, h_s = one.coil.m_rated, p_e * 0.97, h_out
    for _ in range(2):
        pumped = pump(f, one.compressor, p_s, h_s, p_c, where.volts)
        m = max(pumped.m, 1e-7)
        p_s, h_s = _suction(one, where, p_e, h_out, m)
        if one.injected > 0.0:
            h_s = (1.0 - one.injected) * h_s + one.injected * f.h_liquid(where.ambient_k + 10.0)
    pumped = pump(f, one.compressor, p_s, h_s, p_c, where.volts)
    m = max(pumped.m, 1e-7)
    return pumped, m, p_s, h_s


def look(one: Machine, where: Around, x: np.ndarray, z: float) -> Look:
    """Evaluate the circuit at unknowns ``x`` = (ln p_e.

    Ln p_c, (h_out - h_dew)/latent) and liquid coordinate z.
    """
    f = one.f
    p_e, p_c = math.exp(x[0]), math.exp(x[1])
    sat_e = f.sat(p_e)
    h_out = sat_e.h_v + x[2] * (sat_e.h_v - sat_e.h_l)
    pumped, m, p_s, h_s = _pumped(one, where, p_e, h_out, p_c)
    foreign_pa = _foreign(one, where, z, p_c)
    p_head = p_c
    p_c = p_c - one.head_lift * (m / one.condenser.m_rated) ** 2
    p_c = max(p_c, 1.1 * f.p_min)
    p_pure = p_c - foreign_pa - 0.5 * _dp(one.condenser, m, 1.0)
    p_pure = max(p_pure, 1.02 * f.p_min)
    m_through = m * (1.0 - one.hot_gas)
    h_in = pumped.h_out - 0.04 * (f.temperature(p_c, pumped.h_out) - where.ambient_k) * f.sat(p_c).c_v
    cond = condense(
        f, one.condenser, m_through, h_in, p_pure, where.ambient_k, one.air_c, one.surface_c, foreign_pa / p_c
    )
    p_liquid = max(p_c - _dp(one.condenser, m, 1.0), 1.05 * f.p_min)
    h_co = cond.h + one.hot_gas * (h_in - cond.h)
    sat_c = f.sat(max(p_liquid - foreign_pa, f.p_min))
    target = _outlet_target(one, sat_c, z)
    h_liquid = target
    p_king, p_drier, p_valve, h_valve, glass_x = _liquid_line(one, where, p_liquid, h_liquid, m)
    v_e = f.volume(p_e, 0.5 * (h_valve + sat_e.h_v)) / one.coil.v_rated
    dp_e = _dp(one.coil, m, v_e)
    t_out = f.temperature(p_e, h_out)
    if isinstance(one.device, Valve):
        opening = one.device.opening(f, t_out, where.box_k, p_e)
        m_device = valve_flow(f, one.device, opening, p_valve, h_valve, p_e + dp_e)
    else:
        opening = 1.0
        m_device = capillary_flow(f, one.device, p_valve, h_valve, p_e + dp_e)
    relative = humidity(where.box_k, where.relative)
    live = one.coil if one.dead <= 0.0 else _live(one.coil, one.dead)
    coil = evaporate(
        f,
        live,
        m * (1.0 - one.injected),
        h_valve,
        p_e + 0.5 * dp_e,
        where.box_k,
        relative,
        one.air_e,
        one.surface_e,
    )
    residual = np.array(
        [
            (h_co - target) / (sat_c.h_v - sat_c.h_l),
            (m_device - m * (1.0 - one.injected)) / one.coil.m_rated,
            (coil.h - h_out) / (sat_e.h_v - sat_e.h_l),
        ]
    )
    level = min(max(z, 0.0), 1.0)
    found = Look(
        residual,
        pumped,
        cond,
        coil,
        p_s,
        p_e,
        p_head,
        p_liquid,
        p_king,
        p_drier,
        p_valve,
        h_s,
        h_out,
        h_liquid,
        h_valve,
        glass_x,
        foreign_pa,
        level,
        opening,
        0.0,
    )
    found.charge = _charge(one, where, found, level)
    return found


def _live(coil: Coil, dead: float) -> Coil:
    """Return the part of a coil whose circuits get refrigerant."""
    left = 1.0 - dead
    return replace(
        coil, volume=coil.volume * left, flow_area=coil.flow_area * left, ua_air=coil.ua_air * left,
        ua_ref=coil.ua_ref * left, m_rated=coil.m_rated * left, c_air=coil.c_air * left,
    )  # fmt: skip


def _dp(coil: Coil, m: float, volume_ratio: float) -> float:
    return coil.dp_rated * (m / coil.m_rated) ** 1.75 * volume_ratio


def _suction(one: Machine, where: Around, p_e: float, h_out: float, m: float) -> tuple[float, float]:
    f = one.f
    v = f.volume(p_e, h_out)
    p_s = max(p_e - (one.suction_friction + one.kink) * m * m * v * 10.0, 0.35 * p_e)
    t = f.temperature(p_e, h_out)
    gain = one.suction_ua * max(where.room_k - t, -20.0) / m
    most = max(where.room_k - t, 0.0) * f.sat(p_e).c_v + max(f.sat(p_e).h_v - h_out, 0.0)
    return max(p_s, 1.02 * f.p_min), h_out + min(gain, 0.9 * most) if gain > 0 else h_out


def _foreign(one: Machine, where: Around, z: float, p_c: float) -> float:
    """Return the partial pressure of foreign gas gathered in condenser and receiver."""
    if one.foreign_mol <= 0.0:
        return 0.0
    level = min(max(z, 0.0), 1.0)
    room = 0.55 * one.condenser.volume * (1.0 - 0.5 * min(max(z - 1.0, 0.0), 1.0))
    room += one.receiver_volume * (1.0 - level) * 0.6
    return min(one.foreign_mol * _GAS * (where.ambient_k + 12.0) / room, 0.6 * p_c)


def _outlet_target(one: Machine, sat: object, z: float) -> float:
    """Return the enthalpy leaving the condenser that the liquid coordinate asks for."""
    s = sat
    if z < 0.0:
        ease = max(0.0, 1.0 + z / _TWO_PHASE_STEP)
        wet = max(0.0, -z - _TWO_PHASE_STEP)
        return s.h_l - s.c_l * one.drain_k * ease + wet * (s.h_v - s.h_l)
    if z <= 1.0 and one.receiver_volume > 0.0:
        return s.h_l - s.c_l * one.drain_k
    backed = z - (1.0 if one.receiver_volume > 0.0 else 0.0)
    return s.h_l - s.c_l * (one.drain_k + _BACKED_UP_K * backed)


def _liquid_line(
    one: Machine, where: Around, p: float, h: float, m: float
) -> tuple[float, float, float, float, float]:
    """Return pressure at the receiver outlet.

    After the drier and at the valve, enthalpy there, vapour at the glass.
    """
    f = one.f
    p_king = max(p - one.hand_valve * m * m * f.volume(p, h) * 1100.0, 1.1 * f.p_min)
    p_drier = max(p_king - one.drier * m * m * f.volume(p_king, h) * 1100.0, 1.1 * f.p_min)
    sat = f.sat(p_drier)
    glass = min(max((h - sat.h_l) / (sat.h_v - sat.h_l), 0.0), 1.0)
    t = f.temperature(p_drier, h)
    h_valve = (
        h + (one.liquid_ua * (where.room_k - t) + one.heater_w) / max(m, 1e-6)
        if glass <= 0.0
        else (h + one.heater_w / max(m, 1e-6))
    )
    v_line = f.volume(p_drier, h)
    p_valve = p_drier - one.liquid_friction * m * m * v_line * 1100.0 - 9.81 * one.lift / v_line
    return p_king, p_drier, max(p_valve, 1.1 * f.p_min), h_valve, glass


def _charge(one: Machine, where: Around, at: Look, level: float) -> float:
    """Return the refrigerant in the machine [kg], that in the oil included."""
    f = one.f
    sat_c = f.sat(at.p_liquid)
    receiver = one.receiver_volume * (level * sat_c.r_l + (1.0 - level) * sat_c.r_v)
    line = one.liquid_volume / f.volume(at.p_after_drier, at.h_valve)
    suction = one.suction_volume / f.volume(at.p_s, at.h_suction)
    shell_k = max(where.ambient_k + _OIL_SHELL_K, f.sat(at.p_s).t_d + 15.0)
    ratio = min(at.p_s / f.p_dew(shell_k), 0.9)
    oil = one.oil_kg * 0.30 * ratio**1.2 / (1.0 - 0.3 * ratio**1.2)
    shell = one.shell_volume / f.volume(at.p_s, at.h_suction)
    return at.condenser.charge + receiver + line + at.coil.charge + suction + oil + shell


def solve_at(one: Machine, where: Around, z: float, start: np.ndarray) -> tuple[Look, np.ndarray]:
    """Solve the three balances at a liquid coordinate; raise NoPointError when no start leads there."""
    starts = [start, start + np.array([-0.15, 0.05, 0.02]), start + np.array([0.1, -0.1, -0.02])]
    for first in starts:
        found = root(lambda x: look(one, where, _inside(one.f, x), z).residual, first, method="hybr",
                     options={"xtol": 1e-9, "maxfev": 160, "factor": 0.3})  # fmt: skip
        at = _inside(one.f, found.x)
        seen = look(one, where, at, z)
        if float(np.max(np.abs(seen.residual))) < 2e-4 and np.allclose(at, found.x, atol=1e-9):
            return seen, found.x
    raise NoPointError(f"z = {z:.3f}")


def _inside(f: Fluid, x: np.ndarray) -> np.ndarray:
    """Keep a trial within the tables; a solution outside is refused afterwards."""
    low, high = math.log(f.p_min * 1.3), math.log(f.p_max * 0.999)
    return np.array([min(max(x[0], low), high), min(max(x[1], low), high), min(max(x[2], -0.9), 0.8)])


def solve(one: Machine, where: Around, start: np.ndarray, z: float = 0.4) -> tuple[Look, np.ndarray, float]:
    """Return the machine's steady point: the liquid coordinate that its charge asks for."""
    seen, x = solve_at(one, where, z, start)
    if one.receiver_volume > 0.0 and 0.0 <= z <= 1.0 and one.foreign_mol <= 0.0:
        room = one.receiver_volume * (one.f.sat(seen.p_liquid).r_l - one.f.sat(seen.p_liquid).r_v)
        level = z + (one.charge - seen.charge) / room
        if 0.0 <= level <= 1.0:
            return look(one, where, x, level), x, level
        z = 0.0 if level < 0.0 else 1.0
        seen, x = solve_at(one, where, z, x)
    return _walk(one, where, z, seen, x)


def _walk(one: Machine, where: Around, z: float, seen: Look, x: np.ndarray) -> tuple[Look, np.ndarray, float]:
    """Step the liquid coordinate until the charge is bracketed, then close in on it."""
    miss = seen.charge - one.charge
    side = -1.0 if miss > 0.0 else 1.0
    step, last_z, last_miss, last_x = 0.03, z, miss, x
    for _ in range(40):
        z = last_z + side * step
        try:
            seen, x = solve_at(one, where, z, last_x)
        except NoPointError:
            step *= 0.4
            if step < 0.002:
                raise
            continue
        miss = seen.charge - one.charge
        if miss * last_miss <= 0.0:
            break
        last_z, last_miss, last_x = z, miss, x
        step = min(step * 1.6, 0.25)
    else:
        raise NoPointError("charge not reached")
    kept: dict[float, tuple[Look, np.ndarray]] = {}

    def gap(at: float) -> float:
        kept[at] = solve_at(one, where, at, x)
        return kept[at][0].charge - one.charge

    found = brentq(gap, min(last_z, z), max(last_z, z), xtol=2e-4, rtol=1e-6, maxiter=30)
    if found not in kept:
        kept[found] = solve_at(one, where, found, x)
    return kept[found][0], kept[found][1], found


def changed(one: Machine, **what: object) -> Machine:
    """Return the machine with some facts changed."""
    return replace(one, **what)
