"""The reference: CoolProp's Helmholtz equations, always with the phase imposed.

Left to itself the mixture flash fails in contiguous bands and now and then picks the wrong phase; with
the phase imposed every single-phase state of the envelope is found. Saturation of blends is therefore
solved here (``equilibrium``) from imposed-phase fugacities, at every temperature, so that no band needs
special treatment; where CoolProp's own flash does converge the two are compared and the difference kept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import CoolProp
import numpy as np
from CoolProp import AbstractState

from .catalogue import Entry
from .pairs import open_mixture

State = tuple[float, float, float, float]

# The pseudo-pure equations state 200 K as their lower limit; CoolProp's density search fails or strays
# below about 190 K although the equations go on smoothly.
PSEUDO_PURE_LIMIT_K = 200.0
WALK_K = 20.0


@dataclass
class Reference:
    """Single-phase states of one refrigerant: h [J/kg], s [J/(kg K)], v [m3/kg], cp [J/(kg K)].

    Enthalpy and entropy carry CoolProp's own zero; ``shift`` of the fit moves them to the IIR zero.
    second_rules: set estimated binary pairs by their other rule.
    """

    entry: Entry
    second_rules: bool = False
    liquid_state: AbstractState = field(init=False)
    vapour_state: AbstractState = field(init=False)
    overall: list[float] = field(init=False)

    def __post_init__(self) -> None:
        """Open one backend per phase."""
        self.liquid_state, self.vapour_state = self.open(), self.open()
        self.overall = [1.0]
        if self.entry.model == "mixture":
            self.overall = list(self.liquid_state.get_mole_fractions())
        self.liquid_state.specify_phase(CoolProp.iphase_liquid)
        self.vapour_state.specify_phase(CoolProp.iphase_gas)

    def open(self) -> AbstractState:
        """A fresh backend of the overall composition, no phase imposed."""
        if self.entry.model == "mixture":
            return open_mixture(self.entry, second=self.second_rules)
        return AbstractState("HEOS", self.entry.backend_name)

    @property
    def molar_mass(self) -> float:
        """Molar mass [kg/mol] of the overall composition."""
        if self.entry.model == "mixture":
            self.vapour_state.set_mole_fractions(self.overall)
        return float(self.vapour_state.molar_mass())

    @property
    def gas_constant(self) -> float:
        """Specific gas constant [J/(kg K)]."""
        return float(self.vapour_state.gas_constant()) / self.molar_mass

    def vapour(self, t_k: float, p_pa: float) -> State:
        """Vapour at temperature and pressure, overall composition."""
        if self.entry.model == "mixture":
            self.vapour_state.set_mole_fractions(self.overall)
        return _read(self.vapour_state, t_k, p_pa, away_k=WALK_K)

    def liquid(self, t_k: float, p_pa: float) -> State:
        """Liquid at temperature and pressure, overall composition."""
        if self.entry.model == "mixture":
            self.liquid_state.set_mole_fractions(self.overall)
        cold = self.entry.model == "pseudo-pure" and t_k < PSEUDO_PURE_LIMIT_K
        return _read(self.liquid_state, t_k, p_pa, away_k=WALK_K if cold else -WALK_K, walk=cold)

    def ideal_cp(self, t_k: float) -> float:
        """Ideal-gas heat capacity [J/(kg K)]."""
        if self.entry.model == "mixture":
            self.vapour_state.set_mole_fractions(self.overall)
        self.vapour_state.update(CoolProp.PT_INPUTS, 1.0e3, t_k)
        return float(self.vapour_state.cp0mass())

    def log_phi(
        self, liquid: bool, t_k: float, p_pa: float, fractions: np.ndarray
    ) -> tuple[np.ndarray, float]:
        """ln of the fugacity coefficients and the compressibility factor of one imposed phase."""
        state = self.liquid_state if liquid else self.vapour_state
        state.set_mole_fractions(list(fractions))
        state.update(CoolProp.PT_INPUTS, p_pa, t_k)
        count = len(fractions)
        logs = np.array([math.log(state.fugacity_coefficient(i)) for i in range(count)])
        return logs, float(state.compressibility_factor())

    def phase_state(
        self, liquid: bool, t_k: float, p_pa: float, fractions: np.ndarray
    ) -> tuple[float, float, float]:
        """(h [J/mol], v [m3/mol], molar mass [kg/mol]) of one phase of the given mole fractions."""
        state = self.liquid_state if liquid else self.vapour_state
        state.set_mole_fractions(list(fractions))
        state.update(CoolProp.PT_INPUTS, p_pa, t_k)
        return float(state.hmolar()), 1.0 / float(state.rhomolar()), float(state.molar_mass())


def _read(state: AbstractState, t_k: float, p_pa: float, *, away_k: float, walk: bool = False) -> State:
    """Update ``state`` and read (h, s, v, cp).

    away_k: towards where the phase is farther from saturation; there CoolProp's density search is safe.
    walk: do not even try it here.
    """
    if walk:
        _walk(state, t_k, p_pa, away_k)
    else:
        try:
            state.update(CoolProp.PT_INPUTS, p_pa, t_k)
        except ValueError:
            _walk(state, t_k, p_pa, away_k)
    return float(state.hmass()), float(state.smass()), 1.0 / float(state.rhomass()), float(state.cpmass())


def _walk(state: AbstractState, t_k: float, p_pa: float, away_k: float) -> None:
    """Follow the density along the isobar from a temperature ``away_k`` off, Newton's method at each step.

    Needed where CoolProp's starting guess is off although the equation itself is smooth: vapour close to
    the critical point, and pseudo-pure liquids a little below the equation's stated lower limit.
    """
    state.update(CoolProp.PT_INPUTS, p_pa, t_k + away_k)
    rho = float(state.rhomolar())
    for here_k in t_k + away_k * np.linspace(0.9, 0.0, 10):
        for _ in range(60):
            state.update(CoolProp.DmolarT_INPUTS, rho, here_k)
            slope = float(state.first_partial_deriv(CoolProp.iP, CoolProp.iDmolar, CoolProp.iT))
            step = (p_pa - float(state.p())) / slope
            rho += step
            if abs(step) < 1e-11 * rho:
                break
        else:
            raise ValueError(f"no density at {here_k} K, {p_pa} Pa")
    state.update(CoolProp.DmolarT_INPUTS, rho, t_k)
