"""``holdcold sat`` and ``holdcold state``: what a refrigerant does at a pressure or a temperature."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from holdcold.cli.common import Commands, Desk, add_shared_options, both, desk
from holdcold.cli.tables import table
from holdcold.errors import EnvelopeError, InputError
from holdcold.quantities import format_quantity
from holdcold.quantities.constants import PSI_PA
from holdcold.refrigerants import Fluid, State, fluid

_STARTS_A_QUANTITY: Final = re.compile(r"[-+\u2212]?[.,]?\d")
_EITHER: Final = ("temperature", "pressure")
_PHASES: Final = {"liquid": "liquid", "wet": "liquid and vapour together", "vapour": "vapour"}


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``sat`` and ``state`` to the command line."""
    sat = commands.add_parser(
        "sat",
        help="saturation temperatures at a pressure, or pressures at a temperature",
        description="Bubble and dew temperature at a pressure, or bubble and dew pressure at a temperature.",
    )
    sat.add_argument("refrigerant", metavar="REFRIGERANT", help="designation, such as R-448A")
    sat.add_argument(
        "reading",
        metavar="READING",
        nargs="+",
        help='a pressure ("20 psig", "18 in.Hg") or a temperature ("-10F")',
    )
    add_shared_options(sat)
    sat.set_defaults(run=run_sat)
    state = commands.add_parser(
        "state",
        help="phase, superheat or subcooling, enthalpy and density at a pressure and a temperature",
        description="The state of a refrigerant at a pressure and a temperature, in either order.",
    )
    state.add_argument("refrigerant", metavar="REFRIGERANT", help="designation, such as R-448A")
    state.add_argument(
        "readings", metavar="READING", nargs="+", help="a pressure and a temperature: 30psig 20F"
    )
    add_shared_options(state)
    state.set_defaults(run=run_state)


def run_sat(args: argparse.Namespace) -> int:
    """Print saturation at one pressure or one temperature; return the exit code."""
    at = desk(args)
    gas, (name, value_si) = both(
        lambda: fluid(args.refrigerant),
        lambda: at.read_one_of(" ".join(args.reading), _EITHER, "reading"),
    )
    with _range_in_their_units(at, gas):
        if name == "pressure":
            return _sat_at_pressure(at, gas, value_si)
        return _sat_at_temperature(at, gas, value_si)


def run_state(args: argparse.Namespace) -> int:
    """Print the state at a pressure and a temperature; return the exit code."""
    at = desk(args)
    gas, (pressure_pa, temperature_k) = both(
        lambda: fluid(args.refrigerant),
        lambda: _pressure_and_temperature(at, args.readings),
    )
    with _range_in_their_units(at, gas):
        state = gas.state_pt(pressure_pa, temperature_k)
        return at.answer(_state_data(gas, state), _state_text(at, gas, state))


def _sat_at_pressure(at: Desk, gas: Fluid, pressure_pa: float) -> int:
    """Answer with both saturation temperatures at a pressure."""
    bubble_k, dew_k = gas.bubble_k(pressure_pa), gas.dew_k(pressure_pa)
    data = {
        "refrigerant": gas.info.name,
        "pressure_pa": pressure_pa,
        "bubble_k": bubble_k,
        "dew_k": dew_k,
        "glide_k": dew_k - bubble_k,
    }
    rows = [
        ("dew", _shown(at, dew_k, "temperature"), "superheat is counted up from here"),
        ("bubble", _shown(at, bubble_k, "temperature"), "subcooling is counted down from here"),
        ("glide", _shown(at, dew_k - bubble_k, "temperature_difference"), "dew minus bubble"),
    ]
    title = f"{gas.info.name} at {_shown(at, pressure_pa, 'pressure')}{_absolute(at, pressure_pa)}"
    return at.answer(data, f"{title}\n{_indented(table(rows, right=(1,)))}")


def _sat_at_temperature(at: Desk, gas: Fluid, temperature_k: float) -> int:
    """Answer with both saturation pressures at a temperature."""
    bubble_pa, dew_pa = gas.bubble_pa(temperature_k), gas.dew_pa(temperature_k)
    data = {
        "refrigerant": gas.info.name,
        "temperature_k": temperature_k,
        "bubble_pa": bubble_pa,
        "dew_pa": dew_pa,
    }
    rows = [
        ("dew", _shown(at, dew_pa, "pressure"), "all vapour below this (coil outlet, suction)"),
        ("bubble", _shown(at, bubble_pa, "pressure"), "all liquid above this (liquid line, cylinder)"),
    ]
    title = f"{gas.info.name} at {_shown(at, temperature_k, 'temperature')}"
    return at.answer(data, f"{title}\n{_indented(table(rows, right=(1,)))}")


