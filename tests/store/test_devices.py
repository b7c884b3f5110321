"""Phones that come and go, answers that get lost, old backups that are restored: all ends alike."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test

from calls.entry_samples import Device
from holdcold.calls.entries import Entry, Log, entry_of, log_of, merge, ordered
from holdcold.store import Cursor, Store, backup, open_store, own_shop, restore, sync, verify
from store.rows_of import quarantined_entries
from support import postgres

PHONES = 3
PAGE = 4


class Phone(Device):
    """A device that keeps everything it ever had, and counts as sent only what the cursor has passed."""

    def __init__(self, number: int) -> None:
        super().__init__(f"phone-{number}", f"person {number}", number + 1, ahead_min=60.0 * number)
        self.log: Log = log_of([])
        self.cursor = Cursor()

    def add(self, entry: Entry) -> None:
        """Keep an entry that was just made."""
        self.log = merge(self.log, log_of([entry]))

    def outbox(self) -> list[Entry]:
        """Return what is not known to be on the server: no receipt, or one beyond the cursor."""
        passed = self.cursor.sequence
        return [one for one in self.log.everything if self.log.receipts.get(one.sha256, passed + 1) > passed]

    def sync(self, store: Store, shop: str, *, heard: bool = True) -> bool:
        """Send and take in one page; return whether there is more. heard: whether the answer arrives."""
        sent = self.outbox()
        answer = sync(store, shop, [entry.wire() for entry in sent], self.cursor)
        if not heard:
            return False
        if answer.news.restart:
            self.log, self.cursor = log_of(self.log.everything), Cursor()
            return True
        receipts = {item.sha256: item.sequence for item in answer.taken if item.id}
        receipts |= {entry.sha256: sequence for entry, sequence in answer.news.entries}
        others = quarantined_entries(answer.news.quarantine)
        receipts |= {entry.sha256: sequence for entry, sequence in others}
        received = [entry for entry, _ in (*answer.news.entries, *others)]
        self.log = merge(self.log, log_of([entry_of(one.wire()) for one in received], receipts))
        self.cursor = answer.news.cursor
        for entry in received:
            if entry.device != self.name:
                self.seen[entry.device] = max(entry.counter, self.seen.get(entry.device, 0))
        return answer.news.more


class Shop(RuleBasedStateMachine):
    """Three phones and one store."""

    home = ""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="holdcold-shop-"))
        self.stores = 0
        self.store = self.new_store()
        self.shop = own_shop(self.store)
        self.phones = [Phone(number) for number in range(PHONES)]
        self.backups = 0
        self.made: list[Entry] = []
        self.paged = mock.patch("holdcold.store.exchange.MOST_ENTRIES", PAGE)
        self.paged.start()

    def new_store(self) -> Store:
        """Return an empty store."""
        self.stores += 1
        url = postgres.new_database(self.home, f"s{self.folder.name}{self.stores}") if self.home else ""
        return open_store(self.folder / f"store-{self.stores}", url)

    def keep(self, phone: Phone, entry: Entry) -> None:
        """Note an entry that a person made."""
        self.made.append(entry)
        phone.add(entry)

    @rule(number=st.integers(0, PHONES - 1), value=st.integers(0, 99))
    def enter(self, number: int, value: int) -> None:
        """Make a reading."""
        phone = self.phones[number]
        self.keep(phone, phone.read("box_k", f"{value} F", float(len(self.made))))

    @rule(
        number=st.integers(0, PHONES - 1),
        pick=st.integers(0, 99),
        kind=st.sampled_from(["corrects", "redacts", "id"]),
    )
    def speak_of_another(self, number: int, pick: int, kind: str) -> None:
        """Correct or redact what this phone has, or use its id once more."""
        phone = self.phones[number]
        known = sorted(phone.log.standing, key=lambda entry: entry.id)
        if not known:
            return
        target = known[pick % len(known)]
        minute = float(len(self.made))
        if kind == "redacts":
            entry = phone.enter("redaction", {"reason": "asked"}, minute, redacts=target.id)
        else:
            entry = phone.enter("reading", {"place": "box_k", "value": "1 F"}, minute, **{kind: target.id})
        self.keep(phone, entry)

    @rule(number=st.integers(0, PHONES - 1), heard=st.booleans())
    def connect(self, number: int, heard: bool) -> None:
        """Sync one page; the answer may get lost."""
        self.phones[number].sync(self.store, self.shop, heard=heard)

    @rule()
    def back_up(self) -> None:
        """Write a backup."""
        self.backups += 1
        backup(self.store, self.folder / f"backup-{self.backups}")

    @rule(pick=st.integers(0, 9))
    def fall_back(self, pick: int) -> None:
        """Lose the store, and restore one of the backups."""
        if not self.backups:
            return
        self.store.close()
        self.store = self.new_store()
        restore(self.folder / f"backup-{1 + pick % self.backups}", self.store)

    def teardown(self) -> None:
        """Let every phone sync until nothing is new; all must then have everything, in the same order."""
        try:
            for _ in range(3):
                for phone in self.phones:
                    while phone.sync(self.store, self.shop):
                        pass
            hashes = {entry.sha256 for entry in self.made}
            first = self.phones[0].log
            for phone in self.phones:
                assert {entry.sha256 for entry in phone.log.everything} == hashes
                assert {e.sha256: e.body for e in phone.log.everything} == {
                    e.sha256: e.body for e in first.everything
                }
                assert [entry.sha256 for entry in ordered(phone.log)] == [
                    entry.sha256 for entry in ordered(first)
                ]
                assert phone.outbox() == []
            assert verify(self.store).damage == ()
        finally:
            self.paged.stop()
            self.store.close()
            shutil.rmtree(self.folder, ignore_errors=True)


def play(machine: type[Shop], examples: int, steps: int) -> None:
    """Run the phones through random days."""
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples, stateful_step_count=steps, deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip


def test_phones_on_sqlite() -> None:
    play(Shop, 12, 25)


def test_phones_on_postgresql(cluster: str) -> None:
    machine: Any = type("ShopOnPostgreSQL", (Shop,), {"home": cluster})
    play(machine, 4, 20)


def test_the_old_rule_would_lose_entries() -> None:
    """An answer of several pages acknowledges entries that its cursor has not passed: not sent yet."""
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patched:
        patched.setattr("holdcold.store.exchange.MOST_ENTRIES", 2)
        store = open_store(Path(folder) / "data")
        shop = own_shop(store)
        phone = Phone(0)
        for n in range(5):
            phone.add(phone.read("box_k", f"{n} F", n))
        assert phone.sync(store, shop)
        assert len(phone.outbox()) == 3
        store.close()
