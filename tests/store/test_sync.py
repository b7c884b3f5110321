"""Entries both ways: kept once, with a receipt, whatever is sent how often."""

from __future__ import annotations

import random
import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest

from calls.entry_samples import CALL, OTHER_CALL, START, UNIT, Device
from holdcold.calls.entries import Entry, Log, log_of, merge, ordered, story
from holdcold.diagnosis.catalogue import catalogue
from holdcold.errors import StoreError
from holdcold.store import (
    Cursor,
    Store,
    calls,
    drop_leftovers,
    log_of_call,
    own_shop,
    quarantine_of,
    sync,
    verify,
)
from holdcold.store.shop import add_shop
from store.samples import PHOTO, PHOTO_SHA, fill, photo_body, upload, visit


def wires(*entries: Entry) -> list[object]:
    """Return entries as they travel."""
    return [entry.wire() for entry in entries]


def pulled(store: Store, shop: str, since: Cursor | None = None) -> tuple[Log, Cursor]:
    """Return everything since a cursor, as a phone puts it together, and the new cursor."""
    found, cursor = log_of([]), since or Cursor()
    while True:
        answer = sync(store, shop, since=cursor)
        others = [entry for entry, _, _ in quarantine_of(store, shop) if entry is not None]
        receipts = {entry.sha256: sequence for entry, sequence in answer.news.entries}
        found = merge(
            found, log_of([entry for entry, _ in answer.news.entries] + others, receipts, answer.news.offsets)
        )
        cursor = answer.news.cursor
        if not answer.news.more:
            return found, cursor


def test_what_is_sent_comes_back_byte_by_byte(store: Store, shop: str) -> None:
    entries = [entry for entry in visit() if entry.kind != "redaction"][:-1]
    answer = sync(store, shop, wires(*entries))
    assert [item.outcome for item in answer.taken] == ["kept"] * len(entries)
    assert [entry for entry, _ in answer.news.entries] == entries
    assert {entry.id: entry.body for entry in log_of_call(store, shop, CALL).standing} == {
        entry.id: entry.body for entry in entries
    }
    assert verify(store).damage == ()


def test_sending_again_changes_nothing(store: Store, shop: str) -> None:
    entries = visit()
    first = sync(store, shop, wires(*entries, *entries))
    again = sync(store, shop, wires(*reversed(entries)))
    assert first.head == again.head
    assert {item.outcome for item in again.taken} == {"known", "quarantined"}
    assert sorted(item.sequence for item in again.taken) == list(range(1, len(entries) + 1))


@pytest.mark.parametrize("seed", range(8))
def test_any_delivery_ends_the_same(new_store: Callable[..., Store], seed: int) -> None:
    """Cut, shuffled, repeated: what a phone puts together from the store is what it would merge itself."""
    chance = random.Random(seed)
    entries = visit()
    delivery = entries + chance.sample(entries, 4)
    chance.shuffle(delivery)
    store = new_store()
    shop = own_shop(store)
    while delivery:
        size = chance.randint(1, 4)
        sync(store, shop, wires(*delivery[:size]))
        delivery = delivery[size:]
    found, _ = pulled(store, shop)
    kept = log_of_call(store, shop, CALL)
    whole = log_of(entries, kept.receipts)
    for log in (found, kept):
        assert {e.sha256: e.body for e in log.everything} == {e.sha256: e.body for e in whole.everything}
        assert [e.sha256 for e in ordered(log)] == [e.sha256 for e in ordered(whole)]
    assert verify(store).damage == ()


