"""The published schema and the tables in the documents are what the code says."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from holdcold.cards import card_schema
from holdcold.cards.fields import CARD_FIELDS, SECTIONS
from holdcold.cards.form import read_value

ROOT = Path(__file__).parents[2]


def test_documents_are_up_to_date() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "tools" / "write_forms.py"), "--check"],
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONPATH": str(ROOT / "src"), "PATH": ""},
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("field", CARD_FIELDS, ids=lambda field: field.path)
def test_every_example_is_one(field: Any) -> None:
    assert field.section in SECTIONS
    assert field.meaning.endswith(".")
    read_value(field, tomllib.loads(f"x = {field.example}")["x"])


def test_schema_names_every_field_once() -> None:
    properties: dict[str, Any] = dict(card_schema()["properties"])  # type: ignore[call-overload]
    inside = set(properties.pop("sharpened")["properties"])
    assert inside == {"engine", "data", "card", "facts", "together", "visit"}
    named = {
        f"{section}.{key}"
        for section, schema in properties.items()
        if schema.get("type") == "object"
        for key in schema["properties"]
    }
    tops = {name for name, schema in properties.items() if schema.get("type") != "object"}
    assert sorted(named | tops) == sorted(field.path for field in CARD_FIELDS)


@pytest.mark.parametrize("name", ["cheese-cooler", "butter-freezer", "shop-reach-in", "smallest"])
def test_examples_fit_the_schema(name: str) -> None:
    card = tomllib.loads((ROOT / "examples" / f"{name}.toml").read_text(encoding="utf-8"))
    misfits(card, card_schema(), "")


def misfits(value: Any, schema: dict[str, Any], where: str) -> None:
    """Fail where ``value`` breaks the parts of JSON Schema that our schemas use."""
    if "const" in schema:
        assert value == schema["const"], where
    if "enum" in schema:
        assert value in schema["enum"], where
    kinds: dict[str, Any] = {
        "object": dict, "array": list, "string": str, "number": (int, float), "integer": int, "boolean": bool,
    }  # fmt: skip
    if "type" in schema:
        allowed = [schema["type"]] if isinstance(schema["type"], str) else schema["type"]
        assert any(isinstance(value, kinds[kind]) for kind in allowed), where
    if isinstance(value, dict):
        assert set(schema.get("required", ())) <= set(value), where
        assert set(value) <= set(schema["properties"]), where
        for key, inner in value.items():
            misfits(inner, schema["properties"][key], f"{where}.{key}")
    if isinstance(value, list) and "items" in schema:
        for item in value:
            misfits(item, schema["items"], f"{where}[]")
