"""What stands before every route: whose requests are answered, how large they may be, headers of answers.

Without a login the machine itself is the lock: only names of the loopback are answered (a foreign name that
was pointed here is not), and a page of another origin cannot write.
"""

from __future__ import annotations

import json
from typing import Final
from urllib.parse import urlsplit

from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BYTES: Final = 16 << 20
"""Largest request [bytes]."""

LOCAL_NAMES: Final = frozenset({"localhost", "127.0.0.1", "::1"})
"""Names a request may call this server by."""

_POLICY: Final = (
    b"default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; object-src 'none'; base-uri 'none'; "
    b"frame-ancestors 'none'"
)
_HEADERS: Final = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-frame-options", b"DENY"),
    (b"content-security-policy", _POLICY),
    (b"cross-origin-resource-policy", b"same-origin"),
)  # fmt: skip


class Guard:
    """ASGI middleware around the whole application."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request that may not pass; hand on all others, with headers on the answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = {name.lower(): value.decode("latin-1") for name, value in scope["headers"]}
        refusal = _refusal(headers)
        if refusal is not None:
            await _refuse(send, *refusal)
            return
        await self._app(scope, _limited(receive), _with_headers(send, scope["path"]))


def _refusal(headers: dict[bytes, str]) -> tuple[int, str, str] | None:
    """Return (status, what is wrong, what to do) of a request that may not pass."""
    host = headers.get(b"host", "")
    if _name(f"//{host}") not in LOCAL_NAMES:
        return 421, f"host {host[:80]}", "Open the app as http://localhost on this machine."
    origin = headers.get(b"origin")
    if origin is not None and urlsplit(origin).netloc != host:
        return 403, f"origin {origin[:80]}", "Only the app's own pages may ask."
    length = headers.get(b"content-length", "0")
    if not length.isdecimal() or int(length) > MOST_BYTES:
        return 413, f"{length[:20]} bytes", f"Send at most {MOST_BYTES} bytes at once."
    return None


def _name(url: str) -> str:
    try:
        return urlsplit(url).hostname or ""
    except ValueError:
        return ""


async def _refuse(send: Send, status: int, value: str, advice: str) -> None:
    problem = {"field": "request", "value": value, "allowed": "", "advice": advice}
    body = json.dumps({"error": [problem]}).encode("ascii")
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        *_HEADERS,
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def _limited(receive: Receive) -> Receive:
    """Return a receiver that stops reading a request without a stated length once it is too large."""
    seen = 0

    async def read() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        return message if seen <= MOST_BYTES else {"type": "http.disconnect"}

    return read


def _with_headers(send: Send, path: str) -> Send:
    async def answer(message: Message) -> None:
        if message["type"] == "http.response.start":
            extra = [*_HEADERS, *([(b"cache-control", b"no-store")] if path.startswith("/api/") else [])]
            message = {**message, "headers": [*message.get("headers", []), *extra]}
        await send(message)

    return answer
