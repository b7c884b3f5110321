"""A call as a problem of belief: conditions, sightings, state and complaint, pairs refined."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import pytest
from scipy.integrate import quad
from scipy.stats import norm

from holdcold.diagnosis.belief import NONE, believe
from holdcold.diagnosis.case import check_problem
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.evidence import Evidence, ReadingEvidence, RepairEvidence, SightingEvidence, Situation
from holdcold.diagnosis.posterior import conclude
from holdcold.diagnosis.problem import (
    Case,
    SightingLikelihoods,
    conditions_of,
    open_case,
    problem_of,
    refined,
    unsteady_minutes,
)
from support.calls import COOLER, FREEZER, REACH_IN, Call, Machine, Truth, kelvin, solved_once, unit

WARM = Situation(kelvin(90.0), kelvin(50.0), "running", 60.0, complaint="warm")


@pytest.fixture(scope="module", autouse=True)
def quick() -> Iterator[None]:
    """Solve each machine once for all tests."""
    with solved_once():
        yield


def opened(card: str = COOLER, situation: Situation = WARM, **evidence: object) -> Case:
    return open_case(unit(card), Evidence(situation, **evidence), catalogue())  # type: ignore[arg-type]


def leaky_call() -> Call:
    truth = Truth(unit(COOLER), {"low_charge": 0.68})
    return Call(Machine(truth)).do("box_walk_round", "unit_walk_round", "gauges", "pipe_clamps")


# ---------------------------------------------------------------------------------------- conditions
def test_what_nobody_measured_is_taken_at_the_rating_point() -> None:
    design = unit(COOLER).design
    here = conditions_of(Situation(None, None), unit(COOLER))
    assert (here.ambient_k, here.box_k, here.running) == (design.rated_ambient_k, design.set_point_k, True)


@pytest.mark.parametrize(
    ("state", "running"), [("running", True), ("cycling", True), ("off", False), ("unknown", True)]
)
def test_a_machine_at_rest_is_predicted_at_rest(state: str, running: bool) -> None:
    assert conditions_of(replace(WARM, state=state), unit(COOLER)).running is running  # type: ignore[arg-type]


def test_low_voltage_is_evidence_and_no_condition() -> None:
    """The healthy prediction stands at nominal volts: else low voltage could never be suspected."""
    low = replace(WARM, supply_ratio=0.85, supply_measured=True)
    assert conditions_of(low, unit(COOLER)).supply_ratio == 1.0


def test_a_guessed_ambient_makes_the_head_pressure_uncertain() -> None:
    """6 K either way on the air entering the condenser moves head by about as many kelvin: over 10 psi."""
    known, guessed = opened(), opened(situation=replace(WARM, ambient_k=None))
    spreads = []
    for case in (known, guessed):
        problem, _ = problem_of(case)
        at = problem.places.index("discharge_pa")
        spreads.append(math.hypot(*problem.sensitivity.card[at]))
    assert spreads[1] > spreads[0] + 0.5 * 6.9e4
    assert "condenser_air_in_k" not in guessed.places


@pytest.mark.parametrize(
    ("situation", "minutes"),
    [
        (WARM, 0.0),
        (replace(WARM, minutes_in_state=3.0), 7.0),
        (replace(WARM, minutes_in_state=None), 0.0),
        (replace(WARM, state="defrost", minutes_in_state=5.0), 30.0),
        (replace(WARM, state="off", minutes_in_state=1.0), 0.0),
    ],
)
def test_minutes_to_wait(situation: Situation, minutes: float) -> None:
    """About ten minutes of steady running before readings mean anything (common practice, no source)."""
    assert unsteady_minutes(situation) == pytest.approx(minutes)


def test_an_unsteady_machine_spreads_every_prediction() -> None:
    steady, _ = problem_of(opened())
    early, _ = problem_of(opened(situation=replace(WARM, minutes_in_state=2.0)))
    assert {cell.sigma_scale for cell in steady.cells} == {1.0}
    assert min(cell.sigma_scale for cell in early.cells) > 2.0


# ------------------------------------------------------------------------------------------- problem
@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN])
def test_problem_fits_together(card: str) -> None:
    case = opened(card)
    problem, cells = problem_of(case)
    check_problem(problem)
    assert [cell.hypothesis for cell in problem.cells] == [cell.key for cell in cells]
    assert set(problem.priors) == set(case.hypotheses.priors)
    assert problem.not_listed_prior == case.hypotheses.not_listed


def test_places_are_what_an_instrument_can_read_and_what_was_told() -> None:
    """A superheat somebody typed counts although no instrument reads it directly; conditions never count."""
    plain = opened()
    assert "coil_superheat_k" not in plain.places
    assert {"box_k", "coil_air_in_k", "condenser_air_in_k"}.isdisjoint(plain.places)
    told = opened(readings=(ReadingEvidence("coil_superheat_k", 12.0),))
    assert "coil_superheat_k" in told.places
    assert [one.place for one in told.observations] == ["coil_superheat_k"]


def test_refining_a_pair_keeps_cells_and_order_together() -> None:
    case = opened(**vars_of(leaky_call()))
    problem, cells = problem_of(case)
    key = ("condenser_dirty", "low_charge")
    finer, more = refined(case, problem, cells, frozenset([key]))
    check_problem(finer)
    assert [cell.hypothesis for cell in finer.cells] == [cell.key for cell in more]
    assert sum(cell.key == key for cell in more) > sum(cell.key == key for cell in cells)
    untouched = [cell for cell in cells if cell.key != key]
    assert [cell for cell in more if cell.key != key] == untouched
    before, after = (conclude(believe(one, case.observations)) for one in (problem, finer))
    assert after.chance(("low_charge",)) == pytest.approx(before.chance(("low_charge",)), abs=0.1)


def vars_of(call: Call) -> dict[str, object]:
    evidence = call.evidence
    return {"readings": evidence.readings, "sightings": evidence.sightings, "checks": evidence.checks}


def test_repairs_without_an_outcome_say_nothing() -> None:
    assert opened(repairs=(RepairEvidence("low_charge", "unknown"),)).terms == ()
    assert len(opened(repairs=(RepairEvidence("low_charge", "symptom_stays"),)).terms) == 1


# ------------------------------------------------------------------------------------------ sightings
def test_only_answers_that_say_something_count_and_the_last_one() -> None:
    case = opened(
        sightings=(
            SightingEvidence("coil_ice", "iced"),
            SightingEvidence("sight_glass", "not_looked"),
            SightingEvidence("proved_dead", "yes"),
            SightingEvidence("coil_ice", "clear"),
        )
    )
    assert [(seen.id, seen.value) for seen in case.sightings] == [("coil_ice", "clear")]


def test_columns_and_cells_agree() -> None:
    """One log-likelihood per column and cell: sightings seen, then state and complaint; none above 0."""
    case = opened(sightings=(SightingEvidence("coil_ice", "iced"), SightingEvidence("door", "tight")))
    problem, _ = problem_of(case)
    assert [column.item for column in problem.cell_sightings] == ["coil_ice", "door", "state", "complaint"]
    assert all(len(cell.sightings) == 4 and max(cell.sightings) <= 0.0 for cell in problem.cells)


@pytest.mark.parametrize(
    "name", ["coil_ice", "condenser_face", "evaporator_fans", "oil_trace", "sight_glass"]
)
@pytest.mark.parametrize("card", [COOLER, FREEZER])
def test_chances_of_the_answers_sum_to_one_in_every_cell(card: str, name: str) -> None:
    case = opened(card)
    _, cells = problem_of(case)
    likelihoods = SightingLikelihoods(case)
    for cell in cells:
        chances = likelihoods.chances(name, cell)
        assert math.fsum(chances) == pytest.approx(1.0, abs=1e-9)
        assert min(chances) > 0.0


def test_a_sighting_from_a_reading_averages_over_what_the_card_leaves_open() -> None:
    """Three Gauss-Hermite points against SciPy's integral over the whole normal distribution."""
    case = opened()
    _, cells = problem_of(case)
    likelihoods = SightingLikelihoods(case)
    sighting = catalogue().sighting("receiver_level")
    place = "receiver_level_fraction"
    band = case.normal.readings[place]
    checked = 0
    for cell in cells:
        if cell.key in (NONE, ("low_charge",), ("overcharge",)):
            slope = math.hypot(*(slope.get(place, 0.0) for slope in cell.slopes))
            spread = math.hypot(band.card_sigma, band.model_sigma, slope)
            middle = cell.mean[place]
            for number, got in enumerate(likelihoods.chances("receiver_level", cell)):

                def weighted(
                    x: float, number: int = number, middle: float = middle, s: float = spread
                ) -> float:
                    return float(sighting.chances_at(x)[number] * norm.pdf(x, middle, s))

                whole = quad(weighted, middle - 8.0 * spread, middle + 8.0 * spread, limit=200)[0]
                assert got == pytest.approx(whole, abs=0.06)
                checked += 1
    assert checked > 10


