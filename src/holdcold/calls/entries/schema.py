"""The published JSON Schemas of entries, from the table that validates them."""

from __future__ import annotations

from typing import Any, Final

from holdcold.calls.entries.body_form import form_schema
from holdcold.calls.entries.entry import MOST_BODY_BYTES, MOST_NAME
from holdcold.calls.entries.kinds import KINDS

_DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
_UUID7: Final = "^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$"
_SHA256: Final = "^[0-9a-f]{64}$"


def entry_schema() -> dict[str, object]:
    """Return the JSON Schema of an entry as it travels; its body is a text that holds JSON of its own."""
    id_ = {"type": "string", "pattern": _UUID7}
    name = {"type": "string", "minLength": 1, "maxLength": MOST_NAME}
    count = {"type": "integer", "minimum": 1}
    properties: dict[str, Any] = {
        "id": {"description": "Made where the entry was made.", **id_},
        "call": {"description": "The call it belongs to.", **id_},
        "kind": {"description": f"Known here: {', '.join(KINDS)}; others are kept as they are.", **name},
        "schema": {"description": "Version of the form of the body.", **count},
        "author": {"description": "Who entered it.", **name},
        "device": {"description": "On what it was entered.", **name},
        "counter": {"description": "Rises by one with each entry of the device.", **count},
        "seen": {
            "description": "Of each other device, the last counter this one had seen.",
            "type": "object", "additionalProperties": count,
        },
        "at": {"description": "The device's clock, with offset.", "type": "string", "format": "date-time"},
        "sha256": {"description": "Hash of the body's bytes in UTF-8.", "type": "string", "pattern": _SHA256},
        "body": {
            "description": f"The body, exactly as it was hashed, at most {MOST_BODY_BYTES} bytes; null when "
            "it was redacted.",
            "type": ["string", "null"], "contentMediaType": "application/json",
        },
        "corrects": {"description": "The entry it corrects.", **id_},
        "redacts": {"description": "The entry whose body is to go.", **id_},
    }  # fmt: skip
    optional = {"corrects", "redacts"}
    return {
        "$schema": _DRAFT,
        "title": "Holdcold log entry",
        "type": "object",
        "additionalProperties": False,
        "required": [key for key in properties if key not in optional],
        "properties": properties,
    }


def body_schemas() -> dict[str, dict[str, object]]:
    """Return the JSON Schema of each kind and version of body by file name without ending, ``reading.v1``."""
    return {
        f"{kind.name}.v{number}": {
            "$schema": _DRAFT,
            "title": f"Holdcold {kind.name.replace('_', ' ')}, version {number}",
            "description": kind.meaning,
            **form_schema(form.fields),
        }
        for kind in KINDS.values()
        for number, form in enumerate(kind.versions, start=1)
    }
