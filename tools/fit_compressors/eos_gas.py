"""A refrigerant straight from CoolProp, in the shape ``holdcold.cycle.compressor.Gas`` asks for.

For studies and tests that must not lean on our own property data; slow. Enthalpy and entropy have
CoolProp's own zero, which no compressor notices.
"""

from __future__ import annotations

from types import SimpleNamespace

import CoolProp.CoolProp as CoolProp

FLUIDS = {
    "R-22": "R22",
    "R-134a": "R134a",
    "R-404A": "R404A",
    "R-507A": "R507A",
    "R-12": "R12",
    "R-290": "Propane",
}


class EosGas:
    """One pure or pseudo-pure refrigerant by its ASHRAE 34 name."""

    def __init__(self, name: str) -> None:
        """Open the equation of state."""
        self.info = SimpleNamespace(name=name)
        self._state = CoolProp.AbstractState("HEOS", FLUIDS[name])

    def dew_pa(self, t_k: float, /) -> float:
        """Return the dew pressure [Pa] at a temperature [K]."""
        self._state.update(CoolProp.QT_INPUTS, 1.0, t_k)
        return self._state.p()

    def dew_k(self, p_pa: float, /) -> float:
        """Return the dew temperature [K] at a pressure [Pa]."""
        return self._saturated(p_pa, 1.0).T()

    def bubble_k(self, p_pa: float, /) -> float:
        """Return the bubble temperature [K] at a pressure [Pa]."""
        return self._saturated(p_pa, 0.0).T()

    def h_dew(self, p_pa: float, /) -> float:
        """Return the enthalpy of saturated vapour [J/kg]."""
        return self._saturated(p_pa, 1.0).hmass()

    def h_bubble(self, p_pa: float, /) -> float:
        """Return the enthalpy of saturated liquid [J/kg]."""
        return self._saturated(p_pa, 0.0).hmass()

    def s_dew(self, p_pa: float, /) -> float:
        """Return the entropy of saturated vapour [J/kgK]."""
        return self._saturated(p_pa, 1.0).smass()

    def rho_dew(self, p_pa: float, /) -> float:
        """Return the density of saturated vapour [kg/m3]."""
        return self._saturated(p_pa, 1.0).rhomass()

    def vapour(self, t_k: float, p_pa: float, /) -> tuple[float, float, float, float]:
        """Return (h, s, v, cp) of vapour at temperature [K] and pressure [Pa]."""
        return self._single(t_k, p_pa, 1.0)

    def liquid(self, t_k: float, p_pa: float, /) -> tuple[float, float, float, float]:
        """Return (h, s, v, cp) of liquid at temperature [K] and pressure [Pa]."""
        return self._single(t_k, p_pa, 0.0)

    def vapour_h_ps(self, p_pa: float, s: float, /) -> float:
        """Return the enthalpy [J/kg] at pressure [Pa] and entropy [J/kgK]."""
        self._state.update(CoolProp.PSmass_INPUTS, p_pa, s)
        return self._state.hmass()

    def vapour_k_ph(self, p_pa: float, h: float, /) -> float:
        """Return the temperature [K] at pressure [Pa] and enthalpy [J/kg]."""
        self._state.update(CoolProp.HmassP_INPUTS, h, p_pa)
        return self._state.T()

    def _saturated(self, p_pa: float, quality: float) -> CoolProp.AbstractState:
        self._state.update(CoolProp.PQ_INPUTS, p_pa, quality)
        return self._state

    def _single(self, t_k: float, p_pa: float, quality: float) -> tuple[float, float, float, float]:
        state = self._saturated(p_pa, quality)
        if abs(state.T() - t_k) > 1e-6:
            state.update(CoolProp.PT_INPUTS, p_pa, t_k)
        return state.hmass(), state.smass(), 1.0 / state.rhomass(), state.cpmass()
