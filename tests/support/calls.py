"""Calls on machines whose faults are known: what instruments would read, what a person would see.

The units are invented. A machine is solved with its faults by ``cycle``; when a generator is given its
readings get the error of the instrument (one bias for an instrument in a call, noise for each reading)
and sightings are drawn; otherwise readings are exact and sightings take the likeliest answer. What a
scenario wants seen for certain is given by hand and beats both.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cache
from unittest.mock import patch

from holdcold.cards import Resolved, read_card, resolve
from holdcold.cycle import Conditions, Design, Faults, axes, build, solve
from holdcold.diagnosis import problem
from holdcold.diagnosis.catalogue import Catalogue, Check, catalogue
from holdcold.diagnosis.evidence import (
    CheckEvidence,
    Complaint,
    Evidence,
    ReadingEvidence,
    RepairEvidence,
    SightingEvidence,
    Situation,
    State,
)
from holdcold.diagnosis.find import Finding, find
from holdcold.diagnosis.hypotheses import Hypotheses
from holdcold.diagnosis.normal import Normal
from holdcold.diagnosis.observe import instrument_class, instrument_name
from holdcold.diagnosis.predict import Predictor, predictor

COOLER = """
schema = 1
kind = "walk_in"
refrigerant = "R-449A"
application = "cooler"
box = { length = "12 ft", width = "10 ft", height = "8 ft" }
capacity = { rated = "11.5 kBtu/h", horsepower = "1.5 hp", rated_amps = "12.4 A" }
compressor = { kind = "hermetic" }
supply = { voltage = "230 V", phases = 1 }
condenser = { location = "indoor", fans = 2 }
expansion = { device = "txv" }
coil = { td = "10 F", fans = 3 }
controls = { set_point = "38 F", low_cut_out = "10 psig", low_cut_in = "28 psig" }
charge = { amount = "6 lb 8 oz", ports = true }
defrost = { kind = "off_cycle", per_day = 4, minutes = "30 min" }
"""

FREEZER = """
schema = 1
kind = "walk_in"
refrigerant = "R-448A"
application = "freezer"
box = { length = "10 ft", width = "8 ft", height = "8 ft" }
capacity = { horsepower = "3 hp" }
compressor = { kind = "scroll" }
supply = { voltage = "230 V", phases = 3 }
condenser = { location = "roof", fans = 2 }
lines = { length = "45 ft", lift = "6 ft" }
expansion = { device = "txv", superheat = "6 F" }
coil = { td = "10 F", fans = 3 }
controls = { set_point = "-5 F", low_cut_out = "2 psig", low_cut_in = "8 psig", low_role = "pump_down" }
charge = { ports = true }
defrost = { kind = "electric", per_day = 4, minutes = "30 min", terminate = "55 F" }
"""

REACH_IN = """
schema = 1
kind = "reach_in"
refrigerant = "R-134a"
application = "cooler"
box = { volume = "45 ft3" }
capacity = { horsepower = "1/3 hp" }
compressor = { kind = "hermetic" }
supply = { voltage = "115 V", phases = 1 }
condenser = { location = "indoor", fans = 1 }
expansion = { device = "capillary" }
coil = { fans = 2 }
charge = { ports = true }
controls = { set_point = "37 F" }
defrost = { kind = "off_cycle" }
"""

PROPANE = REACH_IN.replace("R-134a", "R-290").replace("ports = true", "ports = false")
"""The same cabinet, sealed, with a flammable refrigerant."""

FAHRENHEIT_0 = 459.67
MELTS = {"melt_coil", "hot_water_defrost"}


def kelvin(fahrenheit: float) -> float:
    """Return a temperature in K."""
    return (fahrenheit + FAHRENHEIT_0) / 1.8


@cache
def unit(card: str) -> Resolved:
    """Return a card's unit with its assumptions."""
    return resolve(read_card(card))


