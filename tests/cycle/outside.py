"""The circuit recomputed outside the engine: CoolProp's reference equations, SciPy's quadrature.

Nothing here calls the engine's properties, inventory or balances. What goes in are the readings of a
solved point and the sizes of the unit (volumes, conductances), which are inputs of the engine as well.
Blends are CoolProp's predefined mixtures (``R449A.mix``), phases imposed; R-404A and R-507A are its
pseudo-pure equations, as in the reference grids (tests/reference/coolprop8).
"""

from __future__ import annotations

from functools import cache
from math import exp, log

import pytest

from holdcold.cycle import Unit
from holdcold.refrigerants import fluid, names

coolprop = pytest.importorskip("CoolProp")
integrate = pytest.importorskip("scipy.integrate")

PSEUDO_PURE = ("R-404A", "R-410A", "R-507A")
REFERENCED = [name for name in names() if fluid(name).info.status == "full" and name != "R-744"]
"""Refrigerants CoolProp computes without estimated pairs; carbon dioxide does not run these units."""
HEAT_LOSS = 0.15  # share of the input leaving through the shell, docs/cycle.md
SHELL_TO_LINE = 0.92  # discharge line over gas, both above ambient, docs/cycle.md


class Reference:
    """One refrigerant by CoolProp, enthalpy zero as the project's: 200 kJ/kg, saturated liquid at 0 C."""

    def __init__(self, name: str) -> None:
        pure = len(fluid(name).info.composition) == 1 or name in PSEUDO_PURE
        self._label = name.replace("-", "") + ("" if pure else ".mix")
        self._free = coolprop.AbstractState("HEOS", self._label)
        self._imposed = {"gas": self._make(coolprop.iphase_gas), "liquid": self._make(coolprop.iphase_liquid)}
        self._free.update(coolprop.QT_INPUTS, 0.0, 273.15)
        self._shift = 200.0e3 - self._free.hmass()

    def _make(self, phase: int):
        state = coolprop.AbstractState("HEOS", self._label)
        state.specify_phase(phase)
        return state

    def saturated(self, p_pa: float, quality: float) -> tuple[float, float, float]:
        """Return (T, h, density) at the bubble (quality 0) or dew (quality 1) point."""
        self._free.update(coolprop.PQ_INPUTS, p_pa, quality)
        return self._free.T(), self._free.hmass() + self._shift, self._free.rhomass()

    def saturation_pa(self, t_k: float, quality: float) -> float:
        """Return the bubble (quality 0) or dew (quality 1) pressure."""
        self._free.update(coolprop.QT_INPUTS, quality, t_k)
        return self._free.p()

    def single(self, phase: str, t_k: float, p_pa: float) -> tuple[float, float, float, float]:
        """Return (h, density, cp, s) of gas or liquid, the phase imposed."""
        state = self._imposed[phase]
        state.update(coolprop.PT_INPUTS, p_pa, t_k)
        return state.hmass() + self._shift, state.rhomass(), state.cpmass(), state.smass()

    def boiling_k(self, p_pa: float, quality: float) -> float:
        """Return the temperature between bubble and dew at a mean of their enthalpies, by bisection."""
        (low_k, low_h, _), (high_k, high_h, _) = self.saturated(p_pa, 0.0), self.saturated(p_pa, 1.0)
        if high_k - low_k < 0.05:
            return 0.5 * (low_k + high_k)
        target, low, high = low_h + quality * (high_h - low_h), 0.0, 1.0
        for _ in range(25):
            middle = 0.5 * (low + high)
            self._free.update(coolprop.PQ_INPUTS, p_pa, middle)
            low, high = (middle, high) if self._free.hmass() + self._shift < target else (low, middle)
        return self._free.T()

    def flash(self, p_pa: float, molar_quality: float) -> tuple[float, float]:
        """Return (h, density) of a blend between bubble and dew, its phases slipping as in Zivi.

        Each phase has the composition it has there, from CoolProp's flash.
        """
        state = self._free
        state.update(coolprop.PQ_INPUTS, p_pa, molar_quality)
        liquid = state.saturated_liquid_keyed_output(coolprop.iDmass)
        vapour = state.saturated_vapor_keyed_output(coolprop.iDmass)
        heavy = state.saturated_vapor_keyed_output(coolprop.imolar_mass)
        x = molar_quality * heavy / state.molar_mass()
        void = x / (x + (1.0 - x) * (vapour / liquid) ** (2.0 / 3.0))
        return state.hmass() + self._shift, void * vapour + (1.0 - void) * liquid

    def gas_k(self, h: float, p_pa: float) -> float:
        """Return the temperature of gas of an enthalpy, by Newton on CoolProp's heat capacity."""
        t_k = self.saturated(p_pa, 1.0)[0] + 30.0
        for _ in range(30):
            here, _, cp, _ = self.single("gas", t_k, p_pa)
            t_k += (h - here) / cp
            if abs(h - here) < 1e-3:
                break
        return t_k

    def isentropic_h(self, s: float, p_pa: float) -> float:
        """Return the enthalpy of gas of an entropy, by Newton."""
        t_k = self.saturated(p_pa, 1.0)[0] + 30.0
        for _ in range(30):
            h, _, cp, here = self.single("gas", t_k, p_pa)
            if abs(s - here) < 1e-6:
                break
            t_k *= exp((s - here) / cp)
        return h


