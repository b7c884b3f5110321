"""The fixed checklist: every check the unit has, cheapest first, each read by the plain rules of the trade.

The order is by cost with reaching its place; the rules are field notes 6: a stopped fan is mended, a drop
across the drier means the drier, bubbles without such a drop mean charge, and so on. Common practice, no
source.
"""

from __future__ import annotations

from benchmarks.truth.calls import Call
from benchmarks.truth.costs import Ledger, Way

from holdcold.diagnosis.catalogue import Catalogue

RULES: dict[str, dict[str, tuple[str, ...]]] = {
    "evaporator_fans": {"some_stopped": ("evaporator_fan_stopped",),
    "none_turning": ("evaporator_fan_stopped",),
                        "slow": ("evaporator_fans_slow",)},
    "coil_face": {"matted": ("coil_dirty",)},
    "box_stock": {"blocking_air": ("air_blocked",), "hot_delivery": ("excess_load",),
    "overfull": ("excess_load",)},
    "door": {"left_open": ("door_leak",), "gasket_bad": ("door_leak",), "edge_frosted": ("door_leak",)},
    "door_light": {"light": ("door_leak",)},
    "drain_pan": {"ice": ("drain_ice",), "water_standing": ("drain_ice",)},
    "drain_pour": {"comes_back": ("drain_ice",)},
    "set_point": {"changed": ("set_point_changed",)},
    "sensor_agrees": {"box_warmer": ("box_sensor_wrong",), "box_colder": ("box_sensor_wrong",)},
    "box_sensor_bath": {"off": ("box_sensor_wrong",)},
    "condenser_face": {"blocked": ("condenser_dirty",)},
    "condenser_light": {"does_not": ("condenser_dirty",)},
    "condenser_fans": {"some_stopped": ("condenser_fan_stopped",), "none_turning": ("condenser_fan_stopped",),
                       "wrong_way": ("condenser_fan_stopped",)},
    "condenser_place": {"boxed_in": ("hot_location",), "hot_air_in": ("hot_location",)},
    "bulb": {"loose_or_bare": ("bulb_loose",)},
    "bulb_warm_test": {"no_change": ("txv_starving",), "floods_always": ("txv_flooding",)},
    "solenoid": {"no_pull": ("liquid_solenoid",), "pulls_no_flow": ("liquid_solenoid",)},
    "breaker": {"tripped": ("no_power",), "off_by_hand": ("no_power",)},
    "line_volts": {"none": ("no_power",), "one_leg_gone": ("no_power",), "low": ("low_voltage",)},
    "contact_drop": {"large": ("contactor",)},
    "contactor_face": {"pitted_or_burnt": ("contactor",)},
    "control_chain": {"no_control_power": ("no_power",), "stops_at_thermostat": ("thermostat_controller",),
                      "stops_at_low_pressure": ("low_pressure_control", "liquid_solenoid"),
                      "stops_at_clock": ("defrost_control",)},
    "start_gear_test": {"capacitor_weak": ("start_gear",), "relay_open": ("start_gear",)},
    "windings_cool": {"still_open": ("compressor_motor",), "grounded": ("compressor_motor",)},
    "insulation": {"low": ("compressor_motor",)},
    "rotation": {"cured": ("reverse_rotation",)},
    "defrost_clock": {"stopped": ("defrost_control",), "wrong_time": ("defrost_control",),
                      "settings_off": ("defrost_control", "coil_iced")},
    "heater_amps": {"short_of_plate": ("defrost_heater",), "none": ("defrost_heater",),
                    "on_outside_defrost": ("defrost_termination",)},
    "heater_ohms": {"open": ("defrost_heater",), "grounded": ("defrost_heater",)},
    "defrost_end": {"on_fail_safe": ("defrost_termination",), "too_early": ("defrost_termination",),
                    "fans_stay_off": ("defrost_termination",)},
    "drier_touch": {"cooler_after": ("drier_restricted",), "frost_after": ("drier_restricted",)},
    "glass_head_raised": {"still_bubbles": ("low_charge",)},
    "leak_sweep": {"leak_found": ("low_charge",)},
    "nitrogen_bubbles": {"leak_found": ("low_charge",)},
    "weighed_charge": {"short": ("low_charge", "capillary_restricted"), "over": ("overcharge",),
                       "right": ("capillary_restricted",)},
    "pump_down": {"slow": ("compressor_weak",), "will_not": ("compressor_weak",),
    "rises_again": ("compressor_weak",)},
    "standing_pressure": {"above": ("non_condensables",)},
    "low_control_trip": {"off_dial": ("low_pressure_control",)},
    "after_melt": {"works_well": ("coil_iced",), "ices_again": ("coil_iced",)},
}  # fmt: skip
"""Sighting -> answer -> what is mended next, in order."""

_DRIER_K = 1.6


def order(book: Catalogue, facts: dict[str, str]) -> list[str]:
    """Return the checks of a unit, cheapest first, reaching the places included; second visits come last."""

    def cost(name: str) -> tuple[bool, float, str]:
        check = book.checks[name]
        reach = sum(
            book.costs.access[place].open_minutes + book.costs.access[place].travel_minutes
            for place in check.places
        )
        return check.second_visit, book.check_cost(name) + reach, name

    return sorted((check.id for check in book.checks_for(facts)), key=cost)


def by_rules(call: Call, steps: list[str]) -> Ledger:
    """Return the cost of the checklist read by rule: the first sign a rule names is mended at once."""
    way = Way(call)
    tried: set[str] = set()
    for check in steps:
        if not way.makes_sense(check):
            continue
        way.do(check)
        for fault in _named(way, check):
            if fault in tried or fault not in way.book.faults:
                continue
            tried.add(fault)
            if way.mend(fault):
                return way.ledger
    way.ledger.lost()
    return way.ledger


def _named(way: Way, check: str) -> list[str]:
    """Return the causes that what this check showed names."""
    found: list[str] = []
    row = way.book.checks[check]
    for name in row.sightings:
        found += RULES.get(name, {}).get(way.call.seen.get(name, ""), ())
    if "drier_drop_k" in row.readings and way.call.readings.get("drier_drop_k", (0.0,))[0] > _DRIER_K:
        found.append("drier_restricted")
    return found
