"""Calls on machines with known faults, written as the files a technician would write."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from holdcold.quantities import US, format_quantity
from support.calls import COOLER, FREEZER, Call, Machine, Truth, kelvin, unit

CARDS = {"cooler": COOLER, "freezer": FREEZER}
ROUNDS = ("box_walk_round", "unit_walk_round")
EVERYTHING = (*ROUNDS, "condenser_air", "coil_air", "superheats", "drier_drop", "compressor_amps")
CLEAN = {"condenser_face": "clean", "condenser_fans": "all_turning", "evaporator_fans": "all_turning",
         "coil_ice": "clear", "door": "tight", "box_stock": "clear", "coil_face": "clean"}  # fmt: skip


def call_on(card: str, faults: dict[str, float], checks: tuple[str, ...], *, box: float, **seen: str) -> Call:
    """Return a call on a unit with known faults: what some checks show, exactly and as is likeliest.

    seen: answers given by hand; everything else that is looked at is clean and turning.
    """
    truth = Truth(unit(CARDS[card]), faults, kelvin(88.0), kelvin(box), seen={**CLEAN, **seen})
    return Call(Machine(truth)).do(*checks)


def as_toml(call: Call) -> str:
    """Return a call as a file, readings in trade units with every digit an instrument shows."""
    evidence = call.evidence
    here = evidence.situation
    lines = [
        "schema = 1",
        "[conditions]",
        f'ambient = "{_shown(here.ambient_k, "temperature")}"',
        f'box = "{_shown(here.box_k, "temperature")}"',
        f'state = "{here.state}"',
        "minutes_in_state = 60",
        f'complaint = "{here.complaint}"',
    ]
    book = call.machine.book
    for reading in evidence.readings:
        value = _shown(reading.value_si, book.place(reading.place).dimension)
        lines += ["[[reading]]", f'place = "{reading.place}"', f'value = "{value}"']
    for sighting in evidence.sightings:
        lines += ["[[sighting]]", f'id = "{sighting.id}"', f'seen = "{sighting.value}"']
    for check in evidence.checks:
        lines += ["[[check]]", f'id = "{check.id}"', f'outcome = "{check.outcome}"']
    return "\n".join(lines) + "\n"


def _shown(value_si: float | None, dimension: str) -> str:
    return format_quantity(value_si or 0.0, dimension, US, 2)


def written(folder: Path, card: str, call: Call | str) -> list[str]:
    """Write card and call into a folder and return the two arguments for the command line."""
    paths = folder / "unit.toml", folder / "call.toml"
    paths[0].write_text(CARDS.get(card, card), encoding="utf-8")
    paths[1].write_text(call if isinstance(call, str) else as_toml(call), encoding="utf-8")
    return [str(path) for path in paths]


def off(call: Call) -> Call:
    """Return the call on a machine found standing still."""
    call.evidence = replace(call.evidence, situation=replace(call.evidence.situation, state="off"))
    return call
