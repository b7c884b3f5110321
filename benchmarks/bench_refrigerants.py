"""Refrigerant properties: time per public call beside CoolProp's, failures, and accuracy.

Run: python benchmarks/bench_refrigerants.py [names]. Every point is random (fixed seed) and asked once; there
is no memo. CoolProp is asked for the same points in the same run: through its low-level interface with a
kept AbstractState, the phase imposed where that is possible, and through PropsSI. Its blends are slow, so
they get fewer of the same points. Blends with estimated pairs are opened as the fitting tool opens them, and
have no high-level name.
"""

from __future__ import annotations

import importlib
import math
import random
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import CoolProp
from CoolProp.CoolProp import PropsSI

from holdcold.errors import HoldcoldError
from holdcold.refrigerants import Fluid, fluid, names

POINTS, PASSES, PEER_SECONDS, ACCURACY_POINTS = 2000, 25, 1.5, 400
DEFAULT = ("R-22", "R-404A", "R-448A")
PSEUDO_PURE = {"R-404A", "R-410A", "R-507A"}
ROOT = Path(__file__).parents[1]
Point = tuple[float, float]


def random_points(f: Fluid, phase: str, count: int, source: random.Random) -> list[Point]:
    """Return (T, p): superheat 0 to 120 K or subcooling of the envelope, p evenly in ln p."""
    points = []
    for _ in range(count):
        p_pa = f.p_min * math.exp(source.random() * math.log(f.p_max / f.p_min))
        if phase == "vapour":
            points.append((f.dew_k(p_pa) + 120.0 * source.random(), p_pa))
        else:
            depth = f.info.envelope.subcooling_k
            points.append((f.bubble_k(p_pa) - depth * source.random(), p_pa))
    return points


def ours(call: Callable[..., object], arguments: Sequence[Sequence[float]]) -> float:
    """Return microseconds per call: the fastest of several passes over every point."""
    best = math.inf
    for _ in range(PASSES):
        start = time.perf_counter()
        for argument in arguments:
            call(*argument)
        best = min(best, time.perf_counter() - start)
    return best / len(arguments) * 1e6


def peer(call: Callable[..., object], arguments: Sequence[Sequence[float]]) -> tuple[float, int, int]:
    """Return microseconds per call, failures and calls, stopping after a second or two."""
    failures = calls = 0
    start = time.perf_counter()
    for argument in arguments:
        calls += 1
        try:
            call(*argument)
        except ValueError:
            failures += 1
        if time.perf_counter() - start > PEER_SECONDS:
            break
    return (time.perf_counter() - start) / calls * 1e6, failures, calls


def tool(name: str):
    """Return one module of the fitting tool."""
    if str(ROOT) not in sys.path:
        sys.path.append(str(ROOT))
    return importlib.import_module(f"tools.fit_refrigerants.{name}")


class Peer:
    """CoolProp for one refrigerant, with the models the data files were fitted to."""

    def __init__(self, name: str) -> None:
        """Open the backends."""
        self.name, self.info = name, fluid(name).info
        parts = self.info.composition
        self.single = name in PSEUDO_PURE or len(parts) == 1
        plain = name.replace("-", "")
        self.label = plain if self.single else "&".join(part.replace("-", "") for part in parts)
        self.shares = [] if self.single else list(parts.values())
        self.high = plain if self.single else plain + ".mix"
        if self.info.status != "full":
            self.high = ""
        self.free, self.gas, self.wet = self.state(None), self.state("gas"), self.state("liquid")

    def state(self, phase: str | None):
        """Return an AbstractState, its phase imposed if one is named."""
        if self.info.status == "full":
            state = CoolProp.AbstractState("HEOS", self.label)
            if self.shares:
                state.set_mass_fractions(self.shares)
        else:
            state = tool("pairs").open_mixture(tool("catalogue").entry(self.name))
        if phase:
            state.specify_phase(CoolProp.iphase_gas if phase == "gas" else CoolProp.iphase_liquid)
        return state

    def dew(self, t_k: float) -> float:
        """Dew pressure, low level."""
        self.free.update(CoolProp.QT_INPUTS, 1.0, t_k)
        return self.free.p()

    def dew_temperature(self, p_pa: float) -> float:
        """Dew temperature, low level."""
        self.free.update(CoolProp.PQ_INPUTS, p_pa, 1.0)
        return self.free.T()

    def single_phase(self, state, t_k: float, p_pa: float) -> tuple[float, float, float, float]:
        """(h, s, v, cp), low level, phase imposed."""
        state.update(CoolProp.PT_INPUTS, p_pa, t_k)
        return state.hmass(), state.smass(), 1.0 / state.rhomass(), state.cpmass()

    def by_enthalpy(self, p_pa: float, h: float) -> float:
        """Temperature from (p, h), low level."""
        self.free.update(CoolProp.HmassP_INPUTS, h, p_pa)
        return self.free.T()


def shift(f: Fluid, other: Peer) -> float:
    """Return what is added to CoolProp's enthalpy to reach 200 kJ/kg for saturated liquid at 0 C."""
    return 200.0e3 - other.single_phase(other.wet, 273.15, f.bubble_pa(273.15))[0]


