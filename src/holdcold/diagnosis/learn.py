"""Priors learnt from closed calls: counts of causes added to the practice estimates, with a version."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from holdcold.diagnosis.catalogue import Priors
from holdcold.errors import InputError

PSEUDO_CALLS = 30.0
"""How many closed calls the practice estimates weigh as much as.

A share that could be double or half (a 90 % band) is about as sure as a Dirichlet of 30 pseudo-calls
makes a share of one in ten (its standard deviation is then 0.054). Shares of one in fifty stay broader.
"""


@dataclass(frozen=True, slots=True)
class ClosedCall:
    """What one closed call came down to.

    kind, application: of the unit. causes: fault ids proved by the repair; empty for nothing found,
    ``("not_listed",)`` for a cause that is in no list.
    """

    kind: str
    application: str
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Counts:
    """Causes counted in closed calls of one kind of unit. version: of the counting, for conclusions."""

    kind: str
    application: str
    calls: int
    causes: Mapping[str, float]
    none: float
    not_listed: float
    pairs: int
    version: str


def count(calls: Sequence[ClosedCall], kind: str, application: str) -> Counts:
    """Return the causes found in the closed calls of one kind of unit.

    calls: all closed calls; those of other kinds are left out. kind, application: as on cards.
    A call with two causes counts half for each, so that a call is one call.
    """
    mine = [call for call in calls if (call.kind, call.application) == (kind, application)]
    causes: dict[str, float] = {}
    none = not_listed = 0.0
    pairs = 0
    for call in mine:
        if not call.causes:
            none += 1.0
        pairs += len(call.causes) > 1
        for cause in call.causes:
            share = 1.0 / len(call.causes)
            if cause == "not_listed":
                not_listed += share
            else:
                causes[cause] = causes.get(cause, 0.0) + share
    version = f"{kind}-{application}-{len(mine)}"
    return Counts(
        kind, application, len(mine), dict(sorted(causes.items())), none, not_listed, pairs, version
    )


def learnt(priors: Priors, counts: Counts, pseudo_calls: float = PSEUDO_CALLS) -> Priors:
    """Return priors with closed calls added: the mean of a Dirichlet distribution.

    priors: the practice estimates for the unit; they weigh ``pseudo_calls`` calls. counts: closed calls
    of the same kind of unit. A cause the unit cannot have is left out of both. The chance of two causes
    at once is learnt the same way. Raises InputError when the counts are of another kind of unit.
    Source: Dirichlet-multinomial posterior mean (Gelman et al., Bayesian Data Analysis, section 3.4).
    """
    if (counts.kind, counts.application) != (priors.kind, priors.application):
        raise InputError(
            "counts", f"{counts.kind} {counts.application}", f"{priors.kind} {priors.application}",
            "Count the closed calls of the same kind of unit.",
        )  # fmt: skip
    if pseudo_calls <= 0.0:
        raise InputError("pseudo_calls", pseudo_calls, "above 0", "Thirty is usual.")
    kept = {fault: number for fault, number in counts.causes.items() if fault in priors.faults}
    total = pseudo_calls + math.fsum(kept.values()) + counts.none + counts.not_listed
    faults = {
        fault: (pseudo_calls * chance + kept.get(fault, 0.0)) / total
        for fault, chance in priors.faults.items()
    }
    together = priors.together
    chance = (pseudo_calls * together.chance + counts.pairs) / (pseudo_calls + counts.calls)
    return replace(
        priors,
        faults=faults,
        none=(pseudo_calls * priors.none + counts.none) / total,
        not_listed=(pseudo_calls * priors.not_listed + counts.not_listed) / total,
        together=replace(together, chance=chance),
        source=f"{priors.source}; with {counts.calls} closed calls (version {counts.version})",
    )


def band(chance: float, calls: float, pseudo_calls: float = PSEUDO_CALLS) -> tuple[float, float]:
    """Return a 90 % band of a share after so many calls, by the beta distribution's mean and variance.

    chance: the share, 0 to 1. calls: closed calls counted. pseudo_calls: weight of the estimates.
    A normal band on the logit scale; broad for rare causes, as it should be.
    """
    strength = pseudo_calls + calls + 1.0
    inside = min(max(chance, 1e-6), 1.0 - 1e-6)
    sigma = 1.0 / math.sqrt(strength * inside * (1.0 - inside))
    centre = math.log(inside / (1.0 - inside))
    low, high = centre - 1.6449 * sigma, centre + 1.6449 * sigma
    return 1.0 / (1.0 + math.exp(-low)), 1.0 / (1.0 + math.exp(-high))
