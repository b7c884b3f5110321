"""Expansion devices: a thermostatic valve as a balance of forces, a capillary as an adiabatic integral."""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchmarks.truth.props import Fluid

_STEPS = 24


@dataclass(frozen=True)
class Valve:
    """A thermostatic valve with external equaliser.

    area [m2] times discharge coefficient, fully open. spring [Pa] closing force. stroke [Pa] of force from
    shut to open. cross [-] slope of the bulb's pressure curve over the refrigerant's, about design_k [K].
    lost_head [Pa] bulb pressure lost (power head leaking). screen [Pa s2/kg2] resistance of the inlet screen.
    stuck [-] least opening. contact [-] how much of the bulb's temperature comes from its surroundings, not
    the pipe; warm [K]: how much warmer than box air those are.
    """

    area: float
    spring: float
    stroke: float
    cross: float
    design_k: float
    lost_head: float = 0.0
    screen: float = 0.0
    stuck: float = 0.0
    contact: float = 0.02
    warm: float = 0.0
    most: float = 1.0

    def opening(self, f: Fluid, pipe_k: float, air_k: float, p_equaliser: float) -> float:
        """Return share of full opening, with soft ends."""
        bulb_k = pipe_k + self.contact * (air_k + self.warm - pipe_k)
        middle = f.p_dew(self.design_k)
        force = middle + self.cross * (f.p_dew(bulb_k) - middle) - self.lost_head - p_equaliser - self.spring
        at = force / self.stroke
        soft = 0.04
        low = soft * math.log1p(math.exp(min(at / soft, 60.0)))
        share = 1.0 - soft * math.log1p(math.exp(min((1.0 - low) / soft, 60.0)))
        return max(min(max(share, 1e-4), self.most), self.stuck)


def valve_flow(f: Fluid, valve: Valve, opening: float, p_in: float, h_in: float, p_out: float) -> float:
    """Return flow [kg/s] through orifice and screen in series; negative drops give negative flow."""
    sat = f.sat(p_in)
    if h_in <= sat.h_l:
        v = 1.0 / f.rho_liquid(f.t_liquid(h_in))
    else:
        x = min((h_in - sat.h_l) / (sat.h_v - sat.h_l), 1.0)
        v = 1.0 / sat.r_l + 0.7 * x * (1.0 / sat.r_v - 1.0 / sat.r_l)
    drop = p_in - p_out
    resistance = v / (2.0 * (valve.area * opening) ** 2) + valve.screen * v * 1100.0
    return math.copysign(math.sqrt(abs(drop) / resistance), drop)


@dataclass(frozen=True)
class Capillary:
    """A capillary tube: bore [m], length [m], friction factor of liquid, area share lost to dirt."""

    bore: float
    length: float
    friction: float
    lost: float = 0.0


def capillary_flow(f: Fluid, tube: Capillary, p_in: float, h_in: float, p_out: float) -> float:
    """Return flow [kg/s]: homogeneous flow flashing at constant enthalpy, choked where more fall gains
    nothing.

    For each end pressure the momentum integral gives the flux; the flow is the greatest of them down to
    p_out. A bore that lost part of its area loses flow with the 2.5th power of its diameter.
    """
    bore = tube.bore * math.sqrt(1.0 - tube.lost)
    if p_in <= p_out:
        return 0.0
    v_last = f.volume(p_in, h_in)
    v_first, reach, best, p = v_last, 0.0, 0.0, p_in
    last_p = p_in
    for step in range(1, _STEPS + 1):
        p = p_in * (p_out / p_in) ** (step / _STEPS)
        v = f.volume(p, h_in)
        reach += 2.0 * (last_p - p) / (v + v_last)
        friction = tube.friction * (1.0 if v < 1.5 * v_first else 0.85)
        flux = math.sqrt(2.0 * reach / (friction * tube.length / bore + 2.0 * math.log(v / v_first)))
        best = max(best, flux)
        last_p, v_last = p, v
    return best * math.pi / 4.0 * bore**2
