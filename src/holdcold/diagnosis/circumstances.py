"""State of the machine, complaint and trend of the box as evidence: dated tables, cooling against load."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from math import erf, exp, log, sqrt

from holdcold.diagnosis.catalogue import Fault


@dataclass(frozen=True, slots=True)
class Circumstances:
    """Tables of chances; see ``circumstances.toml`` for what each row means.

    states, complaints: words in the order of the rows. error: chance that what was noted is wrong.
    middle, softness: load over capacity where the box is as likely warm as not, and how soft that is.
    least_warm: chance of a warm box that cools as it should (door, delivery, defrost).
    trends: words in the order of their borders. trend_steady: half-width in ln(cooling over load) inside
    which the box stands still. trend_spread: what is not known of that logarithm. trend_told: chance that
    the noted trend says anything of it. at_set_k: a box this little above its set point is held there.
    warm_k: one this far above it asks for cooling.
    """

    states: tuple[str, ...]
    complaints: tuple[str, ...]
    error: float
    middle: float
    softness: float
    least_warm: float
    trends: tuple[str, ...]
    trend_steady: float
    trend_spread: float
    trend_told: float
    at_set_k: float
    warm_k: float
    state: Mapping[str, tuple[float, ...]]
    complaint: Mapping[str, tuple[float, ...]]

    def state_chance(
        self, noted: str, faults: Sequence[Fault], stops: float, *, above_set_k: float = 0.0
    ) -> float:
        """Return the chance of finding the compressor in state ``noted``; 1 for a state that says nothing.

        faults: of the hypothesis. stops: chance that a pressure control stops the machine with them; 1
        without a steady point. above_set_k: how far the box stands above its set point [K]; a warm one
        asks for cooling.
        """
        if noted not in self.states:
            return 1.0
        row = self._row(self.state, faults)
        if row is None:
            asks = "_asked" if above_set_k > self.warm_k else ""
            runs = self.state[("steady_fault" if faults else "healthy") + asks]
            row = tuple(
                (1.0 - stops) * steady + stops * stopped
                for steady, stopped in zip(runs, self.state["no_steady_point"], strict=True)
            )
        return self._noted(row, self.states.index(noted))

    def trend_chance(self, noted: str, load_share: float, above_set_k: float) -> float:
        """Return the chance of finding the box of a running machine falling, steady or rising.

        noted: which way. load_share: load of the box over the cooling the machine gives, both with the box
        as found.
        above_set_k: how far the box stands above its set point [K]. A box with more cooling than load
        falls until it is held at its set point, where it is steady, or still falling a little.
        Returns 1 for a trend that says nothing.
        """
        if noted not in self.trends:
            return 1.0
        surplus = -log(max(load_share, 1e-3))
        rises = _below(-self.trend_steady, surplus, self.trend_spread)
        falls = 1.0 - _below(self.trend_steady, surplus, self.trend_spread)
        if above_set_k < self.at_set_k:
            falls *= 0.5
        row = {"falling": falls, "rising": rises, "steady": 1.0 - falls - rises}
        return self.trend_told * row[noted] + (1.0 - self.trend_told) / len(self.trends)

    def complaint_chance(self, noted: str, faults: Sequence[Fault], load_share: float) -> float:
        """Return the chance that the customer called about ``noted``.

        load_share: box load over the cooling the faulted machine gives at set point. A machine without
        fault that somebody called about has been found warm for reasons that pass.
        """
        if noted not in self.complaints:
            return 1.0
        if not faults:
            return self._noted(self.complaint["healthy"], self.complaints.index(noted))
        row = self._row(self.complaint, faults) or self.complaint["machine"]
        warm = 1.0 / (1.0 + exp(min(50.0, max(-50.0, (self.middle - load_share) / self.softness))))
        warm = max(warm, self.least_warm)
        if any(fault.axis == "not_running" for fault in faults):
            return self._noted(row, self.complaints.index(noted))
        place = self.complaints.index(noted)
        calls_warm = row[0] * warm
        chance = calls_warm if place == 0 else row[place] * (1.0 - calls_warm) / (1.0 - row[0])
        return (1.0 - self.error) * chance + self.error / len(self.complaints)

    def _row(
        self, table: Mapping[str, tuple[float, ...]], faults: Sequence[Fault]
    ) -> tuple[float, ...] | None:
        """Return the row of the fault that says most: its own id, else its axis."""
        for fault in faults:
            if fault.id in table:
                return table[fault.id]
        for fault in faults:
            if fault.axis in table:
                return table[fault.axis]
        return None

    def _noted(self, row: tuple[float, ...], place: int) -> float:
        return (1.0 - self.error) * row[place] + self.error / len(row)


def _below(border: float, mean: float, sigma: float) -> float:
    """Return the chance that a normal value lies below ``border``."""
    return 0.5 * (1.0 + erf((border - mean) / (sigma * sqrt(2.0))))


@cache
def circumstances() -> Circumstances:
    """Return the packaged tables; read once."""
    text = (
        resources.files("holdcold.diagnosis").joinpath("data/circumstances.toml").read_text(encoding="utf-8")
    )
    data = tomllib.loads(text)
    capacity, trend = data["capacity"], data["trend"]
    return Circumstances(
        tuple(data["states"]),
        tuple(data["complaints"]),
        data["error"],
        capacity["middle"],
        capacity["softness"],
        capacity["least_warm"],
        tuple(data["trends"]),
        trend["steady"],
        trend["spread"],
        trend["told"],
        trend["at_set_k"],
        data["warm_k"],
        {name: tuple(row) for name, row in data["state"].items()},
        {name: tuple(row) for name, row in data["complaint"].items()},
    )
