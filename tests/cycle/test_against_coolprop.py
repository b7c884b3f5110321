"""Solved points against an independent calculation with CoolProp (tests/cycle/outside.py).

Tolerances: the packaged properties promise 0.3 kJ/kg, 0.3 % of density and 0.02 K (tests/refrigerants).
A difference of two enthalpies may miss by twice that, a temperature found from an enthalpy by that over
the heat capacity of the gas (about 0.8 kJ/kgK at the least).
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache

import pytest

from cycle.outside import (
    HEAT_LOSS,
    REFERENCED,
    SHELL_TO_LINE,
    charge,
    flooded_share,
    liquid_share,
    reference,
)
from holdcold.cycle import Conditions, Faults, OperatingPoint, Unit, build, solve
from holdcold.refrigerants import fluid
from support.designs import capillary, plain

ENTHALPY, SATURATION_K, DENSITY = 300.0, 0.02, 3e-3
AIR_CP = 1006.0  # dry air near 300 K, J/kgK (Incropera and DeWitt, table A.4: 1007)


@cache
def solved(case: str) -> tuple[Unit, float, OperatingPoint]:
    """Return (unit, ambient, point) of ``name``, ``name freezer`` or ``name tube``, faulted ``:axis=x``."""
    kind, _, faulty = case.partition(":")
    name, *rest = kind.split()
    tube, freezer = "tube" in rest, "freezer" in rest
    design = capillary(name) if tube else plain(name)
    if freezer:
        design = plain(name, set_point_k=253.0, rated_box_k=253.0, rated_evap_k=246.0, rated_return_k=262.0,
                       rated_capacity_w=1500.0, condenser_split_k=9.0, low_cut_pa=5e4)  # fmt: skip
    unit = build(replace(design, high_cut_pa=0.97 * fluid(name).p_max))
    ambient_k = design.rated_ambient_k - (12.0 if tube else 0.0)
    faults = Faults(**{axis: float(value) for axis, value in [faulty.split("=")]}) if faulty else Faults()
    return unit, ambient_k, solve(unit, Conditions(ambient_k, design.rated_box_k), faults)


DRY = [
    *REFERENCED,
    "R-404A freezer", "R-407A freezer", "R-448A freezer", "R-454C freezer",
    "R-134a tube", "R-290 tube", "R-404A tube", "R-513A tube",
    "R-448A:condenser_air=0.4", "R-449A:valve_starve=0.4", "R-407C:coil_air=0.4", "R-22:leak_back=0.3",
    "R-134a:charge_excess=0.5", "R-404A:charge_loss=0.2",
]  # fmt: skip
"""Points whose gas leaves the coil superheated and whose liquid reaches the valve whole."""


@pytest.mark.parametrize("case", DRY)
def test_saturation_superheat_and_subcooling(case: str) -> None:
    unit, _, point = solved(case)
    assert point.state == "running"
    read, ref = point.readings, reference(unit.design.refrigerant)
    coil_k = ref.saturated(read["suction_pa_coil"], 1.0)[0]
    assert read["box_k"] - read["coil_td_k"] == pytest.approx(coil_k, abs=SATURATION_K)
    assert read["suction_k_coil_outlet"] - coil_k == pytest.approx(read["coil_superheat_k"], abs=SATURATION_K)
    suction_k = ref.saturated(read["suction_pa_service_valve"], 1.0)[0]
    total_k = read["suction_k_compressor_inlet"] - suction_k
    assert total_k == pytest.approx(read["total_superheat_k"], abs=SATURATION_K)
    condensing_k = ref.saturated(read["discharge_pa"], 1.0)[0]
    assert condensing_k - read["condenser_air_in_k"] == pytest.approx(
        read["condenser_split_k"], abs=SATURATION_K
    )
    bubble_k = ref.saturated(read["discharge_pa"], 0.0)[0]
    subcooling_k = bubble_k - read["liquid_k_condenser_outlet"]
    assert subcooling_k == pytest.approx(read["subcooling_k_condenser_outlet"], abs=SATURATION_K)


@pytest.mark.parametrize("case", DRY)
def test_capacity_is_flow_times_enthalpy_rise(case: str) -> None:
    unit, _, point = solved(case)
    read, ref = point.readings, reference(unit.design.refrigerant)
    assert read["sight_glass_quality"] == 0.0
    leaving = ref.single("gas", read["suction_k_coil_outlet"], read["suction_pa_coil"])[0]
    # Liquid a few bar below the head has 0.1 kJ/kg more or less; the pressure at the valve is not a reading.
    entering = ref.single("liquid", read["liquid_k_valve_inlet"], read["discharge_pa"])[0]
    rise = read["capacity_w"] / read["mass_flow_kg_s"]
    assert rise == pytest.approx(leaving - entering, abs=2.0 * ENTHALPY)


@pytest.mark.parametrize("case", DRY)
def test_compressor_energy_balance(case: str) -> None:
    unit, ambient_k, point = solved(case)
    read, ref = point.readings, reference(unit.design.refrigerant)
    drawn, _, _, s = ref.single("gas", read["suction_k_compressor_inlet"], read["suction_pa_service_valve"])
    flow, power_w = read["mass_flow_kg_s"], read["compressor_w"]
    inside_k = ref.gas_k(drawn + (1.0 - HEAT_LOSS) * power_w / flow, read["discharge_pa"])
    line_k = ambient_k + SHELL_TO_LINE * (inside_k - ambient_k)
    assert read["discharge_line_k"] == pytest.approx(line_k, abs=2.0 * ENTHALPY / 800.0)
    # Isentropic efficiency over the input: 0.3 (fractional horsepower) to 0.78 (from memory of maps).
    # What leaks back has been compressed as well, and the share kept is all the flow reading shows.
    efficiency = flow * (ref.isentropic_h(s, read["discharge_pa"]) - drawn) / power_w
    assert 0.30 < efficiency < 0.78


@pytest.mark.parametrize("case", DRY)
def test_condenser_heat_and_first_law(case: str) -> None:
    unit, ambient_k, point = solved(case)
    read, ref = point.readings, reference(unit.design.refrigerant)
    flow, head_pa = read["mass_flow_kg_s"], read["discharge_pa"]
    inside_k = ambient_k + (read["discharge_line_k"] - ambient_k) / SHELL_TO_LINE
    entering = ref.single("gas", inside_k, head_pa)[0]
    leaving = ref.single("liquid", read["liquid_k_condenser_outlet"], head_pa)[0]
    assert read["heat_rejected_w"] == pytest.approx(flow * (entering - leaving), abs=2.0 * ENTHALPY * flow)
    drawn = ref.single("gas", read["suction_k_compressor_inlet"], read["suction_pa_service_valve"])[0]
    coil_out = ref.single("gas", read["suction_k_coil_outlet"], read["suction_pa_coil"])[0]
    valve_in = ref.single("liquid", read["liquid_k_valve_inlet"], head_pa)[0]
    lines_w = flow * (drawn - coil_out + valve_in - leaving)
    taken_up_w = read["capacity_w"] + lines_w + (1.0 - HEAT_LOSS) * read["compressor_w"]
    assert read["heat_rejected_w"] == pytest.approx(taken_up_w, abs=4.0 * ENTHALPY * flow)


@pytest.mark.parametrize("case", [case for case in DRY if ":" not in case])
def test_air_sides_carry_the_heat(case: str) -> None:
    unit, _, point = solved(case)
    read, design = point.readings, unit.design
    carried_w = design.condenser_air_kg_s * AIR_CP * read["condenser_air_rise_k"]
    assert carried_w == pytest.approx(read["heat_rejected_w"], rel=2e-3)
    cooled_w = design.coil_air_kg_s * AIR_CP * read["coil_air_drop_k"]
    assert cooled_w == pytest.approx(read["capacity_w"] * design.sensible_fraction, rel=2e-3)
    assert read["condenser_air_out_k"] < read["discharge_line_k"]
    assert read["coil_air_out_k"] > read["box_k"] - read["coil_td_k"]


@pytest.mark.parametrize("case", [case for case in DRY if "_air=" not in case])
def test_charge_summed_outside(case: str) -> None:
    unit, ambient_k, point = solved(case)
    assert point.inventory is not None
    mine = charge(unit, point.readings, ambient_k)
    gas = mine["suction_kg"] / point.inventory.suction_kg
    assert gas == pytest.approx(1.0, abs=DENSITY)
    assert mine["coil_kg"] == pytest.approx(point.inventory.coil_kg, rel=2.0 * DENSITY)
    # Heat capacity of subcooled liquid is taken at bubble inside, at the mean here: a few percent of the
    # flooded share, which is a tenth of the condenser.
    assert mine["condenser_kg"] == pytest.approx(point.inventory.condenser_kg, rel=0.015)
    assert sum(mine.values()) == pytest.approx(point.inventory.total_kg, rel=8e-3)


@pytest.mark.parametrize("name", REFERENCED)
def test_liquid_seal_of_a_condenser_that_drains_into_a_receiver(name: str) -> None:
    unit, ambient_k, point = solved(name)
    assert point.regime == "level"
    assert flooded_share(unit, point.readings, ambient_k) == pytest.approx(
        unit.design.condenser_seal, rel=0.03
    )


def test_noncondensables_add_to_the_head_and_leave_the_liquid_as_it_is() -> None:
    """Dalton: the gauge shows both pressures, the refrigerant condenses at its own."""
    unit, ambient_k, clean = solved("R-134a")
    foreign_pa = 1.2e5
    _, _, point = solved(f"R-134a:noncondensables={foreign_pa}")
    read, ref = point.readings, reference("R-134a")
    own_k = ref.saturated(read["discharge_pa"] - foreign_pa, 0.0)[0]
    flooded = flooded_share(unit, read, ambient_k, foreign_pa)
    assert flooded == pytest.approx(unit.design.condenser_seal, rel=0.03)
    apparent_k = read["subcooling_k_condenser_outlet"]
    assert apparent_k > own_k - read["liquid_k_condenser_outlet"] + 2.0
    assert read["liquid_k_condenser_outlet"] == pytest.approx(
        clean.readings["liquid_k_condenser_outlet"], abs=0.5
    )


@pytest.mark.parametrize("name", ["R-407A", "R-407C", "R-448A", "R-454C"])
def test_zivi_with_the_phases_of_a_blend(name: str) -> None:
    """Mean density of a boiling blend, each phase with the composition it has there (CoolProp's flash).

    The engine takes the densities of bubble and dew of the whole blend. Measured: 1 % (R-407A) to 6 %
    (R-454C) too little in the boiling part of the coil, which holds a twentieth of the charge.
    """
    _, _, point = solved(name)
    read, ref = point.readings, reference(name)
    coil_pa = read["suction_pa_coil"]
    dew_k, dew_h, vapour = ref.saturated(coil_pa, 1.0)
    _, bubble_h, liquid = ref.saturated(coil_pa, 0.0)
    entering_h = ref.single("gas", dew_k + read["coil_superheat_k"], coil_pa)[0]
    entering_h -= read["capacity_w"] / read["mass_flow_kg_s"]
    steps = 60
    states = [ref.flash(coil_pa, index / steps) for index in range(steps + 1)]
    held, span = 0.0, 0.0
    for (h0, rho0), (h1, rho1) in itertools.pairwise(states):
        step = max(0.0, h1 - max(h0, entering_h))
        held, span = held + 0.5 * step * (rho0 + rho1), span + step
    share = liquid_share((entering_h - bubble_h) / (dew_h - bubble_h), 1.0, vapour / liquid)
    assert held / span == pytest.approx(vapour + (liquid - vapour) * share, rel=0.08)
