"""Which faults can be told apart: the numbers against textbook results, the matrix, the document."""

from __future__ import annotations

import importlib.util
import itertools
import math
import re
import time
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid
from scipy.stats import norm

from holdcold.cli.words import short_title
from holdcold.cycle import Conditions
from holdcold.diagnosis import separability as room
from holdcold.diagnosis.catalogue import Catalogue, catalogue
from holdcold.diagnosis.separability import HEALTHY, LEAST_RIGHT, Matrix, separability
from holdcold.diagnosis.tell_apart import Readings, Shown, along_best, distance, together
from support.calls import COOLER, FREEZER, PROPANE, unit

ROOT = Path(__file__).parents[2]
BOOK = catalogue()


@pytest.fixture(scope="module")
def cooler() -> Matrix:
    return separability(unit(COOLER))


def plain(means: list[list[float]], noise: list[list[float]], weights: tuple[float, ...] = ()) -> Readings:
    """Readings of a fault with severities but no free directions."""
    return Readings(
        weights or (1.0 / len(means),) * len(means),
        tuple(map(tuple, means)),
        ((),) * len(means),
        tuple(map(tuple, noise)),
    )


# ------------------------------------------------------------------------- the number


@pytest.mark.parametrize("apart", [0.0, 0.3, 1.0, 2.5, 5.0])
def test_two_normals_are_told_apart_as_often_as_the_textbook_says(apart: float) -> None:
    """The best guess between N(0, 1) and N(d, 1) is right with chance Phi(d / 2).

    Source: Duda, Hart, Stork, Pattern Classification, 2nd ed., section 2.6 (equal covariances, equal priors).
    """
    right = 0.5 + 0.5 * distance(*along_best(plain([[0.0]], [[1.0]]), plain([[apart]], [[1.0]])))
    assert right == pytest.approx(norm.cdf(0.5 * apart), abs=0.02)
    assert right <= norm.cdf(0.5 * apart) + 1e-9


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), size=st.integers(2, 6))
def test_readings_that_hang_together_count_by_their_mahalanobis_distance(seed: int, size: int) -> None:
    """Several normals with one covariance: Phi of half the Mahalanobis distance (same source)."""
    draw = np.random.default_rng(seed)
    root = draw.normal(size=(size, size)) * 10.0 ** draw.uniform(-2, 5, size)[:, None]
    noise = root @ root.T + np.diag(np.diag(root @ root.T)) * 0.1
    apart = draw.normal(size=size) * np.sqrt(np.diag(noise))
    exact = norm.cdf(0.5 * math.sqrt(apart @ np.linalg.solve(noise, apart)))
    one, other = plain([[0.0] * size], noise.tolist()), plain([apart.tolist()], noise.tolist())
    right = 0.5 + 0.5 * distance(*along_best(one, other))
    assert exact - 0.03 <= right <= exact + 1e-6


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_severities_make_a_floor_under_the_best_guess(seed: int) -> None:
    """Mixtures in one dimension, against the integral of half |p - q| on a fine grid."""
    draw = np.random.default_rng(seed)
    sides = []
    for _ in range(2):
        weights = draw.dirichlet(np.ones(3))
        sides.append(plain(draw.normal(0.0, 3.0, (3, 1)).tolist(), [[1.0]], tuple(weights)))
    x = np.linspace(-25.0, 25.0, 5001)
    densities = [
        sum(w * norm.pdf(x, m[0], 1.0) for w, m in zip(side.weights, side.means, strict=True))
        for side in sides
    ]
    exact = 0.5 * trapezoid(abs(densities[0] - densities[1]), x)
    found = distance(*along_best(*sides))
    assert exact - 0.08 <= found <= exact + 1e-6


