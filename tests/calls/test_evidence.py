"""Evidence of a call is its entries, raw, with the conditions filled from readings where nobody gave them."""

from __future__ import annotations

import pytest

from calls.samples import CONDITIONS, call, reading
from holdcold.calls import call_schema, evidence, situation
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.evidence import COMPLAINTS, STATES, ReadingEvidence


def test_readings_stay_raw_and_in_order() -> None:
    found = evidence(
        call(
            reading("suction_pa_service_valve", "20 psig", "at_minute = 3"),
            reading("suction_k_compressor_inlet", "30 F", 'instrument = "clamp_thermocouple 1"'),
            reading("suction_pa_service_valve", "21 psig"),
        )
    )
    assert [one.place for one in found.readings] == [
        "suction_pa_service_valve", "suction_k_compressor_inlet", "suction_pa_service_valve",
    ]  # fmt: skip
    assert found.readings[0].at_minute == 3.0
    assert found.readings[1] == ReadingEvidence(
        "suction_k_compressor_inlet",
        found.readings[1].value_si,
        "clamp_thermocouple 1",
        None,
        "clamp_thermocouple",
    )


def test_measured_supply_becomes_a_ratio() -> None:
    low = situation(call(conditions=CONDITIONS + '\nsupply_voltage = "207 V"'), 230.0)
    assert low.supply_ratio == pytest.approx(0.9)
    assert low.supply_measured
    assert situation(call(reading("supply_v", "218.5 V")), 230.0).supply_ratio == pytest.approx(0.95)
    unknown = situation(call(), 230.0)
    assert (unknown.supply_ratio, unknown.supply_measured) == (1.0, False)


def test_a_reading_stands_in_for_a_condition_left_out() -> None:
    found = situation(
        call(
            reading("condenser_air_in_k", "92 F"),
            reading("coil_air_in_k", "40 F"),
            conditions='state = "running"',
        )
    )
    assert found.ambient_k is not None
    assert found.box_k is not None
    assert found.ambient_k * 1.8 - 459.67 == pytest.approx(92.0)
    assert found.box_k * 1.8 - 459.67 == pytest.approx(40.0)
    said = situation(call(reading("condenser_air_in_k", "92 F")))
    assert said.ambient_k is not None
    assert said.ambient_k * 1.8 - 459.67 == pytest.approx(95.0)
    nothing = situation(call(conditions=""))
    assert (nothing.ambient_k, nothing.box_k) == (None, None)


def test_schema_offers_the_catalogues_names() -> None:
    book = catalogue()
    properties = call_schema(book)["properties"]
    assert isinstance(properties, dict)
    places = properties["reading"]["items"]["properties"]["place"]["enum"]
    assert places == sorted(book.places)
    conditions = properties["conditions"]["properties"]
    assert conditions["state"]["enum"] == list(STATES)
    assert conditions["complaint"]["enum"] == list(COMPLAINTS)
    assert set(properties["sighting"]["items"]["required"]) == {"id", "seen"}
