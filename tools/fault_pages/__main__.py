"""Writes docs/faults/*.md, list and normal readings in docs/faults.md, and the list in docs/checks.md.

    python -m tools.fault_pages            writes them
    python -m tools.fault_pages --check    only says which are not as data and engine would write them

Run it after a change of faults, checks, sightings, priors or physics. Numbers that moved a little (six in a
hundred, or less than one in the last place) leave a page as it is.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from .compare import same
from .pages import BOOK, check_table, fault_table, normal_table, page

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
BY = "written by python -m tools.fault_pages"


def wanted() -> dict[Path, str]:
    """Return each written file with the text it should have."""
    files = {DOCS / "faults" / f"{fault.id}.md": page(fault) for fault in BOOK.faults.values()}
    for name, table, made in (
        ("faults.md", "list", fault_table()),
        ("faults.md", "normal", normal_table()),
        ("checks.md", "list", check_table()),
    ):
        path = DOCS / name
        text = files.get(path) or path.read_text(encoding="utf-8")
        files[path] = _between(text, table, made)
    return files


def _between(document: str, name: str, made: str) -> str:
    """Return a document with one of its tables replaced."""
    begin, end = f"<!-- {name}: {BY} -->", f"<!-- end of {name} -->"
    before, mark, rest = document.partition(begin)
    _, closed, after = rest.partition(end)
    if not (mark and closed):
        raise LookupError(f"{begin} ... {end} is not in the document")
    return f"{before}{begin}\n\n{made}\n\n{end}{after}"


def stale(files: dict[Path, str]) -> list[Path]:
    """Return the files that are missing, left over or not as they should be."""
    pages = set((DOCS / "faults").glob("*.md"))
    odd = [path for path, text in files.items() if not path.exists() or not same(_read(path), text)]
    return [*odd, *sorted(pages - set(files))]


def _read(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def main() -> int:
    """Write or check the files; return 1 when a check finds one out of date."""
    parser = argparse.ArgumentParser(prog="python -m tools.fault_pages", description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing")
    check = parser.parse_args().check
    files = wanted()
    for path in (found := stale(files)):
        print(("out of date: " if check else "written: ") + path.relative_to(ROOT).as_posix())
        if check:
            continue
        if path in files:
            path.parent.mkdir(exist_ok=True)
            path.write_text(files[path], encoding="utf-8")
        else:
            path.unlink()
    return 1 if check and found else 0


if __name__ == "__main__":
    sys.exit(main())
