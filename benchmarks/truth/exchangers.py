"""Air-cooled condenser and air cooler, marched along the refrigerant in segments with moving phase
boundaries.

Every segment meets fresh air (cross flow). Two-phase coefficients: condensing Shah (1979), boiling Gungor and
Winterton (1987) with a linear dry-out; void fraction Rouhani and Axelsson (1970), drift-flux form. All three
from memory, as ratios to the liquid-only coefficient, so that no transport property is needed. Wet or
frosting surfaces take vapour out of the air by the Lewis analogy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchmarks.truth.props import Fluid, Sat

_SURFACE_TENSION = 0.009
_SLIP_FLUX = 1.18
_GRAVITY = 9.81


@dataclass(frozen=True)
class Coil:
    """One exchanger.

    volume [m3] and flow_area [m2] of its tubes; ua_air [W/K] on the air side at rated air; ua_ref [W/K] on
    the refrigerant side as liquid only at rated flow m_rated [kg/s]; c_air [W/K] heat capacity flow of rated
    air; segments along the refrigerant; dp_rated [Pa] frictional drop at rated flow and v_rated [m3/kg].
    """

    volume: float
    flow_area: float
    ua_air: float
    ua_ref: float
    m_rated: float
    c_air: float
    segments: int
    dp_rated: float
    v_rated: float
    air_exponent: float
    dry_out: float = 0.9


@dataclass(frozen=True)
class Leaving:
    """What leaves an exchanger: refrigerant enthalpy, heat given or taken [W], air, charge inside [kg]."""

    h: float
    heat: float
    air_k: float
    charge: float
    wet_share: float


def void_fraction(x: float, sat: Sat, flux: float) -> float:
    """Return the share of a tube's section that vapour fills (Rouhani and Axelsson), flux in kg/m2s."""
    if x <= 0.0:
        return 0.0
    x = min(x, 1.0)
    lift = (_GRAVITY * _SURFACE_TENSION * (sat.r_l - sat.r_v)) ** 0.25
    drift = _SLIP_FLUX * (1.0 - x) * lift / (max(flux, 5.0) * math.sqrt(sat.r_l))
    mixed = x / sat.r_v + (1.0 - x) / sat.r_l
    return min(1.0, x / sat.r_v / ((1.0 + 0.12 * (1.0 - x)) * mixed + drift))


def condensing_ratio(x: float, reduced: float) -> float:
    """Return Shah's condensing coefficient over the liquid-only one."""
    x = min(max(x, 0.0), 0.98)
    return (1.0 - x) ** 0.8 + 3.8 * x**0.76 * (1.0 - x) ** 0.04 / reduced**0.38


def boiling_ratio(x: float, sat: Sat, dry_out: float) -> float:
    """Return Gungor and Winterton's boiling coefficient over the liquid-only one, dried out towards x = 1."""
    at = min(max(x, 0.01), dry_out)
    ratio = 3.0 + 1.12 * (at / (1.0 - at)) ** 0.75 * (sat.r_l / sat.r_v) ** 0.41 * (1.0 - at) ** 0.8
    if x > dry_out:
        ratio += (1.0 - ratio) * min(1.0, (x - dry_out) / (1.0 - dry_out))
    return max(ratio, 1.0)


def condense(
    f: Fluid,
    coil: Coil,
    m: float,
    h_in: float,
    p: float,
    air_k: float,
    air: float,
    surface: float,
    foreign: float,
) -> Leaving:
    """Return what leaves the condenser. p: partial pressure of the refrigerant, mean along the tubes.

    air: share of rated airflow. surface: share of the air-side conductance beside that. foreign: mole share
    of foreign gas; it hinders condensation (its film) in proportion.
    """
    sat = f.sat(p)
    c_air = coil.c_air * max(air, 0.01)
    k_air = coil.ua_air * surface * max(air, 0.01) ** coil.air_exponent
    base = coil.ua_ref * (m / coil.m_rated) ** 0.8
    reduced = p / f.p_crit
    hinder = 1.0 / (1.0 + 14.0 * foreign)
    flux = m / coil.flow_area
    h, heat, charge, wet = h_in, 0.0, 0.0, 0.0
    part = 1.0 / coil.segments
    for _ in range(coil.segments):
        left = part
        for _ in range(4):
            if h > sat.h_v + 1e-6:
                t, cp, floor, ratio = sat.t_d + (h - sat.h_v) / sat.c_v, sat.c_v, sat.h_v, 1.0
                rho = sat.r_v * sat.t_d / t
            elif h > sat.h_l + 1e-6:
                x = (h - sat.h_l) / (sat.h_v - sat.h_l)
                t, floor = sat.t_b + x * (sat.t_d - sat.t_b), sat.h_l
                cp = (sat.h_v - sat.h_l) / max(sat.t_d - sat.t_b, 0.05)
                ratio = condensing_ratio(x, reduced) * hinder
                alpha = void_fraction(x - 0.4 * part, sat, flux)
                rho = alpha * sat.r_v + (1.0 - alpha) * sat.r_l
            else:
                t, cp, floor, ratio, rho = sat.t_b + (h - sat.h_l) / sat.c_l, sat.c_l, -1e9, 1.0, sat.r_l
            conductance = 1.0 / (1.0 / (base * ratio) + 1.0 / k_air)
            grip = c_air * (1.0 - math.exp(-conductance / c_air)) * left
            drive = m * cp * (t - air_k)
            q = drive * (1.0 - math.exp(-grip / (m * cp)))
            used = 1.0
            if h - q / m < floor and drive > 0.0:
                need = (h - floor) * m
                used = min(1.0, -math.log(max(1.0 - need / drive, 1e-12)) * m * cp / grip)
                q = need
            h -= q / m
            heat += q
            charge += rho * coil.volume * left * used
            wet += left * used if sat.h_l <= h <= sat.h_v else 0.0
            left *= 1.0 - used
            if left < 1e-9:
                break
            h = floor
    return Leaving(h, heat, air_k + heat / c_air, charge, wet)


