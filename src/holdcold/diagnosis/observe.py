"""Readings of a call as observations: which instrument, how sure, what it could hide."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from holdcold.diagnosis.case import Observation
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.diagnosis.evidence import InstrumentBias, ReadingEvidence
from holdcold.quantities.instruments import Instrument, instrument

_ALONE = ("pressure",)
"""Dimensions read by an instrument of their own at each place unless somebody says otherwise."""


def observations(
    readings: Iterable[ReadingEvidence],
    places: Sequence[str],
    catalogue: Catalogue,
    biases: Sequence[InstrumentBias],
) -> tuple[Observation, ...]:
    """Return the readings the unit's prediction covers, as observations; others are left out.

    readings: raw. places: what is predicted. biases: offsets known of instruments, taken off here.
    Readings that name no instrument share one of the usual class, except pressures: the two sides of a
    gauge set are two gauges.
    """
    found = []
    offsets = {(bias.instrument_id, bias.dimension): bias.offset_si for bias in biases}
    for reading in readings:
        if reading.place not in places:
            continue
        dimension = catalogue.place(reading.place).dimension
        name = reading.instrument_id
        value = reading.value_si - offsets.get((name or "", dimension), 0.0)
        kind = instrument_class(reading, catalogue)
        found.append(observation(reading.place, value, kind, instrument_name(reading, kind, dimension)))
    return tuple(found)


def observation(place: str, value: float, kind: Instrument, name: str) -> Observation:
    """Return one reading of ``value`` [SI] at ``place``; ``kind`` of instrument, called ``name``."""
    return Observation(
        place=place,
        value=value,
        sigma=kind.sigma(value),
        instrument_id=name,
        bias_sigma=kind.bias_sigma(value),
        lie_chance=kind.lie_chance,
        lie_sigma=kind.lie_sigma,
        item=place,
    )


def instrument_class(reading: ReadingEvidence, catalogue: Catalogue) -> Instrument:
    """Return the class of instrument a reading was taken with, the usual one where nobody said."""
    place = catalogue.place(reading.place)
    usual = place.default_instrument or (
        "two_thermometers" if place.dimension == "temperature_difference" else "hand"
    )
    return instrument(reading.instrument_class or usual)


def instrument_name(reading: ReadingEvidence, kind: Instrument, dimension: str) -> str:
    """Return the name of the instrument: the one given, else one per class (one per place for pressures)."""
    if reading.instrument_id:
        return reading.instrument_id
    return f"{kind.id}:{reading.place}" if dimension in _ALONE else kind.id


def measured_places(
    catalogue: Catalogue, predicted: Mapping[str, float], inputs: Sequence[str]
) -> tuple[str, ...]:
    """Return the predicted places an instrument can read, conditions of the prediction left out."""
    return tuple(
        name
        for name in predicted
        if name in catalogue.places and catalogue.places[name].measured and name not in inputs
    )
