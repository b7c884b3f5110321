"""Predictions of the unit under each hypothesis: the cycle solved on every severity that matters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from holdcold.cycle import HEALTHY, Conditions, Faults, OperatingPoint, axes, solve
from holdcold.cycle.steady import Start
from holdcold.cycle.unit import Unit
from holdcold.diagnosis.hypotheses import Hypotheses
from holdcold.diagnosis.normal import Normal

INPUTS = ("condenser_air_in_k", "coil_air_in_k", "box_k")
"""Readings that are conditions of the prediction, not evidence about the machine."""


@dataclass(frozen=True, slots=True)
class Prediction:
    """What the unit reads with some faults at some severities.

    readings: SI by place. steady: whether it would stay running. cooling_w: capacity, scaled to the
    box at its set point.
    """

    readings: Mapping[str, float]
    steady: bool
    cooling_w: float


@dataclass
class Predictor:
    """Solves the unit under faults, each combination once.

    normal: the healthy machine in the conditions of the call. cooling_at_set_w: its capacity with the
    box at set point, in the same ambient. solved: what was solved so far (filled as it is used).
    starts: where single pushes came to rest: a pair begins there, which is nearer than the healthy machine.
    """

    normal: Normal
    hypotheses: Hypotheses
    cooling_at_set_w: float
    solved: dict[tuple[tuple[str, float], ...], Prediction] = field(default_factory=dict)
    starts: dict[tuple[str, float], Start] = field(default_factory=dict)

    @property
    def unit(self) -> Unit:
        """The unit that is predicted."""
        return self.normal.unit

    @property
    def conditions(self) -> Conditions:
        """The surroundings it is predicted in."""
        return self.normal.conditions

    def healthy(self) -> Prediction:
        """Return the prediction without a fault."""
        return self.predict({})

    def predict(self, severities: Mapping[str, float]) -> Prediction:
        """Return the prediction with faults at ``severities`` (by fault id, in the fault's unit).

        Faults that leave the running machine's balances alone are left out of the solve. Two faults of
        one axis push it together, the worse of them counts. Readings a fault leaves unmoved stay as on
        the healthy machine.
        """
        pushes = self._pushes(severities)
        key = tuple(sorted(pushes.items()))
        if key not in self.solved:
            self.solved[key] = self._solve(pushes)
        unmoved = {place for name in severities for place in self.hypotheses.faults[name].unmoved}
        return self._with_unmoved(self.solved[key], unmoved) if unmoved else self.solved[key]

    def _with_unmoved(self, found: Prediction, unmoved: Iterable[str]) -> Prediction:
        healthy = self.healthy().readings
        kept = {place: healthy[place] for place in unmoved if place in healthy and place in found.readings}
        return replace(found, readings={**found.readings, **kept})

    def _pushes(self, severities: Mapping[str, float]) -> dict[str, float]:
        known = axes()
        pushes: dict[str, float] = {}
        for name, severity in severities.items():
            axis = self.hypotheses.faults[name].axis
            if axis in known:
                pushes[axis] = max(pushes.get(axis, 0.0), min(severity, known[axis][1]))
        return pushes

    def _solve(self, pushes: Mapping[str, float]) -> Prediction:
        healthy = self.normal.point
        begin = next((self.starts[push] for push in pushes.items() if push in self.starts), healthy.start)
        point = solve(self.unit, self.conditions, Faults(**pushes), begin) if pushes else healthy
        if len(pushes) == 1 and point.start is not None and point.converged:
            self.starts.update(dict.fromkeys(pushes.items(), point.start))
        share = self.cooling_at_set_w / max(healthy.readings["capacity_w"], 1.0)
        return Prediction(
            point.readings, point.state != "no_steady_point", point.readings["capacity_w"] * share
        )


def predictor(normal: Normal, hypotheses: Hypotheses) -> Predictor:
    """Return what predicts the unit of ``normal``; solves the healthy machine at set point once."""
    return Predictor(normal, hypotheses, _cooling_at_set(normal))


def _cooling_at_set(normal: Normal) -> float:
    conditions = Conditions(normal.conditions.ambient_k, normal.unit.design.set_point_k)
    point: OperatingPoint = solve(normal.unit, conditions, HEALTHY, normal.point.start)
    return point.readings["capacity_w"]
