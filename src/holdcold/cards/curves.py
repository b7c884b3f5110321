"""Published compressor curves on a card, as the map the cycle uses."""

from __future__ import annotations

from typing import Final, cast

from holdcold.cards.card import Card
from holdcold.cycle.compressor import CompressorMap
from holdcold.cycle.compressor_map import MassFlowUnit, PowerUnit, TemperatureUnit
from holdcold.errors import InputError, InputErrors

_WIDEST_EVAP_K: Final = (223.15, 288.15)
_WIDEST_COND_K: Final = (283.15, 338.15)


def compressor_map(card: Card) -> CompressorMap | None:
    """Return the AHRI 540 map of a card, or None when it holds no curves.

    Raises InputErrors that name every field of ``[ahri_540]`` that cannot be used.
    """
    power = card.numbers("ahri_540.power")
    if power is None:
        if any(card.has(f"ahri_540.{key}") for key in ("mass_flow", "capacity", "current")):
            raise InputErrors([_no_power()])
        return None
    try:
        return CompressorMap(
            power=power,
            mass_flow=card.numbers("ahri_540.mass_flow"),
            capacity=card.numbers("ahri_540.capacity"),
            current=card.numbers("ahri_540.current"),
            temperature_unit=cast(TemperatureUnit, card.text("ahri_540.temperature_unit") or "C"),
            mass_flow_unit=cast(MassFlowUnit, card.text("ahri_540.mass_flow_unit") or "kg/s"),
            power_unit=cast(PowerUnit, card.text("ahri_540.power_unit") or "W"),
            capacity_unit=cast(PowerUnit, card.text("ahri_540.capacity_unit") or "W"),
            return_gas_k=card.number("ahri_540.return_gas"),
            superheat_k=card.number("ahri_540.superheat"),
            subcooling_k=card.number("ahri_540.subcooling") or 0.0,
            evap_k=_limits(card, "suction", _WIDEST_EVAP_K),
            cond_k=_limits(card, "condensing", _WIDEST_COND_K),
        )
    except InputErrors as wrong:
        raise InputErrors([_renamed(problem) for problem in wrong.problems]) from None


def _no_power() -> InputError:
    return InputError(
        "ahri_540.power", "nothing", "ten coefficients", "Give the coefficients of input power too."
    )


def _limits(card: Card, name: str, widest: tuple[float, float]) -> tuple[float, float]:
    low, high = card.number(f"ahri_540.{name}_low"), card.number(f"ahri_540.{name}_high")
    return (widest[0] if low is None else low, widest[1] if high is None else high)


def _renamed(problem: InputError) -> InputError:
    """Return the problem under the name the card uses for the field."""
    key = problem.field.rpartition(".")[2]
    ours = {
        "return_gas_k": "return_gas",
        "superheat_k": "superheat",
        "subcooling_k": "subcooling",
        "evap_k": "suction_low",
        "cond_k": "condensing_low",
    }.get(key, key)
    return InputError(f"ahri_540.{ours}", problem.value, problem.allowed, problem.advice)
