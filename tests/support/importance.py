"""Chances of a call by importance sampling of the nonlinear machine, to judge the engine's linear ones.

What the engine approximates is done here without approximation: the facts of the card and the
surroundings are drawn and the machine is built and solved anew for every draw, severities are
continuous as the catalogue has them, and what a sighting shows follows from that draw's own readings.
What is Gaussian in the model itself (noise, bias, lies, the model's own error) is integrated exactly.

Method: adaptive multiple importance sampling with the deterministic-mixture weights (Cornuet, Marin,
Mira, Robert, Scandinavian Journal of Statistics 39(4), 2012); effective sample size: Owen, Monte Carlo
theory, methods and examples, 2013, section 9.3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from holdcold.cycle import Conditions, Faults, OperatingPoint, axes, solve
from holdcold.cycle.steady import Start
from holdcold.diagnosis.case import HypothesisKey
from holdcold.diagnosis.catalogue import Fault
from holdcold.diagnosis.cells import GridCell, Step
from holdcold.diagnosis.circumstances import circumstances
from holdcold.diagnosis.find import Finding
from holdcold.diagnosis.problem import SightingLikelihoods
from holdcold.errors import InputError, SolverError
from support.drawn_machines import Component, Drawing, Estimate, Pool, shared_out, tempered
from support.random_calls import AIR_SIGMA_K, drawn_unit, severity_prior

Array = NDArray[np.float64]
Axes = tuple[str, ...]
Normals = list[tuple[float, Array, Array]]

CUTS = {"discharge_pa": (1.0, "high_cut_pa"), "suction_pa_service_valve": (-1.0, "low_cut_pa")}
"""Readings a control watches: whether it opens above or below, and what of the design it opens at."""

_WIDEN = 1.15
"""Factor on the variance of what samples are drawn from, so that no weight runs away in the tails."""

_ROUNDS = 10
_PILOT_SHARE = 0.25
_LEAST_PILOT = 60
_LYING = 0.03
_GRID = 9
_FREE = 0.5
"""A reading that a draw does not give is free by this share of its usual value, as in the engine."""


class Sampler:
    """Draws machines for a finding and weighs hypotheses with them.

    finding: what the engine made of a call in which both air temperatures were measured.
    keys: hypotheses to compare. width: how many parameters are drawn. raised: draws whose solve raised.
    """

    def __init__(self, finding: Finding, keys: Sequence[HypothesisKey], seed: int = 1) -> None:
        case = finding.case
        situation = case.evidence.situation
        if situation.ambient_k is None or situation.box_k is None or situation.state != "running":
            raise ValueError("a running machine with both air temperatures measured is needed")
        self.finding, self.case, self.keys = finding, case, tuple(keys)
        self.rng = np.random.default_rng(seed)
        self.usual = case.predictor.healthy().readings
        self.facts = [name for name, effect in case.normal.effects.items() if effect]
        self.places = [one.place for one in case.observations]
        self.values = np.array([one.value for one in case.observations])
        sensitivity = finding.problem.sensitivity
        self.jacobian = np.array([sensitivity.card[case.places.index(place)] for place in self.places])
        self.width = self.jacobian.shape[1]
        self.configurations = self._configurations()
        listed = case.hypotheses
        self.priors = {n: severity_prior(listed.faults[n], ladder) for n, ladder in listed.ladders.items()}
        self.pools: dict[Axes, Pool] = {}
        self.raised: list[str] = []
        self._axes = axes()
        self._hidden = self._hidden_places()
        self._starts: dict[Axes, list[tuple[tuple[float, ...], Start]]] = {}

    def _configurations(self) -> list[tuple[float, Array]]:
        """Return (log prior odds, covariance of the readings) of every set of at most two liars."""
        seen, diagonal = self.case.observations, self.finding.problem.sensitivity.diagonal
        base = np.zeros((len(seen), len(seen)))
        for i, one in enumerate(seen):
            for j, other in enumerate(seen):
                if one.place == other.place:
                    base[i, j] += diagonal[self.case.places.index(one.place)] ** 2
                if one.instrument_id == other.instrument_id:
                    base[i, j] += one.bias_sigma * other.bias_sigma
            base[i, i] += one.sigma**2
        odds = {one.instrument_id: one.lie_chance / (1.0 - one.lie_chance) for one in seen}
        lies = {
            name: np.array([one.lie_sigma if one.instrument_id == name else 0.0 for one in seen])
            for name in odds
        }
        names = list(odds)
        pairs = [(one, other) for at, one in enumerate(names) for other in names[at + 1 :]]
        sets: list[tuple[str, ...]] = [(), *((name,) for name in names), *pairs]
        return [
            (
                math.fsum(math.log(odds[name]) for name in lying),
                base + sum((np.outer(lies[name], lies[name]) for name in lying), np.zeros_like(base)),
            )
            for lying in sets
        ]

    def _hidden_places(self) -> dict[str, float]:
        """Return the readings that sightings and state follow from, each with the model's own error of it."""
        found = {}
        for place in CUTS:
            if place in self.usual:
                found[place] = self.case.normal.readings[place].model_sigma
        for seen in self.case.sightings:
            sighting = self.case.catalogue.sighting(seen.id)
            rule = sighting.from_reading or sighting.turn
            if rule is not None and rule.reading in self.usual:
                found[rule.reading] = self.case.normal.readings[rule.reading].model_sigma
        return found

    def axes_of(self, key: HypothesisKey) -> Axes:
        """Return the axes a hypothesis pushes, sorted."""
        return tuple(sorted(self.case.hypotheses.faults[name].axis for name in key))

    def faults_of(self, key: HypothesisKey) -> tuple[str, ...]:
        """Return the faults of a hypothesis in the order of ``axes_of``."""
        return tuple(sorted(key, key=lambda name: self.case.hypotheses.faults[name].axis))

    def groups(self) -> list[Axes]:
        """Return the sets of axes that the hypotheses push; machines are shared inside one."""
        return sorted({self.axes_of(key) for key in self.keys})

    def pool(self, pushed: Axes) -> Pool:
        """Return the machines drawn with these axes pushed."""
        if pushed not in self.pools:
            self.pools[pushed] = Pool(self.width, len(pushed), self.places, tuple(self._hidden))
        return self.pools[pushed]

    def present_share(self, key: HypothesisKey) -> float:
        """Return the prior share of a hypothesis with every fault of it there at the moment of the visit."""
        cells = [cell for cell in self.finding.cells if cell.key == key]
        there = math.fsum(math.exp(cell.log_weight) for cell in cells if is_present(cell))
        return there / math.fsum(math.exp(cell.log_weight) for cell in cells)

    # ------------------------------------------------------------------ proposals

    def first_mixture(self, pushed: Axes) -> list[Component]:
        """Return what the first samples are drawn from: the engine's posteriors, and the prior."""
        keys = [key for key in self.keys if self.axes_of(key) == pushed]
        chances = self.finding.chances.cells
        numbers = [n for n, cell in enumerate(self.finding.cells) if cell.key in keys and is_present(cell)]
        top = max(chances[n] for n in numbers)
        components = []
        for number in numbers:
            weight = (chances[number] / top) ** 0.5 if top > 0.0 else 1.0
            if weight > 1e-2:
                components += self._posteriors(self.finding.cells[number], weight)
        return [*shared_out(components, 0.5), *shared_out(self._priors(keys), 0.5)]

    def next_mixture(self, pushed: Axes) -> list[Component]:
        """Return what further samples are drawn from: normals fitted to the machines drawn so far.

        Machines of one regime (liquid side, controls) are taken as a linear function of parameters and
        severities, fitted with the weights they have; the readings then give a normal in closed form.
        """
        pool = self.pool(pushed)
        keys = [key for key in self.keys if self.axes_of(key) == pushed]
        logs = np.logaddexp.reduce([self.log_weights(key) for key in keys])
        logs = np.where(pool.whole, logs, -np.inf)
        components: list[Component] = []
        for regime in sorted(set(pool.regime[pool.whole])):
            rows = np.flatnonzero((pool.regime == regime) & (logs > -np.inf))
            if len(rows) > 2 * (self.width + len(pushed)):
                components += self._fitted(pool, rows, logs)
        first = self.first_mixture(pushed)
        return [*shared_out(components, 0.8), *shared_out(first, 0.2)] if components else first

    def _fitted(self, pool: Pool, rows: NDArray[np.int64], logs: Array) -> list[Component]:
        """Return normals for the machines in ``rows``, from a weighted linear fit of their readings."""
        size = pool.z.shape[1] + pool.severities.shape[1]
        weights = tempered(logs[rows], 3.0 * size)
        share = float(np.exp(logs[rows] - logs.max()).sum()) + 1e-3
        scale = np.maximum(pool.severities[rows].std(axis=0), 1e-9)
        x = np.hstack([pool.z[rows], pool.severities[rows] / scale])
        middle = weights @ x
        regressors = np.hstack([np.ones((len(rows), 1)), x - middle])
        weighted = weights[:, None] * regressors
        left = regressors.T @ weighted + np.diag([0.0, *[1e-3] * size])
        fit = np.linalg.solve(left, weighted.T @ pool.readings[rows])
        miss = pool.readings[rows] - regressors @ fit
        matrix, around, precision = fit[1:].T, np.zeros(size), np.eye(size)
        for k in range(self.width, size):
            around[k] = middle[k]
            precision[k, k] = 0.25 / max(float(weights @ (x[:, k] - middle[k]) ** 2), 0.05)
        slack = np.diag(weights @ miss**2)
        normals = self.normals(matrix, self.values - fit[0] + matrix @ middle, slack, around, precision)
        none = np.zeros(size - self.width)
        return [Component(share * part, none, scale, mean, factor) for part, mean, factor in normals]

    def normals(
        self, matrix: Array, residual: Array, slack: Array, around: Array, precision: Array
    ) -> Normals:
        """Return (share, mean, factor) of the posterior of a linear machine, per likely set of liars.

        matrix: readings by parameters and severities. residual: readings less the machine's at zero.
        slack: covariance the linear machine itself leaves. around, precision: prior.
        """
        prior_spread = np.linalg.inv(precision)
        off = residual - matrix @ around
        found = []
        for log_odds, covariance in self.configurations:
            noise = covariance + slack
            inner = np.linalg.solve(noise, matrix)
            spread = np.linalg.inv(precision + matrix.T @ inner)
            whole = noise + matrix @ prior_spread @ matrix.T
            score = log_odds - 0.5 * off @ np.linalg.solve(whole, off) - 0.5 * np.linalg.slogdet(whole)[1]
            factor = np.linalg.cholesky(_WIDEN * 0.5 * (spread + spread.T))
            found.append((float(score), around + spread @ (inner.T @ off), factor))
        scores = np.exp(np.array([score for score, _, _ in found]) - max(score for score, _, _ in found))
        scores /= scores.sum()
        return [
            (float(share), mean, factor)
            for share, (_, mean, factor) in zip(scores, found, strict=True)
            if share > _LYING
        ]

    def _posteriors(self, cell: GridCell, weight: float) -> list[Component]:
        """Return the engine's posterior of parameters and severities in one cell, per likely set of liars."""
        middles, halves, slopes = self._severities(cell)
        matrix = np.hstack([self.jacobian, slopes])
        size, count = matrix.shape[1], len(self.values)
        mean = np.array([cell.mean.get(place, self.usual[place]) for place in self.places])
        normals = self.normals(
            matrix, self.values - mean, np.zeros((count, count)), np.zeros(size), np.eye(size)
        )
        return [
            Component(weight * share, middles, halves, middle, factor) for share, middle, factor in normals
        ]

    def _severities(self, cell: GridCell) -> tuple[Array, Array, Array]:
        """Return middles, halves and slopes of a cell's severities in the order of its axes."""
        middles, halves, columns = [], [], []
        for name in self.faults_of(cell.key):
            at = cell.key.index(name)
            step = cell.steps[at]
            free = step.severity is not None
            slope = cell.slopes[sum(one.severity is not None for one in cell.steps[:at])] if free else {}
            middles.append(step.severity if step.severity is not None else 1.0)
            halves.append(step.half if free else 1e-6)
            columns.append([slope.get(place, 0.0) for place in self.places])
        slopes = np.array(columns).reshape(len(columns), len(self.places)).T
        return np.array(middles), np.array(halves), slopes

    def _priors(self, keys: Sequence[HypothesisKey]) -> list[Component]:
        """Return the prior of severities as normals, one an interval, with parameters as the card says."""
        boxes: dict[tuple[tuple[float, float], ...], float] = {}
        size = self.width + len(keys[0])
        for key in keys:
            ladders = [self.priors[name] for name in self.faults_of(key)]
            steps = [list(zip(one.intervals, one.shares, strict=True)) for one in ladders]
            for chosen in product(*steps):
                where = tuple(interval for interval, _ in chosen)
                share = math.prod(part for _, part in chosen)
                boxes[where] = boxes.get(where, 0.0) + share / len(keys)
        return [
            Component(
                weight,
                np.array([0.5 * (low + high) for low, high in where]),
                np.array([0.4 * (high - low) for low, high in where]),
                np.zeros(size),
                np.eye(size),
            )
            for where, weight in boxes.items()
        ]

    # -------------------------------------------------------------------- drawing

    def draw(self, pushed: Axes, count: int, mixture: Sequence[Component]) -> None:
        """Draw ``count`` more machines with these axes pushed, and solve each."""
        shares = np.array([one.share for one in mixture])
        which = self.rng.choice(len(mixture), size=count, p=shares / shares.sum())
        z, severities = np.empty((count, self.width)), np.empty((count, len(pushed)))
        for row, number in enumerate(which):
            one = mixture[number]
            x = one.mean + one.factor @ self.rng.standard_normal(self.width + len(pushed))
            z[row] = x[: self.width]
            severities[row] = one.middles + one.halves * x[self.width :]
        points = [self.machine(pushed, *where) for where in zip(z, severities, strict=True)]
        self.pool(pushed).add(Drawing(z, severities, points), mixture)

    def machine(self, pushed: Axes, z: Array, severities: Array) -> OperatingPoint | None:
        """Return one drawn machine's operating point; None when no such machine can be built."""
        moves = dict(zip(self.facts, map(float, z[: len(self.facts)]), strict=True))
        unit = drawn_unit(self.case.resolved, moves)
        if unit is None:
            return None
        here = self.case.normal.conditions
        ambient, box = (AIR_SIGMA_K * float(move) for move in z[len(self.facts) :])
        limits = [self._axes[axis] for axis in pushed]
        held = [min(max(float(s), low), high) for s, (low, high, _) in zip(severities, limits, strict=True)]
        faults = Faults(**dict(zip(pushed, held, strict=True)))
        try:
            where = Conditions(here.ambient_k + ambient, here.box_k + box)
            point = solve(unit, where, faults, self._start(pushed, held))
        except (InputError, SolverError) as problem:
            self.raised.append(f"{pushed} {held}: {problem}")
            return None
        return point if point.converged or point.state == "no_steady_point" else None

    def _start(self, pushed: Axes, held: Sequence[float]) -> Start | None:
        """Return the nearest of a few solved points to begin from; it saves time and decides nothing."""
        if pushed not in self._starts:
            self._starts[pushed] = self._solved(pushed)
        scales = [self._axes[axis][1] for axis in pushed]

        def far(known: tuple[tuple[float, ...], Start]) -> float:
            return sum(((a - b) / c) ** 2 for a, b, c in zip(known[0], held, scales, strict=True))

        return min(self._starts[pushed], key=far)[1] if self._starts[pushed] else None

    def _solved(self, pushed: Axes) -> list[tuple[tuple[float, ...], Start]]:
        ladders = self.case.hypotheses.ladders
        wanted = {
            nodes
            for key in self.keys
            if self.axes_of(key) == pushed
            for nodes in product(*(ladders[name].nodes for name in self.faults_of(key)))
        }
        healthy, found = self.case.normal.point, []
        for nodes in sorted(wanted):
            held = tuple(min(node, self._axes[axis][1]) for axis, node in zip(pushed, nodes, strict=True))
            faults = Faults(**dict(zip(pushed, held, strict=True)))
            point = solve(self.case.normal.unit, self.case.normal.conditions, faults, healthy.start)
            if point.converged and point.start is not None:
                found.append((held, point.start))
        return found

    # ------------------------------------------------------------------- weighing

    def estimate(self, key: HypothesisKey) -> Estimate:
        """Return the evidence of one hypothesis, its prior chance in it, from all its draws."""
        logs = self.log_weights(key)
        top = float(logs.max())
        if top == -math.inf:
            return Estimate(-math.inf, 1.0, 0.0, len(logs))
        weights = np.exp(logs - top)
        relative = weights.std() / weights.mean() / math.sqrt(len(weights))
        effective = weights.sum() ** 2 / (weights**2).sum()
        return Estimate(top + math.log(weights.mean()), float(relative), float(effective), len(weights))

    def needs(self, count: int) -> dict[Axes, int]:
        """Return ``count`` further draws shared out where they lower the error of the chances most."""
        estimates = {key: self.estimate(key) for key in self.keys}
        top = max(one.log_evidence for one in estimates.values())
        total = math.fsum(math.exp(one.log_evidence - top) for one in estimates.values())
        need = dict.fromkeys(self.groups(), 0.0)
        for key, one in estimates.items():
            chance = math.exp(one.log_evidence - top) / total
            need[self.axes_of(key)] += chance * (1.02 - chance) * one.error * math.sqrt(one.count)
        whole = math.fsum(need.values())
        return {pushed: int(count * share / whole) if whole > 0.0 else 0 for pushed, share in need.items()}

    def log_weights(self, key: HypothesisKey) -> Array:
        """Return log of (prior times likelihood over proposal) of each draw."""
        pool = self.pool(self.axes_of(key))
        logs = -0.5 * (pool.z**2).sum(axis=1) - 0.5 * self.width * math.log(2.0 * math.pi)
        for column, name in enumerate(self.faults_of(key)):
            logs = logs + self._log_prior(name, pool.severities[:, column])
        logs = logs + math.log(self.case.hypotheses.priors[key] * self.present_share(key)) - pool.log_q
        logs = logs + self.log_readings(pool) + self._log_seen(key, pool)
        found: Array = np.where(pool.possible, logs, -np.inf)
        return found

    def _log_prior(self, name: str, severity: Array) -> Array:
        density = np.zeros_like(severity)
        prior = self.priors[name]
        for (low, high), share in zip(prior.intervals, prior.shares, strict=True):
            density += np.where((severity >= low) & (severity < high), share / (high - low), 0.0)
        with np.errstate(divide="ignore"):
            return np.log(density)

    def log_readings(self, pool: Pool) -> Array:
        """Return the log likelihood of the readings of each draw: a mixture over the sets of liars."""
        found = np.zeros(len(pool.z))
        usual = np.array([self.usual[place] for place in self.places])
        missing = np.isnan(pool.readings)
        for pattern in np.unique(missing[pool.possible], axis=0):
            rows = pool.possible & (missing == pattern).all(axis=1)
            residual = self.values - np.where(pattern, usual, pool.readings[rows])
            extra = np.diag(np.where(pattern, _FREE * np.abs(usual), 0.0) ** 2)
            found[rows] = self.log_mixture(residual, extra)
        return found

    def log_mixture(self, residual: Array, extra: Array) -> Array:
        """Return the log likelihood of residuals (one row each), up to a constant."""
        logs = []
        for log_odds, covariance in self.configurations:
            factor = np.linalg.cholesky(covariance + extra)
            white = np.linalg.solve(factor, residual.T)
            logs.append(log_odds - 0.5 * (white**2).sum(axis=0) - np.log(np.diag(factor)).sum())
        found: Array = np.logaddexp.reduce(logs)
        return found

    def _log_seen(self, key: HypothesisKey, pool: Pool) -> Array:
        """Return the log likelihood of sightings, state and complaint of each draw."""
        names = self.faults_of(key)
        faults = [self.case.hypotheses.faults[name] for name in names]
        levels = np.zeros((len(faults), len(pool.z)))
        for row, fault in enumerate(faults):
            span = fault.nodes[-1] - fault.nodes[0]
            levels[row] = np.clip((pool.severities[:, row] - fault.nodes[0]) / span, 0.0, 1.0)
        total = self._log_circumstances(faults, pool)
        for seen in self.case.sightings:
            sighting = self.case.catalogue.sighting(seen.id)
            at = sighting.values.index(seen.value)
            chance = self._by_level(key, names, seen.id, at, levels)
            if sighting.from_reading is not None and sighting.from_reading.reading in pool.hidden:
                shown = self._shown(seen.id, at, pool.hidden[sighting.from_reading.reading])
                chance = np.where(np.isnan(shown), chance, shown)
            turn = sighting.turn
            if turn is not None and turn.reading in pool.hidden and at in (0, sighting.values.index(turn.to)):
                usual = self._by_level(key, names, seen.id, 0, levels)
                spread = self._hidden[turn.reading]
                share = np.array([turn.share(value, spread) for value in pool.hidden[turn.reading]])
                share = np.where(np.isnan(share), 0.0, share)
                chance = chance - share * usual if at == 0 else chance + share * usual
            total = total + np.log(chance)
        return total

    def _shown(self, name: str, at: int, reading: Array) -> Array:
        """Return the chance of a sighting's value at drawn readings, the model's own error averaged out."""
        sighting = self.case.catalogue.sighting(name)
        rule = sighting.from_reading
        if rule is None:
            raise ValueError(name)
        edges = [np.zeros_like(reading)]
        for border, width in zip(rule.thresholds, rule.widths, strict=True):
            sigma = math.hypot(width, self._hidden[rule.reading])
            below = [0.5 * math.erfc((value - border) / (sigma * math.sqrt(2.0))) for value in reading]
            edges.append(np.maximum(edges[-1], below))
        edges.append(np.ones_like(reading))
        place = rule.order.index(sighting.values[at])
        chance: Array = edges[place + 1] - edges[place]
        return (1.0 - sighting.error) * chance + sighting.error / len(sighting.values)

    def _by_level(
        self, key: HypothesisKey, names: Sequence[str], sighting: str, at: int, levels: Array
    ) -> Array:
        """Return the chance of a sighting's value, interpolated between severities it was asked at."""
        likelihoods = SightingLikelihoods(self.case)
        grid = np.linspace(0.0, 1.0, _GRID)

        def asked(*where: float) -> float:
            level = dict(zip(names, where, strict=True))
            steps = tuple(Step(None, 0.0, 1.0, level[name]) for name in key)
            return likelihoods.chances(sighting, GridCell(key, steps, {}, (), True, 1.0, 0.0))[at]

        if not names:
            return np.full(levels.shape[1], asked())
        if len(names) == 1:
            return np.interp(levels[0], grid, [asked(float(level)) for level in grid])
        return _bilinear(np.array([[asked(float(a), float(b)) for b in grid] for a in grid]), levels)

    def _log_circumstances(self, faults: Sequence[Fault], pool: Pool) -> Array:
        """Return the log likelihood of the state the machine was found in and of the complaint."""
        tables, situation, design = circumstances(), self.case.evidence.situation, self.case.resolved.design
        above_k = self.case.normal.conditions.box_k - design.set_point_k
        state = [
            math.log(tables.state_chance(situation.state, faults, stops, above_set_k=above_k))
            for stops in (1.0, 0.0)
        ]
        span_k = design.rated_ambient_k - design.set_point_k
        weather = 0.5 + 0.5 * max(0.2, (self.case.normal.conditions.ambient_k - design.set_point_k) / span_k)
        cooling_w = pool.capacity_w * self.case.predictor.cooling_at_set_w / self.usual["capacity_w"]
        loads = design.load_w * weather / np.maximum(cooling_w, 1.0)
        complaints = [
            math.log(tables.complaint_chance(situation.complaint, faults, float(load))) for load in loads
        ]
        stops = self._stops(pool)
        found: Array = np.log((1.0 - stops) * math.exp(state[1]) + stops * math.exp(state[0]))
        return found + np.array(complaints)

    def _stops(self, pool: Pool) -> Array:
        """Return the chance that a pressure control stops each draw, the model's own error averaged out."""
        design = self.case.resolved.design
        found = np.where(pool.steady, 0.0, 1.0)
        for place, (sign, name) in CUTS.items():
            if place in pool.hidden:
                beyond = sign * (pool.hidden[place] - getattr(design, name)) / self._hidden[place]
                chance = np.array([0.5 * math.erfc(-value / math.sqrt(2.0)) for value in beyond])
                found = np.maximum(found, np.where(np.isnan(chance), 0.0, chance))
        return found


