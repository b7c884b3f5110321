"""Writes the JSON Schemas of log entries, and the table of kinds in docs/log.md, from the code.

python tools/write_entries.py            writes them
python tools/write_entries.py --check    only says whether they are as the code would write them
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from holdcold.calls.entries import KINDS, body_schemas, entry_schema
from holdcold.calls.entries.body_form import BodyField

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "docs" / "schemas" / "entries"
DOCUMENT = ROOT / "docs" / "log.md"
BEGIN = "<!-- kinds: written by tools/write_entries.py -->"
END = "<!-- end of kinds -->"


def need(field: BodyField) -> str:
    """Return when a field must be there, in words."""
    if field.required:
        return " **Needed.**"
    return f" **Needed** unless `{field.unless}` is given." if field.unless else ""


def kind_tables() -> str:
    """Return a heading and a table of fields for the newest version of each kind."""
    parts = []
    for kind in KINDS.values():
        lines = [f"### `{kind.name}`: {kind.meaning}", "", "| field | meaning | allowed |", "|---|---|---|"]
        lines += [
            f"| `{field.key}` | {field.meaning}{need(field)} | {field.allowed} |"
            for field in kind.versions[-1].fields
        ]
        parts.append("\n".join(lines))
    return "\n\n".join(parts)


def between_marks(document: str, tables: str) -> str:
    """Return a document with its tables replaced."""
    before, _, rest = document.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{tables}\n\n{END}{after}"


def wanted() -> dict[Path, str]:
    """Return each written file with the text it should have."""
    schemas = {"entry": entry_schema(), **body_schemas()}
    files = {FOLDER / f"{name}.json": json.dumps(schema, indent=2) + "\n" for name, schema in schemas.items()}
    files[DOCUMENT] = between_marks(DOCUMENT.read_text(encoding="utf-8"), kind_tables())
    return files


def stale_files() -> list[Path]:
    """Return the files that are not as the code would write them, and schemas that belong to no kind."""
    files = wanted()
    stale = [path for path, text in files.items() if not path.exists() or path.read_text("utf-8") != text]
    return stale + [path for path in FOLDER.glob("*.json") if path not in files]


def main() -> int:
    """Write or check the files; return 1 when a check finds one out of date."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing")
    check = parser.parse_args().check
    stale = stale_files()
    files = wanted()
    for path in stale:
        print(("out of date: " if check else "written: ") + path.relative_to(ROOT).as_posix())
        if check:
            continue
        if path in files:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(files[path], encoding="utf-8")
        else:
            path.unlink()
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
