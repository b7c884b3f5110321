"""What a fault is confused with, which checks part the two, and which sightings speak for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import fsum

from holdcold.diagnosis.catalogue import Check, Fault, Sighting, catalogue
from holdcold.diagnosis.catalogue.rows import is_known_to_stand, stands_for
from holdcold.diagnosis.separability import HEALTHY, Matrix, separability

from .machines import ELECTRONIC, WARM, Scene

BOOK = catalogue()
INSTRUMENT = "instrument"
"""Family of faults that stand beside a cause: they are compared with nothing but the truth."""

_NEAREST = 4
_LIKE = 0.93
_MOST_SIGNS = 7
_LEAST_SIGN = 0.15


@cache
def matrix(scene: Scene) -> Matrix:
    """Return how every two faults of a reference unit are told apart."""
    return separability(scene.resolved, scene.conditions)


def home(fault: Fault) -> Scene:
    """Return the reference unit on which a fault is compared with others: the first that has the part."""
    for scene in (*WARM, ELECTRONIC):
        stands = is_known_to_stand(fault.applies_to, scene.resolved.unit_facts())
        if stands and fault.id in matrix(scene).faults:
            return scene
    raise LookupError(f"no reference unit has {fault.id}")


@dataclass(frozen=True)
class Alike:
    """A fault that looks alike. check: what parts the two best, empty when nothing does. right: how well."""

    fault: Fault
    check: str
    right: float


def look_alikes(fault: Fault) -> list[Alike]:
    """Return the faults of the same mechanism, then the nearest others, in the order of the catalogue."""
    if fault.family == INSTRUMENT:
        return []
    found = matrix(home(fault))
    ranked = [(BOOK.fault(other), one) for other, one in found.look_alikes(fault.id) if other != HEALTHY]
    mechanism = [(other, one) for other, one in ranked if _same_mechanism(other, fault)]
    near = [(other, one) for other, one in ranked if not _same_mechanism(other, fault) and one.right < _LIKE]
    kept = {other.id: one for other, one in [*mechanism, *near[:_NEAREST]]}
    order = [name for name in BOOK.faults if name in kept]
    return [Alike(BOOK.fault(name), kept[name].check, kept[name].right) for name in order]


def _same_mechanism(one: Fault, other: Fault) -> bool:
    return one.axis == other.axis and one.axis not in ("none", "not_running", "box_load")


def proofs(fault: Fault, most: int) -> list[tuple[Check, float]]:
    """Return the checks that part a fault best from its look-alikes and from a healthy machine.

    most: how many. With each, how often it is right on average, all of them equally likely.
    """
    if fault.family == INSTRUMENT:
        return [(check, 1.0) for check in BOOK.checks_that_yield(BOOK.check(fault.repair.proof).sightings[0])]
    found = matrix(home(fault))
    rivals = [HEALTHY, *(one.fault.id for one in look_alikes(fault))]
    shares = {
        name: fsum(found.between(fault.id, rival).by_check.get(name, 0.5) for rival in rivals) / len(rivals)
        for name in found.checks
    }
    best = sorted(shares, key=lambda name: (-round(shares[name], 2), BOOK.check_cost(name), name))
    return [(BOOK.check(name), shares[name]) for name in best[:most] if shares[name] > 0.55]


@dataclass(frozen=True)
class Sign:
    """An answer that speaks for a fault: how often it is given with it and without any."""

    sighting: Sighting
    answer: str
    mild: float
    worst: float
    healthy: float


def signs(fault: Fault) -> list[Sign]:
    """Return the answers that a fault makes most likelier, the strongest first."""
    found = []
    freezer = "freezer" if fault.applies_to.get("application") == ("freezer",) else ""
    for sighting in BOOK.sightings.values():
        if fault.id not in sighting.given or not _plain(sighting, fault):
            continue
        usual, mild, worst = (
            BOOK.sighting_chances(sighting.id, levels, freezer)
            for levels in ({}, {fault.id: 0.0}, {fault.id: 1.0})
        )
        place = max(range(1, len(usual)), key=lambda at: round(worst[at] - usual[at], 9))
        if worst[place] - usual[place] > _LEAST_SIGN:
            found.append(Sign(sighting, sighting.words[place], mild[place], worst[place], usual[place]))
    found.sort(key=lambda one: (round(one.healthy - one.worst, 6), one.sighting.id))
    return found[:_MOST_SIGNS]


def _plain(sighting: Sighting, fault: Fault) -> bool:
    """Say whether a sighting can be had on the unit without opening the circuit or mending something."""
    if sighting.id == "user_story" or sighting.id.startswith("after_"):
        return False
    facts = {} if fault.family == INSTRUMENT else home(fault).resolved.unit_facts()
    cheap = any(not check.opens_circuit for check in BOOK.checks_that_yield(sighting.id))
    return cheap and sighting.informs and stands_for(sighting.applies_to, facts)


def shares(fault: Fault) -> Mapping[str, float]:
    """Return the share of calls by kind of unit, where the fault can occur."""
    kinds = (("walk_in", "cooler"), ("walk_in", "freezer"), ("reach_in", "cooler"))
    found = {}
    for kind, application in kinds:
        share = BOOK.priors_for(kind, application).faults.get(fault.id)
        if share is not None:
            found["reach-in" if kind == "reach_in" else f"walk-in {application}"] = share
    return found
