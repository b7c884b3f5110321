"""A unit: the five facts, what its card gives and assumes, and what it should read now."""

from __future__ import annotations

from typing import Any, Final

from holdcold.answers.asking import Given, preference_of, problems_of, unit_of, unit_preference, with_unit
from holdcold.answers.facts import label, shown
from holdcold.answers.interview import QUESTIONS, SUPPLY
from holdcold.answers.ruler import ruler
from holdcold.answers.words import (
    between,
    engine_data,
    heading_of,
    lower,
    percent,
    saturation,
    title,
    unit_cautions,
)
from holdcold.answers.words import shown as in_units
from holdcold.cards import Fact, read_card, resolve
from holdcold.cards.fields import CARD_FIELDS, SECTIONS
from holdcold.cards.form import Field, read_value
from holdcold.cards.write import write_form
from holdcold.cycle import Conditions, build
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.normal import Normal, normal
from holdcold.errors import InputError, InputErrors
from holdcold.quantities import UnitPreference, format_quantity, parse

SHOWN: Final = (
    "suction_pa_service_valve", "suction_pa_coil", "discharge_pa",
    "coil_superheat_k", "total_superheat_k", "subcooling_k_condenser_outlet",
    "condenser_split_k", "coil_td_k",
    "suction_k_coil_outlet", "suction_k_compressor_inlet", "discharge_line_k",
    "liquid_k_condenser_outlet", "drier_drop_k", "liquid_k_valve_inlet",
    "condenser_air_out_k", "condenser_air_rise_k", "coil_air_out_k", "coil_air_drop_k",
    "compressor_a", "compressor_w", "capacity_w", "receiver_level_fraction",
)  # fmt: skip
"""Readings of a unit in the order a person goes round; scripts get all of them."""

_FIVE: Final = ("kind", "refrigerant", "application", "box", "capacity")
_SUPPLY: Final = ("voltage", "phases")
_SHARPENED: Final = 3
_PLATE: Final = (
    "name", "compressor.kind", "expansion.device", "supply.voltage", "supply.phases", "condenser.location",
    "condenser.fans", "head.control", "coil.fans", "coil.td", "lines.length", "charge.amount", "charge.ports",
    "controls.set_point", "site.altitude",
)  # fmt: skip


def optional_fields() -> list[dict[str, Any]]:
    """Return the facts of a card that a form offers after the five, each with meaning, kind and choices."""
    by_path = {field.path: field for field in CARD_FIELDS}
    return [_field_data(by_path[path]) for path in _PLATE if path in by_path]


def _field_data(field: Field) -> dict[str, Any]:
    return {
        "path": field.path,
        "kind": field.kind,
        "meaning": field.meaning,
        "example": field.example.strip('"'),
        "choices": list(field.choices),
    }


def five(given: Given) -> dict[str, Any]:
    """Return the card that five answers make, or what is wrong with each of them.

    given: ``answers`` (kind, refrigerant, application, box, capacity; voltage and phases when the capacity
    is amps) and ``more`` (path to what was typed) of the facts nobody has to give.
    """
    typed: dict[str, object] = {"schema": 1}
    problems: list[dict[str, str]] = []
    answers = given.get("answers") or {}
    asked = [*zip(_FIVE, QUESTIONS, strict=True)]
    if "A" in str(answers.get("capacity") or ""):
        asked += zip(_SUPPLY, SUPPLY, strict=True)
    for name, question in asked:
        try:
            typed.update(question.read(str(answers.get(name) or "").strip()))
        except InputError as problem:
            problems += [{**row, "field": name} for row in problems_of(problem)]
    by_path = {field.path: field for field in CARD_FIELDS}
    preference = preference_of(given)
    for path, text in (given.get("more") or {}).items():
        field = by_path.get(path)
        if field is None or not str(text).strip():
            continue
        written = _as_typed(field, str(text), preference)
        try:
            read_value(field, written)
            typed[path] = written
        except InputError as problem:
            problems += [{**row, "field": path} for row in problems_of(problem)]
    if problems:
        return {"error": problems}
    text = write_form(typed, CARD_FIELDS, SECTIONS)
    try:
        build(resolve(read_card(text)).design)
    except (InputError, InputErrors) as problem:
        return {"error": problems_of(problem)}
    return {"card": text, **card({**given, "card": text})}