def speed(name: str) -> None:
    """Print the times of one refrigerant beside CoolProp's."""
    f, other, source = fluid(name), Peer(name), random.Random(20)
    zero = shift(f, other)
    gas, wet = (random_points(f, phase, POINTS, source) for phase in ("vapour", "liquid"))
    reach = f.info.envelope
    temperatures = [(source.uniform(reach.min_k, reach.max_k),) for _ in range(POINTS)]
    gas_ph = [(p, f.vapour(t, p)[0]) for t, p in gas]
    wet_ph = [(p, f.liquid(t, p)[0]) for t, p in wet]
    inside = [(p, f.h_bubble(p) + source.random() * (f.h_dew(p) - f.h_bubble(p))) for _, p in gas]

    def high_ph(p_pa: float, h: float) -> float:
        return PropsSI("T", "P", p_pa, "Hmass", h - zero, other.high)

    rows = (
        ("dew_pa(T)", f.dew_pa, temperatures, other.dew,
         lambda t: PropsSI("P", "T", t, "Q", 1, other.high)),
        ("dew_k(p)", f.dew_k, [(p,) for _, p in gas], other.dew_temperature,
         lambda p: PropsSI("T", "P", p, "Q", 1, other.high)),
        ("vapour(T, p)", f.vapour, gas, lambda t, p: other.single_phase(other.gas, t, p),
         lambda t, p: PropsSI("Hmass", "T", t, "P", p, other.high)),
        ("liquid(T, p)", f.liquid, wet, lambda t, p: other.single_phase(other.wet, t, p),
         lambda t, p: PropsSI("Hmass", "T", t, "P", p, other.high)),
        ("vapour_k_ph", f.vapour_k_ph, gas_ph, None, None),
        ("liquid_k_ph", f.liquid_k_ph, wet_ph, None, None),
        ("state_ph vapour", f.state_ph, gas_ph, lambda p, h: other.by_enthalpy(p, h - zero), high_ph),
        ("state_ph liquid", f.state_ph, wet_ph, lambda p, h: other.by_enthalpy(p, h - zero), high_ph),
        ("state_ph wet", f.state_ph, inside, lambda p, h: other.by_enthalpy(p, h - zero), high_ph),
    )  # fmt: skip
    print(f"\n{name}: us per call, failures; CoolProp {CoolProp.__version__} low and high level, ratios")
    for label, call, points, low, high in rows:
        mine = ours(call, points)
        failed = ours_failures(call, points)
        line = f"  {label:16s} {mine:6.2f}  {failed}/{len(points)} "
        for peer_call in (low, high):
            if peer_call is not None and (peer_call is low or other.high):
                micros, failures, calls = peer(peer_call, points)
                line += f" | {micros:9.1f}  {failures:3d}/{calls:<4d} x{micros / mine:<8.3g}"
            else:
                line += f" | {'':30s}"
        print(line)


def ours_failures(call: Callable[..., object], points: Sequence[Sequence[float]]) -> int:
    """Count the points at which a public call raises."""
    failures = 0
    for point in points:
        try:
            call(*point)
        except HoldcoldError:
            failures += 1
    return failures


def accuracy(name: str) -> None:
    """Print the median and the largest difference from CoolProp at random points."""
    f, other, source = fluid(name), Peer(name), random.Random(21)
    zero = shift(f, other)
    reach = f.info.envelope
    pressures, failed = [], 0
    for _ in range(ACCURACY_POINTS):
        t_k = source.uniform(reach.min_k, reach.max_k)
        try:
            pressures.append(100.0 * abs(f.dew_pa(t_k) / other.dew(t_k) - 1.0))
        except ValueError:
            failed += 1
    line = f"  {name:7s} {shown(pressures)}  {failed:3d}"
    for phase, state, mine in (("vapour", other.gas, f.vapour), ("liquid", other.wet, f.liquid)):
        h_gaps, rho_gaps = [], []
        for t_k, p_pa in random_points(f, phase, ACCURACY_POINTS, source):
            if name in PSEUDO_PURE and t_k < 200.0:
                continue  # CoolProp's density search strays below these equations' stated limit
            h, _, v, _ = other.single_phase(state, t_k, p_pa)
            h_mine, _, v_mine, _ = mine(t_k, p_pa)
            h_gaps.append(abs(h_mine - h - zero) / 1e3)
            rho_gaps.append(100.0 * abs(v / v_mine - 1.0))
        line += f"  {shown(h_gaps)}  {shown(rho_gaps)}"
    print(line)


def shown(values: Sequence[float]) -> str:
    """Median and maximum in two columns."""
    return f"{statistics.median(values):8.1e} {max(values):8.1e}"


def main() -> None:
    """Time the named refrigerants, then tell the accuracy of all."""
    for name in sys.argv[1:] or DEFAULT:
        speed(name)
    print(f"\nAccuracy at {ACCURACY_POINTS} random points: median, maximum; n: CoolProp flashes that failed")
    columns = ("dew p %", "vapour h kJ/kg", "vapour rho %", "liquid h kJ/kg", "liquid rho %")
    print("  " + " " * 8 + f"{columns[0]:18s}   n  " + "".join(f"{column:19s}" for column in columns[1:]))
    for name in names():
        accuracy(name)


if __name__ == "__main__":
    main()
