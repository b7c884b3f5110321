"""Refrigeration tube against ASTM B280 and a published table of liquid-line charge."""

from __future__ import annotations

import pytest

from holdcold.cards.tube import BORES_IN, bore_m2, nearest_size, outside_m, size_for
from holdcold.errors import InputError
from holdcold.quantities import parse
from holdcold.refrigerants import fluid


@pytest.mark.parametrize(
    ("size", "square_inch"),
    [("1/4", 0.0284), ("3/8", 0.076), ("1/2", 0.149), ("5/8", 0.242), ("3/4", 0.348), ("7/8", 0.484),
     ("1-1/8", 0.825), ("1-3/8", 1.26), ("1-5/8", 1.78), ("2-1/8", 3.09), ("2-5/8", 4.77)],
)  # fmt: skip
def test_bores(size: str, square_inch: float) -> None:
    """Source: ASTM B280 ACR tube, annealed (drawn 3/4 in and above); larger than 1-3/8 in from memory."""
    assert bore_m2(size) / 0.0254**2 == pytest.approx(square_inch, rel=0.006)


@pytest.mark.parametrize(
    ("refrigerant", "size", "pounds"),
    [("R-404A", "1/2", 0.0633), ("R-134a", "3/8", 0.0381), ("R-22", "5/8", 0.1194), ("R-290", "7/8", 0.0989)],
)
def test_liquid_line_charge(refrigerant: str, size: str, pounds: float) -> None:
    """Source: lb per foot at 100 F saturated liquid, CoolProp 8.0.0 density times the B280 bore."""
    medium = fluid(refrigerant)
    density = medium.rho_bubble(medium.bubble_pa(parse("100 F", "temperature")))
    assert density * bore_m2(size) * 0.3048 / 0.45359237 == pytest.approx(pounds, rel=0.005)


def test_every_size_is_found_by_its_outside() -> None:
    for size in BORES_IN:
        assert nearest_size(parse(f"{size} in", "length"), "lines.liquid_size") == size
        assert outside_m(size) > (4.0 / 3.14159265 * bore_m2(size)) ** 0.5


def test_no_tube_of_one_inch() -> None:
    with pytest.raises(InputError) as caught:
        nearest_size(0.0254, "lines.suction_size")
    assert caught.value.field == "lines.suction_size"


def test_the_smallest_that_is_fast_enough() -> None:
    assert size_for(bore_m2("5/8") * 10.0, 10.0) == "5/8"
    assert size_for(bore_m2("5/8") * 10.01, 10.0) == "3/4"
    assert size_for(1e-6, 10.0, "3/8") == "3/8"
    assert size_for(1.0, 1.0) == "2-5/8"
