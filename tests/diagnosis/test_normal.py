"""What a unit should read now: bands against fresh solves of moved designs and against random machines."""

from __future__ import annotations

import math
import random
from functools import cache

import pytest

from holdcold.cards import Fact, Resolved, read_card, resolve
from holdcold.cycle import Conditions, Faults, Unit, build, solve
from holdcold.diagnosis.normal import Normal, model_sigma, normal
from holdcold.errors import InputError
from support.calls import COOLER, FREEZER, REACH_IN, kelvin, unit

HERE = {
    COOLER: Conditions(kelvin(90.0), kelvin(38.0)),
    FREEZER: Conditions(kelvin(85.0), kelvin(-5.0)),
    REACH_IN: Conditions(kelvin(80.0), kelvin(37.0)),
}
PLACES = ("suction_pa_service_valve", "discharge_pa", "coil_air_out_k", "condenser_air_out_k", "compressor_a")
BARE = """
schema = 1
kind = "walk_in"
refrigerant = "R-449A"
application = "cooler"
box = { length = "12 ft", width = "10 ft", height = "8 ft" }
capacity = { horsepower = "1.5 hp" }
"""


@cache
def usual(card: str) -> Normal:
    return normal(unit(card), HERE[card])


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN])
def test_the_value_is_the_operating_point(card: str) -> None:
    point = solve(build(unit(card).design), HERE[card])
    for place, band in usual(card).readings.items():
        assert band.value == pytest.approx(point.readings[place], rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN])
def test_the_band_holds_its_value_and_is_nine_tenths_wide(card: str) -> None:
    """5th and 95th percentile of a normal: 1.6449 sigmas either side (any table of the normal law)."""
    for place, band in usual(card).readings.items():
        half = 1.6449 * math.hypot(band.card_sigma, band.model_sigma)
        assert band.low <= band.value <= band.high
        assert band.high - band.value == pytest.approx(half, rel=1e-9)
        assert band.low == pytest.approx(band.value - half, rel=1e-9) or (
            band.low == 0.0 > band.value - half and not place.endswith("_pa")
        )


def moved(fact: Fact, sign: float) -> float:
    return min(max(fact.value_si + sign * fact.spread_si, fact.least_si), fact.most_si)


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN])
def test_an_effect_is_one_sigma_of_its_fact(card: str) -> None:
    """Half the difference between two fresh solves, one sigma up and one down, started from nothing."""
    resolved, found = unit(card), usual(card)
    assert found.effects
    for fact in resolved.uncertain():
        sides = [moved(fact, sign) for sign in (1.0, -1.0)]
        reads = [
            solve(build(resolved.design_with({fact.name: value})), HERE[card]).readings for value in sides
        ]
        if sides[0] > sides[1]:
            scale = fact.spread_si / (sides[0] - sides[1])
            for place in PLACES:
                shift = (reads[0][place] - reads[1][place]) * scale
                band = found.readings[place]
                assert found.effects[fact.name][place] == pytest.approx(
                    shift, rel=1e-3, abs=1e-3 * band.model_sigma
                )


@pytest.mark.parametrize("card", [COOLER, REACH_IN])
def test_random_machines_of_the_card_fall_inside_the_band(card: str) -> None:
    """Monte Carlo: facts drawn from their spreads, machine solved, model error drawn; nine in ten inside.

    80 machines: five standard errors of a share of 0.9 are 0.17, the effects are not quite linear.
    """
    resolved, found = unit(card), usual(card)
    draw = random.Random(f"bands of {card}")
    inside = dict.fromkeys(PLACES, 0)
    for _ in range(80):
        point = solve(drawn(resolved, draw), HERE[card])
        for place in PLACES:
            band = found.readings[place]
            read = point.readings[place] + draw.gauss(0.0, band.model_sigma)
            inside[place] += band.low <= read <= band.high
    assert {place: share / 80 for place, share in inside.items() if share < 0.73 * 80} == {}
    assert min(inside.values()) < 80


def drawn(resolved: Resolved, draw: random.Random) -> Unit:
    """Return a machine with every uncertain fact drawn; draws that no machine can be are drawn again."""
    for _ in range(50):
        facts = {fact.name: moved(fact, draw.gauss(0.0, 1.0)) for fact in resolved.uncertain()}
        try:
            return build(resolved.design_with(facts))
        except InputError:
            continue
    raise AssertionError("hardly any machine fits this card")


def test_what_somebody_gave_narrows_the_band() -> None:
    """The same unit with rating, amps and charge on the card knows more than one with a horsepower alone."""
    bare = normal(resolve(read_card(BARE)), HERE[COOLER])
    for place in ("suction_pa_service_valve", "compressor_a", "coil_air_out_k"):
        told, guessed = usual(COOLER).readings[place], bare.readings[place]
        assert told.card_sigma < guessed.card_sigma
    assert {fact.name for fact in usual(COOLER).assumed} < {fact.name for fact in bare.assumed}


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN, BARE])
def test_what_is_worth_measuring_was_assumed_and_matters(card: str) -> None:
    found = normal(unit(card), HERE.get(card, HERE[COOLER]))
    shares = [one.share for one in found.sharpen]
    assert shares == sorted(shares, reverse=True)
    assert 0.0 < math.fsum(shares) <= 1.0 + 1e-9
    for one in found.sharpen:
        assert one.fact.origin == "assumed"
        assert one.fact.hint
        assert one.moves in found.readings
        assert found.effects[one.fact.name][one.moves] != 0.0


def test_the_heaviest_assumption_is_worth_the_most_when_given() -> None:
    """Exactly known, the first fact to sharpen takes more off the summed variance than the last one."""
    resolved = unit(BARE)
    found = normal(resolved, HERE[COOLER])
    variances = {
        name: math.fsum(
            (effect.get(place, 0.0) / math.hypot(band.card_sigma, band.model_sigma)) ** 2
            for place, band in found.readings.items()
            if band.card_sigma + band.model_sigma > 0.0
        )
        for name, effect in found.effects.items()
    }
    first, last = found.sharpen[0].fact.name, found.sharpen[-1].fact.name
    assert variances[first] > variances[last]
    assert variances[first] == max(variances[one.fact.name] for one in found.sharpen)


def test_a_fault_left_in_place_moves_the_band() -> None:
    healthy = usual(COOLER).readings["discharge_pa"]
    dirty = normal(unit(COOLER), HERE[COOLER], Faults(condenser_air=0.5)).readings["discharge_pa"]
    assert dirty.value > healthy.high


def test_a_machine_at_rest_reads_no_current() -> None:
    rest = normal(unit(COOLER), Conditions(kelvin(90.0), kelvin(38.0), running=False))
    assert rest.point.state == "off"
    assert rest.readings["compressor_a"].value == 0.0
    assert rest.readings["suction_pa_service_valve"].value == rest.readings["discharge_pa"].value


def test_model_error_grows_with_the_reading_and_never_vanishes() -> None:
    assert model_sigma("discharge_pa", 2e6) > model_sigma("discharge_pa", 1e6) > 0.0
    assert model_sigma("coil_superheat_k", 0.0) > 0.0
    assert model_sigma("no_such_place", 10.0) == pytest.approx(1.0)
