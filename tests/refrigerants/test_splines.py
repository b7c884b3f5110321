"""Patches of B-splines against SciPy's B-splines."""

from __future__ import annotations

import random

import pytest

from holdcold.refrigerants.splines import breaks, curve_patches, surface_patches

interpolate = pytest.importorskip("scipy.interpolate")

X_BREAKS, Y_BREAKS = [-0.1, 1.2, 3.5, 8.0, 120.0], [11.0, 11.5, 13.0, 15.0]


def full(points: list[float], degree: int) -> list[float]:
    """Return the knot vector whose ends are repeated."""
    return [points[0]] * degree + points + [points[-1]] * degree


@pytest.mark.parametrize("degree", [1, 3, 4, 5])
def test_curve(degree: int) -> None:
    knots = full(X_BREAKS, degree)
    source = random.Random(degree)
    values = [source.uniform(-1.0, 1.0) for _ in range(len(knots) - degree - 1)]
    theirs = interpolate.BSpline(knots, values, degree)
    patches = curve_patches(knots, degree, values)
    assert breaks(knots) == X_BREAKS
    for low, high, patch in zip(X_BREAKS[:-1], X_BREAKS[1:], patches, strict=True):
        for part in (0.0, 0.3, 0.9):
            x = part * (high - low)
            mine = sum(c * x**power for power, c in enumerate(patch))
            assert mine == pytest.approx(float(theirs(low + x)), abs=1e-11)


def test_surface() -> None:
    x_knots, y_knots = full(X_BREAKS, 4), full(Y_BREAKS, 3)
    source = random.Random(1)
    rows, columns = len(x_knots) - 5, len(y_knots) - 4
    values = [[source.uniform(-1.0, 1.0) for _ in range(columns)] for _ in range(rows)]
    theirs = interpolate.NdBSpline((x_knots, y_knots), values, (4, 3))
    patches = surface_patches(x_knots, 4, y_knots, 3, values)
    for i, x_low in enumerate(X_BREAKS[:-1]):
        for j, y_low in enumerate(Y_BREAKS[:-1]):
            x, y = 0.4 * (X_BREAKS[i + 1] - x_low), 0.7 * (Y_BREAKS[j + 1] - y_low)
            mine = sum(c * x ** (k // 4) * y ** (k % 4) for k, c in enumerate(patches[i][j]))
            assert mine == pytest.approx(float(theirs((x_low + x, y_low + y))), abs=1e-11)
