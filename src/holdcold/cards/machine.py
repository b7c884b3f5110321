"""How big the machine is: rating point, capacity, input and current, from any one statement."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from holdcold.cards.card import Card
from holdcold.cards.facts import Default, Given, Ledger
from holdcold.cards.load import box_load, box_surface_m2
from holdcold.cards.practice import (
    AMBIENT_INDOOR_K,
    AMBIENT_OUTDOOR_K,
    INPUT_PER_HP_W,
    PRACTICE,
    RUNNING_SHARE_OF_RATED,
    SURROUNDINGS,
    Habits,
    degrees,
)
from holdcold.cycle.compressor import CompressorMap, calibrate
from holdcold.refrigerants import Fluid

_PLATE: Final = Given(0.05, True, "given on the card; a rating is held to about 5 % (AHRI 540, from memory)")
_LOW_TEMPERATURE_K: Final = 255.0
_SQRT3: Final = 3.0**0.5
_THREE_PHASE_INPUT_W: Final = 3500.0
_NO_GLIDE_K: Final = 0.3
_KIND_KNOWN_SPREAD: Final = 0.08
_KIND_UNKNOWN_SPREAD: Final = 0.13
_SIZE_STEPS: Final = 6
"""Steps from a power to the size that takes it; efficiency goes with at most the sixth root of size,
so that each step leaves less than a fifth of the error."""


def rating_point(ledger: Ledger, habits: Habits, medium: Fluid, *, outdoor: bool) -> None:
    """Settle the temperatures the unit was matched at: box, coil, suction, condensing, return gas."""
    card = ledger.card
    ledger.settle("coil_td_k", "temperature_difference", habits.coil_td, worked_out=_coil_td(card),
                  given=Given(degrees(1.0), source="given on the card; coils differ by a degree"),
                  hint="Coil clear and fans on: air into the coil minus dew of the coil pressure.",
                  uncertain=True)  # fmt: skip
    ledger.settle("suction_drop_k", "temperature_difference", habits.suction_drop,
                  hint="Pressure at the coil outlet and at the compressor, as dew temperatures.",
                  uncertain=True)  # fmt: skip
    matched = habits.set_point.value - ledger.central["coil_td_k"] - ledger.central["suction_drop_k"]
    ledger.settle("rated_evap_k", "temperature",
                  Default(matched, 0.0, f"box, TD and suction drop at rating: {habits.set_point.source}"),
                  path="capacity.suction")  # fmt: skip
    place = "outdoor 95 F" if outdoor else "indoor 90 F"
    ledger.settle("rated_ambient_k", "temperature",
                  Default(AMBIENT_OUTDOOR_K if outdoor else AMBIENT_INDOOR_K, 0.0,
                          f"AHRI 1250 rating points, from memory: {place}"),
                  path="capacity.ambient")  # fmt: skip
    split = _dew_split(habits.split, medium, ledger["rated_ambient_k"])
    ledger.settle("condenser_split_k", "temperature_difference", split, path="condenser.split",
                  given=Given(degrees(1.5), source="given on the card"),
                  hint="Condenser clean, every fan turning: dew of the head pressure minus entering air.",
                  uncertain=True)  # fmt: skip
    ledger.settle("rated_cond_k", "temperature",
                  Default(ledger.central["rated_ambient_k"] + ledger.central["condenser_split_k"], 0.0,
                          "rated ambient plus condenser split"),
                  path="capacity.condensing")  # fmt: skip
    _return_gas(ledger, habits)


def half_glide_k(medium: Fluid, dew_k: float) -> float:
    """Return how far the mean of bubble and dew lies below dew [K] at the pressure whose dew is ``dew_k``."""
    return 0.5 * (dew_k - medium.bubble_k(medium.dew_pa(dew_k)))


def _dew_split(usual: Default, medium: Fluid, ambient_k: float) -> Default:
    """Return the usual split, which is that of a fluid without glide, as dew minus air for this one."""
    half_k = half_glide_k(medium, ambient_k + usual.value)
    words = "" if half_k < _NO_GLIDE_K else "; half the glide added, because split is dew minus air"
    return replace(usual, value=usual.value + half_k, source=usual.source + words)


def _coil_td(card: Card) -> float | None:
    """Return the TD at the machine's capacity when the coil's plate says enough, else the TD given."""
    td, coil_w, rated_w = (card.number(p) for p in ("coil.td", "coil.capacity", "capacity.rated"))
    if td is None or coil_w is None or rated_w is None:
        return td
    return td * rated_w / coil_w


def _return_gas(ledger: Ledger, habits: Habits) -> None:
    usual = habits.total_superheat
    evap_k = ledger["rated_evap_k"]
    ledger.settle("rated_return_k", "temperature",
                  Default(evap_k + usual.value, usual.spread, usual.source,
                          least=evap_k + usual.least, most=ledger["rated_ambient_k"] - 2.0),
                  path="capacity.return_gas",
                  hint="Suction pipe at the compressor inlet, clamped and wrapped, unit settled.",
                  uncertain=True)  # fmt: skip


def performance(ledger: Ledger, medium: Fluid, kind: str, capacity_w: float) -> float:
    """Return capacity over input of a usual compressor of this kind and size at the rating point [-].

    medium: the refrigerant. kind: how the compressor is built. capacity_w: its capacity there [W];
    small compressors take more for the same cooling.
    """
    evap_k, cond_k, return_k = (ledger[name] for name in ("rated_evap_k", "rated_cond_k", "rated_return_k"))
    grade = "low" if evap_k < _LOW_TEMPERATURE_K else "medium"
    model = calibrate(medium, kind, grade, evap_k, cond_k, return_k, capacity_w, None)
    suction_pa, condensing_pa = medium.dew_pa(evap_k), medium.dew_pa(cond_k)
    h, s, v, _ = medium.vapour(return_k, suction_pa)
    _, power_w = model.flow_power_hvs(medium, suction_pa, h, s, v, condensing_pa)
    return capacity_w / power_w


def performance_at(ledger: Ledger, medium: Fluid, kind: str, power_w: float) -> float:
    """Return what ``performance`` gives for the usual compressor that takes ``power_w`` [W]."""
    ratio = performance(ledger, medium, kind, power_w)
    for _ in range(_SIZE_STEPS):
        ratio = performance(ledger, medium, kind, power_w * ratio)
    return ratio


def size(ledger: Ledger, habits: Habits, medium: Fluid, kind: str, map_: CompressorMap | None) -> None:
    """Settle capacity, input and rated current from the best statement the card makes."""
    box(ledger, habits)
    if map_ is not None:
        _from_map(ledger, medium, map_)
    elif ledger.card.has("capacity.rated"):
        _from_capacity(ledger, medium, kind)
    elif ledger.card.has("capacity.horsepower"):
        _from_horsepower(ledger, medium, kind)
    elif ledger.card.has("capacity.rated_amps"):
        _from_amps(ledger, medium, kind)
    else:
        _from_box(ledger, medium, kind)
    _supply(ledger)
    _current(ledger)


def box(ledger: Ledger, habits: Habits) -> None:
    """Settle the box, its surroundings, its set point and the heat that gets in on a design day."""
    card = ledger.card
    ledger.settle("set_point_k", "temperature", habits.set_point, path="controls.set_point",
                  hint="Read it off the control.")  # fmt: skip
    volume, surface = box_size(card)
    ledger.settle("box_m3", "volume", Default(volume, 0.0, "given on the card"), worked_out=volume)
    ledger.settle("surroundings_k", "temperature", SURROUNDINGS, path="box.surroundings")
    ledger.settle("r_value", "count", habits.r_value, path="insulation.r_value")
    load = box_load(volume, surface, ledger["set_point_k"], ledger["surroundings_k"], ledger["r_value"],
                    card.ambient_pa)  # fmt: skip
    ledger.settle("box_load_w", "power",
                  Default(load.total_w, 0.3,
                          "transmission, air change, product, and a third for lights, people, fans; "
                          + PRACTICE, relative=True))  # fmt: skip


def box_size(card: Card) -> tuple[float, float]:
    """Return (volume [m3], surface [m2]) of the box from its sides, or from its volume."""
    length, width, height = (card.number(f"box.{side}") for side in ("length", "width", "height"))
    if length is not None and width is not None and height is not None:
        return length * width * height, 2.0 * (length * width + (length + width) * height)
    volume = card.number("box.volume") or 0.0
    return volume, box_surface_m2(volume)


def _power_from_capacity(ledger: Ledger, medium: Fluid, kind: str) -> None:
    ratio = performance(ledger, medium, kind, ledger["rated_capacity_w"])
    ledger.settle("rated_power_w", "electric_power",
                  Default(ledger["rated_capacity_w"] / ratio, _efficiency_spread(ledger.card),
                          "capacity over the generic efficiency of such compressors of this size",
                          relative=True, least=10.0),
                  path="capacity.power", given=_PLATE,
                  hint="Compressor amps and volts with the unit settled near design conditions.",
                  uncertain=True)  # fmt: skip


def _efficiency_spread(card: Card) -> float:
    """Return how far one compressor's efficiency may lie from the usual, as a fraction."""
    return _KIND_KNOWN_SPREAD if card.has("compressor.kind") else _KIND_UNKNOWN_SPREAD


