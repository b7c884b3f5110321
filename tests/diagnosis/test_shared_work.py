"""Work done once for many cells must say the same as the same work done for each cell alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import logsumexp

from holdcold.diagnosis.belief import believe, start
from holdcold.diagnosis.case import Cell, Observation, Problem
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.cells import grid
from holdcold.diagnosis.evidence import Evidence, SightingEvidence, Situation, State
from holdcold.diagnosis.gaussian import log_mixture
from holdcold.diagnosis.posterior import Posterior, assess, conclude
from holdcold.diagnosis.problem import SightingLikelihoods, open_case
from holdcold.diagnosis.sequential import (
    Action,
    Hypothesis,
    Question,
    Repairs,
    Stand,
    cost_with,
    rank_questions,
)
from support.belief_by_enumeration import enumerate_everything, random_problem, random_readings
from support.calls import COOLER, FREEZER, kelvin, unit


def with_twins(problem: Problem, rng: np.random.Generator) -> Problem:
    """Add hypotheses that read like others: the same slopes, in another order, and one that moves nothing."""
    still = (0.0,) * len(problem.places)
    added: list[Cell] = []
    for cell in problem.cells:
        sightings = (float(np.log(rng.uniform(0.05, 0.95))),)
        if cell.hypothesis == ("a",):  # d pushes what a pushes; e beside a leaves the machine alone
            added.append(replace(cell, hypothesis=("d",), sightings=sightings))
            both = Cell(
                ("a", "e"),
                (*cell.severity, 0.5),
                (*cell.half_widths, 0.5),
                cell.mean,
                (*cell.slopes, still),
                cell.log_weight,
                cell.sigma_scale,
                sightings,
            )
            added.append(both)
        if cell.hypothesis == ("a", "b"):  # d and b: the slopes come in the other order
            one, other = cell.slopes
            added.append(
                Cell(
                    ("b", "d"),
                    cell.severity[::-1],
                    cell.half_widths[::-1],
                    cell.mean,
                    (other, one),
                    cell.log_weight,
                    cell.sigma_scale,
                    sightings,
                )
            )
    priors = {**problem.priors, ("d",): 0.1, ("a", "e"): 0.05, ("b", "d"): 0.02}
    return replace(problem, priors=priors, cells=(*problem.cells, *added))


def torn_apart(problem: Problem) -> Problem:
    """Move every mean and slope of every cell by a part in 1e10, another one each: no two are alike."""
    cells = []
    for number, cell in enumerate(problem.cells, 1):
        factor = 1.0 + 1e-11 * number
        mean = tuple(factor * value + 1e-12 * number for value in cell.mean)
        slopes = tuple(tuple(factor * s + 1e-13 * number for s in slope) for slope in cell.slopes)
        cells.append(replace(cell, mean=mean, slopes=slopes))
    return replace(problem, cells=tuple(cells))


def contradictory(rng: np.random.Generator, problem: Problem) -> list[Observation]:
    """Readings of one cell, then the same places as another cell would have them, by other instruments."""
    first = random_readings(rng, problem, count=5)
    second = random_readings(rng, problem, count=5)
    return [*first, *(replace(one, instrument_id=f"{one.instrument_id}b") for one in second[:2])]


def close(one: Posterior, other: Posterior, within: float) -> None:
    assert dict(one.hypotheses) == pytest.approx(dict(other.hypotheses), abs=within)
    assert dict(one.lying) == pytest.approx(dict(other.lying), abs=within)
    assert one.log_evidence == pytest.approx(other.log_evidence, abs=within)
    assert one.cells == pytest.approx(other.cells, abs=within)
    for mine, theirs in zip(one.suspects, other.suspects, strict=False):
        if mine.fault == theirs.fault and mine.severity and theirs.severity:
            assert mine.severity.mean == pytest.approx(theirs.severity.mean, abs=1e-3)
            assert mine.severity.low == pytest.approx(theirs.severity.low, abs=1e-3)
            assert mine.severity.high == pytest.approx(theirs.severity.high, abs=1e-3)


SCREENED = 5e-5
"""What the screen over pairs of lies may leave out: 2e-6 over 250 contradictory cases,
2e-5 in a rarer one."""


@given(st.integers(0, 10_000), st.integers(0, 8), st.booleans())
@settings(max_examples=40)
def test_twins_weighed_once_are_what_each_alone_would_be(seed: int, count: int, lies: bool) -> None:
    """Readings that agree; within 1e-9 in every chance where nothing lies, a thousandth of a severity."""
    rng = np.random.default_rng(seed)
    problem = with_twins(random_problem(rng), rng)
    readings = random_readings(rng, problem, liars=("i1",) if lies else (), count=count)
    if not lies:
        readings = [replace(reading, lie_chance=0.0) for reading in readings]
    apart = torn_apart(problem)
    assert len(start(problem).twins) < len(start(apart).twins) == len(problem.cells)
    close(assess(problem, readings), assess(apart, readings), SCREENED if lies else 1e-9)


@given(st.integers(0, 10_000), st.booleans())
@settings(max_examples=25)
def test_contradictions_bring_back_what_earlier_readings_had_ruled_out(seed: int, lies: bool) -> None:
    """Reading by reading, the latest against the earlier ones: as each cell weighed alone."""
    rng = np.random.default_rng(seed)
    problem = with_twins(random_problem(rng), rng)
    together, alone = start(problem), start(torn_apart(problem))
    for reading in contradictory(rng, problem):
        read = reading if lies else replace(reading, lie_chance=0.0)
        together, alone = together.with_reading(read), alone.with_reading(read)
        close(conclude(together), conclude(alone), SCREENED if lies else 1e-9)


@given(st.integers(0, 10_000), st.permutations(range(7)))
@settings(max_examples=25)
def test_order_of_contradictory_readings_does_not_matter(seed: int, order: list[int]) -> None:
    rng = np.random.default_rng(seed)
    problem = with_twins(random_problem(rng), rng)
    readings = contradictory(rng, problem)
    close(assess(problem, readings), assess(problem, [readings[index] for index in order]), 1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_twins_agree_with_enumeration(seed: int) -> None:
    """Outside: scipy.stats.multivariate_normal over every cell and every set of lying instruments."""
    rng = np.random.default_rng(seed)
    problem = with_twins(random_problem(rng), rng)
    readings = contradictory(rng, problem)
    chances, lies, evidence = enumerate_everything(problem, readings)
    posterior = assess(problem, readings)
    assert posterior.log_evidence == pytest.approx(evidence, abs=1e-5)
    assert dict(posterior.hypotheses) == pytest.approx(chances, abs=1e-5)
    assert dict(posterior.lying) == pytest.approx(lies, abs=1e-5)


@pytest.mark.parametrize("seed", range(4))
def test_many_instruments_agree_with_enumeration(seed: int) -> None:
    """Outside: as above, eight instruments: pairs of lies are asked for one cell at a time first."""
    rng = np.random.default_rng(seed)
    problem = random_problem(rng)
    readings = [
        replace(
            reading, instrument_id=f"i{number}", value=reading.value + (seed % 2) * 9.0 * reading.lie_sigma
        )
        if number in (2, 5)
        else replace(reading, instrument_id=f"i{number}")
        for number, reading in enumerate(random_readings(rng, problem))
    ]
    chances, lies, evidence = enumerate_everything(problem, readings)
    posterior = assess(problem, readings)
    assert posterior.log_evidence == pytest.approx(evidence, abs=1e-5)
    assert dict(posterior.hypotheses) == pytest.approx(chances, abs=1e-5)
    assert dict(posterior.lying) == pytest.approx(lies, abs=1e-5)


@given(st.lists(st.lists(st.floats(-900.0, 5000.0), min_size=4, max_size=4), min_size=1, max_size=6))
def test_a_mixture_of_lies_never_overflows(columns: list[list[float]]) -> None:
    """Outside: scipy.special.logsumexp."""
    wanted = [float(logsumexp([0.0, *row])) for row in zip(*columns, strict=True)]
    assert log_mixture(columns, 4) == pytest.approx(wanted, rel=1e-12, abs=1e-12)


def test_a_prediction_of_a_twin_is_its_own() -> None:
    """Mean and sigma of a reading not taken: the same for twins and for each alone."""
    rng = np.random.default_rng(5)
    problem = with_twins(random_problem(rng), rng)
    *readings, candidate = random_readings(rng, problem)
    together = believe(problem, readings).predict(candidate)
    alone = believe(torn_apart(problem), readings).predict(candidate)
    for one, other in zip(together, alone, strict=True):
        assert one == pytest.approx(other, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize(("card", "state"), [(COOLER, "running"), (FREEZER, "off")])
def test_sightings_remembered_are_sightings_asked_anew(card: str, state: State) -> None:
    """One memory over all cells against a fresh one for each, and against the catalogue: exactly the same."""
    book = catalogue()
    names = ("coil_ice", "compressor_sound", "evaporator_fans", "sight_glass", "user_story")
    seen = tuple(SightingEvidence(name, book.sighting(name).values[1]) for name in names)
    situation = Situation(ambient_k=kelvin(88.0), box_k=kelvin(44.0), state=state)
    case = open_case(unit(card), Evidence(situation, sightings=seen), book)
    cells = grid(case.predictor, case.hypotheses.priors)[::41]
    memory = SightingLikelihoods(case)
    for cell in cells:
        assert memory.of(cell) == SightingLikelihoods(case).of(cell)
    for name in names:
        rows = memory.chances_of(name, cells)
        assert rows == [SightingLikelihoods(case).chances(name, cell) for cell in cells]
        if book.sighting(name).from_reading is None:
            for cell, row in zip(cells, rows, strict=True):
                levels = cell.told_levels if name == "user_story" else cell.levels
                assert row == book.sighting_chances(name, levels, case.facts["application"], state)


def test_faults_of_one_mechanism_share_the_cells_of_their_pairs() -> None:
    """Two faults over the same severities beside a third read alike, whatever their own priors."""
    here = Situation(ambient_k=kelvin(88.0), box_k=kelvin(44.0))
    case = open_case(unit(COOLER), Evidence(here), catalogue())
    listed = case.hypotheses
    by_nodes: dict[tuple[object, ...], list[str]] = {}
    for name, fault in listed.faults.items():
        ladder = listed.ladders[name]
        if fault.has_physics and len(ladder.nodes) > 3 and not fault.unmoved and not fault.intermittent:
            by_nodes.setdefault((fault.axis, ladder.nodes), []).append(name)
    one, other = next(names for names in by_nodes.values() if len(names) > 1)[:2]
    cells = [
        [cell.mean for cell in grid(case.predictor, [tuple(sorted((name, "condenser_dirty")))])]
        for name in (one, other)
    ]
    assert sorted(map(str, cells[0])) == sorted(map(str, cells[1]))


def test_the_cost_of_one_check_is_its_cost_among_many() -> None:
    """By hand as well: acting costs 0.6 * 10 + 0.4 * 30; a check that tells all, 2 + 0.6 * 10 + 0.4 * 20."""
    hypotheses = [Hypothesis(frozenset({"a"}), 0.6), Hypothesis(frozenset({"b"}), 0.4)]
    repairs = Repairs([Action("a", frozenset({"a"}), 10.0), Action("b", frozenset({"b"}), 20.0)])
    tells = Question("tells", 2.0, ("a", "b"), ((1.0, 0.0), (0.0, 1.0)))
    mute = Question("mute", 1.0, ("x", "y"), ((0.5, 0.5), (0.5, 0.5)))
    ranked = rank_questions(hypotheses, [mute, tells], repairs)
    assert [(one.id, one.cost) for one in ranked] == [
        ("tells", pytest.approx(16.0)),
        ("mute", pytest.approx(19.0)),
    ]
    for one, question in ((ranked[0], tells), (ranked[1], mute)):
        assert cost_with(hypotheses, question, repairs, Stand()) == one.cost
        assert cost_with(hypotheses, question, repairs, Stand(), one.cost + 1.0) == one.cost
        assert one.cost - 1.0 <= cost_with(hypotheses, question, repairs, Stand(), one.cost - 1.0) <= one.cost
        assert cost_with(hypotheses, question, repairs, Stand(), 0.5) == 0.5
