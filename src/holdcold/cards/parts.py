"""Heat exchangers, pipes and vessels: what nobody measured follows from duty and conductance.

Volumes scale with what makes them big: a coil's tubes with its conductance (duty over TD), a receiver
with the heat the machine rejects, a shell with the compressor's input, a pipe with its length and bore.
"""

from __future__ import annotations

import math
from typing import Final

from holdcold.cards.facts import Default, Given, Ledger
from holdcold.cards.machine import half_glide_k
from holdcold.cards.practice import (
    CAPILLARY_SUBCOOLING,
    CONDENSER_SEAL,
    LIQUID_DROP,
    PRACTICE,
    RECEIVER_FILL,
    VALVE_RESERVE,
    Habits,
    degrees,
)
from holdcold.cards.tube import bore_m2, nearest_size, outside_m, size_for
from holdcold.refrigerants import Fluid

_AIR_CP: Final = 1006.0
_AIR_GAS: Final = 287.055
_LITRE: Final = 1e-3
_COIL_DROP_SHARE: Final = 0.5
_CONDENSER_RISE_SHARE: Final = 0.6
_AIR_MARGIN: Final = 1.2
_NEAREST_K: Final = 0.5
SUPERHEAT_REACH: Final = 0.9
"""Most of the TD that a coil's superheat can be: gas never gets as warm as the air."""

_COIL_LITRE_PER_KW_K: Final = 5.5
_CONDENSER_LITRE_PER_KW_K: Final = 2.2
_RECEIVER_LITRE_PER_KW: Final = 0.75
_COIL_FAN_W: Final = 65.0
_CONDENSER_FAN_SHARE: Final = 0.035
_ONE_FAN_W: Final = 14_000.0
_LIQUID_M_S: Final = 0.8
_SUCTION_M_S: Final = 10.0
_GIVEN_AIR: Final = Given(0.08, True, "given on the card")
_GIVEN_VOLUME: Final = Given(0.05, True, "given on the card")


def coil(ledger: Ledger, habits: Habits) -> None:
    """Settle the coil: sensible share, air, fans, volume."""
    duty_w = ledger["rated_capacity_w"]
    ledger.settle("sensible_fraction", "fraction", habits.sensible,
                  hint="Box humidity and drain water tell how much of the duty makes water or frost.",
                  uncertain=True)  # fmt: skip
    fewest = least_coil_air_kg_s(ledger)
    ledger.settle("coil_air_kg_s", "mass_flow",
                  Default(fewest / _COIL_DROP_SHARE, 0.15, PRACTICE + ": air drops by half the TD",
                          relative=True, least=_AIR_MARGIN * fewest),
                  worked_out=_air_flow(ledger, "coil.airflow", ledger["set_point_k"]), given=_GIVEN_AIR,
                  hint="Air into and out of the clear coil with every fan turning.",
                  uncertain=True)  # fmt: skip
    one = ledger.card.text("kind") == "reach_in"
    fans = min(max(round(duty_w / habits.fan_duty_w), 1 if one else 2), 6)
    ledger.settle("coil_fans", "count",
                  Default(float(fans), 0.0, f"{PRACTICE}: one fan for about {habits.fan_duty_w:.0f} W"),
                  path="coil.fans", hint="Count them.")  # fmt: skip
    each = _COIL_FAN_W if ledger.card.text("kind") == "walk_in" else 0.3 * _COIL_FAN_W
    ledger.settle("coil_fan_w", "electric_power",
                  Default(each * ledger["coil_fans"], 0.3, PRACTICE, relative=True),
                  path="coil.fan_power")  # fmt: skip
    litres = _COIL_LITRE_PER_KW_K * duty_w / 1e3 / ledger["coil_td_k"]
    ledger.settle("coil_m3", "volume",
                  Default(litres * _LITRE, 0.3, PRACTICE + ": 5.5 L for each kW/K of duty over TD",
                          relative=True),
                  path="coil.volume", given=_GIVEN_VOLUME)  # fmt: skip


