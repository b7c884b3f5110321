"""The machine at rest with its pressures equalised."""

from __future__ import annotations

from holdcold.cycle.setting import Setting
from holdcold.refrigerants import Fluid


def resting_pressure(setting: Setting) -> float:
    """Return the equalised pressure [Pa] of the machine at rest, foreign gas included.

    The low side stands at box temperature, the high side at ambient, one pressure throughout.
    Liquid gathers in the coldest part and sets the pressure there: dew pressure when the last drop
    is about to go, bubble pressure when that part is full. With too little refrigerant for any
    liquid the gas fills the volumes. Foreign gas stays in the high side.
    Not covered: circuits closed by a solenoid or a tight valve, whose sides keep their own pressure.
    """
    unit = setting.unit
    design, fluid = unit.design, unit.fluid
    low_m3 = design.coil_m3 + design.suction_line_m3
    high_m3 = design.condenser_m3 + design.receiver_m3 + design.liquid_line_m3 + design.shell_m3
    cold_k = min(setting.box_k, setting.ambient_k)
    cold_m3 = low_m3 if setting.box_k <= setting.ambient_k else high_m3
    parts = ((low_m3, setting.box_k), (high_m3, setting.ambient_k))
    dew_pa, bubble_pa = fluid.dew_pa(cold_k), fluid.bubble_pa(cold_k)
    gas_kg = _gas_mass(fluid, parts, dew_pa)
    if gas_kg >= setting.charge_kg:
        pressure_pa = dew_pa * setting.charge_kg / gas_kg
    else:
        liquid_m3 = (setting.charge_kg - gas_kg) / fluid.rho_bubble(bubble_pa)
        pressure_pa = dew_pa + (bubble_pa - dew_pa) * min(1.0, liquid_m3 / cold_m3)
    return pressure_pa + setting.foreign_pa * setting.ambient_k / (
        setting.ambient_k + design.condenser_split_k
    )


def _gas_mass(fluid: Fluid, parts: tuple[tuple[float, float], ...], pressure_pa: float) -> float:
    """Return the mass of gas [kg] that fills volumes at their temperatures, all at one pressure."""
    total = 0.0
    for volume_m3, temperature_k in parts:
        warmest_k = min(max(temperature_k, fluid.dew_k(pressure_pa)), fluid.dew_k(pressure_pa) + 119.0)
        total += volume_m3 / fluid.vapour(warmest_k, pressure_pa)[2]
    return total


def resting_readings(setting: Setting) -> dict[str, float]:
    """Return what can be read on the machine at rest, SI; amps and flow are zero."""
    pressure_pa = resting_pressure(setting)
    design = setting.unit.design
    return {
        "suction_pa_service_valve": pressure_pa,
        "suction_pa_coil": pressure_pa,
        "discharge_pa": pressure_pa,
        "condenser_air_in_k": setting.ambient_k,
        "coil_air_in_k": setting.box_k,
        "box_k": setting.box_k,
        "compressor_a": 0.0,
        "compressor_w": 0.0,
        "capacity_w": 0.0,
        "mass_flow_kg_s": 0.0,
        "supply_v": design.supply_v * setting.supply_ratio,
    }
