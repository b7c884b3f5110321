"""The generator of the truth study.

Its properties, its parts against closed forms, its balances, its signs.
"""

from __future__ import annotations

import ast
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from benchmarks.truth.calls import Call, from_json, make
from benchmarks.truth.circuit import Around, look, solve
from benchmarks.truth.compressors import pump
from benchmarks.truth.evidence import answers, brief_checks, careful_checks, evidence, resolved_card
from benchmarks.truth.exchangers import Coil, condense, evaporate, void_fraction
from benchmarks.truth.expansion import Capillary, capillary_flow
from benchmarks.truth.faults import EVERY, broken, fits
from benchmarks.truth.meters import bag
from benchmarks.truth.props import fluid
from benchmarks.truth.units import Unit, draw

from holdcold.diagnosis.catalogue import catalogue

TRUTH = Path(__file__).resolve().parents[2] / "benchmarks" / "truth"
READERS = {"evidence", "study", "costs", "cost_study", "checklist", "generate", "why", "bands"}
"""Modules that may know the diagnosis: they carry calls to it and its answers back."""


@cache
def unit(kind: str, seed: int = 1) -> Unit:
    return draw(np.random.default_rng(seed), kind, "cooler")


@cache
def call(stratum: str) -> Call:
    """Return a call that is quick to make: its cause shows on the first unit drawn."""
    return make(99, 5, stratum, answers(), "condenser_dirty" if stratum == "single" else "")


def around(one: Unit, warm_k: float = 0.0) -> Around:
    return Around(one.rated_ambient_k, one.set_k + warm_k, one.rated_ambient_k - 3.0, one.volts, one.relative)


