"""What is physically so at one machine as found, in the terms a person's senses work with."""

from __future__ import annotations

from dataclasses import dataclass

from benchmarks.truth.faults import ICE, NOT_RUNNING
from benchmarks.truth.scene import Scene


@dataclass(frozen=True)
class Context:
    """Facts behind the sightings.

    running: compressor runs (between trips at least). ice: share of the coil's face under ice. air_e: share
    of rated box air. coil_superheat, total_superheat [K]. suction_k, discharge_k: gas at the compressor.
    glass_x: vapour share at the glass. level: liquid coordinate. drier_k: temperature drop across the drier.
    warm_k: box above set point. head_k: head (dew) above air entering. trip: control that stopped it.
    """

    scene: Scene
    running: bool
    ice: float
    air_e: float
    coil_superheat: float
    total_superheat: float
    suction_k: float
    discharge_k: float
    glass_x: float
    level: float
    drier_k: float
    warm_k: float
    head_k: float
    trip: str
    room_k: float
    fans_cycling: bool

    def has(self, *names: str) -> bool:
        """Return whether any of these faults is there."""
        return any(name in self.scene.faults for name in names)

    def bad(self, name: str) -> float:
        """Return how bad a fault is, 0 where it is not."""
        return self.scene.faults.get(name, 0.0)


def context(scene: Scene) -> Context:
    """Return the facts behind the sightings of a scene."""
    unit, faults, where = scene.unit, scene.faults, scene.where
    ice = max([faults.get(name, 0.0) for name in ICE], default=0.0)
    found = scene.point
    stands = any(name in NOT_RUNNING for name in faults)
    warm = where.box_k - unit.set_k
    if found is None:
        return Context(
            scene,
            False,
            ice,
            1.0,
            0.0,
            0.0,
            where.room_k,
            where.room_k,
            0.0,
            0.5,
            0.0,
            warm,
            0.0,
            "",
            where.room_k,
            False,
        )
    f, at = found.machine.f, found.at
    before = f.temperature(at.p_king, at.h_liquid)
    after = f.temperature(at.p_after_drier, at.h_liquid)
    return Context(
        scene=scene,
        running=not stands,
        ice=ice,
        air_e=found.machine.air_e,
        coil_superheat=f.temperature(at.p_e, at.h_coil_out) - f.sat(at.p_e).t_d,
        total_superheat=f.temperature(at.p_s, at.h_suction) - f.sat(at.p_s).t_d,
        suction_k=f.temperature(at.p_s, at.h_suction),
        discharge_k=f.temperature(at.p_c, at.pumped.h_out),
        glass_x=at.glass_x,
        level=found.level,
        drier_k=before - after,
        warm_k=warm,
        head_k=f.sat(at.p_c).t_d - where.ambient_k,
        trip=found.trip,
        room_k=where.room_k,
        fans_cycling=found.fans_cycling,
    )
