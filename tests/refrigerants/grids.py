"""The committed reference grids, and how far the packaged functions may lie from them."""

from __future__ import annotations

import csv
from pathlib import Path

REFERENCE = Path(__file__).parents[1] / "reference"

# The accuracy the data files promise over their whole envelope: relative for pressure and density.
PRESSURE, DENSITY = 5e-4, 3e-3
TEMPERATURE_K, ENTHALPY_J_KG = 0.02, 300.0
# Entropy and heat capacity have no promise of their own: 300 J/kg at 220 K, and a percent.
ENTROPY_J_KGK, HEAT_CAPACITY = 1.4, 0.01


def rows(source: str, file_name: str) -> list[dict[str, str]]:
    """Return the lines of one committed table as dictionaries."""
    with (REFERENCE / source / file_name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def numbers(row: dict[str, str], *keys: str) -> list[float]:
    """Return the named columns of a line as numbers."""
    return [float(row[key]) for key in keys]
