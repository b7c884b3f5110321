"""Facts of a card in a technician's words and units."""

from __future__ import annotations

from typing import Final

from holdcold.cards import Fact
from holdcold.quantities import UnitPreference, format_quantity

_SUFFIXES: Final = (
    ("_kg_s", ""),
    ("_m3", " volume"),
    ("_fan_w", " fan power"),
    ("_pa", " pressure"),
    ("_kg", ""),
    ("_k", ""),
    ("_w", ""),
    ("_v", " voltage"),
    ("_m", ""),
)
_STANDARD_AIR_KG_M3: Final = 1.2
_SPREADS: Final = {"temperature": "temperature_difference", "pressure": "pressure_difference"}


def label(fact: Fact) -> str:
    """Return a fact's name in words, its unit left off."""
    name = fact.name
    for suffix, word in _SUFFIXES:
        if name.endswith(suffix):
            name = name.removesuffix(suffix) + word
            break
    return name.replace("_", " ").replace(" td", " TD")


def shown(preference: UnitPreference, fact: Fact) -> tuple[str, str]:
    """Return (value, spread) of a fact in the person's units; the spread is empty when there is none.

    preference: whose units. fact: what to show; air is shown as the volume of standard air.
    """
    if fact.dimension == "count":
        return f"{fact.value_si:g}", ""
    if fact.dimension == "mass_flow":
        value = format_quantity(fact.value_si / _STANDARD_AIR_KG_M3, "flow", preference)
    else:
        value = format_quantity(fact.value_si, fact.dimension, preference)
    if fact.spread_si <= 0.0:
        return value, ""
    if fact.dimension.startswith("temperature") or fact.value_si == 0.0:
        spread = _SPREADS.get(fact.dimension, fact.dimension)
        return value, "± " + format_quantity(fact.spread_si, spread, preference)
    return value, f"± {100.0 * fact.spread_si / abs(fact.value_si):.0f} %"
