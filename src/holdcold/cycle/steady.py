"""The steady operating point: pressures, superheat, flow and liquid level that close every balance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp, log
from typing import Literal, NamedTuple

from holdcold.cycle.circuit import Guess, Pass, trace
from holdcold.cycle.inventory import inventory
from holdcold.cycle.setting import Setting
from holdcold.errors import EnvelopeError, SolverError
from holdcold.numerics.newton import Matrix, Solution, solve_system
from holdcold.numerics.roots import bracketed_root

_CAPS = (0.25, 0.25, 0.3, 0.6)
_STEPS = (1e-5, 1e-5, 1e-5, 1e-5)
_GAS_SHARE = (-30.0, 0.9995)
_LEVELS = (-2.4, 0.95)
"""Lowest level, and highest above the full receiver."""

_EDGE_STEP = 0.03
_TOLERANCE = 1e-9
_BACKED = (0.0, 0.93)


class Hold(NamedTuple):
    """Pressures a regulator holds, and with it which unknown takes the pressure's place.

    low: ``coil`` holds the coil (an evaporator regulator: the compressor's suction stays unknown),
    ``crankcase`` holds the compressor's suction (the line before the regulator becomes unknown).
    high: ``air`` holds the head by condenser air, ``liquid`` by liquid backed up into the condenser.
    low_pa, high_pa: what is held [Pa]; high_pa is the refrigerant's own pressure.
    """

    low: Literal["", "coil", "crankcase"] = ""
    low_pa: float = 0.0
    high: Literal["", "air", "liquid"] = ""
    high_pa: float = 0.0


FREE = Hold()


@dataclass(frozen=True, slots=True)
class Start:
    """A point and Jacobian to begin from; both come out of an earlier solve nearby.

    level: inventory level there; None where it is not known.
    """

    x: list[float]
    jacobian: Matrix | None
    level: float | None = None


@dataclass(frozen=True, slots=True)
class Steady:
    """One solved (or unsolved) set of balances at a given level, and how the solver fared.

    run: the pass. setting: the unit, head control applied. hold: what was held. air: share of condenser
    air the solution needed. x, jacobian: unknowns and derivatives there.
    """

    run: Pass
    setting: Setting
    hold: Hold
    air: float
    x: list[float]
    jacobian: Matrix
    converged: bool
    evaluations: int
    reason: str

    @property
    def start(self) -> Start:
        """Where a solve nearby may begin."""
        return Start(list(self.x), [row.copy() for row in self.jacobian], self.run.guess.level)


def solve_level(setting: Setting, level: float, start: Start, hold: Hold = FREE) -> Steady:
    """Close the four balances at one inventory ``level``.

    start: where to begin. hold: what regulators hold. The result says whether it converged;
    EnvelopeError is raised only when the starting point itself is outside the refrigerant's data.
    """
    lower, upper = _borders(setting, hold)
    decode = _decoder(setting, hold)
    worst = [1e3] * 4

    def residuals(x: list[float]) -> list[float]:
        try:
            return trace(*decode(x, level)).residuals
        except (EnvelopeError, SolverError):
            return worst

    solution = solve_system(
        residuals,
        start.x,
        steps=_STEPS,
        caps=_CAPS,
        lower=lower,
        upper=upper,
        tolerance=_TOLERANCE,
        jacobian=start.jacobian,
        limit=120,
    )
    return _steady(level, solution, decode, hold)


def _borders(setting: Setting, hold: Hold) -> tuple[list[float], list[float]]:
    """Return the lowest and highest value of each unknown."""
    fluid = setting.unit.fluid
    low, high = log(fluid.p_min), log(fluid.p_max)
    lower, upper = [low, low, _GAS_SHARE[0], -14.0], [high, high, _GAS_SHARE[1], 2.0]
    if hold.high == "air":
        lower[1], upper[1] = -7.0, 0.7
    elif hold.high == "liquid":
        lower[1], upper[1] = _BACKED
    return lower, upper


Decode = Callable[[list[float], float], tuple[Setting, Guess]]


def _decoder(setting: Setting, hold: Hold) -> Decode:
    """Return what turns solver unknowns and a level into a setting and a guess."""

    def decode(x: list[float], level: float) -> tuple[Setting, Guess]:
        where, condensing_pa, backed = setting, hold.high_pa, 0.0
        if hold.high == "air":
            where = setting.with_condenser_air(exp(x[1]))
        elif hold.high == "liquid":
            backed = x[1]
        else:
            condensing_pa = exp(x[1])
        first_pa = exp(x[0])
        suction_pa = hold.low_pa if hold.low == "crankcase" else first_pa
        line_pa = first_pa if hold.low == "crankcase" else 0.0
        coil_pa = hold.low_pa if hold.low == "coil" else 0.0
        return where, Guess(suction_pa, condensing_pa, x[2], exp(x[3]), level, backed, line_pa, coil_pa)

    return decode


def _steady(level: float, solution: Solution, decode: Decode, hold: Hold) -> Steady:
    x = solution.x[:4]
    where, guess = decode(x, level)
    jacobian = [row[:4] for row in solution.jacobian[:4]]
    air = exp(x[1]) if hold.high == "air" else 1.0
    run = trace(where, guess)
    return Steady(
        run, where, hold, air, x, jacobian, solution.converged, solution.evaluations, solution.reason
    )


def solve_charge(setting: Setting, start: Start, hold: Hold = FREE) -> Steady:
    """Close the balances with the charge in ``setting``: the inventory level is found too.

    start: where to begin. hold: what regulators hold.
    One solve serves every level of the receiver, since nothing but the mass depends on it. A charge
    below (above) that range is searched on the known side only, each solve starting from the last.
    """
    spent = 0

    def at(level: float, begin: Start) -> tuple[Steady, float]:
        nonlocal spent
        steady = solve_level(setting, level, begin, hold)
        if not steady.converged and begin.jacobian is not None:
            spent += steady.evaluations
            steady = solve_level(setting, level, Start(begin.x, None), hold)
        spent += steady.evaluations
        if not steady.converged:
            return steady, 0.0
        return steady, inventory(steady.setting, steady.run).total_kg / setting.charge_kg - 1.0

    unit = setting.unit
    level = unit.right_level if start.level is None else start.level
    plateau = unit.design.receiver_m3 > 0.0 and 0.0 <= level <= 1.0
    first, excess = at(level, start)
    if not first.converged:
        return _with_level(first, level, spent)
    if plateau:
        per_level = first.run.liquid.density - unit.fluid.rho_dew(first.run.guess.condensing_pa)
        room = unit.design.receiver_m3 * per_level / setting.charge_kg
        reached = level - excess / room
        if 0.0 <= reached <= 1.0:
            return _with_level(first, reached, spent)
        base = 0.0 if reached < 0.0 else 1.0
        excess += room * (base - level)
        level = base
    bordered = _bordered(setting, first, level, excess, hold)
    spent += bordered.evaluations
    if bordered.converged or _at_border(bordered):
        return _with_level(bordered, bordered.run.guess.level, spent)
    found = _search(at, first, level, excess)
    return _with_level(found, found.run.guess.level, spent)


def _at_border(steady: Steady) -> bool:
    """Say whether an iteration ran against the lowest or highest pressure of the refrigerant's data."""
    fluid, guess = steady.setting.unit.fluid, steady.run.guess
    return guess.suction_pa < 1.0001 * fluid.p_min or guess.condensing_pa > 0.9999 * fluid.p_max


def _bordered(setting: Setting, first: Steady, base: float, excess: float, hold: Hold) -> Steady:
    """Close the balances and the charge together, the level being a fifth unknown."""
    side = -1.0 if excess > 0.0 else 1.0
    lower, upper = _borders(setting, hold)
    low, high = (_LEVELS[0], base) if side < 0.0 else (base, setting.unit.full_level + _LEVELS[1])
    decode = _decoder(setting, hold)

    def residuals(x: list[float]) -> list[float]:
        try:
            where, guess = decode(x, x[4])
            run = trace(where, guess)
            return [*run.residuals, inventory(where, run).total_kg / setting.charge_kg - 1.0]
        except (EnvelopeError, SolverError):
            return [1e3] * 5

    start = [*first.x, base + side * _EDGE_STEP]
    solution = solve_system(
        residuals,
        start,
        steps=(*_STEPS, 1e-5),
        caps=(*_CAPS, 0.3),
        lower=[*lower, low],
        upper=[*upper, high],
        tolerance=_TOLERANCE,
        limit=90,
    )
    return _steady(solution.x[4], solution, decode, hold)


def _search(
    at: Callable[[float, Start], tuple[Steady, float]], first: Steady, base: float, excess: float
) -> Steady:
    """Find the level beyond ``base`` that holds the charge, going the way ``excess`` points."""
    side = -1.0 if excess > 0.0 else 1.0
    top = first.setting.unit.full_level + _LEVELS[1]
    best, value, level, step = first, excess, base, 0.03
    while True:
        reach = min(max(level + side * step, _LEVELS[0]), top)
        trial, error = at(reach, best.start)
        if not trial.converged:
            step *= 0.4
            if step < 4e-3:
                return trial
            continue
        best, before, old = trial, level, value
        level, value = reach, error
        if (value > 0.0) != (old > 0.0):
            break
        if reach in (_LEVELS[0], top):
            return replace(trial, converged=False, reason="charge beyond what the circuit can hold running")
        step *= 2.2
    holder = [best]

    def miss(where: float) -> float:
        holder[0], off = at(where, holder[0].start)
        return off

    bracketed_root(
        miss, before, level, x_tolerance=1e-13, f_tolerance=1e-11, f_low=old, f_high=value, limit=40
    )
    return holder[0]


def _with_level(steady: Steady, level: float, evaluations: int) -> Steady:
    """Return ``steady`` saying ``level`` and the evaluations of the whole search."""
    guess = steady.run.guess._replace(level=level)
    return replace(steady, run=steady.run._replace(guess=guess), evaluations=evaluations)
