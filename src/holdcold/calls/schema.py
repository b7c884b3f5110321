"""The published JSON Schema of a call, generated from the tables that validate it."""

from __future__ import annotations

from holdcold.calls.fields import CALL_FIELDS, LISTS, SECTIONS
from holdcold.cards.schema import form_schema, object_schema
from holdcold.diagnosis.catalogue import Catalogue


def call_schema(catalogue: Catalogue) -> dict[str, object]:
    """Return the JSON Schema of a call file (draft 2020-12); catalogue: the names that exist."""
    schema = form_schema("Holdcold call", CALL_FIELDS, SECTIONS)
    properties = schema["properties"]
    names = {
        "reading": ("place", catalogue.places),
        "sighting": ("id", catalogue.sightings),
        "check": ("id", catalogue.checks),
        "repair": ("fault", catalogue.faults),
        "override": ("guard", catalogue.guards),
    }
    for name, (meaning, fields) in LISTS.items():
        entry = object_schema(meaning, fields)
        inside = entry["properties"]
        if name in names and isinstance(inside, dict):
            key, ids = names[name]
            inside[key] = {"description": inside[key]["description"], "enum": sorted(ids)}
        if isinstance(properties, dict):
            properties[name] = {"type": "array", "description": meaning, "items": entry}
    return schema
