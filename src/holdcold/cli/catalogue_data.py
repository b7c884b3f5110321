"""Rows of the catalogues as plain data for scripts: keys carry their unit, ids stay as they are."""

from __future__ import annotations

from typing import Any

from holdcold.diagnosis.catalogue import Catalogue, Check, Conditions, Fault, Place, Rows, Sighting
from holdcold.quantities import Instrument
from holdcold.quantities.dimensions import dimension


def fault_data(book: Catalogue, fault: Fault) -> dict[str, Any]:
    """Return a fault with its severities, repair and shares of calls by kind of unit."""
    repair = fault.repair
    return {
        "id": fault.id,
        "title": fault.title,
        "family": fault.family,
        "axis": fault.axis,
        "has_physics": fault.has_physics,
        "severity": {"unit": fault.unit, "nodes": list(fault.nodes), "weights": list(fault.weights)},
        "per": fault.per,
        "leads_to": fault.leads_to,
        "group": fault.group,
        "applies_to": _conditions(fault.applies_to),
        "unmoved": list(fault.unmoved),
        "loose": [dict(way) for way in fault.loose],
        "intermittent": fault.intermittent,
        "duty": list(fault.duty) if fault.duty else None,
        "mean_duty": fault.mean_duty,
        "presence": fault.presence,
        "because": fault.because,
        "kills": fault.kills,
        "behind": list(fault.behind),
        "priors": _shares(book, fault),
        "repair": {
            "title": repair.title,
            "minutes": repair.minutes,
            "part_minutes_low": repair.part_low,
            "part_minutes_high": repair.part_high,
            "place": repair.place,
            "opens_circuit": repair.opens_circuit,
            "refrigerant_lost_kg": repair.refrigerant_lost_kg,
            "on_van": repair.on_van,
            "proof": repair.proof,
        },
        "cautions": [book.cautions[name].text for name in fault.cautions],
        "source": fault.source,
    }


def _shares(book: Catalogue, fault: Fault) -> dict[str, float]:
    """Return the share of calls a fault causes, by kind of unit, where it can occur."""
    found = {}
    for kind in ("walk_in", "reach_in"):
        for application in ("cooler", "freezer"):
            share = book.priors_for(kind, application).faults.get(fault.id)
            if share is not None:
                found[f"{kind}_{application}"] = share
    return found


def check_data(book: Catalogue, check: Check) -> dict[str, Any]:
    """Return a check with what it yields and what it costs."""
    return {
        "id": check.id,
        "title": check.title,
        "how": check.how,
        "places": list(check.places),
        "minutes": check.minutes,
        "wait_minutes": check.wait_minutes,
        "cost_minutes": book.check_cost(check.id),
        "second_visit": check.second_visit,
        "risk": list(check.risk),
        "isolate": check.isolate,
        "opens_circuit": check.opens_circuit,
        "refrigerant_lost_kg": check.refrigerant_lost_kg,
        "leaves_temporary_state": check.temporary,
        "readings": list(check.readings),
        "sightings": list(check.sightings),
        "guards": {name: book.guards[name].text for name in check.guards},
        "applies_to": _conditions(check.applies_to),
        "only_if": _conditions(check.only_if),
        "who_not": check.who_not,
        "cautions": [book.cautions[name].text for name in check.cautions],
        "source": check.source,
    }


def place_data(book: Catalogue, place: Place) -> dict[str, Any]:
    """Return a place with its SI unit and the checks that read it."""
    return {
        "id": place.id,
        "title": place.title,
        "meaning": place.meaning,
        "dimension": place.dimension,
        "si_unit": dimension(place.dimension).si,
        "measured": place.measured,
        "follows_from": list(place.follows_from),
        "where": place.where,
        "mistakes": place.mistakes,
        "default_instrument": place.default_instrument,
        "checks": [check.id for check in book.checks_that_yield(place.id)],
        "source": place.source,
    }


def sighting_data(book: Catalogue, sighting: Sighting) -> dict[str, Any]:
    """Return a sighting with its answers, its rates and the chances under each fault, mildest and worst."""
    rule = sighting.from_reading
    return {
        "id": sighting.id,
        "title": sighting.title,
        "ask": sighting.ask,
        "place": sighting.place,
        "values": dict(zip(sighting.values, sighting.words, strict=True)),
        "healthy": dict(zip(sighting.values, sighting.healthy, strict=True)) if sighting.informs else {},
        "healthy_freezer": dict(zip(sighting.values, sighting.healthy_freezer, strict=True))
        if sighting.informs
        else {},
        "error": sighting.error,
        "combine": sighting.combine,
        "lasting": sighting.lasting,
        "informs": sighting.informs,
        "given": _chances(sighting.given),
        "off": dict(zip(sighting.values, sighting.off, strict=True)) if sighting.off else {},
        "given_off": _chances(sighting.given_off),
        "cycling": dict(zip(sighting.values, sighting.cycling, strict=True)) if sighting.cycling else {},
        "given_cycling": _chances(sighting.given_cycling),
        "follows_from": rule.reading if rule else "",
        "thresholds_si": dict(zip(rule.order[1:], rule.thresholds, strict=True)) if rule else {},
        "applies_to": _conditions(sighting.applies_to),
        "checks": [check.id for check in book.checks_that_yield(sighting.id)],
        "source": sighting.source,
    }


def _chances(rows: Rows) -> dict[str, dict[str, list[float]]]:
    """Return the chances of the values under each fault, at its mildest and its worst."""
    return {fault: {"mild": list(mild), "severe": list(worst)} for fault, (mild, worst) in rows.items()}


def instrument_data(instrument: Instrument) -> dict[str, Any]:
    """Return a class of instrument; spreads are one sigma in the SI unit of what it reads."""
    return {
        "id": instrument.id,
        "title": instrument.name,
        "dimension": instrument.dimension,
        "si_unit": dimension(instrument.dimension).si,
        "is_default": instrument.is_default,
        "sigma_si": instrument.sigma_floor,
        "sigma_gain": instrument.sigma_gain,
        "bias_si": instrument.bias_floor,
        "bias_gain": instrument.bias_gain,
        "lie_chance": instrument.lie_chance,
        "lie_sigma_si": instrument.lie_sigma,
        "source": instrument.source,
    }


def _conditions(asked: Conditions) -> dict[str, list[str]]:
    """Return facts of the unit asked for, each with the words allowed."""
    return {name: list(values) for name, values in asked.items()}
