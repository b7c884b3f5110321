"""Files that are on disk when we say so: written aside, synced, put in place, the folder synced."""

from __future__ import annotations

import os
from pathlib import Path


def write_durably(path: Path, content: bytes) -> None:
    """Write a file so that after a crash it is there whole, or not at all; folders are made where missing."""
    make_folder(path.parent)
    aside = path.with_name(f".{path.name}.{os.getpid()}.{os.urandom(4).hex()}.part")
    with aside.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    aside.replace(path)
    sync_folder(path.parent)


def make_folder(path: Path) -> None:
    """Make a folder and those above it, each on disk in the one that holds it."""
    missing = [one for one in (path, *path.parents) if not one.exists()]
    for one in reversed(missing):
        one.mkdir(exist_ok=True)
        sync_folder(one.parent)


def sync_folder(path: Path) -> None:
    """Bring a folder's list of names to disk, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_file(path: Path) -> None:
    """Bring a file's content to disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
