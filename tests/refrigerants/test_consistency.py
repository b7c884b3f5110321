"""The functions agree with each other: thermodynamic identities, saturated curves, round trips.

Source of the identities: the definition of the Gibbs function, v = dg/dp and s = -dg/dT (any text on
thermodynamics); Clausius and Clapeyron's equation for the pure fluids.
"""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdcold.refrigerants import Fluid, fluid, names

UNIT = st.floats(0.0, 1.0)
NAMES = st.sampled_from(names())


def pressure(f: Fluid, where: float) -> float:
    """Return the pressure at ``where`` (0 to 1) of the usable range, evenly in ln p."""
    return f.p_min * math.exp(where * math.log(f.p_max / f.p_min))


def assert_identities(phase, t_k: float, p_pa: float) -> None:
    """Compare central differences with the functions' own values.

    A step of 1e-4 in T and p leaves a truncation error well under the tolerances.
    """
    dt, dp = 1e-4 * t_k, 1e-4 * p_pa
    _, _, v, cp = phase(t_k, p_pa)
    hot, cold = phase(t_k + dt, p_pa), phase(t_k - dt, p_pa)
    high, low = phase(t_k, p_pa + dp), phase(t_k, p_pa - dp)
    dv_dt = (hot[2] - cold[2]) / (2.0 * dt)
    assert (hot[0] - cold[0]) / (2.0 * dt) == pytest.approx(cp, rel=2e-4)
    assert (hot[1] - cold[1]) / (2.0 * dt) == pytest.approx(cp / t_k, rel=2e-4)
    # Maxwell: ds/dp = -dv/dT, and dh/dp = v - T dv/dT, in units of v.
    assert (high[1] - low[1]) / (2.0 * dp) == pytest.approx(-dv_dt, rel=2e-3, abs=2e-6 * v)
    assert (high[0] - low[0]) / (2.0 * dp) == pytest.approx(v - t_k * dv_dt, rel=2e-3, abs=1e-3 * v)
    # g = h - T s falls out of all three.
    assert ((high[0] - low[0]) - t_k * (high[1] - low[1])) / (2.0 * dp) == pytest.approx(v, rel=1e-4)


@settings(max_examples=200)
@given(name=NAMES, where=st.floats(0.002, 0.998), part=st.floats(0.002, 0.998))
def test_vapour_is_one_gibbs_function(name: str, where: float, part: float) -> None:
    f = fluid(name)
    p_pa = pressure(f, where)
    assert_identities(f.vapour, f.dew_k(p_pa) + 0.1 + 119.0 * part, p_pa)


@settings(max_examples=200)
@given(name=NAMES, where=st.floats(0.002, 0.998), part=st.floats(0.002, 0.998))
def test_liquid_is_one_gibbs_function(name: str, where: float, part: float) -> None:
    f = fluid(name)
    p_pa = pressure(f, where)
    depth = f.info.envelope.subcooling_k - 0.2
    assert_identities(f.liquid, f.bubble_k(p_pa) - 0.1 - depth * part, p_pa)


@pytest.mark.parametrize("name", ["R-22", "R-32", "R-134a", "R-290", "R-600a", "R-744", "R-1234yf"])
@pytest.mark.parametrize("where", [0.01, 0.25, 0.42, 0.62, 0.83, 0.99])
def test_pure_fluids_obey_clausius_clapeyron(name: str, where: float) -> None:
    """The saturation curve and the two Gibbs functions were fitted apart; equilibrium ties them."""
    f = fluid(name)
    reach = f.info.envelope
    t_k = reach.min_k + where * (reach.max_k - reach.min_k)
    p_pa = f.dew_pa(t_k)
    latent = f.h_dew(p_pa) - f.h_bubble(p_pa)
    # The sum of both stored enthalpy errors, and as much again for what the entropies hide.
    stored = f.info.fit_error
    limit = 2000.0 * (stored["dew enthalpy"].worst + stored["bubble enthalpy"].worst)
    assert latent == pytest.approx(t_k * (f.s_dew(p_pa) - f.s_bubble(p_pa)), abs=limit)
    slope = (f.dew_pa(t_k + 0.05) - f.dew_pa(t_k - 0.05)) / 0.1
    volume = 1.0 / f.rho_dew(p_pa) - 1.0 / f.rho_bubble(p_pa)
    # The slope of a fitted curve is less sure than the curve: most so where end, 8 K below
    # critical.
    assert slope == pytest.approx(latent / (t_k * volume), rel=6e-4 if where > 0.9 else 1e-4)


@pytest.mark.parametrize("name", names())
def test_zero_is_the_iir_one(name: str) -> None:
    """IIR: h = 200 kJ/kg and s = 1 kJ/(kg K) for saturated liquid at 0 C."""
    f = fluid(name)
    h, s, _, _ = f.liquid(273.15, f.bubble_pa(273.15))
    assert h == pytest.approx(200.0e3, abs=5.0)
    assert s == pytest.approx(1.0e3, abs=0.02)


@settings(max_examples=150)
@given(name=NAMES, where=UNIT)
def test_saturated_curves_are_the_gibbs_functions_at_saturation(name: str, where: float) -> None:
    f = fluid(name)
    p_pa = pressure(f, where)
    for h, s, rho, phase, t_k in (
        (f.h_dew, f.s_dew, f.rho_dew, f.vapour, f.dew_k(p_pa)),
        (f.h_bubble, f.s_bubble, f.rho_bubble, f.liquid, f.bubble_k(p_pa)),
    ):
        h_phase, s_phase, v_phase, _ = phase(t_k, p_pa)
        assert h(p_pa) == pytest.approx(h_phase, abs=0.5)
        assert s(p_pa) == pytest.approx(s_phase, abs=2e-3)
        assert rho(p_pa) * v_phase == pytest.approx(1.0, abs=2e-5)


