"""The pure rooms as one archive for the browser: same bytes wherever and whenever it is built.

Files in a fixed order with a fixed time and without compression, whose output differs between libraries;
the server may compress on the way. The name carries the hash, so that a cache can keep it for good.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Final

ROOMS: Final = (
    "errors.py", "quantities", "numerics", "refrigerants", "cycle", "cards", "diagnosis", "calls", "answers",
)  # fmt: skip
"""The rooms that travel, lowest first; shells stay behind."""

_KINDS: Final = (".py", ".toml", ".json")
_ONE_TIME: Final = (1980, 1, 1, 0, 0, 0)
_HASH_LENGTH: Final = 16
_MODE: Final = 0o100644 << 16


@dataclass(frozen=True, slots=True)
class Archive:
    """The archive as bytes, and its file name with the hash."""

    name: str
    content: bytes


def build() -> Archive:
    """Return the archive of the pure rooms of this installation."""
    package = resources.files("holdcold")
    files = sorted(_files(package))
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for path, content in files:
            entry = zipfile.ZipInfo(f"holdcold/{path}", date_time=_ONE_TIME)
            entry.create_system = 3
            entry.external_attr = _MODE
            archive.writestr(entry, content)
    content = buffer.getvalue()
    digest = hashlib.sha256(content).hexdigest()[:_HASH_LENGTH]
    return Archive(f"holdcold-{digest}.zip", content)


def _files(package: Traversable) -> Iterator[tuple[str, bytes]]:
    """Yield (path inside the package, content) of every file that travels, line ends as in the source."""
    yield "__init__.py", (package / "__init__.py").read_bytes()
    for room in ROOMS:
        yield from _below(package / room, room)


def _below(place: Traversable, path: str) -> Iterator[tuple[str, bytes]]:
    if place.is_dir():
        for inner in place.iterdir():
            yield from _below(inner, f"{path}/{inner.name}")
    elif path.endswith(_KINDS):
        yield path, place.read_bytes()
