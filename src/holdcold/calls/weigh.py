"""From a call log to what the diagnosis may learn from."""

from __future__ import annotations

from holdcold.calls.log import CallLog
from holdcold.diagnosis.evidence import Evidence, ReadingEvidence, Situation


def evidence(call: CallLog, nominal_v: float | None = None) -> Evidence:
    """Return everything a call has told us, raw: no reading corrected, derived or dropped.

    nominal_v: nominal supply of the unit [V]; without it the supply counts as nominal.
    """
    readings = tuple(
        ReadingEvidence(
            reading.place,
            reading.value_si,
            reading.instrument_id,
            reading.at_minute,
            reading.instrument_class,
        )
        for reading in call.readings
    )
    return Evidence(
        situation(call, nominal_v),
        readings,
        call.sightings,
        call.checks,
        call.repairs,
        call.overrides,
        call.biases,
    )


def situation(call: CallLog, nominal_v: float | None = None) -> Situation:
    """Return the conditions of a call; a reading at the right place stands in for what was left out.

    nominal_v: nominal supply of the unit [V].
    """
    given = call.conditions
    supply_v = given.supply_v if given.supply_v is not None else _last(call, "supply_v")
    measured = supply_v is not None and nominal_v is not None and nominal_v > 0.0
    return Situation(
        ambient_k=given.ambient_k if given.ambient_k is not None else _last(call, "condenser_air_in_k"),
        box_k=_first(given.box_k, _last(call, "box_k"), _last(call, "coil_air_in_k")),
        state=given.state,
        minutes_in_state=given.minutes_in_state,
        supply_ratio=supply_v / nominal_v if measured and supply_v and nominal_v else 1.0,
        complaint=given.complaint,
        box_trend=given.box_trend,
        supply_measured=measured,
    )


def _last(call: CallLog, place: str) -> float | None:
    found = [reading.value_si for reading in call.readings if reading.place == place]
    return found[-1] if found else None


def _first(*values: float | None) -> float | None:
    return next((value for value in values if value is not None), None)
