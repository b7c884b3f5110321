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
    Directions,
    Frame,
    Rider,
    Step,
    empty_block,
    empty_directions,
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


_MEAN_DIGITS = 11
_SLOPE_DIGITS = 6
"""Digits of predictions, and of their differences, that count when cells are found to predict the same. The
last bits hang on the C library; what hung on them would be weighed together here and apart on a phone."""


@dataclass(frozen=True, slots=True)
class Group:
    """Cells that share one uncertainty of the predictions.

    shared: one row per place of every shared one-sigma effect (card parameters, discrepancy factors).
    own: discrepancy sigma of each place alone.
    directions: the free directions of its cells, each once.
    blocks: cells by number of free directions: their indices in ``Problem.cells``, and the block. Of
    cells that predict the same (twins) only the first stands here.
    """

    shared: tuple[tuple[float, ...], ...]
    own: tuple[float, ...]
    frame: Frame
    directions: Directions
    blocks: tuple[tuple[tuple[int, ...], Block], ...]


@dataclass(frozen=True, slots=True)
class Sets:
    """Sets of twins before any reading.

    priors: by first cell, log prior mass of the set. joints: the same with the discrete evidence.
    shares: per cell its share of its set.
    """

    priors: Mapping[int, float]
    joints: Mapping[int, float]
    shares: Column


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
    slope_places: per cell, for each of its slopes, its place among the free directions of its block; -1
    for a slope that moves nothing.
    sets: what prior and discrete evidence say of the sets of twins.
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
    slope_places: tuple[tuple[int, ...], ...]
    sets: Sets

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
            directions = group.directions.extended(step, place)
            blocks = []
            for indices, block in group.blocks:
                residual = self._residual(indices, place, reading.value)
                blocks.append((indices, block.extended(step, residual, directions.white[-1])))
            groups.append(
                replace(group, frame=group.frame.extended(step), directions=directions, blocks=tuple(blocks))
            )
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
        log_terms = [
            total + logs[cell.hypothesis]
            for total, cell in zip(self.log_terms, self.problem.cells, strict=True)
        ]
        belief = self.with_logs(log_terms, self.not_listed_term + term.not_listed)
        return replace(belief, terms=(*self.terms, term))

    def with_logs(self, log_terms: Column, not_listed_term: float) -> Belief:
        """Return the belief with its discrete evidence replaced: logs by cell, and of *not listed*."""
        sets = _sets(self.twins, self.log_priors, log_terms)
        return replace(self, log_terms=log_terms, not_listed_term=not_listed_term, sets=sets)

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
            moves = _predictive_moves(step, group.directions, place)
            for indices, block in group.blocks:
                rider = _predictive_rider(step, block, moves)
                free = integrate_slopes(block, group.directions, [rider])
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

    def _residual(self, indices: Sequence[int], place: int, value: float) -> Column:
        """Residuals of a reading, in units of each cell's own scale."""
        cells = self.problem.cells
        return [(value - cells[index].mean[place]) / cells[index].sigma_scale for index in indices]


