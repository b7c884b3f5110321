"""A unit as the solver sees it: conductances, flow coefficients and volumes."""

from __future__ import annotations

from dataclasses import dataclass

from holdcold.cycle.compressor import CompressorModel
from holdcold.cycle.design import Design
from holdcold.refrigerants import Fluid


@dataclass(frozen=True, slots=True)
class Unit:
    """A design turned into parameters by ``build``; every value SI, conductances in W/K.

    coil_air_wk, condenser_air_wk: heat capacity flow of the air with every fan running [W/K].
    coil_ua_wk, coil_gas_wk: conductance of the whole coil for boiling, and for heating gas [W/K].
    condenser_ua_wk, condenser_liquid_wk: the same for condensing, and for cooling liquid [W/K].
    gas_cp: heat capacity of the gas leaving the coil at rating [J/kgK].
    suction_wk, liquid_wk: conductance of suction and liquid line to their surroundings [W/K].
    suction_drag, liquid_drag: pressure drop times density over squared mass flow [1/m4].
    restriction_drag, suction_restriction_drag: the same, per Pa of extra drop at rated flow, before the
    valve and before the compressor [1/m4 per Pa].
    valve_m2: flow area of the wide-open valve times discharge coefficient [m2].
    valve_closed_k, valve_ramp_k: superheat where the valve begins to open, and its stroke [K].
    capillary_m2: flow coefficient of a capillary; zero with a valve.
    rated_flow_kg_s, rated_heat_w, rated_power_w: scales of the balances.
    right_charge_kg: the charge that is neither too much nor too little [kg].
    right_level: inventory level that charge gives at the rating point (see ``circuit.trace``).
    """

    design: Design
    fluid: Fluid
    compressor: CompressorModel
    coil_air_wk: float
    condenser_air_wk: float
    coil_ua_wk: float
    coil_gas_wk: float
    gas_cp: float
    condenser_ua_wk: float
    condenser_liquid_wk: float
    suction_wk: float
    liquid_wk: float
    suction_drag: float
    liquid_drag: float
    restriction_drag: float
    suction_restriction_drag: float
    valve_m2: float
    valve_closed_k: float
    valve_ramp_k: float
    capillary_m2: float
    rated_flow_kg_s: float
    rated_heat_w: float
    rated_power_w: float
    right_charge_kg: float
    right_level: float

    @property
    def full_level(self) -> float:
        """Inventory level above which liquid backs up into the condenser: 1, or 0 without a receiver."""
        return 1.0 if self.design.receiver_m3 > 0.0 else 0.0
