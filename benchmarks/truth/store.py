"""Calls on disk: one JSON line each.

Gzipped without a time stamp so that the same calls give the same bytes.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from benchmarks.truth.calls import Call, from_json

ROOT = Path(__file__).resolve().parents[2]
CACHE = ROOT / "build" / "truth"
"""Where generated calls and results are kept; never committed."""

DATA = Path(__file__).resolve().parent / "data"
"""The committed calls."""


def load(path: Path) -> list[Call]:
    """Return the calls of a file."""
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        return [from_json(line) for line in lines]


def save(path: Path, calls: Iterable[Call]) -> None:
    """Write calls to a file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    text = "".join(f"{call.to_json()}\n" for call in calls)
    path.write_bytes(gzip.compress(text.encode(), compresslevel=9, mtime=0))


def rows(path: Path) -> Iterator[dict[str, Any]]:
    """Yield the results of a file, one a call; nothing where there is none."""
    if path.exists():
        for line in path.read_text(encoding="utf-8").splitlines():
            yield json.loads(line)


def append(path: Path, row: dict[str, Any]) -> None:
    """Add one result to a file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a", encoding="utf-8") as out:
        out.write(json.dumps(row, separators=(",", ":")) + "\n")
