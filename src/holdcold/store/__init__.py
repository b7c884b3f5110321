"""The log kept in a database, photos in files beside it: taken in, given out, backed up, checked."""

from __future__ import annotations

from holdcold.store.archive import Exported, export
from holdcold.store.backup import backup, restore
from holdcold.store.database import FILE
from holdcold.store.exchange import Answer, Cursor, quarantine_of, sync
from holdcold.store.photos import (
    MOST_PARTS,
    PART_BYTES,
    Upload,
    drop_leftovers,
    put_part,
    read_photo,
    upload_state,
)
from holdcold.store.receive import Taken
from holdcold.store.shop import Store, open_store, own_shop
from holdcold.store.units import (
    CallRow,
    CardVersion,
    UnitRow,
    calls,
    card_text,
    log_of_call,
    put_card,
    put_unit,
    units,
)
from holdcold.store.unpack import Imported, import_archive
from holdcold.store.verify import Verdict, verify

__all__ = [
    "FILE", "Store", "open_store", "own_shop",
    "Answer", "Cursor", "Taken", "quarantine_of", "sync",
    "MOST_PARTS", "PART_BYTES", "Upload", "drop_leftovers", "put_part", "read_photo", "upload_state",
    "CallRow", "CardVersion", "UnitRow", "calls", "card_text", "log_of_call", "put_card", "put_unit", "units",
    "Exported", "Imported", "Verdict", "backup", "export", "import_archive", "restore", "verify",
]  # fmt: skip
