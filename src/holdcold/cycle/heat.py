"""Heat-exchanger and void-fraction relations the cycle is made of."""

from __future__ import annotations

from math import exp, log

_NATURAL_DRAUGHT = 0.07
_AIRFLOW_EXPONENT = 0.55
_PINCH_K = 0.2


def air_factors(lost: float) -> tuple[float, float]:
    """Return (air, conductance) as fractions of full when ``lost`` (0 to 1) of the airflow is gone.

    With every fan stopped natural draught still moves some air, taken as 7 % (common practice, no
    source). Conductance of a finned coil follows air velocity to the power 0.55 (from memory:
    plate-fin correlations give 0.5 to 0.65).
    """
    air = _NATURAL_DRAUGHT + (1.0 - _NATURAL_DRAUGHT) * (1.0 - lost)
    return air, exp(_AIRFLOW_EXPONENT * log(air))


def crossflow_duty(air_wk: float, ua_wk: float) -> float:
    """Return heat per kelvin of inlet difference [W/K] of air against a refrigerant of one temperature.

    air_wk: heat capacity flow of the air [W/K], above zero. ua_wk: conductance [W/K].
    Source: effectiveness with one capacity rate infinite, 1 - exp(-NTU) (Incropera and DeWitt,
    Fundamentals of Heat and Mass Transfer, section 11.4).
    """
    return air_wk * (1.0 - exp(-ua_wk / air_wk))


def mean_difference(one_k: float, other_k: float) -> float:
    """Return the mean temperature difference [K] between air of one temperature and a gliding refrigerant.

    one_k, other_k: differences at the two ends [K]. The refrigerant's temperature runs evenly with the
    heat it has given or taken, so the mean is the logarithmic one (Incropera and DeWitt, section 11.3);
    an end that comes down to the air's temperature brings it to nothing, which keeps a glide from
    crossing. Where both ends lie on the wrong side the plain mean comes back, negative.
    """
    if one_k <= 0.0 and other_k <= 0.0:
        return 0.5 * (one_k + other_k)
    high, low = max(one_k, other_k), min(one_k, other_k)
    if low < _PINCH_K:
        low = _PINCH_K * exp(low / _PINCH_K - 1.0)
    if high - low < 0.02 * high:
        return 0.5 * (high + low)
    return (high - low) / log(high / low)


def liquid_fraction(quality_in: float, quality_out: float, density_ratio: float) -> float:
    """Return the mean liquid volume fraction of a tube whose quality changes evenly along it.

    quality_in, quality_out: vapour quality at the ends, each 0 to 1.
    density_ratio: vapour density over liquid density, below 1.
    Source: Zivi (1964) slip, S = (rho_l/rho_v)^(1/3), integrated over quality in closed form.
    """
    c = exp(2.0 / 3.0 * log(density_ratio))
    span = quality_out - quality_in
    if abs(span) < 1e-6:
        return 1.0 - quality_in / (quality_in + c * (1.0 - quality_in))
    gap = 1.0 - c
    top = c + gap * quality_out
    bottom = c + gap * quality_in
    vapour = span / gap - c / (gap * gap) * log(top / bottom)
    return 1.0 - vapour / span
