"""Fill in the readings of the demo: solve each unit with its known faults, add the errors of instruments.

Run from the project's root, in the environment of ``make test``:

    python tools/make_demo.py

It rewrites the ``value`` of every reading in ``src/holdcold/cli/demo_data`` from the step's ``truth``
and conditions, and of every reading of the calls in ``examples`` from the faults below, with one bias per
instrument and one noise per reading from a seeded generator, rounded as such an instrument shows it.
Everything else in the files is written by hand.
"""

from __future__ import annotations

import random
import re
import tomllib
from pathlib import Path

from holdcold.calls import evidence, read_call_document
from holdcold.cards import Resolved, read_card, resolve
from holdcold.cli.demo_story import EPISODES, Step, episode
from holdcold.cycle import Faults, build, solve
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.evidence import ReadingEvidence
from holdcold.diagnosis.observe import instrument_class, instrument_name
from holdcold.diagnosis.problem import conditions_of
from holdcold.quantities import US, format_quantity

FOLDER = Path("src/holdcold/cli/demo_data")
SEED = 20261125
VALUE = re.compile(r'(\[\[step\.call\.reading\]\]\nplace = "(\w+)"\nvalue = )"[^"]*"')
EXAMPLES = Path("examples")
EXAMPLE_VALUE = re.compile(r'(\[\[reading\]\]\nplace = "(\w+)"\nvalue = )"[^"]*"')
EXAMPLE_FAULTS: dict[str, dict[str, float]] = {
    "call-dead-fan": {"coil_air": 0.5},
    "call-dirty-condenser": {"condenser_air": 0.6},
    "call-low-charge": {"charge_loss": 0.68},
    "call-reach-in": {"condenser_air": 0.6},
    "call-restricted-drier": {"liquid_restriction": 6.0e5},
    "call-two-at-once": {"condenser_air": 0.5, "charge_loss": 0.66},
}
DIGITS = {"pressure": 0, "temperature": 0, "temperature_difference": 0, "current": 1}


def true_readings(resolved: Resolved, step: Step) -> dict[str, float]:
    """Return what the unit reads [SI] in a step, without any instrument."""
    call = read_call_document(step.document, catalogue=catalogue(), ambient_pa=resolved.card.ambient_pa)
    situation = evidence(call, resolved.design.supply_v).situation
    return solve(build(resolved.design), conditions_of(situation, resolved), Faults(**step.truth)).readings


def as_shown(place: str, true: float, named: str, draw: random.Random, biases: dict[str, float]) -> float:
    """Return what an instrument shows [SI] for a true value, and remember the instrument's bias."""
    book = catalogue()
    class_name = named.split(maxsplit=1)[0] if named else None
    reading = ReadingEvidence(place, true, named or None, None, class_name)
    kind = instrument_class(reading, book)
    name = instrument_name(reading, kind, book.place(place).dimension)
    biases.setdefault(name, draw.gauss(0.0, kind.bias_sigma(true)))
    return true + biases[name] + draw.gauss(0.0, kind.sigma(true))


def fill(name: str) -> str:
    """Return the text of one episode with its readings filled in."""
    told = episode(name)
    resolved = resolve(read_card(told.card_text))
    at = US.at(resolved.card.ambient_pa)
    draw = random.Random(f"{SEED} {name}")
    values: list[str] = []
    done = 0
    biases: dict[str, float] = {}
    for step in told.steps:
        done = 0 if step.fresh else done
        biases = {} if step.fresh else biases
        readings = true_readings(resolved, step)
        rows = step.document.get("reading", [])
        for row in rows[done:]:
            place = row["place"]
            shown = as_shown(place, readings[place], row.get("instrument", ""), draw, biases)
            dimension = catalogue().place(place).dimension
            values.append(format_quantity(shown, dimension, at, DIGITS[dimension]).replace("°", ""))
        done = len(rows)
    found = iter(values)
    text = (FOLDER / f"{name}.toml").read_text(encoding="utf-8")
    return VALUE.sub(lambda match: f'{match[1]}"{next(found)}"', text)


def fill_example(name: str) -> str:
    """Return the text of one example call with its readings filled in."""
    path = EXAMPLES / f"{name}.toml"
    text = path.read_text(encoding="utf-8")
    document = tomllib.loads(text)
    resolved = resolve(read_card((EXAMPLES / document["card"]).read_text(encoding="utf-8")))
    at = US.at(resolved.card.ambient_pa)
    call = read_call_document(document, catalogue=catalogue(), ambient_pa=resolved.card.ambient_pa)
    situation = evidence(call, resolved.design.supply_v).situation
    faults = Faults(**EXAMPLE_FAULTS[name])
    readings = solve(build(resolved.design), conditions_of(situation, resolved), faults).readings
    draw = random.Random(f"{SEED} {name}")
    biases: dict[str, float] = {}
    values = []
    for row in document["reading"]:
        place = row["place"]
        shown = as_shown(place, readings[place], row.get("instrument", ""), draw, biases)
        dimension = catalogue().place(place).dimension
        values.append(format_quantity(shown, dimension, at, DIGITS[dimension]).replace("°", ""))
    found = iter(values)
    return EXAMPLE_VALUE.sub(lambda match: f'{match[1]}"{next(found)}"', text)


def main() -> None:
    """Rewrite every episode and every example in place."""
    for name in EXAMPLE_FAULTS:
        (EXAMPLES / f"{name}.toml").write_text(fill_example(name), encoding="utf-8")
    for name in EPISODES:
        (FOLDER / f"{name}.toml").write_text(fill(name), encoding="utf-8")


if __name__ == "__main__":
    main()
