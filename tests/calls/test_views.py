"""What a person sees of a log: corrections, the ledger, what is open, time on site, what is proved."""

from __future__ import annotations

import pytest

from calls.entry_samples import UNIT, Device, moment, told
from holdcold.calls.entries import (
    call_state,
    latest_readings,
    ledger,
    log_of,
    open_temporary,
    time_on_site,
    timeline,
    totals,
    what_is_proved,
    why_not_closed,
)
from holdcold.diagnosis.catalogue import catalogue

POUND_KG = 0.45359237  # NIST SP 811 (2008), appendix B.8: pound (avoirdupois)
CHARGED = {"movement": "charged", "refrigerant": "R-448A", "amount": "2 lb", "cylinder": "C-17"}
DRY = {"what": "proof", "text": "dry", "engine": "0"}
JUMPER = {"what": "jumper", "where": "terminals 3 and 4"}


def values(*entries: object) -> list[str]:
    """Return the values of the readings that count."""
    return [item.body["value"] for item in told(*entries).facts("reading")]  # type: ignore[arg-type]


def test_a_correction_counts_and_the_old_one_stays_in_sight() -> None:
    ana = Device()
    wrong = ana.read("box_k", "83 F", 1)
    right = ana.read("box_k", "38 F", 2, corrects=wrong.id)
    assert values(right, wrong) == ["38 F"]
    first, second = told(wrong, right).items
    assert (first.status, first.corrected_by, first.counts) == ("corrected", (right.id,), False)
    assert (second.status, second.root, second.fact_s) == ("stands", wrong.id, first.at_s)


def test_two_corrections_are_both_shown_and_the_last_counts() -> None:
    ana, ben = Device(), Device("ben-phone", "Ben", 2)
    wrong = ana.read("box_k", "83 F", 1)
    ben.look_at(ana)
    one, two = (
        ana.read("box_k", "38 F", 2, corrects=wrong.id),
        ben.read("box_k", "39 F", 3, corrects=wrong.id),
    )
    story = told(two, wrong, one)
    assert [(item.status, item.rivals) for item in story.items[1:]] == [
        ("stands", (two.id,)), ("stands", (one.id,)),
    ]  # fmt: skip
    assert values(two, wrong, one) == ["39 F"]
    shown = [point.subject for point in what_is_proved(story, catalogue()).not_proved]
    assert shown == ["entry reading"]


def test_a_correction_of_a_correction() -> None:
    ana = Device()
    wrong = ana.read("box_k", "83 F", 1)
    better = ana.read("box_k", "36 F", 2, corrects=wrong.id)
    best = ana.read("box_k", "38 F", 3, corrects=better.id)
    assert values(best, better, wrong) == ["38 F"]
    assert values(best, wrong) == ["83 F", "38 F"]  # until the one between arrives, both are facts


def test_a_withdrawn_entry_counts_for_nothing() -> None:
    ana = Device()
    wrong = ana.read("box_k", "83 F", 1)
    away = ana.enter("withdrawal", {"reason": "other box"}, 2, corrects=wrong.id)
    assert values(wrong, away) == []
    assert [item.status for item in told(wrong, away).items] == ["withdrawn", "stands"]


def test_a_redacted_correction_still_says_not_so() -> None:
    ana = Device()
    wrong = ana.read("box_k", "83 F", 1)
    right = ana.read("box_k", "38 F", 2, corrects=wrong.id)
    gone = ana.enter("redaction", {"reason": "x"}, 3, redacts=right.id)
    assert values(wrong, right, gone) == []


def test_a_correction_of_another_kind_corrects_nothing() -> None:
    ana = Device()
    reading = ana.read("box_k", "83 F", 1)
    note = ana.enter("note", {"text": "x"}, 2, corrects=reading.id)
    assert values(reading, note) == ["83 F"]
    assert [one.field for one in told(reading, note).items[1].problems] == ["corrects"]


def test_the_ledger_counts_in_and_out() -> None:
    ana = Device()
    story = told(
        ana.enter("refrigerant", CHARGED, 1),
        ana.enter("refrigerant", {**CHARGED, "movement": "recovered", "amount": "0.5 lb"}, 2),
        ana.enter("refrigerant", {**CHARGED, "movement": "removed_for_disposal", "amount": "9 lb"}, 3),
        ana.enter("oil", {"movement": "added", "oil": "POE 32", "amount": "250 mL"}, 4),
    )
    found = totals(ledger(story))
    assert found == {
        ("refrigerant", "R-448A"): pytest.approx(1.5 * POUND_KG), ("oil", "POE 32"): pytest.approx(250e-6),
    }  # fmt: skip


