"""What a fluid is, apart from its numbers: facts, range and the measured error of the fit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Phase = Literal["liquid", "wet", "vapour"]


@dataclass(frozen=True, slots=True)
class Envelope:
    """The range the functions were fitted for; outside it they raise ``EnvelopeError``.

    min_k, max_k: saturation temperatures, bubble and dew, that are served [K].
    superheat_k: vapour is served from its dew point to this far above it (difference) [K].
    subcooling_k: liquid is served from its bubble point to at least this far below it (difference) [K];
    liquid warmer than ``min_k`` is served however far below its bubble point it is.
    """

    min_k: float
    max_k: float
    superheat_k: float
    subcooling_k: float


@dataclass(frozen=True, slots=True)
class FitError:
    """The largest difference found on a dense grid, and where.

    worst: the difference in ``unit``; where: the state, in words.
    """

    worst: float
    unit: str
    where: str


@dataclass(frozen=True, slots=True)
class FluidInfo:
    """Facts of one refrigerant.

    name: ASHRAE 34 designation. composition: component -> mass fraction. safety_class: ASHRAE 34.
    gwp: basis -> 100-year warming potential (the basis is part of the number).
    molar_mass_kg_mol: [kg/mol]. critical_k, critical_pa: critical point of the reference [K], [Pa].
    envelope: served range. fit_error: quantity -> worst difference from the reference.
    reference_spread: quantity -> how far another model lies from the reference (``provenance["second
    model"]`` says which), and how far published boiling points do (``"normal bubble point"`` [K], ``"normal
    bubble pressure"`` [%], and the same for dew); empty where there are none. provenance: label -> text
    (models, versions, date, mixing rules, how saturation was found where CoolProp's own flash fails).
    status: ``"full"`` where every equation and every binary pair was fitted to measurements; ``"estimated
    pairs"`` where a pair is an estimate (``provenance["estimated pairs"]``): every function works, but
    pressures and glide are only as good as ``reference_spread`` says. note: a limit of use to be told to
    whoever chooses the refrigerant, or empty. data_version: number of the data file, raised when its
    coefficients change.
    """

    name: str
    composition: Mapping[str, float]
    safety_class: str
    gwp: Mapping[str, float]
    molar_mass_kg_mol: float
    critical_k: float
    critical_pa: float
    envelope: Envelope
    fit_error: Mapping[str, FitError]
    reference_spread: Mapping[str, FitError]
    provenance: Mapping[str, str]
    status: str
    note: str
    data_version: int

    @property
    def pressure_spread(self) -> float:
        """Share of a saturation pressure by which other models differ; take it as two standard deviations.

        The largest of both curves; with estimated pairs the published boiling points count as well. 0 where
        no other model is at hand, which is no proof of accuracy.
        """
        kinds = ["bubble pressure", "dew pressure"]
        if self.status != "full":
            kinds += ["normal bubble pressure", "normal dew pressure"]
        found = [self.reference_spread[kind].worst for kind in kinds if kind in self.reference_spread]
        return max(found, default=0.0) / 100.0


@dataclass(frozen=True, slots=True)
class State:
    """One thermodynamic state.

    phase: ``"liquid"``, ``"wet"`` (between bubble and dew) or ``"vapour"``. temperature_k [K],
    pressure_pa [Pa absolute], h_j_kg [J/kg] and s_j_kgk [J/(kg K)] on the IIR zero (200 kJ/kg and
    1 kJ/(kg K) for saturated liquid at 0 C), rho_kg_m3 [kg/m3] (homogeneous when wet).
    superheat_k: above dew (difference) [K], vapour only. subcooling_k: below bubble (difference) [K],
    liquid only. quality: vapour mass fraction, wet only.
    """

    phase: Phase
    temperature_k: float
    pressure_pa: float
    h_j_kg: float
    s_j_kgk: float
    rho_kg_m3: float
    superheat_k: float | None
    subcooling_k: float | None
    quality: float | None
