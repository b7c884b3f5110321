"""What is known of each refrigerant before any fitting: composition, class, warming potential, model.

Compositions and safety classes: ASHRAE 34 as listed in the public summaries, from memory; the blend
warming potentials are the mass-weighted sums of the component values below, which reproduce the published
blend numbers (R-404A 3922, R-407A 2107, R-448A 1387, R-454C 148).
"""

from __future__ import annotations

from dataclasses import dataclass, field

AR4 = "AR4, 100 years (HFOs as published with it)"
EU_2024 = "Regulation (EU) 2024/573, Annexes I and II"

# Component values by basis. AR4: IPCC Fourth Assessment Report, 100 years, as in Regulation (EU)
# 2024/573 Annex I and 40 CFR 84 Appendix A; the HFO values beside it are those usually printed (4, 7).
# EU 2024/573: Annex II section 1 (R-1234yf 0.501, R-1234ze(E) 1.37, from memory) and R-290 0.02.
GWP: dict[str, dict[str, float]] = {
    "R-32": {AR4: 675.0, EU_2024: 675.0},
    "R-125": {AR4: 3500.0, EU_2024: 3500.0},
    "R-134a": {AR4: 1430.0, EU_2024: 1430.0},
    "R-143a": {AR4: 4470.0, EU_2024: 4470.0},
    "R-1234yf": {AR4: 4.0, EU_2024: 0.501},
    "R-1234ze(E)": {AR4: 7.0, EU_2024: 1.37},
    "R-290": {AR4: 3.0, EU_2024: 0.02},
    "R-22": {AR4: 1810.0},
}


@dataclass(frozen=True)
class Entry:
    """One refrigerant to fit.

    composition: component -> mass fraction, summing to 1.
    model: ``"pure"``, ``"pseudo-pure"`` (one equation for the fixed blend) or ``"mixture"``.
    backend_name: the name CoolProp knows it by (pure and pseudo-pure only).
    second_model: another model in CoolProp of the same refrigerant, whose distance is measured and stored:
    ``"mixture"``, or the name of a pseudo-pure equation.
    known_spread: quantity -> (worst difference in %, where) for a second model measured elsewhere.
    why: why this model was chosen where there was a choice, or what is known of a second one.
    """

    name: str
    composition: dict[str, float]
    safety_class: str
    model: str
    backend_name: str = ""
    second_model: str = ""
    known_spread: dict[str, tuple[float, str]] = field(default_factory=dict)
    why: str = ""

    def gwp(self) -> dict[str, float]:
        """Mass-weighted warming potential by basis; a basis that lacks a component is left out."""
        bases = [basis for basis in (AR4, EU_2024) if all(basis in GWP[part] for part in self.composition)]
        return {
            basis: round(sum(share * GWP[part][basis] for part, share in self.composition.items()), 2)
            for basis in bases
        }


PSEUDO_PURE = (
    "The pseudo-pure equation, because it was fitted to measurements of this very blend; the mixture model is"
    " the second model and gives only the shape of the glide between bubble and dew. Below 200 K, the"
    " equation's stated lower limit, subcooled liquid rests on its smooth continuation."
)

ENTRIES: tuple[Entry, ...] = (
    Entry("R-22", {"R-22": 1.0}, "A1", "pure", "R22"),
    Entry("R-134a", {"R-134a": 1.0}, "A1", "pure", "R134a"),
    Entry("R-290", {"R-290": 1.0}, "A3", "pure", "R290"),
    Entry(
        "R-404A",
        {"R-125": 0.44, "R-143a": 0.52, "R-134a": 0.04},
        "A1",
        "pseudo-pure",
        "R404A",
        second_model="mixture",
        why=PSEUDO_PURE,
    ),
    Entry("R-407A", {"R-32": 0.20, "R-125": 0.40, "R-134a": 0.40}, "A1", "mixture"),
    Entry(
        "R-407C",
        {"R-32": 0.23, "R-125": 0.25, "R-134a": 0.52},
        "A1",
        "mixture",
        second_model="R407C",
        why="The mixture model, because it also knows the states between bubble and dew and this blend"
        " glides; the pseudo-pure equation is the second model.",
    ),
    Entry(
        "R-448A",
        {"R-32": 0.26, "R-125": 0.26, "R-1234yf": 0.20, "R-134a": 0.21, "R-1234ze(E)": 0.07},
        "A1",
        "mixture",
    ),
    Entry("R-449A", {"R-32": 0.243, "R-125": 0.247, "R-1234yf": 0.253, "R-134a": 0.257}, "A1", "mixture"),
    Entry(
        "R-454C",
        {"R-32": 0.215, "R-1234yf": 0.785},
        "A2L",
        "mixture",
        known_spread={
            "bubble pressure": (1.7, "-40 to 70 C, mean +1.1 %"),
            "dew pressure": (3.1, "-40 to 70 C, mean +2.7 %"),
        },
        why="The second model is the older R-32/R-1234yf pair with the older R-1234yf equation, as in teqp"
        " 0.23.2, measured once; printed pressure-temperature charts made with it differ by up to 0.6 K.",
    ),
    Entry(
        "R-507A",
        {"R-125": 0.50, "R-143a": 0.50},
        "A1",
        "pseudo-pure",
        "R507A",
        second_model="mixture",
        why=PSEUDO_PURE,
    ),
    Entry("R-513A", {"R-1234yf": 0.56, "R-134a": 0.44}, "A1", "mixture"),
)


def entry(name: str) -> Entry:
    """Return the entry called ``name``; KeyError when there is none."""
    return {each.name: each for each in ENTRIES}[name]