def test_a_free_direction_blurs_what_lies_along_it() -> None:
    """A slope of one sigma adds its square to the covariance: d shrinks from 2 to 2 / sqrt(2)."""
    sharp = [plain([[0.0]], [[1.0]]), plain([[2.0]], [[1.0]])]
    blurred = [replace(side, slopes=(((1.0,),),)) for side in sharp]
    assert distance(*along_best(*blurred)) == pytest.approx(
        2.0 * norm.cdf(0.5 * 2.0 / math.sqrt(2.0)) - 1.0, abs=0.03
    )


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000))
def test_items_seen_together_against_every_outcome_counted(seed: int) -> None:
    draw = np.random.default_rng(seed)
    shares = [tuple(draw.dirichlet(np.ones(2))) for _ in range(2)]

    def items(weights: tuple[float, ...]) -> list[Shown]:
        return [Shown(weights, tuple(map(tuple, draw.dirichlet(np.ones(n), 2)))) for n in (2, 3, 4)]

    ones, others = items(shares[0]), items(shares[1])
    total = 0.0
    for outcome in itertools.product(range(2), range(3), range(4)):
        chances = [
            sum(
                weight * math.prod(item.rows[row][value] for item, value in zip(side, outcome, strict=True))
                for row, weight in enumerate(side[0].weights)
            )
            for side in (ones, others)
        ]
        total += 0.5 * abs(chances[0] - chances[1])
    found = together(ones, others)
    assert found <= total + 1e-9
    assert found >= max(distance(one, other) for one, other in zip(ones, others, strict=True)) - 1e-9
    if min(distance(one, other) for one, other in zip(ones, others, strict=True)) > 0.03:
        assert found == pytest.approx(total, abs=1e-9)


# ------------------------------------------------------------------------- the matrix


def test_every_pair_has_a_number_between_a_coin_and_certain(cooler: Matrix) -> None:
    assert len(cooler.pairs) == math.comb(len(cooler.faults), 2)
    assert cooler.faults[0] == HEALTHY
    for one, other in itertools.combinations(cooler.faults, 2):
        found = cooler.between(other, one)
        assert found is cooler.between(one, other)
        assert {found.one, found.other} == {one, other}
        assert all(0.5 <= right <= 1.0 for right in found.by_check.values())
        assert set(found.by_check) <= set(cooler.checks)
        if found.check:
            assert found.right >= max(found.by_check.values()) - 0.02


def test_one_sighting_is_worth_its_table(cooler: Matrix) -> None:
    """Right = (1 + sum of |p - q| / 2) / 2 from the catalogue's own table."""
    clock = BOOK.sighting_chances("defrost_clock", {"defrost_control": 1.0}, "cooler", "running")
    plain_clock = BOOK.sighting_chances("defrost_clock", {}, "cooler", "running")
    rows = BOOK.sightings["defrost_clock"].given["defrost_control"]
    assert rows[0] == rows[1], "the row bends with severity: take another sighting for this test"
    expected = 0.5 + 0.25 * sum(abs(x - y) for x, y in zip(clock, plain_clock, strict=True))
    found = cooler.between("defrost_control", HEALTHY).by_check["defrost_clock_look"]
    assert found == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("one", "other", "check"),
    [
        # The project's field notes on how these are told apart (common practice, no source).
        ("contactor", "start_gear", "windings_and_start_gear"),
        ("condenser_dirty", "condenser_fan_stopped", "fan_count_and_direction"),
        ("box_sensor_wrong", HEALTHY, "probe_ice_bath"),
        ("low_voltage", HEALTHY, "line_volts"),
    ],
)
def test_known_checks_tell_what_practice_says(cooler: Matrix, one: str, other: str, check: str) -> None:
    found = cooler.between(one, other)
    assert found.by_check[check] > 0.75
    assert found.by_check[check] > found.by_check.get("user_story", 0.5) + 0.1


def test_a_standing_machine_is_told_from_a_running_one(cooler: Matrix) -> None:
    assert cooler.between("contactor", "low_charge").right > 0.95
    assert cooler.between("no_power", HEALTHY).right > 0.95


def test_readings_tell_nothing_of_what_stopped_a_machine(cooler: Matrix) -> None:
    assert cooler.between("contactor", "compressor_motor").by_check["gauges"] == pytest.approx(0.5)


def test_only_permitted_checks_count() -> None:
    scroll, sealed = separability(unit(FREEZER)), separability(unit(PROPANE))
    assert "pump_down" not in scroll.checks, "a guard keeps it closed on a scroll"
    for found in (scroll, sealed):
        assert not any(BOOK.checks[name].opens_circuit for name in found.checks)
    assert not {"gauges", "superheats", "standing_pressure"} & set(sealed.checks), "no ports"


def test_a_check_that_waits_counts_only_where_it_comes_to_that(cooler: Matrix) -> None:
    assert "melt_coil" in cooler.between("coil_iced", "defrost_control").by_check
    assert "melt_coil" not in cooler.between("coil_iced", "low_charge").by_check


