"""The machine not running: equalised, pumped down, its sides apart, in defrost, tripped or dead."""

from __future__ import annotations

from holdcold.cycle.conditions import RESTS, Rest
from holdcold.cycle.setting import Setting
from holdcold.errors import UnknownNameError
from holdcold.refrigerants import Fluid

_MELTING_K = 273.15
_DRIP_K = 283.0
_LOW_SIDE_MARGIN = 1.15


def resting_pressure(setting: Setting) -> float:
    """Return the equalised pressure [Pa] of the machine at rest, foreign gas included.

    The low side stands at box temperature, the high side at ambient, one pressure throughout.
    Liquid gathers in the coldest part and sets the pressure there: dew pressure when the last drop
    is about to go, bubble pressure when that part is full. With too little refrigerant for any
    liquid the gas fills the volumes. Foreign gas stays in the high side.
    """
    unit = setting.unit
    design, fluid = unit.design, unit.fluid
    low_m3 = design.coil_m3 + design.suction_line_m3 + design.accumulator_m3
    high_m3 = design.condenser_m3 + design.receiver_m3 + design.liquid_line_m3 + design.shell_m3
    cold_k = min(setting.box_k, setting.ambient_k)
    cold_m3 = low_m3 if setting.box_k <= setting.ambient_k else high_m3
    parts = ((low_m3, setting.box_k), (high_m3, setting.ambient_k))
    dew_pa, bubble_pa = _saturation(fluid, cold_k)
    gas_kg = _gas_mass(fluid, parts, dew_pa)
    if gas_kg >= setting.charge_kg:
        pressure_pa = dew_pa * setting.charge_kg / gas_kg
    else:
        liquid_m3 = (setting.charge_kg - gas_kg) / fluid.rho_bubble(bubble_pa)
        pressure_pa = dew_pa + (bubble_pa - dew_pa) * min(1.0, liquid_m3 / cold_m3)
    return pressure_pa + _foreign_at_rest(setting)


def _foreign_at_rest(setting: Setting) -> float:
    return (
        setting.foreign_pa * setting.ambient_k / (setting.ambient_k + setting.unit.design.condenser_split_k)
    )


def _saturation(fluid: Fluid, temperature_k: float) -> tuple[float, float]:
    """Return (dew, bubble) pressure at a temperature, kept inside the refrigerant's data."""
    warmest_k = fluid.bubble_k(fluid.p_max) - 0.05
    coldest_k = fluid.dew_k(fluid.p_min) + 0.05
    inside_k = min(max(temperature_k, coldest_k), warmest_k)
    return fluid.dew_pa(inside_k), min(fluid.bubble_pa(inside_k), fluid.p_max)


def _gas_mass(fluid: Fluid, parts: tuple[tuple[float, float], ...], pressure_pa: float) -> float:
    """Return the mass of gas [kg] that fills volumes at their temperatures, all at one pressure."""
    total = 0.0
    for volume_m3, temperature_k in parts:
        dew_k = fluid.dew_k(pressure_pa)
        warmest_k = min(max(temperature_k, dew_k), dew_k + 119.0)
        total += volume_m3 / fluid.vapour(warmest_k, pressure_pa)[2]
    return total


def resting_readings(setting: Setting, rest: Rest = "equalised") -> dict[str, float]:
    """Return what can be read on the machine that does not run, SI; amps and flow are zero.

    setting: the unit, faults and surroundings applied. rest: how it stands.
    ``equalised`` has one pressure throughout; ``apart`` and ``tripped`` have a tight valve between a low
    side at the box's saturation and a high side at the ambient's; ``pumped_down`` has the low side just
    above its cut-out, the charge in the receiver; ``defrosting`` warms the coil to melting ice,
    ``draining`` a little above it, with the compressor pumped down; ``dead`` is equalised with no supply.
    Raises UnknownNameError for another word.
    """
    if rest not in RESTS:
        raise UnknownNameError("rest", rest, RESTS)
    design, fluid = setting.unit.design, setting.unit.fluid
    even_pa = resting_pressure(setting)
    low_pa = high_pa = even_pa
    if rest in ("apart", "tripped", "pumped_down", "defrosting", "draining"):
        high_pa = max(even_pa, _saturation(fluid, setting.ambient_k)[1] + _foreign_at_rest(setting))
        coil_k = {"defrosting": _MELTING_K, "draining": _DRIP_K}.get(rest, setting.box_k)
        low_pa = min(high_pa, _saturation(fluid, coil_k)[0])
        if rest in ("pumped_down", "defrosting", "draining"):
            low_pa = min(low_pa, _LOW_SIDE_MARGIN * design.low_cut_pa)
    return {
        "suction_pa_service_valve": low_pa,
        "suction_pa_coil": low_pa,
        "discharge_pa": high_pa,
        "condenser_air_in_k": setting.ambient_k,
        "coil_air_in_k": setting.box_k,
        "box_k": setting.box_k,
        "compressor_a": 0.0,
        "compressor_w": 0.0,
        "capacity_w": 0.0,
        "mass_flow_kg_s": 0.0,
        "supply_v": 0.0 if rest == "dead" else design.supply_v * setting.supply_ratio,
    }
