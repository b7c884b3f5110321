"""Chances as logarithms."""

from __future__ import annotations

import math
from collections.abc import Iterable


def log_chance(value: float) -> float:
    """Return the natural logarithm of a chance; ``-inf`` for 0."""
    return math.log(value) if value > 0.0 else -math.inf


def log_sum(logs: Iterable[float]) -> float:
    """Return the log of the sum of exp(logs), without overflow; ``-inf`` for nothing."""
    values = list(logs)
    top = max(values, default=-math.inf)
    if top == -math.inf:
        return -math.inf
    return top + math.log(math.fsum(math.exp(value - top) for value in values))


def log_odds(chance: float) -> float:
    """Return log(p / (1 - p)) [nats], held within 36 nats (what double precision can tell from 1)."""
    return max(-36.0, min(36.0, log_chance(chance) - log_chance(1.0 - chance)))