@dataclass(frozen=True)
class Truth:
    """What is really the matter on a call, and where.

    unit: card with assumptions. faults: severity by fault id (any number for a fault without degrees),
    empty for a healthy machine. design: the machine itself, where it differs from the card's.
    astray: added to what the model predicts at a place [SI], for a machine the model does not quite fit.
    state: found in; worked out when None. seen: answers given by hand, by sighting.
    """

    unit: Resolved
    faults: Mapping[str, float] = field(default_factory=dict)
    ambient_k: float = kelvin(90.0)
    box_k: float = kelvin(50.0)
    design: Design | None = None
    astray: Mapping[str, float] = field(default_factory=dict)
    state: State | None = None
    complaint: Complaint = "warm"
    seen: Mapping[str, str] = field(default_factory=dict)

    def without(self, *gone: str) -> Truth:
        """Return the same machine with some faults mended."""
        return replace(self, faults={name: much for name, much in self.faults.items() if name not in gone})


class Machine:
    """A machine with known faults, to be read and looked at.

    truth: its faults and surroundings. rng: draws bias, noise and answers; None: none of these.
    """

    def __init__(self, truth: Truth, rng: random.Random | None = None) -> None:
        self.truth = truth
        self.rng = rng
        self.book: Catalogue = catalogue()
        self._biases: dict[str, float] = {}
        faults = [self.book.fault(name) for name in truth.faults]
        pushes = {
            fault.axis: min(truth.faults[fault.id], axes()[fault.axis][1])
            for fault in faults
            if fault.axis in axes()
        }
        machine = build(truth.design or truth.unit.design)
        still = any(fault.axis == "not_running" for fault in faults)
        here = Conditions(truth.ambient_k, truth.box_k)
        self.point = solve(machine, here, Faults(**pushes))
        steady = self.point.state == "running"
        self.state: State = truth.state or ("off" if still else "running" if steady else "cycling")
        if self.state == "off":
            self.point = solve(machine, replace(here, running=False), Faults(**pushes))
        self.levels = {fault.id: fault.level(truth.faults[fault.id]) for fault in faults}

    def trend(self) -> str:
        """Return which way the box moves: what the machine cools against the load in this weather."""
        design = self.truth.unit.design
        extra = sum(
            severity
            for name, severity in self.truth.faults.items()
            if self.book.fault(name).axis == "box_load"
        )
        span_k = design.rated_ambient_k - design.set_point_k
        weather = 0.5 + 0.5 * max(0.2, (self.truth.ambient_k - self.truth.box_k) / span_k)
        share = design.load_w * (weather + extra) / max(self.point.readings["capacity_w"], 1.0)
        if share < 0.85 and self.truth.box_k > design.set_point_k + 1.0:
            return "falling"
        return "rising" if share > 1.15 else "steady"

    def situation(self, **changes: object) -> Situation:
        """Return the conditions of the call, measured, with some things changed."""
        here = Situation(
            ambient_k=self.truth.ambient_k,
            box_k=self.truth.box_k,
            state=self.state,
            minutes_in_state=60.0,
            complaint=self.truth.complaint,
            box_trend=self.trend(),  # type: ignore[arg-type]
        )
        return replace(here, **changes)  # type: ignore[arg-type]

    def reading(self, place: str) -> ReadingEvidence:
        """Return what the usual instrument reads at ``place``."""
        true = self.point.readings[place] + self.truth.astray.get(place, 0.0)
        raw = ReadingEvidence(place, true)
        if self.rng is None:
            return raw
        kind = instrument_class(raw, self.book)
        name = instrument_name(raw, kind, self.book.place(place).dimension)
        if name not in self._biases:
            self._biases[name] = self.rng.gauss(0.0, 1.0)
        error = self._biases[name] * kind.bias_sigma(true) + self.rng.gauss(0.0, kind.sigma(true))
        return replace(raw, value_si=true + error)

    def readable(self, check: Check) -> list[str]:
        """Return the places of a check that an instrument reads on this machine as it stands."""
        return [
            place
            for place in check.readings
            if self.book.place(place).measured and place in self.point.readings
        ]

    def chances(self, name: str) -> tuple[float, ...]:
        """Return how likely each value of a sighting is on this machine."""
        sighting = self.book.sighting(name)
        rule = sighting.from_reading
        if rule is not None and self.state != "off" and rule.reading in self.point.readings:
            return sighting.chances_at(self.point.readings[rule.reading])
        application = self.truth.unit.unit_facts().get("application", "")
        told = self.state if self.state in ("running", "cycling", "off") else ""
        chances = self.book.sighting_chances(name, self.levels, application, told)
        if sighting.turn is None or self.state == "off" or sighting.turn.reading not in self.point.readings:
            return chances
        return sighting.turned(chances, sighting.turn.share(self.point.readings[sighting.turn.reading]))

    def sighting(self, name: str) -> SightingEvidence:
        """Return the answer to a question: the one given by hand, a drawn one, or the likeliest."""
        if name in self.truth.seen:
            return SightingEvidence(name, self.truth.seen[name])
        chances, values = self.chances(name), self.book.sighting(name).values
        if self.rng is not None:
            return SightingEvidence(name, self.rng.choices(values, chances)[0])
        return SightingEvidence(name, values[max(range(len(values)), key=chances.__getitem__)])

    def visible(self, name: str) -> bool:
        """Say whether this unit has the thing a sighting asks about."""
        facts = self.truth.unit.unit_facts()
        conditions = self.book.sighting(name).applies_to
        return all(facts.get(key) in (None, *allowed) for key, allowed in conditions.items())


