"""From ratings to a unit: conductances, flow coefficients and the right charge, found once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

from holdcold.cycle.circuit import LEVEL_ROUNDING
from holdcold.cycle.compressor import CompressorModel, calibrate, from_map
from holdcold.cycle.conditions import Conditions
from holdcold.cycle.design import Design
from holdcold.cycle.expansion import capillary_flow, orifice_flow
from holdcold.cycle.faults import HEALTHY
from holdcold.cycle.heat import mean_difference
from holdcold.cycle.inventory import inventory
from holdcold.cycle.setting import apply
from holdcold.cycle.steady import Start, solve_level
from holdcold.cycle.unit import Unit
from holdcold.errors import InputError
from holdcold.refrigerants import Fluid, fluid

_GAS_SHARE = 0.30
_LIQUID_SHARE = 0.35
_AIR_CP = 1006.0
_VALVE_RAMP_K = 4.0
_ELECTRONIC_RAMP_K = 0.6
"""An electronic valve holds its superheat; only its controller's dead band is left."""
_LIQUID_LINE_SHARE = 0.06


@dataclass(frozen=True, slots=True)
class _Rating:
    """States and flows at the rating point, by which everything is sized."""

    suction_pa: float
    coil_pa: float
    condensing_pa: float
    flow: float
    power_w: float
    gas_cp: float
    coil_dew_k: float
    outlet_h: float
    discharge_h: float
    own_flow: float
    entering_h: float
    bubble_k: float
    bubble_h: float
    liquid_cp: float
    liquid_density: float


def build(design: Design) -> Unit:
    """Return the unit whose rating point is the one in ``design``.

    design: every field filled in; a second coil takes its duty out of the rated capacity. Raises
    InputError when the ratings contradict each other (coil
    colder than the air by less than its superheat, more heat than the air can carry, and the like).
    Method: each component equation is solved for its own coefficient at the rating point; the right
    charge is what the solved rating point holds with the receiver at ``receiver_fill`` (or, without
    a receiver, with the condenser flooded to ``capillary_subcooling_k``).
    """
    medium = fluid(design.refrigerant)
    compressor = _compressor(design, medium)
    rating = _rating(design, medium, compressor)
    coil_ua, coil_gas = _coil(design, medium, rating)
    condenser_ua = _condenser(design, rating)
    liquid_wk = _LIQUID_LINE_SHARE * rating.flow * rating.liquid_cp
    squared = rating.own_flow * rating.own_flow
    liquid_dpa = design.liquid_drop_k * (
        medium.bubble_pa(rating.bubble_k) - medium.bubble_pa(rating.bubble_k - 1.0)
    )
    valve_m2, capillary_m2 = _expansion(design, rating, liquid_dpa)
    ramp_k = _ELECTRONIC_RAMP_K if design.expansion == "eev" else _VALVE_RAMP_K
    unit = Unit(
        design=design,
        fluid=medium,
        compressor=compressor,
        coil_air_wk=design.coil_air_kg_s * _AIR_CP,
        condenser_air_wk=design.condenser_air_kg_s * _AIR_CP,
        coil_ua_wk=coil_ua,
        coil_gas_wk=coil_gas,
        gas_cp=rating.gas_cp,
        condenser_ua_wk=condenser_ua,
        condenser_liquid_wk=_LIQUID_SHARE * condenser_ua,
        suction_wk=_suction_line(design, rating),
        liquid_wk=liquid_wk,
        suction_drag=(rating.coil_pa - rating.suction_pa) * medium.rho_dew(rating.suction_pa) / squared,
        liquid_drag=liquid_dpa * rating.liquid_density / squared,
        restriction_drag=rating.liquid_density / squared,
        suction_restriction_drag=medium.rho_dew(rating.suction_pa) / squared,
        valve_m2=valve_m2,
        valve_closed_k=design.superheat_k - ramp_k / design.valve_reserve,
        valve_ramp_k=ramp_k,
        capillary_m2=capillary_m2,
        rated_flow_kg_s=rating.own_flow,
        rated_heat_w=rating.own_flow * (rating.outlet_h - rating.entering_h),
        rated_power_w=rating.power_w,
        right_charge_kg=design.charge_kg or 1.0,
        right_level=design.receiver_fill,
    )
    unit = replace(unit, right_level=_level(unit, rating))
    if design.charge_kg is not None:
        return unit
    return replace(unit, right_charge_kg=_charge(unit))