def evaporate(
    f: Fluid,
    coil: Coil,
    m: float,
    h_in: float,
    p: float,
    air_k: float,
    humid: float,
    air: float,
    surface: float,
) -> Leaving:
    """Return what leaves the air cooler.

    P: mean pressure of the wet part. humid: kg water per kg air entering.
    """
    sat = f.sat(p)
    c_air = coil.c_air * max(air, 0.01)
    k_air = coil.ua_air * surface * max(air, 0.01) ** coil.air_exponent
    base = coil.ua_ref * (max(m, 1e-6) / coil.m_rated) ** 0.8
    flux = m / coil.flow_area
    h, heat, sensible, charge, wet = h_in, 0.0, 0.0, 0.0, 0.0
    part = 1.0 / coil.segments
    for _ in range(coil.segments):
        left = part
        for _ in range(3):
            if h < sat.h_l - 1e-6:
                t, cp, ceiling, ratio, rho = sat.t_b + (h - sat.h_l) / sat.c_l, sat.c_l, sat.h_l, 1.0, sat.r_l
            elif h < sat.h_v - 1e-6:
                x = (h - sat.h_l) / (sat.h_v - sat.h_l)
                t, ceiling = sat.t_b + x * (sat.t_d - sat.t_b), sat.h_v
                cp = (sat.h_v - sat.h_l) / max(sat.t_d - sat.t_b, 0.05)
                ratio = boiling_ratio(x, sat, coil.dry_out)
                alpha = void_fraction(x + 0.4 * part, sat, flux)
                rho = alpha * sat.r_v + (1.0 - alpha) * sat.r_l
            else:
                t, cp, ceiling, ratio = sat.t_d + (h - sat.h_v) / sat.c_v, sat.c_v, 1e9, 1.0
                rho = sat.r_v * sat.t_d / t
            latent = _latent(air_k, t, base * ratio, k_air, humid)
            conductance = 1.0 / (1.0 / (base * ratio) + 1.0 / (k_air * latent))
            grip = c_air * latent * (1.0 - math.exp(-conductance / (c_air * latent))) * left
            drive = m * cp * (air_k - t)
            q = drive * (1.0 - math.exp(-grip / (m * cp)))
            used = 1.0
            if h + q / m > ceiling and drive > 0.0:
                need = (ceiling - h) * m
                used = min(1.0, -math.log(max(1.0 - need / drive, 1e-12)) * m * cp / grip)
                q = need
            h += q / m
            heat += q
            sensible += q / latent
            charge += rho * coil.volume * left * used
            wet += left * used if ceiling == sat.h_v else 0.0
            left *= 1.0 - used
            if left < 1e-9:
                break
            h = ceiling
    return Leaving(h, heat, air_k - sensible / c_air, charge, wet)


def _latent(air_k: float, t: float, inside: float, outside: float, humid: float) -> float:
    """Return total over sensible heat at the surface (Lewis analogy); 1 on a dry one."""
    surface = t + (air_k - t) * outside / (inside + outside)
    if air_k - surface < 0.05:
        return 1.0
    excess = humid - humidity(surface, 1.0)
    if excess <= 0.0:
        return 1.0
    return min(2.5, 1.0 + (2.83e6 if surface < 273.15 else 2.5e6) * excess / (1010.0 * (air_k - surface)))


def humidity(t: float, relative: float) -> float:
    """Return kg water per kg air at sea level (Magnus form over ice or water, from memory)."""
    c = t - 273.15
    vapour = 611.2 * math.exp(22.46 * c / (272.62 + c) if c < 0.0 else 17.62 * c / (243.12 + c)) * relative
    return 0.622 * vapour / (101325.0 - vapour)
