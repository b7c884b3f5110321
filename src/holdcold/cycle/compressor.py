"""Compressors as the cycle sees them: pressures and suction gas in, mass flow and power out.

A machine is known either by its AHRI 540 map or by one rated point; the second takes the generic
curve of its group and scales it so that the rated point comes out exactly. Both are corrected to the
suction gas at hand in the form of Dabiri & Rice (1981), see ``compressor_map``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, sqrt
from typing import Final, NamedTuple, Protocol

from holdcold.cycle.compressor_curves import FLOOR, RATIO_POWER, CompressorCurve, curve_for, family_k
from holdcold.cycle.compressor_map import SUPERHEAT_FRACTION, CompressorMap, superheat_corrected
from holdcold.cycle.compressor_motor import running_amps
from holdcold.errors import EnvelopeError, InputError, InputErrors

__all__ = [
    "CompressorCurve", "CompressorMap", "CompressorModel", "Gas",
    "calibrate", "curve_for", "from_map", "discharge_h", "isentropic_h", "running_amps",
    "superheat_corrected",
]  # fmt: skip

HEAT_LOSS: Final = 0.15
"""Share of the electrical input that leaves through the shell; common practice, no source (5 to 20 %)."""

_LEAST_SUPERHEAT_K: Final = 5.0
_BLEND_K2: Final = 4.0
_LOW_BELOW_K: Final = 255.0
_LEAST_RISE_J_KG: Final = 50.0
_HOTTEST_SUPERHEAT_K: Final = 119.5  # just inside the refrigerants' 120 K


class Named(Protocol):
    """Whatever carries a refrigerant's name."""

    @property
    def name(self) -> str:
        """Return the ASHRAE 34 designation."""


class Gas(Protocol):
    """What a compressor needs to know of a refrigerant; ``holdcold.refrigerants`` provides it.

    Pressures are absolute [Pa], temperatures [K], enthalpies [J/kg], entropies [J/kgK].
    """

    @property
    def info(self) -> Named:
        """Return the description that carries the name."""

    def dew_pa(self, t_k: float, /) -> float:
        """Return the dew pressure at a temperature."""

    def dew_k(self, p_pa: float, /) -> float:
        """Return the dew temperature at a pressure."""

    def bubble_k(self, p_pa: float, /) -> float:
        """Return the bubble temperature at a pressure."""

    def h_dew(self, p_pa: float, /) -> float:
        """Return the enthalpy of saturated vapour."""

    def s_dew(self, p_pa: float, /) -> float:
        """Return the entropy of saturated vapour."""

    def vapour(self, t_k: float, p_pa: float, /) -> tuple[float, float, float, float]:
        """Return (h, s, v, cp) of vapour."""

    def liquid(self, t_k: float, p_pa: float, /) -> tuple[float, float, float, float]:
        """Return (h, s, v, cp) of liquid."""

    def vapour_h_ps(self, p_pa: float, s: float, /) -> float:
        """Return the enthalpy of vapour at pressure and entropy."""


