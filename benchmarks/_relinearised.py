"""A remedy for what the truth gate finds: the machine linearised where the readings put it, severities finer.

The engine takes every machine as linear in the card's facts, with the slopes of the healthy one. Here
each hypothesis is cut into pieces of its catalogue severities, and the pieces near the best are taken
where their own posterior lies: solved there, and where the linear machine misses by more than a set
share of the readings' noise, its slopes are found there too. It costs solves and is measured, not used.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from holdcold.cycle import OperatingPoint
from holdcold.diagnosis.case import HypothesisKey
from holdcold.diagnosis.cells import GridCell, Step
from holdcold.diagnosis.problem import SightingLikelihoods
from support.drawn_machines import Array
from support.importance import Axes, Sampler

WITHIN = 5.0
"""Pieces this close to the best are looked at again [nats]."""

MISS = 0.5
"""Miss of the linear machine at the posterior that calls for slopes of its own [sigmas of the readings]."""

STEPS = 3


@dataclass(frozen=True)
class Piece:
    """A hypothesis at one combination of severities, with the machine linear in them.

    severities, halves: in the order of the axes. mean: readings. slopes: one column a severity, for one
    standard deviation of an even spread. log_prior: log of prior and sightings.
    """

    key: HypothesisKey
    axes: Axes
    severities: Array
    mean: Array
    slopes: Array
    log_prior: float


class Remedy:
    """Weighs the hypotheses of a sampler on finer pieces, linearised where it matters.

    solves: how many machines were solved, the pieces' own not counted (they belong to the tables).
    """

    def __init__(self, sampler: Sampler, pieces: int) -> None:
        self.sampler = sampler
        self.solves = 0
        self._likelihoods = SightingLikelihoods(sampler.case)
        self._usual = np.array([sampler.usual[place] for place in sampler.places])
        self._zero = np.zeros(sampler.width)
        noise = sampler.configurations[0][1]
        self._whiten = np.linalg.cholesky(np.linalg.inv(noise)).T
        self.pieces = [
            piece for key in sampler.keys for piece in self._cut(key, pieces if len(key) < 2 else 1)
        ]

    def _read(self, point: OperatingPoint | None) -> Array | None:
        if point is None:
            return None
        return np.array(
            [
                point.readings.get(place, usual)
                for place, usual in zip(self.sampler.places, self._usual, strict=True)
            ]
        )

    def _cut(self, key: HypothesisKey, pieces: int) -> list[Piece]:
        """Return a hypothesis cut into pieces of its catalogue severities."""
        names, axes = self.sampler.faults_of(key), self.sampler.axes_of(key)
        ladders = [self._intervals(name, pieces) for name in names]
        prior = math.log(self.sampler.case.hypotheses.priors[key] * self.sampler.present_share(key))
        found = []
        for chosen in product(*ladders):
            middles = np.array([0.5 * (low + high) for low, high, _ in chosen])
            point = self.sampler.machine(axes, self._zero, middles)
            mean = self._read(point)
            if point is None or mean is None:
                continue
            spread = np.array([(high - low) / math.sqrt(12.0) for low, high, _ in chosen])
            slopes = self._slopes(axes, middles, spread, mean)
            share = math.fsum(math.log(part) for _, _, part in chosen)
            seen = math.fsum(self._likelihoods.of(self._as_cell(key, names, middles, point)))
            found.append(Piece(key, axes, middles, mean, slopes, prior + share + seen))
        return found

    def _intervals(self, name: str, pieces: int) -> list[tuple[float, float, float]]:
        """Return (lowest, highest, share) of every piece of one fault's severities."""
        prior = self.sampler.priors[name]
        count = 1 if self.sampler.case.hypotheses.faults[name].per else pieces
        return [
            (low + (high - low) * k / count, low + (high - low) * (k + 1) / count, share / count)
            for (low, high), share in zip(prior.intervals, prior.shares, strict=True)
            for k in range(count)
        ]

    def _slopes(self, axes: Axes, middles: Array, spread: Array, mean: Array) -> Array:
        columns = []
        for k, sigma in enumerate(spread):
            step = np.zeros(len(middles))
            step[k] = sigma
            up = self._read(self.sampler.machine(axes, self._zero, middles + step))
            down = self._read(self.sampler.machine(axes, self._zero, middles - step))
            columns.append(np.zeros(len(mean)) if up is None or down is None else 0.5 * (up - down))
        return np.array(columns).reshape(len(columns), len(mean)).T

    def _as_cell(
        self, key: HypothesisKey, names: Sequence[str], middles: Array, point: OperatingPoint
    ) -> GridCell:
        known = self.sampler.case.hypotheses.faults
        severity = dict(zip(names, map(float, middles), strict=True))
        steps = tuple(Step(severity[name], 0.0, 1.0, known[name].level(severity[name])) for name in key)
        share = self.sampler.case.predictor.cooling_at_set_w / self.sampler.usual["capacity_w"]
        cooling_w = point.readings["capacity_w"] * share
        return GridCell(key, steps, point.readings, (), point.state != "no_steady_point", cooling_w, 0.0)

    def _evidence(self, mean: Array, matrix: Array) -> tuple[float, Array]:
        """Return log evidence, and the mean of parameters and severities under the likeliest liars."""
        off, logs, best = self.sampler.values - mean, [], (-math.inf, np.zeros(matrix.shape[1]))
        for log_odds, noise in self.sampler.configurations:
            whole = noise + matrix @ matrix.T
            solved = np.linalg.solve(whole, off)
            logs.append(log_odds - 0.5 * off @ solved - 0.5 * np.linalg.slogdet(whole)[1])
            best = max(best, (float(logs[-1]), matrix.T @ solved), key=lambda found: found[0])
        return float(np.logaddexp.reduce(logs)), best[1]

    def chances(self, within: float = WITHIN, miss: float = MISS) -> dict[HypothesisKey, float]:
        """Return the chances; ``within`` 0 leaves every piece linear with the healthy machine's slopes."""
        plain = self.sampler.jacobian
        logs = [
            piece.log_prior + self._evidence(piece.mean, np.hstack([plain, piece.slopes]))[0]
            for piece in self.pieces
        ]
        best = max(logs)
        for number, piece in enumerate(self.pieces):
            if logs[number] > best - within:
                logs[number] = piece.log_prior + self._settled(piece, miss)
        total: dict[HypothesisKey, list[float]] = {key: [-math.inf] for key in self.sampler.keys}
        for piece, value in zip(self.pieces, logs, strict=True):
            total[piece.key].append(value)
        evidence = {key: float(np.logaddexp.reduce(values)) for key, values in total.items()}
        top = max(evidence.values())
        return {key: math.exp(value - top) for key, value in evidence.items()}

    def _settled(self, piece: Piece, miss: float) -> float:
        """Return the log evidence of a piece, linear where its posterior lies."""
        card, mean = self.sampler.jacobian, piece.mean
        for _ in range(STEPS):
            _, where = self._evidence(mean, np.hstack([card, piece.slopes]))
            z = where[: self.sampler.width]
            here = self._at(piece, z)
            if here is None or np.linalg.norm(self._whiten @ (here - mean - card @ z)) < miss:
                break
            card = self._card(piece, z, card)
            mean = here - card @ z
        return self._evidence(mean, np.hstack([card, piece.slopes]))[0]

    def _at(self, piece: Piece, z: Array) -> Array | None:
        self.solves += 1
        return self._read(self.sampler.machine(piece.axes, z, piece.severities))

    def _card(self, piece: Piece, z: Array, before: Array) -> Array:
        """Return what one standard deviation of each parameter does round ``z``."""
        columns = []
        for k in range(len(z)):
            step = np.zeros(len(z))
            step[k] = 1.0
            up, down = self._at(piece, z + step), self._at(piece, z - step)
            columns.append(before[:, k] if up is None or down is None else 0.5 * (up - down))
        return np.array(columns).T
