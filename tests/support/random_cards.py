"""Cards drawn at random over kinds, refrigerants and how much of a unit is known; invented numbers."""

from __future__ import annotations

import random

from holdcold.cards import Resolved, read_card, resolve
from holdcold.cycle import build
from holdcold.errors import InputError, InputErrors, SolverError

COOLER_GASES = ("R-134a", "R-404A", "R-407A", "R-448A", "R-449A", "R-454C", "R-513A")
FREEZER_GASES = ("R-404A", "R-407A", "R-448A", "R-449A", "R-454C", "R-507A")
CABINET_GASES = ("R-134a", "R-290", "R-404A", "R-513A")
NEAR_EMPTY = 0.06
"""Liquid share of a receiver that is nearly empty at design conditions."""


def random_card(seed: int, *, near_empty: bool = False) -> str:
    """Return the text of one card; the same seed gives the same card.

    near_empty: a walk-in with little liquid in its receiver, said by level or by weight of charge.
    Seeds whose drawn ratings contradict each other fall to the next draw of the same generator.
    """
    draw = random.Random(f"card {seed}")
    for _ in range(50):
        lines, receiver = _lines(draw, cabinet=draw.random() < 0.3 and not near_empty)
        if near_empty:
            lines.append(f"receiver.fill = {_percent(NEAR_EMPTY)}")
        text = "\n".join(lines)
        try:
            found = resolve(read_card(text))
            unit = build(found.design)
        except (InputError, InputErrors, SolverError):
            continue
        if receiver and draw.random() < 0.5:
            text = f'{_by_weight(text)}\ncharge.amount = "{unit.right_charge_kg:.2f} kg"'
        return text
    raise RuntimeError(f"no card for seed {seed}")


def random_unit(seed: int, *, near_empty: bool = False) -> Resolved:
    """Return the unit of ``random_card`` with its assumptions."""
    return resolve(read_card(random_card(seed, near_empty=near_empty)))


def _by_weight(text: str) -> str:
    """Return a card without its level, which the weight of the charge now decides."""
    return "\n".join(line for line in text.splitlines() if not line.startswith("receiver.fill"))


def _percent(share: float) -> str:
    return f'"{100.0 * share:g} %"'


def _lines(draw: random.Random, *, cabinet: bool) -> tuple[list[str], bool]:
    """Return the lines of one card, and whether the unit has a receiver."""
    freezer = draw.random() < 0.45
    kind = "reach_in" if cabinet else "walk_in"
    gases = CABINET_GASES if cabinet else FREEZER_GASES if freezer else COOLER_GASES
    head = ["schema = 1", f'kind = "{kind}"', f'refrigerant = "{draw.choice(gases)}"',
            f'application = "{"freezer" if freezer else "cooler"}"']  # fmt: skip
    body = _cabinet(draw) if cabinet else _walk_in(draw, freezer=freezer)
    return [*head, *body], not cabinet


def _cabinet(draw: random.Random) -> list[str]:
    lines = [f'box.volume = "{draw.choice((12, 24, 45, 70))} ft3"',
             f'capacity.horsepower = "{draw.choice(("1/4", "1/3", "1/2", "3/4"))} hp"',
             'compressor.kind = "hermetic"', 'expansion.device = "capillary"',
             f"charge.ports = {draw.choice(('true', 'true', 'false'))}"]  # fmt: skip
    lines += _sometimes(draw, 0.4, f"coil.fans = {draw.choice((1, 2))}")
    lines += _sometimes(draw, 0.3, f'expansion.subcooling = "{draw.randint(6, 14)} F"')
    return lines


def _walk_in(draw: random.Random, *, freezer: bool) -> list[str]:
    side = draw.choice((6, 8, 10, 12, 16))
    area = side * draw.choice((6, 8, 10))
    lines = [f'box = {{ length = "{side} ft", width = "{area // side} ft", height = "8 ft" }}',
             'expansion.device = "txv"', "charge.ports = true"]  # fmt: skip
    horsepower = max(0.75, area / (55.0 if freezer else 80.0)) * draw.uniform(0.8, 1.4)
    stated = draw.random()
    if stated < 0.4:
        lines.append(f'capacity.horsepower = "{horsepower:.2g} hp"')
    elif stated < 0.8:
        lines.append(f'capacity.rated = "{(5.0 if freezer else 8.5) * horsepower:.3g} kBtu/h"')
    else:
        lines.append("capacity.unknown = true")
    lines.append(f'condenser.location = "{draw.choice(("indoor", "outdoor", "roof"))}"')
    lines += _sometimes(
        draw, 0.6, f'compressor.kind = "{draw.choice(("hermetic", "semi_hermetic", "scroll"))}"'
    )
    lines += _sometimes(draw, 0.5, f'coil.td = "{draw.randint(8, 13)} F"')
    lines += _sometimes(draw, 0.6, f"coil.fans = {draw.choice((1, 2, 3, 4))}")
    lines += _sometimes(draw, 0.5, f"condenser.fans = {draw.choice((1, 2))}")
    lines += _sometimes(draw, 0.4, f'expansion.superheat = "{draw.randint(6, 9)} F"')
    lines += _sometimes(
        draw, 0.4, f'lines = {{ length = "{draw.randint(10, 60)} ft", lift = "{draw.randint(-4, 8)} ft" }}'
    )
    lines += _sometimes(draw, 0.3, 'defrost.kind = "electric"' if freezer else 'defrost.kind = "off_cycle"')
    return lines


def _sometimes(draw: random.Random, chance: float, line: str) -> list[str]:
    return [line] if draw.random() < chance else []
