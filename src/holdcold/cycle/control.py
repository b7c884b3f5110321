"""Regulators of the circuit: head-pressure control, evaporator and crankcase regulators, cut-outs."""

from __future__ import annotations

from holdcold.cycle.setting import Setting
from holdcold.cycle.steady import FREE, Hold, Start, Steady, solve_charge
from holdcold.errors import EnvelopeError, SolverError

_STARVED_LEVEL = -0.05
_HELD_WORDS = {
    "none": "",
    "fan_cycling": "+fans_cycling",
    "fan_speed": "+fans_slowed",
    "flooding_valve": "+valve_regulating",
}
_FULL_AIR = 1.0
_LEAST_AIR = 0.07


def regulated(steady: Steady) -> tuple[Steady, str]:
    """Return a free point with every regulator of the unit doing what it can, and how they stand.

    steady: solved without regulators. The words (each after a plus sign): ``coil_held`` and
    ``crankcase_held`` for the low side, ``coil_shut`` where the evaporator regulator would let nothing
    pass; ``fans_cycling``, ``fans_slowed``, ``fans_off``,
    ``valve_regulating`` for the head, ``valve_starved`` where the charge is too small to flood the
    condenser as far as it would take.
    """
    setting = steady.setting
    if steady.hold.high:
        return steady, _HELD_WORDS[setting.unit.design.head_control]
    held, words = _low_side(setting, steady)
    held, head = _head(setting, held)
    return held, words + head


def attempt(setting: Setting, start: Start, hold: Hold = FREE) -> Steady | None:
    """Return the balances closed (or not) with the charge in ``setting``; None outside the data.

    start: where to begin. hold: what regulators hold.
    """
    try:
        return solve_charge(setting, start, hold)
    except (EnvelopeError, SolverError):
        return None


def controlled(setting: Setting, start: Start) -> Steady | None:
    """Return the free machine in weather where it only runs with its head control, found through that.

    start: a guess. The head is held first; its point then starts a free one, which may lie so low that
    no other way leads there. None where that does not help: the held point itself then stands for it.
    """
    design = setting.unit.design
    head_pa = (
        0.5 * (design.fan_off_pa + design.fan_on_pa)
        if design.head_control == "fan_cycling"
        else design.head_set_pa
    )
    hold = Hold(
        high="liquid" if design.head_control == "flooding_valve" else "air",
        high_pa=head_pa * setting.head_held,
    )
    begin = Start([start.x[0], 0.5 if hold.high == "liquid" else -1.5, *start.x[2:]], None, start.level)
    held = attempt(setting, begin, hold) if hold.high_pa > setting.unit.fluid.p_min else None
    return held if held is not None and held.converged else None


def cut_out(steady: Steady) -> str:
    """Name the pressure control that would open at this point, or return nothing."""
    design, guess = steady.setting.unit.design, steady.run.guess
    if guess.condensing_pa + steady.setting.foreign_pa > design.high_cut_pa:
        return "+over_high_cut"
    return "+under_low_cut" if guess.suction_pa < design.low_cut_pa else ""


def swing(setting: Setting, words: str) -> dict[str, tuple[float, float]]:
    """Return between which pressures a machine cycles on a pressure control, by reading [Pa].

    setting: the unit. words: the regime. A low-pressure control that opens lets suction rise to its
    cut-in and pulls it down again; a high-pressure control the other way round. Usual differentials
    where the card gives none: a low control closes half as high again, a high control a quarter lower
    (common practice, no source).
    """
    design = setting.unit.design
    if "under_low_cut" in words:
        return {"suction_pa_service_valve": (design.low_cut_pa, design.low_in_pa or 1.5 * design.low_cut_pa)}
    if "over_high_cut" in words:
        return {"discharge_pa": (design.high_in_pa or 0.75 * design.high_cut_pa, design.high_cut_pa)}
    return {}


