"""What Holdcold knows of faults, checks, sightings and places: dated data, checked when it is read.

``catalogue()`` returns all of it. The data stand in ``diagnosis/data/*.toml``, each row with its source;
``read_catalogue`` reads any set of such texts and reports everything that is wrong with them at once.
"""

from __future__ import annotations

from functools import cache
from importlib import resources

from holdcold.diagnosis.catalogue.book import FILES, Catalogue, Dated, known_state, read_catalogue
from holdcold.diagnosis.catalogue.priors import PriorData, Priors, PriorTable, Story, Together
from holdcold.diagnosis.catalogue.rows import (
    NOT_LOOKED,
    UNIT_FACTS,
    Access,
    Caution,
    Check,
    Conditions,
    Costs,
    Facts,
    Fault,
    FromReading,
    Group,
    Guard,
    Place,
    Repair,
    Rows,
    Sighting,
    Standing,
    stands_for,
)
from holdcold.diagnosis.catalogue.words import AXES, FAMILIES, PHYSICAL_AXES, RISKS, WORKPLACES

__all__ = [
    "AXES", "FAMILIES", "FILES", "NOT_LOOKED", "PHYSICAL_AXES", "RISKS", "UNIT_FACTS", "WORKPLACES",
    "Access", "Catalogue", "Caution", "Check", "Conditions", "Costs", "Dated", "Facts", "Fault",
    "FromReading", "Group", "Guard", "Place", "PriorData", "PriorTable", "Priors", "Repair", "Rows",
    "Sighting", "Standing", "Story", "Together",
    "catalogue", "known_state", "packaged_text", "read_catalogue", "stands_for",
]  # fmt: skip


def packaged_text(name: str) -> str:
    """Return the text of one packaged data file, ``"faults.toml"`` for example."""
    return resources.files("holdcold.diagnosis").joinpath("data", name).read_text(encoding="utf-8")


@cache
def catalogue() -> Catalogue:
    """Return the packaged catalogue; read and checked once."""
    return read_catalogue({name: packaged_text(name) for name in FILES})
