"""Diagnose generated calls and keep what was said of each; ``report`` turns that into figures.

    python -m benchmarks.truth.study build/truth/development.jsonl.gz --evidence careful

Evidence: ``brief`` is the two walk-rounds, air pairs, clamps, gauges and amps; ``careful`` adds what a
careful technician does next, by what the walk-rounds showed (``evidence``); ``guided`` adds to the brief
ones the checks the diagnosis itself asks for, one after the other, until it says that it is enough to act
or a dozen are done.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from benchmarks.truth import report
from benchmarks.truth.calls import Call
from benchmarks.truth.costs import ANSWERED
from benchmarks.truth.evidence import brief_checks, careful_checks, evidence, resolved_card
from benchmarks.truth.store import CACHE, append, load, rows

from holdcold.diagnosis.case import NONE
from holdcold.diagnosis.evidence import SightingEvidence
from holdcold.diagnosis.find import Finding, find
from holdcold.errors import HoldcoldError

LEVELS = {"brief": brief_checks, "careful": careful_checks}
GUIDED = "guided"
_KEPT = 0.002
_GUIDED_CHECKS = 12


def diagnose(call: Call, level: str) -> dict[str, Any]:
    """Return what the diagnosis says of one call, beside the truth."""
    began = time.perf_counter()
    try:
        finding = guided(call) if level == GUIDED else seen_by(call, LEVELS[level](call))
    except HoldcoldError as problem:
        return {**truth_of(call), "failed": f"{type(problem).__name__}: {problem}"}
    return {**truth_of(call), **said(finding), "seconds": round(time.perf_counter() - began, 3)}


def seen_by(call: Call, checks: Iterable[str]) -> Finding:
    """Return what the diagnosis says of a call after these checks."""
    found = evidence(call, checks)
    known = {one.id for one in found.sightings}
    gates = tuple(SightingEvidence(name, "yes") for name in ANSWERED if name not in known)
    return find(resolved_card(call), replace(found, sightings=(*found.sightings, *gates)))


def guided(call: Call) -> Finding:
    """Return what the diagnosis says after the brief checks and those it then asks for."""
    done = list(brief_checks(call))
    finding = seen_by(call, done)
    for _ in range(_GUIDED_CHECKS):
        wanted = [one.id for one in finding.step.ranked if one.id not in done]
        if finding.step.enough or not wanted:
            break
        done.append(wanted[0])
        finding = seen_by(call, done)
    return finding


def truth_of(call: Call) -> dict[str, Any]:
    """Return the truth of a call."""
    return {
        "seed": list(call.seed), "stratum": call.stratum, "faults": sorted(call.faults),
        "severity": call.faults, "strange": call.strange, "lying": call.lying, "state": call.state,
        "complaint": call.complaint, "about": call.about,
    }  # fmt: skip


def said(finding: Finding) -> dict[str, Any]:
    """Return the chances of a finding, and what it would do next."""
    chances = finding.chances
    ranked = [(one.fault, one.chance) for one in chances.suspects]
    return {
        "suspects": [
            (name, round(chance, 5)) for name, chance in ranked if chance > _KEPT or name in dict(ranked[:3])
        ],
        "first": "+".join(chances.hypotheses[0][0]) or "none",
        "hypotheses": [("+".join(key) or "none", round(chance, 5)) for key, chance in chances.hypotheses[:6]],
        "none": round(chances.chance(NONE), 5),
        "not_listed": round(chances.not_listed_chance, 5),
        "enough": finding.step.enough,
        "act_on": finding.step.act_on,
        "next": finding.step.ranked[0].id if finding.step.ranked else "",
    }


def run(calls: list[Call], level: str, out: Path) -> list[dict[str, Any]]:
    """Diagnose the calls that ``out`` does not hold yet; return every row of it."""
    known = {tuple(row["seed"]) for row in rows(out)}
    for call in calls:
        if tuple(call.seed) not in known:
            append(out, diagnose(call, level))
    return list(rows(out))


def main() -> None:
    """Diagnose a file of calls and print the report."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("calls", type=Path)
    parser.add_argument("--evidence", choices=sorted((*LEVELS, GUIDED)), default="careful")
    parser.add_argument("--first", type=int, default=0, help="only the first calls of the file")
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    calls = load(args.calls)
    calls = calls[: args.first] if args.first else calls
    out = args.out or CACHE / f"{args.calls.name.split('.')[0]}-{args.evidence}.results.jsonl"
    found = run(calls, args.evidence, out)
    print(report.text(found))


if __name__ == "__main__":
    main()
