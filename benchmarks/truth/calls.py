"""One service call as the generator makes it.

The card, what instruments show, what is seen, and the truth.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np
from benchmarks.truth import mix
from benchmarks.truth.circuit import NoPointError
from benchmarks.truth.context import context
from benchmarks.truth.faults import LISTED, NOT_RUNNING, UNLISTED, fits, severity
from benchmarks.truth.meters import bag, read, true_readings
from benchmarks.truth.scene import Scene, scene
from benchmarks.truth.senses import CONSTANT, sightings
from benchmarks.truth.units import Unit, draw

STRATA = ("single", "pair", "unlisted", "healthy", "pull_down")
_TRIES = 7
_WARM = 0.8


@dataclass
class Call:
    """One call.

    seed: (study seed, number). stratum. card: TOML. ambient_k, box_k: as measured. state, minutes, complaint,
    trend. readings: place -> (value SI, class, name). seen: sighting -> answer. faults: listed causes with
    the generator's severity. strange: what no catalogue row describes, or "". lying: names of instruments
    that lie. about: facts of the unit and the point, for breakdowns. after: for a pair, the call once one
    cause was mended, by that cause.
    """

    seed: tuple[int, int]
    stratum: str
    card: str
    ambient_k: float
    box_k: float
    state: str
    minutes: float
    complaint: str
    trend: str
    readings: dict[str, tuple[float, str, str]]
    seen: dict[str, str]
    faults: dict[str, float]
    strange: str
    lying: list[str]
    about: dict[str, Any]
    after: dict[str, Call] = field(default_factory=dict)

    def to_json(self) -> str:
        """Return the call as one line of JSON."""
        return json.dumps(asdict(self), separators=(",", ":"))


def from_json(line: str) -> Call:
    """Return the call that a line of JSON holds."""
    return _from_dict(json.loads(line))


def _from_dict(data: dict[str, Any]) -> Call:
    data["seed"] = tuple(data["seed"])
    data["readings"] = {place: tuple(row) for place, row in data["readings"].items()}
    data["after"] = {name: _from_dict(one) for name, one in data["after"].items()}
    return Call(**data)


def make(seed: int, number: int, stratum: str, values: dict[str, tuple[str, ...]], fault: str = "") -> Call:
    """Return call ``number`` of a study.

    values: allowed answers by sighting id. fault: a cause to take instead of one drawn by share. The same
    arguments always give the same call. Units on which the cause does not show are drawn again with the same
    cause.
    """
    rng = np.random.default_rng([seed, number])
    for _ in range(200):
        unit = _unit_for(rng, fault)
        names = _causes(unit, rng, stratum, fault)
        if stratum in ("single", "unlisted"):
            fault = names[0]
        found = _found(unit, names, rng, stratum)
        if found is not None:
            return _record(found, rng, (seed, number), stratum, values, names)
    raise NoPointError(f"call {number} of {seed}: no scene for {fault or stratum}")


def _unit_for(rng: np.random.Generator, fault: str) -> Unit:
    while True:
        unit = draw(rng)
        if not fault or fits(fault, unit):
            return unit


def _causes(unit: Unit, rng: np.random.Generator, stratum: str, fault: str) -> tuple[str, ...]:
    if stratum in ("healthy", "pull_down"):
        return ()
    if stratum == "pair":
        return mix.two_faults(unit, rng)
    if fault:
        return (fault,)
    return (mix.one_fault(unit, rng) if stratum == "single" else mix.unlisted(unit, rng),)


def _found(unit: Unit, names: tuple[str, ...], rng: np.random.Generator, stratum: str) -> Scene | None:
    """Return the scene people would have called about, worse from try to try; None when there is none."""
    warm = rng.random() < _WARM
    best: Scene | None = None
    for attempt in range(_TRIES):
        faults = {
            name: severity(name, unit, rng, 1.0 + 0.6 * attempt + 0.5 * (len(names) == 2)) for name in names
        }
        try:
            one = scene(
                unit,
                faults,
                rng,
                warm=warm and stratum not in ("healthy", "pull_down"),
                slow=stratum == "pull_down",
            )
        except NoPointError:
            continue
        if one is None or (len(names) == 2 and not _both_show(unit, faults, rng)):
            continue
        best = one
        if not warm or not names or one.where.box_k > unit.set_k + 2.0 or one.point is None or one.point.trip:
            return one
    return best


def _both_show(unit: Unit, faults: dict[str, float], rng: np.random.Generator) -> bool:
    """Return whether each cause of a pair would show alone under the same weather."""
    for name, how_bad in faults.items():
        try:
            if (
                scene(unit, {name: how_bad}, np.random.default_rng(int(rng.integers(1 << 30))), warm=False)
                is None
            ):
                return False
        except NoPointError:
            return False
    return True


def _record(
    one: Scene, rng: np.random.Generator, seed: tuple[int, int], stratum: str, values: dict[str, tuple[str,
    ...]],
    names: tuple[str, ...],
) -> Call:  # fmt: skip
    unit, c = one.unit, context(one)
    meters = bag(rng)
    shown = read(true_readings(c, unit, bool(rng.random() < 0.3), rng), meters, rng)
    seen = {**sightings(c, values, rng), **CONSTANT}
    lying = [meter.name for meter in meters.values() if abs(meter.lie) > 2.0 * meter.kind.bias_floor]
    if any(
        meters[use].lie and abs(meters[use].lie) > 2.0 * meters[use].kind.bias_floor
        for use in ("low", "high")
    ):
        seen["gauge_zero"] = "off"
    if any(meters[use].lie and abs(meters[use].lie) > 1.5 for use in ("pipe", "air")):
        seen["own_probe_bath"] = "off"
    after = {}
    if stratum == "pair":
        after = {name: _mended(one, name, rng, seed, values, meters) for name in names}
    return Call(
        seed=seed, stratum=stratum, card=unit.card,
        ambient_k=round(shown["condenser_air_in_k"][0], 2), box_k=round(shown["box_k"][0], 2),
        state=one.state, minutes=round(one.minutes, 1), complaint=one.complaint, trend=one.trend,
        readings={place: (float(f"{value:.6g}"), kind, name) for place, (value, kind, name) in shown.items()},
        seen=seen, faults={name: round(s, 4) for name, s in one.faults.items() if name in LISTED},
        strange=next((name for name in one.faults if name in UNLISTED), ""), lying=lying,
        about=_about(one), after={name: call for name, call in after.items() if call is not None},
    )  # fmt: skip


def _mended(
    one: Scene, fault: str, rng: np.random.Generator, seed: tuple[int, int], values: dict[str, tuple[str,
    ...]],
    meters: dict[str, Any],
) -> Call | None:  # fmt: skip
    """Return the call as it stands once ``fault`` is mended and the other cause is left, same instruments."""
    left = {name: s for name, s in one.faults.items() if name != fault}
    for warm in (True, False, False):
        try:
            found = scene(one.unit, left, rng, warm=warm)
        except NoPointError:
            continue
        if found is None:
            return None
        c = context(found)
        shown = read(true_readings(c, one.unit, False, rng), meters, rng)
        seen = {**sightings(c, values, rng), **CONSTANT}
        return Call(
            seed=seed, stratum="rest", card=one.unit.card, ambient_k=round(shown["condenser_air_in_k"][0], 2),
            box_k=round(shown["box_k"][0], 2), state=found.state, minutes=round(found.minutes, 1),
            complaint=found.complaint, trend=found.trend,
            readings={place: (float(f"{value:.6g}"), kind, name) for place, (value, kind,
            name) in shown.items()},
            seen=seen, faults={name: round(s, 4) for name, s in left.items()}, strange="", lying=[],
            about=_about(found),
        )  # fmt: skip
    return None


def _about(one: Scene) -> dict[str, Any]:
    unit = one.unit
    facts: dict[str, Any] = {
        "kind": unit.kind, "application": unit.application, "gas": unit.machine.refrigerant,
        "device": unit.device,
        "trip": one.point.trip if one.point else "", "warm_k": round(one.where.box_k - unit.set_k, 2),
        "weather_k": round(one.weather_k, 2),
    }  # fmt: skip
    if one.point is not None:
        f, a, b = one.point.machine.f, one.point.at, one.healthy.at
        g = unit.machine.f
        facts |= {
            "superheat_k": round(f.temperature(a.p_e, a.h_coil_out) - f.sat(a.p_e).t_d, 2),
            "capacity_share": round(a.coil.heat / b.coil.heat, 3),
            "dt_e": round(g.sat(a.p_s).t_d - g.sat(b.p_s).t_d, 2),
            "dt_c": round(g.sat(a.p_c).t_d - g.sat(b.p_c).t_d, 2),
            "glass_x": round(a.glass_x, 4),
            "level": round(float(one.point.level), 3),
        }
    return facts


Maker = Callable[..., Call]
__all__ = ["NOT_RUNNING", "STRATA", "Call", "from_json", "make"]
