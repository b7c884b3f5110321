"""A PostgreSQL cluster of the tests' own: made for one run, reached through a socket file, gone after it."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

OTHER_USERS = ("postgres", "nobody")


def programs() -> Path | None:
    """Return the folder of initdb and postgres: from PATH, or where Debian's package puts them."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    packaged = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return packaged[-1].parent if packaged else None


def unprivileged() -> tuple[list[str], pwd.struct_passwd | None]:
    """Return how to run as somebody who is not root (initdb refuses root), and who that is."""
    if os.geteuid() != 0:
        return [], None
    for name in OTHER_USERS:
        try:
            user = pwd.getpwnam(name)
        except KeyError:
            continue
        return ["setpriv", f"--reuid={user.pw_uid}", f"--regid={user.pw_gid}", "--clear-groups"], user
    raise LookupError(f"none of {OTHER_USERS} exists")


@contextmanager
def cluster() -> Iterator[str]:
    """Start a cluster and give the folder of its socket; stop and remove it at the end."""
    folder = programs()
    if folder is None:
        raise LookupError("PostgreSQL is not installed")
    prefix, user = unprivileged()
    home = Path(tempfile.mkdtemp(prefix="holdcold-pg-"))
    try:
        if user is not None:
            os.chown(home, user.pw_uid, user.pw_gid)
        data = home / "data"
        options = ["-U", "holdcold", "--auth=trust", "-E", "UTF8", "--locale=C", "--no-sync"]
        made = subprocess.run(
            [*prefix, str(folder / "initdb"), "-D", str(data), *options],
            cwd=home, capture_output=True, text=True, check=False,
        )  # fmt: skip
        if made.returncode:
            raise RuntimeError(made.stdout + made.stderr)
        with (home / "log").open("w") as log:
            server = subprocess.Popen(
                [*prefix, str(folder / "postgres"), "-D", str(data), "-k", str(home),
                 "-c", "listen_addresses=", "-c", "fsync=off"],
                cwd=home, stdout=log, stderr=log,
            )  # fmt: skip
        try:
            wait_for(server, home)
            yield str(home)
        finally:
            server.terminate()
            server.wait(timeout=30)
    finally:
        shutil.rmtree(home, ignore_errors=True)


def wait_for(server: subprocess.Popen[bytes], home: Path) -> None:
    """Wait until the cluster answers."""
    for _ in range(150):
        try:
            psycopg.connect(f"host={home} user=holdcold dbname=postgres", connect_timeout=2).close()
        except psycopg.OperationalError:
            if server.poll() is not None:
                break
            try:
                server.wait(timeout=0.2)
            except subprocess.TimeoutExpired:
                continue
        else:
            return
    raise RuntimeError((home / "log").read_text(encoding="utf-8"))


def new_database(home: str, name: str) -> str:
    """Make an empty place for tables, a schema of its own, and return the URL that leads there."""
    with psycopg.connect(f"host={home} user=holdcold dbname=postgres", autocommit=True) as connection:
        connection.execute(f'CREATE SCHEMA "{name}"'.encode())
    return f"postgresql://holdcold@/postgres?host={home}&options=-csearch_path%3D{name}"
