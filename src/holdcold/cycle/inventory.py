"""How much refrigerant is where: the charge an operating point holds."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from holdcold.cycle.circuit import Pass, above_zero
from holdcold.cycle.heat import liquid_fraction
from holdcold.cycle.setting import Setting
from holdcold.refrigerants import Fluid

_SHELL_WETNESS = 0.15


@dataclass(frozen=True, slots=True)
class Inventory:
    """Refrigerant by place [kg]; the parts add up to ``total_kg``."""

    coil_kg: float
    suction_kg: float
    shell_kg: float
    condenser_kg: float
    receiver_kg: float
    liquid_line_kg: float

    @property
    def total_kg(self) -> float:
        """All of it [kg]."""
        return (
            self.coil_kg
            + self.suction_kg
            + self.shell_kg
            + self.condenser_kg
            + self.receiver_kg
            + self.liquid_line_kg
        )


def _shell_liquid(fluid: Fluid, run: Pass) -> float:
    """Return the liquid a compressor shell (or suction accumulator) holds back, per volume [kg/m3].

    A low-side shell keeps liquid that returns until motor heat boils it away; it fills towards half
    its volume as the returning stream gets wetter (common practice, no source: a shell is a small
    suction accumulator). Nothing is held back while dry gas returns.
    """
    dry_h, bubble_h = fluid.h_dew(run.guess.suction_pa), fluid.h_bubble(run.guess.suction_pa)
    wetness = above_zero((dry_h - run.low.inlet_h) / (dry_h - bubble_h), 2e-3)
    return 0.5 * fluid.rho_bubble(run.guess.suction_pa) * (1.0 - exp(-wetness / _SHELL_WETNESS))


def inventory(setting: Setting, run: Pass) -> Inventory:
    """Return the refrigerant each part holds at ``run``.

    Boiling and condensing lengths take the mean liquid fraction of ``liquid_fraction``; the
    superheating end of the coil, suction line and shell hold gas; the flooded share of the condenser
    and the liquid line hold what leaves the condenser. Refrigerant dissolved in oil is left out.
    """
    design, fluid = setting.unit.design, setting.unit.fluid
    low, high, guess = run.low, run.liquid, run.guess
    coil_vapour, coil_liquid = fluid.rho_dew(low.coil_pa), fluid.rho_bubble(low.coil_pa)
    bubble_h, dew_h = fluid.h_bubble(low.coil_pa), fluid.h_dew(low.coil_pa)
    span = dew_h - bubble_h
    quality_in = min(1.0, max(0.0, (run.valve.valve_h - bubble_h) / span))
    quality_out = min(1.0, max(quality_in, (low.outlet_h - bubble_h) / span))
    wet = liquid_fraction(quality_in, quality_out, coil_vapour / coil_liquid)
    boiling = coil_vapour + (coil_liquid - coil_vapour) * wet
    dry = max(0.0, guess.gas_share)
    coil = design.coil_m3 * ((1.0 - dry) * boiling + dry * coil_vapour)
    vapour, liquid = fluid.rho_dew(guess.condensing_pa), fluid.rho_bubble(guess.condensing_pa)
    wet = liquid_fraction(min(1.0, max(0.0, high.quality)), 1.0, vapour / liquid)
    condensing = vapour + (liquid - vapour) * wet
    condenser = design.condenser_m3 * ((1.0 - high.flooded) * condensing + high.flooded * high.density)
    level = min(max(guess.level, 0.0), 1.0)
    receiver = design.receiver_m3 * (level * high.density + (1.0 - level) * vapour)
    held = design.shell_m3 + design.accumulator_m3
    if low.other_flow:
        coil += coil * design.other_capacity_w / design.rated_capacity_w
    return Inventory(
        coil_kg=coil,
        suction_kg=design.suction_line_m3 / low.inlet_v,
        shell_kg=held * (1.0 / low.inlet_v + _shell_liquid(fluid, run)),
        condenser_kg=condenser,
        receiver_kg=receiver,
        liquid_line_kg=design.liquid_line_m3 * run.valve.receiver_density,
    )