class Call:
    """Evidence that grows check by check.

    machine: what is read and seen. repairs: what was mended before without curing it all.
    situation: changes to the conditions as measured.
    """

    def __init__(
        self, machine: Machine, repairs: tuple[RepairEvidence, ...] = (), **situation: object
    ) -> None:
        self.machine = machine
        self.evidence = Evidence(machine.situation(**situation), repairs=repairs)

    def do(self, *checks: str) -> Call:
        """Do some checks: what they show goes into the evidence, save what is known already."""
        for name in checks:
            check = self.machine.book.check(name)
            read = {reading.place for reading in self.evidence.readings}
            seen = {sighting.id for sighting in self.evidence.sightings}
            self.read(*(place for place in self.machine.readable(check) if place not in read))
            self.look(*(one for one in check.sightings if one not in seen and self.machine.visible(one)))
            self.evidence = replace(
                self.evidence, checks=(*self.evidence.checks, CheckEvidence(check.id, "done"))
            )
            if name in MELTS:
                self.melted()
        return self

    def read(self, *places: str) -> Call:
        """Add readings at some places."""
        more = tuple(self.machine.reading(place) for place in places)
        self.evidence = replace(self.evidence, readings=(*self.evidence.readings, *more))
        return self

    def look(self, *names: str) -> Call:
        """Add answers to some questions."""
        more = tuple(self.machine.sighting(name) for name in names)
        self.evidence = replace(self.evidence, sightings=(*self.evidence.sightings, *more))
        return self

    def see(self, **answers: str) -> Call:
        """Add answers by hand."""
        more = tuple(SightingEvidence(name, value) for name, value in answers.items())
        self.evidence = replace(self.evidence, sightings=(*self.evidence.sightings, *more))
        return self

    def melted(self) -> None:
        """Take up that the coil is clear now: readings through the ice are set aside."""
        icy = {f for f in self.machine.truth.faults if self.machine.book.fault(f).axis == "coil_ice"}
        taken = {check.id for check in self.machine.book.checks.values() if check.readings}
        self.machine = Machine(self.machine.truth.without(*icy), self.machine.rng)
        kept = tuple(check for check in self.evidence.checks if check.id not in taken)
        self.evidence = replace(self.evidence, readings=(), checks=kept)
        self.see(coil_ice="clear", frost_pattern="none")

    def find(self) -> Finding:
        """Return what the evidence says."""
        return find(self.machine.truth.unit, self.evidence)


