"""Any order, any duplication, any partial delivery ends in the same log, and nothing entered is lost."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from calls.entry_samples import CALL, OTHER_CALL, Device, told
from holdcold.calls.entries import ClockOffset, Entry, Log, Story, log_of, merge, ordered, story, timeline
from holdcold.diagnosis.catalogue import catalogue

BODIES: dict[str, list[Any]] = {
    "reading": [
        {"place": "box_k", "value": "38 F"},
        {"place": "discharge_pa", "value": "212 psig"},
        {"x": 1},
    ],
    "note": [{"text": "a"}, {"text": "b"}, "not JSON"],
    "refrigerant": [{"movement": "charged", "refrigerant": "R-448A", "amount": "2 lb"}],
    "temporary_made": [{"what": "jumper", "where": "3 and 4"}],
    "from_the_future": [{"anything": [1]}],
}


@st.composite
def visits(draw: st.DrawFn, *, clashes: bool = True) -> list[Entry]:
    """Return entries of three devices on one call: corrections, withdrawals, redactions, ids used twice."""
    acts = ["new", "new", "correct", "withdraw", "redact", *(["clash"] if clashes else [])]
    devices = [Device(f"phone-{n}", "Ana", n, draw(st.sampled_from([0, 60, -45]))) for n in range(3)]
    made: list[Entry] = []
    for step in range(draw(st.integers(1, 12))):
        device = draw(st.sampled_from(devices))
        if draw(st.booleans()):
            device.look_at(draw(st.sampled_from(devices)))
        minute = draw(st.integers(0, 5)) + step
        act = draw(st.sampled_from(acts))
        kind = draw(st.sampled_from(sorted(BODIES)))
        body = draw(st.sampled_from(BODIES[kind]))
        target = draw(st.sampled_from(made)) if made else None
        if act == "new" or target is None:
            made.append(device.enter(kind, body, minute))
        elif act == "correct":
            made.append(device.enter(target.kind, body, minute, corrects=target.id))
        elif act == "withdraw":
            made.append(device.enter("withdrawal", {"reason": "no"}, minute, corrects=target.id))
        elif act == "redact":
            made.append(device.enter("redaction", {"reason": "asked"}, minute, redacts=target.id))
        else:
            made.append(device.enter(kind, body, minute, id=target.id))
    return made


def same(one: Log, other: Log) -> bool:
    """Say whether two logs hold the same entries, bodies, receipts and offsets."""
    return (
        {entry.sha256: entry.body for entry in one.everything}
        == {entry.sha256: entry.body for entry in other.everything}
        and dict(one.receipts) == dict(other.receipts)
        and dict(one.offsets) == dict(other.offsets)
    )


def in_words(found: Story) -> list[object]:
    """Return a story so that it compares by value, problems included."""
    return [(vars(item) | {"problems": [str(one) for one in item.problems]}) for item in found.items]


@given(visits(), st.data())
def test_any_delivery_converges(entries: list[Entry], data: st.DataObject) -> None:
    whole = log_of(entries)
    shuffled = data.draw(st.permutations(entries))
    pieces = [log_of([])]
    rest = list(shuffled)
    while rest:
        size = data.draw(st.integers(1, len(rest)))
        repeats = data.draw(st.lists(st.sampled_from(entries), max_size=3))
        pieces.append(log_of([*rest[:size], *repeats]))
        rest = rest[size:]
    step_by_step = pieces[0]
    for piece in pieces[1:]:
        step_by_step = merge(step_by_step, piece, step_by_step)
    at_once = merge(*reversed(pieces))
    assert same(step_by_step, whole)
    assert same(at_once, whole)
    assert [e.sha256 for e in ordered(at_once)] == [e.sha256 for e in ordered(whole)]
    book = catalogue()
    assert in_words(story(step_by_step, book)) == in_words(story(whole, book))


@given(visits(), visits(), visits())
def test_merge_is_a_union(one: list[Entry], two: list[Entry], three: list[Entry]) -> None:
    a, b, c = log_of(one), log_of(two), log_of(three)
    assert same(merge(a, b), merge(b, a))
    assert same(merge(merge(a, b), c), merge(a, merge(b, c)))
    assert same(merge(a, a), a)


@given(visits())
def test_nothing_entered_is_ever_lost(entries: list[Entry]) -> None:
    log = log_of(entries)
    assert {entry.sha256 for entry in log.everything} == {entry.sha256 for entry in entries}
    lines = timeline(story(log, catalogue()))
    assert sorted(line.item.entry.sha256 for line in lines) == sorted({entry.sha256 for entry in entries})
    redacted = {entry.redacts for entry in entries if entry.kind == "redaction"}
    for entry in log.everything:
        assert entry.body is not None or entry.id in redacted
        original = next(one for one in entries if one.sha256 == entry.sha256)
        assert entry.body in (original.body, None)


@given(visits(clashes=False))
def test_what_was_seen_comes_first(entries: list[Entry]) -> None:
    log = ordered(log_of(entries))
    place = {entry.id: number for number, entry in enumerate(log)}
    for entry in log:
        for other in log:
            known = entry.counter if other.device == entry.device else entry.seen.get(other.device, 0) + 1
            if other.counter < known and other.id != entry.id:
                assert place[other.id] < place[entry.id]


@given(visits())
def test_a_contested_entry_never_counts_twice(entries: list[Entry]) -> None:
    counted = [item.root for item in told(*entries).items if item.counts]
    assert len(counted) == len(set(counted))


def test_clocks_an_hour_apart() -> None:
    ana, ben = Device("ana-phone", "Ana"), Device("ben-phone", "Ben", 2, ahead_min=-60.0)
    first = ana.read("box_k", "40 F", 10)
    ben.look_at(ana)
    second = ben.read("box_k", "39 F", 12)
    alone = ben.read("box_k", "38 F", 14)
    ana.look_at(ben)
    last = ana.read("box_k", "37 F", 16)
    expected = [first, second, alone, last]
    assert list(ordered(log_of(reversed(expected)))) == expected


def test_corrected_clocks_decide_where_nothing_was_seen() -> None:
    ana, ben = Device("ana-phone", "Ana"), Device("ben-phone", "Ben", 2, ahead_min=-60.0)
    early, late = ana.read("box_k", "40 F", 10), ben.read("box_k", "38 F", 30)
    assert list(ordered(log_of([early, late]))) == [late, early]
    offsets = {"ben-phone": ClockOffset(1, 3600.0)}
    assert list(ordered(log_of([early, late], offsets=offsets))) == [early, late]


def test_devices_that_claim_to_have_seen_the_future_are_put_in_some_order() -> None:
    ana, ben = Device("ana-phone"), Device("ben-phone", "Ben", 2)
    first = ana.read("box_k", "40 F", 1, seen={"ben-phone": 1})
    second = ben.read("box_k", "41 F", 2, seen={"ana-phone": 1})
    mutual = [first, second]
    assert list(ordered(log_of(mutual))) == list(ordered(log_of(reversed(mutual)))) == mutual


def test_a_device_set_back_to_an_old_copy_uses_counters_twice() -> None:
    ana = Device()
    one = ana.read("box_k", "40 F", 1)
    ana.counter = 0
    two = ana.read("box_k", "41 F", 2, id=one.id[:-1] + ("0" if one.id[-1] != "0" else "1"))
    three = ana.read("box_k", "42 F", 3)
    assert set(log_of([three, two, one]).standing) == {one, two, three}
    assert ordered(log_of([three, two, one]))[-1] == three


def clash() -> tuple[Entry, Entry]:
    """Return two entries with one id."""
    one = Device().read("box_k", "38 F")
    return one, Device("ben-phone", "Ben", 2).read("box_k", "88 F", id=one.id)


def test_the_one_received_first_stands() -> None:
    one, two = clash()
    for first, second in ((one, two), (two, one)):
        log = log_of([one, two], {second.sha256: 9, first.sha256: 4})
        assert (log.standing, log.quarantined) == ((first,), (second,))
        merged = merge(log_of([two]), log_of([one]), log_of([], {first.sha256: 4}))
        assert merged.standing == (first,)


def test_the_other_one_is_shown() -> None:
    items = told(*clash()).items
    assert sorted(item.status for item in items) == ["quarantined", "stands"]
    assert items[-1].problems[0].field == "id"


def test_a_body_comes_back_when_only_a_copy_lost_it() -> None:
    entry = Device().read("box_k", "38 F")
    assert merge(log_of([entry.without_body()]), log_of([entry])).standing == (entry,)
    assert log_of([entry.without_body(), entry]).standing == (entry,)


def test_redaction_drops_the_bytes_and_keeps_hash_and_reason() -> None:
    ana = Device()
    entry = ana.enter("note", {"text": "her telephone number"})
    redaction = ana.enter("redaction", {"reason": "a private number"}, 1, redacts=entry.id)
    log = merge(log_of([entry]), log_of([redaction]), log_of([entry]))
    kept, why = ordered(log)
    assert (kept.body, kept.sha256) == (None, entry.sha256)
    assert why.body == redaction.body
    assert [item.status for item in told(log=log).items] == ["redacted", "stands"]


def test_amounts_and_redactions_and_other_calls_are_not_redacted() -> None:
    ana = Device()
    amount = ana.enter("refrigerant", BODIES["refrigerant"][0])
    redaction = ana.enter("redaction", {"reason": "x"}, 1, redacts=amount.id)
    second = ana.enter("redaction", {"reason": "x"}, 2, redacts=redaction.id)
    foreign = ana.enter("note", {"text": "x"}, 3, call=OTHER_CALL)
    third = ana.enter("redaction", {"reason": "x"}, 4, redacts=foreign.id)
    log = log_of([amount, redaction, second, foreign, third])
    assert all(entry.body is not None for entry in log.standing)
    wrong = [item.entry.id for item in told(log=log).items if item.problems]
    assert wrong == [redaction.id, second.id, third.id]


def test_one_call_out_of_many() -> None:
    ana = Device()
    here, there = ana.read("box_k", "38 F"), ana.read("box_k", "39 F", call=OTHER_CALL)
    assert log_of([here, there]).of_call(CALL).standing == (here,)
