"""Refrigerant properties for the generator: tables made from CoolProp equations of state, read linearly.

Pressures are absolute [Pa], temperatures [K], enthalpies [J/kg], IIR reference (200 kJ/kg saturated liquid at
0 C). Saturation lies on a fine grid in ln p, vapour on a grid in (ln p, superheat), liquid is taken as
saturated liquid of the same temperature. The step between bubble and dew is taken as linear in enthalpy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import CoolProp
import numpy as np
from CoolProp import AbstractState
from CoolProp.CoolProp import PropsSI
from scipy.interpolate import CubicSpline

BLENDS = {
    "R-134a": (("R134a",), (1.0,)),
    "R-290": (("R290",), (1.0,)),
    "R-22": (("R22",), (1.0,)),
    "R-404A": (("R125", "R143a", "R134a"), (0.44, 0.52, 0.04)),
    "R-507A": (("R125", "R143a"), (0.5, 0.5)),
    "R-448A": (("R32", "R125", "R1234yf", "R134a", "R1234ze(E)"), (0.26, 0.26, 0.20, 0.21, 0.07)),
    "R-449A": (("R32", "R125", "R1234yf", "R134a"), (0.243, 0.247, 0.253, 0.257)),
    "R-407C": (("R32", "R125", "R134a"), (0.23, 0.25, 0.52)),
}
"""Components and mass fractions.

