"""Compressors: a clearance-volume piston machine in Jaehnig's form and a fixed-ratio scroll in Winandy's.

Jaehnig, Reindl, Klein (2000) for the piston: volumetric efficiency from a clearance term, power from
isentropic work over an efficiency that rises with suction pressure. Winandy (2002) for the scroll: isentropic
work to the built-in ratio, the rest at constant volume. Both from memory, with parameters of the generator's
own. A leaking valve is an orifice from discharge to suction whose flow is pumped again and heats the shell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchmarks.truth.props import Fluid


@dataclass(frozen=True)
class Compressor:
    """One compressor.

    kind: "hermetic", "semi_hermetic" or "scroll". swept [m3/s] at nominal speed. clearance [-] (piston). best
    [-] highest overall efficiency. p_rise [Pa] suction pressure over which it is reached. built_in [-] volume
    ratio of a scroll. warming [K] suction gas warmed before it is enclosed. shell_loss [-] share of the input
    lost to the air. leak_area [m2] of leaking valves. slip [-] speed lost at rated load. phases, volts [V],
    magnetising [-] idle over rated active current, rated_w [W].
    """

    kind: str
    swept: float
    clearance: float
    best: float
    p_rise: float
    built_in: float
    warming: float
    shell_loss: float
    slip: float
    phases: int
    volts: float
    magnetising: float
    rated_w: float
    leak_area: float = 0.0


@dataclass(frozen=True)
class Pumped:
    """Flow through the machine [kg/s], input [W], current [A], enthalpy leaving [J/kg]."""

    m: float
    watts: float
    amps: float
    h_out: float


def pump(f: Fluid, one: Compressor, p_s: float, h_s: float, p_d: float, volts: float) -> Pumped:
    """Return what the compressor does between suction (p_s, h_s) and discharge pressure p_d."""
    ratio = max(p_d / p_s, 1.05)
    leak = _leak(f, one, p_s, p_d)
    h_mix = h_s
    gross = _gross(f, one, p_s, h_s, ratio, volts)
    leak = min(leak, 0.93 * gross)
    work, h_out = 0.0, h_s
    for _ in range(4 if leak > 0.0 else 1):
        gross = _gross(f, one, p_s, h_mix, ratio, volts)
        leak = min(leak, 0.93 * gross)
        work = _work(f, one, p_s, h_mix, p_d, ratio)
        net = gross - leak
        lost = min(one.shell_loss + 0.6 * leak / gross, 0.75)
        h_out = h_s + gross * work * (1.0 - lost) / net
        h_mix = h_s + 0.4 * leak / gross * (h_out - h_s)
    watts = gross * work
    return Pumped(gross - leak, watts, current(one, watts, volts), h_out)


def current(one: Compressor, watts: float, volts: float) -> float:
    """Return line current: an active part that carries the load and a magnetising part that voltage sets."""
    lines = math.sqrt(3.0) if one.phases == 3 else 1.0
    active = watts / (lines * volts)
    idle = one.magnetising * one.rated_w / (lines * one.volts) * (volts / one.volts) ** 2
    return math.hypot(active, idle)


def _gross(f: Fluid, one: Compressor, p_s: float, h: float, ratio: float, volts: float) -> float:
    slip = one.slip * (one.volts / volts) ** 2
    density = 1.0 / f.volume(p_s, h)
    t = max(f.temperature(p_s, h), 200.0)
    if one.kind == "scroll":
        share = 0.965 - 0.011 * (ratio - 1.0)
    else:
        share = 1.0 - one.clearance * ((ratio / 0.94) ** (1.0 / 1.12) - 1.0) - 0.03
    return one.swept * (1.0 - slip) / (1.0 - one.slip) * max(share, 0.05) * density * t / (t + one.warming)


def _work(f: Fluid, one: Compressor, p_s: float, h: float, p_d: float, ratio: float) -> float:
    """Return work per kg pumped [J/kg]."""
    sat = f.sat(p_s)
    h = max(h, sat.h_v)
    if one.kind != "scroll":
        ideal = f.isentropic(p_s, h, p_d * 1.03) - h
        efficiency = one.best * (1.0 - 0.40 * math.exp(-p_s / one.p_rise)) - 0.006 * max(ratio - 6.0, 0.0)
        return ideal / max(efficiency - 0.10 * math.exp(-(ratio - 1.0) / 0.8), 0.15)
    inner = p_s * one.built_in**1.12
    h_inner = f.isentropic(p_s, h, min(inner, f.p_max * 0.99))
    v_inner = f.volume(p_s, h) / one.built_in
    ideal = h_inner - h + v_inner * (p_d - inner)
    return max(ideal, 2000.0) / one.best + 0.05 * one.rated_w / max(one.swept / f.volume(p_s, h), 1e-5)


def _leak(f: Fluid, one: Compressor, p_s: float, p_d: float) -> float:
    """Return flow back through leaking valves [kg/s]: an orifice, choked at half the pressure."""
    if one.leak_area <= 0.0:
        return 0.0
    density = f.sat(p_d).r_v * 0.85
    drive = min(p_d - p_s, 0.5 * p_d)
    return 0.65 * one.leak_area * math.sqrt(2.0 * density * max(drive, 0.0))