def _bilinear(table: Array, levels: Array) -> Array:
    size = len(table) - 1
    at = np.minimum(levels * size, size - 1e-9)
    low = at.astype(int)
    u, v = at - low
    i, j = low
    found: Array = (
        table[i, j] * (1.0 - u) * (1.0 - v)
        + table[i + 1, j] * u * (1.0 - v)
        + table[i, j + 1] * (1.0 - u) * v
        + table[i + 1, j + 1] * u * v
    )
    return found


def is_present(cell: GridCell) -> bool:
    """Say whether every fault of a cell is there at the moment of the visit (some come and go)."""
    return len(cell.levels) == len(cell.key)


def engine_chances(finding: Finding, keys: Sequence[HypothesisKey]) -> dict[HypothesisKey, float]:
    """Return the engine's chances of hypotheses with every fault there, not scaled to sum to 1."""
    terms: dict[HypothesisKey, list[float]] = {key: [] for key in keys}
    for cell, chance in zip(finding.cells, finding.chances.cells, strict=True):
        if cell.key in terms and is_present(cell):
            terms[cell.key].append(chance)
    return {key: math.fsum(values) for key, values in terms.items()}


def chosen_keys(finding: Finding, pairs: int, seed: int) -> tuple[HypothesisKey, ...]:
    """Return *none*, every single fault the cycle predicts, and some pairs of them.

    Two thirds of the pairs are the engine's likeliest; the rest are drawn by their prior chance, so that a
    pair the engine is wrong to neglect can be found.
    """
    faults, priors = finding.case.hypotheses.faults, finding.case.hypotheses.priors
    physical = [key for key in priors if all(faults[name].has_physics for name in key)]
    doubles = sorted(
        (key for key in physical if len(key) == 2), key=lambda key: (-finding.chances.chance(key), key)
    )
    likely = doubles[: (2 * pairs + 2) // 3]
    left = [key for key in doubles if key not in likely]
    rng = np.random.default_rng(seed)
    weights = np.array([priors[key] for key in left])
    count = min(pairs - len(likely), len(left))
    if count > 0:
        likely += [left[n] for n in rng.choice(len(left), count, replace=False, p=weights / weights.sum())]
    return (*(key for key in physical if len(key) < 2), *likely)


def sample(finding: Finding, keys: Sequence[HypothesisKey], solves: int, seed: int = 1) -> Sampler:
    """Draw machines where they matter: a pilot for every set of axes, then where the error is largest."""
    sampler = Sampler(finding, keys, seed)
    groups = sampler.groups()
    pilot = max(_LEAST_PILOT, int(_PILOT_SHARE * solves / len(groups)))
    for pushed in groups:
        sampler.draw(pushed, pilot, sampler.first_mixture(pushed))
    left = solves - pilot * len(groups)
    for number in range(_ROUNDS):
        for pushed, count in sampler.needs(max(left, 0) // (_ROUNDS - number)).items():
            if count > 20:
                sampler.draw(pushed, count, sampler.next_mixture(pushed))
                left -= count
    return sampler