@dataclass(frozen=True, slots=True)
class CompressorModel:
    """A compressor ready for the solver; make one with ``calibrate`` or ``from_map``.

    curve: the generic curve, which for a mapped machine only continues the map outside its limits.
    swept_m3_s: apparent swept volume flow [m3/s], that is at relative volumetric efficiency 1.
    power_scale: this machine's power over that of the curve [-].
    reference_pa: reference pressure of the curve for this refrigerant [Pa].
    return_k: suction gas temperature of the rating [K], or None for a map rated at fixed superheat.
    map: the published coefficients, or None.
    heat_loss: share of the input that leaves through the shell [-], 0 to 1.
    """

    curve: CompressorCurve
    swept_m3_s: float
    power_scale: float
    reference_pa: float
    return_k: float | None
    map: CompressorMap | None = None
    heat_loss: float = HEAT_LOSS

    def flow_power(
        self, fluid: Gas, suction_pa: float, suction_k: float, discharge_pa: float
    ) -> tuple[float, float]:
        """Return (mass flow [kg/s], electrical input [W]) for suction gas at a temperature.

        fluid: the refrigerant; suction_pa, discharge_pa: pressures at the compressor [Pa];
        suction_k: gas at the compressor inlet [K], at or above dew. Raises EnvelopeError outside the
        refrigerant's data.
        """
        h, s, v, _ = fluid.vapour(suction_k, suction_pa)
        return self.flow_power_hvs(fluid, suction_pa, h, s, v, discharge_pa)

    def flow_power_hvs(
        self, fluid: Gas, suction_pa: float, h: float, s: float, v: float, discharge_pa: float
    ) -> tuple[float, float]:
        """Return (mass flow [kg/s], electrical input [W]) for any suction state, liquid included.

        fluid: the refrigerant; suction_pa, discharge_pa: pressures at the compressor [Pa]; h, s, v:
        enthalpy [J/kg], entropy [J/kgK] and specific volume [m3/kg] of what enters, homogeneous when
        it holds liquid. Smooth, flow rises with suction and falls with discharge pressure. Raises
        EnvelopeError outside the refrigerant's data.
        """
        if self.map is not None:
            return self._mapped(self.map, fluid, suction_pa, h, s, v, discharge_pa)
        curve = self.curve
        reference_v = fluid.vapour(_reference_k(fluid.dew_k(suction_pa), self.return_k), suction_pa)[2]
        ratio = discharge_pa / suction_pa
        drawn = self.swept_m3_s * (FLOOR + (1.0 - FLOOR) * exp(-curve.slip * (ratio**RATIO_POWER - 1.0)))
        mass = drawn / reference_v * (1.0 + SUPERHEAT_FRACTION * (reference_v / v - 1.0))
        power = curve.indicated * mass * (isentropic_h(fluid, discharge_pa, s) - h)
        power += self.swept_m3_s * curve.losses_pa(suction_pa, discharge_pa, self.reference_pa)
        return mass, self.power_scale * power

    def inside(self, fluid: Gas, suction_pa: float, discharge_pa: float) -> bool:
        """Say whether pressures [Pa] lie where the map was published, or the curve's data were."""
        if self.map is not None:
            return self.map.inside(fluid.dew_k(suction_pa), fluid.dew_k(discharge_pa))
        return self.curve.ratios[0] <= discharge_pa / suction_pa <= self.curve.ratios[1]

    def map_amps(self, fluid: Gas, suction_pa: float, discharge_pa: float) -> float | None:
        """Return the map's own current [A] at pressures [Pa]; None when it states none or is left."""
        if self.map is None or self.map.current is None or not self.inside(fluid, suction_pa, discharge_pa):
            return None
        return self.map.amps(fluid.dew_k(suction_pa), fluid.dew_k(discharge_pa))

    def _mapped(
        self,
        map_: CompressorMap,
        fluid: Gas,
        suction_pa: float,
        h: float,
        s: float,
        v: float,
        discharge_pa: float,
    ) -> tuple[float, float]:
        """Return flow and power from the map, continued by the curve outside its limits."""
        evap_k, cond_k = fluid.dew_k(suction_pa), fluid.dew_k(discharge_pa)
        gas = _map_gas(map_, fluid, evap_k, suction_pa, discharge_pa)
        if map_.inside(evap_k, cond_k):
            mass, power = _map_point(map_, fluid, evap_k, cond_k, gas, discharge_pa)
        else:
            mass, power = self._continued(map_, fluid, gas, suction_pa, discharge_pa)
        # At equal pressures both rises vanish and their ratio becomes that of the volumes.
        small = abs(gas.rise) < _LEAST_RISE_J_KG
        rises = v / gas.v if small else (isentropic_h(fluid, discharge_pa, s) - h) / gas.rise
        return superheat_corrected(mass, power, gas.v / v, rises)

    def _continued(
        self, map_: CompressorMap, fluid: Gas, gas: _MapGas, suction_pa: float, discharge_pa: float
    ) -> tuple[float, float]:
        """Return the nearest map point, moved on by the generic curve in ratio (continuous at the limit)."""
        evap_k, cond_k = map_.clamped(fluid.dew_k(suction_pa), fluid.dew_k(discharge_pa))
        edge_suction_pa, edge_discharge_pa = fluid.dew_pa(evap_k), fluid.dew_pa(cond_k)
        edge_gas = _map_gas(map_, fluid, evap_k, edge_suction_pa, edge_discharge_pa)
        mass, power = _map_point(map_, fluid, evap_k, cond_k, edge_gas, edge_discharge_pa)
        flow, work = self._per_swept(gas, suction_pa, discharge_pa)
        edge_flow, edge_work = self._per_swept(edge_gas, edge_suction_pa, edge_discharge_pa)
        return mass * flow / edge_flow, power * work / edge_work

    def _per_swept(self, gas: _MapGas, suction_pa: float, discharge_pa: float) -> tuple[float, float]:
        """Return (mass [kg/m3], work [J/m3]) of the typical machine per swept volume, with the map's gas."""
        mass = self.curve.volumetric(discharge_pa / suction_pa) / gas.v
        losses = self.curve.losses_pa(suction_pa, discharge_pa, self.reference_pa)
        return mass, self.curve.indicated * mass * gas.rise + losses


