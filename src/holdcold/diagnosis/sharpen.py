"""What proved-good readings say of a unit: its assumed sizes, narrowed, to be kept on its card.

All visits are weighed together, from the card as it is without them, every time. So the order of the
visits does not matter, a visit can be taken back, and what the visits share is shared: the error of
an instrument is one number for all its readings on all visits, and the model's own error at a place is
the same on two visits in the same weather. No number of readings by one gauge makes a card more certain
than the gauge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from holdcold.cards import Card, Fact, Resolved, resolve
from holdcold.cards.sharpened import Sharpened, SharpFact, Visit
from holdcold.cards.sharpened_write import as_written
from holdcold.cycle import HEALTHY, Conditions, build, solve
from holdcold.diagnosis.case import Observation
from holdcold.diagnosis.normal import Normal, normal
from holdcold.diagnosis.observe import observation
from holdcold.errors import InputError
from holdcold.numerics.linear import Cholesky, cholesky, forward
from holdcold.quantities.instruments import instrument

_LEAST_GAIN = 0.002
"""A fact whose spread shrinks by less than this share is left as it was."""

_SUSPICIOUS = 3.5
"""Readings further from the prediction than this many sigmas together are no proof of a good machine."""

_MOST_VISITS = 24
_STEPS = 6
_HALVINGS = 6
_WHOLE_STEPS = 2
_SETTLED = 0.1
_AIR_K = 0.5
"""How well air into condenser and coil is known when it was measured (standard deviation) [K]."""

_LASTING = 0.5
_AMBIENT_REACH_K = 5.0
_BOX_REACH_K = 3.0
"""Half of the model's error at a place (as variance) belongs to the unit for good, the other half to
the surroundings, and fades over these differences. Practice estimates; common practice, no source."""


@dataclass(frozen=True)
class _Look:
    """One visit beside the prediction of it: ``row`` and ``gap`` hold one entry for each reading.

    rows: what one spread of each fact does to the reading. air: what one sigma of ambient and of box air
    does. gaps: reading minus prediction.
    """

    visit: Visit
    readings: tuple[Observation, ...]
    model: tuple[float, ...]
    rows: tuple[tuple[float, ...], ...]
    air: tuple[tuple[float, ...], ...]
    gaps: tuple[float, ...]


@dataclass(frozen=True)
class _Fit:
    """Facts after the visits, each in its own spread: ``shifts``, and the ``covariance`` that is left.

    factor: of the covariance of all readings. gaps: reading minus prediction before the facts were moved.
    """

    shifts: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    factor: Cholesky
    gaps: tuple[float, ...]

    @property
    def left(self) -> tuple[float, ...]:
        """Share of each spread that is left."""
        return tuple(math.sqrt(max(row[number], 1e-4)) for number, row in enumerate(self.covariance))


def sharpen(card: Card, visits: Sequence[Visit], engine: str = "", data: str = "") -> Sharpened:
    """Return the section that readings of a machine proved good put on its card.

    card: of the unit; a section it has already is left aside, so its visits belong into ``visits``.
    visits: in order, the newest last; of many the last 24 count. engine, data: versions, for the record.
    Raises InputError when the readings do not fit a healthy machine of this card (then they prove
    nothing about its sizes), or when the unit cannot run steadily in the conditions of a visit.
    Method: Kalman update (Gelb 1974, Applied Optimal Estimation, section 4.2) of all uncertain facts, each
    in units of its own spread, repeated round the result until it settles (iterated extended filter,
    Gelb section 6.1). Errors shared by readings stand in their covariance.
    """
    base = resolve(replace(card, sharpened=None))
    facts = base.uncertain()
    counted = tuple(visits)[-_MOST_VISITS:]
    shifts: tuple[float, ...] = (0.0,) * len(facts)
    left = (1.0,) * len(facts)
    for number in range(_STEPS):
        moved = _moved(base, facts, shifts, left)
        looks = [_look(moved, facts, visit, left) for visit in counted]
        fit = _fit(looks, shifts)
        before, left = shifts, fit.left
        shifts = _possible(base, facts, before, fit.shifts, 1.0 if number < _WHOLE_STEPS else 0.5)
        if max(abs(new - old) for new, old in zip(shifts, before, strict=True)) < _SETTLED:
            break
    _refuse_misfit(looks, fit)
    section = _section(facts, _moved(base, facts, shifts, left), fit, tuple(visits))
    return as_written(replace(section, engine=engine, data=data, card=base.digest()))


def _moved(
    base: Resolved, facts: Sequence[Fact], shifts: Sequence[float], steps: Sequence[float]
) -> Resolved:
    """Return the unit with each fact moved by so many of its spreads, ``steps`` of a spread left."""
    return base.shifted(
        {fact.name: by * fact.spread_si for fact, by in zip(facts, shifts, strict=True)},
        {fact.name: step * fact.spread_si for fact, step in zip(facts, steps, strict=True)},
    )


def _possible(
    base: Resolved, facts: Sequence[Fact], here: tuple[float, ...], there: tuple[float, ...], share: float
) -> tuple[float, ...]:
    """Return the point a ``share`` of the way from ``here`` to ``there``, nearer if that is no machine."""
    for _ in range(_HALVINGS):
        point = tuple(a + share * (b - a) for a, b in zip(here, there, strict=True))
        try:
            build(_moved(base, facts, point, (1.0,) * len(facts)).design)
        except InputError:
            share *= 0.5
        else:
            return point
    return here


def _section(facts: Sequence[Fact], moved: Resolved, fit: _Fit, visits: tuple[Visit, ...]) -> Sharpened:
    """Return the facts that the visits narrowed, with the correlations of what is left."""
    last = visits[-1]
    left = fit.left
    kept = [number for number, spread in enumerate(left) if spread <= 1.0 - _LEAST_GAIN]
    rows = tuple(
        SharpFact(
            facts[number].name,
            moved.fact(facts[number].name).value_si,
            left[number] * facts[number].spread_si,
            facts[number].value_si,
            facts[number].spread_si,
            last.date,
            last.call,
        )
        for number in kept
    )
    together = tuple(
        (*(fit.covariance[one][other] / (left[one] * left[other]) for other in kept[:place]), 1.0)
        for place, one in enumerate(kept)
    )
    return Sharpened(rows, together, visits)


def _look(unit: Resolved, facts: Sequence[Fact], visit: Visit, steps: Sequence[float]) -> _Look:
    """Return a visit beside what the unit should have read; readings it does not predict are left out."""
    here = Conditions(visit.ambient_k, visit.box_k, visit.supply_ratio)
    found = normal(unit, here)
    _refuse_unsteady(found, visit)
    readings = tuple(
        observation(one.place, one.value_si, instrument(one.instrument_class), one.instrument_id)
        for one in visit.readings
        if one.place in found.readings
    )
    if not readings:
        raise InputError(
            f"readings of {visit.date}", len(visit.readings), "at least one that the unit predicts",
            "Take pressures, clamps or amps.",
        )  # fmt: skip
    air, effects = _air(found, here), _effects(found, facts, steps)
    return _Look(
        visit,
        readings,
        tuple(found.readings[one.place].model_sigma for one in readings),
        tuple(tuple(effect.get(one.place, 0.0) for effect in effects) for one in readings),
        tuple(tuple(side.get(one.place, 0.0) for side in air) for one in readings),
        tuple(one.value - found.readings[one.place].value for one in readings),
    )


def _effects(found: Normal, facts: Sequence[Fact], steps: Sequence[float]) -> list[dict[str, float]]:
    """Return what one whole spread of each fact does to each reading; they were moved by ``steps`` of it."""
    return [
        {place: shift / step for place, shift in found.effects.get(fact.name, {}).items()}
        for fact, step in zip(facts, steps, strict=True)
    ]


def _refuse_unsteady(found: Normal, visit: Visit) -> None:
    """Raise InputError where the unit would not stand still long enough to be read."""
    cycling = "fans_cycling" in found.point.regime
    if found.point.state == "running" and not cycling:
        return
    why = "its fans cycle on head pressure there" if cycling else "it would not run steadily there"
    raise InputError(
        f"readings of {visit.date}",
        f"{visit.ambient_k - 273.15:.1f} C ambient, {visit.box_k - 273.15:.1f} C box",
        "surroundings in which a healthy unit of this card runs steadily",
        f"These readings cannot teach anything, because {why}. Read it on a warmer day, box near set point.",
    )


def _air(found: Normal, here: Conditions) -> list[dict[str, float]]:
    """Return what one sigma of the air temperatures does to each reading."""
    usual = found.point.readings
    sides = []
    for name in ("ambient_k", "box_k"):
        warmer = replace(here, **{name: getattr(here, name) + _AIR_K})
        other = solve(found.unit, warmer, HEALTHY, found.point.start).readings
        sides.append({place: other[place] - usual[place] for place in usual if place in other})
    return sides


def _fit(looks: Sequence[_Look], shifts: Sequence[float]) -> _Fit:
    """Return the facts after all readings; ``shifts``: where the prediction was made."""
    rows = [row for look in looks for row in look.rows]
    gaps = tuple(
        gap + math.fsum(a * b for a, b in zip(row, shifts, strict=True))
        for look in looks
        for row, gap in zip(look.rows, look.gaps, strict=True)
    )
    factor = cholesky(_covariance(looks))
    whitened = forward(factor.lower, gaps)
    columns = [forward(factor.lower, [row[number] for row in rows]) for number in range(len(shifts))]
    found = tuple(math.fsum(a * b for a, b in zip(column, whitened, strict=True)) for column in columns)
    covariance = tuple(
        tuple(
            (i == j) - math.fsum(a * b for a, b in zip(one, other, strict=True))
            for j, other in enumerate(columns)
        )
        for i, one in enumerate(columns)
    )
    return _Fit(found, covariance, factor, gaps)


def _covariance(looks: Sequence[_Look]) -> list[list[float]]:
    """Return the covariance of all readings, the uncertain facts of the card included (lower triangle)."""
    every = [(look, number) for look in looks for number in range(len(look.readings))]
    return [
        [_shared(*one, *other, same=i == j) for j, other in enumerate(every[: i + 1])]
        for i, one in enumerate(every)
    ]


def _shared(look: _Look, i: int, other: _Look, j: int, *, same: bool) -> float:
    """Return the covariance of two readings: facts, model, instrument, air, and noise of one reading."""
    one, two = look.readings[i], other.readings[j]
    value = math.fsum(a * b for a, b in zip(look.rows[i], other.rows[j], strict=True))
    if one.place == two.place:
        value += look.model[i] * other.model[j] * _alike(look.visit, other.visit)
    if one.instrument_id == two.instrument_id:
        value += one.bias_sigma * two.bias_sigma
    if look is other:
        value += math.fsum(a * b for a, b in zip(look.air[i], other.air[j], strict=True))
    return value + one.sigma**2 if same else value


def _alike(one: Visit, other: Visit) -> float:
    """Return how far the model's error on two visits is the same error, 0.5 to 1."""
    ambient = (one.ambient_k - other.ambient_k) / _AMBIENT_REACH_K
    box = (one.box_k - other.box_k) / _BOX_REACH_K
    return _LASTING + (1.0 - _LASTING) * math.exp(-0.5 * (ambient * ambient + box * box))


