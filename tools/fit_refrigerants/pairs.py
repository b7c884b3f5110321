"""Binary pairs that CoolProp lacks: found, and given the parameters of an estimate.

CoolProp refuses to open a mixture one of whose pairs it does not know, so a simple rule is registered first
and the state's own parameters are set after it is open. A pair that CoolProp does know is never touched.
"""

from __future__ import annotations

from itertools import combinations

from CoolProp import AbstractState
from CoolProp.CoolProp import apply_simple_mixing_rule, get_fluid_param_string, get_mixture_binary_pair_data

from .catalogue import Entry, Pair, Rule, coolprop_name

# What CoolProp gives as the source of a pair that a simple rule registered.
SIMPLE = "N/A"
REDUCING = ("betaT", "gammaT", "betaV", "gammaV")


def cas(component: str) -> str:
    """CAS number of a component."""
    return str(get_fluid_param_string(coolprop_name(component), "CAS"))


def published(one: str, other: str) -> tuple[str, float] | None:
    """Citation key and departure weight of a pair of components, or None where CoolProp has none."""
    for pair in ((cas(one), cas(other)), (cas(other), cas(one))):
        try:
            key = str(get_mixture_binary_pair_data(*pair, "BibTeX"))
        except ValueError:
            continue  # stored in one order only
        return None if key.startswith(SIMPLE) else (key, float(get_mixture_binary_pair_data(*pair, "F")))
    return None


def estimated(entry: Entry) -> list[Pair]:
    """The estimates this refrigerant's mixture model needs; SystemExit where one is not given."""
    if entry.model != "mixture":
        return []
    given = {frozenset(pair.components): pair for pair in reversed(entry.pairs)}
    missing = [pair for pair in combinations(entry.composition, 2) if published(*pair) is None]
    unknown = [pair for pair in missing if frozenset(pair) not in given]
    if unknown:
        listed = ", ".join("/".join(pair) for pair in unknown)
        raise SystemExit(
            f"{entry.name}: CoolProp has no parameters for {listed}. Give an estimate as [[pair]] in its"
            " file; see pairs.toml."
        )
    return [given[frozenset(pair)] for pair in missing]


def open_mixture(entry: Entry, *, second: bool = False) -> AbstractState:
    """A backend for the entry's mixture of components, by its estimates or by their second rules."""
    needed = estimated(entry)
    for pair in needed:
        _register(pair.components)
    state = AbstractState("HEOS", "&".join(coolprop_name(part) for part in entry.composition))
    state.set_mass_fractions(list(entry.composition.values()))
    parts = list(entry.composition)
    for pair in needed:
        at = (parts.index(pair.components[0]), parts.index(pair.components[1]))
        _set(state, at, pair.second if second else pair.rule)
    return state


def _register(components: tuple[str, str]) -> None:
    """Make a pair known to CoolProp, with whatever parameters, unless that was done before."""
    one, other = (cas(each) for each in components)
    for pair in ((one, other), (other, one)):
        try:
            get_mixture_binary_pair_data(*pair, "BibTeX")
        except ValueError:
            continue
        return
    apply_simple_mixing_rule(one, other, "Lorentz-Berthelot")


def _set(state: AbstractState, at: tuple[int, int], rule: Rule) -> None:
    """Set the reducing parameters of one pair of an open state."""
    if rule.gamma_t is None and rule.like is None:
        state.apply_simple_mixing_rule(*at, rule.simple)
        return
    values = {"betaT": 1.0, "gammaT": rule.gamma_t, "betaV": 1.0, "gammaV": 1.0}
    if rule.like:
        twin = AbstractState("HEOS", "&".join(coolprop_name(part) for part in rule.like))
        values = {key: twin.get_binary_interaction_double(0, 1, key) for key in REDUCING}
    for key, value in values.items():
        state.set_binary_interaction_double(*at, key, value)
