"""Identifiers made where an entry is entered: UUID version 7, so that they sort by time."""

from __future__ import annotations

import hashlib
import re
from typing import Final

from holdcold.errors import InputError

_UUID7: Final = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
_SHA256: Final = re.compile(r"[0-9a-f]{64}")
_TIME_BITS: Final = 48
_CHANCE_BITS: Final = 74
_LOW_BITS: Final = 62


def uuid7_text(unix_ms: int, chance: int) -> str:
    """Return a UUID version 7 as text.

    unix_ms: milliseconds since 1970 in UTC, 0 to 2^48 - 1. chance: 74 random bits, from whoever has a source
    of chance; this room has none.
    Raises: InputError outside these ranges. Source: RFC 9562, section 5.7.
    """
    if not 0 <= unix_ms < 1 << _TIME_BITS:
        raise InputError("unix_ms", unix_ms, "0 to 2^48 - 1", "Give milliseconds since 1970.")
    if not 0 <= chance < 1 << _CHANCE_BITS:
        raise InputError("chance", chance, "74 bits", "Draw 74 random bits.")
    high, low = chance >> _LOW_BITS, chance & ((1 << _LOW_BITS) - 1)
    number = unix_ms << 80 | 0x7 << 76 | high << 64 | 0b10 << 62 | low
    digits = f"{number:032x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def is_uuid7(value: object) -> bool:
    """Say whether ``value`` is a UUID version 7 as small letters and dashes."""
    return isinstance(value, str) and _UUID7.fullmatch(value) is not None


def is_sha256(value: object) -> bool:
    """Say whether ``value`` is a SHA-256 as 64 small hexadecimal digits."""
    return isinstance(value, str) and _SHA256.fullmatch(value) is not None


def sha256_text(content: bytes) -> str:
    """Return the SHA-256 of ``content`` as 64 small hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()
