"""The belief worked out again by enumeration, with SciPy's multivariate normal and no shortcuts."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from scipy.special import logsumexp
from scipy.stats import multivariate_normal

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
)


def shared_covariance(problem: Problem, cell: Cell, readings: Sequence[Observation]) -> np.ndarray:
    """Noise, bias, card and discrepancy, before scale and slopes."""
    given = problem.own_sensitivity.get(cell.hypothesis, problem.sensitivity)
    at = [problem.places.index(reading.place) for reading in readings]
    size = len(problem.places)
    effects = np.hstack([np.array(given.card).reshape(size, -1), np.array(given.factors).reshape(size, -1)])
    places = effects @ effects.T + np.diag(np.square(given.diagonal))
    total = places[np.ix_(at, at)] + np.diag([reading.sigma**2 for reading in readings])
    for i, one in enumerate(readings):
        for j, other in enumerate(readings):
            if one.instrument_id == other.instrument_id:
                total[i, j] += one.bias_sigma * other.bias_sigma
    return total


def lie_direction(readings: Sequence[Observation], instrument: str) -> np.ndarray:
    return np.array(
        [reading.lie_sigma if reading.instrument_id == instrument else 0.0 for reading in readings]
    )


def configurations(readings: Sequence[Observation], most: int) -> list[tuple[tuple[str, ...], float]]:
    """Every set of at most ``most`` lying instruments with its chance, truncated and normalised."""
    chances = {reading.instrument_id: reading.lie_chance for reading in readings}
    found = []
    for count in range(most + 1):
        for lying in itertools.combinations(chances, count):
            weight = math.prod(p if name in lying else 1.0 - p for name, p in chances.items())
            found.append((lying, weight))
    total = sum(weight for _, weight in found)
    return [(lying, weight / total) for lying, weight in found if weight > 0.0]


def log_density(residual: np.ndarray, covariance: np.ndarray) -> float:
    """SciPy's log density, in units of each reading's own sigma (pascals beside kelvins look singular)."""
    if not len(residual):
        return 0.0
    scale = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(scale, scale)
    density = multivariate_normal.logpdf(residual / scale, np.zeros(len(scale)), correlation)
    return float(density) - float(np.sum(np.log(scale)))


def cell_log_joint(
    problem: Problem, cell: Cell, readings: Sequence[Observation], widening: float, most: int
) -> dict[tuple[str, ...], float]:
    """Log density of the readings and of who lies, given the cell."""
    at = [problem.places.index(reading.place) for reading in readings]
    values = np.array([reading.value for reading in readings])
    common = shared_covariance(problem, cell, readings) * cell.sigma_scale**2
    for slope in cell.slopes:
        direction = np.array(slope)[at]
        common = common + np.outer(direction, direction)
    logs = {}
    for lying, chance in configurations(readings, most):
        covariance = common * widening
        for instrument in lying:
            direction = lie_direction(readings, instrument) * cell.sigma_scale
            covariance = covariance + np.outer(direction, direction)
        mean = np.array(cell.mean)[at]
        logs[lying] = log_density(values - mean, covariance) + math.log(chance)
    return logs


def cell_log_priors(problem: Problem) -> list[float]:
    total = sum(problem.priors.values())
    logs = []
    for cell in problem.cells:
        same = [other.log_weight for other in problem.cells if other.hypothesis == cell.hypothesis]
        prior = problem.priors[cell.hypothesis] / total
        logs.append(math.log(prior) + cell.log_weight - float(logsumexp(same)))
    return logs


def enumerate_everything(
    problem: Problem, readings: Sequence[Observation], terms: Sequence[DiscreteTerm] = ()
) -> tuple[dict[HypothesisKey, float], dict[str, float], float]:
    """Chances of the hypotheses, chances that each instrument lies, log evidence."""
    listed = math.log(1.0 - problem.not_listed_prior)
    joint: list[tuple[HypothesisKey, tuple[str, ...], float]] = []
    for cell, prior in zip(problem.cells, cell_log_priors(problem), strict=True):
        discrete = sum(cell.sightings) + sum(term.logs[cell.hypothesis] for term in terms)
        for lying, log in cell_log_joint(problem, cell, readings, 1.0, 2).items():
            joint.append((cell.hypothesis, lying, log + prior + discrete + listed))
        if problem.not_listed_prior > 0.0:
            discrete = sum(item.not_listed for item in problem.cell_sightings)
            discrete += sum(term.not_listed for term in terms) + math.log(problem.not_listed_prior)
            for lying, log in cell_log_joint(problem, cell, readings, 9.0, 1).items():
                joint.append((NOT_LISTED, lying, log + prior + discrete))
    evidence = float(logsumexp([log for _, _, log in joint]))
    chances: dict[HypothesisKey, float] = {}
    lies: dict[str, float] = {reading.instrument_id: 0.0 for reading in readings}
    for key, lying, log in joint:
        chance = math.exp(log - evidence)
        chances[key] = chances.get(key, 0.0) + chance
        for instrument in lying:
            lies[instrument] += chance
    return chances, lies, evidence


def random_problem(rng: np.random.Generator, *, own: bool = True) -> Problem:
    """A few faults, alone and in pairs, with strongly correlated uncertainty and mixed units."""
    places = tuple(f"place{i}" for i in range(6))
    units = np.array([1.0, 1e4, 2.0, 0.1, 5e4, 1.0])
    effects = {fault: rng.normal(scale=4.0, size=6) * units for fault in ("a", "b", "c")}
    priors = {NONE: 0.2, ("a",): 0.3, ("b",): 0.2, ("c",): 0.2, ("a", "b"): 0.06, ("b", "c"): 0.04}
    cells = [Cell(NONE, (), (), (0.0,) * 6, sightings=(-0.7,))]
    for key in list(priors)[1:]:
        for middles in itertools.product((0.25, 0.75), repeat=len(key)):
            mean = sum((m * effects[fault] for m, fault in zip(middles, key, strict=True)), start=np.zeros(6))
            slopes = [tuple(0.25 * effects[fault]) for fault in key]
            if key == ("c",):  # a place that this fault leaves unpredictable
                slopes.append((0.0, 0.0, 9.0, 0.0, 0.0, 0.0))
            cells.append(
                Cell(
                    key,
                    middles,
                    (0.25,) * len(key),
                    tuple(mean),
                    tuple(slopes),
                    log_weight=float(rng.normal(scale=0.3)),
                    sigma_scale=1.0 if "a" in key else 1.4,
                    sightings=(float(np.log(rng.uniform(0.1, 0.9))),),
                )
            )

    def sensitivity() -> CardSensitivity:
        card = rng.normal(scale=0.8, size=(6, 3)) * units[:, None]
        factors = rng.normal(scale=0.3, size=(6, 1)) * units[:, None]
        return CardSensitivity(tuple(map(tuple, card)), tuple(map(tuple, factors)), tuple(0.3 * units))

    return Problem(
        places,
        priors,
        tuple(cells),
        sensitivity(),
        not_listed_prior=0.04,
        cell_sightings=(CellSighting("glass", math.log(0.5)),),
        own_sensitivity={("b", "c"): sensitivity()} if own else {},
    )


def random_readings(
    rng: np.random.Generator, problem: Problem, *, liars: Sequence[str] = (), count: int = 8
) -> list[Observation]:
    """Readings of a random cell, instruments shared between readings, places read twice."""
    truth = problem.cells[int(rng.integers(len(problem.cells)))]
    units = [1.0, 1e4, 2.0, 0.1, 5e4, 1.0]
    readings = []
    for index in range(count):
        at = index % len(problem.places)
        instrument = f"i{index % 5}"
        unit = units[at]
        off = 12.0 if instrument in liars else 0.0
        value = truth.mean[at] + unit * (float(rng.normal(scale=1.0)) + off)
        readings.append(
            Observation(
                problem.places[at],
                value,
                0.4 * unit,
                instrument,
                0.3 * unit,
                0.03 + 0.01 * (index % 5),
                9.0 * unit,
            )
        )
    return readings
