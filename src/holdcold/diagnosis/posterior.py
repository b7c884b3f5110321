"""Chances from a belief: hypotheses, suspects with their severity, instruments that lie."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from holdcold.diagnosis.belief import Belief, believe
from holdcold.diagnosis.case import NONE, NOT_LISTED, DiscreteTerm, HypothesisKey, Observation, Problem
from holdcold.diagnosis.severity import Severity, severities
from holdcold.diagnosis.weigh import Weighed, weigh

SEVERITY_FLOOR = 5e-3
"""Suspects less likely than this are reported without severity; nobody acts on them."""

TIE = 1e-6
"""Chances closer than this are ordered by id, so that two machines give the same order."""

Id = TypeVar("Id", str, HypothesisKey)


@dataclass(frozen=True, slots=True)
class Suspect:
    """One fault: the chance that it is present, alone or with another, and how bad it would be.

    severity: None when the fault has no severity, or the chance is under ``SEVERITY_FLOOR``.
    """

    fault: str
    chance: float
    severity: Severity | None


@dataclass(frozen=True, slots=True)
class Posterior:
    """Chances after all evidence.

    hypotheses: (key, chance), likeliest first; with ``NONE`` and ``NOT_LISTED`` they sum to 1.
    suspects: faults, likeliest first; marginals, so they need not sum to 1.
    lying: (instrument id, chance that it is far off), likeliest first.
    cells: chance of each cell of ``Problem.cells``; with *not listed* they sum to 1.
    log_evidence: log of the probability density of all the evidence [nats].
    """

    hypotheses: tuple[tuple[HypothesisKey, float], ...]
    suspects: tuple[Suspect, ...]
    lying: tuple[tuple[str, float], ...]
    cells: tuple[float, ...]
    log_evidence: float

    def chance(self, key: HypothesisKey) -> float:
        """Chance of one hypothesis; 0 for one that is not among them."""
        return dict(self.hypotheses).get(key, 0.0)

    @property
    def none_chance(self) -> float:
        """Chance of a healthy machine."""
        return self.chance(NONE)

    @property
    def not_listed_chance(self) -> float:
        """Chance of something that is not in the list."""
        return self.chance(NOT_LISTED)


def assess(
    problem: Problem, readings: Iterable[Observation] = (), terms: Iterable[DiscreteTerm] = ()
) -> Posterior:
    """Return the chances after all this evidence. Raises as ``believe`` and ``conclude`` do."""
    return conclude(believe(problem, readings, terms))


def conclude(belief: Belief) -> Posterior:
    """Return the chances of everything, given the evidence in ``belief``.

    Raises InputError when the evidence is impossible under every hypothesis, *not listed* included.
    """
    weighed = weigh(belief)
    chances = weighed.chances()
    return Posterior(
        hypotheses=ranked(chances),
        suspects=_suspects(weighed, chances),
        lying=ranked(dict(zip(belief.instruments, weighed.lying(), strict=True))),
        cells=tuple(weighed.cells),
        log_evidence=weighed.log_evidence,
    )


def fault_chances(chances: dict[HypothesisKey, float]) -> dict[str, float]:
    """Return the chance that each listed fault is present, summed over the hypotheses that contain it."""
    terms: dict[str, list[float]] = {}
    for key, chance in chances.items():
        for fault in key if key != NOT_LISTED else ():
            terms.setdefault(fault, []).append(chance)
    return {fault: math.fsum(values) for fault, values in terms.items()}


def ranked(chances: dict[Id, float]) -> tuple[tuple[Id, float], ...]:
    """Return (id, chance), likeliest first; runs within ``TIE`` of their first are ordered by id."""
    by_chance = sorted(chances.items(), key=lambda item: -item[1])
    order: list[tuple[Id, float]] = []
    run: list[tuple[Id, float]] = []
    for item in by_chance:
        if run and run[0][1] - item[1] > TIE:
            order += sorted(run)
            run = []
        run.append(item)
    order += sorted(run)
    return tuple(order)


def _suspects(weighed: Weighed, chances: dict[HypothesisKey, float]) -> tuple[Suspect, ...]:
    order = ranked(fault_chances(chances))
    found = severities(weighed, [fault for fault, chance in order if chance >= SEVERITY_FLOOR])
    return tuple(Suspect(fault, chance, found.get(fault)) for fault, chance in order)
