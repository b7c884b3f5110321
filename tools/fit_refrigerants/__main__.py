"""Fit refrigerants.

python -m tools.fit_refrigerants R-448A R-22     fit these and write their data files
python -m tools.fit_refrigerants my/R-999A.toml  fit what a file of your own describes
python -m tools.fit_refrigerants --all           fit every refrigerant of the catalogue
python -m tools.fit_refrigerants --table         renew the tables of docs/refrigerants.md from the data files
python -m tools.fit_refrigerants --grids         write the reference grids of the tests
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from . import grids, table
from .catalogue import catalogued, entry
from .fit import fit

ROOT = Path(__file__).parents[2]
DATA = ROOT / "src" / "holdcold" / "refrigerants" / "data"
GRIDS = ROOT / "tests" / "reference" / "coolprop8"
PAGE = ROOT / "docs" / "refrigerants.md"


def main() -> None:
    """Fit the named refrigerants, write their data files and print what was reached."""
    parser = argparse.ArgumentParser(prog="python -m tools.fit_refrigerants", description="Refit fluids.")
    parser.add_argument("names", nargs="*", help="designations, for example R-448A, or catalogue files")
    parser.add_argument("--all", action="store_true", help="fit every refrigerant of the catalogue")
    parser.add_argument("--out", type=Path, help="another folder for what is written")
    parser.add_argument(
        "--table", action="store_true", help="renew the tables of docs/refrigerants.md instead"
    )
    parser.add_argument("--grids", action="store_true", help="write tests/reference/coolprop8 instead")
    options = parser.parse_args()
    if options.grids:
        grids.write(options.out or GRIDS, [entry(name) for name in catalogued()])
    elif options.table:
        PAGE.write_text(table.renewed(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    else:
        for name in catalogued() if options.all else options.names:
            _fit(name, options.out or DATA)


def _fit(name: str, folder: Path) -> None:
    """Fit one refrigerant, write its data file, print its errors and its distance from other models."""
    content = fit(entry(name))
    path = folder / f"{content['name']}.json"
    path.write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")
    print(f"{content['name']}: wrote {path.name}, {path.stat().st_size / 1024:.0f} kB, {content['status']}")
    for heading in ("fit_error", "reference_spread"):
        print(f" {heading}")
        for quantity, error in content[heading].items():
            print(f"  {quantity:22s} {error['worst']:10.3g} {error['unit']:9s} at {error['where']}")


if __name__ == "__main__":
    main()
