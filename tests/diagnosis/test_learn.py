"""Priors learnt from closed calls, against SciPy, and closed calls as people write them."""

from __future__ import annotations

import json
import math
import random
from dataclasses import replace

import pytest
from scipy import stats

from holdcold.diagnosis.catalogue import Priors, catalogue
from holdcold.diagnosis.closed import read_closed, read_counts, write_counts
from holdcold.diagnosis.hypotheses import hypotheses
from holdcold.diagnosis.learn import (
    PSEUDO_CALLS,
    ClosedCall,
    band,
    count,
    count_all,
    learnt,
    left_out,
    strength,
)
from holdcold.errors import InputError, InputErrors

FAULTS = catalogue().faults


def priors(kind: str = "walk_in", application: str = "cooler") -> Priors:
    return catalogue().priors_for(kind, application)


def cooler(*causes: str, date: str = "", unit: str = "") -> ClosedCall:
    return ClosedCall("walk_in", "cooler", causes, date, unit)


def random_calls(draw: random.Random, number: int) -> list[ClosedCall]:
    names = [*priors().faults, "not_listed"]
    return [
        cooler(*draw.sample(names, draw.choice([0, 1, 1, 1, 2, 3])), date=f"2026-0{draw.randint(1, 9)}-11")
        for _ in range(number)
    ]


def total(found: Priors) -> float:
    return math.fsum([found.none, found.not_listed, *found.faults.values()])


@pytest.mark.parametrize("calls", [0, 3, 40, 500])
def test_shares_are_the_mean_of_the_dirichlet(calls: int) -> None:
    """Posterior of a Dirichlet prior after counts: parameters add (Gelman et al., BDA, section 3.4)."""
    before = priors()
    counts = count(random_calls(random.Random(calls), calls), "walk_in", "cooler")
    after = learnt(before, counts)
    names = [*before.faults, "none", "not_listed"]
    prior = [*before.faults.values(), before.none, before.not_listed]
    seen = [counts.causes.get(name, 0.0) for name in before.faults] + [counts.none, counts.not_listed]
    alpha = [PSEUDO_CALLS * share + number for share, number in zip(prior, seen, strict=True)]
    mean = stats.dirichlet.mean(alpha)
    found = [*after.faults.values(), after.none, after.not_listed]
    assert found == pytest.approx(list(mean), rel=1e-12)
    assert total(after) == pytest.approx(1.0, abs=1e-12)
    assert strength(before, counts) == pytest.approx(math.fsum(alpha))
    for name, share in zip(names, found, strict=True):
        expected = stats.beta.ppf([0.05, 0.95], share * sum(alpha), (1.0 - share) * sum(alpha))
        assert band(share, strength(before, counts)) == pytest.approx(tuple(expected), rel=1e-7, abs=1e-12), (
            name
        )


def test_bands_against_draws_of_the_dirichlet() -> None:
    """Nine in ten of 20000 draws of the whole Dirichlet lie in the band of each cause (0.7 % allowed)."""
    before = priors()
    shares = [*before.faults.values(), before.none, before.not_listed]
    draws = stats.dirichlet.rvs([PSEUDO_CALLS * share for share in shares], size=20000, random_state=7)
    for number in (0, 4, len(shares) - 1):
        low, high = band(shares[number], PSEUDO_CALLS)
        inside = ((draws[:, number] >= low) & (draws[:, number] <= high)).mean()
        assert inside == pytest.approx(0.9, abs=0.007)


def test_many_calls_outweigh_the_estimates() -> None:
    """A shop whose every second call is a dirty condenser learns it; after 30 calls half way."""
    calls = [cooler("condenser_dirty"), cooler("low_charge")]
    before = priors().faults["condenser_dirty"]
    after = [
        learnt(priors(), count(calls * n, "walk_in", "cooler")).faults["condenser_dirty"] for n in (15, 600)
    ]
    assert after[0] == pytest.approx(0.5 * (before + 0.5))
    assert after[1] == pytest.approx(0.5, abs=0.02)


