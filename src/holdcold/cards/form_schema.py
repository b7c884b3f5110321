"""JSON Schema of a form, generated from the table that validates it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from typing import Final

from holdcold.cards.form import Field

_DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"


def form_schema(title: str, fields: Iterable[Field], sections: Mapping[str, str]) -> dict[str, object]:
    """Return the JSON Schema of a form: its top fields, and one object for each section."""
    fields = list(fields)
    properties: dict[str, dict[str, object]] = {
        field.key: field_schema(field) for field in fields if not field.section
    }
    for section, meaning in sections.items():
        if section:
            inside = [field for field in fields if field.section == section]
            properties[section] = object_schema(meaning, inside)
    required = ["schema", *(field.key for field in fields if field.required and not field.section)]
    return {
        "$schema": _DRAFT,
        "title": title,
        "type": "object",
        "additionalProperties": False,
        "required": required,
        "properties": properties,
    }


def object_schema(meaning: str, fields: Iterable[Field]) -> dict[str, object]:
    """Return the JSON Schema of one section."""
    fields = list(fields)
    schema: dict[str, object] = {
        "type": "object",
        "description": meaning,
        "additionalProperties": False,
        "properties": {field.key: field_schema(field) for field in fields},
    }
    required = [field.key for field in fields if field.required]
    if required:
        schema["required"] = required
    return schema


def field_schema(field: Field) -> dict[str, object]:
    """Return the JSON Schema of one field; texts with a unit are described, not matched."""
    schema: dict[str, object] = {"description": field.meaning}
    schema.update(_type(field))
    if field.kind in {"quantity", "number", "integer"} and (field.low or field.high):
        schema["x-allowed"] = field.allowed
    if field.dimension:
        schema["x-dimension"] = field.dimension
    schema["examples"] = [tomllib.loads(f"x = {field.example}")["x"]]
    return schema


def _type(field: Field) -> dict[str, object]:
    if field.path == "schema":
        return {"const": 1}
    if field.kind == "choice":
        return {"enum": list(field.choices)}
    if field.kind == "numbers":
        return {"type": "array", "items": {"type": "number"}}
    if field.kind == "quantity":
        return {"type": ["string", "number"] if field.default_unit else "string"}
    names_: dict[str, object] = {"text": ["string", "array"], "flag": "boolean"}
    return {"type": names_.get(field.kind, field.kind)}
