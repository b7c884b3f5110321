"""States behind the points of a machine's map, from a reference equation of state (CoolProp)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import CoolProp.CoolProp as CoolProp
import numpy as np
from records import Machine, bicubic

COOLPROP = {"R-22": "R22", "R-134a": "R134a", "R-404A": "R404A", "R-507A": "R507A", "R-12": "R12"}
STEPS = 7
CORNER = 2.0 / 3.0
LEAST_LIFT_K = 15.0
ZERO_C_K = 273.15


@dataclass(frozen=True)
class Points:
    """One machine's map on a grid inside the realistic envelope; ``centre`` is the mid-map index.

    mass [kg/s], power [W], suction_v [m3/kg], rise: isentropic enthalpy rise [J/kg], suction_pa,
    discharge_pa [Pa], evap_c, cond_c [C]. ``dropped``: points inside the envelope where the cubics
    give no possible machine.
    """

    machine: Machine
    evap_c: np.ndarray
    cond_c: np.ndarray
    suction_pa: np.ndarray
    discharge_pa: np.ndarray
    suction_v: np.ndarray
    rise: np.ndarray
    mass: np.ndarray
    power: np.ndarray
    capacity: np.ndarray
    centre: int
    dropped: int

    @property
    def drawn(self) -> np.ndarray:
        """Return the suction volume flow [m3/s]."""
        return self.mass * self.suction_v


def envelope(low: float, high: float) -> bool:
    """Say whether relative coordinates (evaporating, condensing; 0 to 1) lie inside the envelope.

    Published limits are rectangles; real envelopes lack the corner of highest lift and that of lowest
    (AHRI-like: a triangle of a third of each side is cut off).
    """
    return abs(low - high) < CORNER


def points(machine: Machine, whole: bool = False) -> Points | None:
    """Return the points of a machine, or None when its mid-map point is impossible.

    whole: keep the corners of the rectangle too.
    """
    rows, dropped, centre = [], 0, -1
    x0, x1, y0, y1 = machine.limits_c
    shares = np.linspace(0.0, 1.0, STEPS)
    for a in shares:
        for b in shares:
            evap, cond = x0 + a * (x1 - x0), y0 + b * (y1 - y0)
            middle = abs(a - 0.5) + abs(b - 0.5) < 1e-9
            if cond - evap < LEAST_LIFT_K or not (whole or envelope(a, b)):
                continue
            row = _state(machine, evap, cond)
            if row is None:
                if middle:
                    return None
                dropped += 1
                continue
            if middle:
                centre = len(rows)
            rows.append(row)
    return Points(machine, *np.array(rows).T, centre=centre, dropped=dropped)


def dew_pa(refrigerant: str, t_k: float) -> float:
    """Return the dew pressure [Pa]."""
    return _saturated(refrigerant, round(t_k, 6), 1)[0]


def _state(machine: Machine, evap_c: float, cond_c: float) -> tuple[float, ...] | None:
    """Return one row of ``Points``, or None where the map cannot be a machine (efficiency 0.1 to 0.9)."""
    name = machine.refrigerant
    suction_pa, discharge_pa = dew_pa(name, evap_c + ZERO_C_K), dew_pa(name, cond_c + ZERO_C_K)
    gas = _eos(name)
    gas.update(CoolProp.PT_INPUTS, suction_pa, max(machine.return_gas_c, evap_c + 0.01) + ZERO_C_K)
    h, s, v = gas.hmass(), gas.smass(), 1.0 / gas.rhomass()
    gas.update(CoolProp.PSmass_INPUTS, discharge_pa, s)
    rise = gas.hmass() - h
    liquid_c = cond_c - machine.subcooling_k if machine.liquid_c is None else min(machine.liquid_c, cond_c)
    liquid_h = _saturated(name, round(liquid_c + ZERO_C_K, 6), 0)[1]
    capacity, power = (bicubic(curve, evap_c, cond_c) for curve in (machine.capacity, machine.power))
    mass = capacity / (h - liquid_h)
    if capacity <= 0.0 or power <= 0.0 or not 0.1 < mass * rise / power < 0.9:
        return None
    return evap_c, cond_c, suction_pa, discharge_pa, v, rise, mass, power, capacity


@cache
def _eos(refrigerant: str) -> CoolProp.AbstractState:
    """Return the equation of state of a refrigerant."""
    return CoolProp.AbstractState("HEOS", COOLPROP[refrigerant])


@cache
def _saturated(refrigerant: str, t_k: float, quality: int) -> tuple[float, float]:
    """Return (pressure [Pa], enthalpy [J/kg]) of saturated liquid (0) or vapour (1)."""
    state = _eos(refrigerant)
    state.update(CoolProp.QT_INPUTS, quality, t_k)
    return state.p(), state.hmass()
