"""Tables of directions: which way each reading moves with a fault, and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holdcold.diagnosis.catalogue import Fault
from holdcold.quantities import SI, US, format_quantity

from .machines import Scene, healthy, scenes_for, severity_shown, shifts, shown, usual_severity

UP, DOWN, SAME, NONE = "▲", "▼", "=", "–"


@dataclass(frozen=True)
class Row:
    """One reading of a table. least: smallest change that counts as one [SI]. share: shown in percent."""

    place: str
    title: str
    dimension: str
    least: float
    share: bool = False


ROWS = (
    Row("suction_pa_service_valve", "suction pressure", "pressure", 7e3),
    Row("suction_pa_coil", "pressure at the coil outlet", "pressure", 7e3),
    Row("discharge_pa", "head pressure", "pressure", 2.5e4),
    Row("coil_superheat_k", "coil superheat", "temperature", 1.0),
    Row("total_superheat_k", "total superheat", "temperature", 1.5),
    Row("subcooling_k_condenser_outlet", "subcooling at the condenser", "temperature", 1.0),
    Row("discharge_line_k", "discharge line", "temperature", 3.0),
    Row("condenser_split_k", "condenser split", "temperature", 1.0),
    Row("condenser_air_rise_k", "air rise over the condenser", "temperature", 0.6),
    Row("coil_air_drop_k", "air drop over the coil", "temperature", 0.4),
    Row("coil_td_k", "coil TD", "temperature", 0.7),
    Row("drier_drop_k", "drop across the drier", "temperature", 1.0),
    Row("liquid_k_receiver_outlet", "liquid at the receiver outlet", "temperature", 1.5),
    Row("liquid_k_valve_inlet", "liquid at the valve", "temperature", 1.5),
    Row("receiver_level_fraction", "receiver level", "fraction", 0.05),
    Row("sight_glass_quality", "gas in the sight glass", "fraction", 0.004),
    Row("compressor_a", "compressor amps", "current", 0.03, share=True),
    Row("capacity_w", "cooling", "power", 0.03, share=True),
)


def table(fault: Fault) -> str:
    """Return the table of a fault in Markdown, or words where there is nothing to tabulate."""
    scenes = scenes_for(fault)
    head = f"| reading | {' | '.join(_title(scene, fault) for scene in scenes)} |"
    lines = [head, "|---" * (len(scenes) + 1) + "|"]
    lines += [f"| {row.title} | {' | '.join(_cell(row, scene, fault) for scene in scenes)} |" for row in ROWS]
    moving = [line for line in lines[2:] if any(mark in line for mark in (UP, DOWN))]
    state = f"| the machine | {' | '.join(_state(scene, fault) for scene in scenes)} |"
    return "\n".join([*lines[:2], *moving, state])


def _title(scene: Scene, fault: Fault) -> str:
    """Return the head of a column, with its severity where that is not the usual one."""
    severity = severity_shown(scene, fault)
    return scene.title if severity == usual_severity(fault) else f"{scene.title}, worst"


def severity_words(fault: Fault) -> str:
    """Return the severities of the table in words."""
    usual = usual_severity(fault)
    words = _severity(fault, usual)
    if any(severity_shown(scene, fault) != usual for scene in scenes_for(fault)):
        words += f"; where the machine hides that, with the worst, {_severity(fault, fault.nodes[-1])}"
    return words


def _severity(fault: Fault, severity: float) -> str:
    """Return a severity in words, in US and SI units where it has any."""
    if fault.unit == "present":
        return "the fault present"
    for unit, dimension in (("Pa", "pressure_difference"), ("K", "temperature_difference")):
        if fault.unit.split(maxsplit=1)[0] == unit:
            both = _both(severity, dimension)
            return f"{both} {fault.unit.removeprefix(unit).strip()}".strip()
    return f"{severity:g} ({fault.unit})"


def normal_table(scenes: Sequence[Scene]) -> str:
    """Return what the reference units read without a fault."""
    lines = [f"| reading | {' | '.join(scene.title for scene in scenes)} |"]
    lines.append("|---" * (len(scenes) + 1) + "|")
    for row in ROWS:
        cells = [_normal(row, healthy(scene).readings.get(row.place)) for scene in scenes]
        lines.append(f"| {row.title} | {' | '.join(cells)} |")
    return "\n".join(lines)


def _normal(row: Row, value: float | None) -> str:
    if value is None:
        return NONE
    kind = _difference(row) if row.place.endswith("_k") and _is_difference(row) else row.dimension
    return _both(value, kind)


def _is_difference(row: Row) -> bool:
    """Say whether a reading is a difference of temperatures itself."""
    named = ("superheat", "subcooling", "split", "rise", "drop", "td")
    return any(part in row.place.split("_") for part in named)


def _difference(row: Row) -> str:
    return f"{row.dimension}_difference" if row.dimension in ("pressure", "temperature") else row.dimension


def _both(value: float, dimension: str) -> str:
    us, si = (format_quantity(value, dimension, preference) for preference in (US, SI))
    return us if us == si else f"{us} ({si})"


def _cell(row: Row, scene: Scene, fault: Fault) -> str:
    moved = shifts(scene, fault).get(row.place)
    if moved is None:
        return NONE
    usual = healthy(scene).readings[row.place]
    size = abs(moved / usual) if row.share and usual else abs(moved)
    if size < row.least:
        return SAME
    arrow = UP if moved > 0.0 else DOWN
    if row.share:
        return f"{arrow} {100.0 * size:.0f} %"
    if row.dimension == "fraction":
        return f"{arrow} {100.0 * size:.0f} points" if size >= 0.01 else f"{arrow} a little"
    return f"{arrow} {_both(abs(moved), _difference(row))}"


def _state(scene: Scene, fault: Fault) -> str:
    """Return whether the machine keeps running, and what stops it."""
    point = shown(scene, fault)
    if point.state == "running":
        return "keeps running"
    if "over_high_cut" in point.regime:
        return "would trip on high pressure"
    if "under_low_cut" in point.regime:
        return "would cycle on low pressure"
    return "finds no steady point"
