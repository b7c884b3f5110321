"""What the belief engine is given: readings, predictions cell by cell, and what is uncertain about both.

Nothing here knows how a prediction was made. Every array runs over ``Problem.places`` (each place
once), so a place can be read twice, or not at all, without the predictions being made again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from holdcold.errors import InputError, InputErrors

HypothesisKey = tuple[str, ...]
"""The faults of a hypothesis, sorted; ``()`` is a healthy machine."""

NONE: HypothesisKey = ()
NOT_LISTED: HypothesisKey = ("not_listed",)


@dataclass(frozen=True, slots=True)
class Observation:
    """One number read off one instrument at one place, SI.

    place: a name in ``Problem.places``.
    value: what was read [unit of the place].
    sigma: independent error of this one reading (resolution, placement, flutter), one sigma, > 0.
    instrument_id: readings with the same id share a bias, and share a lie if it lies.
    bias_sigma: effect on this reading of one sigma of the instrument's bias, >= 0.
    lie_chance: prior chance that the instrument is far off, 0 to below 0.5; one per instrument.
    lie_sigma: effect on this reading of one sigma of such a lie, >= 0 (0: it cannot lie here).
    item: id used in explanations; empty means ``place`` and ``instrument_id`` joined by ``@``.
    Raises InputErrors for numbers outside these ranges.
    """

    place: str
    value: float
    sigma: float
    instrument_id: str
    bias_sigma: float = 0.0
    lie_chance: float = 0.0
    lie_sigma: float = 0.0
    item: str = ""

    def __post_init__(self) -> None:
        rules = (
            ("value", self.value, math.isfinite(self.value), "a finite number"),
            ("sigma", self.sigma, 0.0 < self.sigma < math.inf, "above 0"),
            ("bias_sigma", self.bias_sigma, 0.0 <= self.bias_sigma < math.inf, "0 or more"),
            ("lie_chance", self.lie_chance, 0.0 <= self.lie_chance < 0.5, "0 to below 0.5"),
            ("lie_sigma", self.lie_sigma, 0.0 <= self.lie_sigma < math.inf, "0 or more"),
        )
        problems = [
            InputError(f"reading {self.place}: {name}", value, allowed, "Give it again.")
            for name, value, fine, allowed in rules
            if not fine
        ]
        if problems:
            raise InputErrors(problems)

    @property
    def name(self) -> str:
        """The id of this reading in explanations."""
        return self.item or f"{self.place}@{self.instrument_id}"


@dataclass(frozen=True, slots=True)
class Cell:
    """One severity interval (or box of intervals) of one hypothesis, with what it predicts.

    hypothesis: key of the hypothesis it belongs to, faults sorted.
    severity: midpoint of the interval of each fault of the key, in its order [unit of the fault];
        None for a fault that has no severity.
    half_widths: half-width of each interval, same order and units; 0 where there is no severity.
    mean: predicted reading at the midpoint, one per ``Problem.places`` [unit of the place].
    slopes: directions in which the prediction is free, each one per place. First one for each severity
        that is not None: half-width times d reading / d severity. The severity inside the cell is
        taken as normal with the half-width as its sigma (normals two sigmas apart tile an axis flat
        within 1.5 %), so each slope adds slope slope^T to the covariance. Further slopes are nuisances
        of this cell, one sigma each: the drift of an unsteady box, or one broad slope on a single
        place that this cell cannot predict.
    log_weight: log of the prior mass of the cell inside its hypothesis (normalised when used).
    sigma_scale: factor on every other uncertainty (noise, bias, lie, card, discrepancy), > 0.
    sightings: log P(sighting | cell), one per ``Problem.cell_sightings``, for sightings whose
        likelihood depends on severity; the others come as ``DiscreteTerm``.
    """

    hypothesis: HypothesisKey
    severity: tuple[float | None, ...]
    half_widths: tuple[float, ...]
    mean: tuple[float, ...]
    slopes: tuple[tuple[float, ...], ...] = ()
    log_weight: float = 0.0
    sigma_scale: float = 1.0
    sightings: tuple[float, ...] = ()

    @property
    def severities(self) -> int:
        """How many of the faults have a severity."""
        return sum(value is not None for value in self.severity)

    def direction(self, fault: str) -> int | None:
        """Index in ``slopes`` of the severity of ``fault``; None when it has none here."""
        if fault not in self.hypothesis:
            return None
        place = self.hypothesis.index(fault)
        if self.severity[place] is None:
            return None
        return sum(value is not None for value in self.severity[:place])


@dataclass(frozen=True, slots=True)
class CardSensitivity:
    """What the card and the model do not know, as covariance of the predictions over ``places``.

    card: one row per place of d reading / d card parameter times that parameter's sigma (J).
    factors: one row per place of shared model discrepancy, one sigma per column (may have no columns).
    diagonal: per place the sigma of model discrepancy of that place alone; every reading of the place
        shares it, whoever reads it, so it does not average away.
    """

    card: tuple[tuple[float, ...], ...]
    factors: tuple[tuple[float, ...], ...]
    diagonal: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DiscreteTerm:
    """Evidence with a closed list of values: a sighting, a complaint, a check, the outcome of a repair.

    item: id used in explanations.
    logs: log P(what was seen | hypothesis) [nats], for every listed hypothesis.
    not_listed: the same for a fault that is not listed.
    observed: what was seen, carried through to explanations.
    """

    item: str
    logs: Mapping[HypothesisKey, float]
    not_listed: float
    observed: str = ""


@dataclass(frozen=True, slots=True)
class CellSighting:
    """Names one column of ``Cell.sightings``; ``not_listed`` is its log-likelihood for a fault not listed."""

    item: str
    not_listed: float
    observed: str = ""


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything a belief starts from; readings and discrete terms are added to it one by one.

    places: names of the readings the cells predict, each once.
    priors: prior chance of each listed hypothesis, ``NONE`` included; normalised to
        ``1 - not_listed_prior`` when used.
    cells: severity cells of all listed hypotheses, at least one each.
    sensitivity: uncertainty of the predictions of every hypothesis not in ``own_sensitivity``.
    not_listed_prior: chance of something that is not listed, 0 to 0.5; 0.02 to 0.05 is usual.
    cell_sightings: names of the columns of ``Cell.sightings``.
    own_sensitivity: hypotheses whose uncertainty differs from the healthy machine's.
    """

    places: tuple[str, ...]
    priors: Mapping[HypothesisKey, float]
    cells: tuple[Cell, ...]
    sensitivity: CardSensitivity
    not_listed_prior: float = 0.03
    cell_sightings: tuple[CellSighting, ...] = ()
    own_sensitivity: Mapping[HypothesisKey, CardSensitivity] = field(default_factory=dict)


