"""The bench: saturation, superheat and subcooling, units, without a card or a call."""

from __future__ import annotations

from typing import Any

from holdcold.answers.asking import Given, preference_of, usual_unit
from holdcold.errors import InputError
from holdcold.quantities import DIMENSIONS, SI, US, format_quantity, parse_noted, parse_one_of
from holdcold.refrigerants import fluid

_EITHER = ("temperature", "pressure")
_CONVERTED = (
    "pressure", "temperature", "mass", "power", "length", "volume", "flow", "current", "voltage", "time",
)  # fmt: skip


def saturation(given: Given) -> dict[str, Any]:
    """Return bubble and dew at a pressure, or at a temperature.

    given: ``refrigerant``, ``reading`` (with its unit; a bare number is a pressure in the usual unit), units.
    """
    preference = preference_of(given)
    gas = fluid(str(given.get("refrigerant") or ""))
    typed = str(given.get("reading") or "").strip()
    if typed and not any(letter.isalpha() for letter in typed):
        typed = f"{typed} {usual_unit('pressure', preference)}"
    kind, read = parse_one_of(typed, _EITHER, field="reading", ambient_pa=preference.ambient_pa)
    value = read.value_si
    if kind == "pressure":
        bubble, dew, other = gas.bubble_k(value), gas.dew_k(value), "temperature"
        data = {"pressure_pa": value, "bubble_k": bubble, "dew_k": dew, "glide_k": dew - bubble}
    else:
        bubble, dew, other = gas.bubble_pa(value), gas.dew_pa(value), "pressure"
        data = {"temperature_k": value, "bubble_pa": bubble, "dew_pa": dew}
    shown = {
        "at": format_quantity(value, kind, preference),
        "dew": format_quantity(dew, other, preference),
        "bubble": format_quantity(bubble, other, preference),
        "kind": kind,
    }
    if kind == "pressure":
        shown["glide"] = format_quantity(dew - bubble, "temperature_difference", preference)
    return {"refrigerant": gas.info.name, **data, "shown": shown, "notes": list(read.notes)}


def state(given: Given) -> dict[str, Any]:
    """Return the state at a pressure and a temperature: phase, superheat or subcooling.

    given: ``refrigerant``, ``pressure``, ``temperature`` (bare numbers in the usual units), units.
    """
    preference = preference_of(given)
    gas = fluid(str(given.get("refrigerant") or ""))
    values = {}
    for name in ("pressure", "temperature"):
        typed = str(given.get(name) or "").strip()
        if typed and not any(letter.isalpha() for letter in typed):
            typed = f"{typed} {usual_unit(name, preference)}"
        kind, read = parse_one_of(typed, _EITHER, field=name, ambient_pa=preference.ambient_pa)
        if kind != name:
            raise InputError(name, typed, f"a {name}", f"This is a {kind}.")
        values[name] = read.value_si
    found = gas.state_pt(values["pressure"], values["temperature"])
    shown = {
        "dew": format_quantity(gas.dew_k(found.pressure_pa), "temperature", preference),
        "bubble": format_quantity(gas.bubble_k(found.pressure_pa), "temperature", preference),
        "pressure": format_quantity(found.pressure_pa, "pressure", preference),
        "temperature": format_quantity(found.temperature_k, "temperature", preference),
    }
    for name, apart in (("superheat", found.superheat_k), ("subcooling", found.subcooling_k)):
        if apart is not None:
            shown[name] = format_quantity(apart, "temperature_difference", preference)
    return {
        "refrigerant": gas.info.name,
        "phase": found.phase,
        "pressure_pa": found.pressure_pa,
        "temperature_k": found.temperature_k,
        "h_j_kg": found.h_j_kg,
        "s_j_kgk": found.s_j_kgk,
        "rho_kg_m3": found.rho_kg_m3,
        "superheat_k": found.superheat_k,
        "subcooling_k": found.subcooling_k,
        "quality": found.quality,
        "shown": shown,
    }


def convert(given: Given) -> dict[str, Any]:
    """Return a quantity in both systems of units; given: ``text`` as typed, units.

    A text that could be two things is told as each of them.
    """
    preference = preference_of(given)
    typed = str(given.get("text") or "").strip()
    rows = []
    for name in _CONVERTED:
        try:
            read = parse_noted(typed, name, field="text", ambient_pa=preference.ambient_pa)
        except InputError:
            continue
        rows.append(
            {
                "dimension": name,
                "called": DIMENSIONS[name].called,
                "us": format_quantity(read.value_si, name, US.at(preference.ambient_pa)),
                "si": format_quantity(read.value_si, name, SI.at(preference.ambient_pa)),
                "value_si": read.value_si,
                "unit_si": DIMENSIONS[name].si,
            }
        )
    if not rows:
        allowed = "a number and its unit, such as 20 psig, 95 F, 1 lb 6 oz or 7.5 kBtu/h"
        raise InputError("text", typed, allowed, "Write the number, then the unit.")
    return {"rows": rows}
