"""Writes the tables of docs/separability.md from the engine, for three reference units.

    python tools/write_separability            writes them
    python tools/write_separability --check    only says whether they are as the engine would write them

Run it after a change of faults, checks, sightings, priors or physics.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from holdcold.cards import read_card, resolve
from holdcold.cli.separability import matrix_rows
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.separability import LEAST_RIGHT, Matrix, separability

ROOT = Path(__file__).resolve().parents[2]
DOCUMENT = ROOT / "docs" / "separability.md"
CARDS = ("cooler.toml", "freezer.toml", "reach-in.toml")
BEGIN = "<!-- tables: written by tools/write_separability -->"
END = "<!-- end of tables -->"


def matrix_of(name: str) -> Matrix:
    """Return the matrix of one reference card."""
    return separability(resolve(read_card((Path(__file__).parent / name).read_text(encoding="utf-8"))))


def section(name: str, found: Matrix) -> str:
    """Return one unit's heading, table and groups in Markdown."""
    counts = f"{len(found.faults) - 1} faults, {len(found.checks)} permitted checks, {len(found.pairs)} pairs"
    lines = [
        f"### {name.removesuffix('.toml').capitalize()}",
        "",
        f"{counts}; card: [{name}](../tools/write_separability/{name}).",
        "",
        "| fault | hardest to tell from | by | right |",
        "|---|---|---|---|",
        *(f"| {' | '.join(row)} |" for row in matrix_rows(found, catalogue(), 1)),
        "",
        *groups(found),
    ]
    return "\n".join(lines)


def groups(found: Matrix) -> list[str]:
    """Return the groups that no check tells apart as a Markdown list."""
    named = [f"- {', '.join(f'`{fault}`' for fault in group)}" for group in found.groups()]
    least = f"{100.0 * LEAST_RIGHT:.0f} %"
    if not named:
        return [f"No two of these stay under {least} with the best check."]
    return [f"Not told apart by any permitted check (the best is right under {least}):", "", *named]


def written(document: str, tables: str) -> str:
    """Return a document with everything between the marks replaced."""
    head, _, rest = document.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return f"{head}{BEGIN}\n\n{tables}\n\n{END}{tail}"


def main() -> int:
    """Write the document, or with ``--check`` compare it; return the exit code."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 if it differs")
    check = parser.parse_args().check
    before = DOCUMENT.read_text(encoding="utf-8")
    after = written(before, "\n\n".join(section(name, matrix_of(name)) for name in CARDS))
    if check:
        return int(before != after)
    DOCUMENT.write_text(after, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
