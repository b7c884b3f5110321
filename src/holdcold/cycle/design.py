"""What the cycle needs to know of a unit: sizes and ratings, every number filled in, SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holdcold.cycle.compressor import CompressorMap

Expansion = Literal["txv", "eev", "capillary"]
CompressorKind = Literal["hermetic", "semi_hermetic", "scroll"]
HeadControl = Literal["none", "fan_cycling", "fan_speed", "flooding_valve"]


@dataclass(frozen=True, slots=True)
class Design:
    """A unit by its ratings; ``build`` (in ``cycle.build``) turns it into conductances and volumes.

    Every temperature is absolute [K], every difference is named ``*_k`` too and documented as one.
    Saturation temperatures are dew temperatures unless a name says otherwise.

    refrigerant: ASHRAE 34 designation, for example ``"R-448A"``.
    rated_capacity_w: net refrigerating effect at the rating point [W], 200 to 100 000.
    rated_evap_k, rated_cond_k: dew temperatures of the rating point [K].
    rated_return_k: gas temperature at the compressor inlet at the rating point [K].
    rated_box_k, rated_ambient_k: air entering coil and condenser when the unit was matched [K].
    rated_power_w: compressor input at the rating point [W]; None takes the generic efficiency.
    compressor_map: AHRI 540 coefficients when they are known; they then replace the rated point.
    coil_td_k: air entering the coil minus coil dew temperature at rating (difference) [K].
    coil_air_kg_s, condenser_air_kg_s: air moved with every fan running [kg/s].
    sensible_fraction: share of the coil's duty that cools air rather than making water or frost.
    condenser_split_k: condensing dew temperature minus entering air at rating (difference) [K].
    condenser_seal: share of the condenser face that holds liquid while the receiver has a level.
    superheat_k: coil superheat the valve was set for at rating (difference) [K].
    valve_reserve: largest valve flow over the flow at rating; 1.1 to 2.
    capillary_subcooling_k: subcooling a capillary unit was charged for (difference) [K].
    suction_drop_k, liquid_drop_k: friction at rating as saturation temperature drop [K].
    liquid_lift_m: valve above receiver [m]; negative when below.
    receiver_m3, coil_m3, condenser_m3, liquid_line_m3, suction_line_m3, shell_m3: volumes [m3].
    charge_kg: refrigerant in the unit [kg]; None means the charge ``build`` finds right.
    receiver_fill: liquid share of the receiver at rating that ``build`` charges to (0 to 1).
    fan_off_pa, fan_on_pa: head pressures at which the cycled fans stop and start [Pa absolute].
    fans_cycled: how many of the condenser fans the head control may stop.
    high_cut_pa, low_cut_pa: pressures at which the safety and the low-pressure control open [Pa].
    supply_v, phases, rated_amps: nominal supply and compressor current at rating.
    coil_fan_w, condenser_fan_w: electrical input of all fans together [W].
    load_w: box load the unit was chosen for, at rated ambient and set point [W].
    head_set_pa: head a flooding valve or a fan speed control holds [Pa]; floating head is a low one.
    coil_hold_pa: coil pressure an evaporator-pressure regulator holds [Pa]; 0 without one.
    crankcase_hold_pa: suction a crankcase-pressure regulator does not exceed [Pa]; 0 without one.
    injection_k: discharge temperature that liquid injection holds [K]; 0 without one.
    accumulator_m3: suction accumulator [m3]. exchanger: effectiveness of a liquid-suction heat
    exchanger, 0 to 0.6.
    other_capacity_w, other_td_k, other_box_k, other_superheat_k: a second coil on the same condensing
    unit: duty [W] at its TD (difference) [K], its box [K], superheat its valve keeps [K]; 0 without one.
    low_in_pa, high_in_pa: pressures at which the low- and high-pressure controls close again [Pa];
    0 takes a usual differential.
    """

    refrigerant: str
    expansion: Expansion
    compressor_kind: CompressorKind
    set_point_k: float
    rated_capacity_w: float
    rated_evap_k: float
    rated_cond_k: float
    rated_return_k: float
    rated_box_k: float
    rated_ambient_k: float
    rated_power_w: float | None
    compressor_map: CompressorMap | None
    coil_td_k: float
    coil_air_kg_s: float
    coil_fans: int
    sensible_fraction: float
    condenser_split_k: float
    condenser_air_kg_s: float
    condenser_fans: int
    condenser_seal: float
    superheat_k: float
    valve_reserve: float
    capillary_subcooling_k: float
    suction_drop_k: float
    liquid_drop_k: float
    liquid_lift_m: float
    receiver_m3: float
    coil_m3: float
    condenser_m3: float
    liquid_line_m3: float
    suction_line_m3: float
    shell_m3: float
    charge_kg: float | None
    receiver_fill: float
    head_control: HeadControl
    fan_off_pa: float
    fan_on_pa: float
    fans_cycled: int
    high_cut_pa: float
    low_cut_pa: float
    supply_v: float
    phases: int
    rated_amps: float
    coil_fan_w: float
    condenser_fan_w: float
    load_w: float
    head_set_pa: float = 0.0
    coil_hold_pa: float = 0.0
    crankcase_hold_pa: float = 0.0
    injection_k: float = 0.0
    accumulator_m3: float = 0.0
    exchanger: float = 0.0
    other_capacity_w: float = 0.0
    other_td_k: float = 6.0
    other_box_k: float = 0.0
    other_superheat_k: float = 4.5
    low_in_pa: float = 0.0
    high_in_pa: float = 0.0
