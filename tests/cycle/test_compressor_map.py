"""AHRI 540 maps: published coefficients, units, refusals, the superheat correction."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cycle.compressor_oracle import eos_gas
from holdcold.cycle.compressor import CompressorMap, discharge_h, from_map, superheat_corrected
from holdcold.errors import InputError, InputErrors

# Published AHRI 540 coefficients of a 3-ton example machine in F, lb/h and W, rated at 20 F superheat:
# the test case at the end of the compressor module of an open academic heat-pump library
# (achp.sourceforge.net/_modules/Compressor.html), which also sets the R-134a case below.
MASS = (
    217.3163128, 5.094492028, -0.593170311, 4.38e-02, -2.14e-02, 1.04e-02, 7.90e-05, -5.73e-05,
    1.79e-04, -8.08e-05,
)  # fmt: skip
POWER = (
    -561.3615705, -15.62601841, 46.92506685, -0.217949552, 0.435062616, -0.442400826, 2.25e-04, 2.37e-03,
    -3.32e-03, 2.50e-03,
)  # fmt: skip
REFERENCE = Path(__file__).parents[1] / "reference" / "energyplus_compressors"
RECORD = json.loads((REFERENCE / "r404a_low.json").read_text(encoding="utf-8"))
LB_H = 0.45359237 / 3600.0


def fahrenheit(value: float) -> float:
    return (value + 459.67) / 1.8


def ahri_order(bicubic: list[float]) -> tuple[float, ...]:
    """Reorder const, x, x2, y, y2, xy, x3, y3, x2y, xy2 to C1 ... C10 of AHRI 540."""
    const, x, x2, y, y2, xy, x3, y3, x2y, xy2 = bicubic
    return const, x, y, x2, xy, y2, x3, x2y, xy2, y3


@pytest.fixture
def academic() -> CompressorMap:
    return CompressorMap(
        power=POWER, mass_flow=MASS, temperature_unit="F", mass_flow_unit="lb/h", superheat_k=20.0 / 1.8,
        evap_k=(fahrenheit(-10), fahrenheit(55)), cond_k=(fahrenheit(80), fahrenheit(140)),
    )  # fmt: skip


@pytest.fixture
def low_temperature() -> CompressorMap:
    return CompressorMap(
        power=ahri_order(RECORD["power_w"]), capacity=ahri_order(RECORD["capacity_w"]),
        return_gas_k=18.3 + 273.15, evap_k=(233.15, 255.35), cond_k=(283.15, 322.05),
    )  # fmt: skip


def test_published_coefficients_at_45_130_f(academic: CompressorMap) -> None:
    """Worked value of the AHRI 540 polynomial with the coefficients above: 459.448 lb/h, 3074.97 W."""
    mass, power, amps = academic.raw(fahrenheit(45.0), fahrenheit(130.0))
    assert mass / LB_H == pytest.approx(459.448, abs=0.001)
    assert power == pytest.approx(3074.97, abs=0.01)
    assert amps is None


def test_low_temperature_record(low_temperature: CompressorMap) -> None:
    """EnergyPlus record "R-404A low" at (-30, 40) C: 5317.0 W, 3510.7 W, COP 1.515 (SOURCE.md beside it)."""
    capacity = low_temperature.capacity_w(243.15, 313.15)
    power = low_temperature.power_w(243.15, 313.15)
    assert capacity == pytest.approx(5317.0, abs=0.1)
    assert power == pytest.approx(3510.7, abs=0.1)
    assert capacity / power == pytest.approx(1.515, abs=0.001)


def test_superheat_correction_on_r134a(academic: CompressorMap) -> None:
    """The same module's case on R-134a: correction of Dabiri & Rice 1981, properties from CoolProp 8.

    Suction 279 K saturated, 280 K gas; discharge 315 K saturated; 15 % of the input lost as heat:
    map 0.0572553 kg/s and 2247.78 W, v_map/v 1.05231, corrected 0.0595016 kg/s and 2211.3 W,
    isentropic efficiency 0.6108, discharge 327.77 K, suction volume flow 3.3935e-3 m3/s.
    """
    gas = eos_gas("R-134a")
    suction_pa, discharge_pa = gas.dew_pa(279.0), gas.dew_pa(315.0)
    mass_map, power_map, _ = academic.raw(279.0, 315.0)
    assert mass_map == pytest.approx(0.0572553, abs=1e-7)
    assert power_map == pytest.approx(2247.78, abs=0.01)
    h, s, v, _ = gas.vapour(280.0, suction_pa)
    assert gas.vapour(279.0 + 20.0 / 1.8, suction_pa)[2] / v == pytest.approx(1.05231, abs=1e-5)
    mass, power = from_map(academic, gas).flow_power(gas, suction_pa, 280.0, discharge_pa)
    assert mass == pytest.approx(0.0595016, abs=1e-7)
    assert power == pytest.approx(2211.3, abs=0.1)
    assert mass * v == pytest.approx(3.3935e-3, abs=1e-7)
    assert mass * (gas.vapour_h_ps(discharge_pa, s) - h) / power == pytest.approx(0.6108, abs=1e-4)
    leaving_h = discharge_h(h, mass, power, 0.15)
    assert gas.vapour_k_ph(discharge_pa, leaving_h) == pytest.approx(327.77, abs=0.01)


def test_correction_by_hand() -> None:
    """Dabiri & Rice 1981: gas 10 % denser than the map's raises flow by F times 10 %."""
    mass, power = superheat_corrected(2.0, 100.0, 1.1, 0.9)
    assert mass == pytest.approx(2.0 * 1.075)
    assert power == pytest.approx(100.0 * 1.075 * 0.9)
    assert superheat_corrected(2.0, 100.0, 1.1, 1.0, fraction=0.0) == (2.0, 100.0)


