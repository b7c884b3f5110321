"""Every refrigerant against CoolProp 8.0.0 over its envelope (tests/reference/coolprop8/SOURCE.md).

Besides the promised accuracy, the error stored in each data file is tested: a point of this grid may not lie
further from the reference than the stored worst, except for a quarter that a coarser search may have missed.
"""

from __future__ import annotations

from collections import defaultdict

import pytest

from holdcold.refrigerants import fluid, names
from refrigerants.grids import (
    DENSITY,
    ENTHALPY_J_KG,
    ENTROPY_J_KGK,
    HEAT_CAPACITY,
    PRESSURE,
    TEMPERATURE_K,
    numbers,
    rows,
)

SATURATION = rows("coolprop8", "saturation.csv")
SINGLE_PHASE = rows("coolprop8", "single_phase.csv")
WET = rows("coolprop8", "wet.csv")
PROMISED = {
    "pressure": (PRESSURE, "%"),
    "temperature": (TEMPERATURE_K, "K"),
    "enthalpy": (ENTHALPY_J_KG, "kJ/kg"),
    "entropy": (ENTROPY_J_KGK, "J/(kg K)"),
    "density": (DENSITY, "%"),
    "heat capacity": (HEAT_CAPACITY, "%"),
}
PER_UNIT = {"%": 0.01, "K": 1.0, "kJ/kg": 1000.0, "J/(kg K)": 1.0, "1": 1.0}


def of(table: list[dict[str, str]], name: str) -> list[dict[str, str]]:
    """Return the lines of one refrigerant."""
    return [row for row in table if row["name"] == name]


def saturation_errors(name: str) -> dict[str, float]:
    """Return the largest difference of each saturated quantity."""
    f, worst = fluid(name), defaultdict(float)
    for row in of(SATURATION, name):
        t_k, bubble, dew, h_b, h_d, s_b, s_d, rho_b, rho_d = numbers(row, *list(row)[1:])
        found = {
            "bubble pressure": f.bubble_pa(t_k) / bubble - 1.0,
            "dew pressure": f.dew_pa(t_k) / dew - 1.0,
            "bubble temperature": f.bubble_k(bubble) - t_k,
            "dew temperature": f.dew_k(dew) - t_k,
        }
        found |= {
            "bubble enthalpy": f.h_bubble(bubble) - h_b,
            "dew enthalpy": f.h_dew(dew) - h_d,
            "bubble entropy": f.s_bubble(bubble) - s_b,
            "dew entropy": f.s_dew(dew) - s_d,
            "bubble density": f.rho_bubble(bubble) / rho_b - 1.0,
            "dew density": f.rho_dew(dew) / rho_d - 1.0,
        }
        for quantity, difference in found.items():
            worst[quantity] = max(worst[quantity], abs(difference))
    return worst


def single_phase_errors(name: str) -> dict[str, float]:
    """Return the largest difference of each property in each phase."""
    f, worst = fluid(name), defaultdict(float)
    for row in of(SINGLE_PHASE, name):
        t_k, p_pa, h, s, rho, cp = numbers(row, *list(row)[2:])
        phase = row["phase"]
        h_mine, s_mine, v_mine, cp_mine = (f.vapour if phase == "vapour" else f.liquid)(t_k, p_pa)
        for quantity, difference in (
            ("enthalpy", h_mine - h),
            ("entropy", s_mine - s),
            ("density", 1.0 / (v_mine * rho) - 1.0),
            ("heat capacity", cp_mine / cp - 1.0),
        ):
            key = f"{phase} {quantity}"
            worst[key] = max(worst[key], abs(difference))
    return worst


def test_grids_hold_every_refrigerant() -> None:
    for table in (SATURATION, SINGLE_PHASE):
        assert {row["name"] for row in table} == set(names())


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("errors", [saturation_errors, single_phase_errors])
def test_within_the_promise_and_the_stored_error(name: str, errors) -> None:
    stored = fluid(name).info.fit_error
    found = errors(name)
    assert found
    for quantity, difference in found.items():
        promised, unit = PROMISED[quantity.split(" ", 1)[1]]
        assert difference <= promised, quantity
        assert stored[quantity].unit == unit
        # 1e-7 stands for the ten digits of the grid where the stored error is as small as that.
        limit = 1.25 * stored[quantity].worst * PER_UNIT[unit] + 1e-7 * promised / PRESSURE
        assert difference <= limit, quantity


@pytest.mark.parametrize("name", names())
def test_stored_worst_points_keep_the_promise(name: str) -> None:
    stored = fluid(name).info.fit_error
    for phase in ("bubble", "dew", "vapour", "liquid"):
        kinds = ("pressure", "temperature") if phase in {"bubble", "dew"} else ("heat capacity",)
        for kind in (*kinds, "enthalpy", "entropy", "density"):
            error = stored[f"{phase} {kind}"]
            assert error.worst * PER_UNIT[error.unit] <= PROMISED[kind][0], f"{phase} {kind}, {error.where}"
            assert error.where


@pytest.mark.parametrize("name", sorted({row["name"] for row in WET}))
def test_between_bubble_and_dew(name: str) -> None:
    f = fluid(name)
    stored = f.info.fit_error
    for row in of(WET, name):
        p_pa, z, t_k, rho, quality = numbers(row, *list(row)[1:])
        # The stored glide error is that of the curve's shape; its ends carry those of bubble and dew.
        assert abs(f.wet_k(p_pa, z) - t_k) <= TEMPERATURE_K
        assert abs(f.wet_rho(p_pa, z) / rho - 1.0) <= DENSITY
        assert abs(f.wet_quality(p_pa, z) - quality) <= 1.5 * stored["wet quality"].worst + 1e-5
        state = f.state_ph(p_pa, f.h_bubble(p_pa) + z * (f.h_dew(p_pa) - f.h_bubble(p_pa)))
        assert state.phase == "wet"
        assert state.temperature_k == pytest.approx(t_k, abs=TEMPERATURE_K)


def test_quality_differs_from_the_enthalpy_fraction_where_a_blend_glides() -> None:
    """CoolProp's own equilibrium says so (wet.csv): a linear rule would pass for pure fluids only."""
    gaps = [abs(float(row["h_fraction"]) - float(row["quality"])) for row in of(WET, "R-454C")]
    assert max(gaps) > 0.01
