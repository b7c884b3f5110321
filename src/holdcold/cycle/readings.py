"""Everything a technician could measure on an operating point, each reading named by its place."""

from __future__ import annotations

from holdcold.cycle.circuit import Pass
from holdcold.cycle.compressor import running_amps
from holdcold.cycle.setting import Setting
from holdcold.errors import EnvelopeError, SolverError
from holdcold.refrigerants import Fluid

_SHELL_TO_LINE = 0.92


def readings(setting: Setting, run: Pass) -> dict[str, float]:
    """Return the readings of a running machine, SI, temperatures in kelvin, differences in kelvin.

    A reading that the refrigerant's data cannot give (a discharge line hotter than their range) is
    left out rather than invented. Places and meanings: ``holdcold places``.
    """
    found = _pressures_and_lines(setting, run)
    found.update(_air(setting, run))
    found.update(_power(setting, run))
    return found


def liquid_state(fluid: Fluid, pressure_pa: float, h: float, liquid_k: float) -> tuple[float, float]:
    """Return (temperature [K], vapour quality by enthalpy) of a liquid-line state.

    liquid_k is its temperature while it is all liquid. pressure_pa above the range of the data
    counts as all liquid, below it as the lowest pressure there.
    """
    if pressure_pa >= fluid.p_max:
        return liquid_k, 0.0
    at_pa = max(pressure_pa, fluid.p_min)
    bubble_h = fluid.h_bubble(at_pa)
    if h <= bubble_h:
        return liquid_k, 0.0
    z = min(1.0, (h - bubble_h) / (fluid.h_dew(at_pa) - bubble_h))
    return fluid.wet_k(at_pa, z), z


def _pressures_and_lines(setting: Setting, run: Pass) -> dict[str, float]:
    fluid, low, liquid, valve, guess = setting.unit.fluid, run.low, run.liquid, run.valve, run.guess
    discharge_pa = guess.condensing_pa + setting.foreign_pa
    after_k, glass = liquid_state(fluid, valve.drier_out_pa, valve.receiver_h, valve.receiver_k)
    before_k, _ = liquid_state(fluid, guess.condensing_pa, valve.receiver_h, valve.receiver_k)
    line_k = valve.receiver_k + (valve.valve_h - valve.receiver_h) / liquid.cp
    valve_k, _ = liquid_state(fluid, valve.valve_pa, valve.valve_h, line_k)
    apparent_k = fluid.bubble_k(min(discharge_pa, fluid.p_max))
    found = {
        "suction_pa_service_valve": guess.suction_pa,
        "suction_pa_coil": low.coil_pa,
        "discharge_pa": discharge_pa,
        "coil_superheat_k": low.gas_k,
        "total_superheat_k": low.inlet_k - fluid.dew_k(guess.suction_pa),
        "suction_k_coil_outlet": low.coil_dew_k + low.gas_k,
        "suction_k_compressor_inlet": low.inlet_k,
        "subcooling_k_condenser_outlet": apparent_k - liquid.outlet_k,
        "liquid_k_condenser_outlet": liquid.outlet_k,
        "liquid_k_receiver_outlet": before_k,
        "liquid_k_drier_outlet": after_k,
        "drier_drop_k": before_k - after_k,
        "liquid_k_valve_inlet": valve_k,
        "sight_glass_quality": glass,
        "receiver_level_fraction": min(max(guess.level, 0.0), setting.unit.full_level),
        "mass_flow_kg_s": guess.flow,
    }
    inside_k = _discharge_k(fluid, min(discharge_pa, fluid.p_max), run.discharge_h)
    if inside_k is not None:
        found["discharge_line_k"] = setting.ambient_k + _SHELL_TO_LINE * (inside_k - setting.ambient_k)
    return found


def _discharge_k(fluid: Fluid, pressure_pa: float, h: float) -> float | None:
    """Return the temperature of discharged gas [K]; None where the refrigerant's data end."""
    if h <= fluid.h_dew(pressure_pa):
        return fluid.dew_k(pressure_pa)
    try:
        return fluid.vapour_k_ph(pressure_pa, h)
    except (EnvelopeError, SolverError):
        return None


def _air(setting: Setting, run: Pass) -> dict[str, float]:
    guess, liquid = run.guess, run.liquid
    duty_w = guess.flow * (run.low.outlet_h - run.valve.valve_h)
    through = (guess.flow + run.low.other_flow) * (1.0 + run.injected) * (1.0 - setting.bypass)
    rejected_w = through * (run.discharge_h - liquid.outlet_h)
    rise_k = rejected_w / setting.condenser_air_wk
    drop_k = duty_w * setting.unit.design.sensible_fraction / setting.coil_air_wk
    apparent_dew_k = setting.unit.fluid.dew_k(
        min(guess.condensing_pa + setting.foreign_pa, setting.unit.fluid.p_max)
    )
    return {
        "condenser_air_in_k": setting.ambient_k,
        "condenser_air_out_k": setting.ambient_k + rise_k,
        "condenser_air_rise_k": rise_k,
        "condenser_split_k": apparent_dew_k - setting.ambient_k,
        "coil_air_in_k": setting.box_k,
        "coil_air_out_k": setting.box_k - drop_k,
        "coil_air_drop_k": drop_k,
        "coil_td_k": setting.box_k - run.low.coil_dew_k,
        "box_k": setting.box_k,
        "capacity_w": duty_w,
        "heat_rejected_w": rejected_w,
    }


def _power(setting: Setting, run: Pass) -> dict[str, float]:
    design = setting.unit.design
    amps = running_amps(
        run.power_w, setting.supply_ratio, design.rated_amps, setting.unit.rated_power_w, design.phases
    )
    return {
        "compressor_w": run.power_w,
        "compressor_a": amps,
        "supply_v": design.supply_v * setting.supply_ratio,
    }
