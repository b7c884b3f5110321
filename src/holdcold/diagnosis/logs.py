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


def log_odds(with_it: float, without_it: float) -> float:
    """Return log(p / (1 - p)) [nats] from the chances with and without something.

    Both are asked for, because 1 - p is lost to rounding where p is nearly 1. Held within 690 nats, so
    that what has become impossible can still be subtracted.
    """
    return log_chance(max(with_it, 1e-300)) - log_chance(max(without_it, 1e-300))
