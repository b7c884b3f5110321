"""Reasons against Bayes' rule written out, and expected shifts against the belief itself."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid
from scipy.stats import norm

from holdcold.diagnosis.belief import (
    NONE,
    CardSensitivity,
    Cell,
    CellSighting,
    HypothesisKey,
    Observation,
    Problem,
    believe,
)
from holdcold.diagnosis.discrete import Table
from holdcold.diagnosis.explain import WORDS, explain, in_words, what_would_change
from holdcold.diagnosis.posterior import assess, conclude
from support.belief_by_enumeration import random_problem, random_readings

PRIORS: Mapping[HypothesisKey, float] = {NONE: 0.3, ("dirty",): 0.4, ("leak",): 0.3}
GLASS = Table("glass", ("clear", "bubbles"), "clear", (0.95, 0.05), {"leak": (0.2, 0.8)}, 0.05)
FACE = Table("face", ("clean", "dirty"), "clean", (0.9, 0.1), {"dirty": (0.15, 0.85)}, 0.02)
SIGMA = math.sqrt(0.5**2 + 0.3**2 + 0.4**2)


def small_problem(not_listed: float = 0.03) -> Problem:
    """Head and superheat: a dirty condenser raises the one, a leak the other."""
    dirty = [
        Cell(("dirty",), (middle,), (0.25,), (12.0 * middle, 0.0), ((3.0, 0.0),), sightings=(math.log(0.1),))
        for middle in (0.25, 0.75)
    ]
    cells = (
        Cell(NONE, (), (), (0.0, 0.0), sightings=(math.log(0.1),)),
        *dirty,
        Cell(("leak",), (None,), (0.0,), (-2.0, 9.0), sightings=(math.log(0.6),)),
    )
    sensitivity = CardSensitivity(((0.5,), (0.2,)), ((), ()), (0.3, 0.3))
    sighting = CellSighting("oil", math.log(0.3), "oil at a joint")
    return Problem(("head", "superheat"), PRIORS, cells, sensitivity, not_listed, (sighting,))


def without_sighting(not_listed: float = 0.03) -> Problem:
    problem = small_problem(not_listed)
    cells = tuple(replace(cell, sightings=()) for cell in problem.cells)
    return replace(problem, cells=cells, cell_sightings=())


def reading(place: str, value: float, instrument: str = "gauge") -> Observation:
    return Observation(place, value, 0.4, instrument)


def test_one_reading_is_credited_with_its_bayes_factor() -> None:
    """Outside: Bayes' rule with scipy.stats.norm; a single item leaves nothing to share out."""
    problem = without_sighting(0.0)
    found = explain(believe(problem, [reading("head", 3.0)]), ["leak"])["leak"]
    dirty = 0.5 * sum(norm.pdf(3.0, mean, math.hypot(SIGMA, 3.0)) for mean in (3.0, 9.0))
    rest = (0.3 * norm.pdf(3.0, 0.0, SIGMA) + 0.4 * dirty) / 0.7
    (reason,) = found.reasons
    assert reason.delta == pytest.approx(math.log(norm.pdf(3.0, -2.0, SIGMA) / rest), abs=1e-10)
    assert found.prior_log_odds == pytest.approx(math.log(0.3 / 0.7), abs=1e-12)
    assert (reason.item, reason.observed) == ("head@gauge", 3.0)
    assert (reason.expected, reason.normal) == (-2.0, 0.0)
    assert reason.sigma == pytest.approx(SIGMA, rel=1e-12)


@pytest.mark.parametrize("fault", ["dirty", "leak"])
def test_two_items_get_the_average_of_both_orders(fault: str) -> None:
    """Outside: the Shapley value of two players, from the four posteriors."""
    problem = without_sighting()
    pressure, glass = reading("superheat", 7.0), GLASS.term("bubbles", PRIORS)

    def odds(*, with_pressure: bool, with_glass: bool) -> float:
        chances = assess(problem, [pressure] * with_pressure, [glass] * with_glass).suspects
        chance = next(suspect.chance for suspect in chances if suspect.fault == fault)
        return math.log(chance / (1.0 - chance))

    none, both = odds(with_pressure=False, with_glass=False), odds(with_pressure=True, with_glass=True)
    only_pressure = odds(with_pressure=True, with_glass=False)
    only_glass = odds(with_pressure=False, with_glass=True)
    found = explain(believe(problem, [pressure], [glass]), [fault])[fault]
    deltas = {reason.item: reason.delta for reason in found.reasons}
    assert deltas["superheat@gauge"] == pytest.approx(
        0.5 * (only_pressure - none + both - only_glass), abs=1e-9
    )
    assert deltas["glass"] == pytest.approx(0.5 * (only_glass - none + both - only_pressure), abs=1e-9)