@dataclass(frozen=True)
class Step:
    """One step of a call: what was believed, and the check then done or the repair then tried.

    check: id, empty for a repair. repair: fault mended, empty for a check. minutes: of the check, its
    places included. finding: on which it was decided. stage: repairs tried before it.
    """

    check: str
    repair: str
    minutes: float
    finding: Finding
    stage: int


@dataclass(frozen=True)
class Story:
    """A call followed to the end.

    steps: in order. finished: whether every fault was mended. final: the last finding.
    """

    steps: tuple[Step, ...]
    finished: bool
    final: Finding

    @property
    def checks(self) -> tuple[str, ...]:
        """Ids of the checks done, in order."""
        return tuple(step.check for step in self.steps if step.check)

    @property
    def repairs(self) -> tuple[str, ...]:
        """Faults whose repair was tried, in order."""
        return tuple(step.repair for step in self.steps if step.repair)

    @property
    def minutes(self) -> float:
        """Minutes spent on checks."""
        return sum(step.minutes for step in self.steps)

    def before_first_repair(self) -> tuple[str, ...]:
        """Ids of the checks done before anything was mended."""
        return tuple(step.check for step in self.steps if step.check and step.stage == 0)


@contextmanager
def solved_once() -> Iterator[None]:
    """Let the findings made inside share the solved machines: what a fault does needs no evidence."""
    kept: dict[object, Predictor] = {}

    def remembered(normal: Normal, hypotheses: Hypotheses) -> Predictor:
        here = (normal.unit.design, normal.conditions)
        found = predictor(normal, hypotheses)
        before = kept.setdefault(here, found)
        return replace(found, solved=before.solved)

    with patch.object(problem, "predictor", remembered):
        yield


def follow(truth: Truth, rng: random.Random | None = None, most: int = 14) -> Story:
    """Follow the advice from an empty call to the finished repair.

    The next check is done until acting is enough; the repair then tried removes its fault if that is
    there. With a fault left, a fresh call goes on knowing that the repair did not cure it. Ends as well
    when no check is left or ``most`` checks were done.
    """
    call, steps, tried = Call(Machine(truth, rng)), list[Step](), 0
    while True:
        finding = call.find()
        step = finding.step
        if step.enough:
            steps.append(Step("", step.act_on, 0.0, finding, tried))
            tried += 1
            if step.act_on in truth.faults:
                truth = truth.without(step.act_on)
                if not truth.faults:
                    return Story(tuple(steps), True, finding)
                call = Call(Machine(truth, rng), (RepairEvidence(step.act_on, "symptom_stays"),))
            else:
                more = RepairEvidence(step.act_on, "symptom_stays")
                call.evidence = replace(call.evidence, repairs=(*call.evidence.repairs, more))
        elif step.ranked and sum(1 for one in steps if one.check) < most:
            check = step.ranked[0].id
            steps.append(Step(check, "", step.cost_of[check], finding, tried))
            call.do(check)
        else:
            return Story(tuple(steps), False, finding)
        if tried > 4:
            return Story(tuple(steps), False, finding)


def told(story: Story) -> str:
    """Return a story in lines, for the message of a failed test."""
    lines = []
    for step in story.steps:
        chances = " ".join(f"{one.fault} {one.chance:.2f}" for one in step.finding.chances.suspects[:4])
        what = f"{step.check} ({step.minutes:.0f} min)" if step.check else f"MEND {step.repair}"
        lines.append(f"{what:40s} {chances}")
    chances = " ".join(f"{one.fault} {one.chance:.2f}" for one in story.final.chances.suspects[:4])
    end = "finished" if story.finished else "NOT FINISHED"
    return "\n".join(["", *lines, f"{end} after {story.minutes:.0f} min of checks; {chances}"])
