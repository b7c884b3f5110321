"""Where a data file's numbers come from, in words."""

from __future__ import annotations

import datetime
from itertools import combinations

import CoolProp
from CoolProp.CoolProp import get_BibTeXKey, get_fluid_param_string, get_mixture_binary_pair_data

from .catalogue import Entry
from .reference import Reference, coolprop_name
from .saturation_fit import Curves


def provenance(entry: Entry, ref: Reference, found: Curves) -> dict[str, str]:
    """Label -> text. Citation keys are CoolProp's (its documentation lists them in full)."""
    words = {
        "reference": f"CoolProp {CoolProp.__version__}, Helmholtz energy equations, {entry.model} model",
        "fitted": datetime.datetime.now(datetime.UTC).date().isoformat(),
        "equations": _equations(entry),
        "saturation": _saturation(entry, found),
        "second model": entry.why or "None at hand.",
        "gwp": "Mass-weighted component values of the basis named; see tools/fit_refrigerants/catalogue.py.",
        "composition and class": "ASHRAE 34, from memory.",
    }
    if entry.model == "mixture":
        words["mixing rules"] = _mixing(ref)
    return words


def _equations(entry: Entry) -> str:
    """The citation key of each equation of state used."""
    if entry.model == "mixture":
        parts = [(part, coolprop_name(part)) for part in entry.composition]
    else:
        parts = [(entry.name, entry.backend_name)]
    return "; ".join(f"{label}: {get_BibTeXKey(name, 'EOS')}" for label, name in parts)


def _mixing(ref: Reference) -> str:
    """Each binary pair: citation key, and departure function or reducing parameters only."""
    names = list(ref.vapour_state.fluid_names())
    cas = {name: get_fluid_param_string(name, "CAS") for name in names}
    pairs = []
    for one, other in combinations(names, 2):
        key, share = _pair(cas[one], cas[other])
        kind = f"departure function, F = {share:g}" if share else "reducing parameters only"
        pairs.append(f"{one}/{other}: {key} ({kind})")
    return "; ".join(pairs)


def _pair(one: str, other: str) -> tuple[str, float]:
    """Citation key and departure weight of a pair, which CoolProp stores in one order only."""
    for pair in ((one, other), (other, one)):
        try:
            key = get_mixture_binary_pair_data(*pair, "BibTeX")
        except ValueError:
            continue
        return str(key), float(get_mixture_binary_pair_data(*pair, "F"))
    raise ValueError(f"no binary parameters for {one} and {other}")


def _saturation(entry: Entry, found: Curves) -> str:
    """How saturation was found, and how CoolProp's own flash did at the same points."""
    if entry.model == "pure":
        return "CoolProp's saturation of the equation of state."
    if entry.model == "pseudo-pure":
        return "Bubble and dew pressure equations that belong to the pseudo-pure equation of state."
    return (
        "Every bubble and dew point solved by the fitting tool from fugacities with the phase imposed:"
        f" no band is interpolated. CoolProp's own flash failed at {found.flash_failures} of the"
        f" {found.flash_points} points; where it converged the pressures differ by at most"
        f" {100.0 * found.flash_difference:.1e} %."
    )
