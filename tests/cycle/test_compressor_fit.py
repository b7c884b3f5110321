"""The fitting tool: reads a data set by its own rules, and finds the truth in a made-up one."""

from __future__ import annotations

import math

import pytest

from cycle.compressor_oracle import tool

# Made up for this test: both machines use curves of the same names, redefined between them.
DATA_SET = """
! a comment with , and ;
  Curve:Bicubic, q,      !- Name
    1000., 1., 2., 3., 4., 5., 6., 7., 8., 9., -40., -10., 10., 50.;
  Curve:Bicubic, w, 500., 0, 0, 0, 0, 0, 0, 0, 0, 0, -40., -10., 10., 50.;
  Refrigeration:Compressor, Anyone_R-404A_LOW_AB12, w, q, , 18.3, , 0.0;
  Curve:Bicubic, Q, 2000., 0, 0, 0, 0, 0, 0, 0, 0, 0, -18., 5., 10., 50.;
  Curve:Bicubic, w, 700., 0, 0, 0, 0, 0, 0, 0, 0, 0, -18., 5., 10., 50.;
  Refrigeration:Compressor, Anyone-SCROLL-60HZ_R-507_MED_CD34, W, q, , 4.4, 4.4;
  Refrigeration:Compressor, Anyone-WELDED_R-22_HIGH_EF56, W, q, , 18.3, , 5.6;
  Refrigeration:Compressor, Anyone_R-22_LOW_NOCURVE, missing, q, , 18.3, , 0.0;
  Refrigeration:Compressor, Anyone_R-999_LOW_NOFLUID, w, q, , 18.3, , 0.0;
  Curve:Bicubic, q, 9999., 0, 0, 0, 0, 0, 0, 0, 0, 0, -18., 5., 10., 50.;
"""


def test_each_machine_gets_the_latest_curve_before_it() -> None:
    first, second, third = tool("records").machines(DATA_SET)
    assert first.capacity[0] == 1000.0
    assert first.power[0] == 500.0
    assert second.capacity[0] == third.capacity[0] == 2000.0
    assert second.power[0] == 700.0
    assert first.limits_c == (-40.0, -10.0, 10.0, 50.0)


def test_labels_and_ratings_are_read() -> None:
    first, second, third = tool("records").machines(DATA_SET)
    assert first.group == ("semi_hermetic", "low", "R-404A")
    assert second.group == ("scroll", "medium", "R-404A")
    assert third.group == ("hermetic", "medium", "R-22")
    assert (first.return_gas_c, first.liquid_c, first.subcooling_k) == (18.3, None, 0.0)
    assert (second.return_gas_c, second.liquid_c) == (4.4, 4.4)
    assert third.subcooling_k == 5.6
    assert [machine.designation for machine in (first, second, third)] == ["AB12", "CD34", "EF56"]


def test_bicubic_order() -> None:
    """const, x, x2, y, y2, xy, x3, y3, x2y, xy2 (EnergyPlus Input Output Reference, Curve:Bicubic)."""
    first = tool("records").machines(DATA_SET)[0]
    x, y = 2.0, 3.0
    by_hand = 1000 + 1 * x + 2 * x**2 + 3 * y + 4 * y**2 + 5 * x * y + 6 * x**3 + 7 * y**3
    by_hand += 8 * x * x * y + 9 * x * y * y
    assert tool("records").bicubic(first.capacity, x, y) == pytest.approx(by_hand)


def test_halves_are_told_apart_by_designation_alone() -> None:
    records = tool("records")
    names = [f"M{number}" for number in range(400)]
    text = DATA_SET + "".join(
        f"Refrigeration:Compressor, {label}_R-22_LOW_{name}, w, q, , 18.3, , 0.0;\n"
        for name in names
        for label in ("A-50HZ", "A-60HZ")
    )
    made = [machine for machine in records.machines(text) if machine.designation.startswith("M")]
    by_name: dict[str, set[bool]] = {}
    for machine in made:
        by_name.setdefault(machine.designation, set()).add(machine.held_out)
    assert all(len(sides) == 1 for sides in by_name.values())
    assert 150 < len([name for name, sides in by_name.items() if True in sides]) < 250