@cache
def reference(name: str) -> Reference:
    """Return the reference of one refrigerant."""
    return Reference(name)


def liquid_share(quality_in: float, quality_out: float, density_ratio: float) -> float:
    """Return the mean liquid volume share of a tube, Zivi's void fraction integrated by quadrature.

    Source: Zivi, S. M. (1964), J. Heat Transfer 86, 247: slip = (rho_l / rho_v)^(1/3), so that
    void = 1 / (1 + (1 - x) / x (rho_v / rho_l)^(2/3)).
    """

    def liquid(x: float) -> float:
        return 1.0 - x / (x + (1.0 - x) * density_ratio ** (2.0 / 3.0))

    if quality_in == quality_out:
        return liquid(quality_in)
    area, _ = integrate.quad(liquid, quality_in, quality_out, epsabs=1e-12, epsrel=1e-10)
    return area / (quality_out - quality_in)


def mixed_density(quality: float, vapour: float, liquid: float) -> float:
    """Return the density of a homogeneous two-phase stream."""
    return 1.0 / (quality / vapour + (1.0 - quality) / liquid)


def compressor_inlet(unit: Unit, read: dict[str, float], ambient_k: float) -> tuple[float, float, float]:
    """Return (h, density, wetness) of what the compressor draws.

    From its temperature, or, when that sits at saturation, from the energy balance over the machine and
    the temperature of the discharge line.
    """
    ref, suction_pa = reference(unit.design.refrigerant), read["suction_pa_service_valve"]
    dew_k, dew_h, vapour = ref.saturated(suction_pa, 1.0)
    if read["suction_k_compressor_inlet"] > dew_k + 0.05:
        h, density, _, _ = ref.single("gas", read["suction_k_compressor_inlet"], suction_pa)
        return h, density, 0.0
    inside_k = ambient_k + (read["discharge_line_k"] - ambient_k) / SHELL_TO_LINE
    leaving_h = ref.single("gas", inside_k, read["discharge_pa"])[0]
    h = leaving_h - (1.0 - HEAT_LOSS) * read["compressor_w"] / read["mass_flow_kg_s"]
    _, bubble_h, liquid = ref.saturated(suction_pa, 0.0)
    wetness = max(0.0, (dew_h - h) / (dew_h - bubble_h))
    return h, mixed_density(1.0 - wetness, vapour, liquid), wetness


def dry_share(unit: Unit, read: dict[str, float], entering_h: float) -> float:
    """Return the share of the coil that only heats gas.

    From the superheat it gives (one stream heated by air of one temperature); where the gas has come
    within a fiftieth of the air, from the share that must do the boiling (effectiveness against air).
    """
    ref, coil_pa, flow = reference(unit.design.refrigerant), read["suction_pa_coil"], read["mass_flow_kg_s"]
    (dew_k, dew_h, _), (_, bubble_h, _) = (ref.saturated(coil_pa, quality) for quality in (1.0, 0.0))
    reach = read["coil_superheat_k"] / (read["box_k"] - dew_k)
    if reach < 0.98:
        return -log(1.0 - reach) * flow * unit.gas_cp / unit.coil_gas_wk
    entering_k = ref.boiling_k(coil_pa, (entering_h - bubble_h) / (dew_h - bubble_h))
    air_wk = unit.coil_air_wk
    whole_wk = air_wk * (1.0 - exp(-unit.coil_ua_wk / air_wk)) / unit.design.sensible_fraction
    wider_k, nearer_k = read["box_k"] - entering_k, read["box_k"] - dew_k
    mean_k = (wider_k - nearer_k) / log(wider_k / nearer_k) if wider_k > 1.001 * nearer_k else nearer_k
    return 1.0 - flow * (dew_h - entering_h) / (whole_wk * mean_k)


