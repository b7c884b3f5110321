"""Names, facts and provenance of each refrigerant."""

from __future__ import annotations

import math

import pytest

from holdcold.errors import UnknownNameError
from holdcold.refrigerants import fluid, names

# Composition [mass %], safety group, warming potential (AR4 basis, EU basis).
#
# Composition and group: ASHRAE Handbook - Fundamentals 2021 (SI), chapter 29, tables 1 and 2, which repeat
# ASHRAE 34. R-454C and R-455A are not in that table: composition from the list of predefined mixtures in
# the documentation of NIST REFPROP ("included in the ASHRAE 34 Standard"), group from memory. AR4: table 4
# of that chapter (three figures) for the blends; table 3A for R-22, R-134a, R-32, R-744; 4 for R-1234yf, 3
# for R-290 and R-600a, 148 for R-454C and R-455A from memory. EU: Regulation (EU) 2024/573, sums of
# component values (R-1234yf 0.501 and R-1234ze(E) 1.37 as in IPCC AR6 table 7.SM.7; hydrocarbons from
# memory), none with an HCFC.
FACTS = {
    "R-22": ({"R-22": 100}, "A1", 1810, None),
    "R-32": ({"R-32": 100}, "A2L", 675, 675),
    "R-134a": ({"R-134a": 100}, "A1", 1430, 1430),
    "R-290": ({"R-290": 100}, "A3", 3, 0.02),
    "R-402A": ({"R-125": 60, "R-290": 2, "R-22": 38}, "A1", 2790, None),
    "R-402B": ({"R-125": 38, "R-290": 2, "R-22": 60}, "A1", 2420, None),
    "R-404A": ({"R-125": 44, "R-143a": 52, "R-134a": 4}, "A1", 3920, 3921.6),
    "R-407A": ({"R-32": 20, "R-125": 40, "R-134a": 40}, "A1", 2110, 2107),
    "R-407C": ({"R-32": 23, "R-125": 25, "R-134a": 52}, "A1", 1770, 1773.8),
    "R-407F": ({"R-32": 30, "R-125": 30, "R-134a": 40}, "A1", 1820, 1824.5),
    "R-408A": ({"R-125": 7, "R-143a": 46, "R-22": 47}, "A1", 3150, None),
    "R-409A": ({"R-22": 60, "R-124": 25, "R-142b": 15}, "A1", 1580, None),
    "R-410A": ({"R-32": 50, "R-125": 50}, "A1", 2090, 2087.5),
    "R-422D": ({"R-125": 65.1, "R-134a": 31.5, "R-600a": 3.4}, "A1", 2730, 2729),
    "R-427A": ({"R-32": 15, "R-125": 25, "R-143a": 10, "R-134a": 50}, "A1", 2140, 2138.2),
    "R-438A": (
        {"R-32": 8.5, "R-125": 45, "R-134a": 44.2, "R-600": 1.7, "R-601a": 0.6}, "A1", 2260, 2264.4,
    ),
    "R-448A": (
        {"R-32": 26, "R-125": 26, "R-1234yf": 20, "R-134a": 21, "R-1234ze(E)": 7}, "A1", 1390, 1386.0,
    ),
    "R-449A": ({"R-32": 24.3, "R-125": 24.7, "R-1234yf": 25.3, "R-134a": 25.7}, "A1", 1400, 1396.2),
    "R-450A": ({"R-134a": 42, "R-1234ze(E)": 58}, "A1", 605, 601.4),
    "R-452A": ({"R-32": 11, "R-125": 59, "R-1234yf": 30}, "A1", 2140, 2139.4),
    "R-453A": (
        {"R-32": 20, "R-125": 20, "R-134a": 53.8, "R-227ea": 5, "R-600": 0.6, "R-601a": 0.6},
        "A1", 1770, 1765.3,
    ),
    "R-454A": ({"R-32": 35, "R-1234yf": 65}, "A2L", 239, 236.6),
    "R-454B": ({"R-32": 68.9, "R-1234yf": 31.1}, "A2L", 466, 465.2),
    "R-454C": ({"R-32": 21.5, "R-1234yf": 78.5}, "A2L", 148, 145.5),
    "R-455A": ({"R-744": 3, "R-32": 21.5, "R-1234yf": 75.5}, "A2L", 148, 145.5),
    "R-507A": ({"R-125": 50, "R-143a": 50}, "A1", 3990, 3985),
    "R-513A": ({"R-1234yf": 56, "R-134a": 44}, "A1", 631, 629.5),
    "R-600a": ({"R-600a": 100}, "A3", 3, 0),
    "R-744": ({"R-744": 100}, "A1", 1, 1),
    "R-1234yf": ({"R-1234yf": 100}, "A2L", 4, 0.501),
}  # fmt: skip
# CoolProp 8.0.0 holds no parameters for a pair of these.
ESTIMATED = {"R-402A", "R-402B", "R-408A", "R-409A", "R-438A", "R-453A"}


def test_the_catalogue_holds_these() -> None:
    assert set(names()) == set(FACTS)
    assert len(names()) >= 28