def start(problem: Problem) -> Belief:
    """Return the belief before any evidence but the cells' own sightings.

    Raises InputErrors naming everything in ``problem`` that does not fit together.
    """
    check_problem(problem)
    raw, numbers = _directions(problem)
    twins = _twins(problem, numbers)
    log_priors = _log_priors(problem)
    log_terms = [math.fsum(cell.sightings) for cell in problem.cells]
    return Belief(
        problem=problem,
        observations=(),
        terms=(),
        groups=_groups(problem, twins, raw, numbers),
        log_priors=log_priors,
        log_terms=log_terms,
        not_listed_term=math.fsum(sighting.not_listed for sighting in problem.cell_sightings),
        instruments=(),
        log_odds=(),
        severity_limits=_severity_limits(problem.cells),
        twins=twins,
        slope_places=tuple(map(_places, numbers)),
        sets=_sets(twins, log_priors, log_terms),
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


def _directions(problem: Problem) -> tuple[list[tuple[float, ...]], list[tuple[int, ...]]]:
    """Return the distinct slopes that move anything, and per cell the number of each of its slopes.

    In units of the cell's own scale; -1 for a slope that moves nothing.
    """
    raw: list[tuple[float, ...]] = []
    known: dict[tuple[float, tuple[float, ...]], int] = {}
    by_id: dict[tuple[int, float], int] = {}
    numbers = []
    for cell in problem.cells:
        scale = cell.sigma_scale
        own = []
        for slope in cell.slopes:
            number = by_id.get((id(slope), scale))
            if number is None:
                same = _told_apart(slope, _SLOPE_DIGITS)
                number = known.get((scale, same), -1)
                if number < 0 and any(slope):
                    number = known[scale, same] = len(raw)
                    raw.append(tuple(entry / scale for entry in slope))
                by_id[id(slope), scale] = number
            own.append(number)
        numbers.append(tuple(own))
    return raw, numbers


def _twins(problem: Problem, numbers: Sequence[tuple[int, ...]]) -> dict[int, tuple[int, ...]]:
    """Return the cells that predict the same with the same uncertainty, by the first of them.

    Faults that push one mechanism, and pairs of which one leaves the machine alone, differ in what is
    seen of them, not in what the readings say. numbers: of each cell's slopes.
    """
    found: dict[tuple[object, ...], list[int]] = {}
    means: dict[int, tuple[float, ...]] = {}
    for index, (cell, own) in enumerate(zip(problem.cells, numbers, strict=True)):
        given = problem.own_sensitivity.get(cell.hypothesis, problem.sensitivity)
        mean = means.get(id(cell.mean))
        if mean is None:
            mean = means[id(cell.mean)] = _told_apart(cell.mean, _MEAN_DIGITS)
        key = (id(given), cell.sigma_scale, mean, _moving(own))
        found.setdefault(key, []).append(index)
    return {members[0]: tuple(members) for members in found.values()}


def _told_apart(values: Iterable[float], digits: int) -> tuple[float, ...]:
    """Return numbers to as many digits as tell two predictions apart; the rest is rounding of sums."""
    return tuple(float(f"{value:.{digits}g}") for value in values)


def _moving(numbers: Iterable[int]) -> tuple[int, ...]:
    """Return the numbers of the slopes that move anything, in order: the free directions of a block."""
    return tuple(sorted(number for number in numbers if number >= 0))


def _places(numbers: Sequence[int]) -> tuple[int, ...]:
    """Return the place of each slope of a cell among the free directions of its block, or -1.

    Two slopes that are the same take the two places after each other.
    """
    order = sorted((number, place) for place, number in enumerate(numbers) if number >= 0)
    found = [-1] * len(numbers)
    for rank, (_, place) in enumerate(order):
        found[place] = rank
    return tuple(found)


def _groups(
    problem: Problem,
    firsts: Mapping[int, tuple[int, ...]],
    raw: Sequence[tuple[float, ...]],
    numbers: Sequence[tuple[int, ...]],
) -> tuple[Group, ...]:
    """Sort the cells by the sensitivity they share (the same object) and their number of slopes."""
    members: dict[int, dict[int, list[int]]] = {}
    sensitivities: dict[int, CardSensitivity] = {}
    for index in firsts:
        given = problem.own_sensitivity.get(problem.cells[index].hypothesis, problem.sensitivity)
        sensitivities[id(given)] = given
        members.setdefault(id(given), {}).setdefault(len(_moving(numbers[index])), []).append(index)
    return tuple(_group(sensitivities[key], members[key], raw, numbers) for key in members)


def _group(
    given: CardSensitivity,
    by_count: dict[int, list[int]],
    raw: Sequence[tuple[float, ...]],
    numbers: Sequence[tuple[int, ...]],
) -> Group:
    blocks = tuple(
        (tuple(indices), empty_block([_moving(numbers[index]) for index in indices]))
        for _, indices in sorted(by_count.items())
    )
    shared = tuple((*card, *factors) for card, factors in zip(given.card, given.factors, strict=True))
    return Group(shared, given.diagonal, empty_frame(), empty_directions(raw), blocks)


def _sets(twins: Mapping[int, tuple[int, ...]], log_priors: Column, log_terms: Column) -> Sets:
    """Sum prior and discrete evidence over every set of twins."""
    logs = [prior + term for prior, term in zip(log_priors, log_terms, strict=True)]
    shares = [1.0] * len(logs)
    priors, joints = {}, {}
    for first, members in twins.items():
        if len(members) == 1:
            priors[first], joints[first] = log_priors[first], logs[first]
            continue
        priors[first] = log_sum([log_priors[twin] for twin in members])
        joints[first] = total = log_sum([logs[twin] for twin in members])
        for twin in members:
            shares[twin] = math.exp(logs[twin] - total) if total > -math.inf else 0.0
    return Sets(priors, joints, shares)


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


def _predictive_moves(step: Step, directions: Directions, place: int) -> Column:
    """How each free direction moves a new reading, less what the readings so far say of it; negative."""
    moved = [-entries[place] for entries in directions.raw]
    for factor, column in zip(step.row, directions.white, strict=True):
        moved = [t + factor * x for t, x in zip(moved, column, strict=True)]
    return moved


def _predictive_rider(step: Step, block: Block, moves: Column) -> Rider:
    """The new reading as a direction: what the residuals so far say of it, and how each slope moves it."""
    pull = [0.0] * len(block.fit)
    for factor, column in zip(step.row, block.white, strict=True):
        pull = [t + factor * x for t, x in zip(pull, column, strict=True)]
    return Rider(pull, tuple([moves[number] for number in numbers] for numbers in block.which))
