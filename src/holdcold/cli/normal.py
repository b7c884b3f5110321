"""``holdcold normal``: what a unit should read now, with the band that would not surprise."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, Final

from holdcold.answers.unit import SHOWN as SHOWN
from holdcold.cards import Resolved
from holdcold.cli.card import label, load
from holdcold.cli.card import shown as shown_fact
from holdcold.cli.common import Commands, Desk, add_shared_options, both, desk
from holdcold.cli.tables import table
from holdcold.cli.words import (
    answer,
    between,
    computing,
    conditions_in_units,
    engine_data,
    fact_data,
    heading_of,
    lower,
    paragraph,
    percent,
    saturation,
    settle_altitude,
    shown,
    title,
    unit_cautions,
)
from holdcold.cycle import Conditions
from holdcold.diagnosis.catalogue import Catalogue, catalogue
from holdcold.diagnosis.normal import Band, Normal, normal

_SHARPENED: Final = 3
_HELD_SHARE: Final = 0.02
_PARTS: Final = (
    ("receiver_kg", "receiver"), ("condenser_kg", "condenser"), ("liquid_line_kg", "liquid line"),
    ("coil_kg", "coil"), ("suction_kg", "suction line"), ("shell_kg", "compressor shell"),
)  # fmt: skip
_CONTROLS: Final = {
    "fans_cycling": "Condenser fans cycle on head pressure: the head swings between their settings.",
    "fans_off": "It is so cold that the cycled condenser fans stand; that is as it should be.",
    "over_high_cut": "The high-pressure control would open here; the readings are those at the limit.",
    "under_low_cut": "The low-pressure control would open here; the readings are those at the limit.",
}
_AT_REST: Final = (
    "one pressure throughout, set by the coldest liquid; a closed solenoid or valve keeps two sides apart."
)
_LIQUID: Final = {
    "level": "The receiver holds a level, so subcooling says little about charge here.",
    "empty": "The receiver is empty: gas goes down the liquid line with the liquid.",
    "flooded": "The receiver is full and liquid backs up into the condenser: subcooling is high.",
}
_LIQUID_WITHOUT: Final = {
    "level": "No receiver: the liquid just fills the line, and subcooling follows the charge.",
    "empty": "No receiver, and gas leaves the condenser with the liquid: too little charge for this weather.",
    "flooded": "No receiver: liquid stands at the condenser's end, so subcooling follows the charge.",
}


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``normal`` to the command line."""
    parser = commands.add_parser(
        "normal",
        help="what a unit should read now, with the band that would not surprise",
        description="What the unit of a card should read in this weather with this box, each reading at its "
        "place with its band, and what to measure to narrow the bands.",
    )
    parser.add_argument("card", metavar="CARD.toml", help="file of the unit's card")
    parser.add_argument(
        "--ambient", metavar="AIR", required=True, help='air entering the condenser, measured there: "95 F"'
    )
    parser.add_argument(
        "--box", metavar="AIR", required=True, help='air in the box, away from the coil: "0 F"'
    )
    parser.add_argument("--off", action="store_true", help="the unit at rest, its pressures equalised")
    add_shared_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what the unit of a card should read; return the exit code."""
    at = desk(args)
    resolved, (ambient_k, box_k) = both(
        lambda: load(args.card),
        lambda: both(
            lambda: at.read(args.ambient, "temperature", "--ambient"),
            lambda: at.read(args.box, "temperature", "--box"),
        ),
    )
    settle_altitude(at, args, resolved)
    conditions = conditions_in_units(at, ambient_k, box_k, running=not args.off)
    with computing(at):
        found = normal(resolved, conditions)
    return at.answer(normal_data(resolved, found), normal_text(at, resolved, found))


def normal_data(resolved: Resolved, found: Normal) -> dict[str, Any]:
    """Return what a unit should read, for scripts: SI, names as in ``holdcold places``."""
    point = found.point
    held = point.inventory
    return {
        "state": point.state,
        "regime": point.regime,
        "readings": {place: _band_data(band) for place, band in found.readings.items()},
        "balances": dict(point.balances),
        "inventory": None if held is None else {**asdict(held), "total_kg": held.total_kg},
        "right_charge_kg": found.unit.right_charge_kg,
        "margin_kg": point.margin_kg,
        "conditions": _conditions_data(found.conditions),
        "assumed": [fact_data(fact) for fact in found.assumed],
        "sharpen": [
            {"name": one.fact.name, "share": one.share, "moves": one.moves, "hint": one.fact.hint}
            for one in found.sharpen
        ],
        "cautions": unit_cautions(resolved),
        "engine": engine_data(catalogue()),
    }


def _band_data(band: Band) -> dict[str, float]:
    return {"value": band.value, "low": band.low, "high": band.high}


def _conditions_data(conditions: Conditions) -> dict[str, object]:
    return {
        "ambient_k": conditions.ambient_k,
        "box_k": conditions.box_k,
        "supply_ratio": conditions.supply_ratio,
        "running": conditions.running,
    }


def normal_text(at: Desk, resolved: Resolved, found: Normal) -> str:
    """Return what a unit should read as a page for the technician beside it: table, state, gaps, cautions."""
    book = catalogue()
    here = found.conditions
    air = [shown(at, value_k, "temperature") for value_k in (here.ambient_k, here.box_k)]
    doing = "running" if here.running else "off, pressures equalised"
    parts = [
        heading_of(resolved.card),
        f"{air[0]} air into the condenser, {air[1]} in the box, {doing}",
        "",
        readings_table(at, book, found),
        "",
        *state_lines(at, book, found),
    ]
    sharp = list(sharpen_lines(at, book, found)) if here.running else []
    if sharp:
        parts += ["", "Measure to narrow the bands:", *sharp]
    cautions = unit_cautions(resolved)
    if cautions:
        parts += ["", *(paragraph("Caution", text) for text in cautions)]
    return "\n".join(parts)


def readings_table(at: Desk, book: Catalogue, found: Normal) -> str:
    """Return the readings of ``SHOWN`` as a table: place, value, band, saturation temperature."""
    rows = []
    idle = set() if found.unit.design.receiver_m3 > 0.0 else {"receiver_level_fraction"}
    if not found.conditions.running:
        idle |= {"compressor_a", "compressor_w", "capacity_w"}
    for place in SHOWN:
        band = found.readings.get(place)
        if band is None or place in idle:
            continue
        dimension = book.place(place).dimension
        beside = saturation(at, found.unit.fluid, place, band.value) if dimension == "pressure" else ""
        value, width = shown(at, band.value, dimension), between(at, band.low, band.high, dimension)
        rows.append((title(book, place), value, width, beside))
    return table(rows, ("reading and place", "should be", "9 of 10 such units", "saturated"), right=(1,))


def state_lines(at: Desk, book: Catalogue, found: Normal) -> Iterator[str]:
    """Yield what the machine does, in words: steady or not, where the liquid stands, what the glass shows."""
    point = found.point
    if not found.conditions.running:
        yield paragraph("At rest", _AT_REST)
        return
    liquid, *controls = point.regime.split("+")
    words = "runs steadily"
    if point.state != "running":
        words = "has no steady point in this weather with this box"
        words += "" if controls else "; the readings are those nearest to it and worth little"
    yield paragraph("State", words + ". " + " ".join(_CONTROLS[control] for control in controls))
    receiver = found.unit.design.receiver_m3 > 0.0
    told = (_LIQUID if receiver else _LIQUID_WITHOUT)[liquid]
    if receiver and liquid == "level":
        told += f" About {shown(at, may_leak_kg(found), 'mass', 0)} can leak away before anything shows."
    yield paragraph("Liquid", told + (f" Sight glass: {_glass(book, found)}." if receiver else ""))
    yield paragraph("Charge", _charge(at, found))
    if found.unit.fluid.info.note:
        yield paragraph("Note", f"{found.unit.design.refrigerant}: {found.unit.fluid.info.note}")


def may_leak_kg(found: Normal) -> float:
    """Return how much refrigerant may be missing before the receiver is empty [kg]."""
    level = found.point.readings.get("receiver_level_fraction", 0.0)
    nearer = min(level, 1.0 - level)
    return found.point.margin_kg * level / nearer if nearer > 0.0 else 0.0


def _glass(book: Catalogue, found: Normal) -> str:
    quality = found.point.readings.get("sight_glass_quality")
    if quality is None:
        return "not predicted"
    sighting = book.sighting("sight_glass")
    chances = sighting.chances_at(quality)
    return answer(book, "sight_glass", sighting.values[chances.index(max(chances))])


def _charge(at: Desk, found: Normal) -> str:
    """Return the right charge and where it is."""
    total = shown(at, found.unit.right_charge_kg, "mass", 0)
    from_card = found.unit.design.charge_kg is not None
    text = f"{total}, as the card says" if from_card else f"about {total} (computed from assumed volumes)"
    held = found.point.inventory
    if held is None:
        return text + "."
    parts = [(getattr(held, key), words) for key, words in _PARTS]
    named = [
        f"{words} {shown(at, mass, 'mass', 0)}" for mass, words in parts if mass > _HELD_SHARE * held.total_kg
    ]
    return f"{text}: {', '.join(named)}."


def sharpen_lines(at: Desk, book: Catalogue, found: Normal) -> Iterator[str]:
    """Yield the assumptions that matter most, each with what to measure instead."""
    for number, one in enumerate(found.sharpen[:_SHARPENED], start=1):
        value, spread = shown_fact(at, one.fact)
        moved = lower(title(book, one.moves))
        most = "" if moved == label(one.fact) else f", mostly in {moved}"
        yield paragraph(
            f"{number}",
            f"{label(one.fact)}, taken as {value} {spread}: {percent(one.share)} of what the card leaves open"
            f"{most}. {one.fact.hint}",
            label_width=3,
        )
