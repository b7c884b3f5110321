"""One pass round the circuit: from guessed pressures and flow to the balances that must close."""

from __future__ import annotations

from math import exp, log, sqrt
from typing import NamedTuple

from holdcold.cycle.expansion import capillary_flow, orifice_flow, valve_opening
from holdcold.cycle.heat import mean_difference
from holdcold.cycle.setting import Setting
from holdcold.refrigerants import Fluid

_GRAVITY = 9.80665
_SEAL_SPAN = 0.2
_QUALITY_PER_LEVEL = 0.4
_DROP_SCALE_PA = 2.0e4
_WET_SCALE_K = 0.5
_FLASH_SCALE = 0.008
_INJECTION_SCALE_J_KG = 2.0e3
_WIDEST_SUBCOOLING_K = 39.9
_GAS_OVER_DEW_J_KG = 3.0e4
_LEAST_APPROACH = 0.05
_MOST_FLOODED = 0.85
LEVEL_ROUNDING = 0.01
"""Half-width of the rounding where liquid begins to back up, in levels; it lies above the full receiver."""


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


class Guess(NamedTuple):
    """Unknowns of one pass, whichever of them a solver varies.

    suction_pa: compressor inlet; condensing_pa: the refrigerant's own pressure in the condenser [Pa].
    gas_share: share of the coil that only heats gas (negative: liquid leaves the coil).
    flow: mass flow through the coil [kg/s]. level: inventory coordinate (below 0 the receiver is empty,
    0 to 1 its level, above that liquid backs up into the condenser).
    backed: share of the condenser a head-pressure valve has flooded besides.
    line_pa: suction line before a crankcase regulator, 0 where that is ``suction_pa`` [Pa].
    coil_pa: coil pressure held by a regulator, 0 where the suction line sets it [Pa].
    """

    suction_pa: float
    condensing_pa: float
    gas_share: float
    flow: float
    level: float
    backed: float = 0.0
    line_pa: float = 0.0
    coil_pa: float = 0.0


class Liquid(NamedTuple):
    """What leaves the condenser; ``quality`` is its share of gas by enthalpy."""

    dew_k: float
    bubble_k: float
    bubble_h: float
    flooded: float
    quality: float
    outlet_k: float
    outlet_h: float
    density: float
    cp: float


class LowSide(NamedTuple):
    """Coil outlet to compressor inlet.

    ``y`` is the coil superheat, negative when liquid returns; ``wet_h`` what that liquid lacks of
    having boiled [J/kg]; ``gas_k`` the superheat of the gas itself, never negative; ``traded_h`` what a
    liquid-suction heat exchanger moves [J/kg]; ``other_flow`` what a second coil adds [kg/s].
    """

    coil_pa: float
    coil_dew_k: float
    y: float
    gas_k: float
    wet_h: float
    outlet_h: float
    cp: float
    traded_h: float
    inlet_h: float
    inlet_s: float
    inlet_v: float
    inlet_k: float
    other_flow: float


class Valve(NamedTuple):
    """Receiver outlet to the inlet of the expansion device."""

    receiver_k: float
    receiver_h: float
    receiver_density: float
    drier_out_pa: float
    valve_pa: float
    valve_h: float
    density: float


class Pass(NamedTuple):
    """Everything one pass found; ``residuals`` close at an operating point.

    The residuals are relative: compressor flow, coil heat, expansion flow, condenser heat.
    discharge_h: gas leaving the compressor; injected: liquid injected over flow through the coil.
    """

    guess: Guess
    liquid: Liquid
    low: LowSide
    valve: Valve
    discharge_h: float
    injected: float
    power_w: float
    coil_in_k: float
    opening: float
    residuals: list[float]


