"""Readings and conditions that cannot be, or hardly can: kept, flagged, explained.

A flag changes nothing. A strange reading may be a lying gauge, a clamp that slipped, a wrong line in
the notes, or the fault itself, so it stays in the evidence and a person is told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import hypot
from typing import Final

from holdcold.calls.log import CallLog, Flag, Reading
from holdcold.errors import EnvelopeError, InputError
from holdcold.quantities import US, UnitPreference, default_instrument, format_quantity, instrument
from holdcold.refrigerants import Fluid

_SIGMAS: Final = 3.0
_SETTLED_MINUTES: Final = 10.0
_SPAN_K: Final = (203.0, 433.0)
_BOX_GAP_K: Final = 8.0
_AMBIENT_GAP_K: Final = 4.0
_IDLE_A: Final = 0.3
_SUPPLY: Final = (0.7, 1.2)

Rule = Callable[["_Look"], Iterator[Flag]]


def flags(
    call: CallLog, medium: Fluid, nominal_v: float | None = None, preference: UnitPreference = US
) -> tuple[Flag, ...]:
    """Return everything odd about a call.

    medium: the unit's refrigerant. nominal_v: nominal supply [V]. preference: units for the messages.
    Method: a reading is odd when it breaks a law of the circuit (a coil cannot superheat below dew,
    liquid cannot leave hotter than discharge) by more than three standard deviations of its instruments.
    """
    look = _Look(call, medium, nominal_v, preference.at(call.conditions.ambient_pa))
    return tuple(flag for rule in _RULES for flag in rule(look))


@dataclass(frozen=True)
class _Look:
    """A call with what the rules need: the latest reading of each place, its error, its words."""

    call: CallLog
    medium: Fluid
    nominal_v: float | None
    preference: UnitPreference

    def last(self, place: str) -> Reading | None:
        found = [reading for reading in self.call.readings if reading.place == place]
        return found[-1] if found else None

    @property
    def running(self) -> bool:
        return self.call.conditions.state in {"running", "cycling"}

    def words(self, value_si: float, dimension: str) -> str:
        return format_quantity(value_si, dimension, self.preference)

    def temperature_sigma(self, reading: Reading) -> float:
        return _sigma(reading, "temperature")

    def dew(self, reading: Reading) -> tuple[float, float] | None:
        """Return (dew temperature, its standard deviation) [K]; None outside the data."""
        return self._saturation(self.medium.dew_k, reading)

    def bubble(self, reading: Reading) -> tuple[float, float] | None:
        """Return (bubble temperature, its standard deviation) [K], None outside the data."""
        return self._saturation(self.medium.bubble_k, reading)

    def _saturation(self, function: Callable[[float], float], reading: Reading) -> tuple[float, float] | None:
        pressure = reading.value_si
        step = 1e-3 * pressure
        try:
            value = function(pressure)
            slope = (value - function(pressure - step)) / step
        except EnvelopeError:
            return None
        return value, slope * _sigma(reading, "pressure")


def _sigma(reading: Reading, dimension: str) -> float:
    """Return the standard deviation of a reading, bias and noise together [SI]."""
    try:
        tool = instrument(reading.instrument_class or "")
    except InputError:
        tool = default_instrument(dimension)
    return hypot(tool.sigma(reading.value_si), tool.bias_sigma(reading.value_si))


def _state(look: _Look) -> Iterator[Flag]:
    conditions = look.call.conditions
    if conditions.state == "unknown" and look.call.readings:
        yield Flag(
            "missing", ("conditions.state",), "nobody said what the machine was doing",
            'Add state = "running" (or cycling, off, defrost) under [conditions].',
        )  # fmt: skip
    if conditions.state == "defrost":
        yield Flag(
            "unsteady", ("conditions.state",),
            "the unit was in a defrost: circuit and air readings do not compare",
            "Wait until it has run 15 minutes after the defrost and read again.",
        )  # fmt: skip
    minutes = conditions.minutes_in_state
    if look.running and minutes is not None and minutes < _SETTLED_MINUTES:
        yield Flag(
            "unsteady", ("conditions.minutes_in_state",),
            f"only {minutes:.0f} minutes running: not settled",
            f"Read again after {_SETTLED_MINUTES:.0f} minutes; until then pressures still move.",
        )  # fmt: skip
    for value, name, what in (
        (conditions.ambient_k or _value(look, "condenser_air_in_k"), "ambient", "air entering the condenser"),
        (conditions.box_k or _value(look, "box_k") or _value(look, "coil_air_in_k"), "box", "box air"),
    ):
        if value is None:
            yield Flag(
                "missing", (f"conditions.{name}",), f"{what} was not measured",
                f"Measure it: everything the unit should read depends on it ({name} under [conditions]).",
            )  # fmt: skip


def _value(look: _Look, place: str) -> float | None:
    reading = look.last(place)
    return None if reading is None else reading.value_si


def _range(look: _Look) -> Iterator[Flag]:
    for reading in look.call.readings:
        if reading.dimension == "temperature" and not _SPAN_K[0] <= reading.value_si <= _SPAN_K[1]:
            yield Flag(
                "impossible", (reading.place,),
                f"{reading.place} = {reading.typed}: no part of such a unit is at that temperature",
                "Check the unit you typed and the instrument, and read again.",
            )  # fmt: skip
        if reading.dimension == "pressure":
            yield from _pressure_range(look, reading)


def _pressure_range(look: _Look, reading: Reading) -> Iterator[Flag]:
    critical_pa = look.medium.info.critical_pa
    name = look.medium.info.name
    if reading.value_si >= critical_pa:
        yield Flag(
            "impossible", (reading.place,),
            f"{reading.place} = {reading.typed} is above the critical pressure of {name}, "
            f"{look.words(critical_pa, 'pressure')}: nothing condenses there",
            "Stop the unit if it is true. Check the gauge, the unit typed, the refrigerant on the card.",
        )  # fmt: skip
    elif not look.medium.p_min <= reading.value_si <= look.medium.p_max:
        yield Flag(
            "unlikely", (reading.place,),
            f"{reading.place} = {reading.typed} is outside the range of the {name} data, "
            f"{look.words(look.medium.p_min, 'pressure')} to {look.words(look.medium.p_max, 'pressure')}",
            "Check the gauge and its zero; no saturation temperature is worked out from it.",
        )  # fmt: skip


def _compression(look: _Look) -> Iterator[Flag]:
    high = look.last("discharge_pa")
    for place in ("suction_pa_service_valve", "suction_pa_coil"):
        low = look.last(place)
        if low is None or high is None or not look.running:
            continue
        error = _SIGMAS * hypot(_sigma(low, "pressure"), _sigma(high, "pressure"))
        if low.value_si > high.value_si + error:
            yield Flag(
                "impossible", (place, "discharge_pa"),
                f"suction ({low.typed}) above discharge ({high.typed}) with the machine running",
                "The hoses may be swapped, or the machine stood still: check, then read again.",
            )  # fmt: skip


def _superheats(look: _Look) -> Iterator[Flag]:
    for gas, pressures in (
        ("suction_k_coil_outlet", ("suction_pa_coil", "suction_pa_service_valve")),
        ("suction_k_compressor_inlet", ("suction_pa_service_valve", "suction_pa_coil")),
    ):
        pipe = look.last(gas)
        gauge = next((found for found in map(look.last, pressures) if found is not None), None)
        dew = None if gauge is None else look.dew(gauge)
        if pipe is None or gauge is None or dew is None:
            continue
        superheat = pipe.value_si - dew[0]
        error = hypot(look.temperature_sigma(pipe), dew[1])
        if superheat < -_SIGMAS * error:
            yield Flag(
                "impossible", (gas, gauge.place),
                f"{pipe.typed} at {gas} is {look.words(-superheat, 'temperature_difference')} below dew of "
                f"{gauge.typed} ({look.words(dew[0], 'temperature')}): gas cannot be colder than its dew",
                "Check the clamp (clean pipe, insulated), zero the gauge, check the refrigerant. Liquid "
                "coming back shows as zero superheat, not less.",
            )  # fmt: skip


def _typed_differences(look: _Look) -> Iterator[Flag]:
    for place in ("coil_superheat_k", "total_superheat_k", "subcooling_k_condenser_outlet"):
        reading = look.last(place)
        if reading is None:
            continue
        if reading.value_si < -_SIGMAS * _sigma(reading, "temperature_difference"):
            yield Flag(
                "impossible", (place,),
                f"{place} = {reading.typed} is below zero by more than the instruments err",
                "Give the pressure and the pipe temperature it was worked out from, each at its place.",
            )  # fmt: skip


def _liquid(look: _Look) -> Iterator[Flag]:
    liquid, high, line = (
        look.last(place) for place in ("liquid_k_condenser_outlet", "discharge_pa", "discharge_line_k")
    )
    if not look.running:
        return
    if liquid is not None and line is not None:
        error = _SIGMAS * hypot(look.temperature_sigma(liquid), look.temperature_sigma(line))
        if liquid.value_si > line.value_si + error:
            yield Flag(
                "impossible", ("liquid_k_condenser_outlet", "discharge_line_k"),
                f"liquid ({liquid.typed}) hotter than the discharge line ({line.typed})",
                "The clamps may be swapped: check which pipe each is on.",
            )  # fmt: skip
    dew = None if high is None else look.dew(high)
    if liquid is not None and high is not None and dew is not None:
        over = liquid.value_si - dew[0]
        if over > _SIGMAS * hypot(look.temperature_sigma(liquid), dew[1]):
            yield Flag(
                "impossible", ("liquid_k_condenser_outlet", "discharge_pa"),
                f"the condenser outlet ({liquid.typed}) is {look.words(over, 'temperature_difference')} "
                f"above dew of the head pressure ({look.words(dew[0], 'temperature')})",
                "Check clamp and gauge; a clamp in the sun or on the discharge line reads like this.",
            )  # fmt: skip
    bubble = None if high is None else look.bubble(high)
    if line is not None and high is not None and bubble is not None:
        under = bubble[0] - line.value_si
        if under > _SIGMAS * hypot(look.temperature_sigma(line), bubble[1]):
            yield Flag(
                "unlikely", ("discharge_line_k", "discharge_pa"),
                f"the discharge line ({line.typed}) is colder than the refrigerant condenses",
                "Check the clamp; if it is true, liquid is coming back to the compressor.",
            )  # fmt: skip


_ORDERED: Final = (
    ("condenser_air_in_k", "condenser_air_out_k", "air leaves the condenser colder than it enters",
     "Check which side is which, and the direction of the fan."),
    ("coil_air_out_k", "coil_air_in_k", "air leaves the coil warmer than it enters",
     "Check which side is which; true in a defrost, or with heaters stuck on."),
    ("liquid_k_drier_outlet", "liquid_k_receiver_outlet", "liquid leaves the drier warmer than it enters",
     "The clamps may be swapped."),
    ("suction_k_coil_outlet", "coil_air_in_k", "gas leaves the coil warmer than the air that warms it",
     "Check the clamp, and that the air was read at the coil face."),
)  # fmt: skip


def _orders(look: _Look) -> Iterator[Flag]:
    for colder, warmer, what, advice in _ORDERED:
        first, second = look.last(colder), look.last(warmer)
        if first is None or second is None or not look.running:
            continue
        error = _SIGMAS * hypot(look.temperature_sigma(first), look.temperature_sigma(second))
        if first.value_si > second.value_si + error:
            yield Flag(
                "unlikely",
                (colder, warmer),
                f"{what} ({colder} {first.typed}, {warmer} {second.typed})",
                advice,
            )


def _conditions(look: _Look) -> Iterator[Flag]:
    conditions = look.call.conditions
    for said, place, gap, what in (
        (conditions.ambient_k, "condenser_air_in_k", _AMBIENT_GAP_K, "ambient"),
        (conditions.box_k, "box_k", _BOX_GAP_K, "box"),
        (conditions.box_k, "coil_air_in_k", _BOX_GAP_K, "box"),
    ):
        reading = look.last(place)
        if said is not None and reading is not None and abs(reading.value_si - said) > gap:
            yield Flag(
                "unlikely", (f"conditions.{what}", place),
                f"{place} ({reading.typed}) is far from {what} under [conditions], "
                f"{look.words(said, 'temperature')}",
                "Ambient is air entering the condenser, measured there; box is its air away from coil.",
            )  # fmt: skip


def _electric(look: _Look) -> Iterator[Flag]:
    amps = look.last("compressor_a")
    if amps is not None and look.call.conditions.state == "running" and amps.value_si < _IDLE_A:
        yield Flag(
            "unlikely", ("compressor_a", "conditions.state"), f"{amps.typed} with the machine running",
            "If the compressor stands still, say state = \"off\"; if not, clamp one conductor only.",
        )  # fmt: skip
    if amps is not None and look.call.conditions.state == "off" and amps.value_si > _IDLE_A:
        yield Flag(
            "unlikely", ("compressor_a", "conditions.state"), f"{amps.typed} with the machine off",
            "It may hum without turning (locked): switch it off, and say what you saw.",
        )  # fmt: skip
    volts = look.call.conditions.supply_v or _value(look, "supply_v")
    if volts is None or look.nominal_v is None:
        return
    if not _SUPPLY[0] <= volts / look.nominal_v <= _SUPPLY[1]:
        yield Flag(
            "unlikely", ("conditions.supply_voltage",),
            f"{volts:.0f} V on a unit for {look.nominal_v:.0f} V",
            "Check which legs were measured, and the voltage on the card.",
        )  # fmt: skip


_RULES: Final[tuple[Rule, ...]] = (
    _state,
    _range,
    _compression,
    _superheats,
    _typed_differences,
    _liquid,
    _orders,
    _conditions,
    _electric,
)
