"""Cost to a right stop: following the advice against the fixed checklist, on calls with listed causes.

python -m benchmarks.truth.cost_study build/truth/development.jsonl.gz --first 80
"""

from __future__ import annotations

import argparse
import statistics
from pathlib import Path
from typing import Any

from benchmarks.truth.calls import Call
from benchmarks.truth.checklist import by_rules, order
from benchmarks.truth.costs import Ledger, advised, in_order
from benchmarks.truth.evidence import resolved_card
from benchmarks.truth.store import CACHE, append, load, rows

from holdcold.diagnosis.catalogue import catalogue
from holdcold.errors import HoldcoldError


def costs(call: Call, with_order: bool) -> dict[str, Any]:
    """Return the cost of each way on one call; the order read by the diagnosis is slow, and optional."""
    book = catalogue()
    steps = order(book, dict(resolved_card(call).unit_facts()))
    ways: dict[str, Ledger] = {"rules": by_rules(call, steps)}
    try:
        ways["advised"] = advised(call)
        if with_order:
            ways["ordered"] = in_order(call, steps)
    except HoldcoldError as problem:
        return {
            "seed": list(call.seed),
            "stratum": call.stratum,
            "faults": sorted(call.faults),
            "failed": str(problem),
        }
    return {
        "seed": list(call.seed), "stratum": call.stratum, "faults": sorted(call.faults),
        **{name: {"minutes": round(way.minutes, 1), "wrong": way.wrong, "lost": "lost" in way.trail,
        "trail": way.trail}
           for name, way in ways.items()},
    }  # fmt: skip


def text(found: list[dict[str, Any]]) -> str:
    """Return the comparison as text."""
    lines = [f"no answer on {sum('failed' in row for row in found)} of {len(found)}"]
    for title, strata in (("single causes", ("single",)), ("pairs", ("pair",)), ("all", ("single", "pair"))):
        kept = [row for row in found if row["stratum"] in strata and "failed" not in row]
        for other, what in (
            ("rules", "the checklist read by rule"),
            ("ordered", "its order read by the diagnosis"),
        ):
            both = [row for row in kept if other in row]
            if both:
                lines += [
                    f"{title}, {len(both)} calls: minutes to the last right repair, that repair not counted"
                ]
                lines += [_line(both, "advised"), _line(both, other)]
                ratio = _mean(both, "advised") / _mean(both, other)
                lines += [
                    f"  advised over {what}: {ratio:.2f}" + (" (floor 0.60)" if other == "rules" else "")
                ]
    return "\n".join(lines)


def _mean(kept: list[dict[str, Any]], way: str) -> float:
    return statistics.fmean(row[way]["minutes"] for row in kept)


def _line(kept: list[dict[str, Any]], way: str) -> str:
    wrong = statistics.fmean(row[way]["wrong"] for row in kept)
    lost = sum(row[way]["lost"] for row in kept)
    middle = statistics.median(row[way]["minutes"] for row in kept)
    mean = _mean(kept, way)
    return f"  {way:8s} mean {mean:7.1f}  median {middle:6.1f}  wrong repairs {wrong:.2f}  lost {lost}"


def main() -> None:
    """Work through calls and print the comparison."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("calls", type=Path)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument(
        "--ordered", type=int, default=25, help="calls that also get the order read by diagnosis"
    )
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    out = args.out or CACHE / f"{args.calls.name.split('.')[0]}.costs.jsonl"
    known = {tuple(row["seed"]) for row in rows(out)}
    with_cause = [one for one in load(args.calls) if one.stratum in ("single", "pair")]
    for number, call in enumerate(with_cause[: args.first]):
        if tuple(call.seed) not in known:
            append(out, costs(call, number < args.ordered))
    print(text(list(rows(out))))


if __name__ == "__main__":
    main()