def test_no_calls_change_nothing() -> None:
    before = priors()
    after = learnt(before, count([], "walk_in", "cooler"))
    assert after.faults == pytest.approx(dict(before.faults))
    assert after.together.chance == before.together.chance


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_calls_does_not_matter(seed: int) -> None:
    draw = random.Random(seed)
    calls = random_calls(draw, 70)
    first = count(calls, "walk_in", "cooler")
    for _ in range(4):
        draw.shuffle(calls)
        assert count(calls, "walk_in", "cooler") == first
    assert learnt(priors(), first) == learnt(priors(), count(calls[::-1], "walk_in", "cooler"))


def test_every_call_counts_once() -> None:
    calls = [
        cooler("condenser_dirty", "low_charge"),
        cooler("condenser_dirty"),
        cooler(),
        cooler("not_listed"),
        cooler("not_listed", "low_charge", "coil_iced"),
        ClosedCall("reach_in", "cooler", ("condenser_dirty",)),
    ]
    found = count(calls, "walk_in", "cooler")
    assert found.calls == 5
    assert found.causes == {
        "coil_iced": pytest.approx(1 / 3),
        "condenser_dirty": 1.5,
        "low_charge": pytest.approx(5 / 6),
    }
    assert (found.none, found.not_listed, found.pairs) == (1.0, pytest.approx(4 / 3), 2)
    assert math.fsum([found.none, found.not_listed, *found.causes.values()]) == pytest.approx(5.0)
    assert [(one.kind, one.calls) for one in count_all(calls)] == [("reach_in", 1), ("walk_in", 5)]


def test_two_at_once_is_learnt_too() -> None:
    before = priors().together.chance
    pairs = [cooler("condenser_dirty", "low_charge")] * 10
    after = learnt(priors(), count(pairs, "walk_in", "cooler")).together
    assert after.chance == pytest.approx((PSEUDO_CALLS * before + 10) / (PSEUDO_CALLS + 10))
    assert after.times == priors().together.times


def test_a_cause_the_unit_cannot_have_is_left_out() -> None:
    """A unit without a capillary tube learns nothing from blocked capillaries of other walk-ins."""
    facts = {"expansion": "txv"}
    before = catalogue().priors_for("walk_in", "cooler", facts)
    counts = count([cooler("capillary_restricted")] * 20 + [cooler("low_charge")], "walk_in", "cooler")
    after = learnt(before, counts)
    assert "capillary_restricted" not in after.faults
    assert total(after) == pytest.approx(1.0)
    assert left_out(before, counts) == {"capillary_restricted": 20.0}
    assert strength(before, counts) == pytest.approx(PSEUDO_CALLS + 1)


def test_counts_of_another_kind_are_refused() -> None:
    counts = count([cooler("low_charge")], "walk_in", "cooler")
    with pytest.raises(InputError, match="same kind"):
        learnt(priors("reach_in"), counts)
    with pytest.raises(InputError):
        learnt(priors(), counts, 0.0)


def test_versions_tell_countings_apart() -> None:
    """Same number of calls, same last day, other causes: another version; other order: the same one."""
    one = [cooler("low_charge", date="2026-03-01"), cooler("condenser_dirty", date="2026-02-01")]
    other = [cooler("condenser_dirty", date="2026-03-01"), cooler("condenser_dirty", date="2026-02-01")]
    first, second, third = (count(calls, "walk_in", "cooler") for calls in (one, other, one[::-1]))
    assert first.version.startswith("2026-03-01.2.")
    assert first.version == third.version != second.version
    assert (first.first, first.last) == ("2026-02-01", "2026-03-01")
    assert count([cooler()], "walk_in", "cooler").version.startswith("undated.1.")
    assert first.version in learnt(priors(), first).source


def test_hypotheses_take_learnt_priors() -> None:
    facts = {"kind": "walk_in", "application": "cooler"}
    counts = count([cooler("condenser_dirty")] * 60, "walk_in", "cooler")
    plain, taught = (hypotheses(catalogue(), facts, {}, told) for told in (None, counts))
    key = ("condenser_dirty",)
    assert taught.priors[key] > 4.0 * plain.priors[key]
    assert math.fsum(taught.priors.values()) + taught.not_listed == pytest.approx(1.0)
    assert counts.version in taught.source.source
    assert hypotheses(catalogue(), facts, {}) == plain


# -- files ----------------------------------------------------------------------------------------------


def line(**more: object) -> str:
    return json.dumps({"kind": "walk_in", "application": "cooler", "causes": ["low_charge"], **more})


