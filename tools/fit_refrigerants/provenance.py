"""Where a data file's numbers come from, in words."""

from __future__ import annotations

import datetime
from itertools import combinations

import CoolProp
from CoolProp.CoolProp import get_BibTeXKey

from .catalogue import Entry, coolprop_name
from .pairs import estimated, published
from .saturation_fit import Curves


def provenance(entry: Entry, found: Curves) -> dict[str, str]:
    """Label -> text. Citation keys are CoolProp's (its documentation lists them in full)."""
    words = {
        "reference": f"CoolProp {CoolProp.__version__}, Helmholtz energy equations, {entry.model} model",
        "fitted": datetime.datetime.now(datetime.UTC).date().isoformat(),
        "equations": _equations(entry),
        "saturation": _saturation(entry, found),
        "second model": _second(entry),
        "gwp": "Mass-weighted component values of the basis named (tools/fit_refrigerants/components.toml).",
        "composition and class": entry.source,
    }
    if entry.model == "mixture":
        words["mixing rules"] = _mixing(entry)
        if estimated(entry):
            words["estimated pairs"] = _estimates(entry)
    return words


def _second(entry: Entry) -> str:
    """What ``reference_spread`` compares with."""
    words = [entry.why] if entry.why else []
    if estimated(entry):
        words.append("The second model is the same with its estimated pairs by their second rules.")
    if entry.normal_k:
        words.append("The normal boiling points are those of the source of the composition.")
    return " ".join(words) or "None at hand."


def _equations(entry: Entry) -> str:
    """The citation key of each equation of state used."""
    if entry.model == "mixture":
        parts = [(part, coolprop_name(part)) for part in entry.composition]
    else:
        parts = [(entry.name, entry.backend_name)]
    return "; ".join(f"{label}: {get_BibTeXKey(name, 'EOS')}" for label, name in parts)


def _mixing(entry: Entry) -> str:
    """Each binary pair: citation key, and departure function or reducing parameters only; or its estimate."""
    estimates = {pair.components: pair for pair in estimated(entry)}
    pairs = []
    for one, other in combinations(entry.composition, 2):
        label = f"{one}/{other}"
        known = published(one, other)
        if known:
            kind = f"departure function, F = {known[1]:g}" if known[1] else "reducing parameters only"
            pairs.append(f"{label}: {known[0]} ({kind})")
        else:
            pair = estimates.get((one, other)) or estimates[(other, one)]
            pairs.append(f"{label}: estimated, {pair.rule.words()}, and second rule {pair.second.words()}")
    return "; ".join(pairs)


def _estimates(entry: Entry) -> str:
    """Why each estimated pair has the parameters it has."""
    return " ".join(f"{'/'.join(pair.components)}: {pair.why}" for pair in estimated(entry))


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
