"""What a reading is worth, by the class of instrument it was taken with.

A reading is true value + bias of the instrument + noise of the reading. The bias is one draw for an
instrument in a call, so repeating a reading does not average it away. Some instruments are plain
wrong on the day: that chance and how far they then stray are given too. Data: ``instruments.toml``.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Final

from holdcold.errors import InputError, UnknownNameError
from holdcold.quantities.dimensions import dimension as dimension_named
from holdcold.quantities.parsing import parse

_SPREAD_DIMENSION: Final = MappingProxyType(
    {"pressure": "pressure_difference", "temperature": "temperature_difference"}
)


@dataclass(frozen=True, slots=True)
class Instrument:
    """One class of instrument; every spread is a standard deviation in SI units of ``dimension``.

    id, name: the word used in files, and in messages.
    dimension: what it reads.
    sigma_floor, sigma_gain: noise of one reading, fixed part and fraction of the reading.
    bias_floor, bias_gain: spread of the error carried through a call, fixed part and fraction.
    lie_chance, lie_sigma: chance of being plain wrong, in [0, 1), and the spread of the error then.
    source: where the numbers come from, or that they have no source.
    is_default: whether it stands for a reading of its dimension that names no instrument.
    """

    id: str
    name: str
    dimension: str
    sigma_floor: float
    sigma_gain: float
    bias_floor: float
    bias_gain: float
    lie_chance: float
    lie_sigma: float
    source: str
    is_default: bool = False

    def sigma(self, value_si: float) -> float:
        """Return the standard deviation of the noise of one reading of ``value_si``."""
        return math.hypot(self.sigma_floor, self.sigma_gain * value_si)

    def bias_sigma(self, value_si: float) -> float:
        """Return the standard deviation, at ``value_si``, of the error this instrument carries all call."""
        return math.hypot(self.bias_floor, self.bias_gain * value_si)


@cache
def instruments() -> Mapping[str, Instrument]:
    """Return the catalogue by id, in the order of the data file."""
    text = resources.files("holdcold.quantities").joinpath("instruments.toml").read_text(encoding="utf-8")
    rows = (_instrument(row) for row in tomllib.loads(text)["instrument"])
    return MappingProxyType({row.id: row for row in rows})


def instrument(id: str) -> Instrument:  # noqa: A002 - the word of the data file
    """Return the class of instrument called ``id``; raise ``UnknownNameError`` with near names otherwise."""
    try:
        return instruments()[id]
    except KeyError:
        raise UnknownNameError("instrument", id, instruments()) from None


def default_instrument(dimension: str) -> Instrument:
    """Return what a reading of ``dimension`` is taken to come from when nobody said.

    Raises ``UnknownNameError`` for an unknown dimension and ``InputError`` for one that no instrument
    of the catalogue reads directly.
    """
    dimension_named(dimension)
    for one in instruments().values():
        if one.is_default and one.dimension == dimension:
            return one
    readable = sorted({one.dimension for one in instruments().values() if one.is_default})
    raise InputError(
        "instrument", dimension, ", ".join(readable), "Name the instrument or read another quantity."
    )


def _instrument(row: Mapping[str, Any]) -> Instrument:
    """Return one row of the data file with its spreads in SI units."""
    spread = _SPREAD_DIMENSION.get(row["dimension"], row["dimension"])

    def spread_si(key: str) -> float:
        """Return one spread of the row in SI units."""
        return parse(row[key], spread, field=f"{row['id']}.{key}")

    return Instrument(
        id=row["id"],
        name=row["name"],
        dimension=row["dimension"],
        sigma_floor=spread_si("sigma"),
        sigma_gain=row.get("sigma_gain", 0.0),
        bias_floor=spread_si("bias"),
        bias_gain=row.get("bias_gain", 0.0),
        lie_chance=row["lie_chance"],
        lie_sigma=spread_si("lie_sigma"),
        source=row["source"],
        is_default=row.get("default", False),
    )
