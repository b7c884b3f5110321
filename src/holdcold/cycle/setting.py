"""A unit with its faults and surroundings applied: what one pass round the circuit needs."""

from __future__ import annotations

from dataclasses import dataclass, replace

from holdcold.cycle.conditions import Conditions
from holdcold.cycle.faults import Faults
from holdcold.cycle.heat import air_factors, crossflow_duty
from holdcold.cycle.unit import Unit


@dataclass(frozen=True, slots=True)
class Setting:
    """Parameters of one operating point, faults and surroundings applied; SI, see ``Unit``.

    coil_duty_wk, condenser_duty_wk: heat per kelvin between entering air and refrigerant [W/K].
    coil_air_wk, condenser_air_wk: air that moves now, as heat capacity flow [W/K].
    box_k, ambient_k: air entering coil and condenser [K]; supply_ratio: voltage over nominal.
    foreign_pa: pressure of foreign gas at the condenser [Pa].
    valve_m2, valve_stuck, bulb_shift_k: valve area left, share stuck open, bulb reading error [K].
    capillary_m2: capillary flow coefficient left. liquid_drag: friction of the whole liquid line.
    leak_back: share of pumped flow leaking back. charge_kg: refrigerant in the unit now [kg].
    condenser_ua_wk: condenser conductance at the present airflow [W/K]. drier_drag: extra friction of
    a restriction, see ``Unit.restriction_drag``. suction_drag: friction of the suction line now.
    bypass: share of discharge gas that bypasses the condenser. head_held: share of the head setting
    that control still holds. liquid_heat_k: heating of the liquid line (difference) [K].
    injection_k: discharge temperature held by injection [K], 0 for none. crankcase_hold_pa,
    coil_hold_pa: what the regulators hold [Pa], 0 without one. other_wk: duty of a second coil per
    kelvin between its box and its dew temperature [W/K].
    """

    unit: Unit
    box_k: float
    ambient_k: float
    supply_ratio: float
    coil_duty_wk: float
    coil_air_wk: float
    coil_gas_wk: float
    condenser_duty_wk: float
    condenser_air_wk: float
    condenser_ua_wk: float
    condenser_liquid_wk: float
    foreign_pa: float
    valve_m2: float
    valve_stuck: float
    bulb_shift_k: float
    capillary_m2: float
    liquid_drag: float
    drier_drag: float
    leak_back: float
    charge_kg: float
    suction_drag: float
    bypass: float
    head_held: float
    liquid_heat_k: float
    injection_k: float
    crankcase_hold_pa: float
    coil_hold_pa: float
    other_wk: float

    def with_condenser_air(self, ratio: float) -> Setting:
        """Return this setting with ``ratio`` (above 0) of the condenser air it has now."""
        air = self.condenser_air_wk * ratio
        ua = self.condenser_ua_wk * ratio**0.55
        return replace(
            self, condenser_duty_wk=crossflow_duty(air, ua), condenser_air_wk=air, condenser_ua_wk=ua
        )


def apply(unit: Unit, conditions: Conditions, faults: Faults) -> Setting:
    """Return the setting of ``unit`` under ``faults`` in ``conditions``.

    Ice takes airflow, and conductance only as far as that takes it: even frost narrows the passages long
    before its own insulation counts (from memory: frosting tests of finned coils lose a fifth to a third of
    conductance while airflow falls by more than half). Circuits that get no refrigerant let their air through
    uncooled. A dirty condenser loses the same share of air and conductance.
    """
    coil_lost = 1.0 - (1.0 - faults.coil_air) * (1.0 - faults.coil_ice)
    coil_air, coil_ua = air_factors(coil_lost)
    coil_ua *= 1.0 - faults.coil_oil
    fed = 1.0 - faults.coil_circuits
    fan_air, fan_ua = air_factors(faults.condenser_fan)
    clean = 1.0 - faults.condenser_air
    air = unit.condenser_air_wk * fan_air * clean
    ua = unit.condenser_ua_wk * fan_ua * clean
    charge = unit.right_charge_kg * (1.0 - faults.charge_loss) * (1.0 + faults.charge_excess)
    restriction = unit.restriction_drag * faults.liquid_restriction
    return Setting(
        unit=unit,
        box_k=conditions.box_k,
        ambient_k=conditions.ambient_k,
        supply_ratio=conditions.supply_ratio * (1.0 - faults.low_voltage),
        coil_duty_wk=fed
        * crossflow_duty(unit.coil_air_wk * coil_air, unit.coil_ua_wk * coil_ua)
        / unit.design.sensible_fraction,
        coil_air_wk=unit.coil_air_wk * coil_air,
        coil_gas_wk=unit.coil_gas_wk * coil_ua * fed,
        condenser_duty_wk=crossflow_duty(air, ua),
        condenser_air_wk=air,
        condenser_ua_wk=ua,
        condenser_liquid_wk=unit.condenser_liquid_wk * fan_ua * clean,
        foreign_pa=faults.noncondensables,
        valve_m2=unit.valve_m2 * (1.0 - faults.valve_starve),
        valve_stuck=faults.valve_flood,
        bulb_shift_k=faults.bulb_loose,
        capillary_m2=unit.capillary_m2 * (1.0 - faults.capillary_restriction),
        liquid_drag=unit.liquid_drag,
        drier_drag=restriction,
        leak_back=faults.leak_back,
        charge_kg=charge,
        suction_drag=unit.suction_drag + unit.suction_restriction_drag * faults.suction_restriction,
        bypass=faults.head_bypass,
        head_held=1.0 - faults.head_lost,
        liquid_heat_k=faults.liquid_heat,
        injection_k=0.0 if faults.injection_lost > 0.5 else unit.design.injection_k,
        crankcase_hold_pa=unit.design.crankcase_hold_pa * (1.0 - faults.crankcase_drift),
        coil_hold_pa=unit.design.coil_hold_pa * (1.0 + faults.coil_drift),
        other_wk=unit.design.other_capacity_w / unit.design.other_td_k,
    )