class _MapGas(NamedTuple):
    """Suction gas of a map's rating: enthalpy, specific volume, isentropic enthalpy rise."""

    h: float
    v: float
    rise: float


def calibrate(
    fluid: Gas,
    kind: str,
    application: str,
    rated_evap_k: float,
    rated_cond_k: float,
    rated_return_k: float,
    rated_capacity_w: float,
    rated_power_w: float | None,
    rated_subcooling_k: float = 0.0,
) -> CompressorModel:
    """Return the machine of a group that reproduces one rated point exactly.

    fluid: the refrigerant; kind, application: the group (``curve_for``); rated_evap_k, rated_cond_k:
    dew temperatures [K]; rated_return_k: gas at the compressor inlet [K], above rated_evap_k;
    rated_capacity_w: refrigerating effect of gas from liquid at the rated point [W];
    rated_power_w: electrical input there [W], None takes that of the typical machine of this size;
    rated_subcooling_k: liquid below bubble at the rated point (difference) [K], 0 to 40. Raises
    InputErrors, UnknownNameError for a group that does not exist, and EnvelopeError outside the
    refrigerant's data.
    """
    problems = _rating_problems(rated_evap_k, rated_cond_k, rated_return_k, rated_capacity_w, rated_power_w)
    if problems:
        raise InputErrors(problems)
    curve = curve_for(kind, application, fluid.info.name, fluid.dew_pa(family_k()))
    suction_pa, discharge_pa = fluid.dew_pa(rated_evap_k), fluid.dew_pa(rated_cond_k)
    suction = fluid.vapour(rated_return_k, suction_pa)
    liquid_h = fluid.liquid(fluid.bubble_k(discharge_pa) - rated_subcooling_k, discharge_pa)[0]
    unit = CompressorModel(curve, 1.0, 1.0, fluid.dew_pa(curve.reference_k), rated_return_k)
    mass, power = unit.flow_power_hvs(fluid, suction_pa, *suction[:3], discharge_pa)
    swept = rated_capacity_w / (suction[0] - liquid_h) / mass
    scale = curve.typical_scale(swept) if rated_power_w is None else rated_power_w / (swept * power)
    return replace(unit, swept_m3_s=swept, power_scale=scale)


def from_map(map_: CompressorMap, fluid: Gas, kind: str = "semi_hermetic") -> CompressorModel:
    """Return the machine of a published map.

    map_: the coefficients; fluid: the refrigerant they were published for; kind: the group whose curve
    continues the map outside its limits (low temperature when the limits' middle is below 255 K).
    Raises InputError when the map is not positive over its own limits, EnvelopeError when these leave
    the refrigerant's data.
    """
    for evap_k in map_.evap_k:
        for cond_k in map_.cond_k:
            _refuse_unphysical(map_, evap_k, cond_k)
    evap_k, cond_k = 0.5 * (map_.evap_k[0] + map_.evap_k[1]), 0.5 * (map_.cond_k[0] + map_.cond_k[1])
    application = "low" if evap_k < _LOW_BELOW_K else "medium"
    curve = curve_for(kind, application, fluid.info.name, fluid.dew_pa(family_k()))
    suction_pa, discharge_pa = fluid.dew_pa(evap_k), fluid.dew_pa(cond_k)
    gas = _map_gas(map_, fluid, evap_k, suction_pa, discharge_pa)
    mass, power = _map_point(map_, fluid, evap_k, cond_k, gas, discharge_pa)
    model = CompressorModel(curve, 1.0, 1.0, fluid.dew_pa(curve.reference_k), map_.return_gas_k, map_)
    flow, work = model._per_swept(gas, suction_pa, discharge_pa)
    return replace(model, swept_m3_s=mass / flow, power_scale=power / work * flow / mass)


