"""Evidence with a closed list of values: tables of chances, their combination for two faults, repairs.

Two faults combine as a noisy or (Pearl, Probabilistic Reasoning in Intelligent Systems, section
4.3.2): an unusual value is absent only if each fault fails to produce it and nothing else does. A
fault that does not touch the sighting leaves the other's chances exactly as they were.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from holdcold.diagnosis.case import NOT_LISTED, DiscreteTerm, HypothesisKey
from holdcold.diagnosis.logs import log_chance
from holdcold.errors import InputError, InputErrors, UnknownNameError

NOT_LISTED_POWER = 1.0 / 9.0
"""A normal density to this power, normalised, is the normal with nine times the variance; chances are
flattened by the same power under *not listed*."""


@dataclass(frozen=True, slots=True)
class Table:
    """Chances of each value of one sighting, check or complaint.

    item: its id. values: everything it can show, each once. usual: the value of a healthy machine.
    normal: chance of each value when no fault touches it. given: the same for each fault that does.
    error: chance that what was noted is not what was there; it is then any value alike (0 to 0.5).
    Raises InputErrors when a row does not sum to 1 within 1e-6 or has the wrong length.
    """

    item: str
    values: tuple[str, ...]
    usual: str
    normal: tuple[float, ...]
    given: Mapping[str, tuple[float, ...]]
    error: float

    def __post_init__(self) -> None:
        problems = []
        for name, row in (("normal", self.normal), *self.given.items()):
            fine = len(row) == len(self.values) and min(row, default=-1.0) >= 0.0
            if not fine or abs(math.fsum(row) - 1.0) > 1e-6:
                allowed = f"{len(self.values)} chances that sum to 1"
                problems.append(InputError(f"{self.item}: {name}", row, allowed, "Correct the table."))
        if self.usual not in self.values or len(set(self.values)) != len(self.values):
            allowed = "one of the values, each listed once"
            problems.append(InputError(f"{self.item}: usual", self.usual, allowed, "Correct the table."))
        if not 0.0 <= self.error <= 0.5:
            problems.append(InputError(f"{self.item}: error", self.error, "0 to 0.5", "Correct the table."))
        if problems:
            raise InputErrors(problems)

    def chances(self, hypothesis: HypothesisKey) -> tuple[float, ...]:
        """Return the chance of each value under a listed hypothesis, errors of noting included."""
        rows = [self.given[fault] for fault in hypothesis if fault in self.given]
        exact = rows[0] if len(rows) == 1 else self._combined(rows) if rows else self.normal
        total = math.fsum(exact)
        share = self.error / len(self.values)
        return tuple((1.0 - self.error) * value / total + share for value in exact)

    def _combined(self, rows: list[tuple[float, ...]]) -> tuple[float, ...]:
        """Noisy or of several faults, for each unusual value against everything else; not normalised."""
        combined = []
        for place, value in enumerate(self.values):
            usual = value == self.usual
            at_rest = self.normal[place] if usual else 1.0 - self.normal[place]
            kept = at_rest
            for row in rows:
                fails = row[place] if usual else 1.0 - row[place]
                kept *= fails / at_rest if at_rest > 0.0 else fails
            kept = min(kept, 1.0)
            combined.append(kept if usual else 1.0 - kept)
        if not any(combined):  # the faults contradict each other about every value
            return self.normal
        return tuple(combined)

    def term(self, value: str, priors: Mapping[HypothesisKey, float]) -> DiscreteTerm:
        """Return the evidence that ``value`` was noted.

        priors: prior chance of every listed hypothesis (any scale); *not listed* sees their mixture,
        flattened. Raises UnknownNameError for a value that is not in the table.
        """
        if value not in self.values:
            raise UnknownNameError(self.item, value, self.values)
        place = self.values.index(value)
        logs = {}
        flat = []
        for key, prior in priors.items():
            chances = self.chances(key)
            logs[key] = log_chance(chances[place])
            powers = [chance**NOT_LISTED_POWER for chance in chances]
            flat.append(prior * powers[place] / math.fsum(powers))
        total = math.fsum(priors.values())
        return DiscreteTerm(self.item, logs, log_chance(math.fsum(flat) / total), value)


@dataclass(frozen=True, slots=True)
class RepairChances:
    """How a repair shows in the symptom; chances.

    works: a repair of a fault that was there removes it.
    fades: the symptom goes although its cause stays.
    enough: with another fault left behind, removing this one still makes the symptom go.
    """

    works: float
    fades: float
    enough: float


def repair_term(
    fault: str, outcome: str, hypotheses: Iterable[HypothesisKey], chances: RepairChances
) -> DiscreteTerm:
    """Return the evidence of a repair of ``fault`` after which the symptom is ``fixed`` or ``symptom_stays``.

    A symptom that stays counts against hypotheses in which ``fault`` alone explains it (the repair may
    have failed), less against those in which another fault is left; one that is fixed counts for them.
    Raises UnknownNameError for another outcome.
    """
    if outcome not in ("fixed", "symptom_stays"):
        raise UnknownNameError(f"repair of {fault}", outcome, ("fixed", "symptom_stays"))

    def goes(key: HypothesisKey) -> float:
        removed = chances.works * (1.0 if key == (fault,) else chances.enough) if fault in key else 0.0
        return removed + (1.0 - removed) * chances.fades

    def log_likelihood(key: HypothesisKey) -> float:
        return log_chance(goes(key) if outcome == "fixed" else 1.0 - goes(key))

    logs = {key: log_likelihood(key) for key in hypotheses}
    return DiscreteTerm(f"repair:{fault}", logs, log_likelihood(NOT_LISTED), outcome)
