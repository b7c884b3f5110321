"""One pass round the circuit: from guessed pressures and flow to the balances that must close."""

from __future__ import annotations

from math import exp, sqrt
from typing import NamedTuple

from holdcold.cycle.expansion import capillary_flow, orifice_flow, valve_opening
from holdcold.cycle.setting import Setting

_GRAVITY = 9.80665
_SEAL_SPAN = 0.2
_QUALITY_PER_LEVEL = 0.4
_DROP_SCALE_PA = 2.0e4
_WET_SCALE_K = 0.5
_FLASH_SCALE = 0.008


def above_zero(value: float, scale: float) -> float:
    """Return ``value`` where it is well above zero, nothing where it is well below, smoothly between.

    scale: half-width of the rounding (a parabola), in the unit of ``value``. Corners of the model
    (liquid just leaving the coil, the first flash gas) are rounded so that a Newton iteration can
    cross them.
    """
    if value >= scale:
        return value
    return (value + scale) ** 2 / (4.0 * scale) if value > -scale else 0.0


def _fraction(z: float) -> float:
    """Return an enthalpy fraction kept between bubble and dew; only states far from any solution need it."""
    return 0.0 if z < 0.0 else min(z, 1.0)


class LowSide(NamedTuple):
    """Coil outlet to compressor inlet.

    ``y`` is the coil superheat, negative when liquid returns; ``wet_h`` what that liquid lacks of
    having boiled [J/kg]; ``gas_k`` the superheat of the gas itself, never negative.
    """

    coil_pa: float
    coil_dew_k: float
    y: float
    gas_k: float
    wet_h: float
    outlet_h: float
    cp: float
    inlet_h: float
    inlet_s: float
    inlet_v: float
    inlet_k: float


class HighSide(NamedTuple):
    """Compressor discharge to the inlet of the expansion device."""

    discharge_h: float
    dew_k: float
    bubble_k: float
    needed_w: float
    flooded: float
    quality: float
    outlet_k: float
    outlet_h: float
    density: float
    drier_out_pa: float
    valve_pa: float
    valve_h: float
    valve_density: float


class Pass(NamedTuple):
    """Everything one pass found; ``residuals`` close at an operating point.

    The residuals are relative: compressor flow, coil heat, expansion flow, condenser heat.
    """

    flow: float
    suction_pa: float
    condensing_pa: float
    gas_share: float
    level: float
    low: LowSide
    high: HighSide
    power_w: float
    pumped: float
    coil_in_k: float
    opening: float
    residuals: list[float]


def trace(
    setting: Setting,
    suction_pa: float,
    condensing_pa: float,
    gas_share: float,
    flow: float,
    level: float,
    duty: float,
) -> Pass:
    """Follow the refrigerant once round and return what does not yet balance.

    suction_pa: compressor inlet pressure [Pa]; condensing_pa: refrigerant's own pressure in the
    condenser [Pa]; gas_share: share of the coil that only heats gas (negative: liquid leaves the
    coil); flow: mass flow [kg/s]; level: inventory coordinate (below 0 the receiver is
    empty, 0 to 1 its level, above 1 liquid backs up into the condenser); duty: share of the time the
    compressor runs. Raises EnvelopeError when a state leaves the range of the refrigerant's data.
    """
    unit = setting.unit
    fluid = unit.fluid
    low = _low_side(setting, suction_pa, gas_share, flow)
    pumped, power_w = unit.compressor.flow_power_hvs(
        fluid, suction_pa, low.inlet_h, low.inlet_s, low.inlet_v, condensing_pa + setting.foreign_pa
    )
    kept = 1.0 - setting.leak_back
    pumped *= kept
    power_w *= 1.0 - 0.9 * setting.leak_back
    discharge_h = low.inlet_h + power_w * (1.0 - unit.compressor.heat_loss) / pumped
    high = _high_side(setting, condensing_pa, flow, level, discharge_h, low.coil_pa)
    bubble_h, dew_h = fluid.h_bubble(low.coil_pa), fluid.h_dew(low.coil_pa)
    coil_in_k = fluid.wet_k(low.coil_pa, _fraction((high.valve_h - bubble_h) / (dew_h - bubble_h)))
    dry_share = above_zero(gas_share, 5e-3)
    boiled_h = dew_h - low.wet_h
    coil_w = setting.coil_duty_wk * (1.0 - dry_share) * (setting.box_k - 0.5 * (coil_in_k + low.coil_dew_k))
    passed, opening = _device(setting, low, high)
    condensed_w = setting.condenser_duty_wk * (1.0 - high.flooded)
    condensed_w *= 0.5 * (high.dew_k + high.bubble_k) - setting.ambient_k
    residuals = [
        pumped * duty / flow - 1.0,
        (coil_w - flow * (boiled_h - high.valve_h)) / unit.rated_heat_w,
        passed / flow - 1.0,
        (condensed_w - high.needed_w) / unit.rated_heat_w,
    ]
    return Pass(
        flow,
        suction_pa,
        condensing_pa,
        gas_share,
        level,
        low,
        high,
        power_w,
        pumped,
        coil_in_k,
        opening,
        residuals,
    )


