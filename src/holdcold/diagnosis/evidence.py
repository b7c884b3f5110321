"""What a call has told us, as plain values: the only things belief may learn from.

``calls`` reads these from a CALL file; ``diagnosis`` weighs them. Everything here is frozen, in SI,
and knows nothing of files, units as typed, or what the evidence means.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

State = Literal["running", "cycling", "off", "defrost", "unknown"]
Complaint = Literal["warm", "iced", "not_running", "short_cycling", "noisy", "leak", "none"]
CheckOutcome = Literal["done", "not_now"]
RepairOutcome = Literal["fixed", "symptom_stays", "unknown"]
BoxTrend = Literal["falling", "steady", "rising", "unknown"]

STATES: tuple[State, ...] = ("running", "cycling", "off", "defrost", "unknown")
COMPLAINTS: tuple[Complaint, ...] = (
    "warm",
    "iced",
    "not_running",
    "short_cycling",
    "noisy",
    "leak",
    "none",
)
CHECK_OUTCOMES: tuple[CheckOutcome, ...] = ("done", "not_now")
REPAIR_OUTCOMES: tuple[RepairOutcome, ...] = ("fixed", "symptom_stays", "unknown")
BOX_TRENDS: tuple[BoxTrend, ...] = ("falling", "steady", "rising", "unknown")


@dataclass(frozen=True, slots=True)
class Situation:
    """The conditions the machine stood in while it was read.

    ambient_k: air entering the condenser, measured [K]; None when nobody measured it.
    box_k: air in the box, away from the coil [K]; None when nobody measured it.
    state: what the machine was doing; ``"unknown"`` when nobody said.
    minutes_in_state: how long it had been doing that [min]; None when nobody said.
    supply_ratio: measured over nominal supply voltage [-]; 1.0 when nobody measured it.
    complaint: what the customer called about.
    box_trend: which way the box air was moving; a pull-down is ``"falling"``.
    supply_measured: whether ``supply_ratio`` rests on a meter rather than on the nominal value.
    """

    ambient_k: float | None
    box_k: float | None
    state: State = "unknown"
    minutes_in_state: float | None = None
    supply_ratio: float = 1.0
    complaint: Complaint = "none"
    box_trend: BoxTrend = "unknown"
    supply_measured: bool = False


@dataclass(frozen=True, slots=True)
class ReadingEvidence:
    """One number at one place, raw: superheat and subcooling are worked out by whoever needs them.

    place: id of the place in the catalogue, for example ``"suction_pa_service_valve"``.
    value_si: the reading [SI unit of the place; pressures absolute, temperatures in K].
    instrument_id: which instrument; two readings of one instrument share its bias. None: unnamed.
    at_minute: minutes after the technician's first reading [min]; None when nobody said.
    instrument_class: its class in ``quantities.instruments``; None takes the place's usual one.
    """

    place: str
    value_si: float
    instrument_id: str | None = None
    at_minute: float | None = None
    instrument_class: str | None = None


@dataclass(frozen=True, slots=True)
class SightingEvidence:
    """Something seen, heard, smelt or felt.

    id: sighting in the catalogue.
    value: one of that sighting's values; ``"yes"`` or ``"no"`` for a plain one.
    """

    id: str
    value: str


@dataclass(frozen=True, slots=True)
class CheckEvidence:
    """A check that was done, or put off.

    id: check in the catalogue. outcome: ``"done"`` or ``"not_now"``.
    reason: why not now; empty when done.
    """

    id: str
    outcome: CheckOutcome
    reason: str = ""


@dataclass(frozen=True, slots=True)
class RepairEvidence:
    """What was mended and what the machine then did: a repair that changes nothing is evidence too.

    fault: fault in the catalogue that the repair would have removed.
    outcome: ``"fixed"``, ``"symptom_stays"`` or ``"unknown"``.
    """

    fault: str
    outcome: RepairOutcome


@dataclass(frozen=True, slots=True)
class Override:
    """A guard that a person set aside, and the reason that stays on record.

    guard: guard in the catalogue. reason: in the person's words, never empty.
    """

    guard: str
    reason: str


@dataclass(frozen=True, slots=True)
class InstrumentBias:
    """What is known of one instrument: it reads ``offset_si`` too high.

    instrument_id: the name used by the readings. dimension: what it measures (a dimension of
    ``quantities``). offset_si: reading minus truth [SI]. note: how that was found.
    """

    instrument_id: str
    dimension: str
    offset_si: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything one call has told us."""

    situation: Situation
    readings: tuple[ReadingEvidence, ...] = ()
    sightings: tuple[SightingEvidence, ...] = ()
    checks: tuple[CheckEvidence, ...] = ()
    repairs: tuple[RepairEvidence, ...] = ()
    overrides: tuple[Override, ...] = ()
    biases: tuple[InstrumentBias, ...] = ()
