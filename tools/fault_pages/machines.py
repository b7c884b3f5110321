"""The reference units of the fault pages, and what each fault does to their readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from holdcold.cards import Resolved, read_card, resolve
from holdcold.cycle import Conditions, Faults, OperatingPoint, build, solve
from holdcold.diagnosis.catalogue import Fault
from holdcold.diagnosis.catalogue.rows import is_known_to_stand
from holdcold.quantities.constants import FAHRENHEIT_ZERO_K, RANKINE_K

FOLDER = Path(__file__).parent / "units"


@dataclass(frozen=True)
class Scene:
    """A reference unit in some weather. name: file of its card. title: for the head of a column."""

    name: str
    title: str
    ambient_f: float

    @property
    def resolved(self) -> Resolved:
        """The unit's card with its assumptions."""
        return _resolved(self.name)

    @property
    def conditions(self) -> Conditions:
        """The weather, with the box at its set point."""
        return Conditions(FAHRENHEIT_ZERO_K + self.ambient_f * RANKINE_K, self.resolved.design.set_point_k)


WARM = (
    Scene("cooler", "cooler, 90 °F", 90.0),
    Scene("freezer", "freezer, 90 °F", 90.0),
    Scene("reach-in", "reach-in, 85 °F", 85.0),
)
ELECTRONIC = Scene("electronic", "cooler with electronic valve, 90 °F", 90.0)
COLD = (
    Scene("cooler", "cooler, 25 °F", 25.0),
    Scene("freezer", "freezer, 20 °F", 20.0),
    Scene("electronic", "cooler with electronic valve, 25 °F", 25.0),
)
HOT = (Scene("freezer", "freezer, 105 °F", 105.0),)
SCENES = (*WARM, ELECTRONIC, *COLD, *HOT)
"""Every column that occurs."""

_BY_AXIS: Mapping[str, tuple[Scene, ...]] = {"head_lost": COLD, "injection_lost": HOT}


_TELLING = ("suction_pa_coil", "discharge_pa", "capacity_w", "discharge_line_k")
_LEAST_SHARE = 0.015
"""A machine hides a fault while none of these moves by more than this share."""


@cache
def _resolved(name: str) -> Resolved:
    return resolve(read_card((FOLDER / f"{name}.toml").read_text(encoding="utf-8")))


@cache
def healthy(scene: Scene) -> OperatingPoint:
    """Return the point of a unit without a fault."""
    return solve(build(scene.resolved.design), scene.conditions)


def scenes_for(fault: Fault) -> tuple[Scene, ...]:
    """Return the columns of a fault's table: usual units that have the part, else the rarer one."""
    usual = _BY_AXIS.get(fault.axis, (*WARM, ELECTRONIC))
    fitting = [one for one in usual if is_known_to_stand(fault.applies_to, one.resolved.unit_facts())]
    common = [one for one in fitting if one is not ELECTRONIC]
    return tuple(common or fitting)


def usual_severity(fault: Fault) -> float:
    """Return the severity a table is made for: the last but one, bad but not the worst."""
    return fault.nodes[-2] if len(fault.nodes) > 1 else fault.nodes[0]


def severity_shown(scene: Scene, fault: Fault) -> float:
    """Return the severity of one column: the usual one, or the worst where the machine hides that."""
    usual = usual_severity(fault)
    before, after = healthy(scene).readings, with_fault(scene, fault.axis, usual).readings
    moved = [abs(after[place] / before[place] - 1.0) for place in _TELLING if place in after]
    return usual if max(moved) > _LEAST_SHARE else fault.nodes[-1]


@cache
def with_fault(scene: Scene, axis: str, severity: float) -> OperatingPoint:
    """Return the point of a unit with a fault."""
    unit = build(scene.resolved.design)
    return solve(unit, scene.conditions, Faults(**{axis: severity}), healthy(scene).start)


def shown(scene: Scene, fault: Fault) -> OperatingPoint:
    """Return the point of a unit with a fault at the severity shown."""
    return with_fault(scene, fault.axis, severity_shown(scene, fault))


def shifts(scene: Scene, fault: Fault) -> dict[str, float]:
    """Return how much each reading moves with the fault at the severity shown [SI]."""
    before = healthy(scene).readings
    after = shown(scene, fault).readings
    moved = {place: after[place] - value for place, value in before.items() if place in after}
    return {place: 0.0 if place in fault.unmoved else change for place, change in moved.items()}
