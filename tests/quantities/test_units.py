"""Conversion factors against NIST SP 811, and the temperature scales against its formulas."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdcold.errors import UnknownNameError
from holdcold.quantities import DIMENSIONS, parse
from holdcold.quantities.constants import STANDARD_ATMOSPHERE_PA
from holdcold.quantities.dimensions import dimension
from holdcold.quantities.units import UNITS, Unit, unit, units_written

TABLE = Path(__file__).parents[1] / "reference" / "nist_sp811" / "factors.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=[row["unit"] for row in ROWS])
def test_factor_is_the_printed_one(row: dict[str, str]) -> None:
    """Source: NIST SP 811 (2008), Appendix B.8, the entry named in the row."""
    figures = max(len(row["si_per_unit"].split("E")[0].replace(".", "")), 7)
    assert (
        f"{unit(row['unit'], row['dimension']).scale:.{figures - 1}E}"
        == f"{float(row['si_per_unit']):.{figures - 1}E}"
    )


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("32 F", 273.15),
        ("212 F", 373.15),
        ("-40 F", 233.15),
        ("-40 C", 233.15),
        ("491.67 R", 273.15),
        ("300 K", 300.0),
    ],
)
def test_temperature_scales(text: str, kelvin: float) -> None:
    """Source: NIST SP 811, B.8: t/C = (t/F - 32)/1.8, T/K = t/C + 273.15, T/K = (T/R)/1.8."""
    assert parse(text, "temperature") == pytest.approx(kelvin, abs=1e-9)


@given(st.floats(-100.0, 300.0))
def test_fahrenheit_formula(fahrenheit: float) -> None:
    """Source: NIST SP 811, B.8, degree Fahrenheit."""
    assert unit("F", "temperature").to_si(fahrenheit, 0.0) == pytest.approx(
        (fahrenheit - 32.0) / 1.8 + 273.15
    )


@given(st.floats(-200.0, 200.0))
def test_a_difference_gets_no_offset(reading: float) -> None:
    """A difference of so many degrees F is 5/9 of it in K, and zero is zero on every scale."""
    assert unit("F", "temperature_difference").to_si(reading, 0.0) == pytest.approx(reading * 5.0 / 9.0)
    for symbol in ("F", "C", "K", "R"):
        assert unit(symbol, "temperature_difference").to_si(0.0, 0.0) == 0.0


@given(st.floats(-50.0, 300.0), st.floats(-50.0, 300.0))
def test_difference_of_temperatures_is_the_difference(warm: float, cold: float) -> None:
    """Two readings subtracted in SI equal their difference read as a temperature difference."""
    absolute, difference = unit("F", "temperature"), unit("F", "temperature_difference")
    apart_k = absolute.to_si(warm, 0.0) - absolute.to_si(cold, 0.0)
    assert apart_k == pytest.approx(difference.to_si(warm - cold, 0.0), abs=1e-9)


def test_micron_is_absolute_and_small() -> None:
    """Source: a thousandth of the conventional mmHg, NIST SP 811 B.8 (1.333 224 E+02 Pa)."""
    assert parse("1 micron", "pressure") == pytest.approx(0.1333224, abs=5e-8)
    assert parse("760000 micron", "pressure") == pytest.approx(STANDARD_ATMOSPHERE_PA, rel=2e-7)


@given(st.sampled_from(UNITS), st.floats(0.01, 1e6), st.floats(5e4, 1.1e5))
def test_every_unit_inverts(one: Unit, reading: float, ambient_pa: float) -> None:
    """from_si undoes to_si for each unit, at any air pressure."""
    assert one.from_si(one.to_si(reading, ambient_pa), ambient_pa) == pytest.approx(
        reading, rel=1e-9, abs=1e-6
    )


def test_every_symbol_finds_its_unit_alone() -> None:
    """No spelling that is shown or listed is ambiguous as written."""
    for one in UNITS:
        for name in (one.symbol, *one.aliases):
            assert units_written(name, one.dimension) == (one,), (one.dimension, name)


def test_every_dimension_has_a_unit() -> None:
    assert {one.dimension for one in UNITS} == set(DIMENSIONS)
    assert all(
        any(one.scale == 1.0 and one.zero == 0.0 for one in UNITS if one.dimension == name)
        for name in DIMENSIONS
        if name != "capacitance"
    )


def test_unknown_dimension_suggests() -> None:
    with pytest.raises(UnknownNameError) as caught:
        dimension("temprature")
    assert "temperature" in caught.value.suggestions


def test_a_symbol_that_is_none_is_a_lookup_error() -> None:
    with pytest.raises(LookupError):
        unit("furlong", "length")
