"""Outside the envelope there is an error that says the envelope; its borders themselves are served."""

from __future__ import annotations

import math

import pytest

from holdcold.errors import EnvelopeError
from holdcold.refrigerants import fluid, names

NAMES = names()


@pytest.mark.parametrize("name", NAMES)
def test_the_envelope_is_the_promised_one(name: str) -> None:
    """-50 C to the lesser of 70 C and 8 K below critical; superheat 0 to 120 K, subcooling 0 to 40 K.

    R-744 freezes at -56.6 C (ASHRAE Handbook - Fundamentals 2021 (SI), chapter 29, table 5): its liquid is
    served to -53 C only.
    """
    info = fluid(name).info
    reach = info.envelope
    assert reach.min_k == pytest.approx(223.15)
    assert reach.max_k == pytest.approx(min(343.15, info.critical_k - 8.0))
    assert (reach.superheat_k, reach.subcooling_k) == (120.0, 3.0 if name == "R-744" else 40.0)


def test_frozen_r744_is_refused() -> None:
    f = fluid("R-744")
    for p_pa in (f.p_min, 2.0e6, f.p_max):
        assert f.liquid(220.2, p_pa)[2] < 1.0 / 1150.0
        with pytest.raises(EnvelopeError, match="-53 C"):
            f.liquid(220.0, p_pa)
        with pytest.raises(EnvelopeError):
            f.state_pt(p_pa, 216.0)


def test_a_gas_cooler_is_refused() -> None:
    """R-744 at 90 bar, or condensing at 25 C, is beyond 8 K below critical (30.978 C, the same table 5)."""
    f = fluid("R-744")
    assert f.info.critical_k - 273.15 == pytest.approx(30.978, abs=0.001)
    for call in (
        lambda: f.vapour(330.0, 90.0e5),
        lambda: f.state_ph(90.0e5, 4.5e5),
        lambda: f.bubble_pa(298.15),
    ):
        with pytest.raises(EnvelopeError, match="nothing is extrapolated"):
            call()


@pytest.mark.parametrize("name", NAMES)
def test_borders_are_inside(name: str) -> None:
    f = fluid(name)
    reach = f.info.envelope
    for t_k in (reach.min_k, reach.max_k):
        assert f.dew_k(f.dew_pa(t_k)) == pytest.approx(t_k, abs=1e-5)
        assert f.bubble_k(f.bubble_pa(t_k)) == pytest.approx(t_k, abs=1e-5)
    for p_pa in (f.p_min, f.p_max, f.dew_pa(reach.min_k), f.bubble_pa(reach.max_k)):
        assert f.dew_pa(f.dew_k(p_pa)) == pytest.approx(p_pa, rel=1e-7)
        assert f.bubble_pa(f.bubble_k(p_pa)) == pytest.approx(p_pa, rel=1e-7)
        # A solver may sit on the border: 0.05 K to the wrong side is served, because it was fitted.
        for gap in (-0.05, 0.0, 119.95, 120.0):
            assert f.vapour(f.dew_k(p_pa) + gap, p_pa)[3] > 0.0
        for gap in (-0.05, 0.0, reach.subcooling_k - 0.05, reach.subcooling_k):
            assert f.liquid(f.bubble_k(p_pa) - gap, p_pa)[3] > 0.0
        assert f.state_ph(p_pa, f.h_dew(p_pa)).phase in {"wet", "vapour"}
        assert f.state_ph(p_pa, f.h_bubble(p_pa)).phase in {"wet", "liquid"}


@pytest.mark.parametrize("name", NAMES)
def test_liquid_is_served_down_to_the_lowest_saturation_temperature(name: str) -> None:
    f = fluid(name)
    assert f.liquid(f.info.envelope.min_k, f.p_max)[2] < f.liquid(f.bubble_k(f.p_max), f.p_max)[2]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("value", [-1.0, 0.0, 1.0e3, 9.0e6, math.inf, math.nan])
