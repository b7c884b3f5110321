"""``holdcold backup``, ``restore``, ``verify``, ``export`` and ``import``: looking after what is kept."""

from __future__ import annotations

import argparse
import importlib.util
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from holdcold.cli.common import EXIT_DAMAGED, EXIT_OK, Commands, Desk, add_shared_options, desk
from holdcold.errors import InputError, StoreError

if TYPE_CHECKING:
    from holdcold.store import Store, Verdict

DATA: Final = "holdcold-data"
"""The data folder when nobody names one."""

_NEEDED: Final = {"server": ("sqlalchemy", "fastapi", "uvicorn"), "postgres": ("psycopg",)}


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands to the command line."""
    for name, short, run in _COMMANDS:
        parser = commands.add_parser(name, help=short, description=f"{short[0].upper()}{short[1:]}.")
        _ARGUMENTS[name](parser)
        add_store_options(parser)
        add_shared_options(parser)
        parser.set_defaults(run=run)


def add_store_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that say where the store is."""
    parser.add_argument(
        "--data", metavar="DIR", default=DATA, help=f"folder of the data (default: {DATA}, here)"
    )
    parser.add_argument(
        "--database", metavar="URL", default="", help="PostgreSQL instead of SQLite in the folder"
    )


def need(*extras: str) -> None:
    """Raise ``InputError`` where what an extra of the package brings is not installed."""
    missing = [name for extra in extras for name in _NEEDED[extra] if not _is_there(name)]
    if missing:
        raise InputError(
            "command line", f"not installed: {', '.join(missing)}", f"holdcold[{','.join(extras)}]",
            f"pip install 'holdcold[{','.join(extras)}]'",
        )  # fmt: skip


def _is_there(name: str) -> bool:
    try:
        return importlib.util.find_spec(name) is not None
    except ModuleNotFoundError:
        return False


@contextmanager
def opened(args: argparse.Namespace, *, make: bool = False) -> Iterator[Store]:
    """Give the store that the options name.

    args: with data and database. make: whether it may be made; else InputError where there is none.
    """
    need("server", *(["postgres"] if args.database else []))
    from holdcold.store import FILE, open_store  # noqa: PLC0415 - an extra

    folder = Path(args.data)
    if not make and not args.database and not (folder / FILE).is_file():
        advice = "holdcold serve or holdcold import makes one; --data names another folder."
        raise InputError("--data", args.data, "a folder with a store", advice)
    store = open_store(folder, args.database)
    try:
        yield store
    except OSError as problem:
        raise StoreError(f"A file could not be read or written: {problem}.") from problem
    finally:
        store.close()


def run_backup(args: argparse.Namespace) -> int:
    """Write a backup, check it, and say what is in it; return the exit code."""
    at = desk(args)
    with opened(args) as store:
        from holdcold.store import backup  # noqa: PLC0415 - an extra

        verdict = backup(store, Path(args.target))
    return _tell(at, verdict, f"Backup written to {args.target} and checked.")


def run_restore(args: argparse.Namespace) -> int:
    """Fill an empty store from a backup; return the exit code."""
    at = desk(args)
    with opened(args, make=True) as store:
        from holdcold.store import restore  # noqa: PLC0415 - an extra

        verdict = restore(Path(args.source), store)
    return _tell(at, verdict, f"Restored from {args.source} and checked.")


def run_verify(args: argparse.Namespace) -> int:
    """Check everything kept; return 4 where something is not as it was received."""
    at = desk(args)
    with opened(args) as store:
        from holdcold.store import verify  # noqa: PLC0415 - an extra

        verdict = verify(store)
    head = "Damaged: not as it was received." if verdict.damage else "Everything is as it was received."
    return _tell(at, verdict, head)


def run_export(args: argparse.Namespace) -> int:
    """Write a shop or a call into a zip; return the exit code."""
    at = desk(args)
    with opened(args) as store:
        from holdcold.store import export, own_shop  # noqa: PLC0415 - an extra

        done = export(store, own_shop(store), Path(args.file), args.call)
    data: dict[str, Any] = {
        "file": args.file, "calls": done.calls, "entries": done.entries, "photos": done.photos,
        "missing_photos": list(done.missing_photos),
    }  # fmt: skip
    lines = [f"{args.file}: {done.calls} calls, {done.entries} entries, {done.photos} photos."]
    lines += [f"Photo {sha256} has not come yet and is not in it." for sha256 in done.missing_photos]
    return at.answer(data, "\n".join(lines))


def run_import(args: argparse.Namespace) -> int:
    """Take an export in; return the exit code."""
    at = desk(args)
    with opened(args, make=True) as store:
        from holdcold.store import import_archive  # noqa: PLC0415 - an extra

        done = import_archive(store, Path(args.file))
    counts = {
        outcome: sum(1 for item in done.taken if item.outcome == outcome)
        for outcome in ("kept", "known", "quarantined")
    }
    words = ", ".join(f"{count} {outcome}" for outcome, count in counts.items())
    return at.answer(
        {"shop": done.shop, **counts, "photos": done.photos}, f"Entries: {words}. New photos: {done.photos}."
    )


def _tell(at: Desk, verdict: Verdict, head: str) -> int:
    """Print what a check found; return the exit code."""
    counts = ", ".join(f"{count} {name}" for name, count in verdict.counts.items())
    lines = [head, f"Checked: {counts}."]
    lines += [f"Damage: {line}" for line in verdict.damage]
    lines += [f"Remark: {line}" for line in verdict.remarks]
    data = {"counts": verdict.counts, "damage": list(verdict.damage), "remarks": list(verdict.remarks)}
    at.answer(data, "\n".join(lines))
    return EXIT_DAMAGED if verdict.damage else EXIT_OK


def _backup_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("target", metavar="DEST", help="new folder for the backup")


def _restore_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="SOURCE", help="folder of a backup")


def _export_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE.zip", help="new file to write")
    parser.add_argument("--call", metavar="ID", default="", help="one call only, by its id")


def _import_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE.zip", help="what holdcold export wrote")


def _no_arguments(_parser: argparse.ArgumentParser) -> None:
    """Add nothing."""


_ARGUMENTS: Final[dict[str, Callable[[argparse.ArgumentParser], None]]] = {
    "backup": _backup_arguments,
    "restore": _restore_arguments,
    "verify": _no_arguments,
    "export": _export_arguments,
    "import": _import_arguments,
}
_COMMANDS: Final = (
    ("backup", "copy everything kept into a new folder, consistent while the server runs", run_backup),
    ("restore", "fill an empty store from a backup", run_restore),
    ("verify", "check receipts, hashes, photos and references of everything kept", run_verify),
    ("export", "write the shop, or one call, into a zip of JSON, CSV and photos", run_export),
    ("import", "take in what export wrote", run_import),
)
