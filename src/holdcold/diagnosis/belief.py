"""Belief over hypotheses (sets of faults) as readings and sightings come in, one at a time.

A ``Belief`` is a value: adding a reading returns another one and costs a few milliseconds for a
thousand cells, because nothing learnt from the earlier readings is worked out again. ``conclude`` (in
``posterior``) turns it into chances.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from holdcold.diagnosis.case import (
    NONE,
    NOT_LISTED,
    CardSensitivity,
    Cell,
    CellSighting,
    DiscreteTerm,
    HypothesisKey,
    Observation,
    Problem,
    check_problem,
)
from holdcold.diagnosis.gaussian import (
    Block,
    Column,
    Frame,
    Rider,
    Step,
    empty_block,
    empty_frame,
    integrate_slopes,
)
from holdcold.diagnosis.logs import log_chance, log_sum
from holdcold.errors import InputError, UnknownNameError

__all__ = [
    "NONE",
    "NOT_LISTED",
    "Belief",
    "CardSensitivity",
    "Cell",
    "CellSighting",
    "DiscreteTerm",
    "Group",
    "HypothesisKey",
    "Observation",
    "Problem",
    "believe",
    "start",
]


@dataclass(frozen=True, slots=True)
class Group:
    """Cells that share one uncertainty of the predictions.

    shared: one row per place of every shared one-sigma effect (card parameters, discrepancy factors).
    own: discrepancy sigma of each place alone.
    blocks: cells by number of free directions: their indices in ``Problem.cells``, and the block. Of
    cells that predict the same (twins) only the first stands here.
    """

    shared: tuple[tuple[float, ...], ...]
    own: tuple[float, ...]
    frame: Frame
    blocks: tuple[tuple[tuple[int, ...], Block], ...]


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed so far; made by ``start`` or ``believe``, extended by ``with_*``.

    problem: what it started from. observations, terms: the evidence so far, in the order given.
    groups: the Gaussian part. log_priors: log prior mass of each cell among the listed hypotheses
    (its logs sum to 1). log_terms: sum of the discrete log-likelihoods of each cell.
    not_listed_term: the same sum for a fault that is not listed.
    instruments: ids in order of first use. log_odds: log prior odds that each one lies.
    severity_limits: least and greatest severity of each fault over all its cells.
    twins: by the first of them, all cells that predict the same; their readings are weighed once.
    """

    problem: Problem
    observations: tuple[Observation, ...]
    terms: tuple[DiscreteTerm, ...]
    groups: tuple[Group, ...]
    log_priors: Column
    log_terms: Column
    not_listed_term: float
    instruments: tuple[str, ...]
    log_odds: tuple[float, ...]
    severity_limits: Mapping[str, tuple[float, float]]
    twins: Mapping[int, tuple[int, ...]]

    def with_reading(self, reading: Observation) -> Belief:
        """Return the belief after one more reading.

        Raises UnknownNameError for a place the cells do not predict, InputError when the instrument's
        chance of lying differs from the one given before.
        """
        place = self._place(reading)
        instruments, log_odds = self._instruments_with(reading)
        groups = []
        for group in self.groups:
            step = self._step(group, reading, place, instruments)
            blocks = []
            for indices, block in group.blocks:
                residual, slopes = self._raw(indices, block, place, reading.value)
                blocks.append((indices, block.extended(step, residual, slopes)))
            groups.append(replace(group, frame=group.frame.extended(step), blocks=tuple(blocks)))
        return replace(
            self,
            observations=(*self.observations, reading),
            groups=tuple(groups),
            instruments=instruments,
            log_odds=log_odds,
        )

    def with_term(self, term: DiscreteTerm) -> Belief:
        """Return the belief after one more piece of discrete evidence.

        Raises InputError when the term gives no likelihood for some hypothesis.
        """
        logs = term.logs
        missing = sorted(set(self.problem.priors) - set(logs))
        if missing:
            advice = "Give the likelihood of what was seen under every hypothesis."
            raise InputError(f"{term.item}: logs", missing[:3], "every listed hypothesis", advice)
        return replace(
            self,
            terms=(*self.terms, term),
            log_terms=[
                total + logs[cell.hypothesis]
                for total, cell in zip(self.log_terms, self.problem.cells, strict=True)
            ],
            not_listed_term=self.not_listed_term + term.not_listed,
        )

    def predict(self, reading: Observation) -> tuple[Column, Column]:
        """Return mean and sigma of a reading not yet taken, cell by cell, given the readings so far.

        reading: as it would be taken; its value is not used. That some instrument lies is left out.
        Raises as ``with_reading`` does.
        """
        place = self._place(reading)
        instruments, _ = self._instruments_with(reading)
        means = [0.0] * len(self.problem.cells)
        sigmas = [0.0] * len(means)
        for group in self.groups:
            step = self._step(group, reading, place, instruments)
            for indices, block in group.blocks:
                _, slopes = self._raw(indices, block, place, 0.0)
                free = integrate_slopes(block, [_predictive_rider(step, block, slopes)])
                for offset, cell in enumerate(indices):
                    scale = self.problem.cells[cell].sigma_scale
                    spread = step.deviation**2
                    for shear in free.riders[0].shears:
                        spread += shear[offset] ** 2
                    mean = self.problem.cells[cell].mean[place] + scale * free.riders[0].pull[offset]
                    for twin in self.twins[cell]:
                        means[twin] = mean
                        sigmas[twin] = scale * math.sqrt(spread)
        return means, sigmas

    def spread(self, reading: Observation, cell: int) -> float:
        """Return one sigma of ``reading`` about the prediction of a cell: instrument, card and model.

        cell: index in ``Problem.cells``. Severity and lies are left out.
        """
        place = self._place(reading)
        first = next(one for one, twins in self.twins.items() if cell in twins)
        group = next(g for g in self.groups if any(first in indices for indices, _ in g.blocks))
        return self.problem.cells[cell].sigma_scale * math.sqrt(_variance(group, reading, place))

    def _place(self, reading: Observation) -> int:
        places = self.problem.places
        if reading.place not in places:
            raise UnknownNameError("reading: place", reading.place, places)
        return places.index(reading.place)

    def _instruments_with(self, reading: Observation) -> tuple[tuple[str, ...], tuple[float, ...]]:
        chance = reading.lie_chance
        odds = math.log(chance / (1.0 - chance)) if chance > 0.0 else -math.inf
        if reading.instrument_id not in self.instruments:
            return (*self.instruments, reading.instrument_id), (*self.log_odds, odds)
        before = self.log_odds[self.instruments.index(reading.instrument_id)]
        if before != odds:
            where = f"reading {reading.name}: lie_chance"
            allowed = f"{1.0 / (1.0 + math.exp(-before)):.6g}, as before for {reading.instrument_id}"
            raise InputError(where, chance, allowed, "An instrument has one chance of lying.")
        return self.instruments, self.log_odds

    def _step(self, group: Group, reading: Observation, place: int, instruments: Sequence[str]) -> Step:
        """Whitening of ``reading`` in ``group``: its covariance to each earlier reading."""
        row = group.shared[place]
        places = self.problem.places
        covariance = []
        for other in self.observations:
            value = _dot(row, group.shared[places.index(other.place)])
            if other.place == reading.place:
                value += group.own[place] ** 2
            if other.instrument_id == reading.instrument_id:
                value += other.bias_sigma * reading.bias_sigma
            covariance.append(value)
        lie = [reading.lie_sigma if name == reading.instrument_id else 0.0 for name in instruments]
        return group.frame.step(covariance, _variance(group, reading, place), lie)

    def _raw(
        self, indices: Sequence[int], block: Block, place: int, value: float
    ) -> tuple[Column, list[Column]]:
        """Residual and slope entries of a reading, in units of each cell's own scale."""
        cells = [self.problem.cells[index] for index in indices]
        residual = [(value - cell.mean[place]) / cell.sigma_scale for cell in cells]
        slopes = [
            [cell.slopes[k][place] / cell.sigma_scale for cell in cells] for k in range(len(block.slopes))
        ]
        return residual, slopes