def test_a_page_ends_and_the_next_goes_on(store: Store, shop: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("holdcold.store.exchange.MOST_ENTRIES", 3)
    ana = Device()
    entries = [ana.read("box_k", f"{n} F", n) for n in range(10)]
    sync(store, shop, wires(*entries))
    found, cursor = pulled(store, shop)
    assert set(found.standing) == set(entries)
    assert sync(store, shop, since=cursor).news.entries == []


def test_another_entry_under_a_known_id_is_quarantined_and_shown(store: Store, shop: str) -> None:
    entry = Device().read("box_k", "38 F")
    other = Device("ben-phone", "Ben", 2).read("box_k", "88 F", id=entry.id)
    sync(store, shop, wires(entry))
    answer = sync(store, shop, wires(other))
    assert [(item.outcome, item.problems[0].field) for item in answer.taken] == [("quarantined", "id")]
    assert [(one, sequence) for one, _, sequence in quarantine_of(store, shop)] == [(other, 2)]
    assert len(answer.news.quarantine) == 1
    log = log_of_call(store, shop, CALL)
    assert (log.standing, log.quarantined) == ((entry,), (other,))
    assert verify(store).damage == ()


@pytest.mark.parametrize("rubbish", [None, 5, "x", [], {}, {"id": 5}, {"body": "\0\ud800"}, [{"a": [1.5]}]])
def test_rubbish_is_kept_in_quarantine_with_a_receipt(store: Store, shop: str, rubbish: Any) -> None:
    entry = Device().read("box_k", "38 F")
    answer = sync(store, shop, [rubbish, entry.wire(), rubbish])
    assert [item.outcome for item in answer.taken] == ["quarantined", "kept", "quarantined"]
    assert all(item.problems for item in answer.taken if item.outcome == "quarantined")
    assert [item.sequence for item in answer.taken] == [1, 2, 1]
    assert len(quarantine_of(store, shop)) == 1
    assert verify(store).damage == ()


def test_a_body_changed_on_its_way_is_not_taken_for_the_entry(store: Store, shop: str) -> None:
    entry = Device().read("box_k", "38 F")
    broken = {**entry.wire(), "body": '{"place":"box_k","value":"88 F"}'}
    assert sync(store, shop, [broken]).taken[0].outcome == "quarantined"
    assert sync(store, shop, wires(entry)).taken[0].outcome == "kept"


def test_an_entry_that_breaks_a_rule_is_kept_and_told(store: Store, shop: str) -> None:
    entry = Device().enter("reading", {"place": "nowhere", "value": "5"})
    answer = sync(store, shop, wires(entry))
    assert answer.taken[0].outcome == "kept"
    assert [one.field for one in answer.unreadable[entry.id]] == ["place"]


@pytest.mark.parametrize("order", ["after", "before", "together"])
def test_redaction_drops_the_bytes_whenever_it_comes(store: Store, shop: str, order: str) -> None:
    ana = Device()
    note = ana.enter("note", {"text": "secret"})
    redaction = ana.enter("redaction", {"reason": "asked"}, 1, redacts=note.id)
    rounds = {
        "after": [[note], [redaction]],
        "before": [[redaction], [note]],
        "together": [[note, redaction]],
    }
    for entries in [*rounds[order], [note]]:
        sync(store, shop, wires(*entries))
    kept = {entry.id: entry for entry in log_of_call(store, shop, CALL).standing}
    assert kept[note.id].body is None
    assert kept[note.id].sha256 == note.sha256
    assert kept[redaction.id] == redaction
    assert verify(store).damage == ()


@pytest.mark.parametrize("order", ["after", "before", "together"])
def test_a_redaction_in_quarantine_redacts_all_the_same(store: Store, shop: str, order: str) -> None:
    ana = Device()
    note = ana.enter("note", {"text": "secret"})
    taken = ana.enter("note", {"text": "x"}, 1)
    redaction = ana.enter("redaction", {"reason": "asked"}, 2, redacts=note.id, id=taken.id)
    rounds = {
        "after": [[note], [redaction]],
        "before": [[redaction], [note]],
        "together": [[note, redaction]],
    }
    sync(store, shop, wires(taken))
    for entries in [*rounds[order], [note]]:
        sync(store, shop, wires(*entries))
    kept = {entry.id: entry.body for entry in log_of_call(store, shop, CALL).standing}
    assert kept == {note.id: None, taken.id: taken.body}
    assert verify(store).damage == ()


def test_redaction_reaches_the_quarantine(store: Store, shop: str) -> None:
    ana = Device()
    note = ana.enter("note", {"text": "fine"})
    other = ana.enter("note", {"text": "secret"}, id=note.id)
    sync(store, shop, wires(note, other))
    sync(store, shop, wires(ana.enter("redaction", {"reason": "asked"}, 1, redacts=note.id)))
    assert [entry and entry.body for entry, _, _ in quarantine_of(store, shop)] == [None]
    assert sync(store, shop, wires(other)).taken[0].outcome == "quarantined"
    assert [entry and entry.body for entry, _, _ in quarantine_of(store, shop)] == [None]
    assert verify(store).damage == ()


def test_amounts_are_not_redacted(store: Store, shop: str) -> None:
    ana = Device()
    amount = ana.enter("refrigerant", {"movement": "charged", "refrigerant": "R-448A", "amount": "2 lb"})
    sync(store, shop, wires(amount, ana.enter("redaction", {"reason": "asked"}, 1, redacts=amount.id)))
    assert amount in log_of_call(store, shop, CALL).standing
    assert verify(store).damage == ()


def test_a_photo_goes_with_the_last_entry_that_names_it(store: Store, shop: str) -> None:
    ana = Device()
    one, two = ana.enter("photo", photo_body(PHOTO)), ana.enter("photo", photo_body(PHOTO), 1)
    sync(store, shop, wires(one, two))
    upload(store, shop)
    path = store.folder / "photos" / shop / PHOTO_SHA[:2] / PHOTO_SHA
    sync(store, shop, wires(ana.enter("redaction", {"reason": "a face"}, 2, redacts=one.id)))
    assert path.exists()
    sync(store, shop, wires(ana.enter("redaction", {"reason": "a face"}, 3, redacts=two.id)))
    assert not path.exists()
    upload(store, shop)  # another phone that does not know yet
    assert not path.exists()
    assert verify(store).damage == ()


def test_a_photo_that_a_crash_left_behind_goes_at_the_next_start(store: Store, shop: str) -> None:
    ana = Device()
    one = ana.enter("photo", photo_body(PHOTO))
    sync(store, shop, wires(one, ana.enter("redaction", {"reason": "a face"}, 2, redacts=one.id)))
    path = store.folder / "photos" / shop / PHOTO_SHA[:2] / PHOTO_SHA
    path.parent.mkdir(parents=True)
    path.write_bytes(PHOTO)
    assert verify(store).damage == (f"photo {PHOTO_SHA}: was redacted and is still here",)
    drop_leftovers(store)
    assert verify(store).damage == ()


def test_missing_photos_are_named_until_they_are_here(store: Store, shop: str) -> None:
    entry = Device().enter("photo", photo_body(PHOTO))
    assert sync(store, shop, wires(entry)).missing_photos == [PHOTO_SHA]
    upload(store, shop)
    assert sync(store, shop, wires(entry)).missing_photos == []


def test_the_list_of_calls_follows_the_entries(store: Store, shop: str) -> None:
    ana = Device()
    opened = ana.enter("opened", {"name": "Warm", "unit": UNIT})
    made = ana.enter("temporary_made", {"what": "jumper", "where": "3 and 4"}, 1)
    sync(store, shop, wires(ana.read("box_k", "38 F", 2, call=OTHER_CALL), opened, made))
    assert [(row.id, row.unit, row.name, row.state) for row in calls(store, shop)] == [
        (OTHER_CALL, "", "", "open"), (CALL, UNIT, "Warm", "open"),
    ]  # fmt: skip
    sync(store, shop, wires(ana.enter("close", {"outcome": "mended"}, 3)))
    assert [row.state for row in calls(store, shop, UNIT)] == ["closed_over_temporary"]
    sync(store, shop, wires(ana.enter("temporary_restored", {"made": made.id}, 4)))
    sync(store, shop, wires(ana.enter("opened", {"name": "Warm again"}, 5, corrects=opened.id)))
    assert [(row.unit, row.name, row.state) for row in calls(store, shop)][1] == ("", "Warm again", "closed")


def test_clock_offsets_are_estimated_at_sync(new_store: Callable[..., Store]) -> None:
    store = new_store(now=lambda: START)
    shop = own_shop(store)
    ben = Device("ben-phone", "Ben", 2, ahead_min=-60.0)
    slow: datetime = START - timedelta(minutes=60)
    sync(store, shop, wires(ben.read("box_k", "38 F", 30)), device="ben-phone", device_clock=slow)
    sync(store, shop, wires(Device().read("box_k", "40 F", 10)), device="ana-phone", device_clock=START)
    told = story(log_of_call(store, shop, CALL), catalogue())
    assert [item.body["value"] for item in told.facts("reading")] == ["40 F", "38 F"]
    assert sync(store, shop).news.offsets["ben-phone"].seconds == pytest.approx(3600.0)


def test_an_unknown_cursor_says_restart(store: Store, shop: str) -> None:
    entries = visit()[:3]
    head = sync(store, shop, wires(*entries)).head
    assert not sync(store, shop, since=head).news.restart
    for cursor in (Cursor(head.sequence + 5, "f" * 64), Cursor(head.sequence, "f" * 64)):
        answer = sync(store, shop, since=cursor)
        assert answer.news.restart
        assert [entry for entry, _ in answer.news.entries] == entries


def test_shops_do_not_see_each_other(store: Store, shop: str) -> None:
    with store.database.writing() as connection:
        other = add_shop(connection, store.new_id(), "Other", store.stamp())
    entry = Device().read("box_k", "38 F")
    theirs = Device("x", "X", 9).read("box_k", "99 F", id=entry.id)
    sync(store, shop, wires(entry))
    assert sync(store, other, wires(theirs)).taken[0].outcome == "kept"
    assert [one for one, _ in sync(store, other).news.entries] == [theirs]
    assert log_of_call(store, shop, CALL).everything == (entry,)
    assert verify(store).damage == ()
    with pytest.raises(StoreError, match="2 shops"):
        own_shop(store)


def test_a_shop_that_is_not_there_is_said(store: Store) -> None:
    with pytest.raises(StoreError, match="no shop"):
        sync(store, "nobody", wires(Device().read("box_k", "38 F")))


def test_many_at_once(store: Store, shop: str) -> None:
    """Threads that send at once: each entry once, one unbroken chain of receipts."""
    sets = [[Device(f"phone-{n}", "A", n).read("box_k", f"{k} F", k) for k in range(3)] for n in range(1, 9)]
    threads = [threading.Thread(target=sync, args=(store, shop, wires(*entries))) for entries in sets * 2]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {entry.id for entry in log_of_call(store, shop, CALL).standing} == {
        entry.id for entries in sets for entry in entries
    }
    assert verify(store).damage == ()


def test_what_fails_half_way_leaves_nothing(new_store: Callable[..., Store]) -> None:
    class StopError(RuntimeError):
        """Stops at a point."""

    def stop(point: str) -> None:
        if point == "before commit":
            raise StopError

    store = new_store(at_point=stop)
    shop = own_shop(store)
    with pytest.raises(StopError):
        sync(store, shop, wires(*visit()))
    again = Store(store.folder, store.database)
    assert sync(again, shop).news.entries == []
    assert sync(again, shop, wires(*visit())).head.sequence == len(visit())


def test_everything_together(store: Store, shop: str) -> None:
    entries = fill(store, shop)
    verdict = verify(store)
    assert verdict.damage == ()
    assert verdict.counts["entries"] + verdict.counts["quarantine"] == len(entries) + 2
    assert verdict.counts["receipts"] == len(entries) + 2
