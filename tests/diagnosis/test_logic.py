"""Diagnosis from a model: the published polybox, and minimal hitting sets against enumeration.

Polybox: de Kleer and Williams, Diagnosing multiple faults, Artificial Intelligence 32, 1987. Sets of
conflicts and diagnoses as in the Edinburgh knowledge-engineering notes and MIT 16.412 notes. The chances
follow from the stated inputs (each component fails with 0.01, a failed one says nothing, a silent candidate
gives each of 16 values the same chance) by enumeration of the 32 sets.
"""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdcold.diagnosis.logic import (
    Candidates,
    Component,
    Rule,
    adder,
    candidates,
    find,
    minimal_hitting_sets,
    multiplier,
)
from holdcold.errors import InputError

INPUTS = {"A": 3.0, "B": 2.0, "C": 2.0, "D": 3.0, "E": 3.0}
OUTPUTS = {"F": 10.0, "G": 12.0}
POSSIBLE = 16
Sets = set[frozenset[str]]


def polybox(chance: float = 0.01) -> list[Component]:
    """Return the three multipliers and two adders."""
    return [
        multiplier("M1", "A", "C", "X", chance),
        multiplier("M2", "B", "D", "Y", chance),
        multiplier("M3", "C", "E", "Z", chance),
        adder("A1", "X", "Y", "F", chance),
        adder("A2", "Y", "Z", "G", chance),
    ]


def sets(*words: str) -> Sets:
    """Return each text's words as a set."""
    return {frozenset(word.split()) for word in words}


@pytest.fixture
def found() -> Candidates:
    """Return the candidates after F and G were measured."""
    return candidates(find(polybox(), {**INPUTS, **OUTPUTS}))


def test_conflicts_and_minimal_diagnoses() -> None:
    findings = find(polybox(), {**INPUTS, **OUTPUTS})
    assert set(findings.conflicts) == sets("A1 M1 M2", "A1 A2 M1 M3")
    assert set(minimal_hitting_sets(findings.conflicts)) == sets("A1", "M1", "A2 M2", "M2 M3")


@pytest.mark.parametrize(
    ("x", "conflicts", "diagnoses"),
    [
        (4.0, ["M1"], ["M1"]),
        (6.0, ["A1 M2", "A1 A2 M3"], ["A1", "M2 M3", "A2 M2"]),
        (5.0, ["M1", "A1 M2", "A1 A2 M3"], ["A1 M1", "M1 M2 M3", "A2 M1 M2"]),
    ],
)
def test_after_measuring_x(x: float, conflicts: list[str], diagnoses: list[str]) -> None:
    findings = find(polybox(), {**INPUTS, **OUTPUTS, "X": x})
    assert set(findings.conflicts) == sets(*conflicts)
    assert set(minimal_hitting_sets(findings.conflicts)) == sets(*diagnoses)


def test_chances_of_candidates(found: Candidates) -> None:
    by_name = found.by_name()
    assert len(by_name) == 27
    assert by_name[frozenset({"M1"})] == pytest.approx(0.478026, abs=5e-7)
    assert by_name[frozenset({"A1"})] == pytest.approx(0.478026, abs=5e-7)
    doubles = {names: chance for names, chance in by_name.items() if len(names) == 2}
    assert set(doubles) == sets(
        "M1 M2", "M1 M3", "M1 A1", "M1 A2", "M2 M3", "M2 A1", "M2 A2", "M3 A1", "A1 A2"
    )
    assert list(doubles.values()) == [pytest.approx(0.004829, abs=5e-7)] * 9


def test_marginals_and_entropy(found: Candidates) -> None:
    expected = {"M1": 0.497635, "A1": 0.497635, "M2": 0.019609, "M3": 0.014780, "A2": 0.014780}
    assert found.marginals() == pytest.approx(expected, abs=5e-7)
    assert found.entropy_bits() == pytest.approx(1.35945, abs=5e-6)