def test_pressures_outside(name: str, value: float) -> None:
    f = fluid(name)
    calls = [
        lambda: f.bubble_k(value), lambda: f.dew_k(value), lambda: f.h_bubble(value), lambda: f.h_dew(value),
        lambda: f.s_bubble(value), lambda: f.s_dew(value), lambda: f.rho_bubble(value),
        lambda: f.rho_dew(value), lambda: f.vapour(300.0, value), lambda: f.liquid(250.0, value),
        lambda: f.vapour_k_ph(value, 4.0e5), lambda: f.liquid_k_ph(value, 2.0e5),
        lambda: f.vapour_h_ps(value, 1.8e3), lambda: f.wet_k(value, 0.5), lambda: f.wet_rho(value, 0.5),
        lambda: f.state_ph(value, 3.0e5), lambda: f.state_pt(value, 300.0),
    ]  # fmt: skip
    for call in calls:
        with pytest.raises(EnvelopeError) as caught:
            call()
        assert f"{f.p_min:.6g}"[:4] in caught.value.allowed
        assert "Pa" in caught.value.allowed
        assert name in caught.value.field


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("value", [-5.0, 0.0, 150.0, 420.0, math.inf, math.nan])
def test_temperatures_outside(name: str, value: float) -> None:
    f = fluid(name)
    for call in (f.bubble_pa, f.dew_pa):
        with pytest.raises(EnvelopeError, match="nothing is extrapolated") as caught:
            call(value)
        assert " C)" in caught.value.allowed


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("where", [0.0, 0.5, 1.0])
def test_states_outside(name: str, where: float) -> None:
    f = fluid(name)
    p_pa = f.p_min * (f.p_max / f.p_min) ** where
    dew, bubble = f.dew_k(p_pa), f.bubble_k(p_pa)
    for t_k in (dew - 0.1, dew + 120.2, math.nan, math.inf, -1.0):
        with pytest.raises(EnvelopeError, match="superheat"):
            f.vapour(t_k, p_pa)
    deepest = min(bubble - f.info.envelope.subcooling_k, 220.15 if name == "R-744" else 223.15) - 0.15
    for t_k in (bubble + 0.1, deepest, math.nan, -math.inf, 0.0):
        with pytest.raises(EnvelopeError, match="bubble point"):
            f.liquid(t_k, p_pa)
    for z in (-0.01, 1.01, math.nan):
        for call in (f.wet_k, f.wet_rho, f.wet_quality):
            with pytest.raises(EnvelopeError, match="0 to 1"):
                call(p_pa, z)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("where", [0.0, 0.3, 0.7, 1.0])
def test_enthalpies_and_entropies_outside(name: str, where: float) -> None:
    f = fluid(name)
    p_pa = f.p_min * (f.p_max / f.p_min) ** where
    dew = f.dew_k(p_pa)
    h_top, s_top, _, _ = f.vapour(dew + 120.0, p_pa)
    for h in (f.h_dew(p_pa) - 500.0, h_top + 500.0, 1.0e9, -1.0e9, math.nan, math.inf):
        with pytest.raises(EnvelopeError):
            f.vapour_k_ph(p_pa, h)
    for s in (f.s_dew(p_pa) - 2.0, s_top + 2.0, 1.0e9, -1.0e9, math.nan, -math.inf):
        with pytest.raises(EnvelopeError):
            f.vapour_h_ps(p_pa, s)
    for h in (f.h_bubble(p_pa) + 600.0, -2.0e5, -1.0e9, math.nan, 1.0e9):
        with pytest.raises(EnvelopeError):
            f.liquid_k_ph(p_pa, h)
    for h in (h_top + 500.0, -1.0e9, math.nan, math.inf, -math.inf):
        with pytest.raises(EnvelopeError):
            f.state_ph(p_pa, h)
    for t_k in (dew + 121.0, 100.0, math.nan):
        with pytest.raises(EnvelopeError):
            f.state_pt(p_pa, t_k)
