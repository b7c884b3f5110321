"""Machines of known sizes, read as a technician would after a proved repair.

The sizes are drawn from the spreads of a card, the readings get the errors that the instruments of
``quantities`` have: one bias for an instrument on all visits, noise for each reading, and a model error
at each place of which half lasts and half fades with the weather.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

import numpy as np

from holdcold.cards import Card, Resolved, read_card
from holdcold.cards.sharpened import Visit, VisitReading
from holdcold.cycle import Conditions, OperatingPoint, build, solve
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.normal import model_sigma
from holdcold.errors import InputError
from holdcold.quantities import instrument

COOLER = """
schema = 1
kind = "walk_in"
refrigerant = "R-449A"
application = "cooler"
box = { length = "12 ft", width = "10 ft", height = "8 ft" }
capacity = { rated = "11.5 kBtu/h" }
condenser = { location = "indoor" }
charge = { amount = "6 lb 8 oz" }
"""
CABINET = """
schema = 1
kind = "reach_in"
refrigerant = "R-134a"
application = "cooler"
box = { volume = "45 ft3" }
capacity = { horsepower = "1/3 hp" }
"""
PLACES = (
    "suction_pa_service_valve", "discharge_pa", "liquid_k_condenser_outlet", "suction_k_coil_outlet",
    "suction_k_compressor_inlet", "discharge_line_k", "condenser_air_out_k", "coil_air_out_k", "compressor_a",
)  # fmt: skip
AIR_SIGMA_K = 0.5


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


def card_of(text: str) -> Card:
    return read_card(text)


def drawn(base: Resolved, rng: random.Random) -> tuple[Resolved, dict[str, float]]:
    """Return a unit with sizes drawn from the card's spreads, and the shifts [SI]; impossible ones not."""
    while True:
        shifts = {fact.name: rng.gauss(0.0, fact.spread_si) for fact in base.uncertain()}
        unit = base.shifted(shifts)
        try:
            build(unit.design)
        except InputError:
            continue
        return unit, shifts


@dataclass
class Proved:
    """A unit to be read: its true sizes, its model errors and its instruments' biases, drawn once."""

    unit: Resolved
    rng: random.Random
    biases: dict[str, float] = field(default_factory=dict)
    errors: dict[str, list[tuple[float, float, float]]] = field(default_factory=dict)

    def point(self, ambient_k: float, box_k: float) -> OperatingPoint:
        return solve(build(self.unit.design), Conditions(ambient_k, box_k))

    def truth(self, place: str, value: float, ambient_k: float, box_k: float) -> float:
        """Return what is really there: the prediction with true sizes, off by the model's error."""
        known = self.errors.setdefault(place, [])
        points = np.array([*((one[0], one[1]) for one in known), (ambient_k, box_k)])
        gaps = (points[:, None, :] - points[None, :, :]) / np.array([5.0, 3.0])
        alike = 0.5 + 0.5 * np.exp(-0.5 * np.sum(gaps**2, axis=2))
        mean, variance = 0.0, 1.0
        if known:
            weights = np.linalg.solve(alike[:-1, :-1] + 1e-9 * np.eye(len(known)), alike[:-1, -1])
            mean = float(weights @ np.array([one[2] for one in known]))
            variance = max(1.0 - float(weights @ alike[:-1, -1]), 0.0)
        error = self.rng.gauss(mean, math.sqrt(variance))
        known.append((ambient_k, box_k, error))
        return value + error * model_sigma(place, value, device=self.unit.design.expansion)

    def visit(self, date: str, ambient_k: float, box_k: float, places: tuple[str, ...] = PLACES) -> Visit:
        """Return the readings of one visit."""
        readings = self.point(ambient_k, box_k).readings
        found = [self._read(place, readings[place], ambient_k, box_k) for place in places]
        said = [air + self.rng.gauss(0.0, AIR_SIGMA_K) for air in (ambient_k, box_k)]
        return Visit(date, "as left", said[0], said[1], 1.0, tuple(found))

    def _read(self, place: str, value: float, ambient_k: float, box_k: float) -> VisitReading:
        there = self.truth(place, value, ambient_k, box_k)
        kind = instrument(catalogue().place(place).default_instrument)
        name = f"{kind.id}:{place}" if kind.dimension == "pressure" else kind.id
        bias = self.biases.setdefault(name, self.rng.gauss(0.0, 1.0))
        shown = there + bias * kind.bias_sigma(there) + self.rng.gauss(0.0, kind.sigma(there))
        return VisitReading(place, shown, name, kind.id)


def exact_visit(
    unit: Resolved, date: str, ambient_k: float, box_k: float, *places: str, gauge: str = ""
) -> Visit:
    """Return a visit whose readings are the prediction itself, by instruments named after ``gauge``."""
    readings = solve(build(unit.design), Conditions(ambient_k, box_k)).readings
    kinds = [catalogue().place(place).default_instrument for place in places]
    return Visit(
        date,
        "as left",
        ambient_k,
        box_k,
        1.0,
        tuple(
            VisitReading(place, readings[place], f"{kind} {gauge or place}", kind)
            for place, kind in zip(places, kinds, strict=True)
        ),
    )
