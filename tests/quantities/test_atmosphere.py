"""Air pressure from altitude against the printed standard atmosphere, and gauges read up there."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdcold.errors import InputError
from holdcold.quantities import ambient_pa_at, parse
from holdcold.quantities.constants import PSI_PA

TABLE = Path(__file__).parents[1] / "reference" / "us_standard_atmosphere" / "pressure.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=[row["altitude_m"] for row in ROWS])
def test_printed_pressures(row: dict[str, str]) -> None:
    """Source: U.S. Standard Atmosphere 1976, Table I (= ISO 2533:1975 in this layer).

    Tolerance: one unit of the last of its five figures, for the reprints cut some and round others.
    """
    printed = float(row["pressure_pa"])
    assert ambient_pa_at(float(row["altitude_m"])) == pytest.approx(printed, rel=2.2e-5)


@given(st.floats(-500.0, 5_999.0), st.floats(0.1, 1.0))
def test_air_thins_with_height(altitude_m: float, step_m: float) -> None:
    assert ambient_pa_at(altitude_m + step_m) < ambient_pa_at(altitude_m)


@given(st.floats(-500.0, 6_000.0), st.floats(0.0, 400.0))
def test_a_gauge_counts_from_the_air_around_it(altitude_m: float, psig: float) -> None:
    """The same needle stands for less absolute pressure on a mountain, by the air that is missing."""
    ambient_pa = ambient_pa_at(altitude_m)
    here = parse(f"{psig:.6f} psig", "pressure", ambient_pa=ambient_pa)
    at_sea = parse(f"{psig:.6f} psig", "pressure")
    assert at_sea - here == pytest.approx(101_325.0 - ambient_pa, abs=1e-6)
    assert parse("30 psia", "pressure", ambient_pa=ambient_pa) == pytest.approx(30.0 * PSI_PA)


def test_denver() -> None:
    """About 12.2 psi of air at 5280 ft (common practice, no source); the printed rows above are the check."""
    assert ambient_pa_at(parse("5280 ft", "length")) / PSI_PA == pytest.approx(12.1, abs=0.1)


@pytest.mark.parametrize("altitude_m", [-501.0, 6_001.0, float("nan"), float("inf")])
def test_no_such_place(altitude_m: float) -> None:
    with pytest.raises(InputError) as caught:
        ambient_pa_at(altitude_m, field="--altitude")
    assert caught.value.field == "--altitude"
    assert "-500" in caught.value.allowed
