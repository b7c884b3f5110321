"""The rows of the catalogues as plain values: faults, checks, sightings, places, guards, costs.

Rows are frozen and know nothing of files; ``catalogue`` reads and checks them. A *fact* is something known
of the unit, for example ``expansion = "txv"``: a row that asks for a fact also stands when nobody gave it,
because a suspect is never struck off for want of information.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

NOT_LOOKED: Final = "not_looked"
"""The answer every sighting allows; it says nothing."""

Facts = Mapping[str, str]
Conditions = Mapping[str, tuple[str, ...]]
"""Facts a row asks for, each with the values it stands for."""

UNIT_FACTS: Final[Mapping[str, tuple[str, ...]]] = {
    "kind": ("walk_in", "reach_in"),
    "application": ("cooler", "freezer"),
    "expansion": ("txv", "eev", "capillary"),
    "compressor": ("hermetic", "semi_hermetic", "scroll"),
    "head_control": ("none", "fan_cycling", "fan_speed", "flooding_valve"),
    "defrost": ("none", "off_cycle", "electric", "hot_gas"),
    "receiver": ("yes", "no"),
    "ports": ("yes", "no"),
    "phases": ("1", "3"),
    "drive": ("yes", "no"),
    "injection": ("yes", "no"),
    "coil_regulator": ("yes", "no"),
    "crankcase_regulator": ("yes", "no"),
    "regulator": ("yes", "no"),
    "accumulator": ("yes", "no"),
    "exchanger": ("yes", "no"),
    "low_role": ("safety", "pump_down", "thermostat"),
    "safety_class": ("A1", "A2", "A2L", "A3", "B1", "B2L", "B2", "B3"),
    "location": ("indoor", "outdoor", "roof"),
    "state": ("running", "cycling", "off", "defrost", "unsteady", "unknown"),
    "glass_doubtful": ("yes", "no"),
}
"""What a row may ask of a unit, and the words for it (the same words as on cards)."""


def stands_for(conditions: Conditions, facts: Facts) -> bool:
    """Say whether a row with these conditions may concern a unit; an unknown fact rules nothing out.

    conditions: facts asked for, each with the values it stands for.
    facts: what is known of the unit.
    """
    return all(facts.get(name) is None or facts[name] in allowed for name, allowed in conditions.items())


def is_known_to_stand(conditions: Conditions, facts: Facts) -> bool:
    """Say whether every condition is known to be met; used for guards, which do not stand on a guess.

    conditions: facts asked for, each with the values it stands for.
    facts: what is known of the unit.
    """
    return all(facts.get(name) in allowed for name, allowed in conditions.items())


@dataclass(frozen=True, slots=True)
class Repair:
    """What mends a fault.

    minutes: work in place [min], reaching the place not included.
    part_low, part_high: band of the part's price [minutes of paid time].
    place: where, one of D, B, P, U, C. on_van: chance that the part is at hand, 0 to 1.
    opens_circuit: whether the refrigerant circuit is opened. refrigerant_lost_kg: usually lost [kg].
    proof: id of the check that shows whether it held.
    """

    title: str
    minutes: float
    part_low: float
    part_high: float
    place: str
    opens_circuit: bool
    refrigerant_lost_kg: float
    on_van: float
    proof: str

    @property
    def part_minutes(self) -> float:
        """Geometric middle of the part's price band [minutes of paid time]; 0 for a free part."""
        return math.sqrt(max(self.part_low, 0.25) * self.part_high) if self.part_high else 0.0


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: what it does, how bad it comes, how it shows, what mends it.

    axis: mechanism axis it pushes, see ``words.AXES``. has_physics: whether ``cycle`` predicts it.
    unit: of the severity. nodes: severities solved for, rising. weights: their prior shares, sum 1.
    per: what the severity comes in whole pieces of (``"coil_fans"``), or empty.
    leads_to: a shared effect, ``"coil_ice"`` or empty. group: faults no permitted check separates, or empty.
    unmoved: places whose reading stays as on a healthy machine although the axis moves it.
    loose: ways in which the readings are free under it that no severity tells: per way, place to one
    sigma, a share of the usual value for pressures, amps and watts, else [unit of the place].
    duty: Beta prior (alpha, beta) of the share of time it is there, for a fault that may come and go;
    None for one that stays until it is mended. presence: when it comes and goes, in words.
    because, kills: what would support it, what would rule it out, in words.
    behind: causes behind the cause, to ask for before closing. cautions: ids.
    """

    id: str
    title: str
    family: str
    axis: str
    has_physics: bool
    unit: str
    nodes: tuple[float, ...]
    weights: tuple[float, ...]
    per: str
    leads_to: str
    group: str
    applies_to: Conditions
    unmoved: tuple[str, ...]
    loose: tuple[Mapping[str, float], ...]
    duty: tuple[float, float] | None
    presence: str
    because: str
    kills: str
    behind: tuple[str, ...]
    cautions: tuple[str, ...]
    repair: Repair
    source: str

    @property
    def intermittent(self) -> bool:
        """Whether it may be absent at one moment and there at the next."""
        return self.duty is not None

    @property
    def mean_duty(self) -> float:
        """Share of the time it is there on average, 0 to 1; 1 for a fault that stays."""
        return 1.0 if self.duty is None else self.duty[0] / (self.duty[0] + self.duty[1])

    def level(self, severity: float) -> float:
        """Return how far ``severity`` lies from the mildest (0) to the worst node (1), held inside.

        severity: in ``unit``. A fault without degrees is always at 1.
        """
        if len(self.nodes) == 1:
            return 1.0
        share = (severity - self.nodes[0]) / (self.nodes[-1] - self.nodes[0])
        return min(max(share, 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class Check:
    """Something done in order to learn.

    places: where the hands are, in the order they are visited. minutes: own time [min], set-up included.
    wait_minutes: passing time besides [min]. second_visit: whether the answer needs coming back.
    risk: codes 0, 1, E, I, R, H. isolate: dead first. opens_circuit: the refrigerant circuit is opened.
    refrigerant_lost_kg: usually lost [kg]. temporary: leaves a state that must be undone.
    readings: ids of places it makes readable. sightings: ids it answers. guards: ids to be open first.
    only_if: sightings with the values that must have been seen before the check makes sense.
    who_not: who may not do it, in words.
    """

    id: str
    title: str
    how: str
    places: tuple[str, ...]
    minutes: float
    wait_minutes: float
    second_visit: bool
    risk: tuple[str, ...]
    isolate: bool
    opens_circuit: bool
    refrigerant_lost_kg: float
    temporary: bool
    readings: tuple[str, ...]
    sightings: tuple[str, ...]
    cautions: tuple[str, ...]
    guards: tuple[str, ...]
    applies_to: Conditions
    only_if: Conditions
    who_not: str
    source: str


@dataclass(frozen=True, slots=True)
class FromReading:
    """A sighting that follows from a predicted reading.

    reading: id of the place. order: values of the sighting as the reading rises.
    thresholds: borders between them, widths: one sigma of each border [unit of the reading].
    """

    reading: str
    order: tuple[str, ...]
    thresholds: tuple[float, ...]
    widths: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Turn:
    """How the usual answer of a sighting turns into another where a predicted reading is high.

    reading: id of the place. to: the other value. threshold: reading where half of it has turned, width:
    one sigma of that border [unit of the reading]. most: share of the usual answer that can turn.
    """

    reading: str
    to: str
    threshold: float
    width: float
    most: float

    def share(self, reading_si: float, spread_si: float = 0.0) -> float:
        """Return the share that has turned at a reading known to one sigma ``spread_si``, both [SI]."""
        away = (reading_si - self.threshold) / math.hypot(self.width, spread_si)
        return self.most * 0.5 * math.erfc(-away / math.sqrt(2.0))


Rows = Mapping[str, tuple[tuple[float, ...], tuple[float, ...]]]
"""Fault to chances of the values of a sighting, at the mildest and the worst severity."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """Something seen, heard, smelt or felt, or a test without a number.

    values: allowed answers, the normal one first. words: the same to tap. ask: the question.
    healthy: chance of each value without a fault that bears on it. healthy_freezer: the same in freezers.
    error: chance that the answer is wrong, spread over all values.
    given: fault to (mildest, worst) rows of chances. off, given_off: the same while the compressor is known
    to stand still; ``off`` is empty for a sighting that does not depend on that. given_running: rows of
    ``given`` that hold while it is known to run: all but those of faults that stop it. cycling,
    given_cycling: the same as ``off`` while it is known to stop and start.
    combine: ``"worst"`` or ``"product"``. lasting: whether an intermittent fault shows here also while it
    is absent (a burnt lug, a setting, a wet indicator, what a logger kept).
    from_reading: how it follows from a predicted reading, or None. turn: how its first value gives way to
    another where a predicted reading is high, whatever the fault, or None. informs: False for a guard's
    condition.
    """

    id: str
    title: str
    ask: str
    place: str
    values: tuple[str, ...]
    words: tuple[str, ...]
    healthy: tuple[float, ...]
    healthy_freezer: tuple[float, ...]
    error: float
    given: Rows
    given_running: Rows
    off: tuple[float, ...]
    given_off: Rows
    cycling: tuple[float, ...]
    given_cycling: Rows
    combine: str
    lasting: bool
    from_reading: FromReading | None
    turn: Turn | None
    informs: bool
    applies_to: Conditions
    source: str

    def with_error(self, chances: Sequence[float]) -> tuple[float, ...]:
        """Return ``chances`` of the values after the chance of a wrong answer is spread over all of them."""
        floor = self.error / len(self.values)
        return tuple((1.0 - self.error) * chance + floor for chance in chances)

    def turned(self, chances: Sequence[float], share: float) -> tuple[float, ...]:
        """Return ``chances`` with a share of the first value given to the one it turns into."""
        if self.turn is None or share <= 0.0:
            return tuple(chances)
        to = self.values.index(self.turn.to)
        moved = share * chances[0]
        return tuple(
            value - moved if place == 0 else value + moved if place == to else value
            for place, value in enumerate(chances)
        )

    def chances_at(self, reading_si: float) -> tuple[float, ...]:
        """Return the chance of each value when the reading it follows from is ``reading_si`` [SI].

        The borders are soft: each is a normal distribution round its threshold.
        Raises ValueError for a sighting that follows from no reading.
        """
        rule = self.from_reading
        if rule is None:
            raise ValueError(f"sighting {self.id} follows from no reading")
        below = [
            0.5 * math.erfc((reading_si - border) / (width * math.sqrt(2.0)))
            for border, width in zip(rule.thresholds, rule.widths, strict=True)
        ]
        edges = [0.0]
        for chance in below:
            edges.append(max(edges[-1], chance))
        edges.append(1.0)
        by_value = {value: edges[i + 1] - edges[i] for i, value in enumerate(rule.order)}
        return self.with_error([by_value[value] for value in self.values])


@dataclass(frozen=True, slots=True)
class Place:
    """One reading: what it means and how it is taken.

    dimension: of ``quantities``. measured: whether an instrument reads it. follows_from: the readings it
    is computed from. default_instrument: class of instrument taken when nobody names one, or empty.
    """

    id: str
    title: str
    meaning: str
    dimension: str
    measured: bool
    follows_from: tuple[str, ...]
    where: str
    mistakes: str
    default_instrument: str
    source: str


@dataclass(frozen=True, slots=True)
class Standing:
    """How a guard stands in one call.

    applies: whether it concerns this unit at all. closed: whether it still blocks.
    missing: sightings not seen and checks not done. against: sightings seen whose value keeps it closed.
    """

    applies: bool
    closed: bool
    missing: tuple[str, ...] = ()
    against: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Guard:
    """What may not be concluded or done before something was seen.

    faults: ids it allows no verdict on while closed. checks, actions: what it holds back.
    when: facts of the unit under which it stands. needs: sightings with the values that open it.
    needs_checks: checks to be done. closed_until_override: nothing seen opens it.
    override: whether a person may go on and say why.
    """

    id: str
    title: str
    text: str
    why: str
    when: Conditions
    faults: frozenset[str]
    checks: frozenset[str]
    actions: frozenset[str]
    needs: Conditions
    needs_checks: tuple[str, ...]
    closed_until_override: bool
    lifts: str
    override: bool
    override_note: str
    source: str

    def standing(
        self, facts: Facts, seen: Facts, done: frozenset[str], overridden: frozenset[str] = frozenset()
    ) -> Standing:
        """Return how the guard stands.

        facts: what is known of the unit. seen: sightings by id, ``"not_looked"`` counts as not seen.
        done: ids of checks done. overridden: ids of guards a person set aside with a reason.
        """
        if not is_known_to_stand(self.when, facts):
            return Standing(applies=False, closed=False)
        if self.override and self.id in overridden:
            return Standing(applies=True, closed=False)
        answers = {name: value for name, value in seen.items() if value != NOT_LOOKED}
        missing = [name for name in self.needs if name not in answers]
        missing += [name for name in self.needs_checks if name not in done]
        against = tuple(
            (name, answers[name])
            for name, allowed in self.needs.items()
            if name in answers and answers[name] not in allowed
        )
        closed = bool(missing or against or self.closed_until_override)
        return Standing(True, closed, tuple(missing), against)


@dataclass(frozen=True, slots=True)
class Caution:
    """A usual caution, shown beside whatever needs it."""

    id: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Group:
    """Faults that no permitted check separates on units with these facts; shown as one.

    when: facts of the unit. faults: ids.
    """

    id: str
    title: str
    when: Conditions
    faults: tuple[str, ...]
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class Access:
    """What reaching a place costs.

    open_minutes: once in a call [min]. travel_minutes: each time one comes from elsewhere [min].
    roof_minutes: more travel when the condensing unit stands on a roof [min].
    """

    place: str
    title: str
    open_minutes: float
    travel_minutes: float
    roof_minutes: float
    source: str


@dataclass(frozen=True, slots=True)
class Costs:
    """What things cost in minutes of paid time.

    access: by place. danger: minutes by risk code. wait_share: share of a waited minute that counts.
    wait_counted_to_minutes: a longer wait counts as this much [min].
    second_visit_minutes: coming back another day. wrong_part_share: share of a wrong part's price lost.
    refrigerant_minutes_per_kg: refrigerant lost. unresolved_minutes: a call that ends without a repair.
    least_saving_minutes: what a check must be expected to save to be worth it.
    """

    access: Mapping[str, Access]
    danger: Mapping[str, float]
    danger_words: Mapping[str, str]
    wait_share: float
    wait_counted_to_minutes: float
    second_visit_minutes: float
    wrong_part_share: float
    refrigerant_minutes_per_kg: float
    least_saving_minutes: float
    unresolved_minutes: float
    source: str

    def of_check(self, check: Check) -> float:
        """Return what doing ``check`` costs, reaching its place not included [minutes of paid time]."""
        cost = check.minutes + self.wait_share * min(check.wait_minutes, self.wait_counted_to_minutes)
        cost += self.second_visit_minutes if check.second_visit else 0.0
        cost += self.refrigerant_minutes_per_kg * check.refrigerant_lost_kg
        return cost + math.fsum(self.danger[code] for code in check.risk)

    def of_repair(self, repair: Repair) -> tuple[float, float]:
        """Return what a repair costs, reaching its place not included [minutes of paid time].

        First what trying it costs whether or not it is the cure: work, refrigerant, coming back when the
        part is not on the van, and what is lost of the part's price if it was the wrong one. Then what is
        paid besides only when it is the cure: the rest of the part's price.
        """
        part = repair.part_minutes
        tried = repair.minutes + self.wrong_part_share * part
        tried += (1.0 - repair.on_van) * self.second_visit_minutes
        tried += self.refrigerant_minutes_per_kg * repair.refrigerant_lost_kg
        return tried, (1.0 - self.wrong_part_share) * part