def trace(setting: Setting, guess: Guess) -> Pass:
    """Follow the refrigerant once round and return what does not yet balance.

    setting: the unit with its faults and surroundings. guess: the unknowns.
    Raises EnvelopeError when a state leaves the range of the refrigerant's data.
    """
    unit = setting.unit
    fluid = unit.fluid
    flow = guess.flow
    liquid = _liquid(setting, guess)
    low = _low_side(setting, guess, liquid.outlet_k, liquid.outlet_h)
    pumped, power_w = unit.compressor.flow_power_hvs(
        fluid,
        guess.suction_pa,
        low.inlet_h,
        low.inlet_s,
        low.inlet_v,
        guess.condensing_pa + setting.foreign_pa,
    )
    pumped *= 1.0 - setting.leak_back
    power_w *= 1.0 - 0.9 * setting.leak_back
    discharge_h = low.inlet_h + power_w * (1.0 - unit.compressor.heat_loss) / pumped
    injected = _injected(setting, guess.condensing_pa, discharge_h, liquid)
    discharge_h = (discharge_h + injected * liquid.outlet_h) / (1.0 + injected)
    valve = _valve(setting, guess, liquid, low, discharge_h)
    bubble_h, dew_h = fluid.h_bubble(low.coil_pa), fluid.h_dew(low.coil_pa)
    coil_in_k = fluid.wet_k(low.coil_pa, _fraction((valve.valve_h - bubble_h) / (dew_h - bubble_h)))
    dry_share = above_zero(guess.gas_share, 5e-3)
    boiled_w = flow * (dew_h - low.wet_h - valve.valve_h)
    reach_k = mean_difference(setting.box_k - coil_in_k, setting.box_k - low.coil_dew_k)
    coil_w = setting.coil_duty_wk * (1.0 - dry_share) * reach_k
    passed, opening = _device(setting, low, valve)
    split_k = mean_difference(liquid.dew_k - setting.ambient_k, liquid.bubble_k - setting.ambient_k)
    condensed_w = setting.condenser_duty_wk * (1.0 - liquid.flooded) * split_k
    residuals = [
        pumped / (flow + low.other_flow) - 1.0,
        (coil_w - boiled_w) / unit.rated_heat_w,
        passed / flow - 1.0,
        (condensed_w - condenser_load_w(setting, guess, liquid, low, discharge_h, injected))
        / unit.rated_heat_w,
    ]
    return Pass(guess, liquid, low, valve, discharge_h, injected, power_w, coil_in_k, opening, residuals)


def condenser_load_w(
    setting: Setting, guess: Guess, liquid: Liquid, low: LowSide, discharge_h: float, injected: float
) -> float:
    """Return the heat the condensing part of the condenser must reject [W].

    What bypasses the condenser condenses in the receiver, in the liquid that comes back subcooled.
    guess, liquid, low: the pass. discharge_h: gas entering [J/kg]. injected: liquid injected over flow.
    """
    vapour_h = liquid.quality * (setting.unit.fluid.h_dew(guess.condensing_pa) - liquid.bubble_h)
    through = (guess.flow + low.other_flow) * (1.0 + injected) * (1.0 - setting.bypass)
    return through * (discharge_h - liquid.bubble_h - vapour_h)


def _liquid(setting: Setting, guess: Guess) -> Liquid:
    """Return what leaves the condenser; the level says how much liquid stands in it."""
    unit, pressure_pa = setting.unit, guess.condensing_pa
    fluid = unit.fluid
    dew_k, bubble_k = fluid.dew_k(pressure_pa), fluid.bubble_k(pressure_pa)
    bubble_h, _, bubble_v, cp = fluid.liquid(bubble_k, pressure_pa)
    emptied = above_zero(-guess.level - 0.02, 0.02) / _SEAL_SPAN
    left = above_zero(1.0 - emptied, 0.05)
    flooded = left * unit.design.condenser_seal + guess.backed
    flooded += above_zero(guess.level - unit.full_level - LEVEL_ROUNDING, LEVEL_ROUNDING)
    if setting.bypass:
        flooded += left * _flooded_for_bypass(setting, guess, bubble_k, bubble_h, cp)
    quality = _QUALITY_PER_LEVEL * above_zero(-guess.level - _SEAL_SPAN - 0.02, 0.02)
    cooled = exp(-setting.condenser_liquid_wk * flooded / (guess.flow * cp))
    outlet_k = setting.ambient_k + (bubble_k - setting.ambient_k) * cooled
    outlet_h, density = bubble_h, 1.0 / bubble_v
    if outlet_k < bubble_k:
        outlet_h, _, v, cp = fluid.liquid(max(outlet_k, bubble_k - _WIDEST_SUBCOOLING_K), pressure_pa)
        density = 1.0 / v
    if quality:
        density *= fluid.wet_rho(pressure_pa, _fraction(quality)) * bubble_v
        outlet_h += quality * (fluid.h_dew(pressure_pa) - bubble_h)
    return Liquid(dew_k, bubble_k, bubble_h, flooded, quality, outlet_k, outlet_h, density, cp)


