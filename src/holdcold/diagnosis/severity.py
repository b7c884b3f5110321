"""How bad a fault would be: the severity left by the evidence, as mean and band."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from holdcold.diagnosis.weigh import Part, Weighed
from holdcold.numerics.linear import cholesky

BAND = 0.90

COMPONENT_FLOOR = 1e-3
"""Cells with less than this share of a fault's chance do not shape its band."""

CONFIGURATION_FLOOR = 0.01
"""Lies with less than this share of a cell's chance do not shape the band."""


_FINEST = 1e-7
_MOST_STEPS = 60
_ROOT_HALF = math.sqrt(0.5)
_NORMAL_TOP = 1.0 / math.sqrt(2.0 * math.pi)


@dataclass(frozen=True, slots=True)
class Severity:
    """Severity of a fault, given that it is present: mean and 90 % band [unit of the fault]."""

    mean: float
    low: float
    high: float


class Component(NamedTuple):
    """One normal of a mixture: weight (any scale), mean and sigma."""

    weight: float
    mean: float
    sigma: float


def free_moments(part: Part, offset: int, lying: Sequence[int]) -> tuple[list[float], list[float]]:
    """Return mean and sigma of every free direction of one cell, in units of its prior sigma.

    offset: place of the cell in the part. lying: indices of the instruments taken to lie; their lies
    are integrated out.
    """
    block, directions = part.block, part.directions
    count = len(block.pulls)
    own = [numbers[offset] for numbers in block.which]
    rows = [
        [*(column[offset] for column in row), directions.squares[number]]
        for row, number in zip(block.crosses, own, strict=True)
    ]
    right = [column[offset] for column in block.pulls]
    for place, instrument in enumerate(lying):
        shears = [directions.shears[instrument][number] for number in own]
        rows.append([*shears, *(part.frame.gram[instrument][other] for other in lying[: place + 1])])
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
    return [(share, *free_moments(part, offset, lying)) for lying, share in kept]


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
                for (fault, middle, half, place), chance in wanted.items():
                    mean, sigma = (means[place], sigmas[place]) if place >= 0 else (0.0, 1.0)
                    found[fault].append(Component(chance * share, middle + half * mean, half * sigma))
    limits = weighed.belief.severity_limits
    return {fault: summarise(parts, *limits[fault]) for fault, parts in found.items() if parts}


_Wanted = tuple[str, float, float, int]
"""A fault, middle and half-width of its severity, and its place among the free directions or -1."""


def _wanted(weighed: Weighed, first: int, floors: Mapping[str, float]) -> dict[_Wanted, float]:
    """Return the severities a set of twins gives the band of each fault, with the chance of each."""
    found: dict[_Wanted, float] = {}
    least = min(floors.values(), default=math.inf)
    belief = weighed.belief
    if weighed.sets[first] < least:
        return found
    for index in belief.twins[first]:
        chance = weighed.cells[index]
        if chance < least:
            continue
        cell = belief.problem.cells[index]
        place = 0
        for fault, middle, half in zip(cell.hypothesis, cell.severity, cell.half_widths, strict=True):
            if middle is None:
                continue
            if chance >= floors.get(fault, math.inf):
                key = (fault, middle, half, belief.slope_places[index][place])
                found[key] = found.get(key, 0.0) + chance
            place += 1
    return found


def summarise(components: Sequence[Component], lowest: float, highest: float) -> Severity:
    """Return mean and 90 % band of a mixture of normals, held inside ``lowest`` to ``highest``."""
    total = math.fsum(part.weight for part in components)
    mean = math.fsum(part.weight * part.mean for part in components) / total
    tail = 0.5 * (1.0 - BAND)
    low, high = (_quantile(components, share * total, lowest, highest) for share in (tail, 1.0 - tail))
    return Severity(min(max(mean, lowest), highest), low, high)


def _quantile(components: Sequence[Component], mass: float, lowest: float, highest: float) -> float:
    """Return the value below which ``mass`` lies, held inside ``lowest`` to ``highest``.

    Newton's steps inside a bracket that is halved where a step would leave it, to 1e-7 of the range.
    """
    low, high = lowest, highest
    nearest = _FINEST * (highest - lowest)
    value = 0.5 * (low + high)
    for _ in range(_MOST_STEPS):
        below, density = _mass_below(components, value)
        if below < mass:
            low = value
        else:
            high = value
        step = (mass - below) / density if density > 0.0 else math.inf
        moved = value + step
        if not low < moved < high:
            moved = 0.5 * (low + high)
        if abs(moved - value) < nearest:
            return moved
        value = moved
    return value


def _mass_below(components: Sequence[Component], value: float) -> tuple[float, float]:
    """Return the mass of a mixture below a value, and its density there."""
    total = density = 0.0
    erfc, exp = math.erfc, math.exp
    for weight, mean, sigma in components:
        if sigma > 0.0:
            z = (value - mean) / sigma
            total += 0.5 * weight * erfc(-z * _ROOT_HALF)
            density += weight * exp(-0.5 * z * z) / sigma
        elif mean <= value:
            total += weight
    return total, density * _NORMAL_TOP


def _presence(weighed: Weighed) -> dict[str, float]:
    totals: dict[str, float] = {}
    for cell, chance in zip(weighed.belief.problem.cells, weighed.cells, strict=True):
        for fault in cell.hypothesis:
            totals[fault] = totals.get(fault, 0.0) + chance
    return totals
