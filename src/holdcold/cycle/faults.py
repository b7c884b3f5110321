"""Faults as changed parameters: how far each mechanism of the machine is from healthy."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

from holdcold.errors import InputError, UnknownNameError

_ALLOWED: dict[str, tuple[float, float, str]] = {
    "charge_loss": (0.0, 0.98, "fraction of the right charge that is missing"),
    "charge_excess": (0.0, 1.5, "fraction of the right charge that is too much"),
    "noncondensables": (0.0, 1.5e6, "Pa of foreign gas in the condenser"),
    "condenser_air": (0.0, 0.95, "fraction of condenser air and conductance lost"),
    "condenser_fan": (0.0, 1.0, "fraction of condenser fans stopped"),
    "coil_air": (0.0, 1.0, "fraction of coil airflow lost"),
    "coil_ice": (0.0, 0.95, "fraction of the coil face blocked by ice"),
    "liquid_restriction": (0.0, 5.0e6, "Pa of extra drop at rated flow"),
    "valve_starve": (0.0, 0.97, "fraction of valve capacity lost"),
    "valve_flood": (0.0, 1.0, "fraction of the valve stuck open"),
    "bulb_loose": (0.0, 25.0, "K the bulb reads too warm"),
    "leak_back": (0.0, 0.9, "fraction of the pumped flow lost"),
    "capillary_restriction": (0.0, 0.95, "fraction of capillary capacity lost"),
    "low_voltage": (0.0, 0.4, "fraction of supply voltage missing"),
    "suction_restriction": (0.0, 5.0e5, "Pa of extra drop before the compressor at rated flow"),
    "coil_circuits": (0.0, 0.9, "fraction of the coil's circuits that get no refrigerant"),
    "coil_oil": (0.0, 0.8, "fraction of coil conductance lost to oil"),
    "head_bypass": (0.0, 0.5, "fraction of discharge gas that bypasses the condenser"),
    "head_lost": (0.0, 1.0, "fraction by which head control has stopped holding"),
    "liquid_heat": (0.0, 30.0, "K the liquid line is heated on its way"),
    "injection_lost": (0.0, 1.0, "fraction of the liquid injection lost"),
    "crankcase_drift": (0.0, 0.8, "fraction by which the crankcase regulator is set too low"),
    "coil_drift": (0.0, 2.0, "fraction by which the evaporator regulator is set too high"),
}


@dataclass(frozen=True, slots=True)
class Faults:
    """Severity on each mechanism axis, zero when healthy; units and ranges in ``axes()``.

    charge_loss, charge_excess: fraction of the right charge missing or too much.
    noncondensables: partial pressure of foreign gas at the condenser [Pa].
    condenser_air: fraction of condenser air and conductance lost (a dirty face loses both).
    condenser_fan: fraction of the condenser fans stopped.
    coil_air, coil_ice: fraction of coil airflow lost; fraction of the coil face under ice.
    liquid_restriction: extra pressure drop before the valve at rated liquid flow [Pa].
    valve_starve, valve_flood: fraction of valve capacity lost; fraction stuck open.
    bulb_loose: how much too warm the valve's bulb reads (difference) [K].
    leak_back: fraction of the pumped flow that leaks back through the compressor.
    capillary_restriction: fraction of the capillary's capacity lost.
    low_voltage: fraction of the supply voltage missing at the compressor.
    suction_restriction: extra pressure drop before the compressor at rated flow [Pa].
    coil_circuits, coil_oil: fraction of coil circuits without refrigerant; of conductance lost to oil.
    head_bypass: fraction of discharge gas that goes straight to the receiver.
    head_lost: fraction by which head-pressure control has stopped holding (1: not at all).
    liquid_heat: how much the liquid line is heated on its way (difference) [K].
    injection_lost: fraction of the liquid injection lost.
    crankcase_drift, coil_drift: fraction by which a regulator is set too low, or too high.
    """

    charge_loss: float = 0.0
    charge_excess: float = 0.0
    noncondensables: float = 0.0
    condenser_air: float = 0.0
    condenser_fan: float = 0.0
    coil_air: float = 0.0
    coil_ice: float = 0.0
    liquid_restriction: float = 0.0
    valve_starve: float = 0.0
    valve_flood: float = 0.0
    bulb_loose: float = 0.0
    leak_back: float = 0.0
    capillary_restriction: float = 0.0
    low_voltage: float = 0.0
    suction_restriction: float = 0.0
    coil_circuits: float = 0.0
    coil_oil: float = 0.0
    head_bypass: float = 0.0
    head_lost: float = 0.0
    liquid_heat: float = 0.0
    injection_lost: float = 0.0
    crankcase_drift: float = 0.0
    coil_drift: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a severity outside its axis."""
        for axis, (low, high, meaning) in _ALLOWED.items():
            value = getattr(self, axis)
            if not low <= value <= high:
                raise InputError(
                    axis, value, f"{low} to {high} ({meaning})", "Give a severity inside the range."
                )

    def worsened(self, axis: str, severity: float) -> Faults:
        """Return these faults with ``axis`` set to ``severity``; UnknownNameError for no such axis."""
        if axis not in _ALLOWED:
            raise UnknownNameError("axis", axis, _ALLOWED)
        return replace(self, **{axis: severity})

    def scaled(self, factor: float) -> Faults:
        """Return every severity multiplied by ``factor`` (0 to 1), the path a continuation follows."""
        return Faults(**{field.name: getattr(self, field.name) * factor for field in fields(self)})


HEALTHY = Faults()


def axes() -> dict[str, tuple[float, float, str]]:
    """Return each mechanism axis with its lowest and highest severity and what the number means."""
    return dict(_ALLOWED)
