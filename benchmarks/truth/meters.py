"""What instruments show of a machine as found.

True value, bias of the day, noise, now and then a plain lie.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from benchmarks.truth.context import Context
from benchmarks.truth.units import Unit

from holdcold.quantities.instruments import Instrument, instrument

_PIPE_TO_AIR = 0.03
"""Share of the way from pipe to surrounding air that an insulated clamp reads; common practice, no source."""


@dataclass(frozen=True)
class Meter:
    """One instrument of the technician on the day.

    Class, name, its bias in sigmas, and its lie [SI], 0 if true.
    """

    kind: Instrument
    name: str
    bias: float
    lie: float

    def show(self, true: float, rng: np.random.Generator) -> float:
        """Return what it shows."""
        return (
            true
            + self.bias * self.kind.bias_sigma(true)
            + self.lie
            + self.kind.sigma(true) * float(rng.normal())
        )


def bag(rng: np.random.Generator) -> dict[str, Meter]:
    """Return the technician's instruments of one call, by what they are used for."""
    gauge = "gauge_digital" if rng.random() < 0.75 else "gauge_analogue"
    air = "air_thermistor" if rng.random() < 0.75 else "pocket_thermometer"
    kinds = {
        "low": gauge, "high": gauge, "pipe": "clamp_thermocouple", "air": air, "amps": "clamp_ammeter",
        "volts": "voltmeter", "watts": "wattmeter", "two": "two_thermometers",
    }  # fmt: skip
    made = {}
    for use, kind_id in kinds.items():
        kind = instrument(kind_id)
        lies = rng.random() < kind.lie_chance
        lie = float(rng.normal()) * kind.lie_sigma if lies else 0.0
        name = f"{kind_id} {use}" if use in ("low", "high") else kind_id
        made[use] = Meter(kind, name, float(rng.normal()), lie)
    return made


def true_readings(
    c: Context, unit: Unit, tap: bool, rng: np.random.Generator
) -> dict[str, tuple[str, float]]:
    """Return (instrument use, true value SI) for every place this unit has, as its sensors would feel it."""
    where, found = c.scene.where, c.scene.point
    air = {
        "condenser_air_in_k": ("air", where.ambient_k),
        "box_k": ("air", where.box_k),
        "coil_air_in_k": ("air", where.box_k + float(rng.normal(0.0, 0.25))),
        "supply_v": ("volts", 0.0 if "no_power" in c.scene.faults else where.volts),
    }
    if found is None or not c.running:
        air["coil_air_out_k"] = ("air", where.box_k + float(rng.normal(0.0, 0.2)))
        air["condenser_air_out_k"] = ("air", where.ambient_k + float(rng.normal(0.3, 0.4)))
        air["compressor_a"] = ("amps", 0.0)
        return air
    f, at = found.machine.f, found.at
    box, room, hot = where.box_k, where.room_k, where.ambient_k + 5.0

    def pipe(true: float, around: float, share: float = _PIPE_TO_AIR) -> tuple[str, float]:
        return "pipe", true + share * (around - true)

    coil_out = f.temperature(at.p_e, at.h_coil_out)
    shown = {
        **air,
        "condenser_air_out_k": ("air", at.condenser.air_k + float(rng.normal(0.0, 0.4))),
        "coil_air_out_k": (
            "air",
            at.coil.air_k + found.machine.dead * (box - at.coil.air_k) + float(rng.normal(0.0, 0.3)),
        ),
        "suction_k_coil_outlet": pipe(coil_out, box),
        "suction_k_compressor_inlet": pipe(c.suction_k, room),
        "discharge_line_k": pipe(c.discharge_k, hot, 0.05 + 0.09 * float(rng.random())),
        "liquid_k_condenser_outlet": pipe(f.temperature(at.p_liquid, at.h_liquid), hot),
        "liquid_k_valve_inlet": _at_the_valve(c, unit, pipe),
        "drier_drop_k": ("two", c.drier_k),
        "compressor_a": ("amps", at.pumped.amps),
        "compressor_w": ("watts", at.pumped.watts),
    }
    if unit.device == "txv":
        shown["liquid_k_receiver_outlet"] = pipe(f.temperature(at.p_king, at.h_liquid), room)
    if unit.ports:
        shown["suction_pa_service_valve"] = ("low", at.p_s)
        shown["discharge_pa"] = ("high", at.p_c)
        if tap:
            shown["suction_pa_coil"] = ("low", at.p_e)
    return shown


def _at_the_valve(
    c: Context, unit: Unit, pipe: Callable[[float, float], tuple[str, float]]
) -> tuple[str, float]:
    """Return liquid before the valve; a capillary's exchange with the suction line lies behind that clamp."""
    found = c.scene.point
    if found is None:
        return pipe(c.room_k, c.room_k)
    f, at = found.machine.f, found.at
    if unit.device == "txv":
        return pipe(f.temperature(at.p_valve, at.h_valve), c.scene.where.box_k)
    return pipe(f.temperature(at.p_after_drier, at.h_liquid), c.room_k)


def read(
    true: dict[str, tuple[str, float]], meters: dict[str, Meter], rng: np.random.Generator
) -> dict[str, tuple[float, str, str]]:
    """Return (value shown [SI], class of instrument, its name) by place."""
    shown = {}
    for place, (use, value) in true.items():
        meter = meters[use]
        lowest = 0.0 if use in ("amps", "volts", "watts") else -1e9
        shown[place] = (max(meter.show(value, rng), lowest), meter.kind.id, meter.name)
    return shown
