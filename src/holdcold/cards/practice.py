"""What a unit is when nobody says otherwise: rating points and habits of the trade, with sources.

Numbers marked *common practice, no source* are practice estimates; *from memory* names a document
whose text was not at hand. The spread is one standard deviation.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from holdcold.cards.facts import Default
from holdcold.quantities.constants import FAHRENHEIT_ZERO_K, FOOT_M, RANKINE_K

Kind = Literal["walk_in", "reach_in"]
Application = Literal["cooler", "freezer"]

PRACTICE: Final = "common practice, no source"
AHRI_1250: Final = "AHRI 1250 rating points, from memory"


def fahrenheit(reading: float) -> float:
    """Return a Fahrenheit temperature in K."""
    return FAHRENHEIT_ZERO_K + reading * RANKINE_K


def degrees(difference: float) -> float:
    """Return a difference in Fahrenheit degrees in K."""
    return difference * RANKINE_K


def _difference(value_f: float, spread_f: float, source: str, least_f: float, most_f: float) -> Default:
    return Default(degrees(value_f), degrees(spread_f), source, least=degrees(least_f), most=degrees(most_f))


@dataclass(frozen=True, slots=True)
class Habits:
    """Defaults of one kind of unit.

    set_point: box temperature [K]. coil_td, split, superheat, suction_drop, total_superheat:
    differences [K]. sensible: share of the coil's duty that cools air. run_share: share of a design
    day that the machine runs. r_value: of the walls [h ft2 F/Btu]. length: of the pipes [m].
    fan_duty_w: coil duty for each coil fan [W].
    """

    set_point: Default
    coil_td: Default
    split: Default
    superheat: Default
    suction_drop: Default
    total_superheat: Default
    sensible: Default
    run_share: Default
    r_value: Default
    length: Default
    fan_duty_w: float


_REACH_IN_TD: Final = _difference(
    18.0, 4.0, PRACTICE + ": cabinets carry small coils at a wide TD", 5.0, 40.0
)
_REACH_IN_LINES: Final = Default(6.0 * FOOT_M, 0.3, PRACTICE, relative=True, least=0.3)
_WALK_IN_LINES: Final = Default(30.0 * FOOT_M, 0.5, PRACTICE, relative=True, least=0.3)
_REACH_IN_WALL: Final = Default(13.0, 0.2, PRACTICE + ": 2 in of foam", relative=True, least=2.0)


def _walls(r_value: float) -> Default:
    return Default(r_value, 0.15, "10 CFR 431.306(a) minimum for walls and ceiling", relative=True, least=2.0)


HABITS: Final = MappingProxyType(
    {
        ("walk_in", "cooler"): Habits(
            set_point=Default(fahrenheit(35.0), 1.5, AHRI_1250),
            coil_td=_difference(10.0, 2.0, AHRI_1250 + ": 35 F air, 25 F suction dew", 4.0, 30.0),
            split=_difference(
                23.0, 6.0, PRACTICE + ": 20 to 25 F for coolers, up to 30 F of packaged machines", 6.0, 50.0
            ),
            superheat=_difference(8.0, 1.5, PRACTICE + ": 8 to 10 F for coolers", 3.0, 25.0),
            suction_drop=_difference(
                2.0, 0.7, "ASHRAE Refrigeration ch. 1 usual allowance 2 F, from memory", 0.2, 8.0
            ),
            total_superheat=_difference(
                18.0, 5.0, AHRI_1250 + ": 41 F return gas at 23 F suction dew", 4.0, 70.0
            ),
            sensible=Default(0.86, 0.05, PRACTICE, least=0.5, most=1.0),
            run_share=Default(16.0 / 24.0, 0.06, PRACTICE + ": 16 h a day, off-cycle defrost", most=1.0),
            r_value=_walls(25.0),
            length=_WALK_IN_LINES,
            fan_duty_w=1100.0,
        ),
        ("walk_in", "freezer"): Habits(
            set_point=Default(fahrenheit(-10.0), 3.0, AHRI_1250),
            coil_td=_difference(10.0, 2.0, AHRI_1250 + ": -10 F air, -20 F suction dew", 4.0, 30.0),
            split=_difference(
                18.0, 6.0, PRACTICE + ": about 15 F, 20 F and more of packaged machines", 6.0, 50.0
            ),
            superheat=_difference(6.5, 1.5, PRACTICE + ": 6 to 8 F for freezers", 3.0, 25.0),
            suction_drop=_difference(
                2.0, 0.7, "ASHRAE Refrigeration ch. 1 usual allowance 2 F, from memory", 0.2, 8.0
            ),
            total_superheat=_difference(
                27.0, 7.0, AHRI_1250 + ": 5 F return gas at -22 F suction dew", 4.0, 90.0
            ),
            sensible=Default(0.95, 0.03, PRACTICE, least=0.5, most=1.0),
            run_share=Default(18.0 / 24.0, 0.06, PRACTICE + ": 18 h a day, electric defrost", most=1.0),
            r_value=_walls(32.0),
            length=_WALK_IN_LINES,
            fan_duty_w=1100.0,
        ),
        ("reach_in", "cooler"): Habits(
            set_point=Default(fahrenheit(37.0), 1.0, PRACTICE + ": below the 41 F of FDA Food Code 3-501.16"),
            coil_td=_REACH_IN_TD,
            split=_difference(25.0, 5.0, PRACTICE + ": small condensers in cabinets", 6.0, 60.0),
            superheat=_difference(9.0, 4.0, PRACTICE, 3.0, 25.0),
            suction_drop=_difference(1.0, 0.4, PRACTICE + ": short pipe", 0.1, 8.0),
            total_superheat=_difference(
                30.0, 10.0, PRACTICE + ": capillary soldered to the suction line", 4.0, 110.0
            ),
            sensible=Default(0.85, 0.05, PRACTICE, least=0.5, most=1.0),
            run_share=Default(0.5, 0.1, PRACTICE + ": cabinets run about half the time", most=1.0),
            r_value=_REACH_IN_WALL,
            length=_REACH_IN_LINES,
            fan_duty_w=600.0,
        ),
        ("reach_in", "freezer"): Habits(
            set_point=Default(fahrenheit(0.0), 1.5, PRACTICE),
            coil_td=_REACH_IN_TD,
            split=_difference(20.0, 5.0, PRACTICE + ": small condensers in cabinets", 6.0, 60.0),
            superheat=_difference(7.0, 4.0, PRACTICE, 3.0, 25.0),
            suction_drop=_difference(1.0, 0.4, PRACTICE + ": short pipe", 0.1, 8.0),
            total_superheat=_difference(
                45.0, 14.0, PRACTICE + ": capillary soldered to the suction line", 4.0, 110.0
            ),
            sensible=Default(0.93, 0.04, PRACTICE, least=0.5, most=1.0),
            run_share=Default(0.6, 0.1, PRACTICE, most=1.0),
            r_value=_REACH_IN_WALL,
            length=_REACH_IN_LINES,
            fan_duty_w=400.0,
        ),
    }
)
"""Defaults by (kind, application)."""

LIQUID_DROP: Final = _difference(
    1.0, 0.4, "ASHRAE Refrigeration ch. 1 usual allowance 1 to 2 F, from memory", 0.1, 6.0
)
CAPILLARY_SUBCOOLING: Final = _difference(9.0, 3.0, PRACTICE, 0.5, 35.0)
VALVE_RESERVE: Final = Default(
    1.35, 0.15, PRACTICE + ": a valve is picked one size over the duty", least=1.05, most=2.5
)
CONDENSER_SEAL: Final = Default(
    0.07,
    0.02,
    PRACTICE + ": 2 to 6 F subcooling leaving a condenser that drains to a receiver",
    least=0.005,
    most=0.3,
)
RECEIVER_FILL: Final = Default(
    0.35,
    0.12,
    PRACTICE + ": about a third full on a design day, room left for pump-down",
    least=0.03,
    most=0.85,
)
AMBIENT_OUTDOOR_K: Final = fahrenheit(95.0)
AMBIENT_INDOOR_K: Final = fahrenheit(90.0)
SURROUNDINGS: Final = Default(
    fahrenheit(85.0), 4.0, PRACTICE + ": between the 75 F of AHRI 1250 and a hot kitchen"
)
INPUT_PER_HP_W: Final = Default(
    1300.0,
    0.20,
    PRACTICE + ": input near 1.3 kW a horsepower at the rating point; with published efficiencies that is "
    "the trade's 9 kBtu/h a horsepower in coolers and 5 in freezers",
    relative=True,
)
RUNNING_SHARE_OF_RATED: Final = Default(
    0.80,
    0.12,
    PRACTICE + ": rated load amps are not expected amps; about 0.8 of them at rating",
    relative=True,
)
"""Efficiency and share constants each carry their own words above."""