def _capacity_from_power(ledger: Ledger, medium: Fluid, kind: str) -> None:
    ratio = performance_at(ledger, medium, kind, ledger["rated_power_w"])
    ledger.settle("rated_capacity_w", "power",
                  Default(ledger["rated_power_w"] * ratio, _efficiency_spread(ledger.card),
                          "input times the generic efficiency of such compressors of this size",
                          relative=True, least=50.0),
                  hint="Find the rated capacity of the compressor model in its published data.",
                  uncertain=True)  # fmt: skip


def _from_capacity(ledger: Ledger, medium: Fluid, kind: str) -> None:
    ledger.settle("rated_capacity_w", "power", Default(0.0, 0.0, "rated capacity given"),
                  path="capacity.rated",
                  given=_PLATE, hint="Time a pull-down of a known load.", uncertain=True)  # fmt: skip
    _power_from_capacity(ledger, medium, kind)


def _from_map(ledger: Ledger, medium: Fluid, map_: CompressorMap) -> None:
    """Settle capacity and input where the published curves put the rating point."""
    evap_k, cond_k = ledger["rated_evap_k"], ledger["rated_cond_k"]
    power_w = map_.power_w(evap_k, cond_k)
    curves = Given(0.05, True, "the compressor's published curves; AHRI 540 allows 5 %, from memory")
    if map_.capacity is not None:
        capacity_w = map_.capacity_w(evap_k, cond_k)
    else:
        mass, _, _ = map_.raw(evap_k, cond_k)
        suction_pa, condensing_pa = medium.dew_pa(evap_k), medium.dew_pa(cond_k)
        gas_h = medium.vapour(map_.suction_k(evap_k), suction_pa)[0]
        capacity_w = mass * (gas_h - medium.h_bubble(condensing_pa))
    ledger.settle("rated_capacity_w", "power", Default(capacity_w, 0.05, "", relative=True),
                  worked_out=capacity_w, given=curves, uncertain=True)  # fmt: skip
    ledger.settle("rated_power_w", "electric_power", Default(power_w, 0.05, "", relative=True),
                  worked_out=power_w, given=curves, uncertain=True)  # fmt: skip


