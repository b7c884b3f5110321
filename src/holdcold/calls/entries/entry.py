"""One fact in the log of a call, and the exact bytes it travels and is hashed as.

The body is kept as the bytes the device made: parsed forms stand beside it, never in its place. The hash
of an entry covers its envelope and the hash of its body, so that the body can be dropped on a person's
request (``redacts``) while the entry itself, and the receipt log over it, still check.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone
from functools import cached_property
from types import MappingProxyType
from typing import Any, Final

from holdcold.calls.entries.ids import is_sha256, is_uuid7, sha256_text
from holdcold.errors import InputError, InputErrors, UnknownNameError

MOST_BODY_BYTES: Final = 1 << 20
"""The largest body [bytes]; longer traces are entered in pieces."""

MOST_NAME: Final = 200
_MOST_DEVICES: Final = 1000
_COUNTER_END: Final = 1 << 53
_MOMENT: Final = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{3}|\.[0-9]{6})?[+-][0-9]{2}:[0-9]{2}"
)
_FIRST_VISIBLE: Final = 0x20
_DELETE: Final = 0x7F
_FIRST_LATIN: Final = 0xA0
_HALVES: Final = (0xD800, 0xDFFF)
_EPOCH: Final = datetime(1970, 1, 1, tzinfo=timezone.utc)  # noqa: UP017 - the same value, in words


@dataclass(frozen=True)
class Entry:
    """One entry; nothing in it is ever changed.

    id: UUID version 7, made where it was entered. call: UUID version 7 of the call.
    kind, schema: what the body holds, and the version of its form, from 1.
    author, device: who entered it, on what. counter: rises by one with each entry of that device, from 1.
    seen: of each other device the last counter this one had seen.
    at: the device's clock, local date and time with offset, ``2026-11-25T14:03:22-06:00``.
    body: the exact bytes, or None where they were redacted. body_sha256: their SHA-256.
    corrects: id of the entry this one corrects. redacts: id of the entry whose body is to be dropped.
    """

    id: str
    call: str
    kind: str
    schema: int
    author: str
    device: str
    counter: int
    at: str
    body: bytes | None
    body_sha256: str
    seen: Mapping[str, int] = field(default_factory=dict, hash=False)
    corrects: str = ""
    redacts: str = ""

    @cached_property
    def sha256(self) -> str:
        """SHA-256 of the entry: of its envelope in the canonical form, hash of the body included."""
        return sha256_text(canonical(self.envelope()))

    def envelope(self) -> dict[str, object]:
        """Return everything but the body, as it is hashed: optional parts only where they are given."""
        told: dict[str, object] = {
            "id": self.id,
            "call": self.call,
            "kind": self.kind,
            "schema": self.schema,
            "author": self.author,
            "device": self.device,
            "counter": self.counter,
            "seen": dict(self.seen),
            "at": self.at,
            "sha256": self.body_sha256,
        }
        if self.corrects:
            told["corrects"] = self.corrects
        if self.redacts:
            told["redacts"] = self.redacts
        return told

    def wire(self) -> dict[str, object]:
        """Return the entry as one JSON object: the envelope, and ``body`` as text (null when redacted)."""
        return {**self.envelope(), "body": None if self.body is None else self.body.decode("utf-8")}

    def without_body(self) -> Entry:
        """Return the entry with its body dropped; its hash stays the same."""
        return self if self.body is None else replace(self, body=None)

    @cached_property
    def seconds(self) -> float:
        """The device's clock as seconds since 1970 in UTC [s]."""
        return (datetime.fromisoformat(self.at) - _EPOCH) / timedelta(seconds=1)


def canonical(value: object) -> bytes:
    """Return ``value`` as the one JSON text that is hashed: sorted keys, no spaces, ASCII."""
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False
    ).encode("ascii")


