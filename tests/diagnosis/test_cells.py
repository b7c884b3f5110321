"""Cells of belief: each severity predicted by the machine itself, pairs put together or solved."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from holdcold.cycle import Conditions, Faults, build, solve
from holdcold.diagnosis.case import NONE
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.cells import GridCell, as_cell, grid, single_keys, steps_of
from holdcold.diagnosis.hypotheses import hypotheses
from holdcold.diagnosis.normal import normal
from holdcold.diagnosis.predict import Predictor, predictor
from support.calls import COOLER, FREEZER, REACH_IN, kelvin, unit

HERE = {
    COOLER: Conditions(kelvin(90.0), kelvin(45.0)),
    FREEZER: Conditions(kelvin(85.0), kelvin(3.0)),
    REACH_IN: Conditions(kelvin(80.0), kelvin(44.0)),
}
GENTLE = ("suction_pa_service_valve", "discharge_pa", "coil_air_out_k", "condenser_air_out_k", "compressor_a")


@cache
def prepared(card: str) -> Predictor:
    resolved = unit(card)
    pieces = {"coil_fans": resolved.design.coil_fans, "condenser_fans": resolved.design.condenser_fans}
    return predictor(normal(resolved, HERE[card]), hypotheses(catalogue(), resolved.unit_facts(), pieces))


@cache
def singles(card: str) -> dict[str, list[GridCell]]:
    one = prepared(card)
    found: dict[str, list[GridCell]] = {}
    for cell in grid(one, [key for key in one.hypotheses.priors if len(key) == 1]):
        found.setdefault(cell.key[0], []).append(cell)
    return found


@pytest.mark.parametrize(
    ("card", "fault", "axis", "severity"),
    [
        (COOLER, "condenser_dirty", "condenser_air", 0.6),
        (COOLER, "drier_restricted", "liquid_restriction", 375000.0),
        (FREEZER, "evaporator_fan_stopped", "coil_air", 1.0 / 3.0),
        (REACH_IN, "capillary_restricted", "capillary_restriction", 0.5),
    ],
)
def test_a_cell_is_the_machine_with_the_fault(card: str, fault: str, axis: str, severity: float) -> None:
    """Against a fresh solve of a fresh build, started from nothing."""
    point = solve(build(unit(card).design), HERE[card], Faults(**{axis: severity}))
    cell = next(c for c in singles(card)[fault] if c.steps[0].severity == pytest.approx(severity))
    for place in GENTLE:
        assert cell.mean[place] == pytest.approx(point.readings[place], rel=1e-5)
    assert cell.steady == (point.state == "running")


@pytest.mark.parametrize("fault", ["condenser_dirty", "txv_starving", "compressor_weak", "drier_restricted"])
def test_slopes_reach_the_neighbours(fault: str) -> None:
    """A slope is half-width times the change per severity: from an inner step it spans both neighbours.

    Slope over half-width equals the central difference of two fresh solves at the neighbouring steps.
    """
    cells = singles(COOLER)[fault]
    axis = prepared(COOLER).hypotheses.faults[fault].axis
    for before, cell, after in zip(cells, cells[1:], cells[2:], strict=False):
        ends = [
            solve(build(unit(COOLER).design), HERE[COOLER], Faults(**{axis: one.steps[0].severity or 0.0}))
            for one in (before, after)
        ]
        gap = (after.steps[0].severity or 0.0) - (before.steps[0].severity or 0.0)
        for place in GENTLE:
            rise = (ends[1].readings[place] - ends[0].readings[place]) / gap
            assert cell.slopes[0][place] == pytest.approx(
                cell.steps[0].half * rise, rel=1e-3, abs=1e-6 * cell.mean[place]
            )


def test_the_healthy_cell_has_no_freedom() -> None:
    (cell,) = grid(prepared(COOLER), [NONE])
    assert cell.slopes == ()
    assert cell.log_weight == 0.0
    assert cell.mean == prepared(COOLER).normal.point.readings


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN])
def test_weights_of_a_hypothesis_sum_to_one(card: str) -> None:
    """Cells divide a hypothesis and neither add to it nor take from it, coarse pairs too."""
    one = prepared(card)
    weights: dict[tuple[str, ...], list[float]] = {}
    for cell in grid(one, one.hypotheses.priors):
        weights.setdefault(cell.key, []).append(math.exp(cell.log_weight))
    assert set(weights) == set(one.hypotheses.priors)
    for total in map(math.fsum, weights.values()):
        assert total == pytest.approx(1.0, abs=1e-9)


def test_faults_without_physics_read_like_a_healthy_machine() -> None:
    """Nothing is predicted of a wrong set point: its reading is the healthy one, its sightings decide."""
    usual = prepared(COOLER).normal.point.readings
    for fault in ("set_point_changed", "hot_location", "box_sensor_wrong"):
        for cell in singles(COOLER)[fault]:
            assert cell.mean == usual


@pytest.mark.parametrize(
    ("card", "key"),
    [
        (COOLER, ("condenser_dirty", "low_charge")),
        (COOLER, ("drier_restricted", "evaporator_fan_stopped")),
        (FREEZER, ("condenser_dirty", "evaporator_fan_stopped")),
    ],
)
def test_a_solved_pair_is_the_machine_with_both(card: str, key: tuple[str, str]) -> None:
    one = prepared(card)
    known = one.hypotheses.faults
    for cell in grid(one, [key], frozenset([key]))[::5]:
        steps = [step for step in zip(key, cell.steps, strict=True) if step[1].present]
        push = {known[fault].axis: step.severity for fault, step in steps}
        point = solve(build(unit(card).design), HERE[card], Faults(**push))  # type: ignore[arg-type]
        for place in GENTLE:
            if place in cell.mean and place in point.readings:
                assert cell.mean[place] == pytest.approx(point.readings[place], rel=2e-4)


def test_a_pair_put_together_is_close_while_both_are_mild() -> None:
    """Effects add up for small faults: against the pair solved, within a tenth of the pair's own effect."""
    one = prepared(COOLER)
    key = ("condenser_dirty", "evaporator_fan_stopped")
    usual = one.normal.point.readings
    mildest = grid(one, [key], frozenset([key]))[0]
    alone = [singles(COOLER)[fault][0] for fault in key]
    for place in GENTLE:
        together = mildest.mean[place] - usual[place]
        added = math.fsum(cell.mean[place] - usual[place] for cell in alone)
        size = math.fsum(abs(cell.mean[place] - usual[place]) for cell in alone)
        assert abs(together - added) < 0.1 * size


