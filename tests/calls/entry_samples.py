"""Entries the tests start from: invented people and devices."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime, timedelta, timezone
from typing import Any

from holdcold.calls.entries import Entry, Log, Story, log_of, make_entry, story, uuid7_text
from holdcold.diagnosis.catalogue import catalogue

START = datetime(2026, 11, 25, 8, 0, 0, tzinfo=timezone(timedelta(hours=-6)))
CALL = uuid7_text(1_000, 1)
OTHER_CALL = uuid7_text(1_000, 2)
UNIT = uuid7_text(1_000, 3)


def moment(minutes: float = 0.0, start: datetime = START) -> str:
    """Return a device's clock some minutes after the start of the call."""
    return (start + timedelta(minutes=minutes)).isoformat(timespec="milliseconds")


class Device:
    """A phone that makes entries: counts them, and knows what it has seen of others."""

    def __init__(self, name: str = "ana-phone", author: str = "Ana", number: int = 1, ahead_min: float = 0.0):
        self.name, self.author, self.number, self.ahead_min = name, author, number, ahead_min
        self.counter = 0
        self.seen: dict[str, int] = {}
        self.made: list[Entry] = []

    def enter(self, kind: str, body: Mapping[str, Any] | str, minute: float = 0.0, **more: Any) -> Entry:
        """Make one entry at a minute of the call by the true time; this device's clock may be ahead."""
        self.counter += 1
        envelope = {
            "id": uuid7_text(2_000_000 + int(minute * 60_000), self.number << 40 | self.counter),
            "call": CALL,
            "kind": kind,
            "schema": 1,
            "author": self.author,
            "device": self.name,
            "counter": self.counter,
            "seen": dict(self.seen),
            "at": moment(minute + self.ahead_min),
        }
        text = body if isinstance(body, str) else json.dumps(body)
        entry = make_entry({**envelope, **more}, text.encode("utf-8"))
        self.made.append(entry)
        return entry

    def read(self, place: str, value: str, minute: float = 0.0, **more: Any) -> Entry:
        """Make a reading."""
        return self.enter("reading", {"place": place, "value": value}, minute, **more)

    def look_at(self, other: Device) -> None:
        """See everything another device has made so far, and what that one had seen."""
        for device, counter in {**other.seen, other.name: other.counter}.items():
            if device != self.name and counter:
                self.seen[device] = max(counter, self.seen.get(device, 0))


def told(*entries: Entry, log: Log | None = None) -> Story:
    """Return what became of entries."""
    return story(log_of(entries) if log is None else log, catalogue())
