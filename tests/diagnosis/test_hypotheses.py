"""Hypotheses of a call: what may be the matter, how likely before anything was seen, how bad it may be."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from holdcold.diagnosis.case import NONE, HypothesisKey
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.hypotheses import NO_PREDICTION, Hypotheses, Ladder, hypotheses, ladder
from support.calls import COOLER, FREEZER, PROPANE, REACH_IN, unit

BOOK = catalogue()
FACTS = st.fixed_dictionaries(
    {"kind": st.sampled_from(["walk_in", "reach_in"]), "application": st.sampled_from(["cooler", "freezer"])},
    optional={
        "expansion": st.sampled_from(["txv", "capillary"]),
        "receiver": st.sampled_from(["yes", "no"]),
        "phases": st.sampled_from(["1", "3"]),
        "compressor": st.sampled_from(["hermetic", "semi_hermetic", "scroll"]),
        "defrost": st.sampled_from(["none", "off_cycle", "electric", "hot_gas"]),
        "head_control": st.sampled_from(["none", "fan_cycling", "flooding_valve"]),
        "ports": st.sampled_from(["yes", "no"]),
    },
)
PIECES = st.fixed_dictionaries({"coil_fans": st.integers(1, 6), "condenser_fans": st.integers(1, 4)})


def listed(card: str) -> Hypotheses:
    resolved = unit(card)
    design = resolved.design
    pieces = {"coil_fans": design.coil_fans, "condenser_fans": design.condenser_fans}
    return hypotheses(BOOK, resolved.unit_facts(), pieces)


def of_size(found: Hypotheses, size: int) -> dict[HypothesisKey, float]:
    return {key: chance for key, chance in found.priors.items() if len(key) == size}


@settings(max_examples=40)
@given(facts=FACTS, pieces=PIECES)
def test_priors_sum_to_one_for_any_unit(facts: dict[str, str], pieces: dict[str, int]) -> None:
    found = hypotheses(BOOK, facts, pieces)
    assert math.fsum([*found.priors.values(), found.not_listed]) == pytest.approx(1.0, abs=1e-9)
    assert all(chance > 0.0 for chance in found.priors.values())
    assert all(list(key) == sorted(set(key)) for key in found.priors)
    assert {fault for key in found.priors for fault in key} == set(found.ladders) == set(found.faults)


@settings(max_examples=40)
@given(facts=FACTS, pieces=PIECES)
def test_two_faults_at_once_have_the_share_of_calls_they_are_given(
    facts: dict[str, str], pieces: dict[str, int]
) -> None:
    """Field notes 7: two faults at once in 15 to 20 % of calls."""
    found = hypotheses(BOOK, facts, pieces)
    singles, pairs = math.fsum(of_size(found, 1).values()), math.fsum(of_size(found, 2).values())
    assert 0.15 <= pairs / (singles + pairs) <= 0.20


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN, PROPANE])
def test_pairs_push_two_mechanisms(card: str) -> None:
    """A dead fan beside a slow one is no second fault: the worse of the two is what is seen."""
    found = listed(card)
    same = [
        key
        for key in of_size(found, 2)
        if found.faults[key[0]].axis == found.faults[key[1]].axis
        and found.faults[key[0]].axis not in ("none", "box_load")
    ]
    assert same == []


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN])
def test_pairs_left_out_are_rare(card: str) -> None:
    """Leaving out pairs under one in four thousand must not leave out an eighth of all pairs."""
    found = listed(card)
    weights = found.source.pairs()
    kept, both = 0.0, 0.0
    for pair, weight in weights.items():
        one, other = (found.faults[name] for name in pair)
        if one.axis != other.axis or one.axis in ("none", "box_load"):
            both += weight
            kept += weight if tuple(sorted(pair)) in found.priors else 0.0
    assert 1.0 - kept / both < 0.125


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN])
def test_single_faults_keep_the_order_of_the_tables(card: str) -> None:
    """A pair takes chance from its members in proportion, never from one fault to another."""
    found = listed(card)
    given_order = sorted(found.source.faults.items(), key=lambda item: (-round(item[1], 9), item[0]))
    singles = sorted(of_size(found, 1).items(), key=lambda item: (-round(item[1], 9), item[0]))
    assert [key[0] for key, _ in singles] == [name for name, _ in given_order]


@pytest.mark.parametrize(
    ("card", "absent"),
    [
        (COOLER, {"capillary_restricted", "defrost_heater", "defrost_termination", "reverse_rotation"}),
        (FREEZER, {"capillary_restricted", "start_gear"}),
        (REACH_IN, {"txv_starving", "txv_flooding", "bulb_loose", "liquid_solenoid", "defrost_heater"}),
    ],
)
def test_parts_a_unit_has_not_are_not_suspected(card: str, absent: set[str]) -> None:
    assert absent.isdisjoint(listed(card).faults)


def test_instruments_stand_beside_every_hypothesis() -> None:
    """A lying gauge is never the cause of a warm box, so it is no hypothesis."""
    found = listed(COOLER)
    assert {"gauge_lying", "probe_lying"}.isdisjoint(found.faults)
    assert NONE in found.priors


# ---------------------------------------------------------------------------------------- severities
def well_made(steps: Ladder) -> None:
    assert len(steps.nodes) == len(steps.halves) == len(steps.weights)
    assert all(low < high for low, high in itertools.pairwise(steps.nodes))
    assert math.fsum(steps.weights) == pytest.approx(1.0, abs=1e-9)
    assert all(weight > 0.0 for weight in steps.weights)
    assert all(half >= 0.0 for half in steps.halves)


@settings(max_examples=30)
@given(pieces=PIECES)
def test_every_ladder_is_well_made(pieces: dict[str, int]) -> None:
    for fault in BOOK.faults.values():
        well_made(ladder(fault, pieces))


@pytest.mark.parametrize("name", [n for n, fault in BOOK.faults.items() if fault.axis in NO_PREDICTION])
def test_faults_without_degrees_have_one_step(name: str) -> None:
    assert ladder(BOOK.faults[name], {}).halves == (0.0,)


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_fans_stop_in_whole_pieces(count: int) -> None:
    """One dead fan of three is a third of the airflow, never a quarter."""
    steps = ladder(BOOK.fault("evaporator_fan_stopped"), {"coil_fans": count})
    wanted = [
        min(number / count, BOOK.fault("evaporator_fan_stopped").nodes[-1]) for number in range(1, count + 1)
    ]
    assert steps.nodes == pytest.approx(wanted)
    assert max(steps.halves) < 0.25 / count


def test_unknown_number_of_fans_keeps_the_catalogue_steps() -> None:
    fault = BOOK.fault("evaporator_fan_stopped")
    assert ladder(fault, {}).nodes == fault.nodes


def test_steps_tile_the_axis() -> None:
    """Neighbouring intervals touch: the whole axis is covered once (faults that come in degrees)."""
    for fault in BOOK.faults.values():
        steps = ladder(fault, {})
        if len(steps.nodes) > 1 and fault.axis != "charge_loss":
            span = (
                steps.nodes[-1]
                - steps.nodes[0]
                + 0.5 * (steps.nodes[1] - steps.nodes[0] + steps.nodes[-1] - steps.nodes[-2])
            )
            assert 2.0 * math.fsum(steps.halves) == pytest.approx(span)


def test_charge_gets_finer_steps_with_the_same_prior() -> None:
    """The receiver hides a leak until it runs empty: the bend must not fall between two steps.

    The prior over severity stays the catalogue's: chance of losing more than a third, against the
    integral of the catalogue's density (linear between its nodes) worked out by SciPy.
    """
    fault = BOOK.fault("low_charge")
    steps = ladder(fault, {})
    gaps = [high - low for low, high in itertools.pairwise(steps.nodes)]
    assert len(steps.nodes) > len(fault.nodes)
    assert max(gaps) - min(gaps) < 1e-12
    assert 2.0 * max(steps.halves) == pytest.approx(gaps[0])
    more = math.fsum(w for node, w in zip(steps.nodes, steps.weights, strict=True) if node > 1.0 / 3.0)
    assert more == pytest.approx(_share_above(fault.nodes, fault.weights, 1.0 / 3.0), abs=0.08)


def _share_above(nodes: tuple[float, ...], weights: tuple[float, ...], border: float) -> float:
    gaps = [high - low for low, high in itertools.pairwise(nodes)]
    widths = [0.5 * (a + b) for a, b in itertools.pairwise([gaps[0], *gaps, gaps[-1]])]
    heights = [weight / width for weight, width in zip(weights, widths, strict=True)]

    def density(x: float) -> float:
        for (a, b), (p, q) in zip(itertools.pairwise(nodes), itertools.pairwise(heights), strict=True):
            if a <= x <= b:
                return p + (q - p) * (x - a) / (b - a)
        return 0.0

    total = quad(density, nodes[0], nodes[-1], limit=200)[0]
    return float(quad(density, border, nodes[-1], limit=200)[0] / total)


@pytest.mark.parametrize("card", [COOLER, FREEZER, REACH_IN])
def test_levels_run_from_mild_to_worst(card: str) -> None:
    found = listed(card)
    for name, steps in found.ladders.items():
        levels = [found.faults[name].level(node) for node in steps.nodes]
        assert levels == sorted(levels)
        assert all(0.0 <= level <= 1.0 for level in levels)


def test_the_shares_are_broad_and_said_to_be() -> None:
    """Field notes 7: every share could be double or half; the source must say practice estimates."""
    source: Mapping[str, float] = listed(COOLER).source.faults
    assert max(source.values()) < 0.2
    assert "double or half" in listed(COOLER).source.band_words
    assert "practice" in listed(COOLER).source.source
