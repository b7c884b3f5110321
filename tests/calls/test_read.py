"""Reading a call: what it takes, what is refused, and everything wrong at once."""

from __future__ import annotations

import pytest

from calls.samples import call, call_text, reading
from holdcold.calls import read_call, read_call_document
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.evidence import (
    CheckEvidence,
    InstrumentBias,
    Override,
    RepairEvidence,
    SightingEvidence,
)
from holdcold.errors import InputError, InputErrors
from holdcold.quantities import ambient_pa_at


def problems(*entries: str, conditions: str = 'ambient = "95 F"') -> dict[str, InputError]:
    """Return what is wrong with a call by the field named."""
    with pytest.raises(InputErrors) as caught:
        call(*entries, conditions=conditions)
    return {problem.field: problem for problem in caught.value.problems}


def test_conditions() -> None:
    given = call(
        conditions='ambient = "95F"\nbox = "-4 C"\nstate = "Running"\nminutes_in_state = "1 h 5 min"\n'
        'supply_voltage = 208\ncomplaint = "not running"\nbox_trend = "rising"'
    ).conditions
    assert given.ambient_k == pytest.approx(308.15)
    assert given.box_k == pytest.approx(269.15)
    assert given.state == "running"
    assert given.minutes_in_state == pytest.approx(65.0)
    assert given.supply_v == 208.0
    assert given.complaint == "not_running"
    assert given.box_trend == "rising"


def test_an_empty_call_is_one() -> None:
    empty = call(conditions="")
    assert empty.conditions.state == "unknown"
    assert empty.conditions.ambient_k is None
    assert empty.readings == ()


def test_readings_keep_their_place_time_instrument_and_words() -> None:
    found = call(
        reading("discharge_pa", "212 psig", 'instrument = "gauge_analogue"\nat_minute = 4'),
        reading(
            "liquid-k condenser outlet", "98F", 'instrument = "clamp_thermocouple 2"\nnote = "in the sun"'
        ),
        reading("compressor_a", "7.4"),
    ).readings
    assert [one.number for one in found] == [1, 2, 3]
    assert found[0].value_si == pytest.approx(101_325.0 + 212 * 6894.757, abs=1.0)
    assert (found[0].instrument_class, found[0].instrument_id) == ("gauge_analogue", "gauge_analogue")
    assert found[0].at_minute == 4.0
    assert found[1].place == "liquid_k_condenser_outlet"
    assert (found[1].instrument_class, found[1].instrument_id) == (
        "clamp_thermocouple",
        "clamp_thermocouple 2",
    )
    assert found[1].typed == "98F"
    assert found[1].note == "in the sun"
    assert found[2].value_si == 7.4
    assert (found[2].instrument_class, found[2].instrument_id) == (None, None)


def test_a_bare_number_in_the_file_is_a_reading_where_there_is_one_usual_unit() -> None:
    entry = '[[reading]]\nplace = "compressor_a"\nvalue = 7.4'
    assert call(entry).readings[0].value_si == 7.4
    assert (
        "unit"
        in problems('[[reading]]\nplace = "discharge_pa"\nvalue = 212')["reading 1: discharge_pa"].advice
    )


def test_gauge_pressures_count_from_the_air_at_the_unit() -> None:
    """Source: ISO 2533 standard atmosphere through ``ambient_pa_at``; a gauge reads against its own air."""
    high = ambient_pa_at(1524.0)
    found = call(reading("suction_pa_service_valve", "20 psig"), ambient_pa=high).readings[0]
    assert found.value_si - high == pytest.approx(20 * 6894.757, abs=1.0)


