"""Cards sharpened by proved-good readings: the arithmetic, what it may claim, and what is refused."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from statistics import fmean

import numpy as np
import numpy.typing as npt
import pytest

from diagnosis.proved_units import (
    CABINET,
    COOLER,
    PLACES,
    Proved,
    card_of,
    drawn,
    exact_visit,
    kelvin,
)
from holdcold.cards import Resolved, resolve
from holdcold.cards.sharpened import Sharpened, Visit, VisitReading
from holdcold.cycle import Conditions, build, solve
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.evidence import (
    Evidence,
    InstrumentBias,
    ReadingEvidence,
    SightingEvidence,
    Situation,
)
from holdcold.diagnosis.normal import model_sigma, normal
from holdcold.diagnosis.proved import proved_visit
from holdcold.diagnosis.sharpen import sharpen
from holdcold.errors import InputError, InputErrors
from holdcold.quantities import instrument

Matrix = npt.NDArray[np.float64]
WARM, HOT, BOX = kelvin(80.0), kelvin(95.0), kelvin(38.0)


def sharp(unit: Resolved, *visits: Visit) -> Resolved:
    """Return the unit with what the visits teach."""
    return resolve(replace(unit.card, sharpened=sharpen(unit.card, visits)))


def spreads(sharpened: Sharpened) -> dict[str, float]:
    return {fact.name: fact.spread_si for fact in sharpened.facts}


# -- the arithmetic -------------------------------------------------------------------------------------


def by_numpy(unit: Resolved, visits: tuple[Visit, ...]) -> tuple[list[str], Matrix, Matrix]:
    """Return (names, shifts, covariance) of the facts in their own spreads, in information form.

    x has prior N(0, I), y = J x + e, e ~ N(0, R): P = (I + J' R^-1 J)^-1, x = P J' R^-1 y (Gelb 1974, Applied
    Optimal Estimation, section 4.2, the form with inverses; the code under test uses gains instead).
    """
    names = [fact.name for fact in unit.uncertain()]
    jacobian, errors, gaps, about = [], [], [], []
    for number, visit in enumerate(visits):
        here = Conditions(visit.ambient_k, visit.box_k)
        found = normal(unit, here)
        airs = [
            solve(found.unit, replace(here, **{air: getattr(here, air) + 0.5})).readings
            for air in ("ambient_k", "box_k")
        ]
        for one in visit.readings:
            kind = instrument(one.instrument_class)
            usual = found.readings[one.place].value
            jacobian.append([found.effects[name].get(one.place, 0.0) for name in names])
            gaps.append(one.value_si - usual)
            bias, noise = kind.bias_sigma(one.value_si), kind.sigma(one.value_si)
            own = model_sigma(one.place, usual, device=unit.design.expansion)
            errors.append((own, bias, noise, *(a[one.place] - usual for a in airs)))
            about.append((number, one, visit))
    size = len(gaps)
    noise_matrix = np.zeros((size, size))
    for i, j in itertools.product(range(size), repeat=2):
        (visit_i, one, first), (visit_j, two, second) = about[i], about[j]
        alike = 0.5 + 0.5 * np.exp(
            -0.5 * ((first.ambient_k - second.ambient_k) / 5.0) ** 2
            - 0.5 * ((first.box_k - second.box_k) / 3.0) ** 2
        )
        value = errors[i][0] * errors[j][0] * alike * (one.place == two.place)
        value += errors[i][1] * errors[j][1] * (one.instrument_id == two.instrument_id)
        value += (visit_i == visit_j) * (errors[i][3] * errors[j][3] + errors[i][4] * errors[j][4])
        noise_matrix[i, j] = value + (i == j) * errors[i][2] ** 2
    j_matrix, weight = np.array(jacobian), np.linalg.inv(noise_matrix)
    covariance = np.linalg.inv(np.eye(len(names)) + j_matrix.T @ weight @ j_matrix)
    return names, covariance @ j_matrix.T @ weight @ np.array(gaps), covariance


def nudged(visit: Visit, by: float, rng: random.Random) -> Visit:
    """Return a visit with each reading off by a little: a share ``by`` of its instrument's noise."""
    readings = []
    for one in visit.readings:
        sigma = instrument(one.instrument_class).sigma(one.value_si)
        readings.append(replace(one, value_si=one.value_si + by * rng.gauss(0.0, sigma)))
    return replace(visit, readings=tuple(readings))


@pytest.mark.parametrize("text", [COOLER, CABINET], ids=["cooler", "cabinet"])
def test_update_is_that_of_numpy(text: str) -> None:
    """Where the readings lie near the prediction the machine is nearly linear round it: within 3 %."""
    unit = resolve(card_of(text))
    rng = random.Random(3)
    visits = tuple(
        nudged(exact_visit(unit, f"2026-07-0{n}", ambient, BOX, *PLACES), 0.05, rng)
        for n, ambient in ((1, WARM), (2, HOT))
    )
    names, shifts, covariance = by_numpy(unit, visits)
    found = sharpen(unit.card, visits)
    kept = {fact.name: fact for fact in found.facts}
    assert len(kept) >= 8
    left = np.sqrt(np.diag(covariance))
    for name, share in zip(names, left, strict=True):
        if name in kept:
            spread = unit.fact(name).spread_si
            assert kept[name].spread_si / spread == pytest.approx(share, rel=0.03), name
        else:
            assert share > 0.97, name
    order = [names.index(fact.name) for fact in found.facts]
    for i, j in itertools.combinations(range(len(order)), 2):
        expected = covariance[order[i], order[j]] / left[order[i]] / left[order[j]]
        assert found.together[j][i] == pytest.approx(expected, abs=0.06)
    moved = resolve(replace(unit.card, sharpened=found))
    for name, shift in zip(names, shifts, strict=True):
        if name in kept:
            assert moved.offsets[name] / unit.fact(name).spread_si == pytest.approx(shift, abs=0.05), name


def test_far_readings_settle_where_prior_and_readings_pull_alike() -> None:
    """At the end x = J' R^-1 (y - h(x)), with h and J of the machine as it is found: a stationary point."""
    base = resolve(card_of(COOLER))
    shifts = {"condenser_split_k": -1.8, "rated_power_w": 1.2, "superheat_k": 1.0, "coil_td_k": -1.0}
    true = base.shifted({name: by * base.fact(name).spread_si for name, by in shifts.items()})
    visits = (
        exact_visit(true, "2026-07-01", WARM, BOX, *PLACES),
        exact_visit(true, "2026-07-02", HOT, BOX, *PLACES),
    )
    found = resolve(replace(base.card, sharpened=sharpen(base.card, visits)))
    here = base.shifted({fact.name: found.offsets.get(fact.name, 0.0) for fact in base.uncertain()})
    names, pulled, covariance = by_numpy(here, visits)
    x = np.array([found.offsets.get(name, 0.0) / base.fact(name).spread_si for name in names])
    step = pulled - covariance @ x  # P (J' R^-1 (y - h(x)) - x), which must vanish
    assert np.max(np.abs(step)) < 0.12
    assert np.max(np.abs(x)) > 1.0


# -- what it may claim ----------------------------------------------------------------------------------


def test_ten_calls_by_one_gauge_are_no_surer_than_the_gauge() -> None:
    """One place read on every visit: what is left is at least what its error alone leaves.

    With prior variance V of the prediction and error variance B (bias of the gauge and model error at the
    place, both the same each time) endless readings leave V B / (V + B).
    """
    unit = resolve(card_of(COOLER))
    before = normal(unit, Conditions(HOT, BOX)).readings["discharge_pa"]
    kind = instrument("gauge_digital")
    error = kind.bias_sigma(before.value) ** 2 + before.model_sigma**2
    floor = (before.card_sigma**2 * error / (before.card_sigma**2 + error)) ** 0.5

    def left(*gauges: str) -> float:
        visits = (exact_visit(unit, "2026-07-01", HOT, BOX, "discharge_pa", gauge=gauge) for gauge in gauges)
        return normal(sharp(unit, *visits), Conditions(HOT, BOX)).readings["discharge_pa"].card_sigma

    once, ten = left("mine"), left(*["mine"] * 10)
    assert floor < ten < once < 0.6 * before.card_sigma
    assert ten < 1.1 * floor
    assert left(*map(str, range(10))) < ten  # ten gauges do better than one
    assert once < 1.25 * floor  # so that the floor is one that can be reached


def test_other_weather_says_more_than_the_same_again() -> None:
    unit = resolve(card_of(COOLER))
    first = exact_visit(unit, "2026-07-01", HOT, BOX, *PLACES, gauge="mine")
    same, cooler = (exact_visit(unit, "2026-07-02", air, BOX, *PLACES, gauge="mine") for air in (HOT, WARM))
    again, other = (spreads(sharpen(unit.card, (first, second))) for second in (same, cooler))
    assert fmean(other[name] / again[name] for name in other.keys() & again.keys()) < 0.99


def test_spreads_never_grow_with_a_visit_and_the_order_does_not_matter() -> None:
    """Within 3 %, because the machine is not quite linear. The reserve of the valve is left out: it bears
    on readings only where the valve stands wide open, and a visit that shows it does not takes back
    what was concluded from the others.
    """
    base = resolve(card_of(COOLER))
    unit, _ = drawn(base, random.Random(11))
    machine = Proved(unit, random.Random(12))
    visits = [
        machine.visit(f"2026-07-0{n}", kelvin(air), BOX) for n, air in enumerate((76, 84, 92, 98), start=1)
    ]
    before = {fact.name: fact.spread_si for fact in base.uncertain()}
    for count in range(1, len(visits) + 1):
        after = {**before, **spreads(sharpen(base.card, visits[:count]))}
        grown = {name for name in before if after[name] > 1.03 * before[name]}
        assert grown <= {"valve_reserve"}, count
        before = after
    forth, back = sharpen(base.card, visits), sharpen(base.card, visits[::-1])
    for one, other in zip(forth.facts, back.facts, strict=True):
        assert one.value_si == pytest.approx(other.value_si, abs=0.02 * one.before_spread_si)
        assert one.spread_si == pytest.approx(other.spread_si, rel=0.01)


def test_a_visit_taken_back_leaves_no_trace() -> None:
    unit = resolve(card_of(COOLER))
    first = exact_visit(unit, "2026-07-01", WARM, BOX, *PLACES)
    second = exact_visit(unit, "2026-07-02", HOT, BOX, *PLACES)
    both = sharpen(unit.card, (first, second))
    card = replace(unit.card, sharpened=both)
    assert sharpen(card, (first,)) == sharpen(unit.card, (first,))


UNITS = 100


@pytest.fixture(scope="module")
def study() -> dict[str, list[float]]:
    """Read 100 drawn coolers in two kinds of weather, sharpen, and predict a third.

    Per unit and place: width of the band and of the card's share, after over before; whether the band
    covers the truth; whether the card's share alone covers what the true sizes give.
    """
    base = resolve(card_of(COOLER))
    rng = random.Random(2026)
    check = Conditions(kelvin(88.0), BOX)
    before = normal(base, check)
    found: dict[str, list[float]] = {"refused": []}
    for _ in range(UNITS):
        unit, shifts = drawn(base, rng)
        machine = Proved(unit, rng)
        visits = (machine.visit("2026-07-01", WARM, BOX), machine.visit("2026-08-01", HOT, BOX))
        try:
            now = sharp(base, *visits)
        except InputError:
            found["refused"].append(1.0)
            continue
        found["refused"].append(0.0)
        after = normal(now, check)
        true = machine.point(check.ambient_k, check.box_k).readings
        for place in (*PLACES, "capacity_w"):
            old, new = before.readings[place], after.readings[place]
            there = machine.truth(place, true[place], check.ambient_k, check.box_k)
            found.setdefault(f"width {place}", []).append((new.high - new.low) / (old.high - old.low))
            found.setdefault(f"card {place}", []).append(new.card_sigma / old.card_sigma)
            found.setdefault("covered", []).append(float(new.low <= there <= new.high))
            inside = abs(true[place] - new.value) <= 1.6449 * new.card_sigma
            found.setdefault("covered by card", []).append(float(inside))
        for name, offset in now.offsets.items():
            close = abs(offset - shifts[name]) <= 1.6449 * now.fact(name).spread_si
            found.setdefault("facts", []).append(float(close))
    return found


def test_bands_shrink(study: dict[str, list[float]]) -> None:
    """What was read twice is known better, and so is the capacity, which nobody reads."""
    ratios = {name: fmean(values) for name, values in study.items() if name.startswith("width ")}
    assert all(ratio < 0.95 for ratio in ratios.values()), ratios
    assert ratios["width discharge_pa"] < 0.65
    assert ratios["width compressor_a"] < 0.75
    assert fmean(study["card capacity_w"]) < 0.85


def test_bands_still_cover_the_truth(study: dict[str, list[float]]) -> None:
    """Nine in ten, give or take.

    100 units with ten places each, which hang together: one standard error of the card's own share is
    about 0.015, so 0.85 to 0.95. The whole band keeps the model's error in full although part of it was
    learnt with the sizes: it covers more than nine in ten, never less.
    """
    assert len(study["covered"]) > 950
    assert 0.85 <= fmean(study["covered by card"]) <= 0.95
    assert fmean(study["covered"]) >= 0.9
    assert 0.85 <= fmean(study["facts"]) <= 0.95


def test_honest_units_are_hardly_ever_refused(study: dict[str, list[float]]) -> None:
    assert fmean(study["refused"]) <= 0.05


def test_a_size_at_the_edge_of_what_can_be_is_moved_one_way() -> None:
    """A large machine with little air over its coil: less air is no machine, and the band is there."""
    base = resolve(card_of(COOLER))
    spreads_off = {
        "suction_drop_k": -2.3,
        "rated_capacity_w": 1.8,
        "rated_power_w": -2.0,
        "sensible_fraction": -1.1,
        "coil_td_k": 0.825,
        "coil_air_kg_s": -0.7,
        "superheat_k": 1.4,
    }
    edge = base.shifted({name: by * base.fact(name).spread_si for name, by in spreads_off.items()})
    air = edge.fact("coil_air_kg_s")
    with pytest.raises(InputError):
        build(edge.design_with({air.name: air.value_si - air.spread_si}))
    found = normal(edge, Conditions(HOT, BOX))
    one_way = solve(build(edge.design_with({air.name: air.value_si + air.spread_si})), Conditions(HOT, BOX))
    for place in ("coil_air_out_k", "suction_pa_coil"):
        gained = one_way.readings[place] - found.point.readings[place]
        assert found.effects[air.name][place] == pytest.approx(gained, rel=1e-6), place


# -- what is refused ------------------------------------------------------------------------------------


def read_off(unit: Resolved, **factors: float) -> Visit:
    visit = exact_visit(unit, "2026-07-01", HOT, BOX, *PLACES)
    return replace(
        visit,
        readings=tuple(
            replace(one, value_si=one.value_si * factors.get(one.place, 1.0)) for one in visit.readings
        ),
    )


def test_readings_of_a_sick_machine_teach_nothing() -> None:
    """Half the condenser's air gone raises the head by a third (sign: any handbook)."""
    unit = resolve(card_of(COOLER))
    with pytest.raises(InputError, match="do not fit a healthy machine") as caught:
        sharpen(unit.card, (read_off(unit, discharge_pa=1.4, compressor_a=0.6),))
    assert "2026-07-01" in caught.value.field
    assert "stands out most" in str(caught.value.value)


def test_a_lying_gauge_is_named() -> None:
    unit = resolve(card_of(COOLER))
    with pytest.raises(InputError) as caught:
        sharpen(unit.card, (read_off(unit, suction_pa_service_valve=1.45),))
    assert "suction_pa_service_valve stands out most" in str(caught.value.value)
    assert "high" in str(caught.value.value)


def test_a_visit_that_contradicts_the_earlier_ones_is_refused() -> None:
    """Each alone would pass for a unit whose sizes nobody knows; both cannot be the same machine."""
    base = resolve(card_of(COOLER))
    split = base.fact("condenser_split_k")
    large, small = (base.shifted({split.name: by * split.spread_si}) for by in (-1.7, 1.7))
    first = exact_visit(large, "2026-07-01", HOT, BOX, *PLACES)
    second = exact_visit(small, "2026-07-02", HOT, BOX, *PLACES)
    sharpen(base.card, (first,))
    sharpen(base.card, (second,))
    with pytest.raises(InputError, match="earlier visits") as caught:
        sharpen(base.card, (first, second))
    assert "2026-07-02" in caught.value.field


def test_cycling_fans_teach_nothing() -> None:
    """A cooler in 40 F air cycles its condenser fan: the head swings between two settings."""
    text = COOLER + 'head = { control = "fan_cycling" }\n'
    unit = resolve(card_of(text))
    read = (VisitReading("compressor_a", 7.0, "mine", "clamp_ammeter"),)
    visit = Visit("2026-11-01", "as left", kelvin(45.0), BOX, 1.0, read)
    point = solve(build(unit.design), Conditions(visit.ambient_k, visit.box_k))
    assert "fans_cycling" in point.regime
    with pytest.raises(InputError, match="fans cycle"):
        sharpen(unit.card, (visit,))


def test_a_visit_with_nothing_that_is_predicted() -> None:
    unit = resolve(card_of(COOLER))
    visit = Visit("2026-07-01", "as left", HOT, BOX, 1.0, ())
    with pytest.raises(InputError, match="at least one"):
        sharpen(unit.card, (visit,))


GOOD = (
    SightingEvidence("coil_ice", "clear"),
    SightingEvidence("condenser_face", "clean"),
    SightingEvidence("condenser_fans", "all_turning"),
    SightingEvidence("evaporator_fans", "all_turning"),
)
STEADY = Situation(HOT, BOX, "running", 40.0)
READ = (
    ReadingEvidence("discharge_pa", 1.9e6),
    ReadingEvidence("box_k", BOX),
    ReadingEvidence("coil_td_k", 5.5),
)


def teach(situation: Situation = STEADY, sightings: tuple[SightingEvidence, ...] = GOOD) -> Visit:
    unit = resolve(card_of(COOLER))
    told = Evidence(situation, READ, sightings, biases=(InstrumentBias("gauge 1", "pressure", 5000.0),))
    return proved_visit(unit, told, catalogue(), "2026-07-01", "as left", ("261 psig", "38 F", "10 F"))


def test_only_what_an_instrument_read_counts() -> None:
    """Conditions are no evidence, and differences were worked out from readings that stand beside them."""
    (one,) = teach().readings
    assert (one.place, one.typed) == ("discharge_pa", "261 psig")
    assert one.instrument_id == "gauge_digital:discharge_pa"


def test_a_known_offset_is_taken_off() -> None:
    unit = resolve(card_of(COOLER))
    read = (ReadingEvidence("discharge_pa", 1.9e6, "gauge 1", instrument_class="gauge_digital"),)
    told = Evidence(STEADY, read, GOOD, biases=(InstrumentBias("gauge 1", "pressure", 5000.0),))
    visit = proved_visit(unit, told, catalogue(), "2026-07-01", "as left")
    assert visit.readings[0].value_si == pytest.approx(1.895e6)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"state": "off"}, "conditions.state"),
        ({"state": "defrost"}, "conditions.state"),
        ({"state": "unknown"}, "conditions.state"),
        ({"minutes_in_state": 4.0}, "conditions.minutes_in_state"),
        ({"minutes_in_state": None}, "conditions.minutes_in_state"),
        ({"supply_ratio": 0.85}, "conditions.supply_voltage"),
        ({"ambient_k": None}, "conditions.ambient"),
        ({"box_k": None}, "conditions.box"),
    ],
)
def test_unsteady_or_unmeasured_calls_teach_nothing(changes: dict[str, object], field: str) -> None:
    with pytest.raises(InputErrors) as caught:
        teach(replace(STEADY, **changes))  # type: ignore[arg-type]
    assert [problem.field for problem in caught.value.problems] == [field]


@pytest.mark.parametrize(
    ("sighting", "seen"),
    [
        ("coil_ice", "iced"),
        ("condenser_face", "blocked"),
        ("condenser_fans", "some_stopped"),
        ("evaporator_fans", "none_turning"),
    ],
)
def test_ice_dirt_and_stopped_fans_teach_nothing(sighting: str, seen: str) -> None:
    others = tuple(one for one in GOOD if one.id != sighting)
    for sightings, told in (((*others, SightingEvidence(sighting, seen)), seen), (others, "not looked")):
        with pytest.raises(InputErrors) as caught:
            teach(sightings=sightings)
        (problem,) = caught.value.problems
        assert problem.field == f"sighting {sighting}"
        assert problem.value == told


def test_every_reason_is_told_at_once() -> None:
    with pytest.raises(InputErrors) as caught:
        teach(Situation(None, None, "off"), ())
    assert len(caught.value.problems) == 7
