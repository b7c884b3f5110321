"""Orders of repair and the worth of a check, against worked problems and against plain enumeration.

The cost problems C and D are stated with all their inputs; D's structure is that of the dependent-action
example in Ottosen and Jensen (from memory), its numbers are checked by hand in the comments.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Sequence
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdcold.diagnosis.logic import entropy_bits, expected_entropy_bits
from holdcold.diagnosis.sequential import (
    Action,
    Hypothesis,
    Place,
    Question,
    Repairs,
    Stand,
    advise,
    best_plan,
    policy_plan,
    posterior,
    rank_questions,
)
from holdcold.errors import InputError, InputErrors

NOWHERE = Stand()


def single(*chances: float) -> list[Hypothesis]:
    """Return one hypothesis for each chance, with causes f1, f2, ..."""
    return [Hypothesis(frozenset({f"f{i}"}), chance) for i, chance in enumerate(chances, start=1)]


def independent(*costs: float, place: str = "") -> list[Action]:
    """Return one action for each cost, a1 removing f1 and so on."""
    return [Action(f"a{i}", frozenset({f"f{i}"}), cost, place=place) for i, cost in enumerate(costs, start=1)]


def simulated(
    order: Sequence[Action], hypotheses: Sequence[Hypothesis], repairs: Repairs, stand: Stand
) -> float:
    """Return the ECR of an order by playing every hypothesis through, without giving up early."""
    total = []
    for one in hypotheses:
        left, here, opened, spent = set(one.causes), stand.here, set(stand.opened), 0.0
        for action in order:
            if not left:
                break
            place = repairs.places.get(action.place)
            if place is not None:
                spent += (place.travel_cost if action.place != here else 0.0) + (
                    place.open_cost if action.place not in opened else 0.0
                )
            spent += action.cost + (action.cure_cost if left & action.cures else 0.0)
            here = action.place
            opened.add(action.place)
            left -= action.cures
        total.append(one.chance * (spent + (repairs.give_up if left else 0.0)))
    return math.fsum(total)


def least_of_all_orders(hypotheses: Sequence[Hypothesis], repairs: Repairs, stand: Stand) -> float:
    """Return the least ECR over every order of every subset of the actions."""
    return min(
        simulated(order, hypotheses, repairs, stand)
        for size in range(len(repairs.actions) + 1)
        for order in itertools.permutations(repairs.actions, size)
    )


# ------------------------------------------------------------------ problem C: p/c order
@pytest.mark.parametrize(
    ("order", "cost"),
    [((1, 2, 3), 12.7), ((1, 3, 2), 12.0), ((2, 1, 3), 12.2),
     ((2, 3, 1), 10.7), ((3, 1, 2), 10.5), ((3, 2, 1), 10.0)],
)  # fmt: skip
def test_p_over_c_problem_all_orders(order: tuple[int, ...], cost: float) -> None:
    # p = (.5, .3, .2), c = (10, 5, 1); 3-2-1 by hand: 1*1 + .8*5 + .5*10 = 10.0. Rule: Heckerman, Breese,
    # Rommelse, CACM 38(3) 1995.
    repairs = Repairs(independent(10.0, 5.0, 1.0))
    assert repairs.evaluate([i - 1 for i in order], single(0.5, 0.3, 0.2), NOWHERE)[0] == pytest.approx(
        cost, abs=1e-12
    )


def test_p_over_c_problem_best_order() -> None:
    plan = Repairs(independent(10.0, 5.0, 1.0)).base_plan(single(0.5, 0.3, 0.2), NOWHERE)
    assert plan.order == ("a3", "a2", "a1")
    assert plan.cost == pytest.approx(10.0, abs=1e-12)


# ------------------------------------------------------------- problem D: dependent actions
OVERLAPPING = Repairs([Action(f"a{i}", frozenset({f"f{i}", f"f{i + 1}"}), 1.0) for i in (1, 2, 3)])
FOUR_FAULTS = single(0.20, 0.25, 0.40, 0.15)


@pytest.mark.parametrize(
    ("order", "cost"),
    [((1, 2, 3), 1.70), ((1, 3, 2), 1.55), ((2, 1, 3), 1.50),
     ((2, 3, 1), 1.55), ((3, 1, 2), 1.45), ((3, 2, 1), 1.65)],
)  # fmt: skip
def test_dependent_actions_all_orders(order: tuple[int, ...], cost: float) -> None:
    # 3-1-2 by hand: 1 + (1 - .55) * 1 + 0 = 1.45; 2-1-3: 1 + .35 + .15 = 1.50.
    found = OVERLAPPING.evaluate([i - 1 for i in order], FOUR_FAULTS, NOWHERE)[0]
    assert found == pytest.approx(cost, abs=1e-12)


def test_greedy_fails_where_search_does_not() -> None:
    greedy = OVERLAPPING.base_plan(FOUR_FAULTS, NOWHERE)
    assert greedy.order[0] == "a2"
    assert greedy.cost == pytest.approx(1.50, abs=1e-12)
    for plan in (
        best_plan(FOUR_FAULTS, OVERLAPPING),
        best_plan(FOUR_FAULTS, OVERLAPPING, exact_up_to=0),  # by rollout
        policy_plan(FOUR_FAULTS, OVERLAPPING, NOWHERE),
    ):
        assert plan.order == ("a3", "a1")
        assert plan.cost == pytest.approx(1.45, abs=1e-12)


def test_advice_counts_on_the_search() -> None:
    useless = Question("look", 0.2, ("a", "b"), ((0.5,) * 4, (0.5,) * 4))
    advice = advise(FOUR_FAULTS, [useless], OVERLAPPING)
    assert advice.act.cost == pytest.approx(1.45, abs=1e-12)
    assert advice.checks[0].cost == pytest.approx(1.65, abs=1e-12)
    assert advice.enough


# --------------------------------------------------------------------- observation and repair cost
def test_repair_cost_is_free_of_order() -> None:
    # ECR = sum of (1 - P before) o + sum of p r; Heckerman, Breese, Rommelse 1995. By hand, order 1-2:
    # 2 + .6*3 + (.4*7 + .6*11) = 13.2; order 2-1: 3 + .4*2 + 9.4 = 13.2.
    repairs = Repairs([Action("a1", frozenset({"f1"}), 2.0, 7.0), Action("a2", frozenset({"f2"}), 3.0, 11.0)])
    chances = single(0.4, 0.6)
    assert repairs.evaluate([0, 1], chances, NOWHERE)[0] == pytest.approx(13.2, abs=1e-12)
    assert repairs.evaluate([1, 0], chances, NOWHERE)[0] == pytest.approx(13.2, abs=1e-12)


def test_two_causes_at_once_need_both_repairs() -> None:
    # by hand: f1 alone .5 -> 4; both .5 -> 4 + 6
    hypotheses = [Hypothesis(frozenset({"f1"}), 0.5), Hypothesis(frozenset({"f1", "f2"}), 0.5)]
    plan = best_plan(hypotheses, Repairs(independent(4.0, 6.0)))
    assert plan.order == ("a1", "a2")
    assert plan.cost == pytest.approx(0.5 * 4.0 + 0.5 * 10.0, abs=1e-12)


def test_nothing_wrong_costs_nothing() -> None:
    assert best_plan([Hypothesis(frozenset(), 1.0)], Repairs(independent(4.0))).cost == 0.0


def test_giving_up_when_the_rest_is_not_worth_it() -> None:
    # a1 removes .9 for 10; then a2 would cost 100 for the last .1, giving up costs 30: 10 + .1*30 = 13
    repairs = Repairs(independent(10.0, 100.0), give_up=30.0)
    plan = repairs.base_plan(single(0.9, 0.1), NOWHERE)
    assert plan.order == ("a1",)
    assert plan.cost == pytest.approx(13.0, abs=1e-12)


def test_a_cause_no_action_removes_ends_in_giving_up() -> None:
    hypotheses = [*single(0.8), Hypothesis(frozenset({"not_listed"}), 0.2)]
    plan = best_plan(hypotheses, Repairs(independent(10.0), give_up=50.0))
    assert plan.cost == pytest.approx(10.0 + 0.2 * 50.0, abs=1e-12)
    assert best_plan(hypotheses, Repairs(independent(10.0))).cost == math.inf


# ------------------------------------------------------------------------ shared access
TWO_PLACES = [
    Action("u1", frozenset({"f1"}), 2.0, place="U"),
    Action("u2", frozenset({"f2"}), 2.0, place="U"),
    Action("b1", frozenset({"f3"}), 4.0, place="B"),
]
# All six orders by hand for p = (.4, .3, .3), opening U 10 and B 1, no travel:
BY_HAND = {
    "b1 u1 u2": 14.0,  # 5 + .7*12 + .3*2
    "b1 u2 u1": 14.2,  # 5 + .7*12 + .4*2
    "u1 b1 u2": 15.6,  # 12 + .6*5 + .3*2
    "u1 u2 b1": 14.7,  # 12 + .6*2 + .3*5
    "u2 u1 b1": 14.9,  # 12 + .7*2 + .3*5
    "u2 b1 u1": 16.3,  # 12 + .7*5 + .4*2
}


@pytest.mark.parametrize(("order", "cost"), BY_HAND.items())
def test_opening_a_place_is_paid_once(order: str, cost: float) -> None:
    repairs = Repairs(TWO_PLACES, {"U": Place(open_cost=10.0), "B": Place(open_cost=1.0)})
    numbers = [["u1", "u2", "b1"].index(name) for name in order.split()]
    assert repairs.evaluate(numbers, single(0.4, 0.3, 0.3), NOWHERE)[0] == pytest.approx(cost, abs=1e-12)


def test_base_order_pays_for_the_door_first() -> None:
    # plain p/c would start with u1 (.2); the block {u1, u2} with its door is .7/14, b1 with its own .3/5
    repairs = Repairs(TWO_PLACES, {"U": Place(open_cost=10.0), "B": Place(open_cost=1.0)})
    plan = repairs.base_plan(single(0.4, 0.3, 0.3), NOWHERE)
    assert plan.order == ("b1", "u1", "u2")
    assert plan.cost == pytest.approx(min(BY_HAND.values()), abs=1e-12)


def test_what_is_open_already_comes_first() -> None:
    repairs = Repairs(TWO_PLACES, {"U": Place(open_cost=10.0), "B": Place(open_cost=1.0)})
    plan = repairs.base_plan(single(0.4, 0.3, 0.3), Stand("U", frozenset({"U"})))
    assert plan.order == ("u1", "u2", "b1")
    assert plan.cost == pytest.approx(2.0 + 0.6 * 2.0 + 0.3 * 5.0, abs=1e-12)


def test_travel_is_paid_each_time() -> None:
    # u1 b1 u2 with travel 6 to U and 2 to B: 18 + .6*(2+1+4) + .3*(6+2) = 24.6
    repairs = Repairs(TWO_PLACES, {"U": Place(10.0, 6.0), "B": Place(1.0, 2.0)})
    assert repairs.evaluate([0, 2, 1], single(0.4, 0.3, 0.3), NOWHERE)[0] == pytest.approx(24.6, abs=1e-12)


# --------------------------------------------------------------------- against enumeration
def chances(count: int) -> st.SearchStrategy[list[float]]:
    """Return chances that sum to 1."""
    weight = st.floats(0.01, 1.0)
    return st.lists(weight, min_size=count, max_size=count).map(lambda w: [x / math.fsum(w) for x in w])


@given(st.data())
def test_p_over_c_equals_all_orders_for_independent_actions(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 5))
    costs = data.draw(st.lists(st.floats(0.1, 100.0), min_size=count, max_size=count))
    hypotheses = single(*data.draw(chances(count)))
    repairs = Repairs(independent(*costs))
    least = min(
        simulated(order, hypotheses, repairs, NOWHERE) for order in itertools.permutations(repairs.actions)
    )
    assert repairs.base_plan(hypotheses, NOWHERE).cost == pytest.approx(least, rel=1e-12)


@given(st.data())
def test_blocks_equal_all_orders_where_places_stay_open(data: st.DataObject) -> None:
    """Bottom-up p over c is exact with one cause and places opened once (Ottosen and Jensen)."""
    count = data.draw(st.integers(1, 5))
    hypotheses = single(*data.draw(chances(count)))
    actions = [
        Action(
            f"a{i}",
            frozenset({f"f{i}"}),
            data.draw(st.floats(0.1, 50.0)),
            place=data.draw(st.sampled_from("BU")),
        )
        for i in range(1, count + 1)
    ]
    places = {name: Place(data.draw(st.floats(0.0, 50.0))) for name in "BU"}
    repairs = Repairs(actions, places)
    least = min(
        simulated(order, hypotheses, repairs, NOWHERE) for order in itertools.permutations(repairs.actions)
    )
    assert repairs.base_plan(hypotheses, NOWHERE).cost == pytest.approx(least, rel=1e-9)


@st.composite
def tangled(draw: st.DrawFn) -> tuple[list[Hypothesis], Repairs, Stand]:
    """Return hypotheses of one or two causes, overlapping actions, places to open, a way out."""
    causes = [f"f{i}" for i in range(4)]
    some = st.frozensets(st.sampled_from(causes), min_size=1, max_size=2)
    sets = draw(st.lists(some, min_size=1, max_size=6))
    shares = draw(chances(len(sets)))
    actions = [
        Action(
            f"a{i}",
            draw(some),
            draw(st.floats(0.1, 20.0)),
            draw(st.floats(0.0, 5.0)),
            draw(st.sampled_from("BU")),
        )
        for i in range(draw(st.integers(1, 4)))
    ]
    places = {name: Place(draw(st.floats(0.0, 20.0)), draw(st.floats(0.0, 5.0))) for name in "BU"}
    stand = draw(st.sampled_from([NOWHERE, Stand("B", frozenset("B"))]))
    hypotheses = [Hypothesis(one, share) for one, share in zip(sets, shares, strict=True)]
    return hypotheses, Repairs(actions, places, draw(st.floats(1.0, 200.0))), stand


@given(tangled())
def test_search_equals_all_orders(problem: tuple[list[Hypothesis], Repairs, Stand]) -> None:
    hypotheses, repairs, stand = problem
    plan = best_plan(hypotheses, repairs, stand)
    assert plan.cost == pytest.approx(least_of_all_orders(hypotheses, repairs, stand), rel=1e-9)
    by_id = {action.id: action for action in repairs.actions}
    played = simulated([by_id[name] for name in plan.order], hypotheses, repairs, stand)
    assert plan.cost == pytest.approx(played, rel=1e-9)


@given(tangled())
def test_an_order_costs_what_playing_it_costs(problem: tuple[list[Hypothesis], Repairs, Stand]) -> None:
    hypotheses, repairs, stand = problem
    for plan in (repairs.base_plan(hypotheses, stand), best_plan(hypotheses, repairs, stand, exact_up_to=0)):
        by_id = {action.id: action for action in repairs.actions}
        played = simulated([by_id[name] for name in plan.order], hypotheses, repairs, stand)
        assert plan.cost == pytest.approx(played, rel=1e-9)


@given(tangled())
def test_rollout_is_never_worse_than_its_base(problem: tuple[list[Hypothesis], Repairs, Stand]) -> None:
    hypotheses, repairs, stand = problem
    base = repairs.base_plan(hypotheses, stand).cost
    rolled = best_plan(hypotheses, repairs, stand, exact_up_to=0).cost
    exact = best_plan(hypotheses, repairs, stand).cost
    assert exact - 1e-9 <= rolled <= base + 1e-9


# ---------------------------------------------------------------------------------- checks
def test_a_check_that_tells_all_is_worth_what_it_saves() -> None:
    # two causes .5 and .5, repairs 10 and 10: acting blind costs 10 + .5*10 = 15, knowing costs 10
    tells = Question("look", 2.0, ("one", "other"), ((1.0, 0.0), (0.0, 1.0)))
    advice = advise(single(0.5, 0.5), [tells], Repairs(independent(10.0, 10.0)))
    assert advice.act.cost == pytest.approx(15.0, abs=1e-12)
    assert advice.checks[0].cost == pytest.approx(12.0, abs=1e-12)
    assert advice.checks[0].saves == pytest.approx(3.0, abs=1e-12)
    assert [(o.outcome, o.chance, o.plan.order) for o in advice.checks[0].outcomes] == [
        ("one", 0.5, ("a1",)),
        ("other", 0.5, ("a2",)),
    ]
    assert not advice.enough
    assert advise(single(0.5, 0.5), [tells], Repairs(independent(10.0, 10.0)), margin=4.0).enough


def test_a_dear_check_is_not_worth_it() -> None:
    tells = Question("look", 6.0, ("one", "other"), ((1.0, 0.0), (0.0, 1.0)))
    assert advise(single(0.5, 0.5), [tells], Repairs(independent(10.0, 10.0))).enough


def test_sure_enough_to_act() -> None:
    tells = Question("look", 2.0, ("one", "other"), ((1.0, 0.0), (0.0, 1.0)))
    assert advise(single(0.95, 0.05), [tells], Repairs(independent(10.0, 10.0))).enough


def test_the_nearer_of_two_equal_checks_comes_first() -> None:
    table = ((1.0, 0.0), (0.0, 1.0))
    near, far = (
        Question("near", 2.0, ("a", "b"), table, ("B",)),
        Question("far", 2.0, ("a", "b"), table, ("U",)),
    )
    repairs = Repairs(independent(10.0, 10.0), {"U": Place(2.0, 13.0), "B": Place(2.0, 1.0)})
    ranked = rank_questions(single(0.5, 0.5), [far, near], repairs, Stand("B", frozenset("B")))
    assert [one.id for one in ranked] == ["near", "far"]
    assert ranked[1].cost - ranked[0].cost == pytest.approx(15.0, abs=1e-12)


def test_a_check_opens_the_place_for_the_repair() -> None:
    # the unit costs 10 to open; once the check has paid it the repair there does not: 10 + 1 + 5
    repairs = Repairs(independent(5.0, place="U"), {"U": Place(10.0)})
    ranked = rank_questions(single(1.0), [Question("look", 1.0, ("seen",), ((1.0,),), ("U",))], repairs)
    assert ranked[0].cost == pytest.approx(16.0, abs=1e-12)


def test_a_check_that_is_a_repair_too() -> None:
    # cleaning costs 6 and removes f1 (.5); what is left is f2 (.5) for 10: 6 + 5
    clean = Question("clean", 6.0, ("done",), ((1.0, 1.0),), cures=frozenset({"f1"}))
    ranked = rank_questions(single(0.5, 0.5), [clean], Repairs(independent(8.0, 10.0)))
    assert ranked[0].cost == pytest.approx(11.0, abs=1e-12)


def test_ties_are_broken_by_id() -> None:
    table = ((0.5, 0.5), (0.5, 0.5))
    questions = [Question(name, 2.0, ("a", "b"), table) for name in ("z", "b", "m")]
    ranked = rank_questions(single(0.5, 0.5), questions, Repairs(independent(10.0, 10.0)))
    assert [one.id for one in ranked] == ["b", "m", "z"]


@given(tangled(), st.data())
def test_free_knowledge_never_costs_for_independent_actions(
    problem: tuple[list[Hypothesis], Repairs, Stand], data: st.DataObject
) -> None:
    _, mixed, stand = problem
    hypotheses = single(*data.draw(chances(4)))
    repairs = Repairs(independent(*(action.cost for action in mixed.actions)), give_up=mixed.give_up)
    likely = data.draw(st.lists(st.floats(0.0, 1.0), min_size=4, max_size=4))
    question = Question("free", 0.0, ("yes", "no"), (tuple(likely), tuple(1.0 - x for x in likely)))
    exact = [best_plan(posterior_of(hypotheses, row), repairs, stand) for row in question.table]
    assert math.fsum(plan.cost for plan in exact) <= best_plan(hypotheses, repairs, stand).cost + 1e-9


def posterior_of(hypotheses: Sequence[Hypothesis], row: Sequence[float]) -> list[Hypothesis]:
    """Return hypotheses weighed by a row, not scaled."""
    return [Hypothesis(one.causes, one.chance * share) for one, share in zip(hypotheses, row, strict=True)]


def test_a_table_of_the_wrong_shape_is_named() -> None:
    wrong = [Question("short", 1.0, ("a", "b"), ((1.0, 1.0),)), Question("sums", 1.0, ("a",), ((1.0, 0.9),))]
    with pytest.raises(InputErrors) as caught:
        rank_questions(single(0.5, 0.5), wrong, Repairs(independent(1.0, 1.0)))
    assert [problem.field for problem in caught.value.problems] == ["check short", "check sums"]


def test_costs_that_cannot_be_are_named() -> None:
    with pytest.raises(InputErrors) as caught:
        Repairs([Action("a", frozenset({"f"}), 0.0), Action("a", frozenset({"g"}), 1.0, -1.0)])
    assert len(caught.value.problems) == 3


def test_a_full_size_problem_does_not_blow_up() -> None:
    # 40 hypotheses, 30 checks of 3 outcomes: 7 to 10 ms measured; the bound catches another order of growth
    draw = Random(7)
    hypotheses = [
        Hypothesis(one.causes, one.chance)
        for one in single(*normalised([draw.random() ** 3 for _ in range(40)]))
    ]
    repairs = Repairs(
        [
            Action(
                f"a{i}",
                frozenset({f"f{i}"}),
                draw.uniform(10, 300),
                draw.uniform(0, 50),
                draw.choice("DBPUC"),
            )
            for i in range(1, 41)
        ],
        {"B": Place(2, 1), "P": Place(3, 1), "U": Place(2, 15), "C": Place(150)},
        1500.0,
    )
    questions = []
    for number in range(30):
        columns = [normalised([draw.random() for _ in range(3)]) for _ in hypotheses]
        table = tuple(tuple(column[row] for column in columns) for row in range(3))
        questions.append(
            Question(f"c{number}", draw.uniform(2, 30), ("a", "b", "c"), table, (draw.choice("DBPU"),))
        )
    spent = []
    for _ in range(3):
        start = time.perf_counter()
        advise(hypotheses, questions, repairs, Stand("D"))
        spent.append(time.perf_counter() - start)
    assert min(spent) < 0.3


def normalised(weights: Sequence[float]) -> list[float]:
    """Return weights scaled to sum to 1."""
    return [weight / math.fsum(weights) for weight in weights]


# --------------------------------------------------------------- problem B: half-split of a chain
def test_half_split_of_a_control_chain() -> None:
    # four elements in series, one open, equal chances: measuring after element k tells the side.
    # By hand: k=2 leaves 1 bit, k=1 and 3 leave .75 * log2(3) = 1.18872.
    quarter = [0.25] * 4
    left = {
        k: expected_entropy_bits(
            quarter, [[float(i < k) for i in range(4)], [float(i >= k) for i in range(4)]]
        )
        for k in (1, 2, 3)
    }
    assert entropy_bits(quarter) == pytest.approx(2.0, abs=1e-12)
    assert left == {k: pytest.approx(bits, abs=5e-6) for k, bits in {1: 1.18872, 2: 1.0, 3: 1.18872}.items()}


def test_uneven_chain_is_split_at_half_the_chance_not_half_the_length() -> None:
    uneven = [0.5, 0.2, 0.2, 0.1]
    left = [
        expected_entropy_bits(uneven, [[float(i < k) for i in range(4)], [float(i >= k) for i in range(4)]])
        for k in (1, 2, 3)
    ]
    assert min(left) == left[0]


# --------------------------------------------------------------------- the published sign table
# Table 1-1 of Li and Braun, Fault Detection and Diagnostics for Rooftop Air Conditioners, report p. 22
# (restates Rossi and Braun 1997): sign of measured minus expected for Tevap, Tsuperheat, Tcond, Tsubcool,
# Tdischarge, rise of condenser air, drop of evaporator air. The chances below are derived from it.
SIGNS = {
    "leak": "-+--+--",
    "valve": "+------",
    "restriction": "-+-++--",
    "condenser": "+-+-++-",
    "evaporator": "------+",
}
PRIORS = {"leak": 0.60, "restriction": 0.05, "condenser": 0.20, "evaporator": 0.10, "valve": 0.05}


def by_signs(observed: str, priors: dict[str, float]) -> dict[str, float]:
    """Return the chance of each fault when every sign is right with chance 0.9."""
    names = list(SIGNS)
    hypotheses = [Hypothesis(frozenset({name}), priors[name]) for name in names]
    likelihood = [
        math.prod(
            0.9 if seen == expected else 0.1 for seen, expected in zip(observed, SIGNS[name], strict=True)
        )
        for name in names
    ]
    return {name: one.chance for name, one in zip(names, posterior(hypotheses, likelihood), strict=True)}


@pytest.mark.parametrize(
    ("observed", "equal", "expected"),
    [
        ("restriction", True, {"restriction": 0.89974, "leak": 0.09997}),
        ("leak", True, {"leak": 0.89766, "restriction": 0.09974}),
        ("restriction", False, {"leak": 0.5713, "restriction": 0.4285}),
    ],
)
def test_chances_by_the_published_signs(observed: str, equal: bool, expected: dict[str, float]) -> None:
    found = by_signs(SIGNS[observed], dict.fromkeys(SIGNS, 0.2) if equal else PRIORS)
    digits = 5e-6 if equal else 5e-5
    assert {name: found[name] for name in expected} == pytest.approx(expected, abs=digits)


def test_first_sign_by_information() -> None:
    found = {}
    for place in range(7):
        plus = [float(signs[place] == "+") for signs in SIGNS.values()]
        left = expected_entropy_bits([0.2] * 5, [plus, [1.0 - x for x in plus]])
        found[place] = entropy_bits([0.2] * 5) - left
    assert found == pytest.approx(
        {0: 0.9710, 1: 0.9710, 2: 0.7219, 3: 0.7219, 4: 0.9710, 5: 0.7219, 6: 0.7219}, abs=5e-5
    )


def test_only_one_set_of_three_signs_parts_all_five() -> None:
    parting = [
        chosen
        for size in (2, 3)
        for chosen in itertools.combinations(range(7), size)
        if len({tuple(signs[i] for i in chosen) for signs in SIGNS.values()}) == len(SIGNS)
    ]
    assert parting == [(0, 3, 4)]  # Tevap, Tsubcool, Tdischarge


def test_evidence_that_nothing_allows_is_refused() -> None:
    with pytest.raises(InputError):
        posterior(single(0.5, 0.5), [0.0, 0.0])