def test_flow_from_capacity(low_temperature: CompressorMap) -> None:
    """At the map's own gas the flow is the published capacity over the enthalpy difference."""
    gas = eos_gas("R-404A")
    suction_pa, discharge_pa = gas.dew_pa(243.15), gas.dew_pa(313.15)
    mass, power = from_map(low_temperature, gas).flow_power(gas, suction_pa, 18.3 + 273.15, discharge_pa)
    effect = gas.vapour(18.3 + 273.15, suction_pa)[0] - gas.h_bubble(discharge_pa)
    assert mass * effect == pytest.approx(5317.0, abs=0.2)
    assert power == pytest.approx(3510.7, abs=0.1)


def test_units_agree(academic: CompressorMap) -> None:
    """The same machine with outputs in kg/h and kW."""
    metric = CompressorMap(
        power=tuple(value / 1000.0 for value in POWER),
        mass_flow=tuple(value * 0.45359237 for value in MASS),
        current=(12.0, *[0.0] * 9),
        temperature_unit="F", mass_flow_unit="kg/h", power_unit="kW", superheat_k=20.0 / 1.8,
    )  # fmt: skip
    mass, power, amps = metric.raw(280.0, 320.0)
    expected_mass, expected_power, _ = academic.raw(280.0, 320.0)
    assert mass == pytest.approx(expected_mass, rel=1e-12)
    assert power == pytest.approx(expected_power, rel=1e-12)
    assert amps == 12.0
    assert metric.amps(280.0, 320.0) == 12.0


def test_kelvin_and_celsius() -> None:
    celsius = CompressorMap(power=(1.0, 2.0, 3.0, *[0.0] * 7), mass_flow=(1.0, *[0.0] * 9), superheat_k=10.0)
    kelvin = CompressorMap(
        power=(1.0 - 5.0 * 273.15, 2.0, 3.0, *[0.0] * 7), mass_flow=(1.0, *[0.0] * 9), temperature_unit="K",
        superheat_k=10.0,
    )  # fmt: skip
    assert celsius.raw(263.15, 313.15)[1] == pytest.approx(1.0 - 20.0 + 120.0)
    assert kelvin.power_w(263.15, 313.15) == pytest.approx(celsius.power_w(263.15, 313.15))


def test_limits_are_told(academic: CompressorMap) -> None:
    assert academic.inside(fahrenheit(45.0), fahrenheit(130.0))
    assert not academic.inside(fahrenheit(-11.0), fahrenheit(130.0))
    assert not academic.inside(fahrenheit(45.0), fahrenheit(141.0))