@pytest.mark.parametrize("name", list(FACTS))
def test_facts(name: str) -> None:
    composition, safety_class, ar4, eu = FACTS[name]
    info = fluid(name).info
    assert {part: 100.0 * share for part, share in info.composition.items()} == pytest.approx(composition)
    assert math.fsum(info.composition.values()) == pytest.approx(1.0, abs=1e-12)
    assert info.safety_class == safety_class
    by_basis = {basis.split(",")[0]: value for basis, value in info.gwp.items()}
    # Three figures: half a unit of the third.
    assert by_basis["AR4"] == pytest.approx(ar4, rel=0.005)
    assert by_basis.get("Regulation (EU) 2024/573") == (None if eu is None else pytest.approx(eu, abs=0.06))


@pytest.mark.parametrize("name", list(FACTS))
def test_status_and_note(name: str) -> None:
    """A fluid of estimated pairs says which, by what rule and why, how far another rule lies, and warns."""
    info = fluid(name).info
    if name not in ESTIMATED:
        assert info.status == "full"
        assert "estimated" not in info.provenance.get("mixing rules", "")
        return
    assert info.status == "estimated pairs"
    assert "estimated" in info.provenance["mixing rules"]
    assert "second rule" in info.provenance["mixing rules"]
    assert "points of R-4" in info.provenance["estimated pairs"]
    assert info.reference_spread["dew pressure"].worst > 1.0
    assert info.reference_spread["normal bubble point"].unit == "K"
    assert "estimated" in info.note


def test_pressure_spread() -> None:
    """Of R-402A the simple rule, of R-408A the published boiling point, of R-454C an older pair model."""
    assert fluid("R-402A").info.pressure_spread == pytest.approx(0.114, abs=0.001)
    assert fluid("R-408A").info.pressure_spread == pytest.approx(0.0485, abs=0.001)
    assert fluid("R-454C").info.pressure_spread == pytest.approx(0.031)
    assert fluid("R-404A").info.pressure_spread < 0.0003
    assert fluid("R-22").info.pressure_spread == 0.0


def test_limits_of_use_are_told() -> None:
    assert "Subcritical only" in fluid("R-744").info.note
    assert "lides" in fluid("R-455A").info.note
    assert fluid("R-134a").info.note == ""


# Atoms of C, H, F, Cl, O; their masses [g/mol] from IUPAC 2021, abridged.
MASSES = (12.011, 1.008, 18.998, 35.45, 15.999)
ATOMS = {
    "R-22": (1, 1, 2, 1, 0), "R-32": (1, 2, 2, 0, 0), "R-124": (2, 1, 4, 1, 0), "R-125": (2, 1, 5, 0, 0),
    "R-134a": (2, 2, 4, 0, 0), "R-142b": (2, 3, 2, 1, 0), "R-143a": (2, 3, 3, 0, 0),
    "R-227ea": (3, 1, 7, 0, 0), "R-290": (3, 8, 0, 0, 0), "R-600": (4, 10, 0, 0, 0),
    "R-600a": (4, 10, 0, 0, 0), "R-601a": (5, 12, 0, 0, 0),
    "R-744": (1, 0, 0, 0, 2), "R-1234yf": (3, 2, 4, 0, 0), "R-1234ze(E)": (3, 2, 4, 0, 0),
}  # fmt: skip


@pytest.mark.parametrize("name", list(FACTS))
def test_molar_mass_follows_from_the_composition(name: str) -> None:
    info = fluid(name).info
    moles = 0.0
    for part, share in info.composition.items():
        moles += share / math.fsum(n * mass for n, mass in zip(ATOMS[part], MASSES, strict=True))
    assert info.molar_mass_kg_mol == pytest.approx(1e-3 / moles, rel=1e-4)


@pytest.mark.parametrize("name", list(FACTS))
def test_provenance_says_enough(name: str) -> None:
    info = fluid(name).info
    words = info.provenance
    assert "CoolProp 8" in words["reference"]
    assert len(words["fitted"]) == len("2026-11-25")
    assert words["equations"]
    assert words["second model"]
    assert info.data_version >= 1
    if "mixture" in words["reference"]:
        pairs = len(info.composition) * (len(info.composition) - 1) // 2
        assert len(words["mixing rules"].split(";")) == pairs
        assert "CoolProp's own flash failed at" in words["saturation"]


@pytest.mark.parametrize(
    ("typed", "name"),
    [("R-448A", "R-448A"), ("r448a", "R-448A"), ("r 448 a", "R-448A"), ("R-134A", "R-134a")],
)
def test_spelling_does_not_matter(typed: str, name: str) -> None:
    assert fluid(typed).info.name == name
    assert fluid(typed) is fluid(name)


@pytest.mark.parametrize(
    ("typed", "near"), [("R-404", "R-404A"), ("R-449", "R-449A"), ("R-454D", "R-454C"), ("R507", "R-507A")]
)
def test_near_names_are_suggested(typed: str, near: str) -> None:
    with pytest.raises(UnknownNameError) as caught:
        fluid(typed)
    assert near in caught.value.suggestions
    assert near in str(caught.value)
    assert "R-290" in caught.value.allowed


@pytest.mark.parametrize("typed", ["", "-", "water", "448"])
def test_other_names_are_refused(typed: str) -> None:
    with pytest.raises(UnknownNameError, match="R-448A"):
        fluid(typed)


def test_facts_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        fluid("R-22").info.gwp["x"] = 1.0