# ------------------------------------------------------------------------ independence
def imports(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
        elif isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
    return found


def test_the_generator_knows_nothing_of_our_physics_or_diagnosis() -> None:
    for path in TRUTH.glob("*.py"):
        ours = {name for name in imports(path) if name.split(".")[0] == "holdcold"}
        if path.stem not in READERS:
            assert ours <= {"holdcold.quantities.instruments"}, path.name
        assert not {name for name in ours if name.startswith(("holdcold.cycle", "holdcold.refrigerants"))}, (
            path.name
        )


def test_every_listed_fault_and_answer_is_in_the_catalogue() -> None:
    book = catalogue()
    for stratum in ("single", "unlisted", "pull_down"):
        made = call(stratum)
        assert set(made.faults) <= set(book.faults)
        assert {
            name for name, value in made.seen.items() if value not in book.sightings[name].values
        } == set()
        assert set(made.readings) <= set(book.places)


# -------------------------------------------------------------------------- properties
@pytest.mark.parametrize(
    ("gas", "boils_c"),
    # Normal boiling points, ASHRAE Handbook Fundamentals, refrigerants chapter (from memory)
    [("R-134a", -26.07), ("R-22", -40.81), ("R-290", -42.11)],
)
def test_normal_boiling_point(gas: str, boils_c: float) -> None:
    assert fluid(gas).sat(101325.0).t_d - 273.15 == pytest.approx(boils_c, abs=0.1)


def test_glide_of_a_blend() -> None:
    """R-448A at 20 psig: -4.7 F dew, -16.1 F bubble (field notes 2, computed with CoolProp)."""
    sat = fluid("R-448A").sat(20.0 * 6894.757 + 101325.0)
    assert (sat.t_d - 273.15) * 1.8 + 32.0 == pytest.approx(-4.7, abs=0.2)
    assert (sat.t_b - 273.15) * 1.8 + 32.0 == pytest.approx(-16.1, abs=0.2)


def test_enthalpy_and_superheat_return() -> None:
    f = fluid("R-404A")
    h, _, v = f.vapour(4e5, 21.7)
    assert f.superheat(4e5, h) == pytest.approx(21.7, abs=1e-6)
    assert f.volume(4e5, h) == pytest.approx(v, rel=1e-9)
    assert fluid("R-134a").sat(fluid("R-134a").p_dew(273.15)).h_l == pytest.approx(
        200e3, abs=30.0
    )  # IIR reference


# --------------------------------------------------------------------------- exchangers
def coil(**changes: float) -> Coil:
    base = Coil(1e-3, 1e-4, 100.0, 1e6, 0.01, 200.0, 14, 0.0, 0.01, 0.6)
    return replace(base, **changes)


def test_evaporator_meets_the_closed_form_where_the_air_side_decides() -> None:
    """Effectiveness at constant refrigerant temperature, 1 - exp(-NTU) (any heat-transfer textbook)."""
    f = fluid("R-134a")
    p = f.p_dew(270.0)
    left = evaporate(f, coil(), 0.05, f.sat(p).h_l + 1e3, p, 280.0, 0.0, 1.0, 1.0)
    expected = 200.0 * (1.0 - math.exp(-100.0 / 200.0)) * 10.0
    assert left.heat == pytest.approx(expected, rel=2e-3)
    assert left.air_k == pytest.approx(280.0 - expected / 200.0, abs=0.02)


def test_exchanger_heat_is_the_refrigerants() -> None:
    f = fluid("R-449A")
    p = f.p_dew(315.0)
    h_in = f.vapour(p, 40.0)[0]
    left = condense(f, coil(ua_ref=150.0), 0.012, h_in, p, 303.0, 1.0, 1.0, 0.0)
    assert left.heat == pytest.approx(0.012 * (h_in - left.h), rel=1e-9)
    worse = condense(f, coil(ua_ref=150.0), 0.012, h_in, p, 303.0, 1.0, 1.0, 0.1)
    assert worse.heat < left.heat  # foreign gas hinders condensation


def test_void_fraction_lies_between_liquid_and_no_slip() -> None:
    sat = fluid("R-22").sat(5e5)
    assert void_fraction(0.0, sat, 200.0) == 0.0
    assert void_fraction(1.0, sat, 200.0) == pytest.approx(1.0)
    for x in (0.1, 0.3, 0.6, 0.9):
        no_slip = x / sat.r_v / (x / sat.r_v + (1.0 - x) / sat.r_l)
        assert 0.5 * no_slip < void_fraction(x, sat, 200.0) < no_slip


def test_capillary_chokes() -> None:
    f = fluid("R-290")
    p = f.p_dew(318.0)
    h = f.h_liquid(312.0)
    tube = Capillary(0.9e-3, 2.5, 0.03)
    low, lower = (capillary_flow(f, tube, p, h, p_out) for p_out in (2.0e5, 1.6e5))
    assert lower == pytest.approx(low, rel=0.01)
    assert capillary_flow(f, tube, 1.1 * p, h, 2.0e5) > 1.05 * low


# ------------------------------------------------------------------------ whole circuit
@pytest.mark.parametrize("kind", ["walk_in", "reach_in"])
def test_charge_and_energy_balance(kind: str) -> None:
    one = unit(kind)
    where = around(one)
    for faults in ({}, {"low_charge": 0.5}, {"condenser_dirty": 0.4}):
        machine = broken(one, faults)
        at, x, level = solve(machine, where, one.start)
        assert look(machine, where, x, level).charge == pytest.approx(machine.charge, rel=2e-3)
        assert np.max(np.abs(at.residual)) < 2e-4
        pumped = pump(machine.f, machine.compressor, at.p_s, at.h_suction, at.p_c, where.volts)
        into_gas = pumped.watts * (1.0 - machine.compressor.shell_loss)
        assert pumped.m * (pumped.h_out - at.h_suction) == pytest.approx(into_gas, rel=1e-6)


def test_a_receiver_hides_lost_charge_until_it_is_empty() -> None:
    one = unit("walk_in")
    where = around(one)
    whole, x, level = solve(one.machine, where, one.start)
    spare = level * one.machine.receiver_volume * one.machine.f.sat(whole.p_liquid).r_l / one.machine.charge
    little, _, _ = solve(broken(one, {"low_charge": 0.6 * spare}), where, x)
    much, _, _ = solve(broken(one, {"low_charge": min(spare + 0.35, 0.9)}), where, x)
    assert little.coil.heat == pytest.approx(whole.coil.heat, rel=1e-3)
    assert little.glass_x == 0.0
    assert much.coil.heat < 0.95 * whole.coil.heat
    assert much.glass_x > 0.0


SIGNS = {
    # Li and Braun, Fault Detection and Diagnostics for Rooftop Air Conditioners, table 1-1, p. 22 (restates
    # Rossi and Braun 1997): evaporating and condensing temperature, air rise and air drop. Rows that do not
    # hang on a receiver or a valve; an expansion valve hides others.
    "condenser_dirty": {"t_e": 1, "t_c": 1, "rise": 1},
    "air_blocked": {"t_e": -1, "t_c": -1, "drop": 1},
    "compressor_weak": {"t_e": 1, "t_c": -1, "rise": -1, "drop": -1},
    "low_charge": {"t_e": -1, "t_c": -1, "rise": -1, "drop": -1},
}


@pytest.mark.parametrize("fault", SIGNS)
@pytest.mark.parametrize("kind", ["walk_in", "reach_in"])
def test_published_signs(fault: str, kind: str) -> None:
    one = unit(kind)
    where = around(one)
    well, x, _ = solve(one.machine, where, one.start)
    how_bad = {"low_charge": 0.75, "compressor_weak": 0.3}.get(fault, 0.5)
    ill, _, _ = solve(broken(one, {fault: how_bad}), where, x)
    f = one.machine.f

    def facts(at: object) -> dict[str, float]:
        return {
            "t_e": f.sat(at.p_e).t_d,
            "t_c": f.sat(at.p_c).t_d,
            "rise": at.condenser.air_k,
            "drop": -at.coil.air_k,
        }

    before, after = facts(well), facts(ill)
    assert {name: math.copysign(1, after[name] - before[name]) for name in SIGNS[fault]} == SIGNS[fault]


def test_every_fault_can_be_put_into_a_machine() -> None:
    for kind in ("walk_in", "reach_in"):
        one = unit(kind)
        for name, (_, (low, high)) in EVERY.items():
            if fits(name, one):
                assert broken(one, {name: 0.5 * (low + high)}) is not None


# ------------------------------------------------------------------------------- calls
def test_the_same_seed_gives_the_same_call() -> None:
    again = make(99, 5, "pull_down", answers())
    assert again.to_json() == call("pull_down").to_json()
    assert from_json(again.to_json()) == again


def test_cards_are_read_and_evidence_is_taken() -> None:
    for stratum in ("single", "unlisted", "pull_down"):
        made = call(stratum)
        assert resolved_card(made).design.refrigerant in made.card
        told = evidence(made, careful_checks(made))
        assert {one.id for one in told.checks} >= set(brief_checks(made)) & set(catalogue().checks)
        assert {one.place for one in told.readings} <= set(made.readings)


def test_instruments_err_as_their_class_says() -> None:
    """Over many calls the error of the voltmeter has the spread of its class, lies left out."""
    errors = []
    for seed in range(400):
        rng = np.random.default_rng(seed)
        meter = bag(rng)["volts"]
        if not meter.lie:
            errors.append(
                (meter.show(230.0, rng) - 230.0)
                / math.hypot(meter.kind.sigma(230.0), meter.kind.bias_sigma(230.0))
            )
    assert np.std(errors) == pytest.approx(1.0, abs=0.12)
    assert abs(np.mean(errors)) < 0.2