def first_guess(unit: Unit) -> Start:
    """Return solver unknowns at the rating point of ``unit``, without a Jacobian."""
    design, medium = unit.design, unit.fluid
    units = -log(1.0 - min(0.95, design.superheat_k / design.coil_td_k))
    gas_share = units * unit.rated_flow_kg_s * unit.gas_cp / unit.coil_gas_wk
    return Start(
        [
            log(medium.dew_pa(design.rated_evap_k)),
            log(medium.dew_pa(design.rated_ambient_k + design.condenser_split_k)),
            gas_share,
            log(unit.rated_flow_kg_s),
        ],
        None,
    )


def _compressor(design: Design, medium: Fluid) -> CompressorModel:
    if design.compressor_map is not None:
        return from_map(design.compressor_map, medium)
    low = design.rated_evap_k < 255.0
    return calibrate(
        medium,
        design.compressor_kind,
        "low" if low else "medium",
        design.rated_evap_k,
        design.rated_cond_k,
        design.rated_return_k,
        design.rated_capacity_w,
        design.rated_power_w,
    )


def _rating(design: Design, medium: Fluid, compressor: CompressorModel) -> _Rating:
    """Return the rating point: the compressor at its pressures, the coil at its own superheat."""
    suction_pa = medium.dew_pa(design.rated_evap_k)
    coil_dew_k = design.rated_evap_k + design.suction_drop_k
    coil_pa = medium.dew_pa(coil_dew_k)
    condensing_pa = medium.dew_pa(design.rated_ambient_k + design.condenser_split_k)
    h, s, v, _ = medium.vapour(design.rated_return_k, suction_pa)
    flow, power_w = compressor.flow_power_hvs(medium, suction_pa, h, s, v, condensing_pa)
    outlet_h, _, _, gas_cp = medium.vapour(coil_dew_k + design.superheat_k, coil_pa)
    bubble_k = medium.bubble_k(condensing_pa)
    bubble_h, _, bubble_v, liquid_cp = medium.liquid(bubble_k, condensing_pa)
    colder_k = design.capillary_subcooling_k if design.receiver_m3 <= 0.0 else 0.0
    return _Rating(
        suction_pa=suction_pa,
        coil_pa=coil_pa,
        condensing_pa=condensing_pa,
        flow=flow,
        power_w=power_w,
        gas_cp=gas_cp,
        coil_dew_k=coil_dew_k,
        outlet_h=outlet_h,
        own_flow=flow * (1.0 - design.other_capacity_w / design.rated_capacity_w),
        entering_h=bubble_h - liquid_cp * min(colder_k, 0.95 * (bubble_k - design.rated_ambient_k)),
        discharge_h=h + power_w * (1.0 - compressor.heat_loss) / flow,
        bubble_k=bubble_k,
        bubble_h=bubble_h,
        liquid_cp=liquid_cp,
        liquid_density=1.0 / bubble_v,
    )


def _coil(design: Design, medium: Fluid, rating: _Rating) -> tuple[float, float]:
    """Return (whole-coil boiling conductance, whole-coil gas conductance) [W/K]."""
    box_k = rating.coil_dew_k + design.coil_td_k
    reach = design.superheat_k / design.coil_td_k
    if reach >= 0.97:
        raise InputError(
            "superheat_k",
            design.superheat_k,
            f"below {0.97 * design.coil_td_k:.2f} (coil TD)",
            "A coil cannot superheat gas above the air that warms it: check superheat setting and TD.",
        )
    gas_units = -log(1.0 - reach)
    air_wk = design.coil_air_kg_s * _AIR_CP
    bubble_h, dew_h = medium.h_bubble(rating.coil_pa), medium.h_dew(rating.coil_pa)
    in_k = medium.wet_k(rating.coil_pa, (rating.entering_h - bubble_h) / (dew_h - bubble_h))
    reach_k = mean_difference(box_k - in_k, box_k - rating.coil_dew_k)
    boiled_w = rating.own_flow * (dew_h - rating.entering_h) * design.sensible_fraction
    ua = boiled_w / reach_k
    for _ in range(40):
        gas_share = gas_units * rating.own_flow * rating.gas_cp / (_GAS_SHARE * ua)
        if gas_share > 0.6:
            ua = gas_units * rating.own_flow * rating.gas_cp / (_GAS_SHARE * 0.6)
            gas_share = 0.6
        carried = boiled_w / ((1.0 - gas_share) * air_wk * reach_k)
        if carried >= 0.98:
            raise InputError(
                "coil_air_kg_s", design.coil_air_kg_s, f"above {1.05 * design.coil_air_kg_s * carried:.3f}",
                "This much air cannot carry the coil's duty at its TD: check airflow, TD and capacity.",
            )  # fmt: skip
        ua = 0.5 * (ua - air_wk * log(1.0 - carried))
    return ua, _GAS_SHARE * ua


