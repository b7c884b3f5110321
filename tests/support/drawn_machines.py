"""What importance sampling keeps: drawn machines with their weights, estimates, and their comparison.

Method: see ``support.importance``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holdcold.cycle import OperatingPoint
from holdcold.diagnosis.case import HypothesisKey

Array = NDArray[np.float64]

_REDRAWN = 4000


@dataclass(frozen=True)
class Component:
    """One normal that samples are drawn from: parameters, and severities in units of their interval.

    middles, halves: of the severities' interval. mean, factor: of the normal; factor is lower triangular.
    """

    share: float
    middles: Array
    halves: Array
    mean: Array
    factor: Array

    def log_density(self, z: Array, severities: Array) -> Array:
        """Return the log density at each row of parameters ``z`` and ``severities``."""
        x = np.hstack([z, (severities - self.middles) / self.halves]) - self.mean
        white = np.linalg.solve(self.factor, x.T)
        norm = np.log(np.diag(self.factor)).sum() + np.log(self.halves).sum()
        log_density: Array = -0.5 * (white**2).sum(axis=0) - norm - 0.5 * x.shape[1] * math.log(2.0 * math.pi)
        return log_density


@dataclass(frozen=True)
class Drawing:
    """Machines drawn at once: where, and what each did (None: no such machine can be built)."""

    z: Array
    severities: Array
    points: Sequence[OperatingPoint | None]


class Pool:
    """Machines drawn with the same axes pushed, from all mixtures so far.

    z: facts and surroundings, in standard deviations. severities: one column an axis. readings: at the
    places of the call. hidden: readings that sightings follow from. possible: whether there is such a
    machine. log_q: log density under everything the machines were drawn from, together.
    """

    def __init__(self, width: int, faults: int, places: Sequence[str], hidden: Sequence[str]) -> None:
        self.places = places
        self.z = np.empty((0, width))
        self.severities = np.empty((0, faults))
        self.readings = np.empty((0, len(places)))
        self.hidden = {name: np.empty(0) for name in hidden}
        self.steady = np.empty(0, bool)
        self.capacity_w = np.empty(0)
        self.possible = np.empty(0, bool)
        self.regime = np.empty(0, object)
        self.log_q = np.empty(0)
        self._log_sum = np.empty(0)
        self._used: list[Component] = []

    @property
    def whole(self) -> NDArray[np.bool_]:
        """Whether every place of the call has a reading, machine by machine."""
        found: NDArray[np.bool_] = self.possible & ~np.isnan(self.readings).any(axis=1)
        return found

    def add(self, drawn: Drawing, mixture: Sequence[Component]) -> None:
        """Take in more machines and what they were drawn from."""
        told = [{} if point is None else point.readings for point in drawn.points]
        rows = np.array([[readings.get(place, math.nan) for place in self.places] for readings in told])
        self.z = np.vstack([self.z, drawn.z])
        self.severities = np.vstack([self.severities, drawn.severities])
        self.readings = np.vstack([self.readings, rows.reshape(len(told), len(self.places))])
        for name, column in self.hidden.items():
            self.hidden[name] = np.append(column, [readings.get(name, math.nan) for readings in told])
        self.steady = np.append(
            self.steady, [point is not None and point.state != "no_steady_point" for point in drawn.points]
        )
        self.capacity_w = np.append(self.capacity_w, [readings.get("capacity_w", 0.0) for readings in told])
        self.possible = np.append(self.possible, [point is not None for point in drawn.points])
        regimes = ["" if point is None else f"{point.regime} {point.state}" for point in drawn.points]
        self.regime = np.append(self.regime, np.array(regimes, object))
        self._weigh(drawn, shared_out(mixture, float(len(told))))

    def _weigh(self, drawn: Drawing, used: list[Component]) -> None:
        fresh = np.full(len(drawn.z), -np.inf)
        for one in self._used:
            fresh = np.logaddexp(fresh, math.log(one.share) + one.log_density(drawn.z, drawn.severities))
        sums = np.append(self._log_sum, fresh)
        for one in used:
            sums = np.logaddexp(sums, math.log(one.share) + one.log_density(self.z, self.severities))
        self._used += used
        self._log_sum = sums
        self.log_q = sums - math.log(len(self.z))


@dataclass(frozen=True)
class Estimate:
    """Evidence of one hypothesis: its log, relative standard error, effective samples, samples."""

    log_evidence: float
    error: float
    effective: float
    count: int


def shared_out(components: Sequence[Component], whole: float) -> list[Component]:
    """Return components with shares scaled so that they sum to ``whole``."""
    total = math.fsum(one.share for one in components)
    return [replace(one, share=whole * one.share / total) for one in components]


def tempered(logs: Array, least: float) -> Array:
    """Return weights from logs, flattened until at least ``least`` of them count (effective number)."""
    power = 1.0
    while True:
        weights = np.exp(power * (logs - logs.max()))
        weights /= weights.sum()
        if 1.0 / (weights**2).sum() >= min(least, 0.5 * len(logs)) or power < 0.01:
            found: Array = weights
            return found
        power *= 0.7


@dataclass(frozen=True)
class Comparison:
    """Chances of the same hypotheses by the engine and by sampling.

    keys: likeliest first by sampling. engine, sampled: chances, each sums to 1. errors: standard error of
    each sampled chance. effective: effective samples. distance, distance_error: total variation, and
    its standard error.
    """

    keys: tuple[HypothesisKey, ...]
    engine: tuple[float, ...]
    sampled: tuple[float, ...]
    errors: tuple[float, ...]
    effective: tuple[float, ...]
    distance: float
    distance_error: float


def compare(
    chances: Mapping[HypothesisKey, float], estimates: Mapping[HypothesisKey, Estimate], seed: int = 1
) -> Comparison:
    """Return how far chances lie from the sampled ones; errors by redrawing the evidence."""
    keys = sorted(estimates, key=lambda key: (-estimates[key].log_evidence, key))
    logs = np.array([estimates[key].log_evidence for key in keys])
    error = np.array([estimates[key].error for key in keys])
    sampled = np.exp(logs - logs.max())
    sampled /= sampled.sum()
    engine = np.array([chances[key] for key in keys])
    engine /= engine.sum()
    noise = np.random.default_rng(seed).standard_normal((_REDRAWN, len(keys)))
    redrawn = sampled * np.maximum(1.0 + error * noise, 1e-9)
    redrawn /= redrawn.sum(axis=1, keepdims=True)
    return Comparison(
        tuple(keys),
        tuple(map(float, engine)),
        tuple(map(float, sampled)),
        tuple(map(float, redrawn.std(axis=0))),
        tuple(estimates[key].effective for key in keys),
        float(0.5 * np.abs(sampled - engine).sum()),
        float((0.5 * np.abs(redrawn - engine).sum(axis=1)).std()),
    )
