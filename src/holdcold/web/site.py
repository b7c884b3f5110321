"""Every address of the app with its content, type and headers; whoever serves it asks here."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Final

from holdcold.errors import InputError
from holdcold.web.archive import build

TYPES: Final[Mapping[str, str]] = MappingProxyType(
    {
        ".html": "text/html; charset=utf-8",
        ".css": "text/css; charset=utf-8",
        ".js": "text/javascript; charset=utf-8",
        ".mjs": "text/javascript; charset=utf-8",
        ".json": "application/json",
        ".webmanifest": "application/manifest+json",
        ".svg": "image/svg+xml",
        ".png": "image/png",
        ".wasm": "application/wasm",
        ".zip": "application/zip",
        ".txt": "text/plain; charset=utf-8",
    }
)
"""Media types by ending; modules and WebAssembly are refused by browsers under any other."""

HEADERS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "Content-Security-Policy": "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; "
        "style-src 'self'; img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; "
        "worker-src 'self'; "
        "manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Embedder-Policy": "require-corp",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Referrer-Policy": "no-referrer",
        "X-Content-Type-Options": "nosniff",
    }
)
"""Headers of every answer: nothing is loaded from elsewhere, nobody frames the app, no inline script runs."""

_VENDORED: Final = ("pyodide/pyodide.mjs", "htm/standalone.module.js")
_FOR_GOOD: Final = "public, max-age=31536000, immutable"
_ASK_AGAIN: Final = "no-cache"


@dataclass(frozen=True, slots=True)
class File:
    """One address: what it holds, its media type, and how long a cache may keep it."""

    content: bytes
    media_type: str
    cache: str


def site() -> dict[str, File]:
    """Return every address of the app with its file.

    Raises: ``InputError`` when what the app takes from others has not been fetched (scripts/vendor-web).
    """
    web = resources.files("holdcold.web")
    vendor = web / "vendor"
    missing = [name for name in _VENDORED if not (vendor / name).is_file()]
    if missing:
        advice = "Run scripts/vendor-web (make run does) and try again."
        raise InputError("app", ", ".join(missing), "fetched files", advice)
    files = dict(_below(web / "static", ""))
    files["/messages/languages.json"] = _languages(files)
    files |= {f"/vendor{path}": content for path, content in _below(vendor, "")}
    archive = build()
    files[f"/engine/{archive.name}"] = archive.content
    files["/"] = files.pop("/index.html")
    worker = files.pop("/sw.js").decode()
    release = _digest(files, worker)
    names = json.dumps(sorted(files))
    files["/js/release.js"] = (
        f'export const RELEASE = "{release}";\nexport const ARCHIVE = "/engine/{archive.name}";\n'
    ).encode()
    files["/sw.js"] = (
        f'const RELEASE = "{release}";\nconst FILES = {names[:-1]}, "/js/release.js"];\n{worker}'
    ).encode()
    return {path: _file(path, content) for path, content in files.items()}


def _languages(files: Mapping[str, bytes]) -> bytes:
    """Return the list of languages: each file of messages is one, and says its own name."""
    texts = {path: content for path, content in files.items() if path.startswith("/messages/")}
    names = {
        path.removeprefix("/messages/").removesuffix(".json"): json.loads(content)["language_name"]
        for path, content in sorted(texts.items())
    }
    return json.dumps(names, ensure_ascii=False).encode()


def _digest(files: Mapping[str, bytes], worker: str) -> str:
    """Return the name of a release: it changes with any byte of any file."""
    total = hashlib.sha256(worker.encode())
    for path in sorted(files):
        total.update(path.encode() + b"\0" + hashlib.sha256(files[path]).digest())
    return total.hexdigest()[:16]


def _file(path: str, content: bytes) -> File:
    ending = ".html" if path == "/" else f".{path.rpartition('.')[2]}"
    return File(content, TYPES[ending], _FOR_GOOD if path.startswith("/engine/") else _ASK_AGAIN)


def _below(folder: Traversable, path: str) -> Iterator[tuple[str, bytes]]:
    for inner in folder.iterdir():
        here = f"{path}/{inner.name}"
        if inner.is_dir():
            yield from _below(inner, here)
        elif f".{inner.name.rpartition('.')[2]}" in TYPES:
            yield here, inner.read_bytes()
