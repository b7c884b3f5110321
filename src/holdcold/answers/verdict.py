"""What a finding comes to, for every shell: whom to name, *can't tell yet*, which reasons to tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import fsum
from typing import Any, Final

from holdcold.diagnosis.catalogue import Catalogue
from holdcold.diagnosis.find import Finding

LEAD: Final = 0.65
"""Chance from which on the first suspect is named."""

TOGETHER: Final = 0.35
"""Chance from which on two faults at once are named, and a second fault is worth a further look."""

MOST_SUSPECTS: Final = 3
LEAST_CHANCE: Final = 0.02
"""Suspects told in full: how many, and the least chance of one."""

SHORT: Final = 0.1
"""Chance below which a suspect is told in a line."""

_RIVAL: Final = 0.5
_LEAST_NATS: Final = 0.3
_PLAIN_NATS: Final = 1.0
_LEAST_SHARE: Final = 0.15

Data = Mapping[str, Any]


def pair_leads(data: Data) -> bool:
    """Say whether two faults at once are the likeliest story; data: as ``describe`` gives it."""
    best = data["hypotheses"][0]
    return len(best["faults"]) > 1 and best["chance"] >= TOGETHER


def undecided(data: Data, suspects: Sequence[Data]) -> bool:
    """Say whether the leading suspects are too near each other, or too unlikely, to name one.

    data: as ``describe`` gives it. suspects: as ``grouped`` gives them.
    """
    if data["act"]["enough"] or not suspects:
        return False
    first = suspects[0]["chance"]
    second = suspects[1]["chance"] if len(suspects) > 1 else 0.0
    return bool(first < LEAD or (second > _RIVAL * first and not pair_leads(data)))


def verdict(data: Data, suspects: Sequence[Data]) -> str:
    """Return the kind of headline: unsteady, pair, named, healthy, take_two or open.

    data: as ``describe`` gives it. suspects: as ``grouped`` gives them.
    """
    if any(flag["kind"] == "unsteady" for flag in data["flags"]):
        return "unsteady"
    if pair_leads(data):
        return "pair"
    open_still = undecided(data, suspects)
    if suspects and suspects[0]["chance"] >= max(LEAD, data["healthy_chance"]) and not open_still:
        return "named"
    if data["healthy_chance"] >= LEAD:
        return "healthy"
    return "take_two" if open_still and data["other_checks"] else "open"


def strong(reasons: Sequence[Data], *, speaking_against: bool = False) -> list[Data]:
    """Return the reasons worth telling: no tail of the strongest, and none that reads the other way round.

    reasons: as the diagnosis gives them. speaking_against: whether they speak against the suspect.
    A small credit can come from how a reading compares with other suspects; beside *normal* and *with
    this* such a reading would seem to say the opposite, so it is told only when it weighs a lot.
    """
    sizes = [abs(reason["delta_nats"]) for reason in reasons]
    least = max([_LEAST_NATS, *(_LEAST_SHARE * size for size in sizes)])
    return [
        reason
        for reason, size in zip(reasons, sizes, strict=True)
        if size >= (_PLAIN_NATS if reason["item"] == "state" else least)
        and (size >= _PLAIN_NATS or _reads_right(reason, speaking_against=speaking_against))
    ]


def _reads_right(reason: Data, *, speaking_against: bool) -> bool:
    """Say whether what was observed is nearer to the suspect than to a healthy unit (against: farther)."""
    expected, normal, observed = reason["expected"], reason["normal"], reason["observed"]
    if expected is None or normal is None:
        return True
    if isinstance(observed, str):
        fits = expected > normal
    else:
        fits = abs(observed - expected) < abs(observed - normal)
    return bool(fits) is not speaking_against


def grouped(finding: Finding, suspects: Sequence[Data], book: Catalogue) -> list[Data]:
    """Return suspects with those that nothing permitted tells apart made one, likeliest first.

    finding: as found. suspects: as ``describe`` gives them. book: the catalogue.
    """
    found: dict[str, dict[str, Any]] = {}
    for one in suspects:
        group = one["together_with"]
        key = group["group"] if group else one["fault"] + one.get("instrument", "")
        if key not in found:
            found[key] = {**one, "faults": [one["fault"]]}
            if group:
                members = set(group["faults"])
                chance = fsum(value for faults, value in finding.chances.hypotheses if members & set(faults))
                found[key] |= {"title": book.groups[key].title, "chance": chance, "severity": None}
        else:
            found[key]["faults"].append(one["fault"])
    return sorted(found.values(), key=lambda one: -one["chance"])
