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
