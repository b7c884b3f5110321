"""The operating point of a unit: solved, checked, and described by its regime."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

from holdcold.cycle.build import first_guess
from holdcold.cycle.circuit import condenser_load_w
from holdcold.cycle.conditions import Conditions
from holdcold.cycle.control import cut_out, regulated, swing
from holdcold.cycle.faults import HEALTHY, Faults
from holdcold.cycle.inventory import Inventory, inventory
from holdcold.cycle.readings import readings
from holdcold.cycle.rest import resting_readings
from holdcold.cycle.setting import apply
from holdcold.cycle.steady import Start, Steady, solve_charge
from holdcold.cycle.unit import Unit

_WALK_STEP = 0.02
_BORDER_STEP = 0.15


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
    steady = solve_charge(setting, start or guess(unit, conditions))
    if steady.converged:
        steady, control = regulated(steady)
        control += cut_out(steady)
    else:
        steady, control = _patiently(unit, conditions, faults)
    return _describe(steady, control)


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


def _patiently(unit: Unit, conditions: Conditions, faults: Faults) -> tuple[Steady, str]:
    """Walk from the healthy machine to the faulted one.

    Where the walk ends early because a pressure leaves the refrigerant's data, the last point on the
    way is the answer and the control that would open by then is named.
    """
    steady = solve_charge(apply(unit, conditions, HEALTHY), guess(unit, conditions))
    begin, last = guess(unit, conditions), steady if steady.converged else None
    reached, step, spent = 0.0, 0.5, steady.evaluations
    while reached < 1.0 and step > _WALK_STEP:
        share = min(1.0, reached + step)
        steady = solve_charge(apply(unit, conditions, faults.scaled(share)), begin)
        spent += steady.evaluations
        if steady.converged:
            begin, last, reached, step = (
                Start(steady.x, None, steady.run.guess.level),
                steady,
                share,
                1.5 * step,
            )
        else:
            step *= 0.4
            if step < _BORDER_STEP and _border(steady):
                break
    if steady.converged:
        controlled, control = regulated(steady)
        return replace(controlled, evaluations=spent), control + cut_out(controlled)
    control = _border(steady) if last is not None else ""
    return replace(last if control and last is not None else steady, evaluations=spent), control


def _border(steady: Steady) -> str:
    """Name the control that opens when an unsolved point has run against the end of the data."""
    fluid, guessed = steady.setting.unit.fluid, steady.run.guess
    if guessed.condensing_pa > 0.97 * fluid.p_max:
        return "+over_high_cut"
    return "+under_low_cut" if guessed.suction_pa < 1.1 * fluid.p_min else ""


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
