"""Reading the packaged data files."""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib import resources
from types import MappingProxyType
from typing import Any

from holdcold.refrigerants.info import Envelope, FitError, FluidInfo


def file_names() -> list[str]:
    """Names of the packaged data files, sorted."""
    folder = resources.files("holdcold.refrigerants").joinpath("data")
    return sorted(each.name for each in folder.iterdir() if each.name.endswith(".json"))


def read_file(file_name: str) -> dict[str, Any]:
    """The content of one packaged data file."""
    folder = resources.files("holdcold.refrigerants").joinpath("data")
    content: dict[str, Any] = json.loads(folder.joinpath(file_name).read_text(encoding="utf-8"))
    return content


def read_info(data: dict[str, Any]) -> FluidInfo:
    """The facts in a data file's content."""
    return FluidInfo(
        name=data["name"],
        composition=MappingProxyType(data["composition"]),
        safety_class=data["safety_class"],
        gwp=MappingProxyType(data["gwp"]),
        molar_mass_kg_mol=data["molar_mass_kg_mol"],
        critical_k=data["critical_k"],
        critical_pa=data["critical_pa"],
        envelope=Envelope(**data["envelope"]),
        fit_error=_errors(data["fit_error"]),
        reference_spread=_errors(data["reference_spread"]),
        provenance=MappingProxyType(data["provenance"]),
        status=data["status"],
        note=data["note"],
        data_version=data["data_version"],
    )


def _errors(section: dict[str, Any]) -> Mapping[str, FitError]:
    """Differences by quantity, read-only."""
    return MappingProxyType({quantity: FitError(**error) for quantity, error in section.items()})
