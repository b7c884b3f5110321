"""State, complaint and trend of the box as evidence: what moves them, and that chances are chances."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdcold.cards import read_card, resolve
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.circumstances import circumstances
from holdcold.diagnosis.evidence import Evidence, Situation
from holdcold.diagnosis.problem import open_case, problem_of
from support.calls import COOLER, kelvin

TABLES = circumstances()


@given(load_share=st.floats(0.01, 20.0), above_k=st.floats(-10.0, 40.0))
def test_trends_are_chances(load_share: float, above_k: float) -> None:
    chances = [TABLES.trend_chance(trend, load_share, above_k) for trend in TABLES.trends]
    assert all(0.0 < chance < 1.0 for chance in chances)
    assert math.fsum(chances) == pytest.approx(1.0, abs=1e-12)


@given(load_share=st.floats(0.05, 5.0), above_k=st.floats(-5.0, 30.0))
def test_less_cooling_never_makes_a_falling_box_likelier(load_share: float, above_k: float) -> None:
    now = TABLES.trend_chance("falling", load_share, above_k)
    worse = TABLES.trend_chance("falling", 1.2 * load_share, above_k)
    assert worse <= now + 1e-12
    assert TABLES.trend_chance("rising", 1.2 * load_share, above_k) >= TABLES.trend_chance(
        "rising", load_share, above_k
    )


def test_a_box_held_at_its_set_point_need_not_fall() -> None:
    warm, held = (TABLES.trend_chance("steady", 0.4, above_k) for above_k in (8.0, 0.5))
    assert held > 2.0 * warm


def test_a_trend_nobody_noted_says_nothing() -> None:
    assert TABLES.trend_chance("unknown", 0.5, 5.0) == 1.0


def test_a_sound_machine_is_called_about_too() -> None:
    """Somebody called: of a machine without fault the reason passes, whatever its load says."""
    at_ease, hard_pressed = (TABLES.complaint_chance("warm", [], share) for share in (0.3, 1.5))
    assert at_ease == hard_pressed > 0.3


@pytest.mark.parametrize("trend", ["falling", "rising"])
def test_trend_is_evidence_only_while_it_runs(trend: str) -> None:
    resolved = resolve(read_card(COOLER))
    here = Situation(kelvin(90.0), kelvin(50.0), "running", complaint="warm", box_trend=trend)  # type: ignore[arg-type]
    for situation, columns in ((here, 3), (replace(here, state="off"), 2)):
        problem, _ = problem_of(open_case(resolved, Evidence(situation), catalogue()))
        assert len(problem.cell_sightings) == columns
        assert all(len(cell.sightings) == columns for cell in problem.cells)


def test_a_falling_box_speaks_for_a_machine_that_cools() -> None:
    """A warm box that falls under a running machine: the sound machine gains on one that hardly pumps."""
    resolved = resolve(read_card(COOLER))
    odds = []
    for trend in ("falling", "steady"):
        situation = Situation(kelvin(90.0), kelvin(50.0), "running", box_trend=trend)  # type: ignore[arg-type]
        problem, _ = problem_of(open_case(resolved, Evidence(situation), catalogue()))
        best = {
            key: max(cell.sightings[-1] for cell in problem.cells if cell.hypothesis == key)
            for key in ((), ("compressor_weak",))
        }
        worst = min(cell.sightings[-1] for cell in problem.cells if cell.hypothesis == ("compressor_weak",))
        odds.append(best[()] - worst)
    falling, steady = odds
    assert falling > 0.25
    assert falling > steady
