"""What a unit should read now: the operating point, with the band that would not surprise."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import hypot, sqrt
from typing import Any

from holdcold.cards import Fact, Resolved
from holdcold.cards.sharpened import Sharpened
from holdcold.cycle import HEALTHY, Conditions, Faults, OperatingPoint, build, solve
from holdcold.cycle.unit import Unit
from holdcold.errors import InputError
from holdcold.numerics.linear import cholesky

_NINETY = 1.6449
"""Half-width of a 90 % band in standard deviations of a normal distribution."""


@dataclass(frozen=True, slots=True)
class Band:
    """A predicted reading, SI: ``value``, and the 90 % range of card and model around it.

    card_sigma, model_sigma: standard deviations from the card's assumptions and from the model.
    """

    value: float
    low: float
    high: float
    card_sigma: float
    model_sigma: float


@dataclass(frozen=True, slots=True)
class Sharpening:
    """One assumption worth measuring: the share of all card uncertainty that it carries (0 to 1)."""

    fact: Fact
    share: float
    moves: str


@dataclass(frozen=True, slots=True)
class Normal:
    """What a unit should read in given conditions.

    point: the operating point of the card as it stands. readings: bands by place.
    effects: per uncertain fact, what one standard deviation of it does to each reading. Facts that
    hang together after proved-good readings each carry what the facts before them do not: the effects
    are independent of one another.
    uncertain: facts that were moved. assumed: those of them nobody gave. sharpen: assumptions worth
    measuring, the heaviest first.
    """

    unit: Unit
    conditions: Conditions
    point: OperatingPoint
    readings: Mapping[str, Band]
    effects: Mapping[str, Mapping[str, float]]
    uncertain: tuple[Fact, ...]
    assumed: tuple[Fact, ...]
    sharpen: tuple[Sharpening, ...]


@cache
def _file() -> dict[str, Any]:
    text = files("holdcold.diagnosis").joinpath("data/model_error.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def _errors(device: str = "") -> Mapping[str, tuple[float, float]]:
    rows = {**_file()["error"], **_file().get(device, {})}
    return {place: (row["relative"], row["absolute"]) for place, row in rows.items()}


def model_version() -> str:
    """Return the version of the data on the model's own error."""
    return str(_file()["version"])


def model_sigma(place: str, value: float, pressure_spread: float = 0.0, device: str = "") -> float:
    """Return the standard deviation of the model's own error at ``place`` for a predicted value [SI].

    pressure_spread: what other models of the refrigerant differ by, as a share of a pressure; two
    standard deviations (``FluidInfo.pressure_spread``). device: ``"capillary"`` for a machine fed by a
    capillary tube, whose parts hang together in ways a card does not tell.
    """
    relative, absolute = _errors("capillary" if device == "capillary" else "").get(place, (0.1, 0.0))
    if "_pa" in place:
        relative = hypot(relative, 0.5 * pressure_spread)
    return hypot(relative * value, absolute)


def normal(resolved: Resolved, conditions: Conditions, faults: Faults = HEALTHY) -> Normal:
    """Return what the unit of a card should read.

    resolved: a card with its assumptions. conditions: surroundings, supply, running or not.
    faults: healthy by default; a fault left in place moves the band as well as the value.
    Every uncertain fact is moved one standard deviation up and down and the machine solved again, so
    the bands carry what the card does not know; the model's own error comes from dated data.
    Raises InputError when the card's ratings contradict each other.
    """
    unit = build(resolved.design)
    point = solve(unit, conditions, faults)
    uncertain = tuple(fact for fact in resolved.facts if fact.uncertain)
    alone = {fact.name: _effect(resolved, fact, conditions, faults, point) for fact in uncertain}
    effects = _independent(alone, resolved.sharpened)
    spread = unit.fluid.info.pressure_spread
    device = resolved.design.expansion
    readings = {
        place: _band(value, effects, place, model_sigma(place, value, spread, device))
        for place, value in point.readings.items()
    }
    assumed = tuple(fact for fact in uncertain if fact.origin == "assumed")
    worth = _sharpen(assumed, effects, readings)
    return Normal(unit, conditions, point, readings, effects, uncertain, assumed, worth)


def _band(value: float, effects: Mapping[str, Mapping[str, float]], place: str, own: float) -> Band:
    variance = 0.0
    for effect in effects.values():
        variance += effect.get(place, 0.0) ** 2
    half = _NINETY * sqrt(variance + own * own)
    low = value - half
    if value >= 0.0 and not place.endswith("_pa"):
        low = max(low, 0.0)
    return Band(value, low, value + half, sqrt(variance), own)


def _effect(
    resolved: Resolved, fact: Fact, conditions: Conditions, faults: Faults, point: OperatingPoint
) -> dict[str, float]:
    """Return what one standard deviation of ``fact`` does to every reading.

    Half the difference of up and down; of one side alone where the other is no possible machine.
    """
    sides = []
    for sign in (1.0, -1.0):
        value = min(max(fact.value_si + sign * fact.spread_si, fact.least_si), fact.most_si)
        try:
            unit = build(resolved.design_with({fact.name: value}))
        except InputError:
            sides.append((point.readings, fact.value_si))
        else:
            sides.append((solve(unit, conditions, faults, point.start).readings, value))
    (up, high), (down, low) = sides
    if high == low:
        return {}
    scale = fact.spread_si / (high - low)
    return {
        place: (up[place] - down[place]) * scale for place in point.readings if place in up and place in down
    }


def _independent(
    effects: Mapping[str, Mapping[str, float]], sharpened: Sharpened | None
) -> Mapping[str, Mapping[str, float]]:
    """Return effects whose squares add up, for facts whose errors hang together.

    The errors are L times independent ones, with L the Cholesky factor of their correlations.
    """
    if sharpened is None:
        return effects
    names = [fact.name for fact in sharpened.facts]
    lower = cholesky(sharpened.together).lower
    found: dict[str, Mapping[str, float]] = dict(effects)
    for column, name in enumerate(names):
        mixed: dict[str, float] = {}
        for row in range(column, len(names)):
            weight = lower[row][column]
            for place, shift in effects.get(names[row], {}).items():
                mixed[place] = mixed.get(place, 0.0) + weight * shift
        if name in found:
            found[name] = mixed
    return found


def _sharpen(
    assumed: tuple[Fact, ...], effects: Mapping[str, Mapping[str, float]], readings: Mapping[str, Band]
) -> tuple[Sharpening, ...]:
    """Rank the assumptions by the share of the standardised card variance they carry over all readings."""
    weights = {}
    for name, effect in effects.items():
        total = 0.0
        for place, shift in effect.items():
            band = readings[place]
            total += shift * shift / (band.card_sigma**2 + band.model_sigma**2 or 1.0)
        weights[name] = total
    overall = 0.0
    for weight in weights.values():
        overall += weight
    ranked = []
    for fact in assumed:
        if weights.get(fact.name, 0.0) > 0.0 and fact.hint:
            effect = effects[fact.name]
            moves = max(
                effect,
                key=lambda place: (
                    abs(effect[place]) / hypot(readings[place].model_sigma, readings[place].card_sigma)
                ),
            )
            ranked.append(Sharpening(fact, weights[fact.name] / overall, moves))
    return tuple(sorted(ranked, key=lambda item: (-item.share, item.fact.name)))
