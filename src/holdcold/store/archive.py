"""Writing a call or a whole shop into one zip: JSON that goes back in exactly, CSV for people, photos.

docs/store.md describes the files. The same content gives the same bytes, whenever it is written.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, RowMapping, and_, select
from sqlalchemy.sql.elements import ColumnElement

from holdcold import __version__
from holdcold.calls.entries import canonical, files_of, sha256_text, story
from holdcold.diagnosis.catalogue import catalogue
from holdcold.errors import InputError
from holdcold.store.files import sync_file, sync_folder
from holdcold.store.photos import photo_path
from holdcold.store.rows import call_log, entry_of_row
from holdcold.store.sheets import sheet, sheets
from holdcold.store.shop import Store
from holdcold.store.tables import CALLS, CARDS, ENTRIES, PHOTOS, QUARANTINE, RECEIPTS, SHOPS, UNITS

FORMAT: Final = "holdcold-export"
VERSION: Final = 1
_DATE: Final = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Exported:
    """How much was written: calls, entries, photos; and hashes of photos that are not here."""

    calls: int
    entries: int
    photos: int
    missing_photos: tuple[str, ...]


def export(store: Store, shop: str, target: Path, call: str = "") -> Exported:
    """Write a shop, or one call of it with its unit, into a new zip.

    shop: its id. target: a file that does not exist yet. call: id of the call, empty for all.
    Raises InputError where the file exists or there is no such call.
    """
    if target.exists():
        raise InputError("FILE", str(target), "a file that does not exist yet", "Name a new file.")
    with store.database.reading() as connection:
        if call and connection.execute(select(CALLS.c.id).where(_of(CALLS, shop, call))).first() is None:
            raise InputError(
                "--call", call, "a call of this shop", "holdcold export without --call takes all."
            )
        found = _Content(store, connection, shop, call)
        files = found.files()
        photos = found.photos()
        manifest = found.manifest()
    aside = target.with_name(f".{target.name}.part")
    names = {name: sha256_text(content) for name, content in files.items()}
    manifest = {**manifest, "files": names, "photos": sorted(photos)}
    with zipfile.ZipFile(aside, "w", zipfile.ZIP_DEFLATED) as archive:
        _add(archive, "manifest.json", json.dumps(manifest, indent=2, sort_keys=True).encode("ascii"))
        for name, content in sorted(files.items()):
            _add(archive, name, content)
        for sha256, path in sorted(photos.items()):
            _add(archive, f"photos/{sha256}", path.read_bytes())
    sync_file(aside)
    aside.replace(target)
    sync_folder(target.absolute().parent)
    return Exported(found.calls, found.entries, len(photos), found.missing)


def _of(table: Any, shop: str, call: str) -> ColumnElement[bool]:  # noqa: ANN401 - any table with both columns
    column = table.c.id if table is CALLS else table.c.call
    return and_(table.c.shop == shop, column == call) if call else table.c.shop == shop


def _add(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    info = zipfile.ZipInfo(name, _DATE)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o644 << 16
    archive.writestr(info, content)


class _Content:
    """What goes into one export, read in one transaction."""

    def __init__(self, store: Store, connection: Connection, shop: str, call: str) -> None:
        self._store, self._connection, self._shop, self._call = store, connection, shop, call
        entries = select(ENTRIES).where(_of(ENTRIES, shop, call)).order_by(ENTRIES.c.sequence)
        self._rows = list(connection.execute(entries).mappings())
        self._calls = list(connection.execute(select(CALLS).where(_of(CALLS, shop, call))).mappings())
        self.calls, self.entries = len(self._calls), len(self._rows)
        self.missing: tuple[str, ...] = ()

    def manifest(self) -> dict[str, object]:
        """Return what the export says of itself."""
        named = select(SHOPS.c.name).where(SHOPS.c.id == self._shop)
        return {
            "format": FORMAT,
            "version": VERSION,
            "holdcold": __version__,
            "shop": {"id": self._shop, "name": self._connection.execute(named).scalar_one()},
            "call": self._call,
            "dropped_photos": [] if self._call else self._photo_hashes(dropped=True),
        }

    def files(self) -> dict[str, bytes]:
        """Return every file but manifest and photos by name."""
        found = {
            "entries.jsonl": _lines(self._entries()),
            "quarantine.jsonl": _lines(self._quarantine()),
            "units.json": _document(list(self._units())),
            "receipts.csv": self._receipts().encode("ascii"),
        }
        for row in self._cards():
            found[f"cards/{row['unit']}/{row['sha256']}.toml"] = row["text"].encode("utf-8")
        for row in self._calls:
            told = story(call_log(self._connection, self._shop, row["id"]), catalogue())
            for name, text in sheets(told).items():
                found[f"calls/{row['id']}/{name}"] = text.encode("utf-8")
        return found

    def photos(self) -> dict[str, Path]:
        """Return the file of each photo by hash; notes those that are not here."""
        named = {sha256 for row in self._rows for sha256 in files_of(entry_of_row(row))}
        here = set(self._photo_hashes(dropped=False))
        wanted = named & here if self._call else here
        self.missing = tuple(sorted(named - here))
        return {sha256: photo_path(self._store, self._shop, sha256) for sha256 in wanted}

    def _photo_hashes(self, *, dropped: bool) -> list[str]:
        mine = and_(PHOTOS.c.shop == self._shop, PHOTOS.c.dropped.is_(dropped))
        return sorted(self._connection.execute(select(PHOTOS.c.sha256).where(mine)).scalars())

    def _entries(self) -> Iterator[dict[str, object]]:
        for row in self._rows:
            yield {"sequence": row["sequence"], "entry": entry_of_row(row).wire()}

    def _quarantine(self) -> Iterator[dict[str, object]]:
        mine = select(QUARANTINE).where(_of(QUARANTINE, self._shop, self._call))
        for row in self._connection.execute(mine.order_by(QUARANTINE.c.sequence)).mappings():
            document = json.loads(bytes(row["raw"]))
            yield {"sequence": row["sequence"], "reason": row["reason"], "document": document}

    def _units(self) -> Iterator[dict[str, object]]:
        cards = self._cards()
        rows = self._connection.execute(select(UNITS).where(UNITS.c.shop == self._shop)).mappings()
        for row in sorted(rows, key=lambda row: str(row["id"])):
            if self._call and row["id"] not in self._own_units():
                continue
            mine = [
                {"sha256": card["sha256"], "author": card["author"], "at": card["at"]}
                for card in cards
                if card["unit"] == row["id"]
            ]
            yield {"id": row["id"], "name": row["name"], "cards": mine}

    def _own_units(self) -> set[str]:
        return {row["unit"] for row in self._calls}

    def _cards(self) -> list[RowMapping]:
        rows = self._connection.execute(select(CARDS).where(CARDS.c.shop == self._shop)).mappings()
        wanted = [row for row in rows if not self._call or row["unit"] in self._own_units()]
        return sorted(wanted, key=lambda row: (row["unit"], row["at"], row["sha256"]))

    def _receipts(self) -> str:
        names = ("sequence", "entry_sha256", "previous", "sha256")
        columns = [RECEIPTS.c[name] for name in names]
        page = select(*columns).where(RECEIPTS.c.shop == self._shop).order_by(RECEIPTS.c.sequence)
        return sheet(names, (tuple(row) for row in self._connection.execute(page)))


def _lines(documents: Iterator[dict[str, object]]) -> bytes:
    return b"".join(canonical(document) + b"\n" for document in documents)


def _document(value: object) -> bytes:
    return json.dumps(value, indent=2, sort_keys=True).encode("ascii") + b"\n"