def _low_side(setting: Setting, suction_pa: float, gas_share: float, flow: float) -> LowSide:
    """Return coil outlet and compressor inlet; superheat follows from the dry share of the coil."""
    unit = setting.unit
    fluid = unit.fluid
    coil_pa = suction_pa + unit.suction_drag * flow * flow / fluid.rho_dew(suction_pa)
    dew_k = fluid.dew_k(coil_pa)
    reach = setting.box_k - dew_k
    units = gas_share * setting.coil_gas_wk / (flow * unit.gas_cp)
    y = reach * (1.0 - exp(-units)) if units >= 0.0 else reach * units
    gas_k = above_zero(y, _WET_SCALE_K)
    outlet_h, _, _, cp = fluid.vapour(dew_k + gas_k, coil_pa)
    wet_h = cp * (gas_k - y)
    outlet_h -= wet_h
    gain = (setting.ambient_k - dew_k - y) * (1.0 - exp(-unit.suction_wk / (flow * cp)))
    inlet_h = outlet_h + cp * gain
    dry_h = fluid.h_dew(suction_pa)
    if inlet_h >= dry_h:
        inlet_k = fluid.vapour_k_ph(suction_pa, inlet_h)
        _, inlet_s, inlet_v, _ = fluid.vapour(inlet_k, suction_pa)
    else:
        inlet_k = fluid.dew_k(suction_pa)
        bubble_h = fluid.h_bubble(suction_pa)
        z = (inlet_h - bubble_h) / (dry_h - bubble_h)
        inlet_s = fluid.s_dew(suction_pa) - (dry_h - inlet_h) / inlet_k
        inlet_v = 1.0 / fluid.wet_rho(suction_pa, _fraction(z))
    return LowSide(coil_pa, dew_k, y, gas_k, wet_h, outlet_h, cp, inlet_h, inlet_s, inlet_v, inlet_k)


def _high_side(
    setting: Setting, condensing_pa: float, flow: float, level: float, discharge_h: float, coil_pa: float
) -> HighSide:
    """Return condenser outlet and valve inlet; ``level`` says how much liquid stands in the condenser."""
    unit = setting.unit
    fluid = unit.fluid
    dew_k, bubble_k = fluid.dew_k(condensing_pa), fluid.bubble_k(condensing_pa)
    bubble_h, bubble_v, cp = _saturated_liquid(setting, bubble_k, condensing_pa)
    seal = unit.design.condenser_seal * above_zero(1.0 - above_zero(-level, 0.02) / _SEAL_SPAN, 0.05)
    flooded = seal + above_zero(level - unit.full_level, 0.01)
    quality = _QUALITY_PER_LEVEL * above_zero(-level - _SEAL_SPAN, 0.02)
    vapour_h = quality * (fluid.h_dew(condensing_pa) - bubble_h)
    needed_w = flow * (discharge_h - bubble_h - vapour_h)
    cooled = exp(-setting.condenser_liquid_wk * flooded / (flow * cp))
    outlet_k = setting.ambient_k + (bubble_k - setting.ambient_k) * cooled
    outlet_h, density = bubble_h, 1.0 / bubble_v
    if outlet_k < bubble_k:
        outlet_h, _, v, cp = fluid.liquid(max(outlet_k, bubble_k - 39.9), condensing_pa)
        density = 1.0 / v
    density *= fluid.wet_rho(condensing_pa, quality) * bubble_v
    outlet_h += vapour_h
    line_h = cp * (setting.ambient_k - outlet_k) * (1.0 - exp(-unit.liquid_wk / (flow * cp)))
    head = flow * flow / density
    drier_out_pa = (
        condensing_pa + setting.foreign_pa - (0.3 * setting.liquid_drag + setting.drier_drag) * head
    )
    drop = 0.7 * setting.liquid_drag * head + density * _GRAVITY * unit.design.liquid_lift_m
    left_pa = drier_out_pa - drop - coil_pa
    across = 0.5 * (left_pa + sqrt(left_pa * left_pa + _DROP_SCALE_PA * _DROP_SCALE_PA))
    valve_pa, valve_h = coil_pa + across, outlet_h + line_h
    valve_density = _entering_density(setting, valve_pa, valve_h, density)
    return HighSide(
        discharge_h,
        dew_k,
        bubble_k,
        needed_w,
        flooded,
        quality,
        outlet_k,
        outlet_h,
        density,
        drier_out_pa,
        valve_pa,
        valve_h,
        valve_density,
    )


def _saturated_liquid(setting: Setting, bubble_k: float, pressure_pa: float) -> tuple[float, float, float]:
    """Return (h, v, cp) of liquid at its bubble point."""
    h, _, v, cp = setting.unit.fluid.liquid(bubble_k, pressure_pa)
    return h, v, cp


def _entering_density(setting: Setting, valve_pa: float, valve_h: float, liquid_density: float) -> float:
    """Return the density of what enters the expansion device, flash gas included [kg/m3]."""
    fluid = setting.unit.fluid
    at_pa = min(valve_pa, fluid.p_max)
    bubble_h = fluid.h_bubble(at_pa)
    z = (valve_h - bubble_h) / (fluid.h_dew(at_pa) - bubble_h)
    flash = _fraction(above_zero(z, _FLASH_SCALE))
    if flash == 0.0:
        return liquid_density
    return liquid_density * fluid.wet_rho(at_pa, flash) / fluid.rho_bubble(at_pa)


def _device(setting: Setting, low: LowSide, high: HighSide) -> tuple[float, float]:
    """Return (mass flow, opening) of the expansion device."""
    unit = setting.unit
    if unit.capillary_m2 > 0.0:
        bubble_k = unit.fluid.bubble_k(min(high.valve_pa, unit.fluid.p_max))
        subcooling_k = above_zero(bubble_k - high.outlet_k, 0.5)
        return capillary_flow(setting.capillary_m2, high.valve_density, high.valve_pa, subcooling_k), 1.0
    felt_k = low.y + setting.bulb_shift_k
    opening = valve_opening(felt_k, unit.valve_closed_k, unit.valve_ramp_k)
    opening += setting.valve_stuck * (1.0 - opening)
    return orifice_flow(setting.valve_m2 * opening, high.valve_density, high.valve_pa - low.coil_pa), opening