ANSI/ASHRAE 34 (from memory; they give the published AR4 GWP of each blend).
"""

_COLDEST = 203.0
_BELOW_CRITICAL = 6.0
_SAT = 600
_P_STEPS = 110
_SH_STEPS = 66
_SH_MAX = 130.0


@dataclass(frozen=True)
class Sat:
    """Saturation at one pressure: bubble and dew temperature, then liquid and vapour h, rho and cp."""

    t_b: float
    t_d: float
    h_l: float
    h_v: float
    r_l: float
    r_v: float
    c_l: float
    c_v: float


class Fluid:
    """Properties of one refrigerant by table look-up."""

    def __init__(self, name: str) -> None:
        self.name = name
        components, shares = BLENDS[name]
        state = AbstractState("HEOS", "&".join(components))
        if len(components) > 1:
            moles = [share / PropsSI("M", part) for share, part in zip(shares, components, strict=True)]
            state.set_mole_fractions([one / sum(moles) for one in moles])
        self.molar = state.molar_mass()
        state.update(CoolProp.QT_INPUTS, 0.0, 273.15)
        self._h0, self._s0 = 200e3 - state.hmass(), 1000.0 - state.smass()
        self.p_crit = sum(x * PropsSI("PCRIT", part) for x, part in zip(shares, components, strict=True))
        self._saturation(state)
        self._vapour(state)

    def _saturation(self, state: AbstractState) -> None:
        hottest = min(358.0, self._t_critical(state) - _BELOW_CRITICAL)
        temps = np.linspace(_COLDEST, hottest, 110)
        rows: list[list[list[float]]] = [[], []]
        for quality, kept in enumerate(rows):
            for temperature in temps:
                try:
                    state.update(CoolProp.QT_INPUTS, float(quality), float(temperature))
                    values = [state.p(), temperature, state.hmass() + self._h0, state.rhomass()]
                    values.append(self._cp(state, quality))
                except ValueError:
                    continue
                kept.append(values)
        liquid, vapour = (np.array(kept).T for kept in rows)
        low = max(liquid[0][0], vapour[0][0])
        high = min(liquid[0][-1], vapour[0][-1])
        self._lnp0, lnp1 = math.log(low), math.log(high)
        self._dlnp = (lnp1 - self._lnp0) / (_SAT - 1)
        grid = np.linspace(self._lnp0, lnp1, _SAT)
        columns = [
            _spline(np.log(side[0]), side[row], grid) for row in (1, 2, 3, 4) for side in (liquid, vapour)
        ]
        self._rows = [tuple(float(value) for value in row) for row in zip(*columns, strict=True)]
        self.p_min, self.p_max = low, high
        t_line = np.linspace(_COLDEST, float(columns[0][-1]), _SAT)
        self._t0, self._dt = _COLDEST, float(t_line[1] - t_line[0])
        self._liq_h = [float(one) for one in np.interp(t_line, columns[0], columns[2])]
        self._liq_r = [float(one) for one in np.interp(t_line, columns[0], columns[4])]
        self._h_line, self._t_of_h = columns[2], columns[0]
        self._ln_dew = [float(one) for one in np.interp(t_line, columns[1], grid)]
        self._ln_bub = [float(one) for one in np.interp(t_line, columns[0], grid)]

    @staticmethod
    def _t_critical(state: AbstractState) -> float:
        parts = state.fluid_names()
        return sum(
            x * PropsSI("TCRIT", part) for x, part in zip(state.get_mole_fractions(), parts, strict=True)
        )

    def _cp(self, state: AbstractState, quality: int) -> float:
        """Return cp of the saturated phase.

        Blends take it from the imposed single phase just beside the line.
        """
        if len(state.fluid_names()) == 1:
            key = state.saturated_vapor_keyed_output if quality else state.saturated_liquid_keyed_output
            return key(CoolProp.iCpmass)
        p, temperature = state.p(), state.T()
        h, rho = state.hmass(), state.rhomass()
        state.specify_phase(CoolProp.iphase_gas if quality else CoolProp.iphase_liquid)
        state.update(CoolProp.PT_INPUTS, p, temperature + (2.0 if quality else -2.0))
        cp = state.cpmass()
        state.unspecify_phase()
        state.update(CoolProp.QT_INPUTS, float(quality), temperature)
        if abs(state.hmass() - h) > 1.0 or abs(state.rhomass() / rho - 1.0) > 1e-6:
            raise ValueError("saturation did not repeat")
        return cp

    def _vapour(self, state: AbstractState) -> None:
        self._vap0, self._vapd = self._lnp0, (math.log(self.p_max) - self._lnp0) / (_P_STEPS - 1)
        self._shd = _SH_MAX / (_SH_STEPS - 1)
        state.specify_phase(CoolProp.iphase_gas)
        self._vap: list[list[tuple[float, float, float]]] = []
        for number in range(_P_STEPS):
            p = math.exp(self._vap0 + number * self._vapd)
            t_d = self.sat(p).t_d
            line = []
            for step in range(_SH_STEPS):
                state.update(CoolProp.PT_INPUTS, p, t_d + max(step * self._shd, 1e-3))
                line.append((state.hmass() + self._h0, state.smass() + self._s0, 1.0 / state.rhomass() * p))
            self._vap.append(line)
        state.unspecify_phase()

    def sat(self, p: float) -> Sat:
        """Return saturation at ``p``; clamped at the ends of the table."""
        at = min(max((math.log(p) - self._lnp0) / self._dlnp, 0.0), _SAT - 1.001)
        number = int(at)
        low, high, part = self._rows[number], self._rows[number + 1], at - number
        return Sat(*[a + part * (b - a) for a, b in zip(low, high, strict=True)])

    def p_dew(self, t: float) -> float:
        """Return dew pressure."""
        return math.exp(self._on_t(self._ln_dew, t))

    def p_bub(self, t: float) -> float:
        """Return bubble pressure."""
        return math.exp(self._on_t(self._ln_bub, t))

    def h_liquid(self, t: float) -> float:
        """Return enthalpy of liquid at ``t``."""
        return self._on_t(self._liq_h, t)

    def rho_liquid(self, t: float) -> float:
        """Return density of liquid at ``t``."""
        return self._on_t(self._liq_r, t)

    def t_liquid(self, h: float) -> float:
        """Return temperature of liquid of enthalpy ``h``."""
        return float(np.interp(h, self._h_line, self._t_of_h))

    def _on_t(self, line: list[float], t: float) -> float:
        at = min(max((t - self._t0) / self._dt, 0.0), _SAT - 1.001)
        number = int(at)
        return line[number] + (at - number) * (line[number + 1] - line[number])

    def vapour(self, p: float, superheat: float) -> tuple[float, float, float]:
        """Return h, s and v of vapour ``superheat`` above dew at ``p`` (0 to 130 K)."""
        at = min(max((math.log(p) - self._vap0) / self._vapd, 0.0), _P_STEPS - 1.001)
        across = min(max(superheat / self._shd, 0.0), _SH_STEPS - 1.001)
        i, j = int(at), int(across)
        a, b = at - i, across - j
        row, above = self._vap[i], self._vap[i + 1]
        w00, w01, w10, w11 = (1 - a) * (1 - b), (1 - a) * b, a * (1 - b), a * b
        h0, s0, z0 = row[j]
        h1, s1, z1 = row[j + 1]
        h2, s2, z2 = above[j]
        h3, s3, z3 = above[j + 1]
        return (
            w00 * h0 + w01 * h1 + w10 * h2 + w11 * h3,
            w00 * s0 + w01 * s1 + w10 * s2 + w11 * s3,
            (w00 * z0 + w01 * z1 + w10 * z2 + w11 * z3) / p,
        )

    def superheat(self, p: float, h: float) -> float:
        """Return superheat of vapour of enthalpy ``h`` at ``p``: 0 at the dew line, below it negative."""
        return self._along(p, h, 0)

    def _along(self, p: float, value: float, k: int) -> float:
        """Return the superheat at which h (k = 0) or s (k = 1) takes ``value`` at ``p``.

        Straight beyond the ends.
        """
        at = min(max((math.log(p) - self._vap0) / self._vapd, 0.0), _P_STEPS - 1.001)
        i = int(at)
        a = at - i
        row, above = self._vap[i], self._vap[i + 1]
        low, high = 0, _SH_STEPS - 1
        while high - low > 1:
            j = (low + high) // 2
            if (1 - a) * row[j][k] + a * above[j][k] > value:
                high = j
            else:
                low = j
        first = (1 - a) * row[low][k] + a * above[low][k]
        step = (1 - a) * row[high][k] + a * above[high][k] - first
        return self._shd * (low + (value - first) / step)

    def temperature(self, p: float, h: float) -> float:
        """Return temperature at pressure and enthalpy, any phase."""
        sat = self.sat(p)
        if h >= sat.h_v:
            return sat.t_d + self.superheat(p, h)
        if h >= sat.h_l:
            return sat.t_b + (sat.t_d - sat.t_b) * (h - sat.h_l) / (sat.h_v - sat.h_l)
        return min(self.t_liquid(h), sat.t_b)

    def isentropic(self, p1: float, h1: float, p2: float) -> float:
        """Return enthalpy after isentropic compression from (p1, h1) to p2; wet suction is taken as mixed."""
        sat = self.sat(p1)
        if h1 >= sat.h_v:
            s1 = self.vapour(p1, self.superheat(p1, h1))[1]
        else:
            s1 = self.vapour(p1, 0.0)[1] - (sat.h_v - h1) / sat.t_d
        at = self._along(p2, s1, 1)
        return self.vapour(p2, min(max(at, 0.0), _SH_MAX))[0] + min(at, 0.0) * self.sat(p2).c_v

    def volume(self, p: float, h: float) -> float:
        """Return specific volume at pressure and enthalpy, two phases mixed without slip."""
        sat = self.sat(p)
        if h >= sat.h_v:
            return self.vapour(p, self.superheat(p, h))[2]
        if h <= sat.h_l:
            return 1.0 / self.rho_liquid(self.t_liquid(h))
        x = (h - sat.h_l) / (sat.h_v - sat.h_l)
        return (1.0 - x) / sat.r_l + x / sat.r_v


def _spline(x: np.ndarray, y: np.ndarray, at: np.ndarray) -> np.ndarray:
    return CubicSpline(x, y)(at)


@cache
def fluid(name: str) -> Fluid:
    """Return the tables of a refrigerant, made once."""
    return Fluid(name)
