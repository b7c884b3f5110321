"""The beta distribution against SciPy, and what it must obey."""

from __future__ import annotations

import random

import pytest
from scipy import stats

from holdcold.errors import InputError
from holdcold.numerics.beta import beta_cdf, beta_quantile


@pytest.mark.parametrize("seed", range(20))
def test_cdf_and_quantiles_are_those_of_scipy(seed: int) -> None:
    draw = random.Random(seed)
    for _ in range(60):
        a, b = 10.0 ** draw.uniform(-2.0, 3.0), 10.0 ** draw.uniform(-2.0, 3.0)
        x, share = draw.random(), draw.uniform(0.01, 0.99)
        assert beta_cdf(x, a, b) == pytest.approx(stats.beta.cdf(x, a, b), abs=1e-11)
        expected = stats.beta.ppf(share, a, b)
        assert beta_quantile(share, a, b) == pytest.approx(expected, rel=1e-8, abs=1e-250)


def test_quantile_of_a_share_nobody_has_seen() -> None:
    """Half a percent of 30 calls: the lower end is next to nothing, the upper end 2.7 %."""
    assert beta_quantile(0.05, 0.15, 29.85) == pytest.approx(stats.beta.ppf(0.05, 0.15, 29.85), rel=1e-8)
    assert beta_quantile(0.95, 0.15, 29.85) == pytest.approx(stats.beta.ppf(0.95, 0.15, 29.85), rel=1e-10)
    assert beta_quantile(0.05, 1e-3, 30.0) == 0.0


def test_known_values() -> None:
    """Beta(1, 1) is uniform, Beta(2, 1) has the distribution x^2; symmetry: DLMF 8.17.4."""
    assert beta_cdf(0.3, 1.0, 1.0) == pytest.approx(0.3, abs=1e-15)
    assert beta_cdf(0.3, 2.0, 1.0) == pytest.approx(0.09, abs=1e-15)
    assert beta_cdf(0.2, 3.5, 7.0) + beta_cdf(0.8, 7.0, 3.5) == pytest.approx(1.0, abs=1e-14)
    assert (beta_cdf(0.0, 2.0, 2.0), beta_cdf(1.0, 2.0, 2.0)) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("x", "a", "b"), [(-0.1, 1, 1), (1.1, 1, 1), (0.5, 0, 1), (0.5, 1, -2), (0.5, float("nan"), 1)]
)
def test_what_is_no_beta_is_refused(x: float, a: float, b: float) -> None:
    with pytest.raises(InputError):
        beta_cdf(x, a, b)


@pytest.mark.parametrize("share", [0.0, 1.0, -0.5, float("nan")])
def test_a_share_that_is_none(share: float) -> None:
    with pytest.raises(InputError):
        beta_quantile(share, 1.0, 2.0)
