"""What proved-good readings say of a unit: its assumed sizes, narrowed and kept on the card."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holdcold.cards import Fact
from holdcold.diagnosis.case import Observation
from holdcold.diagnosis.normal import Normal
from holdcold.errors import InputError
from holdcold.numerics.linear import cholesky

_LEAST_GAIN = 0.05
"""A fact whose spread shrinks by less than this share is left as it was."""

_SUSPICIOUS = 3.5
"""Readings further from the prediction than this many sigmas together are no proof of a good machine."""


@dataclass(frozen=True, slots=True)
class Sharpened:
    """One fact after the readings: value and spread [SI], before and after."""

    fact: Fact
    value_si: float
    spread_si: float

    @property
    def narrowed(self) -> float:
        """Share of the spread that is gone (0 to 1)."""
        return 1.0 - self.spread_si / self.fact.spread_si


def sharpen(normal: Normal, observations: Sequence[Observation]) -> tuple[Sharpened, ...]:
    """Return the uncertain facts of a card as readings of a machine proved good leave them.

    normal: the healthy prediction in the conditions of the readings, from the card as it stands.
    observations: the readings with their instruments. The facts move linearly with the readings round
    the card's values; instrument bias and model error stay in the spread, so that no number of
    readings by one gauge makes a card more certain than the gauge. Raises InputError when the readings
    do not fit a healthy machine of this card: then they prove nothing about its sizes.
    Method: one Kalman update (Gelb 1974, Applied Optimal Estimation, section 4.2) of the facts, each in
    units of its own spread.
    """
    names = [name for name, effect in normal.effects.items() if effect]
    kept = [one for one in observations if one.place in normal.readings]
    if not kept:
        raise InputError(
            "readings", 0, "at least one that the unit predicts", "Take pressures, clamps or amps."
        )
    sensitivity = [[normal.effects[name].get(one.place, 0.0) for name in names] for one in kept]
    residuals = [one.value - normal.readings[one.place].value for one in kept]
    covariance = _covariance(normal, kept, sensitivity)
    factor = cholesky(covariance)
    solved = factor.solve(residuals)
    _refuse_misfit(residuals, solved)
    facts = {fact.name: fact for fact in normal.uncertain}
    found = []
    for column, name in enumerate(names):
        gains = [row[column] for row in sensitivity]
        shift = math.fsum(gain * value for gain, value in zip(gains, solved, strict=True))
        shrunk = factor.solve(gains)
        variance = 1.0 - math.fsum(gain * value for gain, value in zip(gains, shrunk, strict=True))
        fact = facts[name]
        spread = fact.spread_si * math.sqrt(max(variance, 1e-6))
        if spread < (1.0 - _LEAST_GAIN) * fact.spread_si:
            value = min(max(fact.value_si + shift * fact.spread_si, fact.least_si), fact.most_si)
            found.append(Sharpened(fact, value, spread))
    return tuple(sorted(found, key=lambda one: (-round(one.narrowed, 9), one.fact.name)))


def _covariance(
    normal: Normal, kept: Sequence[Observation], sensitivity: Sequence[Sequence[float]]
) -> list[list[float]]:
    """Return the covariance of the readings: facts, model error by place, instrument bias and noise."""
    rows = []
    for i, one in enumerate(kept):
        row = []
        for j, other in enumerate(kept):
            value = math.fsum(a * b for a, b in zip(sensitivity[i], sensitivity[j], strict=True))
            if one.place == other.place:
                value += normal.readings[one.place].model_sigma ** 2
            if one.instrument_id == other.instrument_id:
                value += one.bias_sigma * other.bias_sigma
            if i == j:
                value += one.sigma**2
            row.append(value)
        rows.append(row)
    return rows


def _refuse_misfit(residuals: Sequence[float], solved: Sequence[float]) -> None:
    """Raise InputError when the readings lie too far out together (Mahalanobis distance per reading)."""
    distance = math.fsum(a * b for a, b in zip(residuals, solved, strict=True))
    count = len(residuals)
    if distance > count + _SUSPICIOUS * math.sqrt(2.0 * count):
        raise InputError(
            "readings",
            f"squared distance {distance:.1f} for {count} readings",
            f"below {count + _SUSPICIOUS * math.sqrt(2.0 * count):.1f}",
            "They do not fit a healthy machine of this card: find what is wrong, or correct the card.",
        )
