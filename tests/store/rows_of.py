"""What an answer holds, as a phone reads it."""

from __future__ import annotations

import json

from holdcold.calls.entries import Entry, entry_of
from holdcold.errors import InputErrors


def quarantined_entries(rows: list[tuple[bytes, str, int]]) -> list[tuple[Entry, int]]:
    """Return the entries among what is in quarantine, with the sequence of their receipts."""
    found = []
    for raw, _, sequence in rows:
        try:
            found.append((entry_of(json.loads(raw)), sequence))
        except InputErrors:
            continue
    return found
