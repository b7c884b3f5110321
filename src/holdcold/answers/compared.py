"""What was read beside what the unit should read: raw readings, and superheats and splits from them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import hypot, sqrt
from types import MappingProxyType
from typing import Final

from holdcold.diagnosis.case import Observation
from holdcold.diagnosis.normal import Normal
from holdcold.diagnosis.problem import Case
from holdcold.errors import EnvelopeError
from holdcold.refrigerants import Fluid

_NINETY: Final = 1.645
_FAR: Final = 3.5

Values = Mapping[str, float]
Rule = Callable[[Values, Fluid], float]

_DERIVED: Final[Mapping[str, Rule]] = MappingProxyType(
    {
        "coil_superheat_k": lambda v, gas: v["suction_k_coil_outlet"] - gas.dew_k(v["suction_pa_coil"]),
        "total_superheat_k": lambda v, gas: (
            v["suction_k_compressor_inlet"] - gas.dew_k(v["suction_pa_service_valve"])
        ),
        "subcooling_k_condenser_outlet": lambda v, gas: (
            gas.bubble_k(v["discharge_pa"]) - v["liquid_k_condenser_outlet"]
        ),
        "condenser_split_k": lambda v, gas: gas.dew_k(v["discharge_pa"]) - v["condenser_air_in_k"],
        "condenser_air_rise_k": lambda v, _: v["condenser_air_out_k"] - v["condenser_air_in_k"],
        "coil_air_drop_k": lambda v, _: v["coil_air_in_k"] - v["coil_air_out_k"],
        "coil_td_k": lambda v, gas: v["coil_air_in_k"] - gas.dew_k(v["suction_pa_coil"]),
    }
)
"""Differences as ``holdcold places`` defines them, from the readings they follow from."""

_NEVER_NEGATIVE: Final = ("_a", "_w", "_v")
_GIVEN: Final = ("condenser_air_in_k", "coil_air_in_k", "box_k")


@dataclass(frozen=True, slots=True)
class Compared:
    """One reading beside its prediction, SI.

    low, high: nine in ten readings of a healthy unit of this card lie between, instrument included.
    sigmas: distance from the prediction in standard deviations of all that. worked_out: not read itself.
    """

    place: str
    value: float
    low: float
    high: float
    sigmas: float
    worked_out: bool

    @property
    def is_off(self) -> bool:
        """Whether it lies outside what would not surprise."""
        return abs(self.sigmas) > _NINETY

    @property
    def verdict(self) -> str:
        """Return how it compares, in words."""
        if not self.is_off:
            return "as it should"
        side = "high" if self.sigmas > 0.0 else "low"
        return f"far too {side}" if abs(self.sigmas) > _FAR else side


def compared(case: Case) -> list[Compared]:
    """Return what was read beside what the unit should read; conditions themselves are left out.

    Raw readings come first, in the order they were taken; then what follows from them.
    """
    found = case.normal
    latest = {one.place: one for one in case.observations}
    rows = [
        _beside(found, one.place, one.value, hypot(one.sigma, one.bias_sigma), worked_out=False)
        for one in latest.values()
        if one.place in found.readings and one.place not in _GIVEN
    ]
    for place in _DERIVED:
        if place in found.readings and place not in latest:
            value = _derive(place, _values(case, latest), found.unit.fluid)
            if value is not None:
                rows.append(_beside(found, place, value, _spread(place, case, latest), worked_out=True))
    return rows


def _beside(found: Normal, place: str, value: float, own_sigma: float, *, worked_out: bool) -> Compared:
    band = found.readings[place]
    sigma = sqrt(band.card_sigma**2 + band.model_sigma**2 + own_sigma**2)
    low, high = band.value - _NINETY * sigma, band.value + _NINETY * sigma
    if place in _DERIVED or place == "drier_drop_k" or place.endswith(_NEVER_NEGATIVE):
        low = max(low, 0.0)
    off = (value - band.value) / sigma if sigma > 0.0 else 0.0
    return Compared(place, value, low, high, off, worked_out)


def _values(case: Case, latest: Mapping[str, Observation]) -> dict[str, float]:
    """Return what is known by place: readings, conditions, a coil pressure from the service valve's."""
    found = case.normal
    situation = case.evidence.situation
    values = {place: one.value for place, one in latest.items()}
    for place, value in (("condenser_air_in_k", situation.ambient_k), ("coil_air_in_k", situation.box_k)):
        if place not in values and value is not None:
            values[place] = value
    if "suction_pa_coil" not in values and "suction_pa_service_valve" in values and found.conditions.running:
        usual = found.readings
        drop_pa = usual["suction_pa_coil"].value - usual["suction_pa_service_valve"].value
        values["suction_pa_coil"] = values["suction_pa_service_valve"] + drop_pa
    return values


def _derive(place: str, values: Values, gas: Fluid) -> float | None:
    """Return a difference [K]; None when a reading is missing or outside the refrigerant's data."""
    try:
        return _DERIVED[place](values, gas)
    except (KeyError, EnvelopeError):
        return None


def _spread(place: str, case: Case, latest: Mapping[str, Observation]) -> float:
    """Return the standard deviation that the instruments give a difference: each reading moved by its own."""
    gas = case.normal.unit.fluid
    centre = _derive(place, _values(case, latest), gas)
    total = 0.0
    for name, one in latest.items():
        moved = {**_values(case, latest), name: one.value + hypot(one.sigma, one.bias_sigma)}
        if name == "suction_pa_service_valve" and "suction_pa_coil" not in latest:
            moved["suction_pa_coil"] += hypot(one.sigma, one.bias_sigma)
        shifted = _derive(place, moved, gas)
        if shifted is not None and centre is not None:
            total += (shifted - centre) ** 2
    return sqrt(total)