def _from_horsepower(ledger: Ledger, medium: Fluid, kind: str) -> None:
    hp = (ledger.card.number("capacity.horsepower") or 0.0) / 745.7
    ledger.settle("rated_power_w", "electric_power",
                  Default(hp * INPUT_PER_HP_W.value, INPUT_PER_HP_W.spread,
                          f"{hp:.2g} hp; {INPUT_PER_HP_W.source}", relative=True, least=10.0),
                  path="capacity.power", given=_PLATE,
                  hint="Give the rated capacity or rated load amps of the compressor.",
                  uncertain=True)  # fmt: skip
    _capacity_from_power(ledger, medium, kind)


def _from_amps(ledger: Ledger, medium: Fluid, kind: str) -> None:
    _supply(ledger)
    amps = (ledger.card.number("capacity.rated_amps") or 0.0) * RUNNING_SHARE_OF_RATED.value
    volt_amps = amps * ledger["supply_v"] * _root_phases(ledger) * ledger["power_factor"]
    ledger.settle("rated_power_w", "electric_power",
                  Default(volt_amps, RUNNING_SHARE_OF_RATED.spread,
                          f"plate amps; {RUNNING_SHARE_OF_RATED.source}", relative=True, least=10.0),
                  path="capacity.power", given=_PLATE,
                  hint="Compressor amps with the unit settled near design conditions.",
                  uncertain=True)  # fmt: skip
    _capacity_from_power(ledger, medium, kind)


