"""Cells of belief: every hypothesis on a grid of severities, with what it predicts of each reading."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from holdcold.diagnosis.case import NONE, Cell, HypothesisKey
from holdcold.diagnosis.catalogue import Fault
from holdcold.diagnosis.hypotheses import Hypotheses
from holdcold.diagnosis.predict import Prediction, Predictor

_AWAY_LEVEL = 0.5
_BY_NATURE = 0.5
_COMES_AND_GOES = 0.3
_UNPREDICTED = 0.5
"""A reading a cell cannot predict is free by this share of its usual value."""


@dataclass(frozen=True, slots=True)
class Step:
    """One severity of one fault: value, half-width, share of the fault's prior; None without severity.

    present: False for a fault that comes and goes and is away while the machine is looked at.
    """

    severity: float | None
    half: float
    weight: float
    level: float
    present: bool = True


@dataclass(frozen=True, slots=True)
class GridCell:
    """One cell before its sightings: severities by fault, and the machine predicted there.

    mean, slopes: readings there and their free directions. steady: whether it would stay running.
    cooling_w: capacity with the box at set point [W]. log_weight: log of the share of the prior.
    """

    key: HypothesisKey
    steps: tuple[Step, ...]
    mean: Mapping[str, float]
    slopes: tuple[Mapping[str, float], ...]
    steady: bool
    cooling_w: float
    log_weight: float

    @property
    def levels(self) -> dict[str, float]:
        """How bad each fault that is there now is, 0 (mildest) to 1."""
        return {fault: step.level for fault, step in zip(self.key, self.steps, strict=True) if step.present}

    @property
    def told_levels(self) -> dict[str, float]:
        """How bad each fault is when it is there: what a user or a logger has seen."""
        return {fault: step.level for fault, step in zip(self.key, self.steps, strict=True)}


def grid(
    predictor: Predictor, keys: Iterable[HypothesisKey], exact: frozenset[HypothesisKey] = frozenset()
) -> list[GridCell]:
    """Return the cells of ``keys``.

    exact: pairs whose every combination of severities is solved; the others are put together from
    their single faults on a coarser grid, which is sound as long as the effects add up. The coarse grid
    belongs to the mechanism, so that pairs of faults that push the same ones read alike.
    """
    cells: list[GridCell] = []
    coarse: dict[str, list[GridCell]] = {}
    masses = _masses(predictor.hypotheses)
    for key in keys:
        if len(key) == 2 and key not in exact:
            for fault in key:
                if fault not in coarse:
                    axis = predictor.hypotheses.faults[fault].axis
                    coarse[fault] = _coarse(_solved(predictor, (fault,)), masses.get(axis, {}))
            cells += _added(predictor, key, [coarse[fault] for fault in key])
        else:
            cells += _solved(predictor, key)
    return cells


def steps_of(predictor: Predictor, fault: str) -> list[Step]:
    """Return the severities of a fault as steps; one step without severity for a fault without degrees."""
    ladder = predictor.hypotheses.ladders[fault]
    known = predictor.hypotheses.faults[fault]
    away = away_chance(known)
    if ladder.halves == (0.0,):
        steps = [Step(None, 0.0, 1.0 - away, known.level(ladder.nodes[0]))]
    else:
        steps = [
            Step(node, half, weight * (1.0 - away), known.level(node))
            for node, half, weight in zip(ladder.nodes, ladder.halves, ladder.weights, strict=True)
        ]
    if away > 0.0:
        steps.append(Step(None, 0.0, away, _AWAY_LEVEL, present=False))
    return steps


def away_chance(fault: Fault) -> float:
    """Return the chance that a fault is away at the moment of a visit.

    One that by nature comes and goes (there less than half the time) is away for the rest of the time;
    of the others that may come and go, three in ten do (practice estimate, no source).
    """
    if not fault.intermittent:
        return 0.0
    duty = fault.mean_duty
    return (1.0 if duty < _BY_NATURE else _COMES_AND_GOES) * (1.0 - duty)


def _value(predictor: Predictor, fault: str, step: Step) -> float:
    return predictor.hypotheses.ladders[fault].nodes[0] if step.severity is None else step.severity


def _solved(predictor: Predictor, key: HypothesisKey) -> list[GridCell]:
    """Return the cells of one hypothesis with the machine solved at every severity."""
    ladders = [steps_of(predictor, fault) for fault in key]
    found = []
    for index in product(*(range(len(ladder)) for ladder in ladders)):
        steps = tuple(ladder[place] for ladder, place in zip(ladders, index, strict=True))
        here = predictor.predict(_severities(predictor, key, steps))
        if not all(step.present for step in steps):
            here = replace(here, cooling_w=_cooling_when_there(predictor, key, steps))
        slopes = [
            _slope(predictor, key, ladders, index, place)
            for place in range(len(key))
            if steps[place].severity is not None
        ]
        found.append(_cell(key, steps, here, slopes))
    return found


def _severities(predictor: Predictor, key: HypothesisKey, steps: Sequence[Step]) -> dict[str, float]:
    """Return the severities of the faults that are there now."""
    return {
        fault: _value(predictor, fault, step) for fault, step in zip(key, steps, strict=True) if step.present
    }


def _cooling_when_there(predictor: Predictor, key: HypothesisKey, steps: Sequence[Step]) -> float:
    """Return the cooling left while the faults that come and go are there: what the customer met."""
    severities = {}
    for fault, step in zip(key, steps, strict=True):
        nodes = predictor.hypotheses.ladders[fault].nodes
        severities[fault] = _value(predictor, fault, step) if step.present else nodes[len(nodes) // 2]
    return predictor.predict(severities).cooling_w


def _cell(
    key: HypothesisKey, steps: tuple[Step, ...], here: Prediction, slopes: Sequence[Mapping[str, float]]
) -> GridCell:
    weight = math.fsum(math.log(step.weight) for step in steps)
    return GridCell(key, steps, here.readings, tuple(slopes), here.steady, here.cooling_w, weight)


def _slope(
    predictor: Predictor,
    key: HypothesisKey,
    ladders: Sequence[Sequence[Step]],
    index: tuple[int, ...],
    place: int,
) -> dict[str, float]:
    """Return half-width times d reading / d severity of one fault, between its neighbouring severities."""
    ladder = ladders[place]
    at = index[place]
    last = len([step for step in ladder if step.present]) - 1
    ends = (max(at - 1, 0), min(at + 1, last))
    sides = []
    for end in ends:
        moved = list(index)
        moved[place] = end
        steps = [ladder[number] for ladder, number in zip(ladders, moved, strict=True)]
        sides.append(predictor.predict(_severities(predictor, key, steps)).readings)
    low, high = (_value(predictor, key[place], ladder[end]) for end in ends)
    scale = ladder[at].half / (high - low) if high > low else 0.0
    before, after = sides
    return {name: (after[name] - before[name]) * scale for name in before if name in after}


def _masses(listed: Hypotheses) -> dict[str, dict[float, float]]:
    """Return by mechanism how much prior chance stands on each severity, over all faults that push it."""
    found: dict[str, dict[float, float]] = {}
    for name, fault in listed.faults.items():
        ladder, chance = listed.ladders[name], listed.priors.get((name,), 0.0)
        on_axis = found.setdefault(fault.axis, {})
        for node, weight in zip(ladder.nodes, ladder.weights, strict=True):
            on_axis[node] = on_axis.get(node, 0.0) + chance * weight
    return found


def _coarse(cells: Sequence[GridCell], masses: Mapping[float, float]) -> list[GridCell]:
    """Merge the milder and the worse half of the severities; what lies between becomes the slope.

    masses: prior chance by severity, see ``_merged``.
    """
    there = [cell for cell in cells if cell.steps[0].present]
    away = [cell for cell in cells if not cell.steps[0].present]
    if len(there) < 4:
        return [*there, *away]
    half = len(there) // 2
    return [_merged(there[:half], masses), _merged(there[half:], masses), *away]


def _merged(cells: Sequence[GridCell], masses: Mapping[float, float]) -> GridCell:
    """Return one cell for neighbouring severities: their mean, the whole span as its width.

    masses: prior chance by severity of all faults that push the mechanism. The mean is taken over these,
    not over the one fault, so that faults over the same severities share what they predict.
    """
    shares = [masses.get(cell.steps[0].severity or 0.0, 0.0) for cell in cells]
    if not any(shares):
        shares = [1.0] * len(cells)
    mass = math.fsum(shares)
    total = math.fsum(math.exp(cell.log_weight) for cell in cells)
    first, last = cells[0], cells[-1]
    places = [name for name in first.mean if all(name in cell.mean for cell in cells)]

    def average(values: Sequence[float]) -> float:
        # As a difference: what no severity moves stays exactly as it is on the healthy machine.
        moves = [share * (value - values[0]) for share, value in zip(shares, values, strict=True)]
        return values[0] + math.fsum(moves) / mass

    severities = [cell.steps[0].severity or 0.0 for cell in cells]
    span = severities[-1] - severities[0] + first.steps[0].half + last.steps[0].half
    inner = severities[-1] - severities[0]
    scale = 0.5 * span / inner if inner > 0.0 else 0.0
    step = Step(average(severities), 0.5 * span, total, average([cell.steps[0].level for cell in cells]))
    return GridCell(
        first.key,
        (step,),
        {name: average([cell.mean[name] for cell in cells]) for name in places},
        ({name: (last.mean[name] - first.mean[name]) * scale for name in places},),
        average([float(cell.steady) for cell in cells]) > 0.5,
        average([cell.cooling_w for cell in cells]),
        math.log(total),
    )


def _added(predictor: Predictor, key: HypothesisKey, singles: Sequence[Sequence[GridCell]]) -> list[GridCell]:
    """Return the cells of a pair with the effects of its single faults added up."""
    healthy = predictor.healthy()
    found = []
    for left, right in product(*singles):
        cooling = left.cooling_w * right.cooling_w / max(healthy.cooling_w, 1.0)
        found.append(
            GridCell(
                key,
                (*left.steps, *right.steps),
                _sum_of_effects(left.mean, right.mean, healthy.readings),
                (*left.slopes, *right.slopes),
                left.steady and right.steady,
                cooling,
                left.log_weight + right.log_weight,
            )
        )
    return found


def _sum_of_effects(
    left: Mapping[str, float], right: Mapping[str, float], usual: Mapping[str, float]
) -> Mapping[str, float]:
    """Return left plus right minus usual; exactly the one where the other changes nothing."""
    if right == usual:
        return left
    if left == usual:
        return right
    return {
        name: value + right[name] - usual[name]
        for name, value in left.items()
        if name in right and name in usual
    }


def as_cell(
    cell: GridCell,
    places: Sequence[str],
    usual: Mapping[str, float],
    scale: float,
    sightings: Sequence[float],
    loose: Sequence[Mapping[str, float]] = (),
) -> Cell:
    """Return a grid cell in the form the belief engine takes.

    places: order of the arrays. usual: readings of the healthy machine, from which the freedom of a
    reading the cell cannot predict is taken. scale: factor on every other uncertainty.
    sightings: log-likelihoods of the sightings whose chances depend on severity. loose: further
    directions in which the readings are free, one sigma each.
    """
    mean, slopes = [], [[0.0] * len(places) for _ in cell.slopes]
    free = [tuple(direction.get(name, 0.0) for name in places) for direction in loose]
    for index, name in enumerate(places):
        if name in cell.mean:
            mean.append(cell.mean[name])
            for slope, row in zip(cell.slopes, slopes, strict=True):
                row[index] = slope.get(name, 0.0)
        else:
            mean.append(usual[name])
            free.append(
                tuple(_UNPREDICTED * abs(usual[name]) if at == index else 0.0 for at in range(len(places)))
            )
    return Cell(
        hypothesis=cell.key,
        severity=tuple(step.severity for step in cell.steps),
        half_widths=tuple(step.half for step in cell.steps),
        mean=tuple(mean),
        slopes=(*(tuple(row) for row in slopes), *free),
        log_weight=cell.log_weight,
        sigma_scale=scale,
        sightings=tuple(sightings),
    )


def single_keys(priors: Mapping[HypothesisKey, float]) -> list[HypothesisKey]:
    """Return *none* and the single faults among ``priors``."""
    return [NONE, *(key for key in priors if len(key) == 1)]
