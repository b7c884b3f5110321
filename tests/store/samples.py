"""Content the store tests start from."""

from __future__ import annotations

import hashlib
from pathlib import Path

from calls.entry_samples import UNIT, Device
from holdcold.calls.entries import Entry, sha256_text
from holdcold.store import Store, put_card, put_part, put_unit, sync

CARD = Path(__file__).parents[2].joinpath("examples", "cheese-cooler.toml").read_text(encoding="utf-8")
PHOTO = b"\xff\xd8\xff\xe0 not really a picture" * 25000 + b"\xff\xd9"
PHOTO_SHA = hashlib.sha256(PHOTO).hexdigest()
PART = 256 * 1024
PARTS = -(-len(PHOTO) // PART)


def photo_body(*contents: bytes) -> dict[str, object]:
    """Return the body of a photo entry."""
    files = [{"sha256": sha256_text(one), "bytes": len(one), "type": "image/jpeg"} for one in contents]
    return {"photos": files}


def upload(store: Store, shop: str, content: bytes = PHOTO) -> None:
    """Send a file in its parts."""
    pieces = [content[start : start + PART] for start in range(0, len(content), PART)]
    for number, piece in enumerate(pieces):
        put_part(store, shop, sha256_text(content), number, len(pieces), piece)


def visit() -> list[Entry]:
    """Return the entries of a call with a bit of everything."""
    ana, ben = Device(), Device("ben-phone", "Ben", 2, ahead_min=60.0)
    opened = ana.enter("opened", {"name": "Cheese cooler, warm", "unit": UNIT})
    wrong = ana.read("box_k", "83 F", 1)
    ben.look_at(ana)
    note = ben.enter("note", {"text": "=HYPERLINK(1) a private number"}, 4)
    return [
        opened, wrong, ana.read("box_k", "38 F", 2, corrects=wrong.id),
        ana.enter("note", '{ "text":"caf\\u00e9 \N{SNOWMAN} \\u0000" }', 3), note,
        ben.enter("redaction", {"reason": "a private number"}, 5, redacts=note.id),
        ben.enter("refrigerant", {"movement": "charged", "refrigerant": "R-448A", "amount": "2 lb"}, 6),
        ben.enter("from_the_future", '{"x": [1e400]}', 7), ana.enter("reading", "{}", 8),
        ana.enter("photo", photo_body(PHOTO), 9), ana.read("box_k", "88 F", 10, id=wrong.id),
    ]  # fmt: skip


def fill(store: Store, shop: str) -> list[Entry]:
    """Put a unit, its card, a visit, a photo and some rubbish into a store."""
    put_unit(store, shop, UNIT, "Cheese cooler")
    put_card(store, shop, UNIT, CARD, "Ana", "2026-11-25T07:00:00-06:00")
    put_card(store, shop, UNIT, CARD + "\n# newer\r\n", "Ben", "2026-11-25T09:00:00-06:00")
    entries = visit()
    sync(store, shop, [entry.wire() for entry in entries])
    sync(store, shop, [{"id": 5, "text": "\ud800\0"}, ["no entry"]])
    upload(store, shop)
    return entries