def isentropic_h(fluid: Gas, discharge_pa: float, s: float) -> float:
    """Return the enthalpy [J/kg] at a pressure after compression at constant entropy.

    fluid: the refrigerant; discharge_pa: pressure [Pa]; s: entropy [J/kgK]. Between bubble and dew
    (wet suction) dh = T ds with the dew temperature: exact for a pure fluid, within the glide for a
    blend. Gas hotter than the refrigerant's data goes on with their last heat capacity, so that a
    solver's trial point at a hopeless pressure ratio stays finite; ``CompressorModel.inside`` flags it.
    """
    dry_s = fluid.s_dew(discharge_pa)
    if s < dry_s:
        return fluid.h_dew(discharge_pa) - fluid.dew_k(discharge_pa) * (dry_s - s)
    try:
        return fluid.vapour_h_ps(discharge_pa, s)
    except EnvelopeError:
        last_k = fluid.dew_k(discharge_pa) + _HOTTEST_SUPERHEAT_K
        last_h, last_s, _, cp = fluid.vapour(last_k, discharge_pa)
        return last_h + cp * last_k * (exp((s - last_s) / cp) - 1.0)


def discharge_h(suction_h: float, mass_kg_s: float, power_w: float, heat_loss: float = HEAT_LOSS) -> float:
    """Return the enthalpy of discharged gas [J/kg] from an energy balance over the machine.

    suction_h: enthalpy entering [J/kg]; mass_kg_s: mass flow [kg/s], above 0; power_w: electrical input
    [W]; heat_loss: share of it that leaves through the shell [-].
    """
    return suction_h + power_w * (1.0 - heat_loss) / mass_kg_s


def _rating_problems(
    evap_k: float, cond_k: float, return_k: float, capacity_w: float, power_w: float | None
) -> list[InputError]:
    """Return what is wrong with a rated point."""
    problems = []
    if not evap_k < cond_k:
        problems.append(InputError("rated_evap_k", evap_k, f"below {cond_k} K", "Evaporating is the colder."))
    if not return_k >= evap_k:
        problems.append(
            InputError("rated_return_k", return_k, f"{evap_k} K or more", "Gas returns above dew.")
        )
    for name, value in (("rated_capacity_w", capacity_w), ("rated_power_w", power_w)):
        if value is not None and not value > 0.0:
            problems.append(InputError(name, value, "above 0 W", "Give watts at the rated point."))
    return problems


def _reference_k(dew_k: float, return_k: float | None) -> float:
    """Return the rating's suction gas [K], kept a few kelvin above dew by a smooth maximum."""
    if return_k is None:
        return dew_k + _LEAST_SUPERHEAT_K
    over = return_k - dew_k - _LEAST_SUPERHEAT_K
    return dew_k + _LEAST_SUPERHEAT_K + 0.5 * (over + sqrt(over * over + _BLEND_K2))


def _map_gas(
    map_: CompressorMap, fluid: Gas, evap_k: float, suction_pa: float, discharge_pa: float
) -> _MapGas:
    """Return the suction gas a map was rated with."""
    h, s, v, _ = fluid.vapour(map_.suction_k(evap_k), suction_pa)
    return _MapGas(h, v, isentropic_h(fluid, discharge_pa, s) - h)


def _map_point(
    map_: CompressorMap, fluid: Gas, evap_k: float, cond_k: float, gas: _MapGas, discharge_pa: float
) -> tuple[float, float]:
    """Return flow and power the map states, flow from capacity when it states no flow."""
    if map_.mass_flow is not None:
        return map_.raw(evap_k, cond_k)[:2]
    liquid_h = fluid.liquid(fluid.bubble_k(discharge_pa) - map_.subcooling_k, discharge_pa)[0]
    return map_.capacity_w(evap_k, cond_k) / (gas.h - liquid_h), map_.power_w(evap_k, cond_k)


def _refuse_unphysical(map_: CompressorMap, evap_k: float, cond_k: float) -> None:
    """Raise InputError when a map gives no positive flow (or capacity) and power at a corner."""
    passed = map_.raw(evap_k, cond_k)[0] if map_.mass_flow is not None else map_.capacity_w(evap_k, cond_k)
    if passed > 0.0 and map_.power_w(evap_k, cond_k) > 0.0:
        return
    raise InputError(
        "compressor_map",
        (evap_k, cond_k),
        "flow and power above 0 over the published limits",
        "Check units and coefficient order, or narrow the limits to the published envelope.",
    )
