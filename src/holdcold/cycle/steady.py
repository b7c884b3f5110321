"""The steady operating point: pressures, superheat, flow and liquid level that close every balance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp, log

from holdcold.cycle.circuit import Pass, trace
from holdcold.cycle.inventory import inventory
from holdcold.cycle.setting import Setting
from holdcold.errors import EnvelopeError, SolverError
from holdcold.numerics.newton import Matrix, Solution, solve_system
from holdcold.numerics.roots import bracketed_root

Hold = str
"""What is held and what gives: ``free``, ``head`` (air gives), ``low`` or ``high`` (run time gives)."""

_CAPS = (0.25, 0.25, 0.3, 0.6)
_STEPS = (1e-5, 1e-5, 1e-5, 1e-5)
_GAS_SHARE = (-30.0, 0.9995)
_TOLERANCE = 1e-9
_LEVELS = (-2.4, 0.95)
"""Lowest level, and highest above the full receiver."""
_EDGE_STEP = 0.03


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

    air, duty: share of condenser air and of compressor run time the solution needed.
    """

    run: Pass
    setting: Setting
    air: float
    duty: float
    x: list[float]
    jacobian: Matrix
    converged: bool
    evaluations: int
    reason: str

    @property
    def start(self) -> Start:
        """Where a solve nearby may begin."""
        return Start(list(self.x), [row.copy() for row in self.jacobian], self.run.level)


def solve_level(
    setting: Setting, level: float, start: Start, *, hold: Hold = "free", held_pa: float = 0.0
) -> Steady:
    """Close the four balances at one inventory ``level``.

    start: where to begin. hold: ``free``; or ``head`` holds the condensing pressure at ``held_pa``
    and finds the condenser air; ``low`` and ``high`` hold suction or condensing pressure there and
    find the run time. The result says whether it converged; EnvelopeError is raised only when
    the starting point itself is outside the refrigerant's data.
    """
    lower, upper = _borders(setting, hold)
    decode = _decoder(setting, hold, held_pa)
    worst = [1e3] * 4

    def residuals(x: list[float]) -> list[float]:
        try:
            where, suction_pa, condensing_pa, duty = decode(x)
            return trace(where, suction_pa, condensing_pa, x[2], exp(x[3]), level, duty).residuals
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
    held = {"low": 0, "high": 1, "head": 1}.get(hold, -1)
    if held >= 0:
        lower[held], upper[held] = -7.0, 0.7
    return lower, upper


Decoded = tuple[Setting, float, float, float]


def _decoder(setting: Setting, hold: Hold, held_pa: float) -> Callable[[list[float]], Decoded]:
    """Return what turns solver unknowns into (setting, suction, condensing, duty)."""
    if hold == "head":
        return lambda x: (setting.with_condenser_air(exp(x[1])), exp(x[0]), held_pa, 1.0)
    if hold == "low":
        return lambda x: (setting, held_pa, exp(x[1]), exp(x[0]))
    if hold == "high":
        return lambda x: (setting, exp(x[0]), held_pa, exp(x[1]))
    return lambda x: (setting, exp(x[0]), exp(x[1]), 1.0)


def _steady(level: float, solution: Solution, decode: Callable[[list[float]], Decoded], hold: Hold) -> Steady:
    x = solution.x[:4]
    where, suction_pa, condensing_pa, duty = decode(x)
    run = trace(where, suction_pa, condensing_pa, x[2], exp(x[3]), level, duty)
    air = exp(x[1]) if hold == "head" else 1.0
    jacobian = [row[:4] for row in solution.jacobian[:4]]
    return Steady(
        run, where, air, duty, x, jacobian, solution.converged, solution.evaluations, solution.reason
    )


def solve_charge(setting: Setting, start: Start, *, hold: Hold = "free", held_pa: float = 0.0) -> Steady:
    """Close the balances with the charge in ``setting``: the inventory level is found too.

    One solve serves every level of the receiver, since nothing but the mass depends on it. A charge
    below (above) that range is searched on the known side only, each solve starting from the last.
    """
    spent = 0

    def at(level: float, begin: Start) -> tuple[Steady, float]:
        nonlocal spent
        steady = solve_level(setting, level, begin, hold=hold, held_pa=held_pa)
        if not steady.converged and begin.jacobian is not None:
            spent += steady.evaluations
            steady = solve_level(setting, level, Start(begin.x, None), hold=hold, held_pa=held_pa)
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
        per_level = first.run.high.density - unit.fluid.rho_dew(first.run.condensing_pa)
        room = unit.design.receiver_m3 * per_level / setting.charge_kg
        reached = level - excess / room
        if 0.0 <= reached <= 1.0:
            return _with_level(first, reached, spent)
        base = 0.0 if reached < 0.0 else 1.0
        excess += room * (base - level)
        level = base
    bordered = _bordered(setting, first, level, excess, hold, held_pa)
    spent += bordered.evaluations
    if bordered.converged or _at_border(bordered):
        return _with_level(bordered, bordered.run.level, spent)
    found = _search(at, first, level, excess)
    return _with_level(found, found.run.level, spent)


def _at_border(steady: Steady) -> bool:
    """Say whether an iteration ran against the lowest or highest pressure of the refrigerant's data."""
    fluid, run = steady.setting.unit.fluid, steady.run
    return run.suction_pa < 1.0001 * fluid.p_min or run.condensing_pa > 0.9999 * fluid.p_max


def _bordered(
    setting: Setting, first: Steady, base: float, excess: float, hold: Hold, held_pa: float
) -> Steady:
    """Close the balances and the charge together, the level being a fifth unknown."""
    side = -1.0 if excess > 0.0 else 1.0
    lower, upper = _borders(setting, hold)
    low, high = (_LEVELS[0], base) if side < 0.0 else (base, setting.unit.full_level + _LEVELS[1])
    decode = _decoder(setting, hold, held_pa)

    def residuals(x: list[float]) -> list[float]:
        try:
            where, suction_pa, condensing_pa, duty = decode(x)
            run = trace(where, suction_pa, condensing_pa, x[2], exp(x[3]), x[4], duty)
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
        miss, before, level, x_tolerance=1e-12, f_tolerance=1e-8, f_low=old, f_high=value, limit=40
    )
    return holder[0]


def _with_level(steady: Steady, level: float, evaluations: int) -> Steady:
    """Return ``steady`` saying ``level`` and the evaluations of the whole search."""
    return replace(steady, run=steady.run._replace(level=level), evaluations=evaluations)
