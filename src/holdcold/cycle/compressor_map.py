"""Ten-coefficient compressor maps and their correction to other suction gas.

Form of the map: AHRI Standard 540, "Performance Rating of Positive Displacement Refrigerant
Compressors", equation for X = X(S, D). Correction for suction gas: A. E. Dabiri and C. K. Rice,
"A compressor simulation model with corrections for the level of suction gas superheat", ASHRAE
Transactions 87 (2), 1981.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from holdcold.errors import InputError, InputErrors
from holdcold.quantities.constants import BTU_J, POUND_KG

TemperatureUnit = Literal["K", "C", "F"]
MassFlowUnit = Literal["kg/s", "kg/h", "g/s", "lb/h"]
PowerUnit = Literal["W", "kW", "Btu/h"]
Coefficients = tuple[float, ...]

SUPERHEAT_FRACTION: Final = 0.75
"""F of Dabiri & Rice (1981): share of the map's superheat that still heats the gas inside."""

_MASS_FLOW: Final = {"kg/s": 1.0, "kg/h": 1.0 / 3600.0, "g/s": 1e-3, "lb/h": POUND_KG / 3600.0}
_POWER: Final = {"W": 1.0, "kW": 1e3, "Btu/h": BTU_J / 3600.0}
_TEMPERATURE: Final = {"K": (1.0, 0.0), "C": (1.0, -273.15), "F": (1.8, -459.67)}
_COUNT: Final = 10


def ten_coefficient(c: Coefficients, suction: float, discharge: float) -> float:
    """Return X = C1 + C2 S + C3 D + C4 S2 + C5 SD + C6 D2 + C7 S3 + C8 DS2 + C9 SD2 + C10 D3.

    c: the ten coefficients in that order; suction, discharge: dew temperatures S and D in the unit
    the coefficients were fitted in. Source: AHRI Standard 540, the ten-coefficient polynomial.
    """
    return (
        c[0]
        + suction * (c[1] + suction * (c[3] + suction * c[6]))
        + discharge * (c[2] + discharge * (c[5] + discharge * c[9]))
        + suction * discharge * (c[4] + suction * c[7] + discharge * c[8])
    )


@dataclass(frozen=True, slots=True)
class CompressorMap:
    """A compressor by its published AHRI 540 coefficients, in the units they were published in.

    power: ten coefficients of the electrical input [power_unit].
    mass_flow: ten coefficients of the mass flow [mass_flow_unit], or None when ``capacity`` is given.
    capacity: ten coefficients of the refrigerating capacity [capacity_unit], or None.
    current: ten coefficients of the current [A], or None.
    temperature_unit: unit of S and D in all four.
    return_gas_k, superheat_k: suction gas of the rating, exactly one of them: a fixed temperature
    [K] or a fixed difference above dew [K].
    subcooling_k: liquid below bubble at which the capacity is stated (difference) [K], 0 to 40.
    evap_k, cond_k: lowest and highest dew temperature for which the map was published [K].
    Raises InputErrors that name every field that cannot be used.
    Source of the form: AHRI Standard 540.
    """

    power: Coefficients
    mass_flow: Coefficients | None = None
    capacity: Coefficients | None = None
    current: Coefficients | None = None
    temperature_unit: TemperatureUnit = "C"
    mass_flow_unit: MassFlowUnit = "kg/s"
    power_unit: PowerUnit = "W"
    capacity_unit: PowerUnit = "W"
    return_gas_k: float | None = None
    superheat_k: float | None = None
    subcooling_k: float = 0.0
    evap_k: tuple[float, float] = (223.15, 288.15)
    cond_k: tuple[float, float] = (283.15, 338.15)

    def __post_init__(self) -> None:
        """Refuse a map that could only give nonsense, naming every fault of it at once."""
        problems = [*_count_problems(self), *_unit_problems(self), *_rating_problems(self)]
        if problems:
            raise InputErrors(problems)

    def inside(self, evap_dew_k: float, cond_dew_k: float) -> bool:
        """Say whether dew temperatures [K] lie in the published limits; outside, the cubic is a guess."""
        return (
            self.evap_k[0] <= evap_dew_k <= self.evap_k[1] and self.cond_k[0] <= cond_dew_k <= self.cond_k[1]
        )

    def raw(self, evap_dew_k: float, cond_dew_k: float) -> tuple[float, float, float | None]:
        """Return (mass flow [kg/s], power [W], current [A] or None) at the map's own suction gas.

        evap_dew_k, cond_dew_k: dew temperatures [K]; ask ``inside`` whether they are in the limits.
        Raises InputError when the map states capacity instead of mass flow: turning one into the
        other takes the refrigerant, see ``holdcold.cycle.compressor.from_map``.
        """
        if self.mass_flow is None:
            raise InputError(
                "compressor_map.mass_flow",
                None,
                "ten coefficients",
                "This map states capacity; use from_map with the refrigerant to get mass flow.",
            )
        suction, discharge = self._inputs(evap_dew_k, cond_dew_k)
        mass = ten_coefficient(self.mass_flow, suction, discharge) * _MASS_FLOW[self.mass_flow_unit]
        power = ten_coefficient(self.power, suction, discharge) * _POWER[self.power_unit]
        return mass, power, self.amps(evap_dew_k, cond_dew_k)

    def amps(self, evap_dew_k: float, cond_dew_k: float) -> float | None:
        """Return the current [A] at dew temperatures [K]; None when the map states none."""
        if self.current is None:
            return None
        return ten_coefficient(self.current, *self._inputs(evap_dew_k, cond_dew_k))

    def power_w(self, evap_dew_k: float, cond_dew_k: float) -> float:
        """Return the electrical input [W] at dew temperatures [K] and the map's own suction gas."""
        suction, discharge = self._inputs(evap_dew_k, cond_dew_k)
        return ten_coefficient(self.power, suction, discharge) * _POWER[self.power_unit]

    def capacity_w(self, evap_dew_k: float, cond_dew_k: float) -> float:
        """Return the capacity [W] at dew temperatures [K]; InputError when the map states none."""
        if self.capacity is None:
            raise InputError(
                "compressor_map.capacity", None, "ten coefficients", "This map states mass flow only."
            )
        suction, discharge = self._inputs(evap_dew_k, cond_dew_k)
        return ten_coefficient(self.capacity, suction, discharge) * _POWER[self.capacity_unit]

    def suction_k(self, evap_dew_k: float) -> float:
        """Return the suction gas temperature [K] the map was rated with at a dew temperature [K]."""
        if self.return_gas_k is not None:
            return max(self.return_gas_k, evap_dew_k)
        return evap_dew_k + (self.superheat_k or 0.0)

    def clamped(self, evap_dew_k: float, cond_dew_k: float) -> tuple[float, float]:
        """Return the nearest dew temperatures [K] inside the published limits, each on its own."""
        return (
            min(max(evap_dew_k, self.evap_k[0]), self.evap_k[1]),
            min(max(cond_dew_k, self.cond_k[0]), self.cond_k[1]),
        )

    def _inputs(self, evap_dew_k: float, cond_dew_k: float) -> tuple[float, float]:
        """Return S and D in the unit the coefficients want."""
        factor, offset = _TEMPERATURE[self.temperature_unit]
        return evap_dew_k * factor + offset, cond_dew_k * factor + offset