def coil_kg(unit: Unit, read: dict[str, float]) -> float:
    """Return the refrigerant in the coil."""
    ref, coil_pa, flow = reference(unit.design.refrigerant), read["suction_pa_coil"], read["mass_flow_kg_s"]
    dew_k, dew_h, vapour = ref.saturated(coil_pa, 1.0)
    _, bubble_h, liquid = ref.saturated(coil_pa, 0.0)
    superheat_k, duty_h = read["coil_superheat_k"], read["capacity_w"] / flow
    if superheat_k > 0.5:
        entering_h = ref.single("gas", dew_k + superheat_k, coil_pa)[0] - duty_h
        leaving = 1.0
        dry = dry_share(unit, read, entering_h)
    else:
        entering_h = ref.single("liquid", read["liquid_k_valve_inlet"], read["discharge_pa"])[0]
        leaving, dry = min(1.0, (entering_h + duty_h - bubble_h) / (dew_h - bubble_h)), 0.0
    entering = (entering_h - bubble_h) / (dew_h - bubble_h)
    wet = liquid_share(entering, leaving, vapour / liquid)
    return unit.design.coil_m3 * ((1.0 - dry) * (vapour + (liquid - vapour) * wet) + dry * vapour)


def flooded_share(unit: Unit, read: dict[str, float], ambient_k: float, foreign_pa: float = 0.0) -> float:
    """Return the share of the condenser under liquid, from how far that liquid was cooled."""
    ref, condensing_pa = reference(unit.design.refrigerant), read["discharge_pa"] - foreign_pa
    bubble_k = ref.saturated(condensing_pa, 0.0)[0]
    outlet_k = read["liquid_k_condenser_outlet"]
    if bubble_k - outlet_k < 0.01:
        return 0.0
    cp = ref.single("liquid", 0.5 * (bubble_k + outlet_k), condensing_pa)[2]
    units = log((bubble_k - ambient_k) / (outlet_k - ambient_k))
    return units * read["mass_flow_kg_s"] * cp / unit.condenser_liquid_wk


def charge(unit: Unit, read: dict[str, float], ambient_k: float, foreign_pa: float = 0.0) -> dict[str, float]:
    """Return the refrigerant by place [kg], summed over the volumes of the unit.

    Bubbles leaving the condenser follow from the heat it rejected: the glass sits behind the drier.
    """
    design, ref = unit.design, reference(unit.design.refrigerant)
    condensing_pa, flow = read["discharge_pa"] - foreign_pa, read["mass_flow_kg_s"]
    (_, dew_h, vapour), (_, bubble_h, boiling) = (ref.saturated(condensing_pa, q) for q in (1.0, 0.0))
    drawn_h, gas, wetness = compressor_inlet(unit, read, ambient_k)
    left_h = drawn_h + ((1.0 - HEAT_LOSS) * read["compressor_w"] - read["heat_rejected_w"]) / flow
    bubbles = max(0.0, (left_h - bubble_h) / (dew_h - bubble_h)) if read["sight_glass_quality"] > 0.0 else 0.0
    liquid = ref.single("liquid", read["liquid_k_condenser_outlet"], condensing_pa)[1]
    leaving = mixed_density(bubbles, vapour, liquid)
    flooded = flooded_share(unit, read, ambient_k, foreign_pa)
    condensing = vapour + (boiling - vapour) * liquid_share(bubbles, 1.0, vapour / boiling)
    boiling_low = ref.saturated(read["suction_pa_service_valve"], 0.0)[2]
    level = read["receiver_level_fraction"]
    return {
        "coil_kg": coil_kg(unit, read),
        "suction_kg": design.suction_line_m3 * gas,
        "shell_kg": design.shell_m3 * (gas + 0.5 * boiling_low * (1.0 - exp(-wetness / 0.15))),
        "condenser_kg": design.condenser_m3 * ((1.0 - flooded) * condensing + flooded * leaving),
        "receiver_kg": design.receiver_m3 * (level * leaving + (1.0 - level) * vapour),
        "liquid_line_kg": design.liquid_line_m3 * leaving,
    }
