"""Files that an entry names by their hash: photos and spoken notes."""

from __future__ import annotations

from typing import Final

from holdcold.calls.entries.entry import Entry
from holdcold.calls.entries.ids import is_sha256
from holdcold.calls.entries.validate import body_of
from holdcold.errors import InputError

_LISTS: Final = ("photos", "spoken")


def files_of(entry: Entry) -> tuple[str, ...]:
    """Return the SHA-256 of each file an entry names, in order; none where it cannot be read.

    Read from the lists ``photos`` and ``spoken`` of any kind and version, so that files of entries from a
    newer release are kept too.
    """
    if entry.body is None:
        return ()
    try:
        body = body_of(entry)
    except InputError:
        return ()
    found: dict[str, None] = {}
    for name in _LISTS:
        rows = body.get(name)
        for row in rows if isinstance(rows, list) else ():
            sha256 = row.get("sha256") if isinstance(row, dict) else None
            if isinstance(sha256, str) and is_sha256(sha256):
                found[sha256] = None
    return tuple(found)