@settings(max_examples=150)
@given(name=NAMES, where=UNIT)
def test_saturation_round_trip(name: str, where: float) -> None:
    f = fluid(name)
    p_pa = pressure(f, where)
    assert f.bubble_pa(f.bubble_k(p_pa)) == pytest.approx(p_pa, rel=1e-7)
    assert f.dew_pa(f.dew_k(p_pa)) == pytest.approx(p_pa, rel=1e-7)
    t_k = f.info.envelope.min_k + where * (f.info.envelope.max_k - f.info.envelope.min_k)
    assert f.bubble_k(f.bubble_pa(t_k)) == pytest.approx(t_k, abs=1e-5)
    assert f.dew_k(f.dew_pa(t_k)) == pytest.approx(t_k, abs=1e-5)


@settings(max_examples=300)
@given(name=NAMES, where=UNIT, part=UNIT)
def test_isobar_round_trips(name: str, where: float, part: float) -> None:
    f = fluid(name)
    p_pa = pressure(f, where)
    hot = f.dew_k(p_pa) + 120.0 * part
    h, s, _, _ = f.vapour(hot, p_pa)
    assert f.vapour_k_ph(p_pa, h) == pytest.approx(hot, abs=1e-7)
    assert f.vapour_h_ps(p_pa, s) == pytest.approx(h, abs=1e-3)
    cold = f.bubble_k(p_pa) - f.info.envelope.subcooling_k * part
    assert f.liquid_k_ph(p_pa, f.liquid(cold, p_pa)[0]) == pytest.approx(cold, abs=1e-7)


@settings(max_examples=200)
@given(name=NAMES, where=UNIT, z=UNIT)
def test_states_agree_with_the_functions(name: str, where: float, z: float) -> None:
    f = fluid(name)
    p_pa = pressure(f, where)
    deepest = f.liquid(f.bubble_k(p_pa) - min(20.0, f.info.envelope.subcooling_k), p_pa)[0]
    h = deepest + z * (f.h_dew(p_pa) + 50.0e3 - deepest)
    state = f.state_ph(p_pa, h)
    again = f.state_pt(p_pa, state.temperature_k)
    if f.dew_k(p_pa) - f.bubble_k(p_pa) > 1e-3 or state.phase != "wet":
        # One kelvin of glide may hold most of the latent heat: h from T is as good as T times that.
        assert again.h_j_kg == pytest.approx(h, abs=20.0)
    if state.phase == "vapour":
        assert state.superheat_k == pytest.approx(state.temperature_k - f.dew_k(p_pa))
        assert state.subcooling_k is None
        assert state.quality is None
        assert (state.h_j_kg, state.s_j_kgk) == f.vapour(state.temperature_k, p_pa)[:2]
    elif state.phase == "liquid":
        assert state.subcooling_k == pytest.approx(f.bubble_k(p_pa) - state.temperature_k)
        assert state.superheat_k is None
    else:
        assert 0.0 <= state.quality <= 1.0
        assert f.rho_dew(p_pa) <= state.rho_kg_m3 <= f.rho_bubble(p_pa) * (1.0 + 1e-9)


@settings(max_examples=100)
@given(name=NAMES, where=UNIT, z=st.floats(0.01, 0.99))
def test_along_an_isobar_in_the_dome_dh_is_t_ds(name: str, where: float, z: float) -> None:
    f = fluid(name)
    p_pa = pressure(f, where)
    low, gap = f.h_bubble(p_pa), f.h_dew(p_pa) - f.h_bubble(p_pa)
    below, above = f.state_ph(p_pa, low + (z - 0.01) * gap), f.state_ph(p_pa, low + (z + 0.01) * gap)
    middle = 0.5 * (below.temperature_k + above.temperature_k)
    assert (above.h_j_kg - below.h_j_kg) / (above.s_j_kgk - below.s_j_kgk) == pytest.approx(middle, rel=1e-3)


@pytest.mark.parametrize("name", names())
def test_everything_rises_that_must(name: str) -> None:
    f = fluid(name)
    ladder = [pressure(f, k / 400.0) for k in range(401)]
    ladder[-1] = f.p_max
    for rising in (f.bubble_k, f.dew_k, f.h_bubble, f.s_bubble, f.rho_dew):
        values = [rising(p) for p in ladder]
        assert all(low < high for low, high in pairwise(values)), rising
    falling = [f.rho_bubble(p) for p in ladder]
    assert all(high > low for high, low in pairwise(falling))
    for p_pa in ladder[::20]:
        assert f.bubble_k(p_pa) <= f.dew_k(p_pa) + 1e-6
        glide = [f.wet_k(p_pa, k / 50.0) for k in range(51)]
        assert all(low <= high + 1e-9 for low, high in pairwise(glide))
        gas = [f.vapour(f.dew_k(p_pa) + gap, p_pa) for gap in range(121)]
        assert all(a[0] < b[0] and a[2] < b[2] for a, b in pairwise(gas))
        wet = [
            f.liquid(f.bubble_k(p_pa) - gap, p_pa) for gap in range(41) if gap <= f.info.envelope.subcooling_k
        ]
        assert all(a[0] > b[0] and a[2] > b[2] for a, b in pairwise(wet))
