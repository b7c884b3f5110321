"""How bad a fault would be: the severity left by the evidence, as mean and band."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from holdcold.diagnosis.case import Cell
from holdcold.diagnosis.gaussian import Block, Frame
from holdcold.diagnosis.weigh import Part, Weighed
from holdcold.numerics.linear import cholesky

BAND = 0.90

COMPONENT_FLOOR = 1e-3
"""Cells with less than this share of a fault's chance do not shape its band."""

CONFIGURATION_FLOOR = 0.01
"""Lies with less than this share of a cell's chance do not shape the band."""


@dataclass(frozen=True, slots=True)
class Severity:
    """Severity of a fault, given that it is present: mean and 90 % band [unit of the fault]."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Component:
    """One normal of a mixture: weight (any scale), mean and sigma."""

    weight: float
    mean: float
    sigma: float


def free_moments(
    frame: Frame, block: Block, offset: int, lying: Sequence[int]
) -> tuple[list[float], list[float]]:
    """Return mean and sigma of every free direction of one cell, in units of its prior sigma.

    offset: place of the cell in the block. lying: indices of the instruments taken to lie; their lies
    are integrated out.
    """
    count = len(block.pulls)
    rows = [[column[offset] for column in row] for row in block.stiffness]
    right = [column[offset] for column in block.pulls]
    for place, instrument in enumerate(lying):
        shears = [column[offset] for column in block.lie_shears[instrument]]
        rows.append([*shears, *(frame.gram[instrument][other] for other in lying[: place + 1])])
        right.append(block.lie_pulls[instrument][offset])
    for index, row in enumerate(rows):
        row[index] += 1.0
    factor = cholesky(rows)
    sigmas = []
    for k in range(count):
        unit = [float(index == k) for index in range(len(rows))]
        sigmas.append(math.sqrt(factor.solve(unit)[k]))
    return factor.solve(right)[:count], sigmas


def cell_moments(weighed: Weighed, part: Part, offset: int) -> list[tuple[float, list[float], list[float]]]:
    """Return (share, means, sigmas) of the free directions of one cell for every likely set of liars.

    The shares need not sum to 1: sets below ``CONFIGURATION_FLOOR`` are left out, never the likeliest.
    """
    sets = sorted(weighed.configurations(part, offset), key=lambda found: -found[1])
    kept = sets[:1] + [found for found in sets[1:] if found[1] > CONFIGURATION_FLOOR]
    return [(share, *free_moments(part.frame, part.block, offset, lying)) for lying, share in kept]


def severities(weighed: Weighed, faults: Sequence[str]) -> dict[str, Severity]:
    """Return the severity of each of ``faults`` that has one, given that it is present."""
    totals = _presence(weighed)
    floors = {fault: COMPONENT_FLOOR * totals[fault] for fault in faults}
    found: dict[str, list[Component]] = {fault: [] for fault in faults}
    for part in weighed.parts:
        for offset, first in enumerate(part.indices):
            wanted = _wanted(weighed, first, floors)
            if not wanted:
                continue
            for share, means, sigmas in cell_moments(weighed, part, offset):
                for cell, chance, fault in wanted:
                    found[fault] += _component(cell, fault, chance * share, means, sigmas)
    limits = weighed.belief.severity_limits
    return {fault: summarise(parts, *limits[fault]) for fault, parts in found.items() if parts}


def _wanted(weighed: Weighed, first: int, floors: Mapping[str, float]) -> list[tuple[Cell, float, str]]:
    """Return the faults of a set of twins that shape a band: cell, its chance, fault."""
    found = []
    for index in weighed.belief.twins[first]:
        cell, chance = weighed.belief.problem.cells[index], weighed.cells[index]
        found += [(cell, chance, fault) for fault in cell.hypothesis if chance >= floors.get(fault, math.inf)]
    return found


def _component(
    cell: Cell, fault: str, weight: float, means: Sequence[float], sigmas: Sequence[float]
) -> list[Component]:
    """Severity of ``fault`` in one cell as a normal; none when it has no severity there."""
    direction = cell.direction(fault)
    place = cell.hypothesis.index(fault)
    middle = cell.severity[place]
    if direction is None or middle is None:
        return []
    half = cell.half_widths[place]
    return [Component(weight, middle + half * means[direction], half * sigmas[direction])]


def summarise(components: Sequence[Component], lowest: float, highest: float) -> Severity:
    """Return mean and 90 % band of a mixture of normals, held inside ``lowest`` to ``highest``."""
    total = math.fsum(part.weight for part in components)
    mean = math.fsum(part.weight * part.mean for part in components) / total
    tail = 0.5 * (1.0 - BAND)
    low, high = (_quantile(components, share * total, lowest, highest) for share in (tail, 1.0 - tail))
    return Severity(min(max(mean, lowest), highest), low, high)


def _quantile(components: Sequence[Component], mass: float, lowest: float, highest: float) -> float:
    """Bisect for the value below which ``mass`` lies; 24 halvings, the same on every machine."""
    low, high = lowest, highest
    for _ in range(24):
        middle = 0.5 * (low + high)
        if _mass_below(components, middle) < mass:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _mass_below(components: Sequence[Component], value: float) -> float:
    total = 0.0
    for part in components:
        if part.sigma > 0.0:
            total += part.weight * 0.5 * math.erfc((part.mean - value) / (part.sigma * math.sqrt(2.0)))
        elif part.mean <= value:
            total += part.weight
    return total


def _presence(weighed: Weighed) -> dict[str, float]:
    totals: dict[str, float] = {}
    for cell, chance in zip(weighed.belief.problem.cells, weighed.cells, strict=True):
        for fault in cell.hypothesis:
            totals[fault] = totals.get(fault, 0.0) + chance
    return totals
