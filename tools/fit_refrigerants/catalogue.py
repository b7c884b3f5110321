"""What is known of each refrigerant before any fitting: composition, class, model, estimates. All of it is
read.

One file a refrigerant in ``fluids``; ``components.toml`` holds the components' warming potentials and
``pairs.toml`` the estimates for binary pairs that CoolProp lacks. docs/refrigerants.md tells what a file
may hold.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent
FLUIDS = FOLDER / "fluids"

# Key in components.toml -> the basis as it is printed.
BASES = {
    "ar4": "AR4, 100 years (HFOs as published with it)",
    "eu_2024": "Regulation (EU) 2024/573, Annexes I and II",
}
MODELS = ("pure", "pseudo-pure", "mixture")


@dataclass(frozen=True)
class Rule:
    """How the reducing parameters of a binary pair are set where CoolProp has none.

    like: take those of this pair, which CoolProp has. gamma_t: set this one, the others being 1. Neither:
    apply CoolProp's simple rule ``simple`` (``"Lorentz-Berthelot"`` or ``"linear"``).
    """

    like: tuple[str, str] | None = None
    gamma_t: float | None = None
    simple: str = "Lorentz-Berthelot"

    def words(self) -> str:
        """The rule as provenance prints it."""
        if self.like:
            return f"as {'/'.join(self.like)}"
        return self.simple if self.gamma_t is None else f"gammaT = {self.gamma_t:g}"


@dataclass(frozen=True)
class Pair:
    """An estimate for one binary pair: the rule used, the other rule it is compared with, and why."""

    components: tuple[str, str]
    rule: Rule
    second: Rule
    why: str


@dataclass(frozen=True)
class Entry:
    """One refrigerant to fit.

    composition: component -> mass fraction, summing to 1.
    model: ``"pure"``, ``"pseudo-pure"`` (one equation for the fixed blend) or ``"mixture"``.
    source: of composition and class. gwp: basis -> mass-weighted value.
    second_model: another model in CoolProp of the same refrigerant, whose distance is measured and stored:
    ``"mixture"``, or the name of a pseudo-pure equation.
    known_spread: quantity -> (worst difference in %, where) for a second model measured elsewhere.
    why: why this model was chosen where there was a choice, or what is known of a second one.
    note: a limit of use that whoever chooses this refrigerant should know.
    normal_k: published bubble and dew temperatures at 101 325 Pa [K], to compare with.
    subcooling_k: how far below bubble liquid is fitted [K]. coldest_liquid_k: down to where liquid is fitted
    however far below bubble that is [K]; None means the lowest saturation temperature.
    pairs: estimates for pairs that CoolProp lacks, more than this refrigerant needs.
    """

    name: str
    composition: dict[str, float]
    safety_class: str
    model: str
    source: str = ""
    gwp: dict[str, float] = field(default_factory=dict)
    second_model: str = ""
    known_spread: dict[str, tuple[float, str]] = field(default_factory=dict)
    why: str = ""
    note: str = ""
    normal_k: tuple[float, float] | None = None
    subcooling_k: float = 40.0
    coldest_liquid_k: float | None = None
    pairs: tuple[Pair, ...] = ()

    @property
    def backend_name(self) -> str:
        """The name CoolProp knows a pure or pseudo-pure fluid by."""
        return coolprop_name(self.name)


def coolprop_name(component: str) -> str:
    """``"R-1234ze(E)"`` -> ``"R1234ze(E)"``."""
    return component.replace("-", "")


def catalogued() -> list[str]:
    """Designations of the refrigerants that have a file in ``fluids``, sorted."""
    return sorted(path.stem for path in FLUIDS.glob("*.toml"))


def entry(name: str) -> Entry:
    """The entry called ``name``, or that of the file ``name`` if it ends in ``.toml``."""
    path = Path(name) if name.endswith(".toml") else FLUIDS / f"{name}.toml"
    if not path.is_file():
        raise SystemExit(f"{name}: no such file {path}; there are {', '.join(catalogued())}")
    return read(tomllib.loads(path.read_text(encoding="utf-8")), path.name)


def read(data: dict[str, Any], file_name: str) -> Entry:
    """An entry from the content of a catalogue file; SystemExit says what is wrong with it."""
    data = dict(data)
    composition = {part: round(share / 100.0, 12) for part, share in data.pop("composition").items()}
    if abs(math.fsum(composition.values()) - 1.0) > 1e-9:
        raise SystemExit(f"{file_name}: the composition does not sum to 100 %")
    if data["model"] not in MODELS:
        raise SystemExit(f"{file_name}: model {data['model']!r} is none of {', '.join(MODELS)}")
    warming = _components() | data.pop("components", {})
    normal = data.pop("normal_c", None)
    coldest = data.pop("coldest_liquid_c", None)
    known = {each["quantity"]: (each["percent"], each["where"]) for each in data.pop("known_spread", [])}
    pairs = tuple(_pair(each) for each in [*data.pop("pair", []), *_pairs()])
    try:
        return Entry(
            composition=composition,
            gwp=_gwp(composition, warming),
            normal_k=normal and (normal["bubble"] + 273.15, normal["dew"] + 273.15),
            coldest_liquid_k=None if coldest is None else coldest + 273.15,
            known_spread=known,
            pairs=pairs,
            **data,
        )
    except TypeError as error:
        raise SystemExit(f"{file_name}: {error}") from error


def _gwp(composition: dict[str, float], warming: dict[str, dict[str, float]]) -> dict[str, float]:
    """Mass-weighted warming potential by basis; a basis that lacks a component is left out."""
    return {
        words: round(math.fsum(share * warming[part][basis] for part, share in composition.items()), 2)
        for basis, words in BASES.items()
        if all(basis in warming.get(part, {}) for part in composition)
    }


def _pair(data: dict[str, Any]) -> Pair:
    """One estimate as written in a file."""
    one, other = data["components"]
    like = (data["like"][0], data["like"][1]) if "like" in data else None
    rule = Rule(like, data.get("gamma_t"), data.get("simple", "Lorentz-Berthelot"))
    return Pair((one, other), rule, Rule(simple=data["second"]), data["why"])


@cache
def _components() -> dict[str, dict[str, float]]:
    """The content of components.toml."""
    return tomllib.loads((FOLDER / "components.toml").read_text(encoding="utf-8"))


@cache
def _pairs() -> tuple[dict[str, Any], ...]:
    """The content of pairs.toml."""
    return tuple(tomllib.loads((FOLDER / "pairs.toml").read_text(encoding="utf-8"))["pair"])
