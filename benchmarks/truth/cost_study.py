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


def costs(call: Call) -> dict[str, Any]:
    """Return the cost of each way on one call."""
    book = catalogue()
    steps = order(book, dict(resolved_card(call).unit_facts()))
    ways: dict[str, Ledger] = {"rules": by_rules(call, steps)}
    try:
        ways |= {"advised": advised(call), "ordered": in_order(call, steps)}
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
    lines = []
    for title, strata in (("single causes", ("single",)), ("pairs", ("pair",)), ("all", ("single", "pair"))):
        kept = [row for row in found if row["stratum"] in strata and "failed" not in row]
        if not kept:
            continue
        lines.append(f"{title}: {len(kept)} calls; minutes to the last right repair, that repair not counted")
        means = {}
        for name in ("advised", "ordered", "rules"):
            minutes = [row[name]["minutes"] for row in kept]
            means[name] = statistics.fmean(minutes)
            wrong = statistics.fmean(row[name]["wrong"] for row in kept)
            lost = sum(row[name]["lost"] for row in kept)
            lines.append(
                f"  {name:8s} mean {means[name]:7.1f}  median {statistics.median(minutes):6.1f}  "
                f"wrong repairs {wrong:.2f}  lost {lost}"
            )
        lines.append(
            f"  advised over the checklist read by rule {means['advised'] / means['rules']:.2f} (floor 0.60),"
            f" over the same order read by the diagnosis {means['advised'] / means['ordered']:.2f}"
        )
    return "\n".join(lines)


def main() -> None:
    """Work through calls and print the comparison."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("calls", type=Path)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    out = args.out or CACHE / f"{args.calls.name.split('.')[0]}.costs.jsonl"
    known = {tuple(row["seed"]) for row in rows(out)}
    for call in [one for one in load(args.calls) if one.stratum in ("single", "pair")][: args.first]:
        if tuple(call.seed) not in known:
            append(out, costs(call))
    print(text(list(rows(out))))


if __name__ == "__main__":
    main()
