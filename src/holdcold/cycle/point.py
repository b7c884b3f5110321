"""The operating point of a unit: solved, checked, and described by its regime."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

from holdcold.cycle.build import first_guess
from holdcold.cycle.circuit import condenser_load_w
from holdcold.cycle.conditions import Conditions
from holdcold.cycle.control import attempt, controlled, cut_out, regulated, swing
from holdcold.cycle.faults import HEALTHY, Faults
from holdcold.cycle.inventory import Inventory, inventory
from holdcold.cycle.readings import readings
from holdcold.cycle.rest import resting_readings
from holdcold.cycle.setting import apply
from holdcold.cycle.steady import Start, Steady
from holdcold.cycle.unit import Unit

_WALK_STEP = 0.08
_END, _NEAR_END = 0.97, 0.88


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """What a machine does in given conditions with given faults.

    state: ``running``, ``off``, or ``no_steady_point`` when it would not stay running.
    regime: liquid side, ``level`` (receiver holds a level), ``empty`` or ``flooded``; then, after plus
    signs, what regulators do (see ``control.regulated``), and ``over_high_cut`` or ``under_low_cut``
    where a pressure control would open.
    readings: SI, by place. balances: relative residuals recomputed from the result.
    margin_kg: refrigerant between here and the next liquid-side regime [kg].
    swing: for a machine that would cycle on a pressure control, the pressures it swings between, by
    reading [Pa]. inventory: refrigerant by place, None at rest. start: where a solve nearby may begin.
    """

    state: str
    regime: str
    converged: bool
    reason: str
    readings: dict[str, float]
    balances: dict[str, float]
    margin_kg: float
    swing: dict[str, tuple[float, float]]
    inventory: Inventory | None
    evaluations: int
    start: Start | None


def solve(
    unit: Unit, conditions: Conditions, faults: Faults = HEALTHY, start: Start | None = None
) -> OperatingPoint:
    """Return the operating point of ``unit``.

    conditions: surroundings, supply and whether it runs. faults: severities, healthy by default.
    start: an earlier point nearby, to save time; the answer does not depend on it.
    "No steady point" (a pressure control would open, or a pressure leaves the refrigerant's data) is
    a result, said in ``state`` and ``regime``; the readings are then those at the limit.
    Method: engine notes section 3 (pressures, coil transfer units, flow and inventory level by a
    damped Newton; continuation in severity when that fails).
    """
    setting = apply(unit, conditions, faults)
    if not conditions.running:
        found = resting_readings(setting, conditions.rest)
        return OperatingPoint("off", conditions.rest, True, "rest", found, {}, 0.0, {}, None, 0, None)
    steady = attempt(setting, start or guess(unit, conditions))
    if (steady is None or not steady.converged) and setting.unit.design.head_control != "none":
        steady = controlled(setting, guess(unit, conditions)) or steady
    if steady is not None and steady.converged:
        steady, control = regulated(steady)
        return _describe(steady, control + cut_out(steady))
    walked = _walk(unit, conditions, faults)
    if walked is None:
        found = resting_readings(setting)
        reason = "outside the refrigerant's data even without a fault"
        return OperatingPoint(
            "no_steady_point", "outside_data", False, reason, found, {}, 0.0, {}, None, 0, None
        )
    return _describe(*walked)


def guess(unit: Unit, conditions: Conditions) -> Start:
    """Return solver unknowns for ``conditions``, from the rating point moved by box and ambient."""
    design, medium = unit.design, unit.fluid
    x = list(first_guess(unit).x)
    shrink = max(0.35, 1.0 - 0.02 * (conditions.ambient_k - design.rated_ambient_k))
    reach_k = design.coil_td_k * min(1.5, max(0.8, 1.0 + 0.02 * (conditions.box_k - design.rated_box_k)))
    evap_k = conditions.box_k - reach_k - design.suction_drop_k
    cond_k = conditions.ambient_k + design.condenser_split_k * min(1.3, shrink)
    lowest, highest = medium.dew_k(medium.p_min) + 1.0, medium.dew_k(medium.p_max) - 2.0
    x[0] = log(medium.dew_pa(min(max(evap_k, lowest), highest)))
    x[1] = log(medium.dew_pa(min(max(cond_k, lowest + 20.0), highest)))
    x[3] += x[0] - log(medium.dew_pa(design.rated_evap_k))
    return Start(x, None)


def _walk(unit: Unit, conditions: Conditions, faults: Faults) -> tuple[Steady, str] | None:
    """Walk from the healthy machine to the faulted one; None where even that has no point.

    Where the walk ends early because a pressure leaves the refrigerant's data or a control would open,
    the last point on the way is the answer and that control is named.
    """
    begin = guess(unit, conditions)
    last = attempt(apply(unit, conditions, HEALTHY), begin)
    if last is None or not last.converged:
        return None
    reached, step, spent, climb = 0.0, 0.5, last.evaluations, 0.0
    ahead: Steady | None = None
    while reached < 1.0 and step > _WALK_STEP and not _at_the_end(last):
        share = min(1.0, reached + step)
        trial = attempt(apply(unit, conditions, faults.scaled(share)), begin)
        spent += trial.evaluations if trial else 0
        if trial is not None and trial.converged:
            climb = log(_head_pa(trial) / _head_pa(last)) / (share - reached)
            begin, last, reached, step = Start(trial.x, None, trial.run.guess.level), trial, share, 1.5 * step
            continue
        if cut_out(last):
            break
        ahead = trial or ahead
        left = log(_END * unit.fluid.p_max / _head_pa(last))
        step *= 0.4 if climb * step < left else min(max(0.1, left / (climb * step)), 0.6)
    if reached >= 1.0:
        held, control = regulated(last)
        return replace(held, evaluations=spent), control + cut_out(held)
    control = cut_out(last) or _border(ahead or last) or _nearer(last)
    return replace(last, evaluations=spent, reason="the last point on the way to the fault"), control


def _head_pa(steady: Steady) -> float:
    return steady.run.guess.condensing_pa + steady.setting.foreign_pa


def _at_the_end(steady: Steady) -> bool:
    """Say whether the head stands so near the end of the refrigerant's data that no walk leads further."""
    return _head_pa(steady) > _NEAR_END * steady.setting.unit.fluid.p_max


def _border(steady: Steady) -> str:
    """Name the control that opens when an unsolved point has run against the end of the data."""
    fluid, guessed = steady.setting.unit.fluid, steady.run.guess
    if _head_pa(steady) > _NEAR_END * fluid.p_max:
        return "+over_high_cut"
    return "+under_low_cut" if guessed.suction_pa < 1.1 * fluid.p_min else ""


def _nearer(steady: Steady) -> str:
    """Name the pressure control that the last point on a walk has come nearer to."""
    design, guessed = steady.setting.unit.design, steady.run.guess
    low = guessed.suction_pa / max(design.low_cut_pa, steady.setting.unit.fluid.p_min)
    return "+under_low_cut" if low < design.high_cut_pa / _head_pa(steady) else "+over_high_cut"


def _describe(steady: Steady, control: str) -> OperatingPoint:
    """Return the result with balances recomputed from the state, not from the solver's residuals."""
    run, setting = steady.run, steady.setting
    held = inventory(setting, run)
    level, flow = run.guess.level, run.guess.flow
    liquid = "empty" if level < 0.0 else "level" if level <= setting.unit.full_level else "flooded"
    capacity_kg = setting.unit.design.receiver_m3 * run.liquid.density
    margin = min(abs(level), abs(1.0 - level)) * capacity_kg if liquid == "level" else 0.0
    rejected_w = condenser_load_w(setting, run.guess, run.liquid, run.low, run.discharge_h, run.injected)
    scale = setting.unit.rated_heat_w
    balances = {
        "compressor_flow": run.residuals[0],
        "expansion_flow": run.residuals[2],
        "coil_heat": run.residuals[1] * scale / (flow * (run.low.outlet_h - run.valve.valve_h)),
        "condenser_heat": run.residuals[3] * scale / rejected_w,
        "charge": held.total_kg / setting.charge_kg - 1.0,
    }
    stays = steady.converged and "cut" not in control and "shut" not in control
    return OperatingPoint(
        state="running" if stays else "no_steady_point",
        regime=liquid + control,
        converged=steady.converged,
        reason=steady.reason,
        readings=readings(setting, run),
        balances=balances,
        margin_kg=margin,
        swing=swing(setting, control),
        inventory=held,
        evaluations=steady.evaluations,
        start=steady.start,
    )