def least_coil_air_kg_s(ledger: Ledger) -> float:
    """Return the air flow [kg/s] that would leave the coil at its dew: less cannot carry the duty."""
    duty_w = ledger["sensible_fraction"] * ledger["rated_capacity_w"]
    return duty_w / (_AIR_CP * ledger["coil_td_k"])


def least_condenser_air_kg_s(ledger: Ledger, medium: Fluid) -> float:
    """Return the air flow [kg/s] that would leave as warm as what condenses: less cannot do it.

    With glide that is the ambient plus the logarithmic mean of the differences at dew and at bubble.
    """
    split_k = ledger["condenser_split_k"]
    glide_k = 2.0 * half_glide_k(medium, ledger["rated_ambient_k"] + split_k)
    nearest_k = max(split_k - glide_k, _NEAREST_K)
    mean_k = split_k if glide_k < 0.02 * split_k else (split_k - nearest_k) / math.log(split_k / nearest_k)
    return (ledger["rated_capacity_w"] + ledger["rated_power_w"]) / (_AIR_CP * mean_k)


def condenser(ledger: Ledger, medium: Fluid) -> None:
    """Settle the condenser: air, fans, volume; the heat it rejects is capacity plus input."""
    heat_w = ledger["rated_capacity_w"] + ledger["rated_power_w"]
    split_k = ledger["condenser_split_k"]
    fewest = least_condenser_air_kg_s(ledger, medium)
    ledger.settle("condenser_air_kg_s", "mass_flow",
                  Default(fewest / _CONDENSER_RISE_SHARE, 0.15,
                          PRACTICE + ": air rises by about 0.6 of the mean split", relative=True,
                          least=_AIR_MARGIN * fewest),
                  worked_out=_air_flow(ledger, "condenser.airflow", ledger["rated_ambient_k"]),
                  given=_GIVEN_AIR,
                  hint="Air into and out of the clean condenser with every fan turning.",
                  uncertain=True)  # fmt: skip
    fans = 1 if heat_w < _ONE_FAN_W else min(2 * math.ceil(heat_w / (3.0 * _ONE_FAN_W)), 12)
    ledger.settle("condenser_fans", "count",
                  Default(float(fans), 0.0, PRACTICE + ": one fan up to about 3 hp"),
                  path="condenser.fans", hint="Count them.")  # fmt: skip
    ledger.settle("condenser_fan_w", "electric_power",
                  Default(_CONDENSER_FAN_SHARE * heat_w, 0.3, PRACTICE + ": 3.5 % of the heat rejected",
                          relative=True),
                  path="condenser.fan_power")  # fmt: skip
    litres = _CONDENSER_LITRE_PER_KW_K * heat_w / 1e3 / split_k
    ledger.settle("condenser_m3", "volume",
                  Default(litres * _LITRE, 0.3, PRACTICE + ": 2.2 L for each kW/K of heat over split",
                          relative=True),
                  path="condenser.volume", given=_GIVEN_VOLUME)  # fmt: skip


def receiver(ledger: Ledger, fitted: bool) -> None:
    """Settle the receiver; a unit without one has volume zero and a condenser that keeps its liquid."""
    heat_w = ledger["rated_capacity_w"] + ledger["rated_power_w"]
    litres = _RECEIVER_LITRE_PER_KW * heat_w / 1e3 if fitted else 0.0
    ledger.settle("receiver_m3", "volume",
                  Default(litres * _LITRE, 0.3 if fitted else 0.0,
                          PRACTICE + ": 0.75 L for each kW of heat rejected" if fitted
                          else PRACTICE + ": capillary units carry none", relative=True),
                  path="receiver.volume", given=_GIVEN_VOLUME,
                  hint="Measure its length and girth.")  # fmt: skip
    fill = RECEIVER_FILL if fitted else Default(0.0, 0.0, "no receiver")
    ledger.settle("receiver_fill", "fraction", fill, path="receiver.fill",
                  given=Given(0.05, source="given on the card"),
                  hint="Find the liquid level in the receiver by hand or hot water on a warm day.",
                  uncertain=not ledger.card.has("charge.amount"))  # fmt: skip
    ledger.settle("condenser_seal", "fraction", CONDENSER_SEAL,
                  hint="Liquid temperature at the condenser outlet against bubble of the head pressure.",
                  uncertain=fitted)  # fmt: skip


