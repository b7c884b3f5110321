"""Taking an export back in: a union like any sync, so that it may be done twice, or into a store in use."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sqlalchemy import and_, insert, select

from holdcold.calls.entries import is_sha256, is_uuid7, sha256_text
from holdcold.errors import InputError
from holdcold.store.archive import FORMAT, VERSION
from holdcold.store.photos import MOST_PARTS, PART_BYTES, drop_files, keep_photo, upload_state
from holdcold.store.receive import Receiver, Taken, open_parcel
from holdcold.store.shop import Store, add_shop, own_shop
from holdcold.store.tables import PHOTOS, SHOPS
from holdcold.store.units import put_card, put_unit

_MOST_FILE: Final = 1 << 30


@dataclass(frozen=True)
class Imported:
    """What became of an export: shop it went to, what was taken, photos that are new."""

    shop: str
    taken: tuple[Taken, ...]
    photos: int


def import_archive(store: Store, source: Path) -> Imported:
    """Take an export in: into its own shop where the store is empty, else into the store's one shop.

    source: the zip. Everything is checked before anything is taken. Entries keep their exact bytes; in an
    empty store a whole shop gets the same receipt log as it had.
    Raises InputError where the file is no export, or is not what it was.
    """
    try:
        with zipfile.ZipFile(source) as archive:
            pack = _Pack(archive)
            shop = _shop_for(store, pack.manifest)
            pack.put_units(store, shop)
            photos = pack.put_photos(store, shop)
            documents = pack.documents()
    except (OSError, zipfile.BadZipFile, KeyError, TypeError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or problem
        raise InputError("FILE", str(source), "a zip that holdcold export wrote", f"{why}.") from None
    parcels = [open_parcel(document) for document in documents]
    with store.database.writing() as connection:
        receiver = Receiver(connection, shop, store.stamp())
        taken = receiver.take_all(parcels)
        receiver.finish()
        for sha256 in pack.dropped:
            mine = and_(PHOTOS.c.shop == shop, PHOTOS.c.sha256 == sha256)
            if connection.execute(select(PHOTOS.c.sha256).where(mine)).first() is None:
                gone = {"bytes": 0, "received_at": store.stamp(), "dropped": True}
                connection.execute(insert(PHOTOS).values(shop=shop, sha256=sha256, **gone))
    drop_files(store, shop, receiver.dropped)
    return Imported(shop, tuple(taken), photos)


def _shop_for(store: Store, manifest: dict[str, Any]) -> str:
    with store.database.writing() as connection:
        if connection.execute(select(SHOPS.c.id)).first() is None:
            told = manifest["shop"]
            return add_shop(connection, told["id"], told["name"], store.stamp())
    return own_shop(store)


class _Pack:
    """An export, checked: every file has the hash that the manifest states."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive
        self.manifest: dict[str, Any] = self._json("manifest.json")
        self._check_manifest()
        self._content = {name: self._checked(name, sha256) for name, sha256 in self.manifest["files"].items()}
        for sha256 in self.manifest["photos"]:
            self._checked(f"photos/{sha256}", sha256, PART_BYTES * MOST_PARTS)
        self.dropped: list[str] = [one for one in self.manifest["dropped_photos"] if is_sha256(one)]

    def documents(self) -> list[object]:
        """Return entries and what was in quarantine, in the order they were received."""
        rows = [(row["sequence"], row["entry"]) for row in self._rows("entries.jsonl")]
        rows += [(row["sequence"], row["document"]) for row in self._rows("quarantine.jsonl")]
        return [document for _, document in sorted(rows, key=lambda row: int(row[0]))]

    def put_units(self, store: Store, shop: str) -> None:
        """Add units and versions of their cards."""
        for unit in json.loads(self._content["units.json"]):
            put_unit(store, shop, unit["id"], unit["name"])
            for card in unit["cards"]:
                text = self._content[f"cards/{unit['id']}/{card['sha256']}.toml"].decode("utf-8")
                put_card(store, shop, unit["id"], text, card["author"], card["at"])

    def put_photos(self, store: Store, shop: str) -> int:
        """Add photos that are not here; return how many."""
        new = 0
        for sha256 in self.manifest["photos"]:
            state = upload_state(store, shop, sha256, 1)
            if not state.whole and not state.dropped:
                keep_photo(store, shop, sha256, self._archive.read(f"photos/{sha256}"))
                new += 1
        return new

    def _rows(self, name: str) -> Iterator[dict[str, Any]]:
        for line in self._content[name].splitlines():
            yield json.loads(line)

    def _json(self, name: str) -> dict[str, Any]:
        try:
            found = json.loads(self._archive.read(name))
        except (KeyError, ValueError):
            raise _not_ours(name) from None
        if not isinstance(found, dict):
            raise _not_ours(name)
        return found

    def _check_manifest(self) -> None:
        told = self.manifest
        if told.get("format") != FORMAT or told.get("version") != VERSION:
            raise InputError(
                "FILE",
                f"{told.get('format')} {told.get('version')}",
                f"{FORMAT} {VERSION}",
                "Newer exports need a newer release.",
            )
        shop, files = told.get("shop"), told.get("files")
        whole = (
            isinstance(shop, dict)
            and is_uuid7(shop.get("id"))
            and isinstance(shop.get("name"), str)
            and isinstance(files, dict)
            and {"entries.jsonl", "quarantine.jsonl", "units.json"} <= set(files)
            and all(isinstance(told.get(key), list) for key in ("photos", "dropped_photos"))
            and all(is_sha256(one) for one in told["photos"])
        )
        if not whole:
            raise _not_ours("manifest.json")

    def _checked(self, name: str, sha256: str, most: int = _MOST_FILE) -> bytes:
        """Return a file of the archive; raise InputError where it is not what the manifest says."""
        try:
            info = self._archive.getinfo(name)
        except KeyError:
            raise _not_ours(name) from None
        content = self._archive.read(name) if info.file_size <= most else b""
        if sha256_text(content) != sha256:
            raise InputError(name, "another content", f"hash {sha256}", "The export was changed or cut off.")
        return content


def _not_ours(name: str) -> InputError:
    return InputError(name, "missing or not as described", "what holdcold export writes", "Export again.")