def test_an_amount_is_taken_back_once_and_stays_in_sight() -> None:
    ana, ben = Device(), Device("ben-phone", "Ben", 2)
    wrong = ana.enter("refrigerant", CHARGED, 1)
    back = {"reverses": wrong.id, "reason": "wrong cylinder"}
    lines = ledger(
        told(
            wrong,
            ana.enter("refrigerant", back, 2),
            ben.enter("refrigerant", back, 3),
            ben.enter("refrigerant", {**CHARGED, "amount": "1 lb"}, 4),
            ben.enter("refrigerant", {"reverses": UNIT, "reason": "gone"}, 5),
        )
    )
    assert [line.movement for line in lines] == ["charged", "reversal", "reversal", "charged", "reversal"]
    assert lines[0].reversed_by == lines[1].item.entry.id
    assert [bool(line.note) for line in lines] == [False, False, True, False, True]
    assert totals(lines) == {("refrigerant", "R-448A"): pytest.approx(1.0 * POUND_KG)}


def test_a_reversal_takes_back_only_its_own_kind() -> None:
    ana = Device()
    oil = ana.enter("oil", {"movement": "added", "amount": "1 L"}, 1)
    lines = ledger(told(oil, ana.enter("refrigerant", {"reverses": oil.id, "reason": "x"}, 2)))
    assert totals(lines) == {("oil", "not named"): pytest.approx(1e-3)}
    assert lines[1].note


@pytest.mark.parametrize("act", ["corrects", "withdrawal"])
def test_an_amount_is_never_corrected_whatever_arrives(act: str) -> None:
    ana = Device()
    right = ana.enter("refrigerant", CHARGED, 1)
    if act == "corrects":
        later = ana.enter("refrigerant", {**CHARGED, "amount": "0 lb"}, 2, corrects=right.id)
    else:
        later = ana.enter("withdrawal", {"reason": "x"}, 2, corrects=right.id)
    assert totals(ledger(told(right, later))) == {("refrigerant", "R-448A"): pytest.approx(2 * POUND_KG)}


def test_a_call_cannot_close_over_a_temporary_state() -> None:
    ana = Device()
    made = ana.enter("temporary_made", JUMPER, 1)
    assert [problem.value for problem in why_not_closed(told(made))] == [made.id]
    assert "terminals 3 and 4" in why_not_closed(told(made))[0].advice
    close = ana.enter("close", {"outcome": "mended"}, 2)
    assert call_state(told(made, close)) == "closed_over_temporary"
    undone = ana.enter("temporary_restored", {"made": made.id}, 3)
    assert call_state(told(made, close, undone)) == "closed"
    assert why_not_closed(told(made, undone)) == ()
    assert call_state(told(made, undone)) == "open"


def test_a_temporary_state_outlives_its_words() -> None:
    ana = Device()
    made = ana.enter("temporary_made", JUMPER, 1)
    gone = ana.enter("redaction", {"reason": "a name in it"}, 2, redacts=made.id)
    garbled = ana.enter("temporary_made", {"what": "jumper"}, 3)
    newer = ana.enter("temporary_made", {"x": 1}, 4, schema=2)
    found = [item.entry.id for item in open_temporary(told(made, gone, garbled, newer))]
    assert found == [made.id, garbled.id, newer.id]
    assert len(why_not_closed(told(made, gone, garbled, newer))) == 3


def test_a_corrected_temporary_state_is_one_state() -> None:
    ana = Device()
    made = ana.enter("temporary_made", JUMPER, 1)
    better = ana.enter("temporary_made", {**JUMPER, "where": "5 and 6"}, 2, corrects=made.id)
    assert len(open_temporary(told(made, better))) == 1
    for named in (made, better):
        undone = ana.enter("temporary_restored", {"made": named.id}, 3)
        assert open_temporary(told(made, better, undone)) == ()
    away = ana.enter("withdrawal", {"reason": "never done"}, 4, corrects=better.id)
    assert open_temporary(told(made, better, away)) == ()


