"""Numbers as people type them: decimal comma, thousands marks, fractions, odd minus signs."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

_VULGAR: Final = re.compile("[\u00bc-\u00be\u2150-\u215e]")
_PLAIN_MARKS: Final = str.maketrans(
    {
        "\u2212": "-", "\u2010": "-", "\u2011": "-", "\u2012": "-", "\u2013": "-", "\u2014": "-",
        "\u2032": "'", "\u2018": "'", "\u2019": "'", "\u2033": '"', "\u201c": '"', "\u201d": '"',
        "\u00ba": "°", "\u02da": "°", "\u00b5": "u", "\u03bc": "u", "\u2126": "Ω", "\u2044": "/",
    }
)  # fmt: skip

_NUMBER: Final = re.compile(
    r"""
    (?P<whole>\d+)(?:\s*-\s*|\s+)(?P<over>\d+)\s*/\s*(?P<under>\d+)     # 1-1/8, 1 1/8
  | (?P<alone>\d+)\s*/\s*(?P<below>\d+)                                 # 7/8
  | (?P<spaced>\d{1,3}(?:[ ]\d{3})+(?:[.,]\d+)?)(?!\d)                  # 12 000
  | (?P<plain>(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][+-]?\d+)?)             # 12.5, 12,5, 1,250.5, 1e5
    """,
    re.VERBOSE,
)


class NumeralError(ValueError):
    """A numeral with no single meaning; the message says what to write instead."""


@dataclass(frozen=True, slots=True)
class Numeral:
    """One number read from the start of a text.

    ``value`` is never negative, ``rest`` what follows, ``thousands_comma`` whether one comma was read
    as a thousands mark although it could be a decimal comma ("1,250").
    """

    value: float
    rest: str
    thousands_comma: bool = False


def plain_text(text: str) -> str:
    """Return ``text`` with look-alike signs, quotes, spaces and fractions in their plain form."""
    spread = _VULGAR.sub(lambda found: " " + unicodedata.normalize("NFKC", found.group()), text)
    plain = unicodedata.normalize("NFKC", spread.translate(_PLAIN_MARKS)).translate(_PLAIN_MARKS)
    return " ".join(plain.split())


def split_sign(text: str) -> tuple[float, str]:
    """Return -1.0 or 1.0 and ``text`` without its leading sign ("-", "+" or the word "minus")."""
    lowered = text.lower()
    for word, sign in (("minus ", -1.0), ("plus ", 1.0), ("-", -1.0), ("+", 1.0)):
        if lowered.startswith(word):
            return sign, text[len(word) :].lstrip()
    return 1.0, text


def read_numeral(text: str) -> Numeral | None:
    """Return the number that ``text`` starts with, or None; raise ``NumeralError`` if it is unclear."""
    found = _NUMBER.match(text)
    if found is None:
        return None
    rest = text[found.end() :].lstrip()
    parts = found.groupdict()
    if parts["over"]:
        return Numeral(float(parts["whole"]) + _ratio(parts["over"], parts["under"]), rest)
    if parts["alone"]:
        return Numeral(_ratio(parts["alone"], parts["below"]), rest)
    if parts["spaced"]:
        return Numeral(float(parts["spaced"].replace(" ", "").replace(",", ".")), rest)
    value, doubtful = _decimal(parts["plain"])
    return Numeral(value, rest, doubtful)


def _ratio(over: str, under: str) -> float:
    """Return a fraction's value; a zero below the bar is no number."""
    if int(under) == 0:
        raise NumeralError("A fraction needs a number other than 0 below the bar.")
    return int(over) / int(under)


def _decimal(written: str) -> tuple[float, bool]:
    """Return the value of digits with commas and dots, and whether one comma was doubtful."""
    marks = [mark for mark in written if mark in ".,"]
    if len(set(marks)) == 2:
        return _both_marks(written, marks), False
    if len(marks) > 1:
        _check_groups(re.split("[.,]", written), written)
        return float(written.replace(",", "").replace(".", "")), False
    if marks == [","]:
        before, after = written.split(",")
        if len(after) == 3 and 1 <= len(before) <= 3 and not before.startswith("0"):
            return float(before + after), True
    return float(written.replace(",", ".")), False


def _both_marks(written: str, marks: list[str]) -> float:
    """Return the value of a number with commas and dots: the last mark is the decimal one."""
    decimal = marks[-1]
    if marks.count(decimal) != 1:
        raise NumeralError(f"Write {written!r} with one decimal mark and no others.")
    whole, part = written.split(decimal)
    _check_groups(re.split("[.,]", whole), written)
    return float("".join(re.split("[.,]", whole)) + "." + part)


def _check_groups(groups: list[str], written: str) -> None:
    """Raise unless thousands marks stand between groups of three digits."""
    if not 1 <= len(groups[0]) <= 3 or any(len(group) != 3 for group in groups[1:]):
        raise NumeralError(f"Write {written!r} without thousands marks.")