def check_problem(problem: Problem) -> None:
    """Raise InputErrors naming everything in ``problem`` that does not fit together."""
    found = [*_prior_problems(problem), *_sensitivity_problems(problem)]
    if len(set(problem.places)) != len(problem.places):
        found.append(InputError("places", problem.places, "each place once", "Remove the repeats."))
    for index, cell in enumerate(problem.cells):
        found += _cell_problems(problem, cell, f"cells[{index}] of {cell.hypothesis}")
    if found:
        raise InputErrors(found)


def _prior_problems(problem: Problem) -> list[InputError]:
    found = []
    with_cells = {cell.hypothesis for cell in problem.cells}
    if with_cells != set(problem.priors):
        odd = sorted(with_cells ^ set(problem.priors))
        found.append(InputError("priors", odd, "the hypotheses that have cells", "Give each both or none."))
    values = list(problem.priors.values())
    if not all(0.0 <= value < math.inf for value in values) or not any(values):
        found.append(InputError("priors", values, "0 or more, not all 0", "Give every prior chance."))
    if not 0.0 <= problem.not_listed_prior <= 0.5:
        value = problem.not_listed_prior
        found.append(InputError("not_listed_prior", value, "0 to 0.5", "0.02 to 0.05 is usual."))
    found += [
        InputError("priors", key, "a sorted tuple of listed fault ids", "Sort the ids.")
        for key in problem.priors
        if list(key) != sorted(set(key)) or key == NOT_LISTED
    ]
    return found


def _sensitivity_problems(problem: Problem) -> list[InputError]:
    size = len(problem.places)
    found = []
    for given in (problem.sensitivity, *problem.own_sensitivity.values()):
        lengths = (len(given.card), len(given.factors), len(given.diagonal))
        if lengths != (size, size, size):
            found.append(InputError("sensitivity", lengths, f"{size} rows each", "Give one row per place."))
    return found


def _cell_problems(problem: Problem, cell: Cell, where: str) -> list[InputError]:
    size = len(problem.places)
    rules = (
        ("mean", len(cell.mean) == size and all(map(math.isfinite, cell.mean)), f"{size} finite numbers"),
        (
            "slopes",
            all(len(slope) == size and all(map(math.isfinite, slope)) for slope in cell.slopes),
            f"{size} finite numbers each",
        ),
        ("severity", len(cell.severity) == len(cell.hypothesis), "one per fault, None where it has none"),
        ("half_widths", len(cell.half_widths) == len(cell.severity), "one per fault"),
        ("slopes", len(cell.slopes) >= cell.severities, "one per severity that is not None, or more"),
        ("sigma_scale", 0.0 < cell.sigma_scale < math.inf, "above 0"),
        ("sightings", len(cell.sightings) == len(problem.cell_sightings), "one per cell sighting"),
    )
    return [
        InputError(f"{where}: {name}", getattr(cell, name), allowed, "Build the cell again.")
        for name, fine, allowed in rules
        if not fine
    ]