def test_envelope_drops_two_corners() -> None:
    inside = tool("points").envelope
    assert inside(0.5, 0.5)
    assert inside(0.0, 0.0)
    assert inside(1.0, 1.0)
    assert not inside(0.0, 1.0)
    assert not inside(1.0, 0.0)
    assert not inside(0.0, 0.7)


def known_machine(swept_m3_s: float, scale: float):
    """Return points whose flow and power follow a known curve exactly."""
    points, fit = tool("points"), tool("fit")
    machine = tool("records").machines(DATA_SET)[2]
    grid = points.points(machine)
    assert grid is not None
    table = fit.Table([grid], 266.45)
    efficiency = table.efficiency(0.12)
    mass = swept_m3_s * efficiency / grid.suction_v
    work = 1.1 * efficiency * grid.rise / grid.suction_v
    work += 0.2 * grid.suction_pa + 0.05 * grid.discharge_pa + 0.25 * table.reference_pa
    values = {**grid.__dict__, "mass": mass, "power": scale * swept_m3_s * work}
    return points.Points(**values)


def test_fit_finds_a_known_curve() -> None:
    fit = tool("fit")
    machines = [known_machine(0.001, 0.9), known_machine(0.004, 1.0), known_machine(0.010, 1.2)]
    table = fit.Table(machines, 266.45)
    found = fit.fit(table)
    assert found.slip == pytest.approx(0.12, rel=1e-3)
    assert found.factors == pytest.approx([1.1, 0.2, 0.05, 0.25], rel=0.02)
    capacity, power = fit.errors(table, found)
    assert max(*capacity, *power) < 1e-3
    assert found.swept_m3_s == pytest.approx(0.004, rel=1e-2)


def test_size_exponent_is_found() -> None:
    """Three machines whose power per swept volume goes with size to the power -0.1."""
    fit = tool("fit")
    machines = [known_machine(size, (size / 0.004) ** -0.1) for size in (0.001, 0.004, 0.010)]
    table = fit.Table(machines, 266.45)
    found = fit.fit(table)
    exponent = fit.size_exponent([(table, found)])
    assert exponent == pytest.approx(-0.1, abs=1e-3)
    assert fit.typical_error(table, found, exponent) == pytest.approx(1.0, abs=2e-3)
    shifted = fit.Fit(found.slip, found.factors * 0.8, found.swept_m3_s)
    assert fit.centred(table, shifted, exponent).factors == pytest.approx(found.factors, rel=2e-3)


def test_errors_are_errors() -> None:
    """A curve with a wrong slip is off by what the exponentials say."""
    fit = tool("fit")
    table = fit.Table([known_machine(0.001, 1.0)], 266.45)
    right = fit.fit(table)
    wrong = fit.Fit(right.slip * 2.0, right.factors, right.swept_m3_s)
    (median, p90), _ = fit.errors(table, wrong)
    assert 0.005 < median < p90 < 0.5
    assert math.isfinite(p90)


def test_a_curve_is_carried_over_in_level() -> None:
    """Hermetic takes 1.3 times the power of semi-hermetic at medium temperature: so it does at low."""
    fit = tool("fit")
    table = fit.Table([known_machine(0.004, 1.0)], 266.45)
    curve = fit.fit(table)
    worse = fit.Fit(curve.slip, curve.factors * 1.3, curve.swept_m3_s)
    low = fit.Fit(curve.slip, curve.factors * 0.9, curve.swept_m3_s)
    fitted = {
        ("hermetic", "medium", "R-22"): (table, worse),
        ("semi_hermetic", "medium", "R-22"): (table, curve),
        ("semi_hermetic", "low", "R-22"): (table, low),
    }
    assert fit.carried(fitted, "R-22").factors == pytest.approx(low.factors * 1.3)