def _flooded_for_bypass(setting: Setting, guess: Guess, bubble_k: float, bubble_h: float, cp: float) -> float:
    """Return the share of the condenser that floods while gas goes round it into a receiver with a level.

    What leaves the receiver is liquid, so the gas is condensed by liquid that was subcooled far enough;
    as far as the air allows.
    """
    gas_h = setting.unit.fluid.h_dew(guess.condensing_pa) + _GAS_OVER_DEW_J_KG - bubble_h
    colder_k = setting.bypass / (1.0 - setting.bypass) * gas_h / cp
    span_k = max(bubble_k - setting.ambient_k, 0.1)
    left = max(1.0 - colder_k / span_k, _LEAST_APPROACH)
    return min(_MOST_FLOODED, -log(left) * guess.flow * cp / setting.condenser_liquid_wk)


def _injected(setting: Setting, condensing_pa: float, discharge_h: float, liquid: Liquid) -> float:
    """Return the liquid injected to hold the discharge temperature, over the flow through the coil."""
    if not setting.injection_k:
        return 0.0
    fluid = setting.unit.fluid
    limit_h = fluid.vapour(max(setting.injection_k, liquid.dew_k + 1.0), condensing_pa)[0]
    excess = above_zero(discharge_h - limit_h, _INJECTION_SCALE_J_KG)
    return excess / (limit_h - liquid.outlet_h)


def _low_side(setting: Setting, guess: Guess, liquid_k: float, liquid_h: float) -> LowSide:
    """Return coil outlet and compressor inlet; superheat follows from the dry share of the coil."""
    unit, flow = setting.unit, guess.flow
    fluid = unit.fluid
    line_pa = guess.line_pa or guess.suction_pa
    coil_pa = guess.coil_pa or line_pa + setting.suction_drag * flow * flow / fluid.rho_dew(line_pa)
    dew_k = fluid.dew_k(coil_pa)
    reach = setting.box_k - dew_k
    units = guess.gas_share * setting.coil_gas_wk / (flow * unit.gas_cp)
    y = reach * (1.0 - exp(-units)) if units >= 0.0 else reach * units
    gas_k = above_zero(y, _WET_SCALE_K)
    outlet_h, _, _, cp = fluid.vapour(dew_k + gas_k, coil_pa)
    wet_h = cp * (gas_k - y)
    outlet_h -= wet_h
    traded_h = unit.design.exchanger * cp * (liquid_k - dew_k - y)
    other_flow, other_h = _other_coil(setting, line_pa, liquid_h) if setting.other_wk else (0.0, 0.0)
    mixed_h = outlet_h + traded_h + (other_h - outlet_h - traded_h) * other_flow / (flow + other_flow)
    leaving_k = dew_k + (mixed_h - outlet_h) / cp + y
    gain = (setting.ambient_k - leaving_k) * (1.0 - exp(-unit.suction_wk / ((flow + other_flow) * cp)))
    inlet_h = mixed_h + cp * gain
    inlet_k, inlet_s, inlet_v = _entering_gas(fluid, guess.suction_pa, inlet_h)
    return LowSide(
        coil_pa,
        dew_k,
        y,
        gas_k,
        wet_h,
        outlet_h,
        cp,
        traded_h,
        inlet_h,
        inlet_s,
        inlet_v,
        inlet_k,
        other_flow,
    )


def _other_coil(setting: Setting, line_pa: float, liquid_h: float) -> tuple[float, float]:
    """Return (flow, leaving enthalpy) of a second coil whose valve keeps its superheat."""
    design, fluid = setting.unit.design, setting.unit.fluid
    dew_k = fluid.dew_k(line_pa)
    reach_k = above_zero(design.other_box_k - dew_k, 0.5)
    leaving_h = fluid.vapour(dew_k + design.other_superheat_k, line_pa)[0]
    return setting.other_wk * reach_k / (leaving_h - liquid_h), leaving_h


def _entering_gas(fluid: Fluid, suction_pa: float, inlet_h: float) -> tuple[float, float, float]:
    """Return (temperature, entropy, specific volume) of what enters the compressor, liquid and all."""
    dry_h = fluid.h_dew(suction_pa)
    if inlet_h >= dry_h:
        inlet_k = fluid.vapour_k_ph(suction_pa, inlet_h)
        _, inlet_s, inlet_v, _ = fluid.vapour(inlet_k, suction_pa)
        return inlet_k, inlet_s, inlet_v
    inlet_k = fluid.dew_k(suction_pa)
    bubble_h = fluid.h_bubble(suction_pa)
    z = _fraction((inlet_h - bubble_h) / (dry_h - bubble_h))
    return inlet_k, fluid.s_dew(suction_pa) - (dry_h - inlet_h) / inlet_k, 1.0 / fluid.wet_rho(suction_pa, z)


