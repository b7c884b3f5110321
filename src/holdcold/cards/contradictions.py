"""Things on a card that cannot both be true, found without computing anything."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from holdcold.cards.card import Card
from holdcold.cards.fields import CAPACITY_STATEMENTS
from holdcold.cards.practice import fahrenheit
from holdcold.cards.tube import nearest_size
from holdcold.errors import InputError

Rule = Callable[[Card], Iterator[InputError]]

_FREEZING_K: Final = fahrenheit(32.0)
_COLDEST_COOLER_K: Final = fahrenheit(25.0)
_SIDES: Final = ("length", "width", "height")


def contradictions(card: Card) -> list[InputError]:
    """Return every contradiction among what was given, each naming a field and what to do."""
    return [problem for rule in _RULES for problem in rule(card)]


def _clash(card: Card, path: str, allowed: str, advice: str) -> InputError:
    return InputError(path, card.said(path) or card.values.get(path, "nothing"), allowed, advice)


def _box(card: Card) -> Iterator[InputError]:
    sides = [card.number(f"box.{side}") for side in _SIDES]
    known = [side for side in sides if side is not None]
    volume = card.number("box.volume")
    missing = [f"box.{side}" for side in _SIDES if f"box.{side}" not in card.typed]
    if volume is None and len(known) < len(_SIDES) and missing:
        yield InputError(
            ", ".join(missing) if len(missing) < len(_SIDES) else "box",
            "nothing",
            "length, width and height, or volume",
            'Measure the box: for example length = "10 ft", width = "8 ft", height = "8 ft" under [box].',
        )
    if volume is not None and len(known) == len(_SIDES):
        sized = known[0] * known[1] * known[2]
        if not 0.55 * sized <= volume <= 1.1 * sized:
            yield _clash(
                card, "box.volume", f"about {sized:.2f} m3, as the sides say",
                "Volume and sides disagree: keep the one you trust.",
            )  # fmt: skip


def _capacity(card: Card) -> Iterator[InputError]:
    stated = any(f"capacity.{key}" in card.typed for key in CAPACITY_STATEMENTS)
    if not stated and not card.has("ahri_540.power"):
        yield InputError(
            "capacity",
            "nothing",
            "one of " + ", ".join(f"capacity.{key}" for key in CAPACITY_STATEMENTS),
            'Say it once under [capacity]: horsepower = 1.5, or rated_amps = "8.6 A", or unknown = true.',
        )
    if card.has("capacity.rated_amps"):
        for path, example in (("supply.voltage", '"230 V"'), ("supply.phases", "1")):
            if not card.has(path):
                yield InputError(
                    path, "nothing", "given together with capacity.rated_amps",
                    f"Amps say nothing without it: write {path.partition('.')[2]} = {example} in [supply].",
                )  # fmt: skip
    rated, hp = card.number("capacity.rated"), card.number("capacity.horsepower")
    if rated is not None and hp is not None and not 0.6 <= rated / hp <= 8.0:
        yield _clash(
            card, "capacity.horsepower", f"in step with capacity.rated = {card.said('capacity.rated')}",
            "Capacity and horsepower are too far apart for one machine: keep the one you trust.",
        )  # fmt: skip
    power = card.number("capacity.power")
    if rated is not None and power is not None and not 0.5 <= rated / power <= 8.0:
        yield _clash(
            card, "capacity.power", "between an eighth of the capacity and twice it",
            "Check both numbers and their units.",
        )  # fmt: skip


def _temperatures(card: Card) -> Iterator[InputError]:
    set_point = card.number("controls.set_point")
    application = card.text("application")
    if set_point is not None and application == "freezer" and set_point > _FREEZING_K:
        yield _clash(
            card, "controls.set_point", "at most 32 F for a freezer",
            'Correct the set point, or write application = "cooler".',
        )  # fmt: skip
    if set_point is not None and application == "cooler" and set_point < _COLDEST_COOLER_K:
        yield _clash(
            card, "controls.set_point", "at least 25 F for a cooler",
            'Correct the set point, or write application = "freezer".',
        )  # fmt: skip
    yield from _order(card, "capacity.suction", "capacity.return_gas", "Return gas is warmer than its dew.")
    yield from _order(card, "capacity.ambient", "capacity.condensing", "A condenser is warmer than its air.")
    yield from _order(card, "capacity.suction", "capacity.condensing", "Suction is colder than condensing.")
    yield from _order(card, "ahri_540.suction_low", "ahri_540.suction_high", "Low before high.")
    yield from _order(card, "ahri_540.condensing_low", "ahri_540.condensing_high", "Low before high.")


def _order(card: Card, lower: str, upper: str, why: str) -> Iterator[InputError]:
    low, high = card.number(lower), card.number(upper)
    if low is not None and high is not None and low >= high:
        yield _clash(card, lower, f"below {upper} = {card.said(upper)}", f"{why} Check both.")


def _pressures(card: Card) -> Iterator[InputError]:
    yield from _order(card, "controls.low_cut_out", "controls.low_cut_in", "It opens below where it closes.")
    yield from _order(card, "head.fan_off", "head.fan_on", "Fans stop at a lower head than they start.")
    yield from _order(card, "head.fan_on", "controls.high_cut_out", "Fans must start before the unit trips.")
    yield from _order(card, "head.setting", "controls.high_cut_out", "Head is held below the trip.")
    yield from _order(card, "controls.low_cut_in", "controls.high_cut_out", "Low side below high side.")


def _capillary(card: Card) -> Iterator[InputError]:
    device = card.text("expansion.device") or ("capillary" if card.text("kind") == "reach_in" else "txv")
    given = bool(card.text("expansion.device"))
    if device == "capillary":
        if card.has("receiver.volume") or card.flag("receiver.fitted"):
            path = "receiver.volume" if card.has("receiver.volume") else "receiver.fitted"
            yield _clash(
                card, path, "no receiver with a capillary tube",
                "A capillary would let the receiver run empty at once: check the device"
                + ("." if given else ' (write device = "txv" under [expansion] if it has a valve).'),
            )  # fmt: skip
        if given and card.has("expansion.reserve"):
            yield _clash(
                card, "expansion.reserve", "only with device = txv", "Leave it out, or correct the device."
            )
    elif card.has("expansion.subcooling"):
        yield _clash(
            card, "expansion.subcooling", "only with device = capillary",
            "Leave it out, or correct the device.",
        )  # fmt: skip


def _fans(card: Card) -> Iterator[InputError]:
    cycled, fans = card.number("head.fans_cycled"), card.number("condenser.fans")
    if cycled is not None and fans is not None and cycled > fans:
        yield _clash(card, "head.fans_cycled", f"at most condenser.fans = {fans:.0f}", "Count again.")
    control = card.text("head.control")
    if control not in {"", "fan_cycling"}:
        for path in ("head.fan_on", "head.fan_off", "head.fans_cycled"):
            if card.has(path):
                yield _clash(
                    card, path, 'only with control = "fan_cycling"', "Leave it out, or correct head.control."
                )
    if card.has("head.setting") and control not in {"flooding_valve", "fan_speed"}:
        yield _clash(
            card, "head.setting", 'only with control = "flooding_valve" or "fan_speed"',
            "Leave it out, or correct head.control.",
        )  # fmt: skip


def _supply(card: Card) -> Iterator[InputError]:
    phases, volts = card.number("supply.phases"), card.number("supply.voltage")
    if phases == 2.0:
        yield _clash(card, "supply.phases", "1 or 3", "Two hot legs of 230 V are single-phase: write 1.")
    if phases == 3.0 and volts is not None and volts < 190.0:
        yield _clash(card, "supply.voltage", "190 V or more with three phases", "Check volts and phases.")


def _receiver(card: Card) -> Iterator[InputError]:
    if card.flag("receiver.fitted") is False and card.has("receiver.volume"):
        yield _clash(card, "receiver.volume", "none with fitted = false", "Leave one of the two lines out.")


def _tubes(card: Card) -> Iterator[InputError]:
    for path in ("lines.liquid_size", "lines.suction_size"):
        outside = card.number(path)
        try:
            if outside is not None:
                nearest_size(outside, path)
        except InputError as problem:
            yield problem


_RULES: Final[tuple[Rule, ...]] = (
    _box,
    _capacity,
    _temperatures,
    _pressures,
    _capillary,
    _fans,
    _supply,
    _receiver,
    _tubes,
)