@given(st.permutations(range(8)), st.integers(0, 30))
@settings(max_examples=15)
def test_credits_add_up_and_do_not_depend_on_the_order_of_entry(order: list[int], seed: int) -> None:
    rng = np.random.default_rng(seed)
    problem = random_problem(rng)
    readings = random_readings(rng, problem, liars=("i1",))
    belief = believe(problem, readings)
    found = explain(belief, ["a", "b"])
    again = explain(believe(problem, [readings[index] for index in order]), ["a", "b"])
    posterior = conclude(belief)
    for suspect in posterior.suspects:
        if suspect.fault == "c":
            continue
        explanation = found[suspect.fault]
        total = explanation.prior_log_odds + math.fsum(reason.delta for reason in explanation.reasons)
        assert total == pytest.approx(explanation.log_odds, abs=1e-9)
        others = posterior.not_listed_chance + math.fsum(
            chance
            for key, chance in posterior.hypotheses
            if suspect.fault not in key and key != ("not_listed",)
        )
        assert explanation.log_odds == pytest.approx(math.log(suspect.chance / others), abs=1e-9)
        first = [(reason.item, reason.delta) for reason in explanation.reasons]
        second = [(reason.item, reason.delta) for reason in again[suspect.fault].reasons]
        assert [item for item, _ in first] == [item for item, _ in second]
        assert [d for _, d in first] == pytest.approx([d for _, d in second], abs=1e-6)


def test_why_and_against_name_the_right_items() -> None:
    readings = [reading("head", 8.0), reading("superheat", 0.2, "probe")]
    terms = [GLASS.term("clear", PRIORS), FACE.term("dirty", PRIORS)]
    found = explain(believe(small_problem(), readings, terms), ["dirty", "leak"])
    dirty, leak = found["dirty"], found["leak"]
    assert [reason.item for reason in dirty.why(2)] == ["head@gauge", "face"]
    assert all(reason.delta > 0.0 for reason in dirty.why())
    assert all(reason.delta < 0.0 for reason in leak.against())
    assert {reason.item for reason in leak.against(2)} == {"head@gauge", "superheat@probe"}
    strengths = [abs(reason.delta) for reason in leak.against()]
    assert strengths == sorted(strengths, reverse=True)
    assert [reason.item for reason in leak.why()] == ["oil"]


def test_what_was_expected_is_told_beside_what_was_seen() -> None:
    readings = [reading("head", 8.0), reading("superheat", 0.2, "probe")]
    found = explain(believe(small_problem(), readings, [FACE.term("dirty", PRIORS)]), ["dirty"])["dirty"]
    by_item = {reason.item: reason for reason in found.reasons}
    head = by_item["head@gauge"]
    # By hand: severity is free over 3 K either side of 9.0, so the suspect expects nearly what was read.
    assert head.expected == pytest.approx(8.0, abs=0.3)
    assert head.normal == 0.0
    assert by_item["superheat@probe"].expected == pytest.approx(0.0, abs=1e-9)
    face = by_item["face"]
    assert face.observed == "dirty"
    assert face.expected == pytest.approx(0.98 * 0.85 + 0.01, rel=1e-9)
    assert face.normal == pytest.approx(0.98 * 0.1 + 0.01, rel=1e-9)
    assert face.sigma is None
    oil = by_item["oil"]
    assert (oil.observed, oil.sigma) == ("oil at a joint", None)
    assert (oil.expected, oil.normal) == pytest.approx((0.1, 0.1), rel=1e-9)


def test_repeats_share_their_credit() -> None:
    once = explain(believe(without_sighting(), [reading("head", 5.0)]), ["dirty"])["dirty"]
    twice = explain(believe(without_sighting(), [reading("head", 5.0)] * 2), ["dirty"])["dirty"]
    first, second = (reason.delta for reason in twice.reasons)
    assert first == pytest.approx(second, abs=1e-9)
    assert first < once.reasons[0].delta < first + second