def _as_typed(field: Field, text: str, preference: UnitPreference) -> object:
    """Return a text of a form as a card file would hold it; bare numbers get the person's usual unit."""
    if field.kind == "flag":
        return {"yes": True, "no": False}.get(text.strip().lower(), text)
    if field.kind == "integer" and text.strip().isdigit():
        return int(text)
    if field.kind == "quantity" and field.default_unit is None:
        return with_unit(text, field.dimension, preference)
    return text.strip()


def card(given: Given) -> dict[str, Any]:
    """Return what follows from a card: heading, facts given and assumed, cautions; given: ``card``, units."""
    resolved = unit_of(given)
    preference = unit_preference(given, resolved)
    return {
        "heading": heading_of(resolved.card),
        "name": resolved.card.text("name"),
        "refrigerant": resolved.design.refrigerant,
        "given": [_fact(preference, fact) for fact in resolved.facts if fact.origin == "given"],
        "assumed": [_fact(preference, fact) for fact in resolved.facts if fact.origin == "assumed"],
        "assumed_kinds": dict(resolved.choices.assumed),
        "ambient": format_quantity(resolved.design.rated_ambient_k, "temperature", preference, 0),
        "box": format_quantity(resolved.design.set_point_k, "temperature", preference, 0),
        "cautions": unit_cautions(resolved),
    }


def _fact(preference: UnitPreference, fact: Fact) -> dict[str, str]:
    value, spread = shown(preference, fact)
    return {"name": label(fact), "value": value, "spread": spread, "source": fact.source, "hint": fact.hint}


def normal_now(given: Given) -> dict[str, Any]:
    """Return what a unit should read now, each reading at its place with its band.

    given: ``card``, ``ambient`` and ``box`` as typed, ``off`` for the unit at rest, units.
    """
    resolved = unit_of(given)
    preference = unit_preference(given, resolved)
    values = {}
    for name in ("ambient", "box"):
        typed = with_unit(str(given.get(name) or ""), "temperature", preference)
        values[name] = parse(typed, "temperature", field=name, ambient_pa=preference.ambient_pa)
    here = Conditions(values["ambient"], values["box"], running=not given.get("off"))
    found = normal(resolved, here)
    return {
        "heading": heading_of(resolved.card),
        "conditions": {"ambient_k": here.ambient_k, "box_k": here.box_k, "running": here.running},
        "readings": {
            place: {"value": band.value, "low": band.low, "high": band.high}
            for place, band in found.readings.items()
        },
        "state": found.point.state,
        "regime": found.point.regime,
        "rows": normal_rows(preference, found),
        "sharpen": sharpen_rows(preference, found),
        "cautions": unit_cautions(resolved),
        "engine": engine_data(catalogue()),
        "air": [in_units(preference, value, "temperature") for value in (here.ambient_k, here.box_k)],
    }


def normal_rows(preference: UnitPreference, found: Normal) -> list[dict[str, Any]]:
    """Return the readings of ``SHOWN`` as rows: value, band, saturation, ruler; found: the unit now."""
    book = catalogue()
    idle = set() if found.unit.design.receiver_m3 > 0.0 else {"receiver_level_fraction"}
    if not found.conditions.running:
        idle |= {"compressor_a", "compressor_w", "capacity_w"}
    rows = []
    for place in SHOWN:
        band = found.readings.get(place)
        if band is None or place in idle:
            continue
        dimension = book.place(place).dimension
        pressure = dimension == "pressure"
        rows.append(
            {
                "place": place,
                "title": title(book, place),
                "value": in_units(preference, band.value, dimension),
                "band": between(preference, band.low, band.high, dimension),
                "beside": saturation(preference, found.unit.fluid, place, band.value) if pressure else "",
                "ruler": ruler(band.low, band.high, normal=band.value),
            }
        )
    return rows


def sharpen_rows(preference: UnitPreference, found: Normal) -> list[dict[str, str]]:
    """Return the assumptions that move the answer most, each with what to measure; found: the unit now."""
    book = catalogue()
    rows = []
    for one in found.sharpen[:_SHARPENED] if found.conditions.running else ():
        value, spread = shown(preference, one.fact)
        rows.append(
            {
                "name": label(one.fact),
                "value": value,
                "spread": spread,
                "share": percent(one.share),
                "moves": lower(title(book, one.moves)),
                "hint": one.fact.hint,
            }
        )
    return rows
