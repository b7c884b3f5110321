"""The published JSON Schema of a card, generated from the tables that validate it."""

from __future__ import annotations

from holdcold.cards.fields import CARD_FIELDS, SECTIONS
from holdcold.cards.form_schema import form_schema, object_schema
from holdcold.cards.sharpened_form import SECTION, section_schema
from holdcold.refrigerants import names

__all__ = ["card_schema", "form_schema", "object_schema"]


def card_schema() -> dict[str, object]:
    """Return the JSON Schema of a card file (draft 2020-12)."""
    schema = form_schema("Holdcold card", CARD_FIELDS, SECTIONS)
    properties = schema["properties"]
    if isinstance(properties, dict):
        properties["refrigerant"]["examples"] = list(names())
        properties[SECTION] = section_schema()
    return schema