# -- what would change it ----------------------------------------------------------------------------


@pytest.mark.parametrize("fault", ["dirty", "leak"])
@pytest.mark.parametrize("table", [GLASS, FACE])
def test_shift_by_a_sighting_is_the_average_over_its_values(fault: str, table: Table) -> None:
    """Outside: every value put into the belief in turn, weighted by how likely the belief says it is."""
    belief = believe(small_problem(), [reading("head", 3.0)])
    before = conclude(belief)
    start = next(suspect.chance for suspect in before.suspects if suspect.fault == fault)
    expected = 0.0
    for value in table.values:
        after = conclude(belief.with_term(table.term(value, PRIORS)))
        chance = next(suspect.chance for suspect in after.suspects if suspect.fault == fault)
        expected += math.exp(after.log_evidence - before.log_evidence) * abs(chance - start)
    (shift,) = what_would_change(belief, fault, [table])
    assert (shift.item, shift.expected) == (table.item, pytest.approx(expected, abs=1e-12))


@pytest.mark.parametrize("fault", ["dirty", "leak"])
@pytest.mark.parametrize("place", ["head", "superheat"])
def test_shift_by_a_reading_is_the_average_over_its_values(fault: str, place: str) -> None:
    """Outside: the belief itself at 2,000 values of the reading, weighted by their density."""
    belief = believe(small_problem(), [reading("head", -0.8)])
    before = conclude(belief)
    start = next(suspect.chance for suspect in before.suspects if suspect.fault == fault)
    values = np.linspace(-25.0, 30.0, 2001)
    sizes = []
    for value in values:
        after = conclude(belief.with_reading(reading(place, float(value), "probe")))
        chance = next(suspect.chance for suspect in after.suspects if suspect.fault == fault)
        sizes.append(math.exp(after.log_evidence - before.log_evidence) * abs(chance - start))
    (shift,) = what_would_change(belief, fault, [reading(place, 0.0, "probe")])
    assert shift.expected == pytest.approx(trapezoid(sizes, values), abs=0.002)
    assert shift.expected > 0.005


def test_the_most_telling_candidate_comes_first() -> None:
    belief = believe(small_problem(), [reading("head", -0.8)])
    blunt = replace(reading("superheat", 0.0, "hand"), sigma=30.0)
    shifts = what_would_change(belief, "leak", [blunt, GLASS, reading("superheat", 0.0, "probe"), FACE])
    assert shifts[0].item == "superheat@probe"
    assert [shift.item for shift in shifts].index("glass") < [shift.item for shift in shifts].index("face")
    assert next(s.expected for s in shifts if s.item == "superheat@hand") < 0.06
    assert all(0.0 <= shift.expected <= 0.5 for shift in shifts)


# -- words -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("chance", "word"),
    [
        (1.0, "almost certain"),
        (0.95, "almost certain"),
        (0.9499, "likely"),
        (0.5, "about even"),
        (0.2, "possible"),
        (0.05, "unlikely"),
        (0.0199, "almost ruled out"),
        (0.0, "almost ruled out"),
    ],
)
def test_words_for_chances(chance: float, word: str) -> None:
    assert in_words(chance) == word


def test_words_agree_with_a_published_scale() -> None:
    """Outside: S. Kent, Words of Estimative Probability, 1964 (from memory): almost certain 93 +- 6,
    chances about even 50 +- 10, almost certainly not 7 +- 5 percent."""
    assert in_words(0.97) == "almost certain"
    assert {in_words(chance) for chance in (0.4, 0.5, 0.6)} == {"about even"}
    assert in_words(0.05) == "unlikely"
    thresholds = [least for least, _ in WORDS]
    assert thresholds == sorted(thresholds, reverse=True)
    assert len({word for _, word in WORDS}) == len(WORDS)
    assert all(in_words(one) == word for one, word in WORDS)


def test_nothing_else_is_credited_without_evidence() -> None:
    problem = without_sighting()
    found = explain(believe(problem), ["leak"])["leak"]
    assert found.reasons == ()
    assert found.prior_log_odds == found.log_odds
    assert list(itertools.chain(found.why(), found.against())) == []
