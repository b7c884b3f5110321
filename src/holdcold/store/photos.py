"""Photos and spoken notes: files beside the database, named by the hash of their bytes.

They come in parts, each part as often as it takes; only when the whole has the right hash and is on disk,
file and folder, is it recorded, and only then acknowledged.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sqlalchemy import and_, insert, select

from holdcold.calls.entries import is_sha256, sha256_text
from holdcold.errors import InputError
from holdcold.store.files import write_durably
from holdcold.store.shop import Store
from holdcold.store.tables import PHOTOS

PART_BYTES: Final = 256 * 1024
"""Size of every part but the last [bytes]."""

MOST_PARTS: Final = 128
"""Parts of the largest file, 32 MiB."""


@dataclass(frozen=True, slots=True)
class Upload:
    """How far a file has come: whole, dropped by a redaction, or the numbers of the parts that are here."""

    whole: bool
    dropped: bool
    parts: tuple[int, ...] = ()


def photo_path(store: Store, shop: str, sha256: str) -> Path:
    """Return where a file lies; shop, sha256: checked ids, never what a request says unchecked."""
    return store.folder / "photos" / shop / sha256[:2] / sha256


def _incoming(store: Store, shop: str, sha256: str, count: int) -> Path:
    return store.folder / "photos" / shop / "incoming" / f"{sha256}.{count}"


def upload_state(store: Store, shop: str, sha256: str, count: int) -> Upload:
    """Return how far a file has come; shop, sha256: which; count: of its parts, from 1 to 128.

    Raises InputError for a hash that is none, or another count.
    """
    _check(sha256, count)
    mine = and_(PHOTOS.c.shop == shop, PHOTOS.c.sha256 == sha256)
    with store.database.reading() as connection:
        dropped = connection.execute(select(PHOTOS.c.dropped).where(mine)).scalar()
    if dropped is not None:
        return Upload(not dropped, bool(dropped))
    folder = _incoming(store, shop, sha256, count)
    here = (path.name for path in folder.iterdir()) if folder.is_dir() else iter(())
    return Upload(False, False, tuple(sorted(int(name) for name in here if name.isdigit())))


def put_part(store: Store, shop: str, sha256: str, number: int, count: int, content: bytes) -> Upload:
    """Keep one part; when it is the last one missing, check the whole, put it in place and record it.

    shop, sha256: which file. number: from 0. count: of parts.
    content: 256 KiB, the last part whatever is left.
    Raises InputError for a part of the wrong size, and for a whole that has another hash: its parts are
    then dropped and have to be sent again.
    """
    _check(sha256, count)
    if not 0 <= number < count:
        raise InputError("part", number, f"0 to {count - 1}", "Count the parts from 0.")
    last = number == count - 1
    if not content or len(content) > PART_BYTES or (not last and len(content) < PART_BYTES):
        allowed = f"{'at most ' if last else ''}{PART_BYTES} bytes"
        raise InputError("part", f"{len(content)} bytes", allowed, "Cut the file into parts of 256 KiB.")
    state = upload_state(store, shop, sha256, count)
    if state.whole or state.dropped:
        return state
    folder = _incoming(store, shop, sha256, count)
    write_durably(folder / str(number), content)
    store.at_point("part kept")
    state = upload_state(store, shop, sha256, count)
    if len(state.parts) < count:
        return state
    whole = b"".join((folder / str(part)).read_bytes() for part in range(count))
    if sha256_text(whole) != sha256:
        shutil.rmtree(folder, ignore_errors=True)
        advice = "The file changed on its way: send every part again."
        raise InputError("sha256", sha256, f"{sha256_text(whole)}, the hash of the parts", advice)
    keep_photo(store, shop, sha256, whole)
    shutil.rmtree(folder, ignore_errors=True)
    return upload_state(store, shop, sha256, count)


def keep_photo(store: Store, shop: str, sha256: str, content: bytes) -> None:
    """Put a whole file in place and record it; nothing where it is recorded already.

    shop: its id. sha256: the file's hash, checked. content: its bytes.
    """
    write_durably(photo_path(store, shop, sha256), content)
    store.at_point("photo in place")
    mine = and_(PHOTOS.c.shop == shop, PHOTOS.c.sha256 == sha256)
    with store.database.writing() as connection:
        dropped = connection.execute(select(PHOTOS.c.dropped).where(mine)).scalar()
        if dropped is None:
            row = {"bytes": len(content), "received_at": store.stamp(), "dropped": False}
            connection.execute(insert(PHOTOS).values(shop=shop, sha256=sha256, **row))
    if dropped:
        drop_files(store, shop, [sha256])
    store.at_point("photo recorded")


def read_photo(store: Store, shop: str, sha256: str) -> bytes | None:
    """Return a file's bytes; None where it is not here or was dropped. Raises InputError for a wrong hash."""
    if not upload_state(store, shop, sha256, 1).whole:
        return None
    return photo_path(store, shop, sha256).read_bytes()


def drop_files(store: Store, shop: str, hashes: Iterable[str]) -> None:
    """Remove files that a redaction took; ``drop_leftovers`` does it after a crash."""
    for sha256 in hashes:
        photo_path(store, shop, sha256).unlink(missing_ok=True)


def drop_leftovers(store: Store) -> None:
    """Remove files that are recorded as dropped and that a crash left behind."""
    with store.database.reading() as connection:
        rows = connection.execute(select(PHOTOS.c.shop, PHOTOS.c.sha256).where(PHOTOS.c.dropped)).all()
    for shop, sha256 in rows:
        drop_files(store, shop, [sha256])


def _check(sha256: str, count: int) -> None:
    if not is_sha256(sha256):
        raise InputError("sha256", sha256, "64 small hexadecimal digits", "Hash the file's bytes.")
    if not 1 <= count <= MOST_PARTS:
        raise InputError("count", count, f"1 to {MOST_PARTS}", "Files over 32 MiB are not taken.")
