"""Random units: what a machine truly is, and the card a technician would write for it.

Sizes follow common practice (no source) and the box load of public formulas: walls by R-value, air changes by
the published fit of the textbook table, the rest as a share. The true machine scatters about what the card
says: capacity 8 %, TD and split 20 %, airflow 15 %, superheat setting 1.5 K, receiver fill, line drops.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from benchmarks.truth.circuit import Around, Machine, NoPointError, look, solve_at
from benchmarks.truth.compressors import Compressor, pump
from benchmarks.truth.exchangers import Coil, condense, evaporate, humidity
from benchmarks.truth.expansion import Capillary, Valve, capillary_flow
from benchmarks.truth.props import Fluid, fluid
from scipy.optimize import brentq

KINDS = (("walk_in", "cooler", 0.45), ("walk_in", "freezer", 0.30), ("reach_in", "cooler", 0.17),
         ("reach_in", "freezer", 0.08))  # fmt: skip
GASES = {
    ("walk_in", "cooler"): {"R-449A": 0.28, "R-404A": 0.2, "R-448A": 0.2, "R-22": 0.16, "R-134a": 0.16},
    ("walk_in", "freezer"): {"R-448A": 0.33, "R-404A": 0.35, "R-449A": 0.27, "R-22": 0.05},
    ("reach_in", "cooler"): {"R-290": 0.5, "R-134a": 0.4, "R-404A": 0.1},
    ("reach_in", "freezer"): {"R-290": 0.55, "R-404A": 0.45},
}
HP_SIZES = (0.2, 0.25, 0.33, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 10.0)
W_PER_HP = {"cooler": 2850.0, "freezer": 1650.0}
"""Capacity of a horsepower at usual rating points; common practice, no source."""

FT = 0.3048
F = 5.0 / 9.0


@dataclass(frozen=True)
class Unit:
    """A unit: the healthy machine, the facts around it and the card text.

    start: unknowns of the circuit at rating, where every solve begins. rated_w: true capacity at rating [W].
    set_k: set point. volts, phases. fans_c, fans_e. location. defrost. low_pa, high_pa: cut-outs. ports.
    head_on_pa, head_off_pa: where the cycled condenser fan starts and stops; 0 where none is.
    """

    machine: Machine
    start: np.ndarray
    card: str
    kind: str
    application: str
    location: str
    rated_w: float
    rated_ambient_k: float
    set_k: float
    volts: float
    phases: int
    fans_c: int
    fans_e: int
    defrost: str
    low_pa: float
    high_pa: float
    ports: bool
    relative: float
    head_on_pa: float
    head_off_pa: float

    @property
    def device(self) -> str:
        """The expansion device's word."""
        return "txv" if isinstance(self.machine.device, Valve) else "capillary"


def k_of_f(fahrenheit: float) -> float:
    """Return kelvin."""
    return (fahrenheit - 32.0) * F + 273.15


def _psig(p: float) -> float:
    return (p - 101325.0) / 6894.76


def draw(rng: np.random.Generator, kind: str | None = None, application: str | None = None) -> Unit:
    """Return a random unit; ``kind`` and ``application`` may be given."""
    options = [one for one in KINDS if kind in (None, one[0]) and application in (None, one[1])]
    shares = np.array([one[2] for one in options])
    kind, application, _ = options[int(rng.choice(len(options), p=shares / shares.sum()))]
    gases = GASES[kind, application]
    gas = str(rng.choice(list(gases), p=np.array(list(gases.values())) / sum(gases.values())))
    while True:
        plan = _Plan(rng, kind, application, gas)
        try:
            machine, start = plan.machine()
        except (ValueError, NoPointError):  # drawn facts that no coil can meet: draw again
            continue
        return plan.unit(machine, start)


def _spread(rng: np.random.Generator, share: float) -> float:
    return float(math.exp(np.clip(rng.normal(0.0, share), -2.5 * share, 2.5 * share)))