def test_time_on_site_takes_breaks_off() -> None:
    ana, ben = Device(), Device("ben-phone", "Ben", 2)
    marks = [("arrived", 0), ("break_started", 60), ("break_ended", 90), ("left_site", 200)]
    entries = [ana.enter("time", {"what": what, "when": moment(at)}, 300) for what, at in marks]
    entries.append(ben.enter("time", {"what": "arrived", "when": moment(10)}))
    mine, his = time_on_site(told(*entries))
    assert (mine.author, mine.minutes, mine.break_minutes, mine.open) == ("Ana", 170.0, 30.0, False)
    assert (his.author, his.minutes, his.open) == ("Ben", 0.0, True)


@pytest.mark.parametrize(
    ("second", "minute", "expected"),
    [("38.1 F", 10, "steady"), ("48 F", 10, "rising"), ("28 F", 10, "falling"), ("48 F", 1, "once"),
     ("48 F", 60, "once")],
)  # fmt: skip
def test_the_latest_reading_says_whether_it_settled(second: str, minute: float, expected: str) -> None:
    ana = Device()
    story = told(ana.read("box_k", "38 F", 0), ana.read("box_k", second, minute))
    (latest,) = latest_readings(story, catalogue())
    assert (latest.steadiness, latest.count, latest.item.body["value"]) == (expected, 2, second)


def test_gauges_count_from_the_air_of_the_place() -> None:
    story = told(Device().read("discharge_pa", "0 psig"))
    assert latest_readings(story, catalogue(), 84_000.0)[0].value_si == pytest.approx(84_000.0)


def test_found_and_left_are_told_apart() -> None:
    ana = Device()
    found = ana.read("box_k", "50 F", 0)
    left = ana.enter("reading", {"place": "box_k", "value": "38 F", "stage": "left"}, 60)
    story = told(found, left)
    for stage, entry in (("found", found), ("left", left), ("", left)):
        assert latest_readings(story, catalogue(), stage=stage)[0].item.entry == entry


def test_what_is_proved_and_what_is_not() -> None:
    ana = Device()
    entries = [
        ana.read("box_k", "50 F", 0),
        ana.read("discharge_pa", "300 psig", 1),
        ana.enter("check", {"id": "condenser_air", "outcome": "done"}, 2),
        ana.enter("check", {"id": "gauges", "outcome": "not_now", "reason": "no ports"}, 3),
        ana.enter("work", {"what": "washed", "fault": "condenser_dirty", "outcome": "fixed"}, 4),
        ana.enter("work", {"what": "new motor", "fault": "evaporator_fan_stopped"}, 5),
        ana.enter("reading", {"place": "discharge_pa", "value": "220 psig", "stage": "left"}, 30),
        ana.enter("conclusion", {"what": "proof", "text": "holds", "verdict": "pass", "engine": "0"}, 31),
        ana.enter(
            "conclusion", {**DRY, "verdict": "not_shown_yet"}, 32
        ),
        ana.enter("follow_up", {"what": "fit the door closer"}, 33),
        ana.enter("temporary_made", JUMPER, 34),
        ana.enter("note", "garbled", 35),
        ana.enter("from_the_future", {}, 36),
    ]
    proof = what_is_proved(told(*entries), catalogue())
    assert [point.subject for point in proof.proved] == [
        "check condenser_air",
        "work condenser_dirty",
        "proof",
    ]
    assert [point.subject for point in proof.not_proved] == [
        "check gauges", "work evaporator_fan_stopped", "proof", "reading box_k", "follow-up",
        "temporary state",
        "entry note", "entry from_the_future",
    ]  # fmt: skip
    assert all(point.because and point.words for point in (*proof.proved, *proof.not_proved))


def test_a_follow_up_done_is_no_longer_open() -> None:
    ana = Device()
    due = ana.enter("follow_up", {"what": "fit the motor"}, 1)
    done = ana.enter("follow_up", {"what": "fitted", "done": due.id}, 2)
    assert what_is_proved(told(due, done), catalogue()).not_proved == ()


def test_the_timeline_says_each_entry_in_words() -> None:
    ana = Device()
    lines = timeline(told(ana.read("box_k", "50 F", 0), ana.enter("note", {"text": "warm"}, 1)))
    assert [(line.kind, line.words) for line in lines] == [("reading", "box_k, 50 F"), ("note", "warm")]


def test_an_empty_log_has_views() -> None:
    story = told(log=log_of([]))
    assert (timeline(story), ledger(story), time_on_site(story), call_state(story)) == ((), (), (), "open")