def test_a_glass_is_judged_by_the_machine_where_it_can_be() -> None:
    """Field notes 6: bubbles point to a leak and to a restriction, not to a dirty condenser."""
    case = opened()
    _, cells = problem_of(case)
    likelihoods = SightingLikelihoods(case)
    bubbles = catalogue().sighting("sight_glass").values.index("bubbles")

    def worst(fault: str) -> float:
        return max(likelihoods.chances("sight_glass", c)[bubbles] for c in cells if c.key == (fault,))

    assert min(worst("low_charge"), worst("drier_restricted")) > 0.7
    assert worst("condenser_dirty") < 0.2


# ------------------------------------------------------------------------------- state and complaint
def column(case: Case, item: str) -> dict[tuple[str, ...], list[float]]:
    problem, _ = problem_of(case)
    at = [one.item for one in problem.cell_sightings].index(item)
    found: dict[tuple[str, ...], list[float]] = {}
    for cell in problem.cells:
        found.setdefault(cell.hypothesis, []).append(cell.sightings[at])
    return found


def test_a_standing_compressor_points_to_what_stops_it() -> None:
    logs = column(opened(situation=replace(WARM, state="off")), "state")
    for fault in ("no_power", "contactor", "start_gear", "compressor_motor"):
        assert max(logs[(fault,)]) > max(logs[("condenser_dirty",)]) + 1.0


def test_short_cycling_points_to_what_has_no_steady_point() -> None:
    logs = column(opened(situation=replace(WARM, state="cycling")), "state")
    dirty = logs[("condenser_dirty",)]
    assert max(dirty) > min(dirty) + 0.5
    assert max(logs[("low_pressure_control",)]) > max(logs[NONE])


def test_a_warm_box_points_to_lost_cooling_and_more_with_severity() -> None:
    logs = column(opened(), "complaint")
    starved = logs[("txv_starving",)]
    assert starved == sorted(starved)
    assert starved[-1] > max(logs[NONE])


def test_an_iced_complaint_points_to_ice() -> None:
    logs = column(opened(situation=replace(WARM, complaint="iced")), "complaint")
    assert max(logs[("coil_iced",)]) > max(logs[("condenser_dirty",)]) + 0.5


def test_what_nobody_said_says_nothing() -> None:
    """State *unknown* and a defrost leave every hypothesis as it was."""
    for state in ("unknown", "defrost"):
        logs = column(opened(situation=replace(WARM, state=state)), "state")  # type: ignore[arg-type]
        assert {value for values in logs.values() for value in values} == {0.0}
