"""From a card and a call to suspects, the next check, and whether it is enough to act."""

from __future__ import annotations

from dataclasses import dataclass

from holdcold.cards import Resolved
from holdcold.diagnosis.advice import NextStep, next_step
from holdcold.diagnosis.belief import Belief, believe
from holdcold.diagnosis.case import HypothesisKey, Problem
from holdcold.diagnosis.catalogue import Catalogue, catalogue
from holdcold.diagnosis.cells import GridCell
from holdcold.diagnosis.evidence import Evidence
from holdcold.diagnosis.learn import Counts
from holdcold.diagnosis.posterior import Posterior, conclude
from holdcold.diagnosis.problem import Case, open_case, problem_of, refined
from holdcold.diagnosis.questions import Outlook

_EXACT_PAIRS = 6
_WORTH_SOLVING = 0.01


@dataclass(frozen=True, slots=True)
class Finding:
    """What one call amounts to so far.

    case: the evidence and the healthy prediction. problem, cells: the belief's hypotheses on their
    severities. belief, chances: what is believed. outlook: what is still open. step: what to do next.
    """

    case: Case
    problem: Problem
    cells: list[GridCell]
    belief: Belief
    chances: Posterior
    outlook: Outlook
    step: NextStep


def find(
    resolved: Resolved, evidence: Evidence, book: Catalogue | None = None, counts: Counts | None = None
) -> Finding:
    """Return what the evidence of a call says about a unit.

    resolved: the unit's card with its assumptions. evidence: everything the call has told.
    book: the catalogue of faults and checks; the packaged one by default. counts: closed calls of such
    units, to learn the priors from.
    Raises InputError when the card's ratings contradict each other.
    Pairs of faults are first put together from their single faults; those that turn out likely are
    solved as pairs and weighed again.
    """
    case = open_case(resolved, evidence, book or catalogue(), counts)
    problem, cells = problem_of(case)
    belief, chances = _weigh(case, problem)
    exact = _likely_pairs(case, chances)
    if exact:
        problem, cells = refined(case, problem, cells, exact)
        belief, chances = _weigh(case, problem)
    return with_belief(case, problem, cells, belief, chances)


def with_belief(
    case: Case, problem: Problem, cells: list[GridCell], belief: Belief, chances: Posterior
) -> Finding:
    """Return the finding of a belief already weighed: what is open and what to do next."""
    outlook = Outlook(case, problem, cells, chances)
    return Finding(case, problem, cells, belief, chances, outlook, next_step(case, outlook))


def _weigh(case: Case, problem: Problem) -> tuple[Belief, Posterior]:
    belief = believe(problem, case.observations, case.terms)
    return belief, conclude(belief)


def _likely_pairs(case: Case, chances: Posterior) -> frozenset[HypothesisKey]:
    """Return the pairs likely enough to be solved together: both faults change the running machine."""
    faults = case.hypotheses.faults
    if not case.observations:
        return frozenset()
    likely = [
        key
        for key, chance in chances.hypotheses
        if len(key) == 2 and chance > _WORTH_SOLVING and all(faults[name].has_physics for name in key)
    ]
    return frozenset(likely[:_EXACT_PAIRS])
