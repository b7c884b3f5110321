"""Text tables for a terminal, and text that any terminal can show."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Final

_GAP: Final = "  "
_PLAIN: Final = str.maketrans(
    {
        "°": "", "µ": "u", "μ": "u", "Ω": "ohm", "−": "-", "–": "-", "—": "-", "×": "x", "·": "*", "±": "+/-",
        "²": "2", "³": "3", "≤": "<=", "≥": ">=", "≈": "~", "→": "->", "…": "...", "•": "*",
        "‘": "'", "’": "'", "“": '"', "”": '"', "½": "1/2", "¼": "1/4", "¾": "3/4", "\u00a0": " ",
    }
)  # fmt: skip


def table(rows: Sequence[Sequence[str]], headings: Sequence[str] = (), *, right: Sequence[int] = ()) -> str:
    """Return rows as aligned columns, headings first and underlined if there are any.

    rows: cells of text, each row as long as the headings (or as the first row).
    headings: one a column, or none.
    right: numbers of the columns that are aligned on their right.
    Raises: ``ValueError`` for rows of different lengths.
    """
    every = [list(headings), *map(list, rows)] if headings else [list(row) for row in rows]
    if not every:
        return ""
    widths = [max(map(len, column)) for column in zip(*every, strict=True)]
    if headings:
        every.insert(1, ["-" * width for width in widths])
    lines = []
    for row in every:
        cells = [
            cell.rjust(width) if column in right else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append(_GAP.join(cells).rstrip())
    return "\n".join(lines)


def wrapped(text: str, width: int = 92, indent: str = "") -> str:
    """Return ``text`` broken into lines of at most ``width`` characters, further lines after ``indent``."""
    return textwrap.fill(
        text, width=width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )


def printable(text: str, encoding: str | None) -> str:
    """Return ``text`` in characters that ``encoding`` has: degree signs left out, odd dashes made plain.

    A character with no plain form becomes a question mark; nothing is ever refused. An unknown or
    missing encoding counts as ASCII.
    """
    try:
        text.encode(encoding or "ascii")
    except UnicodeEncodeError:
        return text.translate(_PLAIN).encode(encoding or "ascii", "replace").decode(encoding or "ascii")
    except LookupError:
        return printable(text, "ascii")
    return text