def test_every_fault_is_named_at_once() -> None:
    with pytest.raises(InputErrors) as caught:
        CompressorMap(
            power=(1.0, 2.0), temperature_unit="R", subcooling_k=-1.0, evap_k=(260.0, 250.0)  # type: ignore[arg-type]
        )  # fmt: skip
    fields = {problem.field.removeprefix("compressor_map.") for problem in caught.value.problems}
    assert fields == {"power", "mass_flow", "temperature_unit", "return_gas_k", "subcooling_k", "evap_k"}


def test_two_ratings_are_one_too_many() -> None:
    with pytest.raises(InputErrors, match="return_gas_k"):
        CompressorMap(power=POWER, mass_flow=MASS, return_gas_k=291.45, superheat_k=11.0)


def test_missing_lists_are_told(academic: CompressorMap, low_temperature: CompressorMap) -> None:
    with pytest.raises(InputError, match="from_map"):
        low_temperature.raw(243.15, 313.15)
    with pytest.raises(InputError, match="mass flow only"):
        academic.capacity_w(280.0, 320.0)


def test_wrong_order_is_noticed() -> None:
    """Coefficients in the data set's own order turn negative somewhere in the limits."""
    wrong = CompressorMap(
        power=tuple(RECORD["power_w"]), capacity=tuple(RECORD["capacity_w"]), return_gas_k=18.3 + 273.15,
        evap_k=(233.15, 255.35), cond_k=(283.15, 322.05),
    )  # fmt: skip
    with pytest.raises(InputError, match="coefficient order"):
        from_map(wrong, eos_gas("R-404A"))


def test_map_goes_on_continuously(low_temperature: CompressorMap) -> None:
    """Half a millikelvin either side of each limit, flow and power agree; far outside they stay sound."""
    gas = eos_gas("R-404A")
    model = from_map(low_temperature, gas)

    def at(evap_k: float, cond_k: float) -> tuple[float, float]:
        return model.flow_power(gas, gas.dew_pa(evap_k), evap_k + 12.0, gas.dew_pa(cond_k))

    for inner, outer in (
        ((233.151, 300.0), (233.149, 300.0)), ((255.349, 300.0), (255.351, 300.0)),
        ((245.0, 283.151), (245.0, 283.149)), ((245.0, 322.049), (245.0, 322.051)),
    ):  # fmt: skip
        assert at(*inner) == pytest.approx(at(*outer), rel=2e-4)
    flows = [at(evap_k, 318.0)[0] for evap_k in (225.0, 233.0, 240.0, 255.0, 262.0, 275.0, 290.0)]
    assert flows == sorted(flows)
    assert not model.inside(gas, gas.dew_pa(275.0), gas.dew_pa(318.0))
    assert model.inside(gas, gas.dew_pa(245.0), gas.dew_pa(318.0))


def test_map_at_equal_pressures(low_temperature: CompressorMap) -> None:
    """At start the pressures are equal: the map's own isentropic rise is nil and must not divide."""
    gas = eos_gas("R-404A")
    model = from_map(low_temperature, gas)
    mass, power = model.flow_power(gas, 6.0e5, 300.0, 6.0e5)
    near_mass, near_power = model.flow_power(gas, 6.0e5, 300.0, 6.05e5)
    assert mass == pytest.approx(near_mass, rel=0.01)
    assert power == pytest.approx(near_power, rel=0.05)


def test_map_current_only_inside_limits(low_temperature: CompressorMap) -> None:
    gas = eos_gas("R-404A")
    with_current = CompressorMap(
        power=low_temperature.power, capacity=low_temperature.capacity, current=(5.0, 0.1, *[0.0] * 8),
        return_gas_k=291.45, evap_k=low_temperature.evap_k, cond_k=low_temperature.cond_k,
    )  # fmt: skip
    model = from_map(with_current, gas)
    assert model.map_amps(gas, gas.dew_pa(243.15), gas.dew_pa(313.15)) == pytest.approx(2.0)
    assert model.map_amps(gas, gas.dew_pa(273.15), gas.dew_pa(313.15)) is None
    assert from_map(low_temperature, gas).map_amps(gas, 2e5, 18e5) is None
