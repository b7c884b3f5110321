"""Refit refrigerants.

python -m tools.fit_refrigerants R-448A R-22    fit these and write their data files
python -m tools.fit_refrigerants --all          fit every refrigerant of the catalogue
python -m tools.fit_refrigerants --grids        write the reference grids of the tests instead
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from . import grids
from .catalogue import ENTRIES, entry
from .fit import fit

ROOT = Path(__file__).parents[2]
DATA = ROOT / "src" / "holdcold" / "refrigerants" / "data"
GRIDS = ROOT / "tests" / "reference" / "coolprop8"


def main() -> None:
    """Fit the named refrigerants, write their data files and print what was reached."""
    parser = argparse.ArgumentParser(prog="python -m tools.fit_refrigerants", description="Refit fluids.")
    parser.add_argument("names", nargs="*", help="designations, for example R-448A")
    parser.add_argument("--all", action="store_true", help="fit every refrigerant of the catalogue")
    parser.add_argument("--out", type=Path, default=DATA, help="folder for the data files")
    parser.add_argument("--grids", action="store_true", help="write tests/reference/coolprop8 instead")
    options = parser.parse_args()
    if options.grids:
        grids.write(GRIDS, ENTRIES)
        return
    chosen = [each.name for each in ENTRIES] if options.all else options.names
    for name in chosen:
        content = fit(entry(name))
        path = options.out / f"{name}.json"
        path.write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")
        print(f"{name}: wrote {path.name}, {path.stat().st_size / 1024:.0f} kB")
        for quantity, error in content["fit_error"].items():
            print(f"  {quantity:22s} {error['worst']:10.3g} {error['unit']:9s} at {error['where']}")


if __name__ == "__main__":
    main()
