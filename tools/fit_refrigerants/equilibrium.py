"""Phase equilibrium of blends from imposed-phase fugacities: bubble, dew and the states between.

For a given temperature the unknowns are ln p and the K values. Successive substitution in K with a
Newton step in ln p (the slope of the equilibrium sum is, to the order needed, the difference of the two
compressibility factors) converges for every temperature up to 8 K below the critical one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .reference import Reference

# CoolProp's density search leaves up to 3e-10 of noise in the fugacities of some blends, which cannot then
# meet CLOSE.
CLOSE, FAIR, PATIENCE = 1e-11, 1e-9, 40


@dataclass(frozen=True)
class Split:
    """One equilibrium: temperature, pressure, vapour mole fraction, liquid and vapour compositions."""

    t_k: float
    p_pa: float
    beta: float
    liquid: np.ndarray
    vapour: np.ndarray


def solve(ref: Reference, t_k: float, beta: float, start: Split) -> Split:
    """Equilibrium at ``t_k`` with vapour mole fraction ``beta`` (0 bubble, 1 dew), started nearby.

    Raises ValueError when 400 rounds do not bring both conditions below CLOSE, or FAIR after PATIENCE rounds.
    """
    z = np.array(ref.overall)
    log_p = math.log(start.p_pa)
    x, y = start.liquid, start.vapour
    for turn in range(400):
        p_pa = math.exp(log_p)
        log_liquid, z_liquid = ref.log_phi(True, t_k, p_pa, x)
        log_vapour, z_vapour = ref.log_phi(False, t_k, p_pa, y)
        k = np.exp(log_liquid - log_vapour)
        new_x, new_y = _compositions(z, k, beta)
        gap = math.log(float(new_y.sum()) / float(new_x.sum()))
        new_x, new_y = new_x / new_x.sum(), new_y / new_y.sum()
        moved = float(np.abs(new_x - x).max() + np.abs(new_y - y).max())
        x, y = new_x, new_y
        log_p += max(-0.2, min(0.2, gap / (z_vapour - z_liquid)))
        if max(moved, abs(gap)) < (CLOSE if turn < PATIENCE else FAIR):
            return Split(t_k, math.exp(log_p), beta, x, y)
    raise ValueError(f"no equilibrium at {t_k} K, beta {beta}")


def _compositions(z: np.ndarray, k: np.ndarray, beta: float) -> tuple[np.ndarray, np.ndarray]:
    """Unnormalised liquid and vapour mole fractions for K values and a vapour fraction."""
    x = z / (1.0 + beta * (k - 1.0))
    return x, k * x


def first(ref: Reference, t_k: float, p_pa: float) -> Split:
    """A rough start: overall composition as liquid, vapour from Raoult-like K values at ``p_pa``."""
    z = np.array(ref.overall)
    log_liquid, _ = ref.log_phi(True, t_k, p_pa, z)
    log_vapour, _ = ref.log_phi(False, t_k, p_pa, z)
    k = np.exp(log_liquid - log_vapour)
    y = z * k
    return Split(t_k, p_pa * float(y.sum()), 0.0, z, y / y.sum())


def march(ref: Reference, temperatures: np.ndarray, beta: float, start: Split) -> list[Split]:
    """Equilibria along a rising or falling list of temperatures, each started from the one before."""
    found: list[Split] = []
    here = start
    for t_k in temperatures:
        if len(found) >= 2:
            here = _predict(found[-2], found[-1], float(t_k))
        here = solve(ref, float(t_k), beta, here)
        found.append(here)
    return found


def _predict(before: Split, last: Split, t_k: float) -> Split:
    """Linear prediction in 1/T of ln p; compositions of the last point."""
    slope = math.log(last.p_pa / before.p_pa) / (1.0 / last.t_k - 1.0 / before.t_k)
    p_pa = last.p_pa * math.exp(slope * (1.0 / t_k - 1.0 / last.t_k))
    return Split(t_k, p_pa, last.beta, last.liquid, last.vapour)