def _low_side(setting: Setting, steady: Steady) -> tuple[Steady, str]:
    """Return the point with the evaporator or the crankcase regulator holding, where it would."""
    if setting.coil_hold_pa > steady.run.low.coil_pa:
        hold = Hold(low="coil", low_pa=setting.coil_hold_pa)
        held = attempt(setting, _from(steady), hold)
        return (held, "+coil_held") if held is not None and held.converged else (steady, "+coil_shut")
    if 0.0 < setting.crankcase_hold_pa < steady.run.guess.suction_pa:
        hold = Hold(low="crankcase", low_pa=setting.crankcase_hold_pa)
        held = attempt(setting, _from(steady), hold)
        return (held, "+crankcase_held") if held is not None and held.converged else (steady, "")
    return steady, ""


def _head(setting: Setting, steady: Steady) -> tuple[Steady, str]:
    """Return the point with head-pressure control acting, where the head would fall below it."""
    design = setting.unit.design
    head_pa = steady.run.guess.condensing_pa + setting.foreign_pa
    if design.head_control == "fan_cycling" and head_pa < design.fan_off_pa * setting.head_held:
        return _fans_cycled(setting, steady)
    if design.head_control == "fan_speed" and head_pa < design.head_set_pa * setting.head_held:
        return _fans_slowed(setting, steady)
    if design.head_control == "flooding_valve" and head_pa < design.head_set_pa * setting.head_held:
        return _flooded(setting, steady)
    return steady, ""


def _fans_cycled(setting: Setting, steady: Steady) -> tuple[Steady, str]:
    """Return the mean point of condenser fans that come and go on head pressure."""
    design = setting.unit.design
    least = max(_LEAST_AIR, 1.0 - (1.0 - _LEAST_AIR) * design.fans_cycled / design.condenser_fans)
    middle_pa = 0.5 * (design.fan_off_pa + design.fan_on_pa) * setting.head_held - setting.foreign_pa
    held = _with_air(setting, steady, middle_pa)
    if held is not None and held.converged and least <= held.air <= _FULL_AIR:
        return held, "+fans_cycling"
    fewer = attempt(setting.with_condenser_air(least), steady.start, _low_of(steady))
    return (fewer, "+fans_off") if fewer is not None and fewer.converged else (steady, "")


def _fans_slowed(setting: Setting, steady: Steady) -> tuple[Steady, str]:
    """Return the point with the fans slowed just so far that the head holds."""
    held = _with_air(
        setting, steady, setting.unit.design.head_set_pa * setting.head_held - setting.foreign_pa
    )
    if held is not None and held.converged and _LEAST_AIR <= held.air <= _FULL_AIR:
        return held, "+fans_slowed"
    least = attempt(setting.with_condenser_air(_LEAST_AIR), steady.start, _low_of(steady))
    return (least, "+fans_slowed") if least is not None and least.converged else (steady, "")


def _with_air(setting: Setting, steady: Steady, head_pa: float) -> Steady | None:
    begin = _from(steady)
    begin.x[1] = -0.3
    return attempt(setting, begin, _low_of(steady)._replace(high="air", high_pa=head_pa))


def _flooded(setting: Setting, steady: Steady) -> tuple[Steady, str]:
    """Return the point with liquid backed up into the condenser until the head holds."""
    begin = _from(steady)
    begin.x[1] = 0.3
    head_pa = setting.unit.design.head_set_pa * setting.head_held - setting.foreign_pa
    held = attempt(setting, begin, _low_of(steady)._replace(high="liquid", high_pa=head_pa))
    if held is None or not held.converged:
        return steady, "+valve_starved"
    return held, "+valve_regulating" if held.run.guess.level > _STARVED_LEVEL else "+valve_starved"


def _low_of(steady: Steady) -> Hold:
    """Return what is held on the low side already."""
    return FREE._replace(low=steady.hold.low, low_pa=steady.hold.low_pa)


def _from(steady: Steady) -> Start:
    return Start(list(steady.x), None, steady.run.guess.level)