def test_the_weather_matters() -> None:
    design = unit(COOLER).design
    hot = separability(unit(COOLER), Conditions(design.rated_ambient_k + 8.0, design.set_point_k + 6.0))
    mild = separability(unit(COOLER), Conditions(design.rated_ambient_k - 12.0, design.set_point_k))
    pair = ("condenser_dirty", HEALTHY)
    assert hot.conditions != mild.conditions
    assert hot.between(*pair).by_check["gauges"] != mild.between(*pair).by_check["gauges"]


def fewer_checks(*kept: str) -> Catalogue:
    return replace(BOOK, checks={name: check for name, check in BOOK.checks.items() if name in kept})


def test_faults_without_a_telling_check_are_shown_as_one_group() -> None:
    """With nothing but a sweep for leaks, whatever is no leak looks the same."""
    found = separability(unit(COOLER), book=fewer_checks("leak_sweep"))
    assert ("condenser_dirty", "contactor") in found.inseparable()
    assert found.between("condenser_dirty", "contactor").check == ""
    assert found.between("low_charge", HEALTHY).right > LEAST_RIGHT
    (group,) = [group for group in found.groups() if "condenser_dirty" in group]
    assert "low_charge" not in group
    assert len(group) > 15


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000))
def test_groups_are_the_largest_sets_of_which_no_two_are_told_apart(seed: int) -> None:
    draw = np.random.default_rng(seed)
    names = [f"f{number}" for number in range(6)]
    edges = {pair for pair in itertools.combinations(names, 2) if draw.random() < 0.5}
    near: dict[str, set[str]] = {}
    for one, other in edges:
        near.setdefault(one, set()).add(other)
        near.setdefault(other, set()).add(one)
    whole = [
        set(chosen)
        for size in range(2, 7)
        for chosen in itertools.combinations(names, size)
        if all(pair in edges for pair in itertools.combinations(chosen, 2))
    ]
    expected = {frozenset(one) for one in whole if not any(one < other for other in whole)}
    assert {frozenset(group) for group in room._cliques(near)} == expected


def test_the_data_hold_the_whole_matrix(cooler: Matrix) -> None:
    data = cooler.as_data()
    assert set(data) == {
        "conditions", "faults", "checks", "least_right", "pairs", "inseparable", "groups",
    }  # fmt: skip
    assert len(data["pairs"]) == len(cooler.pairs)
    row = next(row for row in data["pairs"] if row["faults"] == ["low_charge", "overcharge"])
    found = cooler.between("low_charge", "overcharge")
    assert row["right"] == pytest.approx(found.right, abs=1e-4)
    assert row["by_check"][found.check] == row["right"]
    assert all(right > 0.5 for row in data["pairs"] for right in row["by_check"].values())


def test_a_card_takes_seconds() -> None:
    begun = time.process_time()
    separability(unit(FREEZER))
    assert time.process_time() - begun < 10.0


# ----------------------------------------------------------------------- the document


def writer() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "write_separability", ROOT / "tools/write_separability/__main__.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


TOOL = writer()
ROW = re.compile(r"^\| (.+?) \| (.+?) \| (.+?) \| (\d+) % \|$", re.MULTILINE)
MEND = "run: python tools/write_separability"


@pytest.mark.parametrize("card", TOOL.CARDS)
def test_the_document_agrees_with_the_engine(card: str) -> None:
    """Every row within three in a hundred; no fault missing; nothing clearly harder left out."""
    found = TOOL.matrix_of(card)
    text = TOOL.DOCUMENT.read_text(encoding="utf-8")
    section = text.partition(f"### {card.removesuffix('.toml').capitalize()}\n")[2].partition("\n### ")[0]
    ids = {short_title(BOOK, name): name for name in (*found.faults, *BOOK.checks)} | {
        "Nothing wrong": HEALTHY
    }
    rows = ROW.findall(section)
    assert [ids[fault] for fault, *_ in rows] == list(found.faults), MEND
    for fault, other, check, right in rows:
        separation = found.between(ids[fault], ids[other])
        assert separation.right == pytest.approx(int(right) / 100.0, abs=0.03), (fault, other, MEND)
        hardest = found.look_alikes(ids[fault])[0][1].right
        assert separation.right <= hardest + 0.03, (fault, other, MEND)
        if check != "no permitted check":
            assert separation.by_check[ids[check]] >= separation.right - 0.05, (fault, other, MEND)
    for group in found.groups():
        assert ", ".join(f"`{fault}`" for fault in group) in section, MEND