def body_bytes(body: Mapping[str, object]) -> bytes:
    """Return a body as bytes, for a device that makes an entry; any JSON text of it would do as well."""
    text = json.dumps(body, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return text.encode("utf-8")


def make_entry(envelope: Mapping[str, object], body: bytes) -> Entry:
    """Return an entry from its envelope (keys as in ``Entry.envelope``, without ``sha256``) and its bytes.

    Raises InputErrors with everything wrong about the envelope. The body is not looked into: ``validate``
    does that.
    """
    text = body.decode("utf-8")
    return entry_of({**envelope, "sha256": sha256_text(body), "body": text})


def entry_of(document: object) -> Entry:
    """Return the entry of one JSON object as ``Entry.wire`` gives it.

    Raises InputErrors with everything wrong about the envelope, and where the body has another hash than
    stated. Bodies of unknown kinds and of newer versions are taken as they are.
    """
    if not isinstance(document, Mapping):
        raise InputErrors([InputError("entry", document, "a JSON object", "Send { ... } with an entry.")])
    problems = [
        *(UnknownNameError("entry", str(key), _PARTS) for key in document if key not in _PARTS),
        *(
            InputError(name, document.get(name, "nothing"), part.allowed, part.advice)
            for name, part in _PARTS.items()
            if not (part.fits(document[name]) if name in document else not part.needed)
        ),
    ]
    problems.extend(_body_problems(document))
    if problems:
        raise InputErrors(problems)
    body = document["body"]
    return Entry(
        id=str(document["id"]),
        call=str(document["call"]),
        kind=str(document["kind"]),
        schema=_whole(document["schema"]),
        author=str(document["author"]),
        device=str(document["device"]),
        counter=_whole(document["counter"]),
        at=str(document["at"]),
        body=None if body is None else str(body).encode("utf-8"),
        body_sha256=str(document["sha256"]),
        seen=MappingProxyType(dict(document["seen"])),
        corrects=str(document.get("corrects", "")),
        redacts=str(document.get("redacts", "")),
    )


def _whole(value: Any) -> int:  # noqa: ANN401 - checked by the table of parts
    return int(value)


def _body_problems(document: Mapping[str, object]) -> list[InputError]:
    body, stated = document.get("body"), document.get("sha256")
    if not isinstance(body, str) or not _is_body(body) or not is_sha256(stated):
        return []
    found = sha256_text(body.encode("utf-8"))
    if found == stated:
        return []
    advice = "The body changed on its way: send the entry again from the device."
    return [InputError("sha256", stated, f"{found}, the hash of the body", advice)]


@dataclass(frozen=True, slots=True)
class _Part:
    """One part of the envelope: what fits, in code and in words."""

    fits: Callable[[object], bool]
    allowed: str
    advice: str
    needed: bool = True


def _is_name(value: object) -> bool:
    """Say whether ``value`` is a short text without control characters or halves of characters."""
    if not isinstance(value, str) or not 0 < len(value) <= MOST_NAME or value != value.strip():
        return False
    return not any(_is_odd(ord(character)) for character in value)


def _is_odd(code: int) -> bool:
    """Say whether a character is a control character or half of one, by ranges that no release changes."""
    return code < _FIRST_VISIBLE or _DELETE <= code < _FIRST_LATIN or _HALVES[0] <= code <= _HALVES[1]


def _is_kind(value: object) -> bool:
    return _is_name(value) and isinstance(value, str) and value.replace("_", "").isalnum() and value.isascii()


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 < value < _COUNTER_END


def _is_seen(value: object) -> bool:
    return (
        isinstance(value, Mapping)
        and len(value) <= _MOST_DEVICES
        and all(_is_name(device) and _is_count(count) for device, count in value.items())
    )


def is_moment(value: object) -> bool:
    """Say whether ``value`` is a local date and time with offset, in the one form of ISO 8601 used here."""
    if not isinstance(value, str) or _MOMENT.fullmatch(value) is None:
        return False
    try:
        datetime.fromisoformat(value)
    except ValueError:
        return False
    return True


def _is_body(value: object) -> bool:
    if value is None:
        return True
    try:
        return isinstance(value, str) and len(value.encode("utf-8")) <= MOST_BODY_BYTES
    except UnicodeEncodeError:
        return False


_ID: Final = "a UUID of version 7 in small letters"
_MAKE_ID: Final = "Make it on the device, when the entry is made."
_NAME_WORDS: Final = f"1 to {MOST_NAME} printable characters"

_PARTS: Final[Mapping[str, _Part]] = MappingProxyType(
    {
        "id": _Part(is_uuid7, _ID, _MAKE_ID),
        "call": _Part(is_uuid7, _ID, _MAKE_ID),
        "kind": _Part(_is_kind, "a word of letters, digits and _", "docs/log.md lists the kinds."),
        "schema": _Part(_is_count, "a whole number from 1", "Give the version of the kind's form."),
        "author": _Part(_is_name, _NAME_WORDS, "Say who entered it."),
        "device": _Part(_is_name, _NAME_WORDS, "Say on which device it was entered."),
        "counter": _Part(_is_count, "a whole number from 1", "Count the entries of the device."),
        "seen": _Part(_is_seen, "an object of device to last counter", "Send {} when nothing was seen."),
        "at": _Part(
            is_moment, "local date and time with offset, like 2026-11-25T14:03:22-06:00",
            "Send the device's clock.",
        ),
        "sha256": _Part(is_sha256, "64 small hexadecimal digits", "Hash the exact bytes of the body."),
        "body": _Part(
            _is_body, f"text of at most {MOST_BODY_BYTES} bytes in UTF-8, or null when redacted",
            "Send the body as one text; enter a long trace in pieces.",
        ),
        "corrects": _Part(is_uuid7, _ID, "Name the entry that is corrected.", needed=False),
        "redacts": _Part(is_uuid7, _ID, "Name the entry whose body is to go.", needed=False),
    }
)  # fmt: skip
ENVELOPE_PARTS: Final[tuple[str, ...]] = tuple(_PARTS)
"""Keys of an entry as it travels, in order."""