@pytest.mark.parametrize(
    ("name", "bits", "outcomes"),
    [
        ("X", 0.32626, {4.0: 0.49288, 6.0: 0.50268, None: 0.00444}),
        ("Y", 1.27826, {6.0: 0.99011, 4.0: 0.00972, None: 0.00017}),
        ("Z", 1.31246, {6.0: 0.99494, 8.0: 0.00484, None: 0.00022}),
    ],
)
def test_expected_entropy_of_each_measurement(
    found: Candidates, name: str, bits: float, outcomes: dict[float | None, float]
) -> None:
    assert found.expected_entropy_bits(name, POSSIBLE) == pytest.approx(bits, abs=5e-6)
    assert found.outcomes(name, POSSIBLE) == pytest.approx(outcomes, abs=5e-6)


@pytest.mark.parametrize(
    ("x", "first", "chance", "others", "each"),
    [
        (4.0, "M1", 0.96987, ["M1 M2", "M1 M3", "M1 A2"], 0.00980),
        (6.0, "A1", 0.95095, ["M2 M3", "M2 A1", "M2 A2", "M3 A1"], 0.00961),
    ],
)
def test_chances_after_measuring_x(
    found: Candidates, x: float, first: str, chance: float, others: list[str], each: float
) -> None:
    by_name = found.after("X", x, POSSIBLE).by_name()
    assert by_name[frozenset({first})] == pytest.approx(chance, abs=5e-6)
    assert [by_name[names] for names in sets(*others)] == [pytest.approx(each, abs=5e-6)] * len(others)


@pytest.mark.parametrize("chance", [1e-4, 0.01, 0.1, 0.5])
@pytest.mark.parametrize("possible", [3, 16, 1000])
def test_x_is_best_whatever_the_crude_chances(chance: float, possible: int) -> None:
    """Crude equal chances choose as well as exact ones (de Kleer, Using crude probability estimates)."""
    now = candidates(find(polybox(chance), {**INPUTS, **OUTPUTS}))
    left = [now.expected_entropy_bits(name, possible) for name in "XYZ"]
    assert left[0] < left[1] < left[2]


def test_nothing_wrong_without_contradiction() -> None:
    findings = find(polybox(), {**INPUTS, "F": 12.0, "G": 12.0})
    assert findings.conflicts == ()
    assert minimal_hitting_sets(findings.conflicts) == (frozenset(),)
    assert max(candidates(findings).by_name().items(), key=lambda item: item[1])[0] == frozenset()


def test_a_value_that_cannot_be_told() -> None:
    """A product with zero tells nothing of the other factor."""
    findings = find([multiplier("M", "A", "B", "C", 0.01)], {"A": 0.0, "C": 0.0})
    assert findings.predicted("B", 0) is None


def test_control_chain_as_components() -> None:
    """Four contacts in series: supply at the start, none at the end, and a meter in the middle halves it."""
    chain = [
        Component(f"K{i}", (Rule((f"v{i}",), f"v{i + 1}", lambda volts: volts),), 0.02) for i in range(4)
    ]
    whole = find(chain, {"v0": 24.0, "v4": 0.0})
    assert set(minimal_hitting_sets(whole.conflicts)) == sets("K0", "K1", "K2", "K3")
    half = find(chain, {"v0": 24.0, "v2": 24.0, "v4": 0.0})
    assert set(minimal_hitting_sets(half.conflicts)) == sets("K2", "K3")


def test_measurements_that_contradict_each_other_are_refused(found: Candidates) -> None:
    sure = found.after("X", 6.0, POSSIBLE)
    only_a1 = Candidates(sure.findings, {0b01000: 1.0})  # A1 alone failed: X is 6
    with pytest.raises(InputError):
        only_a1.after("X", 4.0, POSSIBLE)


def test_too_many_components_are_refused() -> None:
    with pytest.raises(InputError):
        find([multiplier(f"M{i}", "A", "B", f"C{i}", 0.01) for i in range(17)], {"A": 1.0})
    with pytest.raises(InputError):
        find([multiplier("M", "A", "B", "C", 0.01)] * 2, {"A": 1.0})


@given(st.lists(st.frozensets(st.sampled_from("abcdef"), min_size=1), max_size=5))
def test_hitting_sets_equal_enumeration(conflicts: list[frozenset[str]]) -> None:
    subsets = [frozenset(s) for size in range(7) for s in itertools.combinations("abcdef", size)]
    hitting = [one for one in subsets if all(one & conflict for conflict in conflicts)]
    minimal = {one for one in hitting if not any(other < one for other in hitting)}
    assert set(minimal_hitting_sets(conflicts)) == minimal
