"""The catalogue of instruments: complete, sourced, and its spreads mean what they say."""

from __future__ import annotations

import math
import random

import pytest

from holdcold.errors import InputError, UnknownNameError
from holdcold.quantities import DIMENSIONS, Instrument, default_instrument, instrument, instruments

EVERY = list(instruments().values())


@pytest.mark.parametrize("one", EVERY, ids=[one.id for one in EVERY])
def test_each_is_complete(one: Instrument) -> None:
    assert one.dimension in DIMENSIONS
    assert one.sigma_floor > 0.0
    assert one.bias_floor > 0.0
    assert 0.0 < one.lie_chance <= 0.1
    assert len(one.source) > 20
    assert one.name


@pytest.mark.parametrize("one", EVERY, ids=[one.id for one in EVERY])
def test_a_lie_is_worse_than_an_error(one: Instrument) -> None:
    """Otherwise the chance of a lying instrument would explain nothing that its bias does not."""
    honest = math.hypot(one.sigma_floor, one.bias_floor)
    assert one.lie_sigma > 1.9 * honest


def test_a_temperature_has_no_gain() -> None:
    """A fraction of an absolute temperature is no instrument error."""
    assert all(one.sigma_gain == one.bias_gain == 0.0 for one in EVERY if one.dimension == "temperature")


def test_one_default_a_dimension() -> None:
    defaults = [one.dimension for one in EVERY if one.is_default]
    assert len(defaults) == len(set(defaults))
    assert {one.dimension for one in EVERY} == set(defaults)
    assert default_instrument("temperature").id == "clamp_thermocouple"


def test_spreads_grow_with_the_reading() -> None:
    clamp = instrument("clamp_ammeter")
    assert clamp.sigma(0.0) == pytest.approx(0.1)
    assert clamp.bias_sigma(20.0) == pytest.approx(math.hypot(0.1, 0.3))
    assert clamp.bias_sigma(-20.0) == clamp.bias_sigma(20.0)


def test_two_thermometers_follow_from_one() -> None:
    """The spread of a difference of two independent readings is root 2 of one (propagation of errors)."""
    pair, one = instrument("two_thermometers"), instrument("clamp_thermocouple")
    assert pair.sigma_floor == pytest.approx(math.sqrt(2.0) * one.sigma_floor, rel=0.02)
    assert pair.bias_floor == pytest.approx(math.sqrt(2.0) * one.bias_floor, rel=0.02)


def test_units_of_the_data_file() -> None:
    """A thermocouple spread of 1.0 F is 5/9 K, without the 32 degree offset; 0.3 psi is 2068 Pa."""
    assert instrument("clamp_thermocouple").sigma_floor == pytest.approx(5.0 / 9.0)
    assert instrument("gauge_digital").sigma_floor == pytest.approx(2_068.427, rel=1e-6)


def test_bias_does_not_average_away() -> None:
    """Ten readings with one gauge keep its bias: simulated spread of their mean against the stated parts."""
    gauge, draw = instrument("gauge_analogue"), random.Random(1)
    truth = 239_000.0
    means = []
    for _ in range(4_000):
        bias = draw.gauss(0.0, gauge.bias_sigma(truth))
        means.append(bias + math.fsum(draw.gauss(0.0, gauge.sigma(truth)) for _ in range(10)) / 10.0)
    spread = math.sqrt(math.fsum(mean * mean for mean in means) / len(means))
    assert spread == pytest.approx(
        math.hypot(gauge.bias_sigma(truth), gauge.sigma(truth) / math.sqrt(10.0)), rel=0.04
    )


def test_unknown_names() -> None:
    with pytest.raises(UnknownNameError) as caught:
        instrument("clamp_ameter")
    assert "clamp_ammeter" in caught.value.suggestions
    with pytest.raises(InputError, match="pressure"):
        default_instrument("density")
    with pytest.raises(UnknownNameError):
        default_instrument("colour")
