"""Whether two texts say the same: words alike, numbers alike within what a change of machine may move."""

from __future__ import annotations

import re

_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_SHARE = 0.06
_STEP = 1.0


def same(one: str, other: str) -> bool:
    """Say whether two texts differ in nothing but numbers, and in those by little.

    Six in a hundred, or a little over one step of the last place.
    """
    if _NUMBER.split(one) != _NUMBER.split(other):
        return False
    return all(_near(a, b) for a, b in zip(_NUMBER.findall(one), _NUMBER.findall(other), strict=True))


def _near(one: str, other: str) -> bool:
    decimals = max(len(text.partition(".")[2]) for text in (one, other))
    first, second = float(one), float(other)
    return abs(first - second) <= max(_SHARE * max(first, second), _STEP * 10.0**-decimals + 1e-9)
