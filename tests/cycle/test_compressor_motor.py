"""Running current against the equivalent circuit of an induction motor."""

from __future__ import annotations

import math

import pytest

from holdcold.cycle.compressor import running_amps
from holdcold.errors import InputError

# Textbook example (S. J. Chapman, Electric Machinery Fundamentals, induction motor chapter, 460 V 25 hp
# four-pole motor; from memory, and the printed answers below come out): ohms per phase.
R1, R2, X1, X2, XM = 0.641, 0.332, 1.106, 0.464, 26.3
RATED_V, RATED_SLIP = 460.0, 0.022


def circuit(volts: float, slip: float) -> tuple[float, float, float]:
    """Return (line current [A], input [W], converted power [W]) of the equivalent circuit."""
    rotor = complex(R2 / slip, X2)
    across = 1.0 / (1.0 / rotor + 1.0 / complex(0.0, XM))
    phase_v = volts / math.sqrt(3.0)
    current = phase_v / (complex(R1, X1) + across)
    rotor_current = current * across / rotor
    converted = 3.0 * abs(rotor_current) ** 2 * R2 * (1.0 - slip) / slip
    return abs(current), 3.0 * phase_v * current.real, converted


def slip_for(volts: float, converted_w: float) -> float:
    """Return the slip at which the circuit converts a power, on the stable side (bisection)."""
    low, high = 1e-5, 0.12
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if circuit(volts, middle)[2] < converted_w else (low, middle)
    return low


def test_the_circuit_is_the_textbooks() -> None:
    """Printed there: 18.88 A, 12 530 W."""
    amps, watts, _ = circuit(RATED_V, RATED_SLIP)
    assert amps == pytest.approx(18.88, abs=0.02)
    assert watts == pytest.approx(12_530.0, abs=10.0)


@pytest.mark.parametrize("load", [0.5, 0.6, 0.8, 1.0, 1.2])
@pytest.mark.parametrize("ratio", [0.8, 0.85, 0.9, 1.0, 1.1])
def test_current_follows_the_circuit(load: float, ratio: float) -> None:
    rated_a, rated_w, rated_out = circuit(RATED_V, RATED_SLIP)
    amps, watts, _ = circuit(ratio * RATED_V, slip_for(ratio * RATED_V, load * rated_out))
    assert running_amps(watts, ratio, rated_a, rated_w, 3, RATED_V) == pytest.approx(amps, rel=0.02)


@pytest.mark.parametrize("phases", [1, 3])
@pytest.mark.parametrize("supply_v", [None, 208.0, 230.0])
def test_rated_point_comes_back(phases: int, supply_v: float | None) -> None:
    assert running_amps(1800.0, 1.0, 9.5, 1800.0, phases, supply_v) == pytest.approx(9.5, rel=1e-12)


def test_low_voltage_raises_a_loaded_motors_current() -> None:
    """At 85 % of the voltage a loaded motor draws roughly 10 to 18 % more (common practice, no source)."""
    for phases in (1, 3):
        amps = [running_amps(2000.0, ratio, 10.0, 2000.0, phases) for ratio in (1.0, 0.95, 0.9, 0.85)]
        assert amps == sorted(amps)
        assert 1.08 < amps[-1] / amps[0] < 1.20


def test_an_idling_motor_still_draws_and_falls_with_voltage() -> None:
    full, low = (running_amps(0.0, ratio, 10.0, 2000.0, 3) for ratio in (1.0, 0.85))
    assert 3.0 < full < 6.0
    assert low < full


def test_current_rises_with_power() -> None:
    amps = [running_amps(100.0 * step, 1.0, 10.0, 2000.0, 3) for step in range(30)]
    assert amps == sorted(amps)
    assert amps[20] == pytest.approx(10.0)


def test_power_factor_from_the_plate() -> None:
    """1150 W, 230 V, 6.2 A is a power factor of 0.806 (P / VI), and that sets the idle current."""
    known = running_amps(0.0, 1.0, 6.2, 1150.0, 1, 230.0)
    assumed = running_amps(0.0, 1.0, 6.2, 1150.0, 1)
    assert known > assumed
    assert known < 6.2 * math.sqrt(1.0 - 0.806**2)


def test_impossible_plate_is_kept_in_range() -> None:
    """More watts than volt-amperes: the factor is held at what a motor can have, no error, finite."""
    assert running_amps(3000.0, 1.0, 10.0, 3000.0, 1, 230.0) == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((1000.0, 1.0, 5.0, 1000.0, 2), "phases"),
        ((1000.0, 0.0, 5.0, 1000.0, 1), "supply_ratio"),
        ((1000.0, 1.0, 0.0, 1000.0, 1), "rated_amps"),
        ((1000.0, 1.0, 5.0, math.nan, 1), "rated_amps"),
    ],
)
def test_refusals(arguments: tuple[float, float, float, float, int], field: str) -> None:
    with pytest.raises(InputError) as caught:
        running_amps(*arguments)
    assert caught.value.field == field
