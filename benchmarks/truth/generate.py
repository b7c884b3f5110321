"""Make the calls of a study.

    python -m benchmarks.truth.generate --seed 1 --count 200 --out build/truth/development.jsonl.gz
    python -m benchmarks.truth.generate --seed 2 --each 10 --out build/truth/each.jsonl.gz

The first takes strata and causes by their shares, the second every listed fault the same number of times.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from pathlib import Path

from benchmarks.truth.calls import Call, make
from benchmarks.truth.evidence import answers
from benchmarks.truth.faults import LISTED
from benchmarks.truth.store import CACHE, save

PATTERN = (
    "single", "pair", "single", "unlisted", "single", "pull_down", "single", "single", "pair", "single",
    "healthy",
    "single", "single", "pair", "single", "unlisted", "single", "pull_down", "single", "single", "pair",
    "single",
    "healthy", "single", "single", "pair", "single", "unlisted", "single", "pull_down", "single", "single",
    "pair",
    "single", "healthy", "single", "single", "pair", "single", "unlisted",
)  # fmt: skip
"""Forty calls: 23 single causes, 7 pairs (17.5 %), 4 unlisted (10 %), 3 healthy, 3 in a hot pull-down."""


def natural(seed: int, count: int) -> list[Call]:
    """Return ``count`` calls with strata by ``PATTERN`` and causes by their shares."""
    values = answers()
    return [make(seed, number, PATTERN[number % len(PATTERN)], values) for number in range(count)]


def each(seed: int, count: int) -> list[Call]:
    """Return ``count`` calls of every listed fault."""
    values = answers()
    names = [name for name in LISTED for _ in range(count)]
    return [make(seed, number, "single", values, fault) for number, fault in enumerate(names)]


def main() -> None:
    """Make calls and say how many of what."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, default=0)
    parser.add_argument("--each", type=int, default=0)
    parser.add_argument("--out", type=Path, default=CACHE / "calls.jsonl.gz")
    args = parser.parse_args()
    began = time.perf_counter()
    calls = each(args.seed, args.each) if args.each else natural(args.seed, args.count)
    save(args.out, calls)
    print(
        f"{len(calls)} calls in {time.perf_counter() - began:.0f} s, {args.out.stat().st_size / 1024:.0f} KiB"
    )
    print(Counter(call.stratum for call in calls))
    print(Counter(name for call in calls if call.stratum == "single" for name in call.faults).most_common())


if __name__ == "__main__":
    main()
