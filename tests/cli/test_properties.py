"""``holdcold sat`` and ``holdcold state``: the numbers, the names scripts rely on, and what is refused."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from holdcold.cli.main import main

PSI = 6_894.757293
ATM = 101_325.0
ENERGYPLUS = Path(__file__).parents[1] / "reference" / "energyplus_fluids"
Captured = pytest.CaptureFixture[str]


def answered(capsys: Captured, *words: str) -> dict[str, Any]:
    """Return the JSON that a command prints."""
    assert main([*words, "--json"]) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    return dict(json.loads(printed.out))


def refused(capsys: Captured, *words: str) -> list[dict[str, str]]:
    """Return the problems a command names with ``--json``."""
    assert main([*words, "--json"]) == 2
    printed = capsys.readouterr()
    assert printed.err == ""
    return list(json.loads(printed.out)["error"])


@pytest.mark.parametrize(
    ("refrigerant", "fahrenheit", "bubble_psig", "dew_psig"),
    [
        ("R-404A", "-20F", 16.8, 16.0),
        ("R-404A", "105F", 254.2, 252.1),
        ("R-407C", "25F", 57.7, 43.5),
        ("R-407C", "70F", 140.5, 117.3),
        ("R-134a", "-20F", -1.8, -1.8),
        ("R-134a", "40F", 35.0, 35.0),
        ("R-22", "105F", 210.8, 210.8),
        ("R-290", "0F", 23.7, 23.7),
        ("R-404A", "40F", 86.9, 85.4),
    ],
)
def test_pressures_at_a_temperature(
    capsys: Captured, refrigerant: str, fahrenheit: str, bubble_psig: float, dew_psig: float
) -> None:
    """Source: CoolProp 8.0.0 at the temperature, less 14.696 psia, printed to 0.1 psi.

    Tolerance: half of that digit and 0.05 % of the absolute pressure, the stated error of the fit.
    """
    found = answered(capsys, "sat", refrigerant, fahrenheit)
    for key, psig in (("bubble_pa", bubble_psig), ("dew_pa", dew_psig)):
        worst = 0.05 * PSI + 5e-4 * found[key]
        assert found[key] == pytest.approx(ATM + psig * PSI, abs=worst)


def test_temperatures_at_a_pressure(capsys: Captured) -> None:
    """Source: CoolProp 8.0.0: R-448A at 20 psig is -4.7 F dew and -16.1 F bubble."""
    found = answered(capsys, "sat", "R-448A", "20psig")
    assert set(found) == {"refrigerant", "pressure_pa", "bubble_k", "dew_k", "glide_k", "notes"}
    assert found["pressure_pa"] == pytest.approx(ATM + 20 * PSI)
    assert found["dew_k"] * 1.8 - 459.67 == pytest.approx(-4.7, abs=0.09)
    assert found["bubble_k"] * 1.8 - 459.67 == pytest.approx(-16.1, abs=0.09)
    assert found["glide_k"] == pytest.approx(found["dew_k"] - found["bubble_k"])


def test_fan_cut_in_and_freezer_cut_in(capsys: Captured) -> None:
    """250 psig of R-404A condenses near 104 F; 25 psig is about -8 F dew (common practice, no source)."""
    assert answered(capsys, "sat", "R-404A", "250psig")["dew_k"] * 1.8 - 459.67 == pytest.approx(104, abs=1)
    assert answered(capsys, "sat", "R-404A", "25psig")["dew_k"] * 1.8 - 459.67 == pytest.approx(-8.4, abs=0.5)


def test_names_at_a_temperature(capsys: Captured) -> None:
    found = answered(capsys, "sat", "R-448A", "250K")
    assert set(found) == {"refrigerant", "temperature_k", "bubble_pa", "dew_pa", "notes"}
    assert found["temperature_k"] == 250.0


def rows_of(name: str) -> list[dict[str, str]]:
    """The R-404A rows of one table."""
    lines = (ENERGYPLUS / name).read_text(encoding="utf-8").splitlines()
    return [row for row in csv.DictReader(lines) if row["fluid"] == "R-404A"]


def superheated_rows() -> list[dict[str, str]]:
    """Some superheated rows inside the envelope, dew points (the first of each isobar) left out."""
    dew = {(row["pressure_pa"], row["temperature_c"]) for row in rows_of("saturated.csv")}
    rows = [
        row for row in rows_of("superheated.csv") if (row["pressure_pa"], row["temperature_c"]) not in dew
    ]
    return [
        row for row in rows if 9e4 < float(row["pressure_pa"]) < 2.6e6 and float(row["temperature_c"]) < 72
    ][::5]


@pytest.mark.parametrize(
    "row", superheated_rows(), ids=lambda row: f"{row['pressure_pa']} Pa {row['temperature_c']} C"
)
def test_vapour_against_a_table(capsys: Captured, row: dict[str, str]) -> None:
    """Source: EnergyPlus 25.2.0 superheated R-404A table (tests/reference/energyplus_fluids), five figures.

    Tolerance: the stated error of the fit, 0.3 kJ/kg and 0.3 %.
    """
    found = answered(capsys, "state", "R-404A", f"{row['pressure_pa']} Pa", f"{row['temperature_c']} C")
    assert found["phase"] == "vapour"
    assert found["h_j_kg"] == pytest.approx(float(row["h_j_kg"]), abs=300)
    assert found["rho_kg_m3"] == pytest.approx(float(row["rho_kg_m3"]), rel=3e-3)


def test_names_of_a_state(capsys: Captured) -> None:
    always = {
        "refrigerant",
        "pressure_pa",
        "temperature_k",
        "phase",
        "h_j_kg",
        "s_j_kgk",
        "rho_kg_m3",
        "notes",
    }
    assert set(answered(capsys, "state", "R-448A", "30psig", "20F")) == always | {"superheat_k"}
    assert set(answered(capsys, "state", "R-448A", "250psig", "90F")) == always | {"subcooling_k"}
    wet = answered(capsys, "state", "R-448A", "30psig", "0F")
    assert set(wet) == always | {"quality"}
    assert 0.0 < wet["quality"] < 1.0


@pytest.mark.parametrize(
    "words",
    [
        ["20F", "30psig"],
        ["30", "psig", "20", "F"],
        ["30 psig", "20 °F"],
        ["20", "deg", "F", "30", "psig"],
    ],
)
def test_a_pair_may_be_typed_in_many_ways(capsys: Captured, words: list[str]) -> None:
    plain = answered(capsys, "state", "R-448A", "30psig", "20F")
    assert answered(capsys, "state", "R-448A", *words) == plain


@pytest.mark.parametrize("words", [["-10F"], ["-10", "F"], ["-10 °F"], ["−10F"], ["--", "-10F"]])
def test_below_zero(capsys: Captured, words: list[str]) -> None:
    """A word that starts with a minus and a digit is a quantity, not an option."""
    assert main(["sat", "R-404A", "--json", *words]) == 0
    assert json.loads(capsys.readouterr().out)["temperature_k"] == pytest.approx(249.816667)


def test_below_zero_in_a_pair(capsys: Captured) -> None:
    found = answered(capsys, "state", "R-404A", "10psig", "-10F")
    assert found["temperature_k"] == pytest.approx(249.816667)


def test_altitude(capsys: Captured) -> None:
    """At 5000 ft the air is 12.228 psia (U.S. Standard Atmosphere 1976): 20 psig there is 32.2 psia."""
    up_there = answered(capsys, "sat", "R-448A", "20psig", "--altitude", "5000ft")
    assert up_there["pressure_pa"] / PSI == pytest.approx(32.228, abs=0.005)
    absolute = answered(capsys, "sat", "R-448A", "32psia", "--altitude", "5000ft")
    assert absolute["pressure_pa"] / PSI == pytest.approx(32.0)
    below = answered(capsys, "sat", "R-448A", "20psig", "--altitude", "-200ft")
    assert below["pressure_pa"] > ATM + 20 * PSI


def test_for_people(capsys: Captured) -> None:
    """The wording; the numbers are those of the checks above, shown to a tenth."""
    assert main(["sat", "R-448A", "20", "psig"]) == 0
    us = capsys.readouterr().out
    assert "20.0 psig (34.7 psia)" in us
    assert "-4.7 °F" in us
    assert main(["sat", "r448a", "20 psig", "--units", "si"]) == 0
    si = capsys.readouterr().out
    assert "1.38 barg (2.39 bara)" in si
    assert "-20.4 °C" in si
    assert main(["state", "R-448A", "30psig", "20F"]) == 0
    assert "13.2 °F" in capsys.readouterr().out
    assert main(["state", "R-448A", "250psig", "90F"]) == 0
    assert "below bubble at 101." in capsys.readouterr().out


def test_doubtful_wording_is_told(capsys: Captured) -> None:
    assert answered(capsys, "sat", "R-448A", "20psi")["notes"] == [
        "reading: psi was taken as gauge pressure; write psia for absolute"
    ]
    assert main(["sat", "R-448A", "20psi"]) == 0
    assert "psi was taken as gauge pressure" in capsys.readouterr().out


def test_every_problem_is_listed(capsys: Captured) -> None:
    problems = refused(capsys, "sat", "R-448B", "95")
    assert [problem["field"] for problem in problems] == ["refrigerant", "reading"]
    assert "R-448A" in problems[0]["advice"]
    assert {"field", "value", "allowed", "advice"} == set(problems[0])
    problems = refused(capsys, "state", "R-999", "30psig", "20kg")
    assert [problem["field"] for problem in problems] == ["refrigerant", "second reading"]
    assert "This is a mass" in problems[1]["advice"]


@pytest.mark.parametrize(
    ("words", "allowed"),
    [
        (("sat", "R-404A", "900psig"), "psig"),
        (("sat", "R-404A", "-80F"), "-58.0 °F"),
        (("sat", "R-404A", "200F"), "147.4 °F"),
        (("state", "R-404A", "20psig", "400F"), "superheat to"),
        (("sat", "R-404A", "-500F"), "absolute zero"),
        (("sat", "R-404A", "-20psig"), "-14.70 psig"),
        (("sat", "R-404A", "20psig", "--altitude", "90000ft"), "6000 m"),
        (("sat", "R-404A", "20psig", "--altitude", "5000"), "length"),
        (("state", "R-404A", "20psig"), "one pressure and one temperature"),
        (("state", "R-404A", "20psig", "30psig"), "one pressure and one temperature"),
        (("state", "R-404A", "20psig", "30F", "5F"), "one pressure and one temperature"),
    ],
)
def test_the_allowed_range_is_told(capsys: Captured, words: tuple[str, ...], allowed: str) -> None:
    problems = refused(capsys, *words)
    assert allowed in problems[0]["allowed"]
    assert problems[0]["advice"]


def test_out_of_range_is_told_in_their_units(capsys: Captured) -> None:
    assert main(["sat", "R-404A", "900psig", "--units", "si"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "62.05 barg" in told.err
    assert "saturated from -50.0 °C" in told.err
    assert "Traceback" not in told.err