def _valve(setting: Setting, guess: Guess, liquid: Liquid, low: LowSide, discharge_h: float) -> Valve:
    """Return receiver outlet and valve inlet: bypass gas mixed in, friction, lift, heat taken up."""
    unit, fluid, flow = setting.unit, setting.unit.fluid, guess.flow
    receiver_k, receiver_h, density = liquid.outlet_k, liquid.outlet_h, liquid.density
    if setting.bypass or guess.backed:
        receiver_k, receiver_h, density = _received(setting, guess, liquid, discharge_h)
    warmed = (setting.ambient_k - receiver_k) * (1.0 - exp(-unit.liquid_wk / (flow * liquid.cp)))
    head = flow * flow / density
    drier_drag = 0.3 * setting.liquid_drag + setting.drier_drag
    drier_out_pa = guess.condensing_pa + setting.foreign_pa - drier_drag * head
    drop = 0.7 * setting.liquid_drag * head + density * _GRAVITY * unit.design.liquid_lift_m
    left_pa = drier_out_pa - drop - low.coil_pa
    across = 0.5 * (left_pa + sqrt(left_pa * left_pa + _DROP_SCALE_PA * _DROP_SCALE_PA))
    valve_pa = low.coil_pa + across
    valve_h = receiver_h + liquid.cp * (warmed + setting.liquid_heat_k) - low.traded_h
    entering = _entering_density(fluid, valve_pa, valve_h, density)
    return Valve(receiver_k, receiver_h, density, drier_out_pa, valve_pa, valve_h, entering)


def _received(
    setting: Setting, guess: Guess, liquid: Liquid, discharge_h: float
) -> tuple[float, float, float]:
    """Return (temperature, enthalpy, density) of what leaves the receiver where gas is mixed in.

    A head-pressure valve that regulates bypasses as much gas as the cold liquid of the flooded
    condenser can condense: what leaves the receiver is at its bubble point.
    """
    fluid, pressure_pa = setting.unit.fluid, guess.condensing_pa
    mixed_h = liquid.outlet_h + setting.bypass * (discharge_h - liquid.outlet_h)
    if guess.backed:
        share = min(1.0, guess.backed / 0.02)
        mixed_h = max(mixed_h, liquid.outlet_h + share * (liquid.bubble_h - liquid.outlet_h))
    span_h = fluid.h_dew(pressure_pa) - liquid.bubble_h
    quality = _fraction((mixed_h - liquid.bubble_h) / span_h)
    if quality > 0.0:
        return fluid.wet_k(pressure_pa, quality), mixed_h, fluid.wet_rho(pressure_pa, quality)
    cooled_k = liquid.bubble_k - (liquid.bubble_h - mixed_h) / liquid.cp
    return cooled_k, mixed_h, liquid.density


def _entering_density(fluid: Fluid, valve_pa: float, valve_h: float, liquid_density: float) -> float:
    """Return the density of what enters the expansion device, flash gas included [kg/m3]."""
    at_pa = min(valve_pa, fluid.p_max)
    bubble_h = fluid.h_bubble(at_pa)
    z = (valve_h - bubble_h) / (fluid.h_dew(at_pa) - bubble_h)
    flash = _fraction(above_zero(z, _FLASH_SCALE))
    if flash == 0.0:
        return liquid_density
    return min(liquid_density, fluid.wet_rho(at_pa, flash) / fluid.rho_bubble(at_pa) * liquid_density)


def _device(setting: Setting, low: LowSide, valve: Valve) -> tuple[float, float]:
    """Return (mass flow, opening) of the expansion device."""
    unit = setting.unit
    if unit.capillary_m2 > 0.0:
        bubble_k = unit.fluid.bubble_k(min(valve.valve_pa, unit.fluid.p_max))
        subcooling_k = above_zero(bubble_k - valve.receiver_k, 0.5)
        return capillary_flow(setting.capillary_m2, valve.density, valve.valve_pa, subcooling_k), 1.0
    felt_k = low.y + setting.bulb_shift_k
    opening = valve_opening(felt_k, unit.valve_closed_k, unit.valve_ramp_k)
    opening += setting.valve_stuck * (1.0 - opening)
    return orifice_flow(setting.valve_m2 * opening, valve.density, valve.valve_pa - low.coil_pa), opening
