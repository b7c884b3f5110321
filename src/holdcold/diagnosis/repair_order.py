"""Orders of repair actions: p over c inside places that are opened once, and the exact cost of an order.

A *hypothesis* is a set of causes with a chance (two causes at once are one hypothesis). An *action* removes
some causes; after each one the machine is tried, and work ends when every cause of the true hypothesis has
been removed. The expected cost of repair (ECR) of an order is the mean cost until then. Giving up at any
moment costs ``give_up`` (somebody else starts again), which is what a cause in no list ends in.

With one cause, independent actions and no access costs the best order is by falling p/c. Where access is
shared, actions of a place form a block whose head grows as long as that raises its p over c.

Sources: Kadane and Simon 1977 and Heckerman, Breese and Rommelse, CACM 38(3) 1995 (p/c rule, observation
and repair cost); Ottosen and Jensen, arXiv 1203.3502 (cost clusters, bottom-up p over c).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from holdcold.errors import InputError, InputErrors


@dataclass(frozen=True, slots=True)
class Place:
    """Where work is done. open_cost: paid once. travel_cost: paid each time one comes from elsewhere."""

    open_cost: float = 0.0
    travel_cost: float = 0.0


@dataclass(frozen=True, slots=True)
class Stand:
    """Where the person is. here: id of the place, or empty. opened: ids of the places opened so far."""

    here: str = ""
    opened: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Action:
    """Something that removes causes.

    cures: the causes. cost: of trying it, cure or not, > 0. cure_cost: paid besides only when it removes
    a cause that is present (a part that would have gone back otherwise), >= 0. place: where, or empty.
    """

    id: str
    cures: frozenset[str]
    cost: float
    cure_cost: float = 0.0
    place: str = ""


class Hypothesis(NamedTuple):
    """A set of causes and its chance. Without causes the machine works and nothing is spent."""

    causes: frozenset[str]
    chance: float


Weighted = tuple[frozenset[str], float]
"""Causes and their chance: a ``Hypothesis``, or as plain a pair where thousands are made."""


@dataclass(frozen=True, slots=True)
class Plan:
    """An order of actions. order: ids, those after which one would give up left out. cost: its ECR."""

    order: tuple[str, ...]
    cost: float


class Repairs:
    """The actions there are, the places they are done at, and what giving up costs.

    actions: each id once. places: by id; an action whose place is not among them costs no access.
    give_up: cost of ending without a repair, infinite when there is no such way out.
    overlap: whether two actions remove the same cause, so that the p/c order can be wrong.
    Raises InputErrors for costs below zero or ids used twice.
    """

    def __init__(
        self, actions: Sequence[Action], places: Mapping[str, Place] | None = None, give_up: float = math.inf
    ) -> None:
        problems = [
            InputError(f"action {action.id}", action.cost, "cost above 0, cure_cost 0 or more", "Mend it.")
            for action in actions
            if not (0.0 < action.cost < math.inf and 0.0 <= action.cure_cost < math.inf)
        ]
        if len({action.id for action in actions}) != len(actions):
            problems.append(InputError("actions", "an id used twice", "each id once", "Rename one."))
        if problems:
            raise InputErrors(problems)
        self.actions = tuple(actions)
        self.places = dict(places or {})
        self.give_up = give_up
        by_place: dict[str, list[int]] = {}
        for number, action in enumerate(actions):
            by_place.setdefault(action.place, []).append(number)
        self._by_place = {place: tuple(rows) for place, rows in by_place.items()}
        cured = [cause for action in actions for cause in action.cures]
        self.overlap = len(set(cured)) != len(cured)
        by_cause: dict[str, list[int]] = {}
        for number, action in enumerate(actions):
            for cause in action.cures:
                by_cause.setdefault(cause, []).append(number)
        self._by_cause = by_cause
        self._removers: dict[frozenset[str], tuple[int, ...]] = {}

    def access(self, place: str, here: str, opened: frozenset[str] | set[str]) -> float:
        """Return what it costs to get to work at a place.

        place: id. here: where one comes from. opened: places opened so far.
        """
        if place not in self.places:
            return 0.0
        one = self.places[place]
        return (0.0 if place == here else one.travel_cost) + (0.0 if place in opened else one.open_cost)

    def weights(self, hypotheses: Sequence[Weighted]) -> list[float]:
        """Return how much chance each action bears on; a hypothesis of two causes gives half to each."""
        found = [0.0] * len(self.actions)
        known = self._removers
        for causes, chance in hypotheses:
            numbers = known[causes] if causes in known else self._removing(causes)
            for number in numbers:
                found[number] += chance / len(causes)
        return found

    def _removing(self, causes: frozenset[str]) -> tuple[int, ...]:
        """Return the actions that remove each of some causes, one after the other."""
        numbers = tuple(number for cause in sorted(causes) for number in self._by_cause.get(cause, ()))
        self._removers[causes] = numbers
        return numbers

    def base_order(self, hypotheses: Sequence[Weighted], stand: Stand) -> list[int]:
        """Return the numbers of the useful actions in p/c order, grouped where access is shared.

        hypotheses: what may be wrong. stand: where the person is.
        """
        return self._greedy(hypotheses, stand) if self.overlap else self._sorted(hypotheses, stand)

    def _sorted(self, hypotheses: Sequence[Weighted], stand: Stand) -> list[int]:
        """Return the p/c order of actions that share no cause: blocks sorted by chance over cost."""
        weights = self.weights(hypotheses)
        blocks: list[tuple[float, int, list[int]]] = []
        for place, members in self._by_place.items():
            useful = [number for number in members if weights[number] > 0.0]
            if useful:
                entry = self.access(place, stand.here, stand.opened)
                blocks += _blocks(useful, weights, self.actions, entry)
        blocks.sort(key=lambda block: (-block[0], block[1]))
        return [number for _, _, members in blocks for number in members]

    def _greedy(self, hypotheses: Sequence[Weighted], stand: Stand) -> list[int]:
        """Return the p/c order of overlapping actions: chances anew after each one."""
        here, opened, left = stand.here, set(stand.opened), list(hypotheses)
        order: list[int] = []
        while True:
            weights = self.weights(left)
            best: tuple[float, int] | None = None
            for place, members in self._by_place.items():
                useful = [n for n in members if weights[n] > 0.0 and n not in order]
                if useful:
                    block = _blocks(useful, weights, self.actions, self.access(place, here, opened))[0]
                    key = (-block[0], block[2][0])
                    best = key if best is None or key < best else best
            if best is None:
                return order
            action = self.actions[best[1]]
            order.append(best[1])
            here = action.place
            opened.add(action.place)
            left = without(left, action.cures)

    def evaluate(
        self, order: Sequence[int], hypotheses: Sequence[Weighted], stand: Stand
    ) -> tuple[float, int]:
        """Return the exact ECR of an order, and how many actions are taken before giving up is cheaper.

        order: numbers of actions. hypotheses: what may be wrong; the result is scaled by their total chance.
        stand: where the person is.
        """
        first: dict[str, int] = {}
        steps = len(order)
        for step in range(steps - 1, -1, -1):
            for cause in self.actions[order[step]].cures:
                first[cause] = step
        ends, cured = [0.0] * (steps + 1), [0.0] * steps
        for causes, chance in hypotheses:
            if len(causes) == 1:  # by far the most
                (cause,) = causes
                step = first.get(cause, steps)
                ends[step] += chance
                if step < steps:
                    cured[step] += chance
            elif causes:
                removed = {first.get(cause, steps) for cause in causes}
                ends[max(removed)] += chance
                for step in removed:
                    if step < steps:
                        cured[step] += chance
        return self._backwards(
            self._step_costs(order, stand),
            ends,
            [self.actions[number].cure_cost * share for number, share in zip(order, cured, strict=True)],
        )

    def _step_costs(self, order: Sequence[int], stand: Stand) -> list[float]:
        """Return the cost of each step of an order, access included."""
        here, opened, costs = stand.here, set(stand.opened), []
        for number in order:
            action = self.actions[number]
            if action.place == here and here in opened:
                costs.append(action.cost)
                continue
            costs.append(action.cost + self.access(action.place, here, opened))
            here = action.place
            opened.add(here)
        return costs

    def _backwards(
        self, costs: Sequence[float], ends: Sequence[float], cures: Sequence[float]
    ) -> tuple[float, int]:
        """Return the ECR from the end to the start, giving up wherever that is cheaper."""
        uncured = ends[-1]
        value = self.give_up * uncured if uncured > 0.0 else 0.0
        kept = len(costs)
        for step in range(len(costs) - 1, -1, -1):
            uncured += ends[step]
            value += costs[step] * uncured + cures[step]
            if uncured > 0.0 and self.give_up * uncured < value:
                value, kept = self.give_up * uncured, step
        return value, kept

    def base_plan(self, hypotheses: Sequence[Weighted], stand: Stand) -> Plan:
        """Return the p/c order and its exact ECR.

        hypotheses: what may be wrong. stand: where the person is.
        """
        order = self.base_order(hypotheses, stand)
        cost, kept = self.evaluate(order, hypotheses, stand)
        return Plan(tuple(self.actions[number].id for number in order[:kept]), cost)


def without(hypotheses: Sequence[Weighted], cures: frozenset[str]) -> list[Weighted]:
    """Return the hypotheses after some causes were removed; those that have none left are dropped.

    hypotheses: before. cures: causes removed.
    """
    if not cures:
        return list(hypotheses)
    left: list[Weighted] = []
    for one in hypotheses:
        causes, chance = one
        remaining = causes - cures
        if remaining:
            left.append(one if remaining == causes else Hypothesis(remaining, chance))
    return left


def _blocks(
    members: Sequence[int], weights: Sequence[float], actions: Sequence[Action], entry: float
) -> list[tuple[float, int, list[int]]]:
    """Return the actions of one place as blocks (chance over cost, first action, actions), best first.

    The first block pays for getting there and grows as long as that raises its chance over cost.
    """
    ranked = sorted([(-weights[number] / actions[number].cost, number) for number in members])
    singles = [(-ratio, number, [number]) for ratio, number in ranked]
    if entry <= 0.0:
        return singles
    chance, cost, head = 0.0, entry, list[int]()
    for ratio, number, _ in singles:
        if head and ratio * cost <= chance:
            break
        chance += weights[number]
        cost += actions[number].cost
        head.append(number)
    return [(chance / cost, head[0], head), *singles[len(head) :]]
