"""Writes the JSON Schemas of cards and calls, and the field tables in their documents, from the code.

    python tools/write_forms.py            writes them
    python tools/write_forms.py --check    only says whether they are as the code would write them
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path

from holdcold.calls import call_schema
from holdcold.calls import fields as call_fields
from holdcold.cards import card_schema
from holdcold.cards import fields as card_fields
from holdcold.cards.form import Field
from holdcold.diagnosis.catalogue import catalogue

ROOT = Path(__file__).resolve().parents[1]
BEGIN = "<!-- fields: written by tools/write_forms.py -->"
END = "<!-- end of fields -->"


def field_table(fields: Iterable[Field]) -> str:
    """Return a Markdown table of one section's fields."""
    lines = ["| line | meaning | allowed |", "|---|---|---|"]
    for field in fields:
        meaning = field.meaning + (" **Needed.**" if field.required else "")
        lines.append(f"| `{field.key} = {field.example}` | {meaning} | {field.allowed} |")
    return "\n".join(lines)


def sections(fields: Iterable[Field], names: Mapping[str, str]) -> str:
    """Return a heading and a table for each section."""
    fields = list(fields)
    parts = []
    for name, meaning in names.items():
        title = f"### `[{name}]`: {meaning}" if name else f"### Top of the file: {meaning}"
        parts += [title, field_table(field for field in fields if field.section == name)]
    return "\n\n".join(parts)


def card_tables() -> str:
    """Return the field tables of a card."""
    return sections(card_fields.CARD_FIELDS, card_fields.SECTIONS)


def call_tables() -> str:
    """Return the field tables of a call."""
    lists = [
        f"### `[[{name}]]`: {meaning}\n\n{field_table(fields)}"
        for name, (meaning, fields) in call_fields.LISTS.items()
    ]
    return "\n\n".join([sections(call_fields.CALL_FIELDS, call_fields.SECTIONS), *lists])


def between_marks(document: str, tables: str) -> str:
    """Return a document with its field tables replaced."""
    before, _, rest = document.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{tables}\n\n{END}{after}"


def wanted() -> dict[Path, str]:
    """Return each written file with the text it should have."""
    docs = ROOT / "docs"
    files = {
        docs / "schemas" / "card.schema.json": json.dumps(card_schema(), indent=2) + "\n",
        docs / "schemas" / "call.schema.json": json.dumps(call_schema(catalogue()), indent=2) + "\n",
    }
    for name, tables in (("card.md", card_tables()), ("call.md", call_tables())):
        path = docs / name
        files[path] = between_marks(path.read_text(encoding="utf-8"), tables)
    return files


def main() -> int:
    """Write or check the files; return 1 when a check finds one out of date."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing")
    check = parser.parse_args().check
    stale = [
        path
        for path, text in wanted().items()
        if not path.exists() or path.read_text(encoding="utf-8") != text
    ]
    for path in stale:
        print(("out of date: " if check else "written: ") + path.relative_to(ROOT).as_posix())
        if not check:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(wanted()[path], encoding="utf-8")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
