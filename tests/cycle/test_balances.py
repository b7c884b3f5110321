"""Balances of solved points recomputed from their readings; same answer from anywhere; monotone physics.

The equations are written here again from docs/cycle.md and use of the engine only the refrigerant's
properties and the unit's sizes, so that a term lost on one side shows as a residual.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from math import exp, log

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holdcold.cycle import HEALTHY, Conditions, Faults, OperatingPoint, Unit, build, solve
from support.designs import plain, random_design

CLOSED = 1e-6
GRAVITY = 9.80665
NATURAL_AIR, AIR_POWER = 0.07, 0.55
AXES = {
    "charge_loss": 0.6, "charge_excess": 0.4, "noncondensables": 2.0e5, "condenser_air": 0.6,
    "condenser_fan": 1.0, "coil_air": 1.0, "coil_ice": 0.8, "liquid_restriction": 6.0e5, "leak_back": 0.5,
    "low_voltage": 0.15, "valve_starve": 0.7, "valve_flood": 0.8, "bulb_loose": 8.0,
    "capillary_restriction": 0.7,
}  # fmt: skip
"""Mechanism axes with the worst severity drawn."""
VALVE_ONLY, TUBE_ONLY = {"valve_starve", "valve_flood", "bulb_loose"}, {"capillary_restriction"}


@cache
def unit_of(seed: int) -> Unit:
    """Return one random unit."""
    return build(random_design(seed))


def drawn(seed: int) -> tuple[Unit, Conditions, Faults]:
    """Return a random unit with one or two random faults in random surroundings."""
    draw = random.Random(seed)
    unit = unit_of(draw.randrange(120))
    design = unit.design
    absent = VALVE_ONLY if design.expansion == "capillary" else TUBE_ONLY
    axes = draw.sample([axis for axis in AXES if axis not in absent], draw.choice((1, 1, 2)))
    faults = Faults(**{axis: AXES[axis] * draw.uniform(0.1, 1.0) for axis in axes})
    ambient_k = design.rated_ambient_k + draw.uniform(-22.0, 5.0)
    return unit, Conditions(ambient_k, design.set_point_k + draw.choice((0.0, 0.0, 4.0, 10.0))), faults


@cache
def solved() -> list[tuple[Unit, Conditions, Faults, OperatingPoint]]:
    """Return 300 random faulted points that keep running."""
    found = []
    for seed in range(1000):
        unit, conditions, faults = drawn(seed)
        point = solve(unit, conditions, faults)
        if point.state == "running":
            found.append((unit, conditions, faults, point))
        if len(found) == 300:
            break
    return found


def test_the_points_cover_what_can_go_wrong() -> None:
    points = solved()
    assert len(points) == 300
    assert {point.regime for *_, point in points} >= {"level", "empty", "flooded"}
    assert {axis for _, _, faults, _ in points for axis in AXES if getattr(faults, axis) > 0.0} == set(AXES)
    assert sum(point.readings["coil_superheat_k"] == 0.0 for *_, point in points) >= 15
    assert sum(point.readings["sight_glass_quality"] > 0.0 for *_, point in points) >= 30


def test_stated_balances_close() -> None:
    worst = {
        name: max(abs(point.balances[name]) for *_, point in solved())
        for name in ("compressor_flow", "expansion_flow", "coil_heat", "condenser_heat", "charge")
    }
    assert max(worst.values()) < CLOSED, worst


def test_charge_is_conserved() -> None:
    for unit, _, faults, point in solved():
        assert point.inventory is not None
        given_kg = unit.right_charge_kg * (1.0 - faults.charge_loss) * (1.0 + faults.charge_excess)
        parts = (
            point.inventory.coil_kg, point.inventory.suction_kg, point.inventory.shell_kg,
            point.inventory.condenser_kg, point.inventory.receiver_kg, point.inventory.liquid_line_kg,
        )  # fmt: skip
        assert min(parts) >= 0.0
        assert sum(parts) == pytest.approx(given_kg, rel=CLOSED)


def air(lost: float) -> tuple[float, float]:
    """Return (air, conductance) over full: 7 % natural draught, conductance with air to the 0.55."""
    left = NATURAL_AIR + (1.0 - NATURAL_AIR) * (1.0 - lost)
    return left, left**AIR_POWER


def log_mean(one_k: float, other_k: float) -> float:
    """Return the logarithmic mean of two differences; those under 0.2 K are not compared."""
    assert min(one_k, other_k) > 0.2
    return (
        (one_k - other_k) / log(one_k / other_k)
        if abs(one_k / other_k - 1.0) > 0.02
        else 0.5 * (one_k + other_k)
    )


def dry() -> Iterator[tuple[Unit, Conditions, Faults, OperatingPoint]]:
    """Yield the points whose gas leaves the coil superheated beyond the rounded corner of the model."""
    for case in solved():
        if case[-1].readings["coil_superheat_k"] > 0.6:
            yield case


def test_compressor_pumps_the_flow_and_takes_the_power() -> None:
    """From pressures and gas temperature; what leaks back is lost, with 90 % of its work."""
    checked = 0
    for unit, _, faults, point in dry():
        read = point.readings
        if read["total_superheat_k"] > 0.1:
            flow, power_w = unit.compressor.flow_power(
                unit.fluid,
                read["suction_pa_service_valve"],
                read["suction_k_compressor_inlet"],
                read["discharge_pa"],
            )
            assert read["mass_flow_kg_s"] == pytest.approx(flow * (1.0 - faults.leak_back), rel=CLOSED)
            assert read["compressor_w"] == pytest.approx(power_w * (1.0 - 0.9 * faults.leak_back), rel=CLOSED)
            checked += 1
    assert checked >= 200


def test_coil_boils_what_its_air_gives() -> None:
    """Effectiveness of air against a boiling stream, over the share of the coil the superheat leaves."""
    for unit, conditions, faults, point in dry():
        read, fluid, design = point.readings, unit.fluid, unit.design
        coil_pa, flow = read["suction_pa_coil"], read["mass_flow_kg_s"]
        dew_k, dew_h, bubble_h = fluid.dew_k(coil_pa), fluid.h_dew(coil_pa), fluid.h_bubble(coil_pa)
        reach = read["coil_superheat_k"] / (conditions.box_k - dew_k)
        if reach > 0.95:
            continue
        lost = 1.0 - (1.0 - faults.coil_air) * (1.0 - faults.coil_ice)
        air_left, ua_left = air(lost)
        air_wk = unit.coil_air_wk * air_left
        duty_wk = air_wk * (1.0 - exp(-unit.coil_ua_wk * ua_left / air_wk)) / design.sensible_fraction
        share = -log(1.0 - reach) * flow * unit.gas_cp / (unit.coil_gas_wk * ua_left)
        outlet_h = fluid.vapour(dew_k + read["coil_superheat_k"], coil_pa)[0]
        valve_h = outlet_h - read["capacity_w"] / flow
        entering_k = fluid.wet_k(coil_pa, max(0.0, (valve_h - bubble_h) / (dew_h - bubble_h)))
        given_w = duty_wk * (1.0 - share) * log_mean(conditions.box_k - entering_k, conditions.box_k - dew_k)
        assert flow * (dew_h - valve_h) == pytest.approx(given_w, rel=CLOSED)


def test_condenser_condenses_what_its_air_takes() -> None:
    """The same for the condenser, over the share that is not under liquid (which its subcooling tells)."""
    checked = 0
    for unit, conditions, faults, point in dry():
        read, fluid = point.readings, unit.fluid
        if read["sight_glass_quality"] > 0.0 or read["total_superheat_k"] < 0.1:
            continue
        condensing_pa, flow = read["discharge_pa"] - faults.noncondensables, read["mass_flow_kg_s"]
        dew_k, bubble_k = fluid.dew_k(condensing_pa), fluid.bubble_k(condensing_pa)
        if bubble_k - conditions.ambient_k < 0.3:
            continue
        bubble_h, _, _, cp = fluid.liquid(bubble_k, condensing_pa)
        clean = 1.0 - faults.condenser_air
        fan_air, fan_ua = air(faults.condenser_fan)
        air_wk, ua_left = unit.condenser_air_wk * fan_air * clean, fan_ua * clean
        over_k = (bubble_k - conditions.ambient_k) / (
            read["liquid_k_condenser_outlet"] - conditions.ambient_k
        )
        flooded = log(over_k) * flow * cp / (unit.condenser_liquid_wk * ua_left)
        suction = read["suction_k_compressor_inlet"], read["suction_pa_service_valve"]
        leaving_h = (
            fluid.vapour(*suction)[0] + (1.0 - unit.compressor.heat_loss) * read["compressor_w"] / flow
        )
        taken_wk = air_wk * (1.0 - exp(-unit.condenser_ua_wk * ua_left / air_wk)) * (1.0 - flooded)
        taken_w = taken_wk * log_mean(dew_k - conditions.ambient_k, bubble_k - conditions.ambient_k)
        assert flow * (leaving_h - bubble_h) == pytest.approx(taken_w, rel=CLOSED)
        checked += 1
    assert checked >= 100


def test_wide_open_orifice_passes_the_flow() -> None:
    """Bernoulli through a valve starved wide open: friction, lift and the density of the liquid before it.

    The engine rounds a vanishing pressure drop at 20 kPa, which costs 1e-4 of what is left across a valve.
    """
    unit = build(plain("R-134a"))
    design, fluid = unit.design, unit.fluid
    point = solve(unit, Conditions(305.4, 275.4), Faults(valve_starve=0.5))
    read = point.readings
    assert read["coil_superheat_k"] > unit.valve_closed_k + 1.3 * unit.valve_ramp_k
    flow, outlet_k = read["mass_flow_kg_s"], read["liquid_k_condenser_outlet"]
    density = 1.0 / fluid.liquid(outlet_k, read["discharge_pa"])[2]
    before_pa = read["discharge_pa"] - unit.liquid_drag * flow * flow / density
    before_pa -= density * GRAVITY * design.liquid_lift_m
    area_m2 = 0.5 * unit.valve_m2
    passed = area_m2 * (2.0 * density * (before_pa - read["suction_pa_coil"])) ** 0.5
    assert flow == pytest.approx(passed, rel=2e-4)


def test_suction_line_drops_pressure_with_the_square_of_flow() -> None:
    for unit, _, _, point in solved():
        read = point.readings
        density = unit.fluid.rho_dew(read["suction_pa_service_valve"])
        drop_pa = read["suction_pa_coil"] - read["suction_pa_service_valve"]
        assert drop_pa == pytest.approx(unit.suction_drag * read["mass_flow_kg_s"] ** 2 / density, rel=1e-6)


def test_the_same_question_has_the_same_answer() -> None:
    for seed in range(40):
        unit, conditions, faults = drawn(seed)
        again = build(unit.design)
        first, second = solve(unit, conditions, faults), solve(again, conditions, faults)
        assert (first.readings, first.regime, first.evaluations) == (
            second.readings, second.regime, second.evaluations
        )  # fmt: skip


@pytest.mark.parametrize("part", range(4))
def test_where_a_solve_starts_does_not_matter(part: int) -> None:
    """From the rating, from the healthy machine, from another fault in other weather: one answer to 1e-7."""
    for seed in range(50 * part, 50 * part + 50):
        unit, conditions, faults = drawn(seed)
        design = unit.design
        cold = solve(unit, conditions, faults)
        elsewhere = Conditions(design.rated_ambient_k - 15.0, design.rated_box_k + 4.0)
        for start in (
            solve(unit, Conditions(design.rated_ambient_k, design.rated_box_k)).start,
            solve(unit, elsewhere, Faults(coil_air=0.4, condenser_air=0.3)).start,
        ):
            warm = solve(unit, conditions, faults, start)
            assert (warm.state, warm.regime) == (cold.state, cold.regime), seed
            if cold.state == "running":
                assert warm.readings == pytest.approx(cold.readings, rel=1e-7, abs=1e-7), seed


@cache
def edge_charges(edge: float) -> tuple[Unit, Conditions, list[Faults]]:
    """Return a unit and charges just inside and beyond the end of its plateau, receiver empty or full."""
    unit, where = build(plain("R-449A", receiver_m3=0.0015)), Conditions(305.4, 275.4)
    read = solve(unit, where).readings
    liquid = 1.0 / unit.fluid.liquid(read["liquid_k_condenser_outlet"], read["discharge_pa"])[2]
    vapour = unit.fluid.rho_dew(read["discharge_pa"])
    held_kg = (edge - read["receiver_level_fraction"]) * unit.design.receiver_m3 * (liquid - vapour)
    at_edge = 1.0 + held_kg / unit.right_charge_kg
    outward = 1.0 if edge else -1.0
    shares = [at_edge * (1.0 + outward * beyond) for beyond in (-2e-3, 0.2e-3, 0.5e-3, 1e-3)]
    return (
        unit,
        where,
        [
            Faults(charge_loss=1.0 - share) if share < 1.0 else Faults(charge_excess=share - 1.0)
            for share in shares
        ],
    )


@pytest.mark.parametrize("edge", [0.0, 1.0])
def test_charge_is_continuous_where_the_receiver_runs_empty_or_full(edge: float) -> None:
    """A charge between what the plateau ends with and what the next regime begins with is solved as well."""
    unit, where, charges = edge_charges(edge)
    for faults in charges:
        assert abs(solve(unit, where, faults).balances["charge"]) < CLOSED


@pytest.mark.parametrize("edge", [0.0, 1.0])
def test_a_start_at_the_end_of_the_plateau_leads_to_the_same_point(edge: float) -> None:
    unit, where, charges = edge_charges(edge)
    cold = solve(unit, where)
    nearly = solve(unit, where, charges[0])
    assert cold.start is not None
    assert nearly.regime == "level"
    inside = replace(cold.start, level=nearly.readings["receiver_level_fraction"])
    edged = solve(unit, where, HEALTHY, inside)
    assert edged.readings == pytest.approx(cold.readings, rel=1e-7, abs=1e-7)


def both(unit: Unit, a: tuple[Conditions, Faults], b: tuple[Conditions, Faults]) -> list[dict[str, float]]:
    """Return the readings of two points; examples where either would not run are left aside."""
    points = [solve(unit, *a), solve(unit, *b)]
    assume(all(point.state == "running" for point in points))
    return [point.readings for point in points]


UNITS = st.integers(0, 119).map(unit_of)
WARMER, COOLER, DIRT = st.floats(0.5, 12.0), st.floats(-25.0, 4.0), st.floats(0.05, 0.5)


@settings(max_examples=60)
@given(unit=UNITS, cooler_k=COOLER, warmer_k=WARMER)
def test_a_warmer_ambient_raises_the_head(unit: Unit, cooler_k: float, warmer_k: float) -> None:
    ambient_k, box_k = unit.design.rated_ambient_k + cooler_k, unit.design.set_point_k
    cool, warm = both(
        unit, (Conditions(ambient_k, box_k), HEALTHY), (Conditions(ambient_k + warmer_k, box_k), HEALTHY)
    )
    assert warm["discharge_pa"] > cool["discharge_pa"]


@settings(max_examples=60)
@given(unit=UNITS, cooler_k=COOLER, warmer_k=WARMER)
def test_a_warmer_box_raises_suction(unit: Unit, cooler_k: float, warmer_k: float) -> None:
    ambient_k, box_k = unit.design.rated_ambient_k + cooler_k, unit.design.set_point_k
    cold, warm = both(
        unit, (Conditions(ambient_k, box_k), HEALTHY), (Conditions(ambient_k, box_k + warmer_k), HEALTHY)
    )
    assert warm["suction_pa_coil"] > cold["suction_pa_coil"]


@settings(max_examples=60)
@given(unit=UNITS, dirt=DIRT)
def test_a_dirtier_condenser_raises_the_head_and_costs_capacity(unit: Unit, dirt: float) -> None:
    """At rated surroundings; on a cold day the higher head can feed a starved valve (test_regimes)."""
    where = Conditions(unit.design.rated_ambient_k, unit.design.rated_box_k)
    clean, dirty = both(unit, (where, HEALTHY), (where, Faults(condenser_air=dirt)))
    assert dirty["discharge_pa"] > clean["discharge_pa"]
    assert dirty["condenser_split_k"] > clean["condenser_split_k"]
    if unit.design.expansion == "txv":
        # A capillary is fed more by a higher head, which may outweigh the rest by a trace.
        assert dirty["capacity_w"] < clean["capacity_w"]
    assert dirty["compressor_w"] > clean["compressor_w"]


@settings(max_examples=60)
@given(unit=UNITS, lost=st.floats(0.05, 1.0), cooler_k=COOLER)
def test_fewer_coil_fans_lower_suction_and_capacity(unit: Unit, lost: float, cooler_k: float) -> None:
    where = Conditions(unit.design.rated_ambient_k + cooler_k, unit.design.set_point_k)
    full, fewer = both(unit, (where, HEALTHY), (where, Faults(coil_air=lost)))
    assert fewer["suction_pa_coil"] < full["suction_pa_coil"]
    assert fewer["capacity_w"] < full["capacity_w"]
    assert fewer["coil_td_k"] > full["coil_td_k"]


@settings(max_examples=60)
@given(unit=UNITS, leak=st.floats(0.02, 0.5), cooler_k=COOLER)
def test_a_leaking_compressor_raises_suction_and_loses_head(unit: Unit, leak: float, cooler_k: float) -> None:
    where = Conditions(unit.design.rated_ambient_k + cooler_k, unit.design.set_point_k)
    good, worn = both(unit, (where, HEALTHY), (where, Faults(leak_back=leak)))
    assert worn["suction_pa_coil"] > good["suction_pa_coil"]
    assert worn["discharge_pa"] < good["discharge_pa"]
    assert worn["compressor_a"] < good["compressor_a"]
    assert worn["capacity_w"] < good["capacity_w"]
