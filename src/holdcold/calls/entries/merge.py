"""The log of calls as a set: merging is the union by id, so order, repeats and retries do not matter.

Everything that was ever entered stays: two entries with one id but other bytes are both kept, one stands
and the other is in quarantine, where it is shown. Which one stands is the same on every device that has
the same entries and receipts: the one the shop received first, and before any was received, the one with
the smaller hash.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from holdcold.calls.entries.entry import Entry
from holdcold.calls.entries.kinds import KINDS

_NEVER: Final = 1 << 62


@dataclass(frozen=True, slots=True)
class ClockOffset:
    """How far a device's clock was behind the shop's [s], and the receipt it was estimated at."""

    sequence: int
    seconds: float


@dataclass(frozen=True)
class Log:
    """Entries of any number of calls, with what the shop's receipts add.

    variants: entry by id and hash. receipts: sequence of the receipt by the hash of the entry.
    offsets: clock offset by device.
    """

    variants: Mapping[str, Mapping[str, Entry]]
    receipts: Mapping[str, int]
    offsets: Mapping[str, ClockOffset]

    @property
    def standing(self) -> tuple[Entry, ...]:
        """The one entry of each id that stands, in the order of the ids."""
        return tuple(self._ranked(id_)[0] for id_ in sorted(self.variants))

    @property
    def quarantined(self) -> tuple[Entry, ...]:
        """Every entry whose id is taken by another one, in the order of the ids."""
        return tuple(entry for id_ in sorted(self.variants) for entry in self._ranked(id_)[1:])

    @property
    def everything(self) -> tuple[Entry, ...]:
        """Every entry ever taken in, those in quarantine too."""
        return tuple(entry for id_ in sorted(self.variants) for entry in self._ranked(id_))

    def of_call(self, call: str) -> Log:
        """Return the entries of one call; call: its id."""
        return log_of((one for one in self.everything if one.call == call), self.receipts, self.offsets)

    def _ranked(self, id_: str) -> list[Entry]:
        return sorted(
            self.variants[id_].values(),
            key=lambda entry: (self.receipts.get(entry.sha256, _NEVER), entry.sha256),
        )


def log_of(
    entries: Iterable[Entry],
    receipts: Mapping[str, int] | None = None,
    offsets: Mapping[str, ClockOffset] | None = None,
) -> Log:
    """Return the log of these entries, bodies dropped where a redaction is among them.

    entries: in any order, repeats allowed. receipts: sequence by hash of the entry. offsets: by device.
    """
    variants: dict[str, dict[str, Entry]] = {}
    for entry in entries:
        known = variants.setdefault(entry.id, {})
        if entry.sha256 not in known or known[entry.sha256].body is None:
            known[entry.sha256] = entry
    _drop_redacted(variants)
    return Log(
        MappingProxyType({id_: MappingProxyType(known) for id_, known in variants.items()}),
        MappingProxyType(dict(receipts or {})),
        MappingProxyType(dict(offsets or {})),
    )


def merge(*logs: Log) -> Log:
    """Return the union of logs: the same for any order and any repetition of the same logs."""
    receipts: dict[str, int] = {}
    offsets: dict[str, ClockOffset] = {}
    for log in logs:
        for sha256, sequence in log.receipts.items():
            receipts[sha256] = min(sequence, receipts.get(sha256, sequence))
        for device, offset in log.offsets.items():
            known = offsets.get(device, offset)
            offsets[device] = max(offset, known, key=lambda one: (one.sequence, one.seconds))
    return log_of((entry for log in logs for entry in log.everything), receipts, offsets)


def redacted_ids(entries: Iterable[Entry]) -> frozenset[tuple[str, str]]:
    """Return (call, id) of the entries that redactions among ``entries`` name.

    Which of those may be redacted is for ``may_redact`` to say.
    """
    return frozenset(
        (entry.call, entry.redacts) for entry in entries if entry.kind == "redaction" and entry.redacts
    )


def may_redact(entry: Entry) -> bool:
    """Say whether the body of an entry may be dropped: of any but amounts (legal records) and redactions."""
    kind = KINDS.get(entry.kind)
    return entry.kind != "redaction" and not (kind is not None and kind.amounts)


def _drop_redacted(variants: dict[str, dict[str, Entry]]) -> None:
    named = redacted_ids(entry for known in variants.values() for entry in known.values())
    for call, id_ in named:
        for sha256, entry in variants.get(id_, {}).items():
            if entry.call == call and may_redact(entry):
                variants[id_][sha256] = entry.without_body()
