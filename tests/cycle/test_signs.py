"""Which way readings move under a fault: the published table, where it holds and where it must not.

The table (tests/reference/sign_table) was made on machines with a fixed orifice and no receiver. Ours are 200
random ones with a capillary tube, at rated box and an ambient 4 K below rated. ``benchmarks/sign_study.py``
repeats this over severities, ambients and units with receiver.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations
from statistics import median

import pytest

from holdcold.cycle import Faults, build
from support.designs import plain
from support.signs import FAULTS, FEATURES, agreement, at, capillary_units, published, receiver_units, shifts

COOLER_K = 4.0

KNOWN_DIFFERENCES = {("condenser_fouling", "discharge"): (0.05, 0.9)}
"""Cells without a dependable sign, with the band their share of agreeing units lies in.

Regression, measured on our own model (no outside source): a dirty condenser raises head and compression
ratio, which heats the discharge; the higher head also pushes more liquid through the tube, whose flow is
choked and grows with the square root of head, and the lost superheat cools it. The second mostly wins
while there is superheat to lose, the first once liquid returns.
"""


@cache
def shares(fault: str) -> dict[str, float]:
    """Return the share of 200 capillary units that agree with the table, by feature."""
    return agreement(capillary_units(200), COOLER_K, fault, FAULTS[fault])


@pytest.mark.parametrize("feature", FEATURES)
@pytest.mark.parametrize("fault", FAULTS)
def test_published_sign_holds_on_fixed_orifice_units(fault: str, feature: str) -> None:
    assert shares(fault)["n"] >= 190
    low, high = KNOWN_DIFFERENCES.get((fault, feature), (0.9, 1.0))
    assert low <= shares(fault)[feature] <= high


def test_only_one_cell_is_undecided() -> None:
    """The floor, cell by cell, is 90 %; most cells agree in every unit."""
    cells = {(fault, feature): shares(fault)[feature] for fault in FAULTS for feature in FEATURES}
    assert {cell for cell, share in cells.items() if share < 0.9} == set(KNOWN_DIFFERENCES)
    assert sum(share == 1.0 for share in cells.values()) >= 28


def test_table_is_the_published_one() -> None:
    """Its pairwise distances, and that only subcooling tells a leak from a restriction."""
    table = published()
    assert list(table) == list(FAULTS)
    distance = {
        (a, b): sum(table[a][name] != table[b][name] for name in FEATURES) for a, b in combinations(table, 2)
    }
    assert sorted(distance.values()) == [1, 2, 3, 3, 3, 4, 4, 4, 5, 5]
    leak, restriction = table["refrigerant_leak"], table["liquid_line_restriction"]
    assert [name for name in FEATURES if leak[name] != restriction[name]] == ["subcooling"]


def moved(faults: Faults, feature: str) -> list[float]:
    """Return the shifts of one feature over 120 units with valve and receiver, those that keep running."""
    found = [shifts(unit, 0.0, faults) for unit in receiver_units(120)]
    return [one[feature] for one in found if one is not None and feature in one]


NOTICED_K = 0.5
"""Less between two clamped thermometers is lost in the instruments (common practice, no source)."""


def test_on_a_receiver_a_leak_of_a_fifth_moves_nothing() -> None:
    """The receiver gives liquid away; every reading stays (docs/cycle.md, signs of faults)."""
    found = [shifts(unit, 0.0, Faults(charge_loss=0.2)) for unit in receiver_units(120)]
    assert all(one is not None and max(map(abs, one.values())) < 1e-6 for one in found)


def test_on_a_receiver_subcooling_does_not_tell_leak_from_restriction() -> None:
    """The one published difference between the two is silent: no unit shows the signs the table wants.

    With a level in the receiver subcooling stays where it was, whatever holds the liquid back.
    """
    for faults in (
        Faults(charge_loss=0.2),
        Faults(liquid_restriction=2.0e5),
        Faults(liquid_restriction=4.0e5),
    ):
        silent = [abs(shift) < NOTICED_K for shift in moved(faults, "subcooling")]
        assert sum(silent) >= 0.98 * len(silent)
    # Superheat does move, but the table has the same sign for both.
    assert median(moved(Faults(liquid_restriction=4.0e5), "superheat")) > 1.0


def test_subcooling_falls_once_the_receiver_is_empty() -> None:
    lost = moved(Faults(charge_loss=0.55), "subcooling")
    assert sum(shift < -NOTICED_K for shift in lost) >= 0.9 * len(lost)
    risen = moved(Faults(charge_loss=0.55), "superheat")
    assert sum(shift > NOTICED_K for shift in risen) >= 0.9 * len(risen)


@pytest.mark.parametrize("refrigerant", ["R-134a", "R-404A", "R-449A"])
def test_a_restriction_raises_subcooling_only_when_the_receiver_is_full(refrigerant: str) -> None:
    """What the coil no longer holds goes into the receiver; when that is full, into the condenser."""
    rises = {}
    for fill in (0.35, 0.999):
        unit = build(plain(refrigerant, receiver_fill=fill, receiver_m3=0.0015))
        before, after = (at(unit, 0.0, Faults(liquid_restriction=pa)) for pa in (0.0, 6.0e5))
        assert after.state == "running"
        name = "subcooling_k_condenser_outlet"
        rises[fill] = after.readings[name] - before.readings[name]
        assert before.regime == "level"
    assert abs(rises[0.35]) < 0.3
    assert rises[0.999] > 2.0 * NOTICED_K