def _refuse_misfit(looks: Sequence[_Look], fit: _Fit) -> None:
    """Raise InputError when a visit lies too far from what card and earlier visits leave open.

    Squared Mahalanobis distance of each visit given those before it: a chi-square of as many readings.
    """
    whitened = forward(fit.factor.lower, fit.gaps)
    start = 0
    for number, look in enumerate(looks):
        count = len(look.readings)
        distance = math.fsum(value * value for value in whitened[start : start + count])
        most = count + _SUSPICIOUS * math.sqrt(2.0 * count)
        if distance > most:
            earlier = " and its earlier visits" if number else ""
            raise InputError(
                f"readings of {look.visit.date}",
                f"squared distance {distance:.1f} for {count} readings; {_worst(looks, fit, look)}",
                f"below {most:.1f}",
                f"They do not fit a healthy machine of this card{earlier}: find what is wrong, or correct "
                "the card.",
            )
        start += count


def _worst(looks: Sequence[_Look], fit: _Fit, look: _Look) -> str:
    """Return which reading of a visit stands out most from what all others say, and how far."""
    solved = fit.factor.solve(fit.gaps)
    start = 0
    for earlier in looks:
        if earlier is look:
            break
        start += len(earlier.readings)
    found = []
    for number, one in enumerate(look.readings, start=start):
        unit = [float(place == number) for place in range(len(solved))]
        sigmas = solved[number] / math.sqrt(fit.factor.solve(unit)[number])
        found.append((abs(sigmas), one.place, "high" if sigmas > 0.0 else "low"))
    sigmas, place, side = max(found)
    return f"{place} stands out most, {sigmas:.1f} sigmas {side}"
