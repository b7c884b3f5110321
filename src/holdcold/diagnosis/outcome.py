"""A finding as plain data, SI: what scripts read and what every screen shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from holdcold.diagnosis.case import NOT_LISTED
from holdcold.diagnosis.explain import Explanation, Reason, explain, in_words
from holdcold.diagnosis.find import Finding
from holdcold.diagnosis.posterior import Suspect
from holdcold.diagnosis.questions import Asked, Item
from holdcold.diagnosis.sequential import RankedQuestion
from holdcold.diagnosis.severity import Severity

_LEAST_SUSPECT = 0.01
_MOST_SUSPECTS = 8
_EXPLAINED = 4
_MOST_HYPOTHESES = 10
_ALTERNATIVES = 3
_OUTCOMES_SHOWN = 6
_LYING = 0.08
_CAPPED = 0.80
"""Highest chance said of anything while the machine is unsteady."""


def describe(finding: Finding) -> dict[str, Any]:
    """Return a finding as data: suspects, hypotheses, next check, act, flags, readings against bands.

    Chances are probabilities in 0 to 1; ``hypotheses`` (with *none* as an empty list and *not listed*)
    sum to 1 when all are asked for, ``suspects`` are marginals and do not. Every number is SI.
    """
    suspects = _suspects(finding)
    return {
        "suspects": suspects,
        "hypotheses": _hypotheses(finding),
        "next_check": _next_check(finding),
        "other_checks": [_check(finding, one) for one in finding.step.ranked[1 : 1 + _ALTERNATIVES]],
        "act": _act(finding),
        "flags": _flags(finding),
        "readings": _readings(finding),
        "healthy_chance": finding.chances.none_chance,
        "not_listed_chance": finding.chances.not_listed_chance,
    }


def _suspects(finding: Finding) -> list[dict[str, Any]]:
    shown = [one for one in finding.chances.suspects if one.chance >= _LEAST_SUSPECT][:_MOST_SUSPECTS]
    compared = finding.outlook.comparison(finding.problem, finding.cells)
    reasons = explain(compared, [one.fault for one in shown[:_EXPLAINED]])
    rows = [_suspect(finding, one, reasons.get(one.fault)) for one in shown]
    rows += _liars(finding)
    return sorted(rows, key=lambda row: (-round(row["chance"], 6), row["fault"]))


def _within(finding: Finding, fault: str, severity: Severity) -> dict[str, float]:
    """Return mean and band of a severity, kept inside what the fault can have."""
    ladder = finding.case.hypotheses.ladders[fault]
    least, most = ladder.nodes[0] - ladder.halves[0], ladder.nodes[-1] + ladder.halves[-1]
    found = {"mean": severity.mean, "low": severity.low, "high": severity.high}
    return {name: min(max(value, least), most) for name, value in found.items()}


def _suspect(finding: Finding, one: Suspect, reasons: Explanation | None) -> dict[str, Any]:
    fault = finding.case.hypotheses.faults[one.fault]
    group = finding.case.catalogue.group_of(one.fault, finding.case.facts)
    chance = min(one.chance, _CAPPED) if finding.case.unsteady_minutes else one.chance
    severity = one.severity
    return {
        "fault": one.fault,
        "title": fault.title,
        "chance": chance,
        "words": in_words(chance),
        "severity": None
        if severity is None
        else {**_within(finding, one.fault, severity), "unit": fault.unit},
        "why": [_reason(reason) for reason in reasons.why()] if reasons else [],
        "against": [_reason(reason) for reason in reasons.against()] if reasons else [],
        "because": fault.because,
        "would_kill_it": fault.kills,
        "would_change_it": _would_change(finding, one.fault),
        "together_with": None
        if group is None
        else {"group": group.id, "faults": list(group.faults), "why": group.why},
        "withheld_by": finding.step.guarded.blocked_faults.get(one.fault),
        "prior": {
            "chance": finding.case.hypotheses.source.faults.get(one.fault, 0.0),
            "band": finding.case.hypotheses.source.band_words,
            "source": finding.case.hypotheses.source.source,
        },
    }


def _reason(reason: Reason) -> dict[str, Any]:
    return {
        "item": reason.item,
        "observed": reason.observed,
        "expected": reason.expected,
        "normal": reason.normal,
        "sigma": reason.sigma,
        "delta_nats": reason.delta,
    }


def _would_change(finding: Finding, fault: str) -> dict[str, Any] | None:
    """Return the thing still open that would move a suspect most, and by how much on average."""
    found = []
    for asked in finding.step.asked.values():
        found += [(finding.outlook.shift(fault, item), item.name, asked.check.id) for item in asked.items]
    if not found:
        return None
    shift, name, check = max(found, key=lambda one: (round(one[0], 9), one[1]))
    return {"item": name, "check": check, "expected_change": shift}


def _liars(finding: Finding) -> list[dict[str, Any]]:
    """Return instruments that probably lie, as suspects of their own."""
    rows = []
    for name, chance in finding.chances.lying:
        if chance < _LYING:
            continue
        places = [one.place for one in finding.case.observations if one.instrument_id == name]
        is_gauge = any(finding.case.catalogue.place(place).dimension == "pressure" for place in places)
        fault = finding.case.catalogue.fault("gauge_lying" if is_gauge else "probe_lying")
        rows.append(
            {
                "fault": fault.id,
                "title": fault.title,
                "instrument": name,
                "chance": chance,
                "words": in_words(chance),
                "severity": None,
                "why": [],
                "against": [],
                "because": fault.because,
                "would_kill_it": fault.kills,
                "would_change_it": None,
                "together_with": None,
                "withheld_by": None,
                "prior": None,
            }
        )
    return rows


def _hypotheses(finding: Finding) -> list[dict[str, Any]]:
    shown = [(key, chance) for key, chance in finding.chances.hypotheses[:_MOST_HYPOTHESES]]
    kept = {key for key, _ in shown}
    shown += [
        (key, chance)
        for key, chance in finding.chances.hypotheses
        if key in ((), NOT_LISTED) and key not in kept
    ]
    return [{"faults": list(key), "chance": chance} for key, chance in shown]


def _next_check(finding: Finding) -> dict[str, Any] | None:
    return _check(finding, finding.step.ranked[0]) if finding.step.ranked else None


def _check(finding: Finding, ranked: RankedQuestion) -> dict[str, Any]:
    asked = finding.step.asked[ranked.id]
    book = finding.case.catalogue
    check = asked.check
    return {
        "check": check.id,
        "title": check.title,
        "how": check.how,
        "place": list(check.places),
        "cost_minutes": finding.step.cost_of[check.id],
        "own_minutes": check.minutes,
        "wait_minutes": check.wait_minutes,
        "expected_total_minutes": ranked.cost,
        "saves_minutes": ranked.saves,
        "why": _separates(finding, asked),
        "looks_at": [_item(item) for item in asked.items],
        "outcomes": _outcomes(finding, asked),
        "isolate": check.isolate,
        "opens_circuit": check.opens_circuit,
        "leaves_temporary_state": check.temporary,
        "who_not": check.who_not,
        "cautions": [{"id": name, "text": book.cautions[name].text} for name in check.cautions],
    }


def _item(item: Item) -> dict[str, Any]:
    found: dict[str, Any] = {"item": item.name, "bits": item.gain}
    if item.low is not None:
        found["as_expected"] = {"low": item.low, "high": item.high}
    return found


def _separates(finding: Finding, asked: Asked) -> list[str]:
    """Return the suspects whose chance this check is expected to move most, likeliest movers first."""
    movers = []
    for one in finding.chances.suspects[:6]:
        if one.chance >= _LEAST_SUSPECT:
            shift = max(finding.outlook.shift(one.fault, item) for item in asked.items)
            movers.append((-round(shift, 9), one.fault))
    return [fault for _, fault in sorted(movers)[:3]]


def _outcomes(finding: Finding, asked: Asked) -> list[dict[str, Any]]:
    """Return the likeliest outcomes of a check, each with whom it would then point to."""
    chances = finding.outlook.chances
    rows: list[dict[str, Any]] = []
    for parts, row in zip(asked.parts, asked.question.table, strict=True):
        chance = 0.0
        for share, value in zip(chances, row, strict=True):
            chance += share * value
        after = finding.outlook.suspects_after(row)
        rows.append(
            {
                "seen": _named(asked, parts),
                "chance": chance,
                "then": [{"fault": fault, "chance": value} for fault, value in after[:2]],
            }
        )
    rows.sort(key=lambda one: -round(one["chance"], 9))
    return rows[:_OUTCOMES_SHOWN]


def _named(asked: Asked, parts: Sequence[str]) -> Mapping[str, str]:
    if len(parts) != len(asked.items):
        return {"anything": "else"}
    return {item.name: part for item, part in zip(asked.items, parts, strict=True)}


def _act(finding: Finding) -> dict[str, Any]:
    step = finding.step
    best = step.ranked[0] if step.ranked else None
    answer: dict[str, Any] = {
        "enough": step.enough,
        "first": step.act_on or None,
        "expected_minutes": step.act_first if step.act_on else None,
        "check_first_minutes": None if best is None else best.cost,
    }
    if step.act_on:
        fault = finding.case.hypotheses.faults[step.act_on]
        answer["repair"] = {
            "title": fault.repair.title,
            "minutes": fault.repair.minutes,
            "place": fault.repair.place,
            "opens_circuit": fault.repair.opens_circuit,
            "proof": fault.repair.proof,
            "cautions": [
                {"id": name, "text": finding.case.catalogue.cautions[name].text} for name in fault.cautions
            ],
            "ask_before_closing": list(fault.behind),
        }
    answer["reason"] = _why_act(finding)
    return answer


def _why_act(finding: Finding) -> str:
    step = finding.step
    if finding.case.unsteady_minutes:
        minutes = finding.case.unsteady_minutes
        return f"Wait {minutes:.0f} minutes: the machine is not steady, readings mislead now."
    if step.missing == "look":
        return "Walk round box and unit first: four minutes each, before anything is measured or mended."
    if not step.act_on:
        return "A guard withholds every verdict: do what it asks, or record why not."
    title = finding.case.hypotheses.faults[step.act_on].repair.title
    if step.missing == "reading":
        return f"{title}: not on looks alone; take at least one reading before a circuit is opened."
    if not step.ranked:
        return f"No permitted check is left: {title}, then see whether it helped."
    check = step.asked[step.ranked[0].id].check.title
    if step.enough:
        expected = f"about {step.act_first:.0f} min expected to the finished repair"
        return f"{title}: {expected}, and no check makes it cheaper."
    if step.missing == step.ranked[0].id:
        return f'Not yet: "{check}" first, as found, so that it shows afterwards whether the repair held.'
    saved = step.act_first - step.ranked[0].cost
    if saved > 0.0:
        return f'Not yet: "{check}" first brings the expected cost down by about {saved:.0f} min.'
    return f'Not yet: no cause is likely enough to act on; "{check}" tells most for its cost.'


def _flags(finding: Finding) -> list[dict[str, Any]]:
    """Return closed guards and unsteadiness, in words."""
    flags: list[dict[str, Any]] = []
    if finding.case.unsteady_minutes:
        minutes = finding.case.unsteady_minutes
        flags.append(
            {"kind": "unsteady", "text": f"Not steady yet: wait {minutes:.0f} minutes, then read again."}
        )
    book = finding.case.catalogue
    concerned = set(finding.step.guarded.blocked_faults.values())
    leading = {one.fault for one in finding.chances.suspects[:3]}
    for name in sorted(concerned):
        held = sorted(leading & book.guards[name].faults)
        standing = finding.step.guarded.standings[name]
        if held:
            flags.append(
                {
                    "kind": "guard",
                    "guard": name,
                    "text": book.guards[name].text,
                    "why": book.guards[name].why,
                    "lifts": book.guards[name].lifts,
                    "missing": list(standing.missing),
                    "against": [list(one) for one in standing.against],
                    "withholds": held,
                }
            )
    flags.extend(
        {"kind": "override", "guard": override.guard, "text": f"Set aside: {override.reason}"}
        for override in finding.case.evidence.overrides
    )
    return flags


def _readings(finding: Finding) -> list[dict[str, Any]]:
    """Return what was read against what this unit should read now."""
    rows = []
    for one in finding.case.observations:
        band = finding.case.normal.readings.get(one.place)
        if band is None:
            continue
        spread = (band.card_sigma**2 + band.model_sigma**2 + one.sigma**2 + one.bias_sigma**2) ** 0.5
        rows.append(
            {
                "place": one.place,
                "value": one.value,
                "normal": band.value,
                "low": band.low,
                "high": band.high,
                "sigmas_off": (one.value - band.value) / spread,
            }
        )
    return rows
