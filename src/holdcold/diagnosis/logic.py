"""Diagnosis from a model of what works: conflicts, minimal diagnoses, their chances, the next measurement.

The machine is components that turn some values into others. A component is right when it is healthy and
says nothing when it is not. Values that cannot both be true name a *conflict*: components that cannot all
be healthy. A diagnosis hits every conflict.

Source of the method: de Kleer and Williams, Diagnosing multiple faults, Artificial Intelligence 32, 1987.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

from holdcold.errors import InputError

_MOST_COMPONENTS: Final = 16
_DIGITS: Final = 9

Function = Callable[..., float | None]
Label = dict[float, list[int]]


@dataclass(frozen=True, slots=True)
class Rule:
    """One direction a component works in: ``output`` follows from ``inputs`` while the component is healthy.

    function: from the values of ``inputs`` to that of ``output``; None when it cannot be told.
    """

    inputs: tuple[str, ...]
    output: str
    function: Function


@dataclass(frozen=True, slots=True)
class Component:
    """A part that may fail. chance: of having failed, before anything was measured, 0 to 1."""

    name: str
    rules: tuple[Rule, ...]
    chance: float


def adder(name: str, first: str, second: str, output: str, chance: float) -> Component:
    """Return a component that adds two values; it works backwards too.

    name: of the component. first, second, output: names of values. chance: of having failed.
    """
    return Component(
        name,
        (
            Rule((first, second), output, lambda a, b: a + b),
            Rule((output, first), second, lambda c, a: c - a),
            Rule((output, second), first, lambda c, b: c - b),
        ),
        chance,
    )


def multiplier(name: str, first: str, second: str, output: str, chance: float) -> Component:
    """Return a component that multiplies two values; it works backwards where the other one is not zero.

    name: of the component. first, second, output: names of values. chance: of having failed.
    """
    return Component(
        name,
        (
            Rule((first, second), output, lambda a, b: a * b),
            Rule((output, first), second, lambda c, a: c / a if a else None),
            Rule((output, second), first, lambda c, b: c / b if b else None),
        ),
        chance,
    )


@dataclass(frozen=True, slots=True)
class Findings:
    """What follows from a set of measurements.

    conflicts: minimal sets of components that cannot all be healthy.
    labels: value name to value to the minimal sets of components that it follows from, as bit masks.
    """

    components: tuple[Component, ...]
    conflicts: tuple[frozenset[str], ...]
    labels: Mapping[str, Mapping[float, tuple[int, ...]]]

    def predicted(self, name: str, failed: int) -> float | None:
        """Return the value that healthy components predict, or None.

        name: of the value. failed: bit mask of the components taken as failed.
        """
        for value, masks in self.labels.get(name, {}).items():
            if any(mask & failed == 0 for mask in masks):
                return value
        return None


def find(components: Sequence[Component], measured: Mapping[str, float]) -> Findings:
    """Return conflicts and predictions that follow from measurements.

    components: at most 16. measured: value by name; inputs that are known count as measured.
    Raises InputError for too many components or one name used twice.
    """
    names = [component.name for component in components]
    if len(components) > _MOST_COMPONENTS or len(set(names)) != len(names):
        raise InputError("components", len(components), "up to 16, each name once", "Join parts into blocks.")
    labels: dict[str, Label] = {name: {round(value, _DIGITS): [0]} for name, value in measured.items()}
    nogoods: list[int] = []
    changed = True
    while changed:
        changed = False
        for bit, component in enumerate(components):
            for rule in component.rules:
                for value, mask in _fired(rule, labels):
                    changed |= _learn(labels, nogoods, rule.output, value, mask | 1 << bit)
    conflicts = tuple(frozenset(names[i] for i in _bits(mask)) for mask in sorted(nogoods))
    fixed = {
        name: {value: tuple(masks) for value, masks in label.items() if masks}
        for name, label in labels.items()
    }
    return Findings(tuple(components), conflicts, fixed)


def _fired(rule: Rule, labels: Mapping[str, Label]) -> list[tuple[float, int]]:
    """Return each value a rule makes of what is known, with the components it then rests on."""
    known = [
        [(value, mask) for value, masks in labels.get(name, {}).items() for mask in masks]
        for name in rule.inputs
    ]
    made = []
    for choice in product(*known):
        value = rule.function(*(one for one, _ in choice))
        if value is not None:
            mask = 0
            for _, rests_on in choice:
                mask |= rests_on
            made.append((round(value, _DIGITS), mask))
    return made


def _learn(labels: dict[str, Label], nogoods: list[int], name: str, value: float, mask: int) -> bool:
    """Add that ``name`` is ``value`` if the components in ``mask`` are healthy; say whether that is news."""
    if any(nogood & mask == nogood for nogood in nogoods):
        return False
    label = labels.setdefault(name, {})
    if not _add_minimal(label.setdefault(value, []), mask):
        return False
    for other, masks in label.items():
        if other != value:
            for rests_on in list(masks):
                _add_conflict(labels, nogoods, mask | rests_on)
    return True


def _add_minimal(masks: list[int], mask: int) -> bool:
    """Add a mask to a list that holds no mask containing another; say whether it went in."""
    if any(one & mask == one for one in masks):
        return False
    masks[:] = [one for one in masks if one & mask != mask]
    masks.append(mask)
    return True


def _add_conflict(labels: Mapping[str, Label], nogoods: list[int], mask: int) -> None:
    """Add a conflict and strike everything that rests on it."""
    if not _add_minimal(nogoods, mask):
        return
    for label in labels.values():
        for masks in label.values():
            masks[:] = [one for one in masks if one & mask != mask]


def _bits(mask: int) -> list[int]:
    """Return the positions of the bits set."""
    return [bit for bit in range(mask.bit_length()) if mask >> bit & 1]


def minimal_hitting_sets(conflicts: Iterable[frozenset[str]]) -> tuple[frozenset[str], ...]:
    """Return the smallest sets that share something with every conflict: the minimal diagnoses.

    Sorted by size, then by name. Without conflicts the only one is the empty set.
    """
    found: set[frozenset[str]] = {frozenset()}
    for conflict in conflicts:
        hit = {one for one in found if one & conflict}
        for one in found - hit:
            for name in conflict:
                grown = one | {name}
                if not any(smaller <= grown for smaller in hit):
                    hit = {other for other in hit if not grown <= other} | {grown}
        found = hit
    return tuple(sorted(found, key=lambda one: (len(one), sorted(one))))


@dataclass(frozen=True, slots=True)
class Candidates:
    """Every set of failed components that agrees with the findings, and its chance; chances sum to 1."""

    findings: Findings
    chances: Mapping[int, float]

    def by_name(self) -> dict[frozenset[str], float]:
        """Return the chances by sets of component names."""
        parts = self.findings.components
        return {frozenset(parts[i].name for i in _bits(m)): c for m, c in self.chances.items()}

    def marginals(self) -> dict[str, float]:
        """Return the chance that each component has failed."""
        return {
            part.name: math.fsum(chance for mask, chance in self.chances.items() if mask >> bit & 1)
            for bit, part in enumerate(self.findings.components)
        }

    def after(self, name: str, value: float, possible: int) -> Candidates:
        """Return the candidates after one more measurement.

        name, value: what was measured. possible: number of values it could have had; a candidate that
        predicts none of them gives each the same chance. Raises InputError if no candidate allows it.
        """
        weights = {}
        for mask, chance in self.chances.items():
            predicted = self.findings.predicted(name, mask)
            if predicted is None:
                weights[mask] = chance / possible
            elif predicted == round(value, _DIGITS):
                weights[mask] = chance
        return Candidates(self.findings, _normalised(weights, name, value))

    def outcomes(self, name: str, possible: int) -> dict[float | None, float]:
        """Return the chance of each predicted value of a measurement, and under None of all others together.

        name: of the value. possible: number of values it could have.
        """
        by_value: dict[float, list[float]] = {}
        silent = []
        for mask, chance in self.chances.items():
            predicted = self.findings.predicted(name, mask)
            if predicted is None:
                silent.append(chance)
            else:
                by_value.setdefault(predicted, []).append(chance)
        each = math.fsum(silent) / possible
        found: dict[float | None, float] = {v: math.fsum(c) + each for v, c in sorted(by_value.items())}
        found[None] = each * (possible - len(by_value))
        return found

    def entropy_bits(self) -> float:
        """Return how undecided the candidates are [bit]."""
        return entropy_bits(self.chances.values())

    def expected_entropy_bits(self, name: str, possible: int) -> float:
        """Return how undecided the candidates will be on average after measuring ``name`` [bit].

        name: of the value. possible: number of values it could have.
        """
        parts = []
        for value, chance in self.outcomes(name, possible).items():
            if chance <= 0.0:
                continue
            if value is None:
                silent = {m: c for m, c in self.chances.items() if self.findings.predicted(name, m) is None}
                left = entropy_bits(_normalised(silent, name, math.nan).values())
            else:
                left = self.after(name, value, possible).entropy_bits()
            parts.append(chance * left)
        return math.fsum(parts)


def candidates(findings: Findings) -> Candidates:
    """Return every set of failed components that hits all conflicts, with its chance.

    Components fail independently; a set that agrees with the measurements keeps its prior weight.
    Raises InputError when no set agrees, which only contradictory measurements can bring about.
    """
    parts = findings.components
    nogoods = [_mask(part.name in conflict for part in parts) for conflict in findings.conflicts]
    weights = {}
    for failed in range(1 << len(parts)):
        if all(failed & nogood for nogood in nogoods):
            weight = 1.0
            for bit, part in enumerate(parts):
                weight *= part.chance if failed >> bit & 1 else 1.0 - part.chance
            weights[failed] = weight
    return Candidates(findings, _normalised(weights, "measurements", math.nan))


def _mask(flags: Iterable[bool]) -> int:
    """Return flags as a bit mask, the first one lowest."""
    mask = 0
    for bit, flag in enumerate(flags):
        mask |= int(flag) << bit
    return mask


def _normalised(weights: Mapping[int, float], name: str, value: float) -> dict[int, float]:
    """Return weights scaled to sum to 1; InputError when there is nothing to scale."""
    total = math.fsum(weights.values())
    if total <= 0.0:
        raise InputError(name, value, "values that some set of failed parts allows", "Measure again.")
    return {mask: weight / total for mask, weight in weights.items()}


def entropy_bits(chances: Iterable[float]) -> float:
    """Return the entropy of chances that sum to 1 [bit]."""
    return -math.fsum(chance * math.log2(chance) for chance in chances if chance > 0.0)


def expected_entropy_bits(chances: Sequence[float], table: Sequence[Sequence[float]]) -> float:
    """Return the mean entropy after an observation [bit].

    chances: of the hypotheses, sum 1. table: one row for each outcome with its chance under each hypothesis.
    """
    parts = []
    for row in table:
        joint = [chance * likelihood for chance, likelihood in zip(chances, row, strict=True)]
        total = math.fsum(joint)
        if total > 0.0:
            parts.append(total * entropy_bits(weight / total for weight in joint))
    return math.fsum(parts)
