"""The compressor as the solver uses it: rated points come back, and nothing breaks on the way there."""

from __future__ import annotations

import math
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cycle.compressor_oracle import eos_gas
from holdcold.cycle.compressor import CompressorModel, calibrate, discharge_h, isentropic_h
from holdcold.errors import EnvelopeError, InputErrors, UnknownNameError
from holdcold.refrigerants import fluid, names

KINDS = ("hermetic", "semi_hermetic", "scroll")
RATINGS = {"low": (241.45, 313.75, 277.55), "medium": (266.45, 321.95, 291.45)}
NAMES = ("R-404A", "R-134a", "R-22", "R-290")


@cache
def gas_of(name: str):
    return eos_gas(name)


def rated(name: str, kind: str, application: str, power_w: float | None = 2_100.0) -> CompressorModel:
    return calibrate(gas_of(name), kind, application, *RATINGS[application], 4_000.0, power_w)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("application", ["low", "medium"])
@pytest.mark.parametrize("kind", KINDS)
def test_rated_point_comes_back(name: str, application: str, kind: str) -> None:
    gas = gas_of(name)
    evap_k, cond_k, return_k = RATINGS[application]
    point = (evap_k, cond_k, return_k, 4_000.0, 2_100.0)
    model = calibrate(gas, kind, application, *point, rated_subcooling_k=3.0)
    mass, power = model.flow_power(gas, gas.dew_pa(evap_k), return_k, gas.dew_pa(cond_k))
    suction_h = gas.vapour(return_k, gas.dew_pa(evap_k))[0]
    liquid_h = gas.liquid(gas.bubble_k(gas.dew_pa(cond_k)) - 3.0, gas.dew_pa(cond_k))[0]
    assert mass * (suction_h - liquid_h) == pytest.approx(4_000.0, rel=1e-12)
    assert power == pytest.approx(2_100.0, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("application", ["low", "medium"])
@pytest.mark.parametrize("kind", KINDS)
def test_typical_power_is_that_of_a_real_machine(name: str, application: str, kind: str) -> None:
    """Overall isentropic efficiency between 0.25 and 0.75 (common practice, no source)."""
    gas = gas_of(name)
    evap_k, cond_k, return_k = RATINGS[application]
    model = rated(name, kind, application, None)
    mass, power = model.flow_power(gas, gas.dew_pa(evap_k), return_k, gas.dew_pa(cond_k))
    h, s, _, _ = gas.vapour(return_k, gas.dew_pa(evap_k))
    assert 0.25 < mass * (gas.vapour_h_ps(gas.dew_pa(cond_k), s) - h) / power < 0.75


@pytest.mark.parametrize("application", ["low", "medium"])
@pytest.mark.parametrize("kind", KINDS)
@given(data=st.data())
def test_flow_is_monotone(kind: str, application: str, data: st.DataObject) -> None:
    """More suction pressure, more flow; more discharge pressure, less; both by definite amounts."""
    name = data.draw(st.sampled_from(NAMES))
    gas = gas_of(name)
    evap_k = data.draw(st.floats(228.0, 285.0))
    cond_k = data.draw(st.floats(evap_k + 2.0, 330.0))
    superheat_k = data.draw(st.floats(0.5, 30.0))
    model = rated(name, kind, application)
    suction_pa, discharge_pa = gas.dew_pa(evap_k), gas.dew_pa(cond_k)

    def flow(low_pa: float, high_pa: float) -> float:
        return model.flow_power(gas, low_pa, gas.dew_k(low_pa) + superheat_k, high_pa)[0]

    here = flow(suction_pa, discharge_pa)
    assert flow(suction_pa * 1.01, discharge_pa) > here * 1.005
    assert flow(suction_pa, discharge_pa * 1.01) < here


@pytest.mark.parametrize("application", ["low", "medium"])
@pytest.mark.parametrize("kind", KINDS)
def test_sound_from_ratio_1_to_30(kind: str, application: str) -> None:
    gas = gas_of("R-134a")
    model = rated("R-134a", kind, application)
    discharge_pa = gas.dew_pa(328.15)
    ratios = [1.02 * (30.0 / 1.02) ** (step / 60.0) for step in range(61)]
    points = [model.flow_power(gas, discharge_pa / ratio, 328.2, discharge_pa) for ratio in ratios]
    assert all(math.isfinite(mass) and math.isfinite(power) for mass, power in points)
    assert all(mass > 0.0 and power > 0.0 for mass, power in points)
    flows = [mass for mass, _ in points]
    assert flows == sorted(flows, reverse=True)


def test_no_kinks() -> None:
    """One-sided slopes of flow and power over ln(suction pressure) agree all along (Newton needs them)."""
    gas = gas_of("R-404A")
    model = rated("R-404A", "semi_hermetic", "low")
    discharge_pa = gas.dew_pa(318.0)
    step = 1e-3

    def at(log_pa: float) -> tuple[float, float]:
        suction_pa = math.exp(log_pa)
        return model.flow_power(gas, suction_pa, gas.dew_k(suction_pa) + 8.0, discharge_pa)

    for place in range(40):
        x = math.log(0.9e5) + place * 0.065
        left, middle, right = at(x - step), at(x), at(x + step)
        for one in (0, 1):
            before, after = middle[one] - left[one], right[one] - middle[one]
            assert after == pytest.approx(before, rel=0.02, abs=2e-5 * middle[one])


def test_colder_gas_is_more_flow() -> None:
    """Three quarters of the density change (Dabiri & Rice 1981, F = 0.75) reach the mass flow."""
    gas = gas_of("R-22")
    evap_k, cond_k, return_k = RATINGS["medium"]
    model = rated("R-22", "hermetic", "medium")
    suction_pa, discharge_pa = gas.dew_pa(evap_k), gas.dew_pa(cond_k)
    warm, _ = model.flow_power(gas, suction_pa, return_k, discharge_pa)
    cold, _ = model.flow_power(gas, suction_pa, return_k - 20.0, discharge_pa)
    denser = gas.vapour(return_k, suction_pa)[2] / gas.vapour(return_k - 20.0, suction_pa)[2]
    assert cold / warm - 1.0 == pytest.approx(0.75 * (denser - 1.0), rel=0.02)


def test_wet_suction_goes_on_from_dew() -> None:
    gas = gas_of("R-134a")
    model = rated("R-134a", "hermetic", "medium")
    suction_pa, discharge_pa = gas.dew_pa(268.0), gas.dew_pa(318.0)
    dew_k, dew_h, dew_s = gas.dew_k(suction_pa), gas.h_dew(suction_pa), gas.s_dew(suction_pa)
    bubble_h, bubble_s, bubble_v, _ = gas.liquid(dew_k, suction_pa)
    dew_v = 1.0 / gas.rho_dew(suction_pa)

    def at(quality: float) -> tuple[float, float]:
        h = bubble_h + quality * (dew_h - bubble_h)
        s = bubble_s + quality * (dew_s - bubble_s)
        v = bubble_v + quality * (dew_v - bubble_v)
        return model.flow_power_hvs(gas, suction_pa, h, s, v, discharge_pa)

    dry = model.flow_power(gas, suction_pa, dew_k, discharge_pa)
    assert at(1.0) == pytest.approx(dry, rel=1e-9)
    assert at(0.9999) == pytest.approx(dry, rel=3e-4)
    flows = [at(quality)[0] for quality in (0.5, 0.7, 0.9, 0.99, 1.0)]
    assert flows == sorted(flows, reverse=True)
    assert all(power > 0.0 for _, power in map(at, (0.5, 0.7, 0.9)))


@pytest.mark.parametrize("missing", [0.01, 0.05, 0.1])
def test_isentropic_into_the_wet_region(missing: float) -> None:
    """Against CoolProp's own two-phase flash of R-134a (pure, so dh = T ds is exact)."""
    gas = gas_of("R-134a")
    pressure = gas.dew_pa(313.15)
    s = gas.s_dew(pressure) - missing * 1000.0
    assert isentropic_h(gas, pressure, s) == pytest.approx(gas.vapour_h_ps(pressure, s), abs=1.0)


class Bounded:
    """A refrigerant whose data end at 120 K of superheat, like ours."""

    def __init__(self, name: str) -> None:
        self._gas = gas_of(name)

    def __getattr__(self, name: str):
        return getattr(self._gas, name)

    def vapour_h_ps(self, p_pa: float, s: float) -> float:
        h = self._gas.vapour_h_ps(p_pa, s)
        if self._gas.vapour_k_ph(p_pa, h) > self._gas.dew_k(p_pa) + 120.0:
            raise EnvelopeError("vapour temperature", h, "120 K", "")
        return h


@pytest.mark.parametrize("beyond_k", [0.1, 10.0, 40.0])
def test_isentropic_beyond_the_data(beyond_k: float) -> None:
    """Against CoolProp, R-22 at 40 C: constant heat capacity is good to 1 % of the enthalpy added."""
    gas, bounded = gas_of("R-22"), Bounded("R-22")
    pressure = gas.dew_pa(313.15)
    h, s, _, _ = gas.vapour(313.15 + 120.0 + beyond_k, pressure)
    assert isentropic_h(bounded, pressure, s) == pytest.approx(h, abs=20.0 + 0.01 * 900.0 * beyond_k)


def test_a_refrigerant_stays_in_charge_of_its_pressures() -> None:
    class Closed(Bounded):
        def vapour(self, _t_k: float, p_pa: float):
            raise EnvelopeError("pressure", p_pa, "none", "")

    with pytest.raises(EnvelopeError):
        isentropic_h(Closed("R-22"), 2e6, gas_of("R-22").vapour(470.0, 2e6)[1])


def test_inside_tells_the_fitted_ratios() -> None:
    gas = gas_of("R-404A")
    model = rated("R-404A", "semi_hermetic", "low")
    low, high = model.curve.ratios
    assert model.inside(gas, 2e5, 2e5 * 0.5 * (low + high))
    assert not model.inside(gas, 2e5, 2e5 * low * 0.9)
    assert not model.inside(gas, 2e5, 2e5 * high * 1.1)
    assert model.map_amps(gas, 2e5, 1.6e6) is None


def test_discharge_energy_balance() -> None:
    assert discharge_h(400e3, 0.02, 1_000.0, 0.1) == pytest.approx(400e3 + 45e3)
    assert discharge_h(400e3, 0.02, 1_000.0, 0.0) == pytest.approx(450e3)


def test_every_fault_of_a_rating_is_named() -> None:
    with pytest.raises(InputErrors) as caught:
        calibrate(gas_of("R-22"), "scroll", "low", 320.0, 310.0, 300.0, -1.0, 0.0)
    fields = [problem.field for problem in caught.value.problems]
    assert fields == ["rated_evap_k", "rated_return_k", "rated_capacity_w", "rated_power_w"]


@pytest.mark.parametrize("name", [name for name in sorted(names()) if fluid(name).info.critical_k > 330.0])
def test_every_refrigerant_of_ours(name: str) -> None:
    """Rated point back, and sound over the envelope of a freezer in trouble, very hot discharge included."""
    medium = fluid(name)
    model = calibrate(medium, "hermetic", "low", *RATINGS["low"], 1_500.0, 1_100.0)
    rated_mass, rated_power = model.flow_power(
        medium, medium.dew_pa(RATINGS["low"][0]), RATINGS["low"][2], medium.dew_pa(RATINGS["low"][1])
    )
    assert rated_power == pytest.approx(1_100.0)
    assert 0.003 < rated_mass < 0.03
    for evap_k in (227.0, 235.0, 250.0, 270.0, 285.0):
        for cond_k in (288.0, 300.0, 315.0, 328.0):
            for superheat_k in (0.0, 8.0, 30.0, 70.0):
                point = medium.dew_pa(evap_k), evap_k + superheat_k, medium.dew_pa(cond_k)
                mass, power = model.flow_power(medium, *point)
                assert 0.0 < mass < 1.0
                assert 0.0 < power < 50_000.0


@pytest.mark.parametrize("name", ["R-22", "R-134a", "R-404A", "R-290"])
def test_our_refrigerants_give_what_coolprop_gives(name: str) -> None:
    """The same machine on our property data and on CoolProp's, away from the rated point: 0.3 %."""
    found = []
    for medium in (fluid(name), gas_of(name)):
        model = calibrate(medium, "semi_hermetic", "medium", *RATINGS["medium"], 4_000.0, 2_100.0)
        found.append(model.flow_power(medium, medium.dew_pa(252.0), 270.0, medium.dew_pa(310.0)))
    assert found[0] == pytest.approx(found[1], rel=3e-3)


@pytest.mark.parametrize(("kind", "application"), [("rotary", "low"), ("scroll", "hot")])
def test_unknown_groups_are_refused(kind: str, application: str) -> None:
    with pytest.raises(UnknownNameError):
        calibrate(gas_of("R-22"), kind, application, 260.0, 310.0, 280.0, 4_000.0, None)