def start(problem: Problem) -> Belief:
    """Return the belief before any evidence but the cells' own sightings.

    Raises InputErrors naming everything in ``problem`` that does not fit together.
    """
    check_problem(problem)
    twins = _twins(problem)
    return Belief(
        problem=problem,
        observations=(),
        terms=(),
        groups=_groups(problem, twins),
        log_priors=_log_priors(problem),
        log_terms=[math.fsum(cell.sightings) for cell in problem.cells],
        not_listed_term=math.fsum(sighting.not_listed for sighting in problem.cell_sightings),
        instruments=(),
        log_odds=(),
        severity_limits=_severity_limits(problem.cells),
        twins=twins,
    )


def believe(
    problem: Problem, readings: Iterable[Observation] = (), terms: Iterable[DiscreteTerm] = ()
) -> Belief:
    """Return the belief after all this evidence. Raises what ``start`` and the ``with_*`` methods raise."""
    belief = start(problem)
    for term in terms:
        belief = belief.with_term(term)
    for reading in readings:
        belief = belief.with_reading(reading)
    return belief


def _twins(problem: Problem) -> dict[int, tuple[int, ...]]:
    """Return the cells that predict the same with the same uncertainty, by the first of them.

    Faults that push one mechanism, and pairs of which one leaves the machine alone, differ in what is
    seen of them, not in what the readings say.
    """
    found: dict[tuple[object, ...], list[int]] = {}
    for index, cell in enumerate(problem.cells):
        given = problem.own_sensitivity.get(cell.hypothesis, problem.sensitivity)
        found.setdefault((id(given), cell.sigma_scale, cell.mean, cell.slopes), []).append(index)
    return {members[0]: tuple(members) for members in found.values()}


