"""What to do next: the best order of repairs, and whether one more check is worth its cost.

The base is the p/c order of ``repair_order``. Where actions overlap (two remove the same cause) that order
can be wrong, and every order is searched, up to a dozen actions; beyond that each step tries every first
action with the base order behind it (rollout). A check is weighed by one-step lookahead: its own cost and
access, plus, for each outcome, the cost of the repairs that would follow. Acting now is *enough* when no
check brings the expected total cost down.

Sources: Ottosen and Jensen, TR 10-001 (dependent actions need search); Jensen et al., SACSO (questions by
one-step lookahead over the base order); Bertsekas, rollout (from memory).
"""

from __future__ import annotations

import math
import operator
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from holdcold.diagnosis.repair_order import (
    Action,
    Hypothesis,
    Place,
    Plan,
    Repairs,
    Stand,
    Weighted,
    without,
)
from holdcold.errors import InputError, InputErrors

__all__ = [
    "Action", "Advice", "Hypothesis", "OutcomePlan", "Place", "Plan", "Question", "RankedQuestion", "Repairs",
    "Stand",
    "advise", "best_plan", "cost_with", "policy_plan", "posterior", "rank_questions",
]  # fmt: skip

EXACT_UP_TO: Final = 12
"""Most actions for which ``best_plan`` searches every order."""

_EXACT_IN_LOOKAHEAD: Final = 6
_FIRST_STEPS: Final = 12
_TIE_DIGITS: Final = 6
_SUM_TOLERANCE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Question:
    """A check or a question.

    cost: own cost, places not included. places: visited in this order. outcomes: names.
    table: one row for each outcome: its chance under each hypothesis, columns sum to 1.
    cures: causes that doing it removes (cleaning a condenser is a check too).
    """

    id: str
    cost: float
    outcomes: tuple[str, ...]
    table: tuple[tuple[float, ...], ...]
    places: tuple[str, ...] = ()
    cures: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class OutcomePlan:
    """What one outcome leads to. chance: of it. plan: the base order after it, its cost given the outcome."""

    outcome: str
    chance: float
    plan: Plan


