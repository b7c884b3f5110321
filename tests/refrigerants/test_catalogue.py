"""Names, facts and provenance of each refrigerant."""

from __future__ import annotations

import math

import pytest

from holdcold.errors import UnknownNameError
from holdcold.refrigerants import fluid, names

# Compositions: ASHRAE 34, from memory. Warming potentials: the AR4 sums reproduce the published blend values
# (3922, 2107, 1774, 1387, 1397, 148, 3985, 631); the others are sums with the component values of
# Regulation (EU) 2024/573 Annexes I and II (R-1234yf 0.501, R-1234ze(E) 1.37, R-290 0.02; from memory).
FACTS = {
    "R-22": ({"R-22": 100}, "A1", 1810, None),
    "R-134a": ({"R-134a": 100}, "A1", 1430, 1430),
    "R-290": ({"R-290": 100}, "A3", 3, 0.02),
    "R-404A": ({"R-125": 44, "R-143a": 52, "R-134a": 4}, "A1", 3921.6, 3921.6),
    "R-407A": ({"R-32": 20, "R-125": 40, "R-134a": 40}, "A1", 2107, 2107),
    "R-407C": ({"R-32": 23, "R-125": 25, "R-134a": 52}, "A1", 1773.8, 1773.8),
    "R-448A": (
        {"R-32": 26, "R-125": 26, "R-1234yf": 20, "R-134a": 21, "R-1234ze(E)": 7}, "A1", 1387.1, 1386.0,
    ),
    "R-449A": ({"R-32": 24.3, "R-125": 24.7, "R-1234yf": 25.3, "R-134a": 25.7}, "A1", 1397.0, 1396.2),
    "R-454C": ({"R-32": 21.5, "R-1234yf": 78.5}, "A2L", 148.3, 145.5),
    "R-507A": ({"R-125": 50, "R-143a": 50}, "A1", 3985, 3985),
    "R-513A": ({"R-1234yf": 56, "R-134a": 44}, "A1", 631.4, 629.5),
}  # fmt: skip


def test_the_catalogue_holds_these() -> None:
    assert set(names()) == set(FACTS)


@pytest.mark.parametrize("name", list(FACTS))
def test_facts(name: str) -> None:
    composition, safety_class, ar4, eu = FACTS[name]
    info = fluid(name).info
    assert {part: 100.0 * share for part, share in info.composition.items()} == pytest.approx(composition)
    assert math.fsum(info.composition.values()) == pytest.approx(1.0, abs=1e-12)
    assert info.safety_class == safety_class
    by_basis = {basis.split(",")[0]: value for basis, value in info.gwp.items()}
    assert by_basis["AR4"] == pytest.approx(ar4, abs=0.06)
    assert by_basis.get("Regulation (EU) 2024/573") == (None if eu is None else pytest.approx(eu, abs=0.06))


# Atoms of C, H, F, Cl; their masses [g/mol] from IUPAC 2021, abridged: 12.011, 1.008, 18.998, 35.45.
ATOMS = {
    "R-22": (1, 1, 2, 1), "R-134a": (2, 2, 4, 0), "R-290": (3, 8, 0, 0), "R-32": (1, 2, 2, 0),
    "R-125": (2, 1, 5, 0), "R-143a": (2, 3, 3, 0), "R-1234yf": (3, 2, 4, 0), "R-1234ze(E)": (3, 2, 4, 0),
}  # fmt: skip


@pytest.mark.parametrize("name", list(FACTS))
def test_molar_mass_follows_from_the_composition(name: str) -> None:
    info = fluid(name).info
    moles = 0.0
    for part, share in info.composition.items():
        carbon, hydrogen, fluorine, chlorine = ATOMS[part]
        moles += share / (12.011 * carbon + 1.008 * hydrogen + 18.998 * fluorine + 35.45 * chlorine)
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
    assert info.status == "full"
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
    ("typed", "near"), [("R-444A", "R-404A"), ("R-449", "R-449A"), ("R-454B", "R-454C"), ("R507", "R-507A")]
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
