"""Tensor B-splines turned into patches: plain polynomials on rectangles, ready for a fast kernel.

A B-spline of degree k is k - 1 times continuously differentiable across its knots, so the patches of one
surface meet without steps in the function or in the derivatives the properties need. Working with
patches keeps the cost of one evaluation that of one small polynomial however many knots there are.
"""

from __future__ import annotations

from collections.abc import Sequence

Row = tuple[float, ...]


def basis_pieces(knots: Sequence[float], degree: int, interval: int) -> list[list[float]]:
    """Power coefficients, in x = t - knots[interval], of the ``degree + 1`` B-splines alive there.

    knots: full knot vector (ends repeated ``degree + 1`` times); interval: index m of a non-empty
    [knots[m], knots[m+1]). Result: one coefficient list (lowest power first) for each of the B-splines
    m - degree ... m. Method: the Cox-de Boor recursion carried out on polynomials.
    """
    origin = knots[interval]
    pieces: list[list[float]] = [[1.0]]
    for order in range(1, degree + 1):
        raised: list[list[float]] = []
        for offset in range(order + 1):
            index = interval - order + offset
            piece = [0.0] * (order + 1)
            if offset > 0:
                width = knots[index + order] - knots[index]
                _add_product(piece, pieces[offset - 1], (origin - knots[index]) / width, 1.0 / width)
            if offset < order:
                width = knots[index + order + 1] - knots[index + 1]
                _add_product(piece, pieces[offset], (knots[index + order + 1] - origin) / width, -1.0 / width)
            raised.append(piece)
        pieces = raised
    return pieces


def _add_product(target: list[float], factor: Sequence[float], constant: float, slope: float) -> None:
    """Add factor(x) * (constant + slope x) to ``target`` in place."""
    for power, value in enumerate(factor):
        target[power] += constant * value
        target[power + 1] += slope * value


def breaks(knots: Sequence[float]) -> list[float]:
    """The distinct knots, rising."""
    return sorted(set(knots))


def curve_patches(knots: Sequence[float], degree: int, values: Sequence[float]) -> list[Row]:
    """Patches of one spline curve: for each interval its power coefficients from the left end."""
    patches = []
    for interval in range(degree, len(knots) - degree - 1):
        if knots[interval + 1] > knots[interval]:
            pieces = basis_pieces(knots, degree, interval)
            patches.append(_combine(pieces, values[interval - degree : interval + 1]))
    return patches


def _combine(pieces: Sequence[Sequence[float]], weights: Sequence[float]) -> Row:
    """The weighted total of a few polynomials."""
    total = [0.0] * len(pieces[0])
    for piece, weight in zip(pieces, weights, strict=True):
        for power, value in enumerate(piece):
            total[power] += weight * value
    return tuple(total)


def surface_patches(
    x_knots: Sequence[float],
    x_degree: int,
    y_knots: Sequence[float],
    y_degree: int,
    values: Sequence[Sequence[float]],
) -> list[list[Row]]:
    """Patches of a tensor spline: ``patches[i][j]`` for x interval i and y interval j.

    values[a][b] weighs B-spline a of x times B-spline b of y. Each patch is flat, the y powers of x
    power 0 first: c00, c01, ..., c10, c11, ..., in x and y measured from the lower left corner.
    """
    along_y = [curve_patches(y_knots, y_degree, row) for row in values]
    result = []
    for interval in range(x_degree, len(x_knots) - x_degree - 1):
        if x_knots[interval + 1] <= x_knots[interval]:
            continue
        pieces = basis_pieces(x_knots, x_degree, interval)
        rows = along_y[interval - x_degree : interval + 1]
        result.append([_patch(pieces, [row[j] for row in rows]) for j in range(len(rows[0]))])
    return result


def _patch(pieces: Sequence[Sequence[float]], rows: Sequence[Row]) -> Row:
    """One patch: x pieces combined with the y polynomials that weigh them."""
    columns = [_combine(pieces, [row[power] for row in rows]) for power in range(len(rows[0]))]
    return tuple(column[power] for power in range(len(pieces[0])) for column in columns)
