"""A log gives the diagnosis the same evidence as the call file that says the same."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calls.entry_samples import Device, told
from holdcold.calls import evidence, read_call
from holdcold.calls.entries import Entry, call_document, evidence_of, log_of
from holdcold.cards import Resolved, read_card, resolve
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.find import find

EXAMPLES = Path(__file__).parents[2] / "examples"
CALLS = sorted(path.stem for path in EXAMPLES.glob("call-*.toml"))


def unit_of(document: dict[str, Any]) -> Resolved:
    """Return the unit a call file speaks of."""
    return resolve(read_card((EXAMPLES / document["card"]).read_text(encoding="utf-8")))


def entered(document: dict[str, Any]) -> list[Entry]:
    """Return the entries somebody makes who enters what a call file says, all at its minutes."""
    ana = Device()
    given = document["conditions"]
    minutes = [float(row.get("at_minute", 0)) for row in document.get("reading", [])]
    start = min(minutes, default=0.0)
    made = [ana.enter("opened", {"name": document["name"]})]
    if "complaint" in given:
        made.append(ana.enter("complaint", {"complaint": given["complaint"]}))
    for place, key in (("condenser_air_in_k", "ambient"), ("box_k", "box"), ("supply_v", "supply_voltage")):
        if key in given:
            made.append(ana.read(place, given[key], start))
    for row, minute in zip(document.get("reading", []), minutes, strict=True):
        kept = {key: value for key, value in row.items() if key != "at_minute"}
        made.append(ana.enter("reading", kept, minute))
    made += [ana.enter("sighting", row, 90) for row in document.get("sighting", [])]
    made += [ana.enter("check", {**row}, 90) for row in document.get("check", [])]
    made += [ana.enter("work", {"what": "x", **row}, 90) for row in document.get("repair", [])]
    made += [ana.enter("override", row, 90) for row in document.get("override", [])]
    made += [ana.enter("instrument", row, 90) for row in document.get("bias", [])]
    state = {key: given[key] for key in ("state", "minutes_in_state", "box_trend") if key in given}
    made.append(ana.enter("state", state, max(minutes, default=0.0)))
    return made


@pytest.mark.parametrize("name", CALLS)
def test_the_same_facts_give_the_same_evidence(name: str) -> None:
    text = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    document = tomllib.loads(text)
    unit = unit_of(document)
    call = read_call(text, catalogue=catalogue(), ambient_pa=unit.card.ambient_pa)
    expected = evidence(call, unit.design.supply_v)
    found = evidence_of(log_of(entered(document)), unit)
    assert found.situation == expected.situation
    assert (found.sightings, found.checks) == (expected.sightings, expected.checks)
    assert (found.repairs, found.overrides, found.biases) == (
        expected.repairs, expected.overrides, expected.biases,
    )  # fmt: skip
    conditions = len(found.readings) - len(expected.readings)
    start = min((one.at_minute or 0.0 for one in expected.readings), default=0.0)
    for one, other in zip(found.readings[conditions:], expected.readings, strict=True):
        assert (one.place, one.value_si, one.instrument_id) == (
            other.place,
            other.value_si,
            other.instrument_id,
        )
        assert one.at_minute == pytest.approx((other.at_minute or 0.0) - start)


def test_find_runs_on_a_log() -> None:
    text = (EXAMPLES / "call-dirty-condenser.toml").read_text(encoding="utf-8")
    document = tomllib.loads(text)
    unit = unit_of(document)
    finding = find(unit, evidence_of(log_of(entered(document)), unit))
    file = read_call(text, catalogue=catalogue(), ambient_pa=unit.card.ambient_pa)
    expected = find(unit, evidence(file, unit.design.supply_v)).chances.suspects
    assert finding.chances.suspects[0].fault == "condenser_dirty"
    assert [one.fault for one in finding.chances.suspects[:3]] == [one.fault for one in expected[:3]]


@given(st.randoms(use_true_random=False))
def test_the_order_of_delivery_does_not_matter(random: Any) -> None:
    document = tomllib.loads((EXAMPLES / "call-low-charge.toml").read_text(encoding="utf-8"))
    entries = entered(document)
    expected = call_document(told(*entries))
    random.shuffle(entries)
    assert call_document(told(*entries)) == expected


def test_only_facts_become_evidence() -> None:
    ana = Device()
    wrong = ana.read("box_k", "83 F", 1)
    entries = [
        wrong,
        ana.read("box_k", "38 F", 5, corrects=wrong.id),
        ana.enter("reading", {"place": "box_k", "value": "warm"}, 6),
        ana.enter("reading", {"place": "discharge_pa", "value": "200 psig", "stage": "left"}, 7),
        ana.enter("work", {"what": "swept the floor"}, 8),
        ana.enter("sighting", {"id": "coil_ice", "seen": "not_looked"}, 9),
    ]
    document = call_document(told(*entries))
    assert document["reading"] == [{"place": "box_k", "value": "38 F", "at_minute": 0.0}]
    assert "repair" not in document
    left = call_document(told(*entries), "left")
    assert [row["place"] for row in left["reading"]] == ["discharge_pa"]  # type: ignore[attr-defined]
    unit = unit_of({"card": "cheese-cooler.toml"})
    assert evidence_of(log_of(entries), unit).sightings == ()


def test_time_in_a_state_goes_on_with_the_readings() -> None:
    ana = Device()
    entries = [
        ana.read("box_k", "38 F", 0),
        ana.enter("state", {"state": "running", "minutes_in_state": 5}, 2),
        ana.read("box_k", "38 F", 20),
    ]
    conditions = call_document(told(*entries))["conditions"]
    assert conditions == {"state": "running", "minutes_in_state": 23.0}


def test_a_clock_that_jumps_back_stops_time() -> None:
    ana = Device()
    entries = [ana.read("box_k", "38 F", 10), ana.read("box_k", "38 F", 20), ana.read("box_k", "38 F", 12)]
    rows = call_document(told(*entries))["reading"]
    assert [row["at_minute"] for row in rows] == [0.0, 10.0, 10.0]  # type: ignore[attr-defined]
