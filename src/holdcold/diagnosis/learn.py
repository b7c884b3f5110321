"""Priors learnt from closed calls: counts of causes added to the practice estimates, with a version."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

from holdcold.diagnosis.catalogue import Priors
from holdcold.errors import InputError
from holdcold.numerics.beta import beta_quantile

PSEUDO_CALLS = 30.0
"""How many closed calls the practice estimates weigh as much as.

A share that could be double or half (a 90 % band) is about as sure as a Dirichlet of 30 pseudo-calls
makes a share of one in ten (its standard deviation is then 0.054). Shares of one in fifty stay broader.
"""

_TAIL = 0.05
_DIGITS = 6


@dataclass(frozen=True, slots=True)
class ClosedCall:
    """What one closed call came down to.

    kind, application: of the unit. causes: fault ids proved by the repair; empty for nothing found,
    ``("not_listed",)`` for a cause that is in no list. date: year-month-day, or empty. unit: its name,
    or empty.
    """

    kind: str
    application: str
    causes: tuple[str, ...]
    date: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Counts:
    """Causes counted in closed calls of one kind of unit.

    causes: calls by fault id, a call with two causes half for each. none, not_listed: calls with nothing
    found, with a cause in no list. pairs: calls with more than one cause. version: tells this counting
    from any other, for conclusions. first, last: days of the calls, empty when nobody said.
    """

    kind: str
    application: str
    calls: int
    causes: Mapping[str, float]
    none: float
    not_listed: float
    pairs: int
    version: str
    first: str = ""
    last: str = ""


def count(calls: Sequence[ClosedCall], kind: str, application: str) -> Counts:
    """Return the causes found in the closed calls of one kind of unit.

    calls: all closed calls, in any order; those of other kinds are left out. kind, application: as on
    cards. A call with two causes counts half for each, so that a call is one call.
    """
    mine = [call for call in calls if (call.kind, call.application) == (kind, application)]
    shares: dict[str, dict[int, int]] = {}
    for call in mine:
        for cause in call.causes:
            sizes = shares.setdefault(cause, {})
            sizes[len(call.causes)] = sizes.get(len(call.causes), 0) + 1
    causes = {name: _weight(sizes) for name, sizes in sorted(shares.items())}
    days = sorted(call.date for call in mine if call.date)
    return Counts(
        kind,
        application,
        len(mine),
        causes,
        float(sum(1 for call in mine if not call.causes)),
        causes.pop("not_listed", 0.0),
        sum(1 for call in mine if len(call.causes) > 1),
        _version(mine, days),
        days[0] if days else "",
        days[-1] if days else "",
    )


def count_all(calls: Sequence[ClosedCall]) -> tuple[Counts, ...]:
    """Return the causes counted for each kind of unit that has closed ``calls``."""
    kinds = sorted({(call.kind, call.application) for call in calls})
    return tuple(count(calls, kind, application) for kind, application in kinds)


def _weight(sizes: Mapping[int, int]) -> float:
    """Return calls shared with others of so many causes: number of causes to number of calls."""
    return math.fsum(calls / causes for causes, calls in sorted(sizes.items()))


def _version(calls: Iterable[ClosedCall], days: Sequence[str]) -> str:
    """Return last day, number of calls, and a digest of what was counted."""
    lines = sorted(f"{call.date} {call.unit} {' '.join(sorted(call.causes))}" for call in calls)
    digest = sha256("\n".join(lines).encode()).hexdigest()[:_DIGITS]
    return f"{days[-1] if days else 'undated'}.{len(lines)}.{digest}"


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
    total = strength(priors, counts, pseudo_calls)
    faults = {
        fault: (pseudo_calls * chance + counts.causes.get(fault, 0.0)) / total
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


def strength(priors: Priors, counts: Counts | None, pseudo_calls: float = PSEUDO_CALLS) -> float:
    """Return how many calls the shares rest on, the estimates' pseudo-calls included.

    priors: the practice estimates, or what was learnt from them. counts: None for the estimates alone;
    causes the unit cannot have do not count. pseudo_calls: weight of the estimates.
    """
    if counts is None:
        return pseudo_calls
    kept = (number for fault, number in counts.causes.items() if fault in priors.faults)
    return math.fsum([pseudo_calls, counts.none, counts.not_listed, *kept])


def left_out(priors: Priors, counts: Counts) -> dict[str, float]:
    """Return the counted causes that are none of this unit's: it cannot have them, or they stand beside.

    priors: of the unit. counts: of its kind.
    """
    return {fault: number for fault, number in counts.causes.items() if fault not in priors.faults}


def band(chance: float, calls: float) -> tuple[float, float]:
    """Return a 90 % band of a share: what a Dirichlet of so many calls leaves open of one cause.

    chance: the share, 0 to 1. calls: what it rests on, pseudo-calls included (``strength``). The
    marginal of a Dirichlet is a beta distribution (Gelman et al., Bayesian Data Analysis, appendix A);
    its 5 and 95 % quantiles are broad for rare causes, as they should be.
    """
    if not 0.0 < chance < 1.0:
        return chance, chance
    a, b = chance * calls, (1.0 - chance) * calls
    return beta_quantile(_TAIL, a, b), beta_quantile(1.0 - _TAIL, a, b)