class _Plan:
    """The numbers of one unit while it is being drawn and sized."""

    def __init__(self, rng: np.random.Generator, kind: str, application: str, gas: str) -> None:
        self.rng, self.kind, self.application, self.gas = rng, kind, application, gas
        self.f: Fluid = fluid(gas)
        self.freezer = application == "freezer"
        self.walk_in = kind == "walk_in"
        self.location = (
            str(rng.choice(["outdoor", "indoor", "roof"], p=[0.45, 0.4, 0.15])) if self.walk_in else "indoor"
        )
        self.set_k = k_of_f(float(rng.choice([-10, -5, 0]) if self.freezer else rng.choice([35, 36, 37, 38])))
        self.air_k = k_of_f(-10.0 if self.freezer else 35.0) if self.walk_in else self.set_k
        self.ambient_k = k_of_f(95.0 if self.location != "indoor" else 90.0)
        self.stated_w = self._needed() * float(rng.uniform(0.95, 1.3))
        self.hp = self._horsepower()
        self.by_hp = bool(rng.random() < (0.55 if self.walk_in else 0.85))
        if self.by_hp:
            self.stated_w = self.hp * W_PER_HP[application] * float(rng.uniform(0.9, 1.1))
        self.rated_w = self.stated_w * _spread(rng, 0.08)
        usual_td = (10.0 if self.walk_in else 17.0) * F
        self.td = usual_td * _spread(rng, 0.18)
        self.split = (25.0 if not self.freezer else 22.0) * F * _spread(rng, 0.18)
        self.superheat = max(2.0, (8.0 if not self.freezer else 6.0) * F + float(rng.normal(0.0, 1.5)))
        self.superheat = min(self.superheat, 0.7 * self.td)
        self.relative = float(rng.uniform(0.72, 0.86))
        self.phases = 3 if self.walk_in and self.hp >= 2.0 and rng.random() < 0.6 else 1
        self.volts = 230.0 if self.walk_in else (115.0 if self.hp < 0.8 else 230.0)
        self.fans_c = 1 if not self.walk_in or self.hp < 1.4 else int(rng.choice([1, 2], p=[0.35, 0.65]))
        self.fans_e = (
            int(np.clip(round(self.rated_w / 1500.0), 1, 5)) if self.walk_in else int(rng.choice([1, 2]))
        )
        self.ports = self.walk_in or bool(rng.random() < (0.25 if gas == "R-290" else 0.6))
        self.glide_e = self._glide(self.f.p_dew(self.air_k - self.td))
        self.glide_c = self._glide(self.f.p_dew(self.ambient_k + self.split))
        self.dew_e = self.air_k - self.td + 0.3 * self.glide_e
        self.dew_c = self.ambient_k + self.split + 0.4 * self.glide_c

    def _glide(self, p: float) -> float:
        sat = self.f.sat(p)
        return sat.t_d - sat.t_b

    def _needed(self) -> float:
        """Return the capacity the box needs [W]; sets the box on the way."""
        rng = self.rng
        if not self.walk_in:
            self.volume_ft3 = float(rng.integers(20, 62))
            return self.volume_ft3 * (15.0 if not self.freezer else 14.0) * _spread(rng, 0.15)
        self.sides_ft = (
            float(rng.integers(6, 17)),
            float(rng.integers(6, 13)),
            float(rng.choice([7.5, 8, 8, 9])),
        )
        a, b, c = (side * FT for side in self.sides_ft)
        out_k = k_of_f(85.0)
        walls = (
            5.678
            / (25.0 if not self.freezer else 29.0)
            * (2 * (a + b) * c + 2 * a * b)
            * (out_k - self.set_k)
        )
        volume = a * b * c
        changes = 596.21 * (volume / FT**3) ** -0.548 if self.freezer else 817.5 * (volume / FT**3) ** -0.5551
        heat = 1.2 * volume * 1.005e3 * (out_k - self.set_k) * 1.9
        air = changes * heat / 86400.0
        rest = 0.45 * (walls + air) * _spread(rng, 0.25) + 45.0 * a * b
        hours = 18.0 if self.freezer else 16.0
        self.day_load = walls + air + rest
        return self.day_load * 24.0 / hours

    def _horsepower(self) -> float:
        raw = self.stated_w / W_PER_HP[self.application] * _spread(self.rng, 0.05)
        return min(HP_SIZES, key=lambda size: abs(math.log(size / raw)))

    # ------------------------------------------------------------------ sizing
    def machine(self) -> tuple[Machine, np.ndarray]:
        """Return the healthy machine, every part sized to its own (scattered) rating point."""
        rng, f = self.rng, self.f
        p_e, p_c = f.p_dew(self.dew_e), f.p_dew(self.dew_c)
        sat_e, sat_c = f.sat(p_e), f.sat(p_c)
        drain = float(rng.uniform(0.3, 2.2)) if self.walk_in else float(rng.uniform(3.0, 7.0))
        p_cl = p_c - 0.012 * p_c
        liquid = f.sat(p_cl)
        h_liquid = liquid.h_l - liquid.c_l * drain
        exchange = float(rng.uniform(4.0, 10.0)) if not self.walk_in else 0.0
        h_valve = h_liquid - exchange * sat_c.c_l * 0.5
        h_out = sat_e.h_v + sat_e.c_v * self.superheat
        m = self.rated_w / (h_out - h_valve)
        total = float(rng.uniform(4.0, 9.0)) + (2.0 if self.freezer else 0.0) + exchange
        suction_ua = m * sat_e.c_v * total / (self.ambient_k - 3.0 - (self.dew_e + self.superheat))
        suction_drop = float(rng.uniform(0.02, 0.06)) * (1.0 if self.walk_in else 0.6) * p_e
        comp = self._compressor(m, p_e - suction_drop, h_out + sat_e.c_v * total, p_c)
        pumped = pump(f, comp, p_e - suction_drop, h_out + sat_e.c_v * total, p_c, self.volts)
        condenser = self._condenser(m, pumped.h_out, p_c, h_liquid)
        coil = self._coil(m, h_valve, p_e, h_out)
        v_liquid = 1.0 / f.rho_liquid(liquid.t_b - drain)
        line_m = float(rng.uniform(4.0, 18.0)) if self.walk_in else 1.0
        bore = 0.0080 if m < 0.035 else 0.0111
        v_suction = f.volume(p_e, h_out)
        machine = Machine(
            refrigerant=self.gas,
            compressor=comp,
            condenser=condenser,
            coil=coil,
            device=self._device(m, p_e, p_cl, h_valve, coil),
            receiver_volume=0.0,
            drain_k=drain if self.walk_in else 0.0,
            liquid_volume=math.pi / 4.0 * bore**2 * line_m if self.walk_in else 1e-5,
            liquid_friction=float(rng.uniform(6e3, 22e3)) / (m * m * v_liquid * 1100.0)
            if self.walk_in
            else 0.0,
            lift=float(rng.uniform(-1.0, 3.0)) if self.walk_in else 0.0,
            liquid_ua=0.35 * line_m if self.walk_in else -m * sat_c.c_l * exchange * 0.5 / 20.0,
            suction_volume=math.pi / 4.0 * (2.2 * bore) ** 2 * line_m,
            suction_friction=suction_drop / (m * m * v_suction * 10.0),
            suction_ua=suction_ua,
            drier=float(rng.uniform(4e3, 14e3)) / (m * m * v_liquid * 1100.0),
            shell_volume=4e-3 * (self.rated_w / 3000.0) ** 0.8,
            oil_kg=0.9 * (self.rated_w / 3000.0) ** 0.7,
            charge=0.0,
        )
        if not self.walk_in:
            machine = replace(machine, liquid_ua=0.0, heater_w=-m * sat_c.c_l * exchange * 0.5)
        return self._charged(
            machine,
            np.array([math.log(p_e), math.log(p_c), self.superheat * sat_e.c_v / (sat_e.h_v - sat_e.h_l)]),
        )

    def _compressor(self, m: float, p_s: float, h_s: float, p_c: float) -> Compressor:
        rng = self.rng
        if self.walk_in:
            kind = str(rng.choice(["hermetic", "semi_hermetic", "scroll"], p=[0.5, 0.15, 0.35]))
            if self.hp < 1.0:
                kind = "hermetic"
        else:
            kind = "hermetic"
        best = {"hermetic": 0.66, "semi_hermetic": 0.70, "scroll": 0.68}[kind] * _spread(rng, 0.05)
        if self.hp < 0.6:
            best *= 0.84
        trial = Compressor(
            kind=kind,
            swept=1e-3,
            clearance=float(rng.uniform(0.03, 0.055)),
            best=best,
            p_rise=0.45 * p_s,
            built_in=3.6 if self.freezer else 2.7,
            warming=float(rng.uniform(4.0, 12.0)) if kind != "scroll" else 4.0,
            shell_loss=float(rng.uniform(0.08, 0.2)),
            slip=0.03,
            phases=self.phases,
            volts=self.volts,
            magnetising=float(rng.uniform(0.45, 0.75)),
            rated_w=1.0,
        )
        rated = pump(self.f, trial, p_s, h_s, p_c, self.volts)
        sized = replace(trial, swept=1e-3 * m / rated.m, rated_w=rated.watts * m / rated.m)
        again = pump(self.f, sized, p_s, h_s, p_c, self.volts)
        return replace(sized, rated_w=again.watts)

    def _condenser(self, m: float, h_dis: float, p_c: float, h_liquid: float) -> Coil:
        f, rng = self.f, self.rng
        heat = m * (h_dis - h_liquid)
        rise = 0.58 * self.split * _spread(rng, 0.14)
        volume = 0.22e-3 * (heat / 1000.0) * _spread(rng, 0.15)
        flow_area = math.pi / 4.0 * 0.0085**2 * max(1.0, m / 0.012)
        split_ua = float(rng.uniform(0.66, 0.78))
        base = Coil(volume, flow_area, 1.0, 1.0, m, heat / rise, 14, 0.012 * p_c, 1.0, 0.55)
        p = p_c - 0.006 * p_c
        h_in = h_dis - 0.04 * (f.temperature(p_c, h_dis) - self.ambient_k) * f.sat(p_c).c_v

        def gap(log_ua: float) -> float:
            ua = math.exp(log_ua)
            coil = replace(base, ua_air=ua / split_ua, ua_ref=ua / (1.0 - split_ua) / 3.2)
            return condense(f, coil, m, h_in, p, self.ambient_k, 1.0, 1.0, 0.0).h - h_liquid

        ua = math.exp(brentq(gap, math.log(heat / 200.0), math.log(heat / 0.8), xtol=1e-6))
        return replace(base, ua_air=ua / split_ua, ua_ref=ua / (1.0 - split_ua) / 3.2)

    def _coil(self, m: float, h_valve: float, p_e: float, h_out: float) -> Coil:
        f, rng = self.f, self.rng
        drop = (0.5 if self.walk_in else 0.42) * self.td * _spread(rng, 0.14)
        volume = 0.32e-3 * (self.rated_w / 1000.0) * (10.0 * F / self.td) * _spread(rng, 0.15)
        flow_area = math.pi / 4.0 * 0.0110**2 * max(1.0, m / 0.010)
        split_ua = float(rng.uniform(0.55, 0.7))
        sat = f.sat(p_e)
        v = f.volume(p_e, 0.5 * (h_valve + sat.h_v))
        dp = float(rng.uniform(0.02, 0.05)) * p_e
        base = Coil(
            volume,
            flow_area,
            1.0,
            1.0,
            m,
            0.88 * self.rated_w / drop,
            14,
            dp,
            v,
            0.6,
            float(rng.uniform(0.85, 0.93)),
        )
        wet = humidity(self.air_k, self.relative)

        def gap(log_ua: float) -> float:
            ua = math.exp(log_ua)
            coil = replace(base, ua_air=ua / split_ua, ua_ref=ua / (1.0 - split_ua) / 6.0)
            return evaporate(f, coil, m, h_valve, p_e + 0.5 * dp, self.air_k, wet, 1.0, 1.0).h - h_out

        ua = math.exp(brentq(gap, math.log(self.rated_w / 200.0), math.log(self.rated_w / 0.2), xtol=1e-6))
        return replace(base, ua_air=ua / split_ua, ua_ref=ua / (1.0 - split_ua) / 6.0)

    def _device(self, m: float, p_e: float, p_cl: float, h_valve: float, coil: Coil) -> Valve | Capillary:
        f, rng = self.f, self.rng
        p_in, p_out = p_cl * 0.985, p_e + coil.dp_rated
        if not self.walk_in:
            bore = 0.8e-3 if m > 0.0025 else 0.66e-3
            while capillary_flow(f, Capillary(bore, 0.7, 0.030), p_in, h_valve, p_out) < m:
                bore *= 1.15

            def gap(length: float) -> float:
                return capillary_flow(f, Capillary(bore, length, 0.030), p_in, h_valve, p_out) - m

            length = brentq(gap, 0.6, 40.0) if gap(40.0) < 0.0 else 40.0
            return Capillary(bore, length, 0.030)
        reserve = float(rng.uniform(1.2, 1.7))
        cross, middle = float(rng.uniform(0.82, 1.0)), self.dew_e
        opening_k = float(rng.uniform(2.5, 4.5))
        force = f.p_dew(middle) + cross * (f.p_dew(middle + self.superheat) - f.p_dew(middle)) - p_e
        stroke = cross * (f.p_dew(middle + self.superheat + opening_k) - f.p_dew(middle + self.superheat))
        rho = f.rho_liquid(f.t_liquid(min(h_valve, f.sat(p_in).h_l)))
        area = m / math.sqrt(2.0 * rho * (p_in - p_out)) * reserve
        return Valve(
            area, force - stroke / reserve, stroke, cross, middle, contact=float(rng.uniform(0.0, 0.05))
        )

    def _charged(self, machine: Machine, start: np.ndarray) -> tuple[Machine, np.ndarray]:
        """Return the machine with its receiver and its right charge."""
        where = Around(self.ambient_k, self.air_k, self.ambient_k - 3.0, self.volts, self.relative)
        if not self.walk_in:
            target = self.rng.uniform(3.0, 7.0) / 25.0
            seen, x = solve_at(machine, where, float(target), start)
            return replace(machine, charge=seen.charge), x
        seen, x = solve_at(machine, where, 0.5, start)
        r_l = machine.f.sat(seen.p_liquid).r_l
        volume = seen.charge / (0.8 * r_l) * float(self.rng.uniform(0.85, 1.35))
        machine = replace(machine, receiver_volume=volume)
        fill = float(self.rng.uniform(0.15, 0.5))
        seen = look(machine, where, x, fill)
        return replace(machine, charge=seen.charge), x

    # -------------------------------------------------------------------- card
    def unit(self, machine: Machine, start: np.ndarray) -> Unit:
        """Return the unit with its card."""
        rng = self.rng
        low = max(machine.f.p_dew(self.set_k - (30.0 if not self.freezer else 26.0) * F - self.td), 1.15e5)
        high = min(machine.f.p_dew(273.15 + float(rng.uniform(61.0, 65.0))), machine.f.p_max * 0.98)
        cycled = self.fans_c == 2 and self.location != "indoor" and rng.random() < 0.6
        on = machine.f.p_dew(k_of_f(float(rng.uniform(95, 104)))) if cycled else 0.0
        off = machine.f.p_dew(k_of_f(float(rng.uniform(78, 86)))) if cycled else 0.0
        defrost = "electric" if self.freezer and self.walk_in else ("off_cycle" if self.walk_in else "none")
        if self.freezer and not self.walk_in:
            defrost = "electric"
        return Unit(
            machine=machine, start=start, card=self._card(low, defrost, machine, on, off), kind=self.kind,
            application=self.application, location=self.location, rated_w=self.rated_w,
            rated_ambient_k=self.ambient_k, set_k=self.set_k, volts=self.volts, phases=self.phases,
            fans_c=self.fans_c, fans_e=self.fans_e, defrost=defrost, low_pa=low, high_pa=high,
            ports=self.ports,
            relative=self.relative, head_on_pa=on, head_off_pa=off,
        )  # fmt: skip

    def _card(self, low: float, defrost: str, machine: Machine, on: float, off: float) -> str:
        """Return what a technician would write down: five facts always, the rest now and then."""
        rng = self.rng
        lines = ["schema = 1", f'kind = "{self.kind}"', f'refrigerant = "{self.gas}"',
                 f'application = "{self.application}"', "", "[box]"]  # fmt: skip
        if self.walk_in:
            names = ("length", "width", "height")
            lines += [f'{name} = "{side:g} ft"' for name, side in zip(names, self.sides_ft, strict=True)]
        else:
            lines += [f'volume = "{self.volume_ft3:g} ft3"']
        lines += ["", "[capacity]"]
        if self.by_hp:
            lines += [f'horsepower = "{self.hp:g} hp"']
        else:
            lines += [f'rated = "{self.stated_w / 293.07:.1f} kBtu/h"']
            if rng.random() < 0.6:
                lines += [
                    f'suction = "{(self.dew_e - 273.15) / F + 32.0 - 2.0:.0f} F"',
                    f'ambient = "{(self.ambient_k - 273.15) / F + 32.0:.0f} F"',
                ]
        lines += ["", "[supply]", f'voltage = "{self.volts:g} V"', f"phases = {self.phases}"]
        if rng.random() < 0.6:
            lines += ["", "[compressor]", f'kind = "{machine.compressor.kind}"']
        lines += ["", "[condenser]", f'location = "{self.location}"', f"fans = {self.fans_c}"]
        if on > 0.0:
            lines += ["", "[head]", 'control = "fan_cycling"', f'fan_on = "{_psig(on):.0f} psig"',
                      f'fan_off = "{_psig(off):.0f} psig"', "fans_cycled = 1"]  # fmt: skip
        lines += ["", "[expansion]", f'device = "{"txv" if self.walk_in else "capillary"}"']
        if self.walk_in and rng.random() < 0.7:
            length = machine.suction_volume / (
                math.pi / 4.0 * (2.2 * (0.0080 if machine.coil.m_rated < 0.035 else 0.0111)) ** 2
            )
            lines += ["", "[lines]", f'length = "{length / FT:.0f} ft"']
        lines += ["", "[coil]", f"fans = {self.fans_e}"]
        lines += ["", "[controls]", f'set_point = "{(self.set_k - 273.15) / F + 32.0:.0f} F"']
        if self.walk_in and rng.random() < 0.5:
            lines += [f'low_cut_out = "{_psig(low):.0f} psig"']
        lines += ["", "[charge]", f"ports = {'true' if self.ports else 'false'}"]
        if not self.walk_in and rng.random() < 0.8:
            lines += [f'amount = "{machine.charge * 35.274:.1f} oz"']
        elif self.walk_in and rng.random() < 0.15:
            lines += [f'amount = "{machine.charge * 2.2046:.1f} lb"']
        lines += ["", "[defrost]", f'kind = "{defrost}"', ""]
        return "\n".join(lines)