def _pressure_and_temperature(at: Desk, words: list[str]) -> tuple[float, float]:
    """Return absolute pressure [Pa] and temperature [K] from two quantities typed in either order."""
    texts = quantities_in(words)
    if len(texts) != 2:
        raise _not_a_pair(words, "Write for example 30psig 20F.")
    first, second = both(
        lambda: at.read_one_of(texts[0], _EITHER, "first reading"),
        lambda: at.read_one_of(texts[1], _EITHER, "second reading"),
    )
    if first[0] == second[0]:
        raise _not_a_pair(words, f"Each of these is a {first[0]}.")
    found = dict([first, second])
    return found["pressure"], found["temperature"]


def _not_a_pair(words: list[str], advice: str) -> InputError:
    """Return the error for readings that are not one pressure and one temperature."""
    return InputError("readings", " ".join(words), "one pressure and one temperature", advice)


def quantities_in(words: list[str]) -> list[str]:
    """Return the quantities among words: each begins with a word that starts with a number.

    words: as typed, so that ``30 psig 20 F`` and ``30psig 20F`` both make two.
    """
    texts: list[str] = []
    for word in words:
        if _STARTS_A_QUANTITY.match(word) or not texts:
            texts.append(word)
        else:
            texts[-1] += f" {word}"
    return texts


def _state_data(gas: Fluid, state: State) -> dict[str, object]:
    """Return a state under the names scripts rely on, with superheat, subcooling or quality if it has one."""
    data: dict[str, object] = {
        "refrigerant": gas.info.name,
        "pressure_pa": state.pressure_pa,
        "temperature_k": state.temperature_k,
        "phase": state.phase,
        "h_j_kg": state.h_j_kg,
        "s_j_kgk": state.s_j_kgk,
        "rho_kg_m3": state.rho_kg_m3,
    }
    apart = {"superheat_k": state.superheat_k, "subcooling_k": state.subcooling_k, "quality": state.quality}
    return data | {key: value for key, value in apart.items() if value is not None}


def _state_text(at: Desk, gas: Fluid, state: State) -> str:
    """Return a state as a small table."""
    rows = [("phase", _PHASES[state.phase], "")]
    if state.superheat_k is not None:
        dew = _shown(at, gas.dew_k(state.pressure_pa), "temperature")
        rows.append(
            ("superheat", _shown(at, state.superheat_k, "temperature_difference"), f"above dew at {dew}")
        )
    if state.subcooling_k is not None:
        bubble = _shown(at, gas.bubble_k(state.pressure_pa), "temperature")
        rows.append(
            (
                "subcooling",
                _shown(at, state.subcooling_k, "temperature_difference"),
                f"below bubble at {bubble}",
            )
        )
    if state.quality is not None:
        rows.append(("vapour", _shown(at, state.quality, "fraction"), "by mass"))
    rows += [
        ("enthalpy", _shown(at, state.h_j_kg, "specific_enthalpy"), "saturated liquid at 0 °C is 200 kJ/kg"),
        ("entropy", _shown(at, state.s_j_kgk, "specific_entropy"), "saturated liquid at 0 °C is 1 kJ/kgK"),
        ("density", _shown(at, state.rho_kg_m3, "density"), ""),
    ]
    pressure = _shown(at, state.pressure_pa, "pressure")
    title = f"{gas.info.name} at {pressure}{_absolute(at, state.pressure_pa)}"
    title += f", {_shown(at, state.temperature_k, 'temperature')}"
    return f"{title}\n{_indented(table(rows))}"


@contextmanager
def _range_in_their_units(at: Desk, gas: Fluid) -> Iterator[None]:
    """Turn an envelope error into one that tells value and range in the person's units."""
    try:
        yield
    except EnvelopeError as problem:
        dimension = "pressure" if problem.field.endswith("pressure") else "temperature"
        value = (
            problem.value if not isinstance(problem.value, float) else _shown(at, problem.value, dimension)
        )
        advice = "There are no data outside this range; check the reading and its unit."
        raise EnvelopeError(problem.field, value, _range(at, gas), advice) from None


def _range(at: Desk, gas: Fluid) -> str:
    """Return a refrigerant's envelope in words."""
    reach = gas.info.envelope
    pressures = f"{_shown(at, gas.p_min, 'pressure')} to {_shown(at, gas.p_max, 'pressure')}"
    saturated = f"{_shown(at, reach.min_k, 'temperature')} to {_shown(at, reach.max_k, 'temperature')}"
    superheat = _shown(at, reach.superheat_k, "temperature_difference")
    subcooling = _shown(at, reach.subcooling_k, "temperature_difference")
    return f"{pressures}; saturated from {saturated}; superheat to {superheat}, subcooling to {subcooling}"


def _shown(at: Desk, value_si: float, dimension: str) -> str:
    """Return a quantity in the person's units."""
    return format_quantity(value_si, dimension, at.preference)


def _absolute(at: Desk, pressure_pa: float) -> str:
    """Return the absolute pressure in brackets, so that a gauge reading cannot be taken for it."""
    if at.preference.name == "us":
        return f" ({pressure_pa / PSI_PA:.1f} psia)"
    return f" ({pressure_pa / 1e5:.2f} bara)"


def _indented(text: str) -> str:
    """Return lines set in by two spaces."""
    return "\n".join(f"  {line}" for line in text.splitlines())
