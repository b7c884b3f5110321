"""The receipt log: a chain of hashes over everything the shop received, so that a later change shows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from holdcold.calls.entries.ids import sha256_text

GENESIS: Final = "0" * 64
"""What the first receipt names as the one before it."""


@dataclass(frozen=True, slots=True)
class Receipt:
    """One receipt: its place from 1, what was received, and the hash of the receipt before it."""

    sequence: int
    entry_sha256: str
    previous: str

    @property
    def sha256(self) -> str:
        """Hash of this receipt: of the three parts, one a line."""
        return sha256_text(f"{self.sequence}\n{self.entry_sha256}\n{self.previous}\n".encode("ascii"))


def next_receipt(head: Receipt | None, entry_sha256: str) -> Receipt:
    """Return the receipt for one more entry; entry_sha256: its hash; head: the newest receipt, if any."""
    if head is None:
        return Receipt(1, entry_sha256, GENESIS)
    return Receipt(head.sequence + 1, entry_sha256, head.sha256)


def broken_links(receipts: Iterable[Receipt]) -> list[str]:
    """Return, in words, where a receipt log in its order does not hold together."""
    found = []
    head: Receipt | None = None
    for receipt in receipts:
        wanted = next_receipt(head, receipt.entry_sha256)
        if receipt.sequence != wanted.sequence:
            found.append(f"receipt {wanted.sequence} is missing, {receipt.sequence} follows")
        elif receipt.previous != wanted.previous:
            found.append(f"receipt {receipt.sequence} does not follow from the one before it")
        head = receipt
    return found