def _from_box(ledger: Ledger, medium: Fluid, kind: str) -> None:
    card = ledger.card
    share = _habits_run_share(ledger)
    ledger.settle("rated_capacity_w", "power",
                  Default(ledger["box_load_w"] / share, 0.33,
                          f"nobody knows: box load on a design day over a run share of {share:.2f}; "
                          + PRACTICE, relative=True, least=50.0),
                  hint="Give horsepower, rated load amps or rated capacity off a plate"
                  + (" (the model alone decides nothing here)." if card.has("capacity.model") else "."),
                  uncertain=True)  # fmt: skip
    _power_from_capacity(ledger, medium, kind)


def _habits_run_share(ledger: Ledger) -> float:
    return ledger["run_share"]


def _root_phases(ledger: Ledger) -> float:
    return _SQRT3 if ledger["phases"] >= 3.0 else 1.0


def _supply(ledger: Ledger) -> None:
    """Settle volts, phases and power factor; big inputs are taken as three-phase."""
    if "supply_v" in ledger.facts:
        return
    power_w = ledger.facts["rated_power_w"].value_si if "rated_power_w" in ledger.facts else 0.0
    cabinet = ledger.card.text("kind") == "reach_in"
    three = power_w > _THREE_PHASE_INPUT_W
    ledger.settle("phases", "count",
                  Default(3.0 if three else 1.0, 0.0, PRACTICE + ": three-phase above about 3 hp"),
                  path="supply.phases")  # fmt: skip
    ledger.settle("supply_v", "voltage",
                  Default(115.0 if cabinet and power_w < 1300.0 else 230.0, 0.0,
                          PRACTICE + ": 115 V cabinets, 230 V walk-ins"),
                  path="supply.voltage", hint="Read it off the plate.")  # fmt: skip
    factor = 0.83 if ledger["phases"] >= 3.0 else 0.72 if power_w < 600.0 and power_w > 0.0 else 0.88
    ledger.settle("power_factor", "fraction",
                  Default(factor, 0.08, PRACTICE + ": 0.7 small single-phase to 0.9 with run capacitor",
                          relative=True, least=0.4, most=1.0))  # fmt: skip


def _current(ledger: Ledger) -> None:
    """Settle the current at the rating point; plate amps are not it."""
    amps = ledger["rated_power_w"] / (ledger["supply_v"] * _root_phases(ledger) * ledger["power_factor"])
    plate = ledger.card.number("capacity.rated_amps")
    running = None if plate is None else plate * RUNNING_SHARE_OF_RATED.value
    ledger.settle("rated_amps", "current",
                  Default(amps, 0.10, "input over volts, phases and power factor", relative=True, least=0.05),
                  worked_out=running,
                  given=Given(RUNNING_SHARE_OF_RATED.spread, True, RUNNING_SHARE_OF_RATED.source),
                  hint="Clamp the compressor lead with the unit settled.", uncertain=True)  # fmt: skip