def superheat_corrected(
    mass_map_kg_s: float,
    power_map_w: float,
    v_ratio: float,
    isentropic_ratio: float,
    fraction: float = SUPERHEAT_FRACTION,
) -> tuple[float, float]:
    """Return (mass flow [kg/s], power [W]) of a map point moved to other suction gas.

    mass_map_kg_s, power_map_w: the map's own values; v_ratio: specific volume at the map's suction
    gas over the real one; isentropic_ratio: isentropic enthalpy rise with the real gas over that
    with the map's; fraction: F, 0 to 1. m = m_map [1 + F (v_map/v - 1)], W = W_map (m/m_map)
    (dh_s/dh_s,map). Source: Dabiri & Rice 1981 (ASHRAE Transactions 87 (2)).
    """
    growth = 1.0 + fraction * (v_ratio - 1.0)
    return mass_map_kg_s * growth, power_map_w * growth * isentropic_ratio


def _count_problems(map_: CompressorMap) -> list[InputError]:
    """Return what is wrong with the coefficient lists."""
    lists = {
        "power": map_.power,
        "mass_flow": map_.mass_flow,
        "capacity": map_.capacity,
        "current": map_.current,
    }
    problems = [
        InputError(
            f"compressor_map.{name}", len(values), "10 coefficients", "Give all ten, C1 to C10, in order."
        )
        for name, values in lists.items()
        if values is not None and len(values) != _COUNT
    ]
    if map_.mass_flow is None and map_.capacity is None:
        problems.append(
            InputError(
                "compressor_map.mass_flow",
                None,
                "mass flow or capacity coefficients",
                "Give at least one of them; power alone cannot tell the flow.",
            )
        )
    return problems


def _unit_problems(map_: CompressorMap) -> list[InputError]:
    """Return the units that are in no list."""
    asked: tuple[tuple[str, str, tuple[str, ...]], ...] = (
        ("temperature_unit", map_.temperature_unit, tuple(_TEMPERATURE)),
        ("mass_flow_unit", map_.mass_flow_unit, tuple(_MASS_FLOW)),
        ("power_unit", map_.power_unit, tuple(_POWER)),
        ("capacity_unit", map_.capacity_unit, tuple(_POWER)),
    )
    return [
        InputError(f"compressor_map.{name}", value, ", ".join(known), "Choose one of these units.")
        for name, value, known in asked
        if value not in known
    ]


def _rating_problems(map_: CompressorMap) -> list[InputError]:
    """Return what is wrong with the rating gas, the subcooling and the limits."""
    problems = []
    if (map_.return_gas_k is None) == (map_.superheat_k is None):
        problems.append(
            InputError(
                "compressor_map.return_gas_k",
                map_.return_gas_k,
                "either a return gas temperature or a superheat",
                "Give the one the map was rated with and leave the other out.",
            )
        )
    if not 0.0 <= map_.subcooling_k <= 40.0:
        problems.append(
            InputError("compressor_map.subcooling_k", map_.subcooling_k, "0 to 40 K", "Check the rating.")
        )
    for name, (low, high) in (("evap_k", map_.evap_k), ("cond_k", map_.cond_k)):
        if not 150.0 < low < high < 400.0:
            problems.append(
                InputError(
                    f"compressor_map.{name}",
                    (low, high),
                    "low < high, 150 to 400 K",
                    "Give limits in kelvin.",
                )
            )
    return problems
