"""Box load, line by line, against published tables and worked examples."""

from __future__ import annotations

import pytest
from CoolProp.HumidAirProp import HAPropsSI

from holdcold.cards.load import (
    air_changes_per_day,
    box_load,
    box_surface_m2,
    moist_air,
    vapour_pressure_pa,
)
from holdcold.quantities import parse

ATM = 101_325.0


def kelvin(text: str) -> float:
    return parse(text, "temperature")


@pytest.mark.parametrize(
    ("fahrenheit", "pascal"),
    [(-40, 12.84), (-20, 42.65), (-10, 74.66), (0, 127.6), (10, 213.0), (20, 348.1), (40, 839.3),
     (70, 2505.3), (100, 6553.0)],
)  # fmt: skip
def test_vapour_pressure(fahrenheit: float, pascal: float) -> None:
    """Source: Murphy and Koop (2005) equations 7 and 10; liquid within 0.02 % of IAPWS (CoolProp 8.0.0)."""
    assert vapour_pressure_pa(kelvin(f"{fahrenheit} F")) == pytest.approx(pascal, rel=5e-4)


def test_moist_air() -> None:
    """Source: CoolProp 8.0.0, HAPropsSI (ASHRAE RP-1485 real moist air); ideal gas is within 0.5 %."""
    for t_k, humidity in ((297.05, 0.55), (274.82, 0.85), (250.0, 0.8), (305.0, 0.5)):
        enthalpy, density = moist_air(t_k, humidity, ATM)
        state = ("T", t_k, "P", ATM, "R", humidity)
        assert enthalpy == pytest.approx(HAPropsSI("H", *state), rel=0.005, abs=60.0)
        dry = 1.0 / HAPropsSI("V", *state)
        assert density == pytest.approx(dry * (1.0 + HAPropsSI("W", *state)), rel=0.0015)


@pytest.mark.parametrize(
    ("cubic_feet", "cooler", "freezer"),
    [(250, 38.1, 28.9), (500, 26.0, 19.8), (1000, 17.7, 13.5), (2000, 12.0, 9.3), (5000, 7.2, 5.6)],
)
def test_air_changes(cubic_feet: float, cooler: float, freezer: float) -> None:
    """Source: the average air-change table of textbooks (from memory), as its open-source fit gives it."""
    volume = parse(f"{cubic_feet} ft3", "volume")
    assert air_changes_per_day(volume, kelvin("35 F")) == pytest.approx(cooler, abs=0.06)
    assert air_changes_per_day(volume, kelvin("0 F")) == pytest.approx(freezer, abs=0.06)


def test_transmission() -> None:
    """Worked: walls and ceiling of a 10 x 10 x 8 ft box, 420 ft2 at R-25, 95 to 35 F: 1008 Btu/h."""
    load = box_load(22.65, parse("420 ft2", "area"), kelvin("35 F"), kelvin("95 F"), 25.0, ATM)
    assert load.transmission_w == pytest.approx(parse("1008 Btu/h", "power"), rel=1e-4)


@pytest.mark.parametrize(
    ("size", "low", "high", "inside", "r_value"),
    [("10 8 8", 5500, 10000, "35 F", 25.0), ("10 8 8", 5500, 10500, "-10 F", 32.0)],
)
def test_machine_size_for_a_small_walk_in(
    size: str, low: float, high: float, inside: str, r_value: float
) -> None:
    """Common practice, no source: an 8 by 10 walk-in takes a machine of 6 to 10 kBtu/h either way."""
    length, width, height = (parse(f"{side} ft", "length") for side in size.split())
    surface = 2.0 * (length * width + (length + width) * height)
    load = box_load(length * width * height, surface, kelvin(inside), kelvin("85 F"), r_value, ATM)
    share = 16.0 / 24.0 if r_value < 30.0 else 18.0 / 24.0
    assert low < load.total_w / share / 0.29307107 < high


def test_surface_of_a_usual_box() -> None:
    sides = (3.0, 2.5, 2.4)
    surface = 2.0 * (sides[0] * sides[1] + (sides[0] + sides[1]) * sides[2])
    assert box_surface_m2(sides[0] * sides[1] * sides[2]) == pytest.approx(surface, rel=0.05)


def test_a_warmer_kitchen_makes_more_load() -> None:
    loads = [box_load(18.0, 42.0, 275.0, around, 25.0, ATM).total_w for around in (290.0, 300.0, 310.0)]
    assert loads == sorted(loads)
    assert box_load(18.0, 42.0, 275.0, 275.0, 25.0, ATM).transmission_w == 0.0