def test_sightings_checks_repairs_overrides_biases() -> None:
    found = call(
        '[[sighting]]\nid = "evaporator_fans"\nseen = "some stopped"',
        '[[sighting]]\nid = "proved_dead"\nseen = true',
        '[[sighting]]\nid = "coil_ice"\nseen = "not looked"',
        '[[check]]\nid = "unit_walk_round"\noutcome = "done"',
        '[[check]]\nid = "gauges"\noutcome = "not now"\nreason = "no ports"',
        '[[repair]]\nfault = "condenser_dirty"\noutcome = "symptom_stays"',
        '[[override]]\nguard = "airflow_first"\nreason = "coil seen clear from the door"',
        '[[bias]]\ninstrument = "clamp_thermocouple 2"\noffset = "1.8 F"\nnote = "ice bath"',
    )
    assert found.sightings == (
        SightingEvidence("evaporator_fans", "some_stopped"),
        SightingEvidence("proved_dead", "yes"),
    )
    assert found.checks == (
        CheckEvidence("unit_walk_round", "done"),
        CheckEvidence("gauges", "not_now", "no ports"),
    )
    assert found.repairs == (RepairEvidence("condenser_dirty", "symptom_stays"),)
    assert found.overrides == (Override("airflow_first", "coil seen clear from the door"),)
    (bias,) = found.biases
    assert isinstance(bias, InstrumentBias)
    assert (bias.instrument_id, bias.dimension, bias.note) == (
        "clamp_thermocouple 2",
        "temperature",
        "ice bath",
    )
    assert bias.offset_si == pytest.approx(1.0)


def test_every_problem_is_told_at_once_with_its_entry() -> None:
    found = problems(
        reading("dischrge_pa", "212 psig"),
        reading("discharge_pa", "212"),
        reading("box_k", "-500 F"),
        reading("box_k", "38 F", 'instrument = "clamp_thermocuple"'),
        '[[reading]]\nplace = "box_k"',
        '[[sighting]]\nid = "coil_ice"\nseen = "icedd"',
        '[[check]]\nid = "gauges"\noutcome = "not_now"',
        '[[repair]]\nfault = "condenser_dirtyy"\noutcome = "fixed"',
        '[[override]]\nguard = "airflow_first"\nreason = " "',
        '[[raeding]]\nplace = "box_k"',
        conditions='ambient = "95"\nstat = "running"',
    )
    assert set(found) == {
        "reading 1: place", "reading 2: discharge_pa", "reading 3: box_k", "reading 4: instrument",
        "reading 5: value", "sighting 1: coil_ice.seen", "check 1: gauges.reason", "repair 1: fault",
        "override 1: reason", "key or section", "conditions.ambient", "key in [conditions]",
    }  # fmt: skip
    assert "discharge_pa" in found["reading 1: place"].advice
    assert "absolute zero" in found["reading 3: box_k"].allowed
    assert "clamp_thermocouple" in found["reading 4: instrument"].advice
    assert "reading" in found["key or section"].advice
    assert "iced" in found["sighting 1: coil_ice.seen"].advice


def test_a_list_written_as_a_section_is_told() -> None:
    found = problems('[reading]\nplace = "box_k"\nvalue = "38 F"')
    assert "[[reading]]" in found["reading"].advice


def test_a_call_from_json_is_the_same_call() -> None:
    document = {
        "schema": 1,
        "conditions": {"ambient": "95 F", "state": "running"},
        "reading": [{"place": "discharge_pa", "value": "212 psig"}],
    }
    text = call_text(reading("discharge_pa", "212 psig"), conditions='ambient = "95 F"\nstate = "running"')
    assert read_call_document(document, catalogue=catalogue()) == read_call(text, catalogue=catalogue())


def test_schema_is_needed() -> None:
    with pytest.raises(InputErrors) as caught:
        read_call("[conditions]\n", catalogue=catalogue())
    assert [problem.field for problem in caught.value.problems] == ["schema"]


@pytest.mark.parametrize("day", ['"2026-11-25"', "2026-11-25"])
def test_a_day_stands_with_or_without_quotes(day: str) -> None:
    told = read_call(f"date = {day}\n" + call_text(), catalogue=catalogue())
    assert told.date == "2026-11-25"


@pytest.mark.parametrize("day", ["25.11.2026", "2026-02-30", "yesterday"])
def test_a_day_that_is_none(day: str) -> None:
    with pytest.raises(InputErrors) as caught:
        read_call(f'date = "{day}"\n' + call_text(), catalogue=catalogue())
    assert [problem.field for problem in caught.value.problems] == ["date"]


def test_nothing_is_proved_good_unless_said() -> None:
    assert not call().conditions.proved_good
    assert call(conditions="proved_good = true").conditions.proved_good
    with pytest.raises(InputErrors):
        call(conditions='proved_good = "yes"')
