"""What a call on a unit says, as the data every shell shows and scripts read (SI)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from holdcold.answers.words import engine_data, unit_cautions
from holdcold.calls import CallLog, Flag, evidence, flags
from holdcold.cards import Resolved
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.find import Finding, find
from holdcold.diagnosis.learn import Counts
from holdcold.diagnosis.outcome import describe
from holdcold.quantities import UnitPreference
from holdcold.refrigerants import fluid


@dataclass(frozen=True, slots=True)
class Answer:
    """One call answered: the call, what it amounts to, and the same as plain data (SI)."""

    call: CallLog
    finding: Finding
    data: dict[str, Any]


def found(resolved: Resolved, call: CallLog, counts: Counts | None = None) -> Finding:
    """Return the finding of a call; resolved, call: unit and call. counts: closed calls to learn from.

    Raises as ``holdcold.diagnosis.find`` does.
    """
    return find(resolved, evidence(call, resolved.design.supply_v), counts=counts)


def finding_data(
    preference: UnitPreference, resolved: Resolved, call: CallLog, finding: Finding
) -> dict[str, Any]:
    """Return a finding for scripts: ``describe`` with card, call, conditions, flags, cautions and versions.

    preference: units of the words in flags. resolved, call: unit and call. finding: as found.
    """
    told = describe(finding)
    medium = fluid(resolved.design.refrigerant)
    own = _flags_data(flags(call, medium, resolved.design.supply_v, preference))
    here = finding.case.normal.conditions
    return {
        "card": resolved.card.text("name"),
        "call": call.name,
        "conditions": {
            "ambient_k": here.ambient_k,
            "box_k": here.box_k,
            "running": here.running,
            "state": call.conditions.state,
        },
        **told,
        "flags": [*told["flags"], *own],
        "cautions": unit_cautions(resolved),
        "engine": engine_data(catalogue()),
    }


def _flags_data(odd: Sequence[Flag]) -> list[dict[str, object]]:
    return [
        {"kind": flag.kind, "text": flag.message, "advice": flag.advice, "places": list(flag.places)}
        for flag in odd
    ]
