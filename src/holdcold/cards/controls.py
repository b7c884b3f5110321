"""Head control and pressure cut-outs, and what their settings get wrong on this unit."""

from __future__ import annotations

from typing import Final

from holdcold.cards.card import Card
from holdcold.cards.facts import Default, Ledger
from holdcold.cards.practice import PRACTICE, degrees, fahrenheit
from holdcold.quantities.constants import FAHRENHEIT_ZERO_K, ICE_POINT_K, PSI_PA, RANKINE_K
from holdcold.refrigerants import Fluid

_FAN_ON_K: Final = fahrenheit(100.0)
_FAN_OFF_K: Final = fahrenheit(85.0)
_HELD_K: Final = fahrenheit(85.0)
_HIGH_CUT_K: Final = fahrenheit(145.0)
_LOW_CUT_BELOW_K: Final = degrees(40.0)
_LOW_CUT_ROOM_K: Final = degrees(8.0)
_LOW_CUT_FLOOR_PA: Final = 2.0 * PSI_PA
_MARGIN_K: Final = degrees(8.0)


def head_control(ledger: Ledger, medium: Fluid, kind: str) -> None:
    """Settle what the head control of this kind is set to; nothing where there is none."""
    if kind == "fan_cycling":
        _fan_cycling(ledger, medium)
    elif kind != "none":
        held = Default(medium.dew_pa(_HELD_K), 0.05, PRACTICE + ": held at 85 F condensing", relative=True)
        ledger.settle("head_set_pa", "pressure", held, path="head.setting",
                      hint="Read the setting, or the head it settles at in the cold.",
                      uncertain=True)  # fmt: skip


def _fan_cycling(ledger: Ledger, medium: Fluid) -> None:
    words = PRACTICE + ": fans on at 100 F, off at 85 F condensing, about 45 psi apart"
    ledger.settle("fan_on_pa", "pressure", Default(medium.dew_pa(_FAN_ON_K), 0.05, words, relative=True),
                  path="head.fan_on", hint="Read the setting, or the head where the fan starts.",
                  uncertain=True)  # fmt: skip
    ledger.settle("fan_off_pa", "pressure",
                  Default(ledger["fan_on_pa"] * medium.dew_pa(_FAN_OFF_K) / medium.dew_pa(_FAN_ON_K), 0.05,
                          words, relative=True),
                  path="head.fan_off", hint="Read the setting, or the head where the fan stops.")  # fmt: skip
    ledger.settle("fans_cycled", "count",
                  Default(max(ledger["condenser_fans"] - 1.0, 1.0), 0.0,
                          PRACTICE + ": the only fan, or all but the first"),
                  path="head.fans_cycled")  # fmt: skip


def cut_outs(ledger: Ledger, medium: Fluid) -> None:
    """Settle the pressures at which the controls stop the machine."""
    ambient_pa = ledger.card.ambient_pa
    hottest_k = min(_HIGH_CUT_K, medium.dew_k(medium.p_max) - 0.5)
    ledger.settle("high_cut_pa", "pressure",
                  Default(medium.dew_pa(hottest_k), 0.03,
                          PRACTICE + ": near 145 F condensing, below the limit of the high side",
                          relative=True),
                  path="controls.high_cut_out", hint="Read it off the control.")  # fmt: skip
    coldest_k = max(ledger["rated_evap_k"] - _LOW_CUT_BELOW_K, medium.dew_k(medium.p_min) + 0.5)
    usual_pa = max(medium.dew_pa(coldest_k), ambient_pa + _LOW_CUT_FLOOR_PA)
    room_k = max(ledger["rated_evap_k"] - _LOW_CUT_ROOM_K, medium.dew_k(medium.p_min) + 0.5)
    ledger.settle("low_cut_pa", "pressure",
                  Default(min(usual_pa, medium.dew_pa(room_k)), 0.1,
                          PRACTICE + ": 40 F below design suction, not below 2 psig unless design is",
                          relative=True),
                  path="controls.low_cut_out", hint="Read it off the control.")  # fmt: skip


def regulators(ledger: Ledger) -> None:
    """Settle what few units carry: regulators, injection, accumulator, exchanger; absent unless given."""
    for name, dimension, path in (
        ("coil_hold_pa", "pressure", "regulators.evaporator"),
        ("crankcase_hold_pa", "pressure", "regulators.crankcase"),
        ("injection_k", "temperature", "compressor.injection"),
        ("accumulator_m3", "volume", "lines.accumulator"),
        ("exchanger", "fraction", "lines.exchanger"),
    ):
        if ledger.card.has(path):
            ledger.settle(name, dimension, Default(0.0, 0.0, ""), path=path)


def setting_cautions(card: Card, ledger: Ledger, medium: Fluid) -> tuple[str, ...]:
    """Return what the given control settings will do on this unit that nobody may have meant."""
    return tuple(
        text
        for text in (
            _low_cut_in(card, ledger, medium),
            _fan_cut_in(card, ledger, medium),
            _vacuum(ledger, medium),
        )
        if text
    )


def _low_cut_in(card: Card, ledger: Ledger, medium: Fluid) -> str:
    """Say when a pumped-down unit may never restart: cut-in too near, or above, the coldest part."""
    cut_in_pa = card.number("controls.low_cut_in")
    if cut_in_pa is None or card.text("controls.low_role") == "thermostat":
        return ""
    dew_k = medium.dew_k(min(max(cut_in_pa, medium.p_min), medium.p_max))
    coldest = [(ledger["set_point_k"], "the box")]
    outside_k = card.number("site.coldest")
    if outside_k is not None and card.text("condenser.location") in {"outdoor", "roof"}:
        coldest.append((outside_k, "the coldest air at the condensing unit"))
    lowest_k, where = min(coldest)
    if dew_k <= lowest_k - _MARGIN_K:
        return ""
    relation = "above" if dew_k >= lowest_k else "only just below"
    return (
        f"low-pressure cut-in {card.said('controls.low_cut_in')} is {_f(dew_k)} dew, {relation} {where} at "
        f"{_f(lowest_k)}: a pumped-down unit may not restart. Set it lower, or say "
        'low_role = "thermostat" if this control keeps the box temperature.'
    )


def _fan_cut_in(card: Card, ledger: Ledger, medium: Fluid) -> str:
    """Say when fans would start only above the head of a design day."""
    if card.number("head.fan_on") is None or "fan_on_pa" not in ledger.facts:
        return ""
    on_k = medium.dew_k(min(ledger.get("fan_on_pa"), medium.p_max))
    summer_k = ledger["rated_ambient_k"] + ledger["condenser_split_k"]
    if on_k < summer_k:
        return ""
    return (
        f"condenser fans start at {card.said('head.fan_on')}, {_f(on_k)} condensing, above the "
        f"{_f(summer_k)} of a design day: they would cycle all summer. Check the setting."
    )


def _vacuum(ledger: Ledger, medium: Fluid) -> str:
    """Say when the low side works below ambient pressure on a design day."""
    if medium.dew_pa(ledger["rated_evap_k"]) >= ledger.card.ambient_pa:
        return ""
    return (
        f"{medium.info.name} at {_f(ledger['rated_evap_k'])} suction works in a vacuum, which few "
        "machines are meant for: check refrigerant, application and rating, and look for air first."
    )


def _f(t_k: float) -> str:
    return f"{(t_k - FAHRENHEIT_ZERO_K) / RANKINE_K:.1f} F ({t_k - ICE_POINT_K:.1f} C)"
