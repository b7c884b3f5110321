"""A finding as a page of plain data: sentences, rulers and rows that a screen only has to draw."""

from __future__ import annotations

from typing import Any, Final

from holdcold.answers.asking import Given, call_of, unit_of, unit_preference
from holdcold.answers.finding import finding_data, found
from holdcold.answers.ruler import ruler
from holdcold.answers.told import WHERE, Data, Told, sentence
from holdcold.answers.verdict import SHORT, TOGETHER, verdict
from holdcold.answers.words import between, heading_of, minutes, percent, saturation, shown, title
from holdcold.diagnosis.explain import in_words
from holdcold.errors import EnvelopeError, InputError

_AIR: Final = {"ambient_k": "air entering the condenser", "box_k": "box air"}


def find_now(given: Given) -> dict[str, Any]:
    """Return what a call says: ``told`` for scripts (SI), ``page`` to show.

    given: ``card``, ``call``, ``numbers`` for chances as numbers too, units.
    Raises: ``InputError`` or ``InputErrors`` for card, call or conditions that cannot be used.
    """
    resolved = unit_of(given)
    preference = unit_preference(given, resolved)
    call = call_of(given, preference)
    try:
        finding = found(resolved, call)
    except EnvelopeError as problem:
        allowed = "weather, box and readings that the refrigerant's data reach"
        raise InputError("call", problem.field, allowed, "Check air temperatures and readings.") from None
    except InputError as problem:
        if problem.field not in _AIR:
            raise
        raise InputError(_AIR[problem.field], problem.value, problem.allowed, problem.advice) from None
    data = finding_data(preference, resolved, call, finding)
    told = Told(preference, finding, data, numbers=bool(given.get("numbers")))
    return {"told": data, "page": {"heading": heading_of(resolved.card), **page(told)}}


def page(told: Told) -> dict[str, Any]:
    """Return the whole page of a finding; told: its sentences."""
    data = told.data
    check = data["next_check"]
    here = told.finding.case.normal.conditions
    situation = told.finding.case.evidence.situation
    return {
        "air": {
            "ambient": shown(told.preference, here.ambient_k, "temperature"),
            "ambient_measured": situation.ambient_k is not None,
            "box": shown(told.preference, here.box_k, "temperature"),
            "box_measured": situation.box_k is not None,
        },
        "verdict": verdict(data, told.suspects),
        "headline": told.headline(),
        "suspects": [suspect_row(told, one) for one in told.kept],
        "besides": told.rest(told.kept),
        "enough": data["act"]["enough"],
        "act": act_row(told, data["act"]),
        "next": None if check is None else check_row(told, check),
        "then": [check_row(told, one) for one in data["other_checks"]],
        "two_checks": told.two_checks,
        "held": held_rows(told),
        "odd": [
            {"kind": flag["kind"], "text": sentence(flag["text"]), "advice": flag["advice"]}
            for flag in data["flags"]
            if "advice" in flag
        ],
        "readings": reading_rows(told),
        "cautions": data["cautions"],
    }


def suspect_row(told: Told, one: Data) -> dict[str, Any]:
    """Return one suspect: how likely in words, because, what speaks against, what would kill it."""
    return {
        "fault": one["fault"],
        "title": sentence(str(one["title"])),
        "words": in_words(one["chance"]),
        "chance": one["chance"],
        "percent": percent(one["chance"]),
        "severity": told.severity(one),
        "because": told.because(one),
        "but": told.but(one),
        "killed_by": one["would_kill_it"],
        "withheld_by": one["withheld_by"],
    }


def check_row(told: Told, check: Data) -> dict[str, Any]:
    """Return a check: cost, where, how, cautions, and what each outcome would mean; check: as described."""
    return {
        "check": check["check"],
        "title": check["title"],
        "how": check["how"],
        "minutes": minutes(check["own_minutes"]),
        "wait": minutes(check["wait_minutes"]) if check["wait_minutes"] else "",
        "where": [WHERE[place] for place in check["place"]],
        "tells_of": [told.name(fault) for fault in check["why"]],
        "outcomes": [{"if": seen, "then": then} for seen, then in told.outcomes(check)],
        "asks": asks(told, check["check"]),
        "isolate": check["isolate"],
        "opens_circuit": check["opens_circuit"],
        "temporary": check["leaves_temporary_state"],
        "not_by": check["who_not"],
        "cautions": [caution["text"] for caution in check["cautions"]],
    }


def asks(told: Told, name: str) -> dict[str, list[str]]:
    """Return what a check lets one answer: readings and sightings that concern this unit; name: its id."""
    check = told.book.check(name)
    predicted = told.finding.case.normal.readings
    return {
        "readings": [
            place for place in check.readings if place in predicted and told.book.place(place).measured
        ],
        "sightings": [one for one in check.sightings if one in told.book.sightings],
    }


def act_row(told: Told, act: Data) -> dict[str, Any]:
    """Return whether it is enough to act, on what, and why; act: as described."""
    row: dict[str, Any] = {"reason": act["reason"], "first": act["first"], "repair": None}
    repair = act.get("repair")
    if repair is None:
        return row
    proof = told.book.check(repair["proof"])
    row["repair"] = {
        "title": repair["title"],
        "minutes": minutes(repair["minutes"]),
        "where": WHERE[repair["place"]],
        "opens_circuit": repair["opens_circuit"],
        "proof": proof.title,
        "proof_how": proof.how,
        "ask": list(repair["ask_before_closing"]),
        "cautions": [caution["text"] for caution in repair["cautions"]],
        "unlikelier": bool(told.suspects and act["first"] not in told.suspects[0]["faults"]),
        "after": [
            told.name(one["fault"])
            for one in told.suspects
            if one["chance"] >= TOGETHER and act["first"] not in one["faults"]
        ],
    }
    return row


def held_rows(told: Told) -> list[dict[str, Any]]:
    """Return the guards that hold a verdict back, each with why and what lifts it."""
    likely = {one["fault"] for one in told.data["suspects"] if one["chance"] >= SHORT}
    rows = []
    for flag in told.data["flags"]:
        held = [fault for fault in flag.get("withholds", ()) if fault in likely]
        if flag["kind"] == "guard" and held:
            rows.append(
                {
                    "guard": flag["guard"],
                    "text": flag["text"],
                    "why": flag["why"],
                    "lifts": f"{flag['lifts']}{told.missing(flag)}",
                    "withholds": [told.name(fault) for fault in held],
                    "may_be_set_aside": told.book.guard(flag["guard"]).override,
                    "missing": [name for name in flag["missing"] if name in told.book.sightings],
                }
            )
    return rows


def reading_rows(told: Told) -> list[dict[str, Any]]:
    """Return what was read beside what the unit should read, each with its ruler."""
    medium = told.finding.case.normal.unit.fluid
    rows = []
    for one in told.compared:
        dimension = told.book.place(one.place).dimension
        pressure = dimension == "pressure"
        rows.append(
            {
                "place": one.place,
                "title": title(told.book, one.place),
                "worked_out": one.worked_out,
                "value": shown(told.preference, one.value, dimension),
                "band": between(told.preference, one.low, one.high, dimension),
                "verdict": one.verdict,
                "off": one.is_off,
                "beside": saturation(told.preference, medium, one.place, one.value) if pressure else "",
                "ruler": ruler(one.low, one.high, one.value),
            }
        )
    return rows
