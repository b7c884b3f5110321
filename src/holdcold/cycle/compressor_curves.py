"""Generic compressor curves: how flow and power of a typical machine move with its pressures.

Per cubic metre of swept volume a machine of a group passes ``volumetric(pd/ps)`` and takes the work

    indicated * (mass * isentropic rise) + suction * ps + discharge * pd + standing * p_ref

where p_ref is the refrigerant's dew pressure at the group's reference temperature. The pressure terms
stand for valve, leakage, bearing and motor losses; all four factors are positive, so that power stays
positive and smooth at any pressure ratio. Numbers: ``data/compressor_curves.toml``, fitted by
``tools/fit_compressors`` to public maps; their measured errors stand beside them (docs/compressors.md).
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import exp, log
from typing import Any, Final, Literal

from holdcold.errors import UnknownNameError

CompressorKind = Literal["hermetic", "semi_hermetic", "scroll"]
Application = Literal["low", "medium"]

FLOOR: Final = 0.05
"""Least relative volumetric efficiency [-]: a guard for the solver, far outside every envelope."""

RATIO_POWER: Final = 0.8
"""Exponent of the pressure ratio; 0.4 to 1.0 fit alike (docs/compressors.md), so it is not fitted."""

_FAMILY_K: Final = 253.15
_KINDS: Final = ("hermetic", "semi_hermetic", "scroll")
_APPLICATIONS: Final = ("low", "medium")


@dataclass(frozen=True, slots=True)
class CompressorCurve:
    """The generic curve of one group of machines.

    kind, application, family: the group; family is named after the refrigerant it was fitted with.
    slip: loss of volumetric efficiency with pressure ratio [-], 0 or more.
    indicated: electrical over isentropic work of the gas [-]; suction, discharge, standing: losses per
    swept volume over suction, discharge and reference pressure [-].
    reference_k: dew temperature of the reference pressure [K].
    typical_m3_s, size_exponent: swept volume flow of the typical machine [m3/s], and how power per swept
    volume goes with size [-]: small machines take more. sizes_m3_s: smallest and largest in the data [m3/s].
    ratios: least and largest pressure ratio of the data behind it [-].
    power_spread: tenth and ninetieth percentile of machine over typical power of its size [-], for a
    machine whose power nobody gave.
    capacity_error, power_error: (median, p90) of the error on machines not fitted, calibrated at one
    point [-]; None for a curve carried over from another group.
    origin: ``"fitted"``, or what was carried over from where.
    """

    kind: str
    application: str
    family: str
    slip: float
    indicated: float
    suction: float
    discharge: float
    standing: float
    reference_k: float
    typical_m3_s: float
    size_exponent: float
    sizes_m3_s: tuple[float, float]
    ratios: tuple[float, float]
    power_spread: tuple[float, float]
    capacity_error: tuple[float, float] | None
    power_error: tuple[float, float] | None
    origin: str

    def volumetric(self, ratio: float) -> float:
        """Return the volumetric efficiency at a pressure ratio over that at ratio 1, FLOOR to 1 and a bit."""
        return FLOOR + (1.0 - FLOOR) * exp(-self.slip * (ratio**RATIO_POWER - 1.0))

    def typical_scale(self, swept_m3_s: float) -> float:
        """Return the power of a machine of this size over that of the curve [-]; size [m3/s] above 0.

        A size outside the data counts as the nearest in them.
        """
        size = min(max(swept_m3_s, self.sizes_m3_s[0]), self.sizes_m3_s[1])
        return float((size / self.typical_m3_s) ** self.size_exponent)

    def losses_pa(self, suction_pa: float, discharge_pa: float, reference_pa: float) -> float:
        """Return the loss work per swept volume [J/m3] at suction, discharge and reference pressure [Pa]."""
        return self.suction * suction_pa + self.discharge * discharge_pa + self.standing * reference_pa


def curve_for(kind: str, application: str, refrigerant: str, dew_pa: float) -> CompressorCurve:
    """Return the generic curve of a group of machines.

    kind: hermetic (reciprocating), semi_hermetic (reciprocating) or scroll; application: low or medium;
    refrigerant: its ASHRAE 34 name, listed in the data or else judged by ``dew_pa``, its dew pressure
    at -20 C [Pa]. Raises UnknownNameError for a kind or application that is in no list.
    """
    if kind not in _KINDS:
        raise UnknownNameError("compressor_kind", kind, _KINDS)
    if application not in _APPLICATIONS:
        raise UnknownNameError("application", application, _APPLICATIONS)
    return _curves()[kind, application, family_of(refrigerant, dew_pa)]


def family_of(refrigerant: str, dew_pa: float) -> str:
    """Return the family whose machines a refrigerant is used in.

    refrigerant: ASHRAE 34 name; dew_pa: its dew pressure at -20 C [Pa], which decides (nearest in
    ratio) when the name is not listed. The listing is common practice, no source.
    """
    families: dict[str, Any] = _data()["family"]
    for name, family in families.items():
        if refrigerant in family["refrigerants"]:
            return name
    return min(families, key=lambda name: abs(log(dew_pa / families[name]["dew_pa_253k"])))


def family_k() -> float:
    """Return the temperature [K] at which ``curve_for`` wants the dew pressure."""
    return _FAMILY_K


@cache
def _data() -> dict[str, Any]:
    """Read the packaged numbers."""
    text = (files("holdcold.cycle") / "data" / "compressor_curves.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def _curves() -> dict[tuple[str, str, str], CompressorCurve]:
    """Return every group's curve by (kind, application, family)."""
    return {(row["kind"], row["application"], row["family"]): _curve(row) for row in _data()["curve"]}


def _curve(row: dict[str, Any]) -> CompressorCurve:
    """Return one curve of the data file; errors are absent where nothing was measured."""

    def pair(name: str) -> tuple[float, float] | None:
        return (row[name][0], row[name][1]) if name in row else None

    return CompressorCurve(
        kind=row["kind"],
        application=row["application"],
        family=row["family"],
        slip=row["slip"],
        indicated=row["indicated"],
        suction=row["suction"],
        discharge=row["discharge"],
        standing=row["standing"],
        reference_k=row["reference_k"],
        typical_m3_s=row["typical_m3_s"],
        size_exponent=row["size_exponent"],
        sizes_m3_s=(row["sizes_m3_s"][0], row["sizes_m3_s"][1]),
        ratios=(row["ratios"][0], row["ratios"][1]),
        power_spread=(row["power_spread"][0], row["power_spread"][1]),
        capacity_error=pair("capacity_error"),
        power_error=pair("power_error"),
        origin=row["origin"],
    )