def test_pairs_are_put_together_from_their_singles() -> None:
    """Mean of a put-together cell: left plus right minus healthy, at weights that add up in logs."""
    one = prepared(COOLER)
    key = ("condenser_dirty", "set_point_changed")
    added = grid(one, [key])
    usual = one.normal.point.readings
    parts = singles(COOLER)["condenser_dirty"]
    assert len(added) < len(parts)
    for place in GENTLE:
        whole = math.fsum(math.exp(c.log_weight) * (c.mean[place] - usual[place]) for c in added)
        told = math.fsum(math.exp(c.log_weight) * (c.mean[place] - usual[place]) for c in parts)
        # A merged cell stands at the middle of its severities, the prior leans to one side of it.
        assert whole == pytest.approx(told, rel=0.05, abs=1e-9)


def test_coarse_cells_keep_the_spread_of_what_they_replace() -> None:
    """Two merged steps: mean of the mixture kept, its spread kept within a third (NumPy mixture)."""
    one = prepared(COOLER)
    key = ("condenser_dirty", "set_point_changed")
    added, parts = grid(one, [key]), singles(COOLER)["condenser_dirty"]

    def spread(cells: list[GridCell], place: str) -> float:
        weights = np.exp([cell.log_weight for cell in cells])
        means = np.array([cell.mean[place] for cell in cells])
        inner = np.array([cell.slopes[0][place] for cell in cells])
        centre = np.average(means, weights=weights)
        return float(np.sqrt(np.average((means - centre) ** 2 + inner**2, weights=weights)))

    for place in ("discharge_pa", "condenser_air_out_k", "compressor_a"):
        assert spread(added, place) == pytest.approx(spread(parts, place), rel=1.0 / 3.0)


def test_each_combination_is_solved_once() -> None:
    one = prepared(REACH_IN)
    grid(one, single_keys(one.hypotheses.priors))
    before = dict(one.solved)
    grid(one, single_keys(one.hypotheses.priors))
    assert {key: id(value) for key, value in one.solved.items()} == {k: id(v) for k, v in before.items()}


def test_two_faults_of_one_axis_push_as_the_worse() -> None:
    one = prepared(COOLER)
    both = one.predict({"evaporator_fan_stopped": 2 / 3, "air_blocked": 0.3})
    assert both is one.predict({"evaporator_fan_stopped": 2 / 3})


def test_cooling_is_the_capacity_at_set_point() -> None:
    """The share of healthy capacity left, times capacity at set point, decides whether a box is warm."""
    one = prepared(COOLER)
    healthy = one.healthy()
    at_set = solve(build(unit(COOLER).design), Conditions(kelvin(90.0), unit(COOLER).design.set_point_k))
    assert healthy.cooling_w == pytest.approx(at_set.readings["capacity_w"], rel=1e-6)
    starved = singles(COOLER)["txv_starving"][-1]
    share = starved.mean["capacity_w"] / healthy.readings["capacity_w"]
    assert starved.cooling_w == pytest.approx(share * healthy.cooling_w, rel=1e-6)


# ------------------------------------------------------------------------------- the engine's form
def test_engine_cell_keeps_order_and_leaves_the_unknown_free() -> None:
    """A reading a cell cannot predict gets the healthy value and half of it as freedom, on its own."""
    cell = singles(COOLER)["condenser_dirty"][1]
    blind = {name: value for name, value in cell.mean.items() if name != "discharge_pa"}
    odd = GridCell(cell.key, cell.steps, blind, cell.slopes, True, cell.cooling_w, cell.log_weight)
    usual = prepared(COOLER).normal.point.readings
    made = as_cell(odd, GENTLE, usual, 2.5, [-0.5])
    at = GENTLE.index("discharge_pa")
    assert made.mean[at] == usual["discharge_pa"]
    assert made.slopes[-1] == tuple(
        pytest.approx(0.5 * usual["discharge_pa"]) if n == at else 0.0 for n in range(len(GENTLE))
    )
    assert made.mean[0] == cell.mean[GENTLE[0]]
    assert made.slopes[0][0] == cell.slopes[0][GENTLE[0]]
    assert (made.sigma_scale, made.sightings, made.hypothesis) == (2.5, (-0.5,), cell.key)


def test_steps_of_a_fault_without_degrees() -> None:
    here, away = steps_of(prepared(COOLER), "contactor")
    assert (here.severity, here.half, here.level, here.present) == (None, 0.0, 1.0, True)
    assert not away.present
    assert here.weight + away.weight == pytest.approx(1.0)
