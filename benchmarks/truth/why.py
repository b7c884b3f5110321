"""What misled the diagnosis: for every call that was read wrong, the evidence that spoke for the wrong cause.

    python -m benchmarks.truth.why build/truth/development.jsonl.gz --evidence careful --strata single

For each item of evidence: what it added to the log-odds of the wrong suspect, less what it added to the right
one. The same items summed over the calls come last: the place to look for an assumption that does not hold.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from pathlib import Path
from typing import Any

from benchmarks.truth.calls import Call
from benchmarks.truth.evidence import evidence, resolved_card
from benchmarks.truth.report import HARMLESS, ranking, suspects
from benchmarks.truth.store import CACHE, load, rows
from benchmarks.truth.study import LEVELS

from holdcold.diagnosis.explain import Reason, explain
from holdcold.diagnosis.find import Finding, find

_SHOWN = 5
_AT_LEAST = 0.5


def wrong_and_right(row: dict[str, Any]) -> tuple[str, str] | None:
    """Return (suspect that was preferred, cause that was there or ""); None where the call was read right."""
    names = [name for name in suspects(row) if name not in row["faults"]]
    if row["stratum"] == "pair":
        missed = [name for name in row["faults"] if name not in suspects(row)[:3]]
        return (names[0], missed[0]) if missed and names else None
    if row["stratum"] == "single":
        return (names[0], row["faults"][0]) if ranking(row)[0] not in row["faults"] and names else None
    if row["stratum"] in ("healthy", "pull_down"):
        return (names[0], "") if row["first"] not in HARMLESS and names else None
    return None


def misled(finding: Finding, wrong: str, right: str) -> list[tuple[float, str, Reason]]:
    """Return (nats for the wrong less nats for the right, item, its reason), most misleading first."""
    compared = finding.outlook.comparison(finding.problem, finding.cells)
    told = explain(compared, [name for name in (wrong, right) if name])
    parts: dict[str, dict[str, Reason]] = defaultdict(dict)
    for name, one in told.items():
        for reason in one.reasons:
            parts[reason.item][name] = reason
    found = []
    for item, reasons in parts.items():
        gain = (reasons[wrong].delta if wrong in reasons else 0.0) - (
            reasons[right].delta if right in reasons else 0.0
        )
        found.append((gain, item, reasons.get(wrong) or reasons[right]))
    return sorted(found, key=lambda one: -one[0])


def shown(value: float | str | None) -> str:
    """Return a value in few characters."""
    return f"{value:.2f}" if isinstance(value, float) else str(value)


def main() -> None:
    """Print what misled, call by call and in sum."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("calls", type=Path)
    parser.add_argument("--evidence", choices=sorted(LEVELS), default="careful")
    parser.add_argument("--strata", nargs="+", default=["single"])
    parser.add_argument("--results", type=Path)
    args = parser.parse_args()
    results = args.results or CACHE / f"{args.calls.name.split('.')[0]}-{args.evidence}.results.jsonl"
    said = {tuple(row["seed"]): row for row in rows(results) if "failed" not in row}
    total: dict[tuple[str, str], float] = defaultdict(float)
    for call in load(args.calls):
        row = said.get(tuple(call.seed))
        names = wrong_and_right(row) if row and call.stratum in args.strata else None
        if row and names:
            _tell(call, row, names, LEVELS[args.evidence](call), total)
    print("\nin sum: nats for the wrong suspect, by item and suspect")
    for (item, wrong), nats in sorted(total.items(), key=lambda one: -one[1])[:25]:
        print(f"  {nats:6.1f}  {item:28s} for {wrong}")


def _tell(
    call: Call,
    row: dict[str, Any],
    names: tuple[str, str],
    checks: tuple[str, ...],
    total: dict[tuple[str, str], float],
) -> None:
    wrong, right = names
    finding = find(resolved_card(call), evidence(call, checks))
    first = [(name, round(chance, 2)) for name, chance in row["suspects"][:3]]
    about = {
        name: row["about"].get(name)
        for name in ("kind", "application", "gas", "trip", "warm_k", "superheat_k")
    }
    beside = f"none {row['none']:.2f} not listed {row['not_listed']:.2f}"
    print(f"\n{row['seed']} {row['severity']} said {first} {beside}")
    print(f"  {about} {row['state']} {row['complaint']} lying {row['lying']}")
    found = misled(finding, wrong, right)
    for gain, item, _ in found:
        if gain > _AT_LEAST:
            total[item, wrong] += gain
    for gain, item, reason in found[:_SHOWN]:
        print(
            f"    {gain:+.1f} {item}: saw {shown(reason.observed)}, expected {shown(reason.expected)}, "
            f"normal {shown(reason.normal)}, sigma {shown(reason.sigma)}"
        )


if __name__ == "__main__":
    main()
