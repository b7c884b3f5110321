"""The published JSON Schema of a call, generated from the tables that validate it."""

from __future__ import annotations

from holdcold.calls.fields import CALL_FIELDS, LISTS, SECTIONS
from holdcold.calls.known import Known
from holdcold.cards.schema import form_schema, object_schema


def call_schema(known: Known) -> dict[str, object]:
    """Return the JSON Schema of a call file (draft 2020-12); known: names that exist."""
    schema = form_schema("Holdcold call", CALL_FIELDS, SECTIONS)
    properties = schema["properties"]
    names = {
        "reading": ("place", known.places),
        "sighting": ("id", known.sightings),
        "check": ("id", known.checks),
        "repair": ("fault", known.faults),
        "override": ("guard", known.guards),
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
