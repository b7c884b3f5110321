"""What to do next: the check that lowers the expected cost of the whole repair most, or act now."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from holdcold.diagnosis.case import NOT_LISTED, HypothesisKey
from holdcold.diagnosis.catalogue import NOT_LOOKED, Catalogue, Check, Fault, Standing
from holdcold.diagnosis.problem import Case
from holdcold.diagnosis.questions import Asked, Outlook
from holdcold.diagnosis.repair_order import Weighted, without
from holdcold.diagnosis.sequential import (
    Action,
    Advice,
    Hypothesis,
    Place,
    RankedQuestion,
    Repairs,
    Stand,
    advise,
    cost_with,
    policy_plan,
)

_LOOK_FIRST = "look_first"
_DOOR = "D"
_ROUNDS: Mapping[str, tuple[str, ...]] = {
    "box_walk_round": ("evaporator_fans", "coil_ice"),
    "unit_walk_round": ("condenser_face", "condenser_fans"),
}
"""Sightings that show a walk-round was done, whether or not anybody ticked it."""

_LIFTS: Mapping[str, str] = {"coil_ice": "melt_coil", "condenser_face": "clean_condenser"}
"""Checks that clear what a guard was closed over, by the sighting that closed it."""

_LEAST_MOVED = 0.01
_ACTIONS = 3
_SURE = 0.5
_SURE_TO_OPEN = 0.7
"""Least chance of a fault before its repair is proposed, without and with opening the circuit."""

_LIKELY_INSIDE = 0.4
"""Least chance of anything inside the circuit before a check that opens it is proposed."""

_CHECKS_AFTER = 4
_CHEAP_PROOF = 15.0
"""Minutes a check may cost that is asked for before a circuit is opened, so that it can be repeated after."""


@dataclass(frozen=True, slots=True)
class Guarded:
    """How the guards stand: those that apply, what they block, what they keep from a verdict."""

    standings: Mapping[str, Standing]
    blocked_checks: Mapping[str, str]
    blocked_faults: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class NextStep:
    """Advice on one call.

    ranked: permitted checks, best first. asked: their questions by id. advice: act now against the
    checks. act_first: cost of doing the best repair first and only then (if it did not help) checking
    on; act_on: that repair's fault. enough: acting first costs no more than checking first
    and nothing is missing before it. missing: what is missing before that repair: ``steady``, ``look``,
    ``chance``, ``reading``, the id of a check, or nothing.
    guarded: how the guards stand. not_now: checks left out, with the reason. cost_of: own cost of each
    check, reaching its places included [minutes of paid time].
    """

    advice: Advice
    act_first: float
    act_on: str
    enough: bool
    missing: str
    ranked: tuple[RankedQuestion, ...]
    asked: Mapping[str, Asked]
    guarded: Guarded
    not_now: Mapping[str, str]
    cost_of: Mapping[str, float]


def done_checks(case: Case) -> frozenset[str]:
    """Return the checks done in this call: those ticked, and walk-rounds whose sightings are there."""
    done = {check.id for check in case.evidence.checks if check.outcome == "done"}
    seen = {sighting.id for sighting in case.evidence.sightings if sighting.value != NOT_LOOKED}
    done.update(name for name, needed in _ROUNDS.items() if seen.issuperset(needed))
    taken = {reading.place for reading in case.evidence.readings}
    for check in case.catalogue.checks.values():
        if check.readings and taken.issuperset(check.readings) and seen.issuperset(check.sightings):
            done.add(check.id)
    return frozenset(done)


def guards(case: Case) -> Guarded:
    """Return how every guard that concerns this call stands."""
    seen = {sighting.id: sighting.value for sighting in case.evidence.sightings}
    overridden = [override.guard for override in case.evidence.overrides]
    standings = case.catalogue.standings(case.facts, seen, done_checks(case), overridden)
    checks: dict[str, str] = {}
    faults: dict[str, str] = {}
    for name, standing in standings.items():
        if standing.closed:
            guard = case.catalogue.guards[name]
            checks.update({check: name for check in sorted(guard.checks) if check not in checks})
            faults.update({fault: name for fault in sorted(guard.faults) if fault not in faults})
    return Guarded(standings, checks, faults)


def repairs_of(faults: Sequence[Fault], case: Case) -> Repairs:
    """Return the repairs of ``faults`` as actions, with what reaching each place costs."""
    costs = case.catalogue.costs
    actions = []
    for fault in faults:
        tried, cure = costs.of_repair(fault.repair)
        actions.append(Action(fault.id, frozenset({fault.id}), max(tried, 0.1), cure, fault.repair.place))
    return Repairs(actions, _places(case), costs.unresolved_minutes)


def _places(case: Case) -> dict[str, Place]:
    roof = case.facts.get("location") == "roof"
    return {
        name: Place(access.open_minutes, access.travel_minutes + (access.roof_minutes if roof else 0.0))
        for name, access in case.catalogue.costs.access.items()
    }


def stand_of(case: Case) -> Stand:
    """Return where the person stands, from what was done last, and which places are open by now."""
    opened: list[str] = []
    for sighting in case.evidence.sightings:
        place = case.catalogue.sightings[sighting.id].place
        if place:
            opened.append(place)
    for check in case.evidence.checks:
        if check.outcome == "done":
            opened.extend(case.catalogue.checks[check.id].places)
    opened = [place for place in opened if place in case.catalogue.costs.access and place != "C"]
    return Stand(opened[-1] if opened else "", frozenset(opened))


def next_step(case: Case, outlook: Outlook) -> NextStep:
    """Return what to do next in a call.

    The walk-rounds come before anything but talking; checks a closed guard blocks, checks already
    done and checks put off are left out. The rest are ranked by the expected cost of the finished
    repair (``sequential``).
    """
    guarded = guards(case)
    put_off = {check.id: check.reason for check in case.evidence.checks if check.outcome == "not_now"}
    done = done_checks(case)
    asked: dict[str, Asked] = {}
    left_out: dict[str, str] = dict(put_off)
    for check in _candidates(case, guarded, done):
        if check.id in guarded.blocked_checks:
            left_out[check.id] = case.catalogue.guards[guarded.blocked_checks[check.id]].text
        elif check.id not in put_off and check.id not in done:
            question = outlook.ask(check, case.catalogue.check_cost(check.id))
            if question is not None:
                asked[check.id] = question
    hypotheses = [
        Hypothesis(_causes(key), chance) for key, chance in zip(outlook.keys, outlook.chances, strict=True)
    ]
    names = sorted(
        {fault for key in outlook.keys for fault in _causes(key) if fault in case.hypotheses.faults}
    )
    repairs = repairs_of([case.hypotheses.faults[name] for name in names], case)
    stand = stand_of(case)
    leading = [
        fault
        for fault, chance in outlook.suspects_after([1.0] * len(outlook.keys))
        if chance >= _LEAST_MOVED and fault in case.hypotheses.faults
    ]
    inside = _inside(hypotheses, case)
    asked = {
        name: one
        for name, one in asked.items()
        if _tells(one, outlook, leading) and (inside >= _LIKELY_INSIDE or not one.check.opens_circuit)
    }
    questions = [one.question for one in asked.values()]
    margin = case.catalogue.costs.least_saving_minutes
    advice = advise(hypotheses, questions, repairs, stand, margin)
    permitted = sorted(
        (name for name in advice.act.order if name not in guarded.blocked_faults),
        key=lambda name: (-round(_chance(name, hypotheses), 9), name),
    )
    act_first, act_on = _act_first(hypotheses, asked, advice, repairs, stand, permitted)
    least = advice.checks[0].cost if advice.checks else math.inf
    costs = {name: _cost(one.check, case.catalogue, repairs, stand) for name, one in asked.items()}
    missing = _missing_before(act_on, hypotheses, case, guarded, costs)
    lifting = _lifting(hypotheses, case, guarded)
    if missing == "chance" and lifting in asked:
        missing = lifting
    enough = act_first <= least + margin and not missing
    ranked = _wanted_first(advice.checks, missing, asked, case.hypotheses.faults[act_on] if act_on else None)
    return NextStep(advice, act_first, act_on, enough, missing, ranked, asked, guarded, left_out, costs)


def _tells(asked: Asked, outlook: Outlook, leading: Sequence[str]) -> bool:
    """Say whether some answer of a check would move some leading suspect at all, or it lifts a guard."""
    if asked.check.id in _LIFTS.values():
        return True
    return any(outlook.shift(fault, item) >= _LEAST_MOVED for fault in leading for item in asked.items)


def _inside(hypotheses: Sequence[Hypothesis], case: Case) -> float:
    """Return the chance that something is wrong that is mended by opening the circuit."""
    opened = {name for name, fault in case.hypotheses.faults.items() if fault.repair.opens_circuit}
    return math.fsum(one.chance for one in hypotheses if opened & one.causes)


def _lifting(hypotheses: Sequence[Hypothesis], case: Case, guarded: Guarded) -> str:
    """Return the check that clears what a guard holds against the likeliest suspect, or nothing."""
    names = sorted(case.hypotheses.faults, key=lambda name: (-round(_chance(name, hypotheses), 9), name))
    if not names or _chance(names[0], hypotheses) < _SURE or names[0] not in guarded.blocked_faults:
        return ""
    standing = guarded.standings[guarded.blocked_faults[names[0]]]
    return next((_LIFTS[sighting] for sighting, _ in standing.against if sighting in _LIFTS), "")


def _chance(fault: str, hypotheses: Sequence[Hypothesis]) -> float:
    return math.fsum(one.chance for one in hypotheses if fault in one.causes)


def _missing_before(
    fault: str,
    hypotheses: Sequence[Hypothesis],
    case: Case,
    guarded: Guarded,
    costs: Mapping[str, float],
) -> str:
    """Return what is missing before the repair of ``fault`` may be proposed; nothing when it may.

    A steady machine; both walk-rounds; an even chance, more where the circuit is opened; and before a circuit
    is opened at least one number, and the reading that will show whether the repair held as it was found.
    """
    if case.unsteady_minutes:
        return "steady"
    look = guarded.standings.get(_LOOK_FIRST)
    if look is not None and look.closed:
        return "look"
    if not fault:
        return "chance"
    repair = case.hypotheses.faults[fault].repair
    if _chance(fault, hypotheses) < (_SURE_TO_OPEN if repair.opens_circuit else _SURE):
        return "chance"
    if not repair.opens_circuit:
        return ""
    if not case.observations:
        return "reading"
    return repair.proof if costs.get(repair.proof, math.inf) <= _CHEAP_PROOF else ""


def _wanted_first(
    ranked: Sequence[RankedQuestion], missing: str, asked: Mapping[str, Asked], fault: Fault | None
) -> tuple[RankedQuestion, ...]:
    """Return the checks with what is missing before the repair put first.

    Where any reading will do, the one that will prove the repair comes first, then any that gives one.
    """

    def rank(one: RankedQuestion) -> int:
        if one.id == missing or (missing == "reading" and fault is not None and one.id == fault.repair.proof):
            return 0
        return 1 if missing == "reading" and asked[one.id].check.readings else 2

    return tuple(sorted(ranked, key=rank))


def _act_first(
    hypotheses: Sequence[Hypothesis],
    asked: Mapping[str, Asked],
    advice: Advice,
    repairs: Repairs,
    stand: Stand,
    permitted: Sequence[str],
) -> tuple[float, str]:
    """Return the cost of the best repair tried before any check, and the fault it mends.

    Acting gets the same lookahead as checking: when the repair does not help, the best of the leading
    checks may still be done before the next repair.
    """
    by_id = {action.id: action for action in repairs.actions}
    best = (math.inf, "")
    for name in permitted[:_ACTIONS]:
        action = by_id[name]
        left = without(hypotheses, action.cures)
        total = math.fsum(chance for _, chance in left)
        cured = math.fsum(one.chance for one in hypotheses if action.cures & one.causes)
        cost = action.cost + repairs.access(action.place, stand.here, stand.opened) + action.cure_cost * cured
        if total > 0.0:
            after = Stand(action.place, stand.opened | {action.place})
            cost += total * _cheapest_after(left, total, hypotheses, asked, advice, repairs, after)
        best = min(best, (round(cost, 6), name))
    return best


def _cheapest_after(
    left: Sequence[Weighted],
    total: float,
    before: Sequence[Hypothesis],
    asked: Mapping[str, Asked],
    advice: Advice,
    repairs: Repairs,
    stand: Stand,
) -> float:
    """Return the least expected cost once a repair has not helped: repair on, or check first."""
    scaled = [Hypothesis(causes, chance / total) for causes, chance in left]
    kept = _kept(before, left)
    least = policy_plan(scaled, repairs, stand).cost
    for ranked in advice.checks[:_CHECKS_AFTER]:
        question = asked[ranked.id].question
        rows = tuple(tuple([row[number] for number in kept]) for row in question.table)
        least = min(least, cost_with(scaled, replace(question, table=rows), repairs, stand, least))
    return least


def _kept(before: Sequence[Hypothesis], left: Sequence[Weighted]) -> list[int]:
    """Return the numbers of the hypotheses that outlive a repair, in order (pairs lose one cause)."""
    numbers, place = [], 0
    for number, one in enumerate(before):
        if place < len(left) and left[place][1] == one.chance and left[place][0] <= one.causes:
            numbers.append(number)
            place += 1
    return numbers


def _candidates(case: Case, guarded: Guarded, done: frozenset[str]) -> list[Check]:
    """Return the checks to weigh: the walk-rounds alone (and talking) while they are not done."""
    seen = {sighting.id: sighting.value for sighting in case.evidence.sightings}
    checks = case.catalogue.checks_for(case.facts, seen)
    standing = guarded.standings.get(_LOOK_FIRST)
    if standing is None or not standing.closed:
        return checks
    return [
        check
        for check in checks
        if (check.id in _ROUNDS and check.id not in done)
        or (check.places == (_DOOR,) and not check.second_visit)
    ]


def _causes(key: HypothesisKey) -> frozenset[str]:
    return frozenset({"not_listed"}) if key == NOT_LISTED else frozenset(key)


def _cost(check: Check, catalogue: Catalogue, repairs: Repairs, stand: Stand) -> float:
    """Return a check's own cost with reaching its places [minutes of paid time]."""
    parts = [catalogue.check_cost(check.id)]
    here, opened = stand.here, set(stand.opened)
    for place in check.places:
        parts.append(repairs.access(place, here, opened))
        here = place
        opened.add(place)
    return math.fsum(parts)