def expansion(ledger: Ledger, habits: Habits, capillary: bool) -> None:
    """Settle superheat, valve reserve and the subcooling a capillary unit was charged for."""
    usual = habits.superheat
    reach = SUPERHEAT_REACH * ledger["coil_td_k"]
    ledger.settle("superheat_k", "temperature_difference",
                  Default(min(usual.value, reach), usual.spread, usual.source, least=usual.least, most=reach),
                  path="expansion.superheat",
                  given=Given(degrees(1.0), source="given on the card"),
                  hint="Superheat at the coil outlet, box near set point, after a proved repair.",
                  uncertain=True)  # fmt: skip
    ledger.settle("valve_reserve", "fraction", VALVE_RESERVE, path="expansion.reserve",
                  given=Given(0.05, source="given on the card"),
                  hint="Read valve and nozzle size off the power head.", uncertain=not capillary)  # fmt: skip
    ledger.settle("capillary_subcooling_k", "temperature_difference", CAPILLARY_SUBCOOLING,
                  path="expansion.subcooling", given=Given(degrees(1.5), source="given on the card"),
                  hint="Liquid temperature at the condenser outlet after weighing in the right charge.",
                  uncertain=capillary and not ledger.card.has("charge.amount"))  # fmt: skip


def lines(ledger: Ledger, habits: Habits, medium: Fluid) -> None:
    """Settle the pipes: length, lift, sizes, volumes, friction on the liquid side."""
    length = ledger.settle("line_length_m", "length", habits.length, path="lines.length",
                           given=Given(0.1, True, "given on the card"))  # fmt: skip
    ledger.settle("liquid_lift_m", "length",
                  Default(0.0, 1.5, PRACTICE + ": receiver and valve taken level"), path="lines.lift",
                  hint="Height of the expansion valve above the receiver.")  # fmt: skip
    ledger.settle("liquid_drop_k", "temperature_difference", LIQUID_DROP)
    liquid, suction = _pipe_sizes(ledger, medium)
    for name, size, path in (
        ("liquid_line", liquid, "lines.liquid_size"),
        ("suction_line", suction, "lines.suction_size"),
    ):
        told = ledger.card.number(path)
        size = size if told is None else nearest_size(told, path)
        ledger.settle(f"{name}_outside_m", "length",
                      Default(outside_m(size), 0.0, PRACTICE + ": smallest tube within the usual speed"),
                      path=path, hint="Read it with calipers.")  # fmt: skip
        ledger.settle(f"{name}_m3", "volume",
                      Default(length * bore_m2(size), 0.1, f"length times the bore of {size} in (ASTM B280)",
                              relative=True))  # fmt: skip
    litres = 0.8 + 1.2 * ledger["rated_power_w"] / 1e3
    ledger.settle("shell_m3", "volume",
                  Default(litres * _LITRE, 0.4, PRACTICE + ": 0.8 L and 1.2 L for each kW of input",
                          relative=True))  # fmt: skip


def _pipe_sizes(ledger: Ledger, medium: Fluid) -> tuple[str, str]:
    """Return (liquid, suction) tube sizes that carry the rated flow at usual speeds."""
    walk_in = ledger.card.text("kind") == "walk_in"
    suction_pa = medium.dew_pa(ledger["rated_evap_k"])
    liquid_pa = medium.dew_pa(ledger["rated_cond_k"])
    h, _, v, _ = medium.vapour(ledger["rated_return_k"], suction_pa)
    flow = ledger["rated_capacity_w"] / (h - medium.h_bubble(liquid_pa))
    return (
        size_for(flow / medium.rho_bubble(liquid_pa), _LIQUID_M_S, "3/8" if walk_in else "1/4"),
        size_for(flow * v, _SUCTION_M_S, "3/8"),
    )


def _air_flow(ledger: Ledger, path: str, air_k: float) -> float | None:
    """Return a given air volume flow as mass flow [kg/s], with the density at the card's altitude."""
    flow = ledger.card.number(path)
    return None if flow is None else flow * ledger.card.ambient_pa / (_AIR_GAS * air_k)