def test_closed_calls_as_people_write_them() -> None:
    text = "\n".join(
        [
            line(date="2026-07-14", unit="Cheese cooler", note="second visit"),
            "",
            line(kind="Walk-in", causes="Condenser dirty"),
            line(causes=[]),
            line(causes=["not listed", "low-charge", "low_charge"]),
        ]
    )
    calls, remarks = read_closed(text, FAULTS)
    assert [call.causes for call in calls] == [
        ("low_charge",), ("condenser_dirty",), (), ("not_listed", "low_charge"),
    ]  # fmt: skip
    assert calls[0].date == "2026-07-14"
    assert {call.kind for call in calls} == {"walk_in"}
    assert remarks == ()


def test_unknown_causes_are_named_with_near_ones() -> None:
    text = "\n".join([line(causes=["low_chrage"]), line(), line(causes=["gremlins", "condenser_dirt"])])
    with pytest.raises(InputErrors) as caught:
        read_closed(text, FAULTS)
    found = [(problem.field, problem.value) for problem in caught.value.problems]
    assert found == [
        ("line 1: cause", "low_chrage"), ("line 3: cause", "gremlins"), ("line 3: cause", "condenser_dirt"),
    ]  # fmt: skip
    assert "low_charge" in caught.value.problems[0].advice
    assert "condenser_dirty" in caught.value.problems[2].advice


@pytest.mark.parametrize(
    ("bad", "field"),
    [
        ("not json", "line 2"),
        ("[1]", "line 2"),
        ('{"kind": "walk_in", "application": "cooler"}', "line 2: causes"),
        (line(causes=3), "line 2: causes"),
        (line(causes=[1]), "line 2: causes"),
        (line(kind="truck"), "line 2: kind"),
        (line(date="14.7.2026"), "line 2: date"),
        (line(casues=[]), "line 2: key or section"),
    ],
)
def test_bad_lines_are_told_and_nothing_is_counted(bad: str, field: str) -> None:
    with pytest.raises(InputErrors) as caught:
        read_closed(f"{line()}\n{bad}\n{line()}", FAULTS)
    assert [problem.field for problem in caught.value.problems] == [field]


def test_a_line_that_stands_there_twice_is_remarked_on() -> None:
    again = line(date="2026-07-14", unit="Cheese cooler")
    calls, remarks = read_closed(f"{again}\n{line()}\n{line()}\n{again}", FAULTS)
    assert len(calls) == 4
    assert remarks == ("line 4 says the same as line 1; both are counted",)


@pytest.mark.parametrize("seed", range(5))
def test_counts_are_read_back(seed: int) -> None:
    draw = random.Random(seed)
    calls = random_calls(draw, 25) + [replace(call, kind="reach_in") for call in random_calls(draw, 9)]
    counts = count_all(calls)
    assert read_counts(write_counts(counts, "holdcold 0"), FAULTS) == counts
    assert "Cheese" not in write_counts(count_all([cooler("low_charge", unit="Cheese cooler")]), "x")


COUNTS = write_counts(count_all([cooler("low_charge", date="2026-07-14"), cooler()]), "holdcold 0")


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("schema = 1", "schema = 2", "schema"),
        ("low_charge = 1.0", "low_chrage = 1.0", "counts 1: cause"),
        ("low_charge = 1.0", "low_charge = -1.0", "counts 1: low_charge"),
        ("low_charge = 1.0", "low_charge = 7.0", "counts 1: calls"),
        ('kind = "walk_in"', 'kind = "truck"', "counts 1: kind"),
        ("calls = 2", "", "counts 1: calls"),
        ("[[counts]]", "[counts]", "counts"),
        ("schema = 1", "schema = ", "file"),
    ],
)
def test_what_is_wrong_with_counts_is_told(old: str, new: str, field: str) -> None:
    assert old in COUNTS
    with pytest.raises(InputErrors) as caught:
        read_counts(COUNTS.replace(old, new), FAULTS)
    assert field in [problem.field for problem in caught.value.problems]


def test_the_same_kind_twice_is_refused() -> None:
    body = COUNTS[COUNTS.index("[[counts]]") :]
    with pytest.raises(InputErrors, match="each kind of unit once"):
        read_counts(COUNTS + body, FAULTS)