def _condenser(design: Design, rating: _Rating) -> float:
    """Return the conductance of the whole condenser [W/K].

    A part of it is under liquid: the seal, or without a receiver what gives the rated subcooling.
    """
    air_wk = design.condenser_air_kg_s * _AIR_CP
    heat_w = rating.flow * (rating.discharge_h - rating.bubble_h)
    split_k = mean_difference(design.condenser_split_k, rating.bubble_k - design.rated_ambient_k)
    flooded, ua = design.condenser_seal, 0.0
    for _ in range(1 if design.receiver_m3 > 0.0 else 40):
        carried = heat_w / ((1.0 - flooded) * air_wk * split_k)
        if carried >= 0.98:
            raise InputError(
                "condenser_air_kg_s",
                design.condenser_air_kg_s,
                f"above {1.05 * design.condenser_air_kg_s * carried:.3f}",
                "This much air cannot carry the rejected heat at its split: check airflow and split.",
            )
        ua = -air_wk * log(1.0 - carried)
        flooded = max(design.condenser_seal, _flooded(design, rating, _LIQUID_SHARE * ua))
    return ua


def _flooded(design: Design, rating: _Rating, liquid_wk: float) -> float:
    """Return the share of the condenser under liquid that gives a unit without receiver its subcooling."""
    left = min(0.95, design.capillary_subcooling_k / (rating.bubble_k - design.rated_ambient_k))
    return -log(1.0 - left) * rating.flow * rating.liquid_cp / liquid_wk


def _suction_line(design: Design, rating: _Rating) -> float:
    """Return the conductance of the suction line that gives the rated return gas [W/K]."""
    leaving_k = rating.coil_dew_k + design.superheat_k
    warm = (design.rated_ambient_k - leaving_k) / (design.rated_ambient_k - design.rated_return_k)
    if design.rated_return_k < leaving_k or warm <= 0.0:
        return 0.0
    return log(warm) * rating.flow * rating.gas_cp


def _expansion(design: Design, rating: _Rating, liquid_dpa: float) -> tuple[float, float]:
    """Return (valve area, capillary coefficient) that pass the rated flow [m2]."""
    lift_pa = rating.liquid_density * 9.80665 * design.liquid_lift_m
    valve_pa = rating.condensing_pa - liquid_dpa - lift_pa
    if valve_pa <= 1.1 * rating.coil_pa:
        raise InputError(
            "liquid_lift_m",
            design.liquid_lift_m,
            "a lift the head pressure can raise liquid through",
            "Check the lift and the condensing rating.",
        )
    if design.expansion == "capillary":
        unit_flow = capillary_flow(1.0, rating.liquid_density, valve_pa, design.capillary_subcooling_k)
        return 0.0, rating.own_flow / unit_flow
    unit_flow = orifice_flow(1.0, rating.liquid_density, valve_pa - rating.coil_pa)
    return design.valve_reserve * rating.own_flow / unit_flow, 0.0


def _level(unit: Unit, rating: _Rating) -> float:
    """Return the inventory level of a rightly charged unit at its rating point."""
    design = unit.design
    if design.receiver_m3 > 0.0:
        return design.receiver_fill
    backed = _flooded(design, rating, unit.condenser_liquid_wk) - design.condenser_seal
    return unit.full_level + max(0.0, backed) + LEVEL_ROUNDING


def _charge(unit: Unit) -> float:
    """Return the charge the rating point holds at the right level [kg]."""
    design = unit.design
    setting = apply(unit, Conditions(design.rated_ambient_k, design.rated_box_k), HEALTHY)
    steady = solve_level(setting, unit.right_level, first_guess(unit))
    if not steady.converged:
        raise InputError(
            "ratings",
            f"{steady.reason}",
            "ratings that have an operating point",
            "Check capacity, TD, split and rating temperatures against each other.",
        )
    placed = steady.run.guess._replace(level=unit.right_level)
    return inventory(setting, steady.run._replace(guess=placed)).total_kg
