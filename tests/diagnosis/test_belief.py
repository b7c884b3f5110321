"""The belief engine against SciPy, numeric quadrature, brute-force enumeration and published posteriors."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from holdcold.diagnosis.belief import (
    NONE,
    NOT_LISTED,
    CardSensitivity,
    Cell,
    CellSighting,
    DiscreteTerm,
    HypothesisKey,
    Observation,
    Problem,
    believe,
    start,
)
from holdcold.diagnosis.discrete import RepairChances, Table, repair_term
from holdcold.diagnosis.posterior import Posterior, assess, conclude, ranked
from holdcold.errors import InputError, InputErrors, UnknownNameError
from support.belief_by_enumeration import (
    enumerate_everything,
    random_problem,
    random_readings,
    shared_covariance,
)

NOTHING_UNSURE = CardSensitivity((), (), ())


def discrete_problem(priors: Mapping[HypothesisKey, float], not_listed: float = 0.0) -> Problem:
    """No readings at all: one cell per hypothesis."""
    cells = tuple(Cell(key, (None,) * len(key), (0.0,) * len(key), ()) for key in priors)
    return Problem((), priors, cells, NOTHING_UNSURE, not_listed_prior=not_listed)


def one_place(
    cells: Sequence[Cell], priors: Mapping[HypothesisKey, float], not_listed: float = 0.0
) -> Problem:
    sensitivity = CardSensitivity(((0.5,),), ((),), (0.3,))
    return Problem(("head",), priors, tuple(cells), sensitivity, not_listed_prior=not_listed)


def total_variation(one: Mapping[object, float], other: Mapping[object, float]) -> float:
    keys = set(one) | set(other)
    return 0.5 * sum(abs(one.get(key, 0.0) - other.get(key, 0.0)) for key in keys)


# -- Gaussian part -----------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("liars", [(), ("i1",), ("i1", "i3")])
def test_chances_agree_with_enumeration(seed: int, liars: tuple[str, ...]) -> None:
    """Outside: scipy.stats.multivariate_normal over every cell and every set of lying instruments."""
    rng = np.random.default_rng(seed)
    problem = random_problem(rng)
    readings = random_readings(rng, problem, liars=liars)
    chances, lies, evidence = enumerate_everything(problem, readings)
    posterior = assess(problem, readings)
    # What the screen over pairs of lies may leave out: weigh.SCREEN_NATS.
    assert posterior.log_evidence == pytest.approx(evidence, abs=1e-5)
    assert dict(posterior.hypotheses) == pytest.approx(chances, abs=1e-5)
    assert dict(posterior.lying) == pytest.approx(lies, abs=1e-5)


@pytest.mark.parametrize("seed", range(4))
def test_without_pairs_to_screen_the_agreement_is_exact(seed: int) -> None:
    """Outside: as above; one instrument can lie, so nothing is left out."""
    rng = np.random.default_rng(100 + seed)
    problem = random_problem(rng)
    readings = [
        replace(reading, lie_chance=0.04 if reading.instrument_id == "i2" else 0.0)
        for reading in random_readings(rng, problem)
    ]
    chances, lies, evidence = enumerate_everything(problem, readings)
    posterior = assess(problem, readings)
    assert posterior.log_evidence == pytest.approx(evidence, abs=1e-9)
    assert dict(posterior.hypotheses) == pytest.approx(chances, abs=1e-9)
    assert dict(posterior.lying) == pytest.approx(lies, abs=1e-9)


@given(st.permutations(range(8)), st.integers(0, 50))
@settings(max_examples=40)
def test_order_of_the_evidence_does_not_matter(order: list[int], seed: int) -> None:
    rng = np.random.default_rng(seed)
    problem = random_problem(rng)
    readings = random_readings(rng, problem, liars=("i0",))
    first = assess(problem, readings)
    second = assess(problem, [readings[index] for index in order])
    assert dict(second.hypotheses) == pytest.approx(dict(first.hypotheses), abs=1e-9)
    assert dict(second.lying) == pytest.approx(dict(first.lying), abs=1e-9)


@given(st.integers(0, 10_000), st.integers(0, 8))
@settings(max_examples=40)
def test_chances_sum_to_one_and_suspects_are_marginals(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    problem = random_problem(rng)
    posterior = assess(problem, random_readings(rng, problem, count=count))
    assert math.fsum(chance for _, chance in posterior.hypotheses) == pytest.approx(1.0, abs=1e-12)
    assert math.fsum(posterior.cells) + posterior.not_listed_chance == pytest.approx(1.0, abs=1e-12)
    for suspect in posterior.suspects:
        wanted = sum(chance for key, chance in posterior.hypotheses if suspect.fault in key)
        assert suspect.chance == pytest.approx(wanted, abs=1e-12)
    assert {suspect.fault for suspect in posterior.suspects} == {"a", "b", "c"}


def test_one_more_reading_is_the_whole_batch() -> None:
    rng = np.random.default_rng(7)
    problem = random_problem(rng)
    readings = random_readings(rng, problem)
    belief = start(problem)
    for count, reading in enumerate(readings, 1):
        belief = belief.with_reading(reading)
        assert conclude(belief) == assess(problem, readings[:count])


@pytest.mark.parametrize("seed", range(5))
def test_prediction_of_a_reading_not_taken_is_the_conditional_normal(seed: int) -> None:
    """Outside: conditional mean and covariance of a joint normal (Bishop, Pattern Recognition and
    Machine Learning, eqs. 2.81 and 2.82), with NumPy."""
    rng = np.random.default_rng(seed)
    problem = random_problem(rng)
    readings = random_readings(rng, problem)
    candidate = readings.pop()
    means, sigmas = believe(problem, readings).predict(candidate)
    everything = [*readings, candidate]
    at = [problem.places.index(reading.place) for reading in everything]
    for index, cell in enumerate(problem.cells):
        covariance = shared_covariance(problem, cell, everything) * cell.sigma_scale**2
        for slope in cell.slopes:
            covariance = covariance + np.outer(np.array(slope)[at], np.array(slope)[at])
        mean = np.array(cell.mean)[at]
        residual = np.array([reading.value for reading in readings]) - mean[:-1]
        gain = np.linalg.solve(covariance[:-1, :-1], covariance[:-1, -1])
        assert means[index] == pytest.approx(mean[-1] + gain @ residual, rel=1e-8, abs=1e-8)
        wanted = math.sqrt(covariance[-1, -1] - gain @ covariance[:-1, -1])
        assert sigmas[index] == pytest.approx(wanted, rel=1e-8)


# -- severity ----------------------------------------------------------------------------------------


def linear_fault(cells: int, effect: float) -> Problem:
    """One fault with severity 0 to 1 that raises one reading by ``effect``, and a healthy machine."""
    half = 0.5 / cells
    made = [
        Cell(("dirty",), ((2 * k + 1) * half,), (half,), ((2 * k + 1) * half * effect,), ((half * effect,),))
        for k in range(cells)
    ]
    return one_place([Cell(NONE, (), (), (0.0,)), *made], {NONE: 0.5, ("dirty",): 0.5})


SIGMA = math.sqrt(0.5**2 + 0.3**2 + 0.4**2)  # card, discrepancy, noise of the reading below


def head(value: float) -> Observation:
    return Observation("head", value, 0.4, "gauge")


@pytest.mark.parametrize("cells", [2, 4, 9])
@pytest.mark.parametrize("value", [-1.0, 0.4, 7.3, 14.0])
def test_severity_is_integrated_exactly_over_the_tiled_prior(cells: int, value: float) -> None:
    """Outside: scipy.integrate.quad of likelihood times prior over severity. The prior is the tiling by
    normals that ``Cell`` describes, so nothing is approximated."""
    effect = 12.0
    half = 0.5 / cells

    def prior(severity: float) -> float:
        return math.fsum(norm.pdf(severity, (2 * k + 1) * half, half) for k in range(cells)) / cells

    def mass(power: int) -> float:
        def integrand(severity: float) -> float:
            return severity**power * prior(severity) * norm.pdf(value, severity * effect, SIGMA)

        peak = value / effect
        return quad(integrand, -2.0, 3.0, points=sorted({0.0, 1.0, peak}), limit=400, epsabs=1e-13)[0]

    posterior = assess(linear_fault(cells, effect), [head(value)])
    healthy = norm.pdf(value, 0.0, SIGMA)
    assert posterior.chance(("dirty",)) == pytest.approx(mass(0) / (mass(0) + healthy), abs=1e-8)
    severity = posterior.suspects[0].severity
    if severity is not None:
        wanted = min(max(mass(1) / mass(0), 0.0), 1.0)
        # Cells below a thousandth of the fault's chance are left out of the severity.
        assert severity.mean == pytest.approx(wanted, abs=2e-3)


@pytest.mark.parametrize("value", [3.0, 4.5, 5.9, 7.5, 8.8])
def test_no_likelihood_falls_between_cells(value: float) -> None:
    """Outside: quad over a severity uniform from 0 to 1, for readings well inside its reach; the tiling
    ripples by 1.4 %, and 2.5 % one cell from an end. Readings of 3.0 and 5.9 lie half-way between two
    midpoints, 2.1 sigma from either, and without the slopes would lose three quarters of their weight."""
    problem = linear_fault(4, 12.0)
    uniform = quad(lambda s: norm.pdf(value, 12.0 * s, SIGMA), 0.0, 1.0, points=[value / 12.0])[0]
    posterior = assess(problem, [head(value)])
    odds = posterior.chance(("dirty",)) / posterior.none_chance
    assert odds == pytest.approx(uniform / norm.pdf(value, 0.0, SIGMA), rel=0.03)


@pytest.mark.parametrize("value", [4.0, 6.0, 8.0])
def test_severity_band_is_the_posterior_band(value: float) -> None:
    """Outside: with a flat prior and one linear reading severity is normal about value / effect."""
    posterior = assess(linear_fault(8, 12.0), [head(value)])
    severity = posterior.suspects[0].severity
    assert severity is not None
    assert severity.mean == pytest.approx(value / 12.0, abs=0.003)
    assert severity.low == pytest.approx(norm.ppf(0.05, value / 12.0, SIGMA / 12.0), abs=0.005)
    assert severity.high == pytest.approx(norm.ppf(0.95, value / 12.0, SIGMA / 12.0), abs=0.005)


def test_severity_of_each_of_two_faults() -> None:
    """Each fault moves a reading of its own, so each severity must follow its own reading."""
    cells = [Cell(NONE, (), (), (0.0, 0.0))]
    for one, other in itertools.product((0.125, 0.375, 0.625, 0.875), repeat=2):
        slopes = ((1.25, 0.0), (0.0, 2.5))
        cells.append(Cell(("air", "leak"), (one, other), (0.125, 0.125), (10.0 * one, 20.0 * other), slopes))
    sensitivity = CardSensitivity(((0.1,), (0.1,)), ((), ()), (0.1, 0.1))
    problem = Problem(("x", "y"), {NONE: 0.5, ("air", "leak"): 0.5}, tuple(cells), sensitivity)
    readings = [Observation("x", 3.0, 0.1, "i"), Observation("y", 14.0, 0.1, "j")]
    found = {suspect.fault: suspect.severity for suspect in assess(problem, readings).suspects}
    assert found["air"] is not None
    assert found["leak"] is not None
    assert found["air"].mean == pytest.approx(0.30, abs=0.01)
    assert found["leak"].mean == pytest.approx(0.70, abs=0.01)


# -- instruments -------------------------------------------------------------------------------------


def two_causes() -> Problem:
    cells = [Cell(NONE, (), (), (0.0,)), Cell(("leak",), (None,), (0.0,), (1.0,))]
    return one_place(cells, {NONE: 0.5, ("leak",): 0.5}, not_listed=0.03)


def gauge(value: float, sigma: float = 0.5) -> Observation:
    return Observation("head", value, sigma, "gauge", bias_sigma=0.6, lie_chance=0.03, lie_sigma=8.0)


@pytest.mark.parametrize("count", [2, 10, 40])
def test_the_same_reading_again_is_one_reading_with_less_noise_only(count: int) -> None:
    """Outside: the mean of n readings with a common error is sufficient, with noise sigma / sqrt(n)
    (Casella and Berger, Statistical Inference, 2nd ed., section 6.2), so bias and lie do not shrink."""
    repeated = assess(two_causes(), [gauge(2.3)] * count)
    single = assess(two_causes(), [gauge(2.3, 0.5 / math.sqrt(count))])
    odds = [p.chance(("leak",)) / p.none_chance for p in (repeated, single)]
    assert odds[0] == pytest.approx(odds[1], rel=1e-8)


def test_ten_repeats_do_not_move_chances_past_the_instruments_floor() -> None:
    def log_odds(posterior: Posterior) -> float:
        return math.log(posterior.chance(("leak",)) / posterior.none_chance)

    once = log_odds(assess(two_causes(), [gauge(2.3)]))
    ten = log_odds(assess(two_causes(), [gauge(2.3)] * 10))
    floor = log_odds(assess(two_causes(), [gauge(2.3, 1e-6)]))
    independent = log_odds(
        assess(two_causes(), [replace(gauge(2.3), instrument_id=f"gauge{k}") for k in range(10)])
    )
    assert once < ten < floor < independent
    assert floor < 2.0 * once


def test_a_lie_is_shared_by_the_readings_of_one_instrument() -> None:
    """Two readings of one thermometer, both 15 K off, must cost one lie and not two."""
    cells = [Cell(NONE, (), (), (0.0, 0.0, 0.0)), Cell(("leak",), (None,), (0.0,), (9.0, -9.0, 9.0))]
    sensitivity = CardSensitivity(((0.3,),) * 3, ((),) * 3, (0.3,) * 3)
    problem = Problem(("x", "y", "z"), {NONE: 0.5, ("leak",): 0.5}, tuple(cells), sensitivity)

    def readings(second: str) -> list[Observation]:
        named = (("x", 15.0, "one"), ("y", 15.0, second), ("z", 0.0, "third"))
        return [Observation(place, value, 0.5, name, 0.2, 0.02, 10.0) for place, value, name in named]

    shared = assess(problem, readings("one"))
    apart = assess(problem, readings("two"))
    assert dict(shared.lying)["one"] > 0.95
    assert shared.none_chance > 0.9
    assert dict(apart.lying)["two"] > 0.95
    assert shared.log_evidence > apart.log_evidence + 3.0


# -- not listed --------------------------------------------------------------------------------------


def not_listed_density(value: float) -> float:
    cells = [
        Cell(NONE, (), (), (0.0,)),
        Cell(("dirty",), (0.5,), (0.5,), (6.0,), ((3.0,),), sigma_scale=1.5),
    ]
    problem = one_place(cells, {NONE: 0.3, ("dirty",): 0.7}, not_listed=0.05)
    posterior = assess(problem, [gauge(value)])
    return posterior.not_listed_chance * math.exp(posterior.log_evidence) / 0.05


def test_not_listed_is_a_normalised_density_with_nine_times_the_variance() -> None:
    """Outside: quad for the normalisation; variance by hand: 9 times the listed variance inside each
    cell (and a lie of 8 with chance 0.03, scaled with the cell), plus the spread of the two means."""
    total, mean, second = (
        quad(
            lambda v, p=power: v**p * not_listed_density(v),
            -120.0,
            120.0,
            points=[-10.0, 0.0, 6.0, 15.0],
            limit=300,
        )[0]
        for power in (0, 1, 2)
    )
    assert total == pytest.approx(1.0, abs=1e-6)
    assert mean == pytest.approx(0.7 * 6.0, abs=1e-5)
    own = 0.5**2 + 0.3**2 + 0.6**2 + 0.5**2
    inside = 0.3 * 9.0 * own + 0.7 * 9.0 * (1.5**2 * own + 3.0**2)
    lies = 0.03 * 8.0**2 * (0.3 + 0.7 * 1.5**2)
    assert second - mean**2 == pytest.approx(inside + lies + 0.3 * 0.7 * 6.0**2, rel=1e-4)


def test_what_nothing_listed_explains_is_not_normalised_away() -> None:
    """job.md 4.5 point 4: three good instruments that agree on something no fault predicts."""
    rng = np.random.default_rng(3)
    problem = random_problem(rng, own=False)
    units = (1.0, 1e4, 2.0, 0.1, 5e4, 1.0)
    readings = [
        Observation(place, sign * 20.0 * unit, 0.4 * unit, f"i{k}", 0.2 * unit, 0.001, 9.0 * unit)
        for k, (place, unit, sign) in enumerate(
            zip(problem.places, units, (1, -1, 1, -1, 1, -1), strict=True)
        )
    ]
    assert assess(problem, readings).not_listed_chance > 0.9
    assert assess(problem, []).not_listed_chance < 0.05


# -- discrete evidence -------------------------------------------------------------------------------

SIGNS = {
    # Evaporating, superheat, condensing, subcooling, discharge, condenser air rise, coil air drop.
    "leak": "-+--+--",
    "valve": "+------",
    "restriction": "-+-++--",
    "condenser": "+-+-++-",
    "evaporator": "------+",
}
EQUAL = dict.fromkeys(SIGNS, 0.2)
SKEWED = {"leak": 0.60, "restriction": 0.05, "condenser": 0.20, "evaporator": 0.10, "valve": 0.05}


def sign_posterior(priors: Mapping[str, float], pattern: str) -> Posterior:
    keys = {(fault,): prior for fault, prior in priors.items()}
    terms = []
    for place, sign in enumerate(pattern):
        given = {f: (0.9, 0.1) if signs[place] == "+" else (0.1, 0.9) for f, signs in SIGNS.items()}
        table = Table(f"sign{place}", ("+", "-"), "-", (0.5, 0.5), given, 0.0)
        terms.append(table.term(sign, keys))
    return assess(discrete_problem(keys), terms=terms)


@pytest.mark.parametrize(
    ("priors", "pattern", "expected"),
    [
        (EQUAL, "restriction", {"restriction": 0.89974, "leak": 0.09997}),
        (EQUAL, "leak", {"leak": 0.89766, "restriction": 0.09974}),
        (SKEWED, "restriction", {"leak": 0.5713, "restriction": 0.4285}),
    ],
)
def test_published_sign_table(
    priors: Mapping[str, float], pattern: str, expected: Mapping[str, float]
) -> None:
    """Outside: table 1-1 of Li and Braun, Fault Detection and Diagnostics for Rooftop Air Conditioners,
    with each sign right with chance 0.9; posteriors as in the brief of the job, section 3.1."""
    posterior = sign_posterior(priors, SIGNS[pattern])
    digits = 4 if priors is SKEWED else 5
    for fault, chance in expected.items():
        assert round(posterior.chance((fault,)), digits) == chance


def polybox(**measured: int) -> Posterior:
    """The circuit of de Kleer and Williams: every set of failed parts consistent with what was measured."""
    parts = ("A1", "A2", "M1", "M2", "M3")
    keys = [key for size in range(6) for key in itertools.combinations(parts, size)]
    priors = {key: 0.01 ** len(key) * 0.99 ** (5 - len(key)) for key in keys}
    logs = {key: log_consistent(key, measured) for key in keys}
    return assess(discrete_problem(priors), terms=[DiscreteTerm("outputs", logs, 0.0)])


def log_consistent(failed: HypothesisKey, measured: Mapping[str, int]) -> float:
    """Log chance of F = 10, G = 12 (1 if the failed parts allow it) and then of the measured X: 1 or 0
    where the candidate predicts X, one value in 16 where it does not (inputs 3, 2, 2, 3, 3)."""
    span = range(-10, 31)
    choices = [span if part in failed else (6,) for part in ("M1", "M2", "M3")]
    allowed = {
        x
        for x, y, z in itertools.product(*choices)
        if ("A1" in failed or x + y == 10) and ("A2" in failed or y + z == 12)
    }
    if not allowed or ("X" in measured and measured["X"] not in allowed):
        return -math.inf
    return -math.log(16.0) if "X" in measured and len(allowed) > 1 else 0.0


def test_polybox_posteriors() -> None:
    """Outside: de Kleer and Williams, Artificial Intelligence 32 (1987); numbers by enumeration as in
    the brief of the job, section 4.2."""
    posterior = polybox()
    assert round(posterior.chance(("M1",)), 6) == 0.478026
    assert round(posterior.chance(("A1",)), 6) == 0.478026
    assert round(posterior.chance(("M2", "M3")), 6) == 0.004829
    marginals = {suspect.fault: round(suspect.chance, 6) for suspect in posterior.suspects}
    assert marginals == {"M1": 0.497635, "A1": 0.497635, "M2": 0.019609, "M3": 0.014780, "A2": 0.014780}
    assert [suspect.fault for suspect in posterior.suspects][:2] == ["A1", "M1"]
    assert round(polybox(X=4).chance(("M1",)), 5) == 0.96987
    assert round(polybox(X=6).chance(("A1",)), 5) == 0.95095


@given(st.floats(0.0, 0.4), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_two_faults_combine_as_a_noisy_or(leak: float, one: float, other: float) -> None:
    """Outside: enumeration of the hidden causes of a leaky noisy or (Pearl, 1988, section 4.3.2)."""
    abnormal = 0.0
    for hidden in itertools.product((False, True), repeat=3):
        chances = zip(hidden, (leak, one, other), strict=True)
        weight = math.prod(chance if present else 1.0 - chance for present, chance in chances)
        abnormal += weight if any(hidden) else 0.0

    def row(cause: float) -> tuple[float, float]:
        fails = (1.0 - leak) * (1.0 - cause)
        return fails, 1.0 - fails

    table = Table("frost", ("no", "yes"), "no", (1.0 - leak, leak), {"a": row(one), "b": row(other)}, 0.0)
    assert table.chances(("a", "b"))[1] == pytest.approx(abnormal, abs=1e-12)
    assert table.chances(("a", "untouched")) == pytest.approx(row(one), abs=1e-12)
    assert table.chances(NONE) == pytest.approx((1.0 - leak, leak), abs=1e-12)


FROST = Table(
    "frost",
    ("none", "first passes", "even"),
    "none",
    (0.8, 0.1, 0.1),
    {"leak": (0.25, 0.7, 0.05), "defrost": (0.1, 0.05, 0.85)},
    0.02,
)


def test_each_of_two_faults_keeps_its_own_sign() -> None:
    chances = FROST.chances(("defrost", "leak"))
    assert math.fsum(chances) == pytest.approx(1.0, abs=1e-12)
    assert chances[0] < min(FROST.chances(("leak",))[0], FROST.chances(("defrost",))[0])
    assert chances[1] > 0.25
    assert chances[2] > 0.4
    assert FROST.chances(("fan", "leak")) == FROST.chances(("leak",))


def test_an_error_floor_keeps_one_sighting_from_ruling_anything_out() -> None:
    never = replace(FROST, given={"leak": (1.0, 0.0, 0.0)})
    keys = {NONE: 0.5, ("leak",): 0.5}
    posterior = assess(discrete_problem(keys), terms=[never.term("even", keys)])
    # By hand: 0.02 / 3 against 0.98 * 0.1 + 0.02 / 3.
    assert posterior.chance(("leak",)) == pytest.approx((0.02 / 3) / (0.098 + 0.04 / 3), rel=1e-9)


def test_brute_force_over_several_tables_with_not_listed() -> None:
    """Outside: products of chances written out, *not listed* as the flattened mixture it is said to be."""
    keys = {NONE: 0.1, ("leak",): 0.5, ("defrost",): 0.3, ("defrost", "leak"): 0.1}
    glass = Table("glass", ("clear", "bubbles"), "clear", (0.95, 0.05), {"leak": (0.2, 0.8)}, 0.05)
    terms = [FROST.term("first passes", keys), glass.term("bubbles", keys)]
    weights: dict[HypothesisKey, float] = {
        key: 0.97 * prior * FROST.chances(key)[1] * glass.chances(key)[1] for key, prior in keys.items()
    }
    unlisted = 0.03
    for table, place in ((FROST, 1), (glass, 1)):
        powers = {key: np.array(table.chances(key)) ** (1 / 9) for key in keys}
        unlisted *= sum(prior * powers[key][place] / powers[key].sum() for key, prior in keys.items())
    weights[NOT_LISTED] = unlisted
    total = sum(weights.values())
    posterior = assess(discrete_problem(keys, 0.03), terms=terms)
    assert dict(posterior.hypotheses) == pytest.approx({k: v / total for k, v in weights.items()}, abs=1e-12)


REPAIR = RepairChances(works=0.9, fades=0.05, enough=0.3)


@pytest.mark.parametrize("outcome", ["fixed", "symptom_stays"])
def test_repair_outcomes_by_enumeration(outcome: str) -> None:
    """Outside: the tree of (repair works, enough, symptom fades by itself) written out."""
    for key, contains, alone in (
        (("fan",), True, True),
        (("fan", "leak"), True, False),
        (("leak",), False, False),
        (NONE, False, False),
    ):
        fixed = 0.0
        for works, enough, fades in itertools.product((True, False), repeat=3):
            weight = (0.9 if works else 0.1) * (0.3 if enough else 0.7) * (0.05 if fades else 0.95)
            gone = fades or (contains and works and (alone or enough))
            fixed += weight if gone else 0.0
        term = repair_term("fan", outcome, [key], REPAIR)
        wanted = fixed if outcome == "fixed" else 1.0 - fixed
        assert term.logs[key] == pytest.approx(math.log(wanted), abs=1e-12)


def test_a_repair_that_changes_nothing_counts_against_its_fault() -> None:
    """job.md 4.5 point 5."""
    keys = {NONE: 0.05, ("fan",): 0.6, ("leak",): 0.25, ("fan", "leak"): 0.1}
    problem = discrete_problem(keys, 0.03)
    stays = assess(problem, terms=[repair_term("fan", "symptom_stays", keys, REPAIR)])
    fixed = assess(problem, terms=[repair_term("fan", "fixed", keys, REPAIR)])
    assert stays.chance(("fan",)) < 0.2 < 0.6 < fixed.chance(("fan",))
    assert stays.chance(("leak",)) > 0.5
    assert stays.not_listed_chance > 0.05
    with pytest.raises(UnknownNameError):
        repair_term("fan", "unknown", keys, REPAIR)


# -- order, and what is refused ----------------------------------------------------------------------


def test_ties_are_ordered_by_id() -> None:
    chances = {"d": 0.3, "c": 0.3 + 4e-7, "b": 0.1, "a": 0.3 - 4e-7}
    assert [name for name, _ in ranked(chances)] == ["a", "c", "d", "b"]
    assert [name for name, _ in ranked({"b": 0.5 + 1e-5, "a": 0.5})] == ["b", "a"]


def test_impossible_evidence_is_refused() -> None:
    term = DiscreteTerm("never", {NONE: -math.inf, ("leak",): -math.inf}, -math.inf)
    with pytest.raises(InputError, match="evidence"):
        assess(discrete_problem({NONE: 0.5, ("leak",): 0.5}, 0.03), terms=[term])


def test_missing_likelihood_is_refused() -> None:
    with pytest.raises(InputError, match="every listed hypothesis"):
        assess(discrete_problem({NONE: 0.5, ("leak",): 0.5}), terms=[DiscreteTerm("x", {NONE: 0.0}, 0.0)])


def test_everything_wrong_with_a_problem_is_said_at_once() -> None:
    cells = (
        Cell(NONE, (), (), (0.0, math.nan)),
        Cell(("leak",), (0.5,), (), (0.0, 0.0), ((1.0,),), sigma_scale=0.0, sightings=(0.0,)),
        Cell(("z", "a"), (None, None), (0.0, 0.0), (0.0, 0.0)),
    )
    problem = Problem(
        ("x", "x"),
        {NONE: -0.1, ("z", "a"): 0.5, ("unpredicted",): 0.1},
        cells,
        CardSensitivity(((),), (), ()),
        not_listed_prior=0.9,
        cell_sightings=(),
    )
    with pytest.raises(InputErrors) as caught:
        start(problem)
    text = str(caught.value)
    for field in (
        "places",
        "priors",
        "not_listed_prior",
        "sensitivity",
        "mean",
        "half_widths",
        "slopes",
        "sigma_scale",
        "sightings",
        "sorted tuple",
    ):
        assert field in text


def test_impossible_readings_are_refused() -> None:
    with pytest.raises(InputErrors) as caught:
        Observation("head", math.nan, 0.0, "gauge", bias_sigma=-1.0, lie_chance=0.6, lie_sigma=math.inf)
    assert len(caught.value.problems) == 5
    belief = start(two_causes())
    with pytest.raises(UnknownNameError):
        belief.with_reading(Observation("heat", 1.0, 0.5, "gauge"))
    with pytest.raises(InputError, match="one chance of lying"):
        belief.with_reading(gauge(1.0)).with_reading(replace(gauge(1.0), lie_chance=0.1))


def test_cell_sightings_follow_severity() -> None:
    """Outside: by hand. Bubbles are certain in the severe cell, rare in the mild one."""
    cells = (
        Cell(NONE, (), (), (), sightings=(math.log(0.05),)),
        Cell(("leak",), (0.1,), (0.1,), (), ((),), sightings=(math.log(0.1),)),
        Cell(("leak",), (0.3,), (0.1,), (), ((),), sightings=(math.log(0.9),)),
    )
    problem = Problem(
        (), {NONE: 0.5, ("leak",): 0.5}, cells, NOTHING_UNSURE, 0.0, (CellSighting("glass", math.log(0.5)),)
    )
    posterior = assess(problem)
    assert posterior.chance(("leak",)) == pytest.approx(0.25 / (0.25 + 0.025), rel=1e-12)
    severity = posterior.suspects[0].severity
    assert severity is not None
    assert severity.mean == pytest.approx(0.1 * 0.1 + 0.9 * 0.3, rel=1e-9)


def test_a_table_that_is_no_table_is_refused() -> None:
    with pytest.raises(InputErrors) as caught:
        Table("frost", ("no", "yes"), "maybe", (0.5, 0.6), {"leak": (1.0,)}, 0.7)
    assert len(caught.value.problems) == 4
    with pytest.raises(UnknownNameError):
        FROST.term("odd", {NONE: 1.0})
