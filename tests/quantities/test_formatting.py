"""What is shown can be typed back, in either set of units, at any altitude."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdcold.errors import InputError, UnknownNameError
from holdcold.quantities import DIMENSIONS, SI, US, UnitPreference, format_quantity, parse

PSI = 6_894.757293168
# A usual span of each dimension in this trade [SI], common practice, no source.
SPANS = {
    "pressure": (1.0, 5e6),
    "pressure_difference": (-1e6, 1e6),
    "temperature": (200.0, 420.0),
    "temperature_difference": (-60.0, 60.0),
    "mass": (0.0, 200.0),
    "volume": (0.0, 500.0),
    "length": (-100.0, 5e3),
    "area": (0.0, 50.0),
    "power": (-1e5, 1e5),
    "electric_power": (-5e4, 5e4),
    "energy": (-1e9, 1e9),
    "flow": (0.0, 20.0),
    "mass_flow": (0.0, 5.0),
    "speed": (0.0, 30.0),
    "voltage": (-700.0, 700.0),
    "current": (-200.0, 200.0),
    "resistance": (0.0, 2e9),
    "capacitance": (0.0, 1e-3),
    "frequency": (0.0, 500.0),
    "time": (0.0, 5e6),
    "fraction": (0.0, 2.0),
    "humidity": (0.0, 1.0),
    "density": (0.0, 1_500.0),
    "specific_enthalpy": (-1e5, 8e5),
    "specific_entropy": (-1e3, 4e3),
    "conductance": (0.0, 1e4),
}
preferences = st.builds(UnitPreference, st.sampled_from(["us", "si"]), st.floats(4.7e4, 1.08e5))


@st.composite
def quantities(draw: st.DrawFn) -> tuple[str, float]:
    """A dimension and a value in its usual span."""
    name = draw(st.sampled_from(sorted(SPANS)))
    return name, draw(st.floats(*SPANS[name]))


def test_every_dimension_has_a_span() -> None:
    assert set(SPANS) == set(DIMENSIONS)


@given(quantities(), preferences)
def test_round_trip_with_many_digits(quantity: tuple[str, float], preference: UnitPreference) -> None:
    dimension, value_si = quantity
    text = format_quantity(value_si, dimension, preference, digits=9)
    # Nine decimals of the shown unit: 1e-9 of the largest unit here (1e6 ohm) at worst.
    assert parse(text, dimension, ambient_pa=preference.ambient_pa) == pytest.approx(
        value_si, rel=1e-9, abs=2e-3
    )


@given(quantities(), preferences)
def test_trade_precision_loses_little(quantity: tuple[str, float], preference: UnitPreference) -> None:
    """Shown and typed back, a second showing is the same: rounding settles at once."""
    dimension, value_si = quantity
    shown = format_quantity(value_si, dimension, preference)
    again = parse(shown, dimension, ambient_pa=preference.ambient_pa)
    reshown = parse(
        format_quantity(again, dimension, preference), dimension, ambient_pa=preference.ambient_pa
    )
    assert reshown == pytest.approx(again, rel=1e-3, abs=1e-9)


@given(st.floats(1.0, 5e6), preferences)
def test_pressure_is_shown_within_half_a_percent(value_pa: float, preference: UnitPreference) -> None:
    """Half a psi at most above 100 psig, 0.05 psi or 0.05 in.Hg below, half a micron in a deep vacuum."""
    back = parse(
        format_quantity(value_pa, "pressure", preference), "pressure", ambient_pa=preference.ambient_pa
    )
    worst = 0.07 if value_pa < 2_600.0 else 510.0 if value_pa < preference.ambient_pa + 100 * PSI else 3_500.0
    assert abs(back - value_pa) <= worst


@pytest.mark.parametrize(
    ("value_si", "dimension", "us", "si"),
    [
        (101_325.0 + 20 * PSI, "pressure", "20.0 psig", "1.38 barg"),
        (101_325.0 + 246.4 * PSI, "pressure", "246 psig", "16.99 barg"),
        (40_370.0, "pressure", "18.0 in.Hg vac", "-0.61 barg"),
        (66.66, "pressure", "500 micron", "66.7 Pa"),
        (308.15, "temperature", "95.0 °F", "35.0 °C"),
        (5.0, "temperature_difference", "9.0 °F", "5.0 K"),
        (0.62368951, "mass", "1 lb 6.0 oz", "624 g"),
        (0.4535, "mass", "1 lb 0.0 oz", "454 g"),
        (0.1, "mass", "3.5 oz", "100 g"),
        (-0.62368951, "mass", "-1 lb 6.0 oz", "-624 g"),
        (-1e-7, "mass", "0.0 oz", "0 g"),
        (4_800.0, "time", "1 h 20 min", "1 h 20 min"),
        (3_599.0, "time", "1 h 0 min", "1 h 0 min"),
        (90.0, "time", "90 s", "90 s"),
        (200_000.0, "time", "2 d 8 h", "2 d 8 h"),
        (2_198.033, "power", "7500 Btu/h", "2198 W"),
        (1_450.0, "electric_power", "1450 W", "1450 W"),
        (0.3, "fraction", "30 %", "30 %"),
        (0.028575, "length", "1.125 in", "28.6 mm"),
        (3.2004, "length", "10.5 ft", "3.20 m"),
        (-0.0001, "temperature_difference", "0.0 °F", "0.0 K"),
        (35e-6, "capacitance", "35.0 uF", "35.0 uF"),
        (2e7, "resistance", "20.0 Mohm", "20.0 Mohm"),
    ],
)
def test_how_it_looks(value_si: float, dimension: str, us: str, si: str) -> None:
    assert format_quantity(value_si, dimension, US) == us
    assert format_quantity(value_si, dimension, SI) == si


def test_digits_are_obeyed() -> None:
    assert format_quantity(308.15, "temperature", US, digits=0) == "95 °F"
    assert format_quantity(0.62368951, "mass", US, digits=0) == "1 lb 6 oz"
    assert format_quantity(4_800.0, "time", SI, digits=1) == "4800.0 s"


def test_altitude_moves_the_needle_not_the_gas() -> None:
    assert format_quantity(101_325.0, "pressure", US) == "0.0 psig"
    assert format_quantity(101_325.0, "pressure", US.at(84_300.0)) == "2.5 psig"


@pytest.mark.parametrize("value_si", [float("nan"), float("inf"), -float("inf")])
def test_no_number_is_no_text(value_si: float) -> None:
    with pytest.raises(InputError):
        format_quantity(value_si, "pressure", US)


def test_bad_preferences_are_refused() -> None:
    with pytest.raises(UnknownNameError):
        UnitPreference("metric")
    with pytest.raises(InputError):
        US.at(0.0)
    with pytest.raises(UnknownNameError):
        format_quantity(1.0, "colour", US)