@dataclass(frozen=True, slots=True)
class RankedQuestion:
    """A check with what it leads to.

    cost: expected total cost, the check and its places included. saves: cost of acting now minus that.
    """

    id: str
    cost: float
    saves: float
    outcomes: tuple[OutcomePlan, ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do next. act: best order of acting now. checks: best first. enough: no check saves more
    than the margin, so acting now is the thing to do."""

    act: Plan
    checks: tuple[RankedQuestion, ...]
    enough: bool


class _Search:
    """Every order of a few actions, by dynamic programming over what is done and where one stands."""

    def __init__(
        self, repairs: Repairs, useful: Sequence[int], hypotheses: Sequence[Weighted], stand: Stand
    ) -> None:
        causes = sorted({cause for one, _ in hypotheses for cause in one})
        bit = {cause: 1 << i for i, cause in enumerate(causes)}
        self._repairs = repairs
        self._useful = tuple(useful)
        self._start = stand
        self._cures = [_mask(repairs.actions[n].cures, bit) for n in useful]
        self._hypotheses = [(_mask(one, bit), chance) for one, chance in hypotheses if one]
        self._values: dict[tuple[int, str], tuple[float, int]] = {}
        self._uncured: dict[int, float] = {}

    def plan(self) -> Plan:
        """Return the best order and its ECR."""
        cost, step = self._value(0, self._start.here)
        order, done, here = [], 0, self._start.here
        while step >= 0:
            action = self._repairs.actions[self._useful[step]]
            order.append(action.id)
            done, here = done | 1 << step, action.place
            step = self._value(done, here)[1]
        return Plan(tuple(order), cost)

    def _covered(self, done: int) -> int:
        """Return the causes removed by the actions done."""
        covered = 0
        for step, cures in enumerate(self._cures):
            if done >> step & 1:
                covered |= cures
        return covered

    def _left(self, covered: int) -> float:
        """Return the chance that the machine still fails."""
        if covered not in self._uncured:
            left = 0.0
            for causes, chance in self._hypotheses:
                if causes & ~covered:
                    left += chance
            self._uncured[covered] = left
        return self._uncured[covered]

    def _cured(self, covered: int, cures: int) -> float:
        """Return the chance that an action removes a cause that is present."""
        share = 0.0
        for causes, chance in self._hypotheses:
            if causes & cures & ~covered:
                share += chance
        return share

    def _value(self, done: int, here: str) -> tuple[float, int]:
        """Return the least ECR from here on and the action to take first, -1 to stop."""
        key = (done, here)
        if key not in self._values:
            self._values[key] = self._best(done, here)
        return self._values[key]

    def _best(self, done: int, here: str) -> tuple[float, int]:
        """Return the least ECR and first action by trying each one."""
        covered = self._covered(done)
        left = self._left(covered)
        if left <= 0.0:
            return 0.0, -1
        opened = self._start.opened | {
            self._repairs.actions[n].place for i, n in enumerate(self._useful) if done >> i & 1
        }
        best = (self._repairs.give_up * left, -1)
        for step, number in enumerate(self._useful):
            if done >> step & 1 or not self._cures[step] & ~covered:
                continue
            action = self._repairs.actions[number]
            cost = (action.cost + self._repairs.access(action.place, here, opened)) * left
            if action.cure_cost:
                cost += action.cure_cost * self._cured(covered, self._cures[step])
            cost += self._value(done | 1 << step, action.place)[0]
            if cost < best[0]:
                best = (cost, step)
        return best


def _mask(causes: frozenset[str], bit: dict[str, int]) -> int:
    """Return causes as a bit mask; those no hypothesis holds are left out."""
    mask = 0
    for cause in causes:
        mask |= bit.get(cause, 0)
    return mask


def best_plan(
    hypotheses: Sequence[Weighted],
    repairs: Repairs,
    stand: Stand | None = None,
    exact_up_to: int = EXACT_UP_TO,
) -> Plan:
    """Return the best order of repairs: exact for few actions, by rollout for more.

    hypotheses: what may be wrong; chances need not sum to 1, the cost is scaled by their total.
    repairs: the actions. stand: where the person is. exact_up_to: most actions for the exact search.
    """
    stand = stand or Stand()
    useful = [number for number, weight in enumerate(repairs.weights(hypotheses)) if weight > 0.0]
    if len(useful) <= exact_up_to:
        return _Search(repairs, useful, hypotheses, stand).plan()
    return _rollout(hypotheses, repairs, stand)


def policy_plan(hypotheses: Sequence[Weighted], repairs: Repairs, stand: Stand) -> Plan:
    """Return the plan that lookahead counts on: the base order, or something better where actions overlap.

    hypotheses: what may be wrong. repairs: the actions. stand: where the person is.
    """
    if not repairs.overlap:
        return repairs.base_plan(hypotheses, stand)
    useful = [number for number, weight in enumerate(repairs.weights(hypotheses)) if weight > 0.0]
    if len(useful) <= _EXACT_IN_LOOKAHEAD:
        return _Search(repairs, useful, hypotheses, stand).plan()
    order = _best_first(hypotheses, repairs, stand, [])
    return _as_plan(order, hypotheses, repairs, stand)


def _rollout(hypotheses: Sequence[Weighted], repairs: Repairs, stand: Stand) -> Plan:
    """Return an order made step by step, each step the best first action with the base order behind it."""
    order = repairs.base_order(hypotheses, stand)
    for taken in range(len(order) - 1):
        order = _best_first(hypotheses, repairs, stand, order[:taken])
        if taken >= len(order) - 1:
            break
    return _as_plan(order, hypotheses, repairs, stand)


def _best_first(
    hypotheses: Sequence[Weighted], repairs: Repairs, stand: Stand, prefix: list[int]
) -> list[int]:
    """Return the best order that starts with ``prefix``, any one action, then the base order."""
    left, here, opened = list(hypotheses), stand.here, set(stand.opened)
    for number in prefix:
        left = without(left, repairs.actions[number].cures)
        here = repairs.actions[number].place
        opened.add(here)
    at = Stand(here, frozenset(opened))
    base = repairs.base_order(left, at)
    best = prefix + base
    least = repairs.evaluate(best, hypotheses, stand)[0]
    for number in base[1:_FIRST_STEPS]:
        action = repairs.actions[number]
        after = Stand(action.place, at.opened | {action.place})
        rest = repairs.base_order(without(left, action.cures), after)
        order = [*prefix, number, *(n for n in rest if n != number)]
        cost = repairs.evaluate(order, hypotheses, stand)[0]
        if cost < least:
            best, least = order, cost
    return best


def _as_plan(order: Sequence[int], hypotheses: Sequence[Weighted], repairs: Repairs, stand: Stand) -> Plan:
    """Return an order with its ECR."""
    cost, kept = repairs.evaluate(order, hypotheses, stand)
    return Plan(tuple(repairs.actions[number].id for number in order[:kept]), cost)


def posterior(hypotheses: Sequence[Hypothesis], likelihood: Sequence[float]) -> list[Hypothesis]:
    """Return the hypotheses weighed by the chance each gave to what was seen, scaled to sum to 1.

    hypotheses: before. likelihood: one chance for each. Raises InputError when none allows it.
    """
    joint = [one.chance * share for one, share in zip(hypotheses, likelihood, strict=True)]
    total = 0.0
    for weight in joint:
        total += weight
    if total <= 0.0:
        raise InputError("likelihood", "all zero", "a chance above 0 under some hypothesis", "Look again.")
    return [Hypothesis(one.causes, weight / total) for one, weight in zip(hypotheses, joint, strict=True)]


def rank_questions(
    hypotheses: Sequence[Hypothesis],
    questions: Sequence[Question],
    repairs: Repairs,
    stand: Stand | None = None,
) -> tuple[RankedQuestion, ...]:
    """Return the checks by expected total cost, cheapest first; ties within 1e-6 by id.

    hypotheses: what may be wrong, chances that sum to 1. questions: the checks. repairs: the actions.
    stand: where the person is. Raises InputErrors for tables of the wrong shape.
    """
    stand = stand or Stand()
    _check_tables(hypotheses, questions)
    now = policy_plan(hypotheses, repairs, stand).cost
    ranked = [_weighed(hypotheses, question, repairs, stand, now) for question in questions]
    return tuple(sorted(ranked, key=lambda one: (round(one.cost, _TIE_DIGITS), one.id)))


def cost_with(
    hypotheses: Sequence[Hypothesis],
    question: Question,
    repairs: Repairs,
    stand: Stand,
    enough: float = math.inf,
) -> float:
    """Return the expected total cost with one check first; its table is taken as it is.

    hypotheses: what may be wrong, chances that sum to 1. question: the check. repairs: the actions.
    stand: where the person is. enough: a cost that is no longer worth knowing; from there on the figure
    is only that the cost is at least this.
    """
    cost, after = _reached(question, repairs, stand)
    causes, chances = [one.causes for one in hypotheses], [one.chance for one in hypotheses]
    for row in question.table:
        if cost >= enough:
            return enough
        left = list(zip(causes, map(operator.mul, chances, row), strict=True))
        cost += policy_plan(without(left, question.cures), repairs, after).cost
    return cost


def _reached(question: Question, repairs: Repairs, stand: Stand) -> tuple[float, Stand]:
    """Return what a check and getting to its places cost, and where one stands after it."""
    cost, here, opened = question.cost, stand.here, set(stand.opened)
    for place in question.places:
        cost += repairs.access(place, here, opened)
        here = place
        opened.add(place)
    return cost, Stand(here, frozenset(opened))


def _weighed(
    hypotheses: Sequence[Hypothesis], question: Question, repairs: Repairs, stand: Stand, now: float
) -> RankedQuestion:
    """Return one check with what each outcome leads to."""
    cost, after = _reached(question, repairs, stand)
    outcomes = []
    causes, chances = [one.causes for one in hypotheses], [one.chance for one in hypotheses]
    for name, row in zip(question.outcomes, question.table, strict=True):
        joint = list(map(operator.mul, chances, row))
        chance = math.fsum(joint)
        if chance > 0.0:
            left = list(zip(causes, joint, strict=True))
            plan = policy_plan(without(left, question.cures), repairs, after)
            cost += plan.cost
            outcomes.append(OutcomePlan(name, chance, Plan(plan.order, plan.cost / chance)))
    return RankedQuestion(question.id, cost, now - cost, tuple(outcomes))


def _check_tables(hypotheses: Sequence[Hypothesis], questions: Sequence[Question]) -> None:
    """Raise InputErrors for tables that do not fit the hypotheses or whose columns do not sum to 1."""
    problems = []
    for question in questions:
        fits = len(question.table) == len(question.outcomes)
        fits = fits and all(len(row) == len(hypotheses) for row in question.table)
        totals = [0.0] * len(hypotheses)
        for row in question.table if fits else ():
            totals = [total + share for total, share in zip(totals, row, strict=True)]
        if not fits or any(abs(total - 1.0) > _SUM_TOLERANCE for total in totals):
            shape = f"{len(question.outcomes)} rows of {len(hypotheses)} chances, columns that sum to 1"
            problems.append(InputError(f"check {question.id}", "its table", shape, "Mend the table."))
    if problems:
        raise InputErrors(problems)


def advise(
    hypotheses: Sequence[Hypothesis],
    questions: Sequence[Question],
    repairs: Repairs,
    stand: Stand | None = None,
    margin: float = 0.0,
) -> Advice:
    """Return whether to act now or which check to do first.

    hypotheses: what may be wrong, chances that sum to 1. questions: the checks. repairs: the actions.
    stand: where the person is. margin: what a check must save at least to be worth it.
    """
    stand = stand or Stand()
    act = policy_plan(hypotheses, repairs, stand)
    ranked = rank_questions(hypotheses, questions, repairs, stand)
    return Advice(act, ranked, all(one.saves <= margin for one in ranked))