def _groups(problem: Problem, firsts: Mapping[int, tuple[int, ...]]) -> tuple[Group, ...]:
    """Sort the cells by the sensitivity they share (the same object) and their number of slopes."""
    members: dict[int, dict[int, list[int]]] = {}
    sensitivities: dict[int, CardSensitivity] = {}
    for index in firsts:
        cell = problem.cells[index]
        given = problem.own_sensitivity.get(cell.hypothesis, problem.sensitivity)
        sensitivities[id(given)] = given
        members.setdefault(id(given), {}).setdefault(len(cell.slopes), []).append(index)
    return tuple(_group(sensitivities[key], members[key]) for key in members)


def _group(given: CardSensitivity, by_directions: dict[int, list[int]]) -> Group:
    blocks = tuple(
        (tuple(indices), empty_block(len(indices), directions))
        for directions, indices in sorted(by_directions.items())
    )
    shared = tuple((*card, *factors) for card, factors in zip(given.card, given.factors, strict=True))
    return Group(shared, given.diagonal, empty_frame(), blocks)


def _log_priors(problem: Problem) -> Column:
    weights: dict[HypothesisKey, list[float]] = {}
    for cell in problem.cells:
        weights.setdefault(cell.hypothesis, []).append(cell.log_weight)
    total = math.fsum(problem.priors.values())
    offsets = {key: log_chance(problem.priors[key] / total) - log_sum(logs) for key, logs in weights.items()}
    return [cell.log_weight + offsets[cell.hypothesis] for cell in problem.cells]


def _severity_limits(cells: Sequence[Cell]) -> dict[str, tuple[float, float]]:
    limits: dict[str, tuple[float, float]] = {}
    for cell in cells:
        for fault, middle, half in zip(cell.hypothesis, cell.severity, cell.half_widths, strict=True):
            if middle is not None:
                low, high = limits.get(fault, (math.inf, -math.inf))
                limits[fault] = min(low, middle - half), max(high, middle + half)
    return limits


def _variance(group: Group, reading: Observation, place: int) -> float:
    row = group.shared[place]
    return _dot(row, row) + group.own[place] ** 2 + reading.bias_sigma**2 + reading.sigma**2


def _dot(left: Sequence[float], right: Sequence[float]) -> float:
    total = 0.0
    for x, y in zip(left, right, strict=True):
        total += x * y
    return total


def _predictive_rider(step: Step, block: Block, slopes: Sequence[Column]) -> Rider:
    """The new reading as a direction: what the residuals so far say of it, and how each slope moves it."""
    pull = [0.0] * len(block.fit)
    for factor, column in zip(step.row, block.white, strict=True):
        pull = [t + factor * x for t, x in zip(pull, column, strict=True)]
    shears = []
    for raw, columns in zip(slopes, block.slopes, strict=True):
        moved = [-x for x in raw]
        for factor, column in zip(step.row, columns, strict=True):
            moved = [t + factor * x for t, x in zip(moved, column, strict=True)]
        shears.append(moved)
    return Rider(pull, tuple(shears))
