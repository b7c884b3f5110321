"""A call as it was written down: nothing corrected, nothing dropped."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holdcold.diagnosis.evidence import (
    BoxTrend,
    CheckEvidence,
    Complaint,
    InstrumentBias,
    Override,
    RepairEvidence,
    SightingEvidence,
    State,
)

FlagKind = Literal["impossible", "unlikely", "unsteady", "missing"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as given.

    number: its place in the file, from 1. place: id. dimension: of ``quantities``. value_si: SI,
    pressures absolute. typed: the words.
    instrument_class: a class of ``quantities.instruments``, None when nobody named one.
    instrument_id: which one of that class, None likewise. at_minute: when [min]. note: free text.
    """

    number: int
    place: str
    dimension: str
    value_si: float
    typed: str
    instrument_class: str | None = None
    instrument_id: str | None = None
    at_minute: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class CallConditions:
    """``[conditions]`` as given; None for what nobody said.

    ambient_k: air entering the condenser [K]. box_k: box air [K]. minutes_in_state [min].
    supply_v: volts at the unit, running [V]. Pressures of the call count from ``ambient_pa`` [Pa].
    proved_good: whether the readings are those of a machine proved good, as it was left.
    """

    ambient_k: float | None = None
    box_k: float | None = None
    state: State = "unknown"
    minutes_in_state: float | None = None
    supply_v: float | None = None
    complaint: Complaint = "none"
    box_trend: BoxTrend = "unknown"
    ambient_pa: float = 101_325.0
    proved_good: bool = False


@dataclass(frozen=True, slots=True)
class Flag:
    """Something about the call that a person should look at; the reading stays as it is.

    kind: ``"impossible"``, ``"unlikely"``, ``"unsteady"`` (read too early or in a defrost) or
    ``"missing"``. places: readings or conditions concerned. message: what is odd and why. advice: what
    to do now.
    """

    kind: FlagKind
    places: tuple[str, ...]
    message: str
    advice: str


@dataclass(frozen=True)
class CallLog:
    """One service call: conditions and lists, in the order they were written.

    name, card, notes: free text. demo: invented demonstration data. date: year-month-day, or empty.
    """

    conditions: CallConditions
    readings: tuple[Reading, ...] = ()
    sightings: tuple[SightingEvidence, ...] = ()
    checks: tuple[CheckEvidence, ...] = ()
    repairs: tuple[RepairEvidence, ...] = ()
    overrides: tuple[Override, ...] = ()
    biases: tuple[InstrumentBias, ...] = ()
    name: str = ""
    card: str = ""
    notes: str = ""
    demo: bool = False
    date: str = ""
