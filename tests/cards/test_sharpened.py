"""The section that proved-good readings put on a card: in force, set aside, written, read, taken away."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from cards.samples import card_text
from holdcold.cards import Card, Resolved, read_card, resolve, write_card
from holdcold.cards.sharpened import Sharpened, SharpFact, Visit, VisitReading
from holdcold.cards.sharpened_write import as_written, rounded, with_section, without_section, write_sharpened
from holdcold.errors import InputError, InputErrors, SolverError
from holdcold.numerics.linear import cholesky

VISIT = Visit(
    "2026-07-14", 'As left, "good"', 304.26, 276.5, 1.0,
    (VisitReading("discharge_pa", 1801078.4, "gauge_digital high", "gauge_digital", "247 psig"),),
)  # fmt: skip


def base_of(more: str = "") -> Resolved:
    return resolve(read_card(card_text(more=more)))


def fact(unit: Resolved, name: str, *, by: float = 0.0, left: float = 0.5) -> SharpFact:
    """Return one fact moved ``by`` spreads, its spread shrunk to ``left`` of itself."""
    was = unit.fact(name)
    value = was.value_si + by * was.spread_si
    return SharpFact(name, value, left * was.spread_si, was.value_si, was.spread_si, "2026-07-14", "As left")


def section(*facts: SharpFact, together: tuple[tuple[float, ...], ...] | None = None) -> Sharpened:
    alone = tuple((*(0.0,) * row, 1.0) for row in range(len(facts)))
    return Sharpened(facts, together or alone, (VISIT,), "holdcold 0", "model_error 0", base_of().digest())


def with_facts(unit: Resolved, *facts: SharpFact) -> Card:
    return replace(unit.card, sharpened=replace(section(*facts), card=unit.digest()))


def test_a_sharpened_fact_takes_the_place_of_the_default_and_of_what_was_given() -> None:
    for more in ("", '[condenser]\nsplit = "20 F"'):
        base = base_of(more)
        taught = fact(base, "condenser_split_k", by=-1.0)
        now = resolve(with_facts(base, taught)).fact("condenser_split_k")
        assert (now.value_si, now.spread_si, now.origin) == (taught.value_si, taught.spread_si, "sharpened")
        assert "one proved-good call, last 2026-07-14" in now.source
        assert base.fact("condenser_split_k").origin == ("given" if more else "assumed")


def test_without_the_section_the_card_is_as_it_was() -> None:
    base = base_of()
    sharp = with_facts(base, fact(base, "coil_td_k", by=2.0))
    assert resolve(sharp).design != base.design
    assert resolve(replace(sharp, sharpened=None)) == base


def test_what_rests_on_a_sharpened_fact_follows() -> None:
    base = base_of()
    now = resolve(with_facts(base, fact(base, "rated_power_w", by=1.0)))
    assert now.design.rated_capacity_w > 1.15 * base.design.rated_capacity_w
    assert now.design.coil_air_kg_s / base.design.coil_air_kg_s == pytest.approx(
        now.design.rated_capacity_w / base.design.rated_capacity_w
    )


def test_two_facts_that_rest_on_each_other_keep_the_values_written() -> None:
    base = base_of()
    power, capacity = fact(base, "rated_power_w", by=1.0), fact(base, "rated_capacity_w", by=-0.5)
    now = resolve(with_facts(base, power, capacity))
    assert now.fact("rated_power_w").value_si == pytest.approx(power.value_si)
    assert now.fact("rated_capacity_w").value_si == pytest.approx(capacity.value_si)


def test_a_change_upstream_carries_a_sharpened_fact_along() -> None:
    """The capacity was found so far off what the input gives; with more input it lies as far off that."""
    base = base_of()
    now = resolve(with_facts(base, fact(base, "rated_capacity_w", by=1.0)))
    larger = {"rated_power_w": 1.1 * base.fact("rated_power_w").value_si}
    gained = now.design_with(larger).rated_capacity_w - now.design.rated_capacity_w
    assert gained == pytest.approx(base.design_with(larger).rated_capacity_w - base.design.rated_capacity_w)
    assert now.design_with({}) == now.design


@pytest.mark.parametrize("seed", range(8))
def test_moved_facts_written_down_give_the_same_machine(seed: int) -> None:
    """Offsets (each from what its own default then is) and values written on the card say the same."""
    draw = random.Random(seed)
    base = base_of()
    shifts = {one.name: draw.uniform(-1.0, 1.0) * one.spread_si for one in base.uncertain()}
    moved = base.shifted(shifts)
    facts = [
        replace(fact(base, one.name), value_si=one.value_si) for one in moved.facts if one.name in shifts
    ]
    again = resolve(with_facts(base, *facts))
    assert again.sharpened is not None
    for one in moved.facts:
        assert again.fact(one.name).value_si == pytest.approx(one.value_si, rel=1e-9), one.name


def test_shifted_holds_facts_to_their_bounds_and_keeps_spreads() -> None:
    base = base_of()
    moved = base.shifted({"sensible_fraction": 9.0, "coil_td_k": 0.0}, {"coil_td_k": 0.1})
    assert moved.design.sensible_fraction == 1.0
    assert moved.fact("sensible_fraction").spread_si == base.fact("sensible_fraction").spread_si
    assert moved.fact("coil_td_k").spread_si == 0.1


@pytest.mark.parametrize(
    "later", ['[coil]\ntd = "12 F"', '[condenser]\nlocation = "indoor"', '[expansion]\ndevice = "capillary"']
)
def test_a_card_that_changed_since_sets_the_section_aside(later: str) -> None:
    base = base_of()
    taught = section(fact(base, "coil_td_k", by=1.0), fact(base, "valve_reserve"), fact(base, "fan_on_pa"))
    changed = base_of(later)
    now = resolve(replace(changed.card, sharpened=taught))
    assert now.sharpened is None
    assert now.design == changed.design
    assert "set aside" in now.cautions[-1]
    assert resolve(replace(base.card, sharpened=taught)).cautions == base.cautions


def test_notes_and_names_may_change() -> None:
    base = base_of()
    taught = section(fact(base, "coil_td_k", by=1.0))
    card = read_card('name = "Renamed"\n' + card_text() + '[product]\nwhat = "cheese"')
    assert resolve(replace(card, sharpened=taught)).sharpened is not None


def random_section(draw: random.Random) -> Sharpened:
    base = base_of()
    names = draw.sample([one.name for one in base.uncertain()], draw.randint(0, 9))
    rows = [[draw.gauss(0, 1) for _ in range(12)] for _ in names]
    norms = [sum(x * x for x in row) ** 0.5 for row in rows]
    together = tuple(
        (
            *(
                sum(a * b for a, b in zip(rows[i], rows[j], strict=True)) / norms[i] / norms[j]
                for j in range(i)
            ),
            1.0,
        )
        for i in range(len(rows))
    )
    facts = [fact(base, name, by=draw.gauss(0, 0.5), left=draw.uniform(0.1, 0.99)) for name in names]
    visits = tuple(replace(VISIT, call=f"Visit {n} \t ä\\", box_k=276 + draw.random()) for n in range(3))
    return replace(as_written(section(*facts, together=together)), visits=visits)


@pytest.mark.parametrize("seed", range(12))
def test_what_is_written_is_read_back(seed: int) -> None:
    sharpened = as_written(random_section(random.Random(seed)))
    text = "# mine\n" + card_text() + "# and this\n"
    words = {one.name: "so much" for one in sharpened.facts}
    card = read_card(with_section(text, sharpened, words))
    assert card.sharpened == sharpened
    assert card.typed == read_card(text).typed
    assert read_card(write_card(card)) == card


def test_a_persons_lines_stay_as_they_are() -> None:
    text = "# mine\n" + card_text() + "\n# and this\n"
    sharpened = section(fact(base_of(), "coil_td_k"))
    once = with_section(text, sharpened)
    assert once.startswith(text)
    assert with_section(once, sharpened) == once
    assert without_section(once).rstrip("\n") == text.rstrip("\n")
    behind = once + "\n[product]\nwhat = 'cheese'\n"
    assert without_section(behind).rstrip("\n").endswith("what = 'cheese'")
    assert read_card(with_section(behind, sharpened)).text("product.what") == "cheese"


def test_a_section_without_its_marks_is_not_written_over() -> None:
    sharpened = section(fact(base_of(), "coil_td_k"))
    text = with_section(card_text(), sharpened)
    bare = "\n".join(line for line in text.splitlines() if not line.startswith("#"))
    assert read_card(bare).sharpened == as_written(sharpened)
    with pytest.raises(InputError, match="marks"):
        with_section(bare, sharpened)


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('date = "2026-07-14"', 'date = "14.7.2026"', "date"),
        ("spread = ", "spraed = ", "key or section"),
        ("[1.0]", "[0.5]", "together"),
        ("[0.0, 1.0]", "[1.5, 1.0]", "together"),
        ("[0.0, 1.0]", "[1.0]", "together"),
        ('class = "gauge_digital"', 'class = "guage"', "instrument"),
        ("ambient_k = 304.26", 'ambient_k = "warm"', "ambient_k"),
        ("value = 1801078.0, ", "", "value"),
        ("readings = [", "reading = [", "key or section"),
    ],
)
def test_what_is_wrong_with_a_section_is_told(old: str, new: str, field: str) -> None:
    base = base_of()
    text = with_section(card_text(), section(fact(base, "coil_td_k"), fact(base, "superheat_k")))
    assert old in text
    with pytest.raises(InputErrors) as caught:
        read_card(text.replace(old, new))
    assert any(field in problem.field and "sharpened" in problem.field for problem in caught.value.problems)


def test_a_section_that_is_none() -> None:
    for line in ("sharpened = 3\n", 'sharpened = { facts = "many" }\n', "sharpened = { visit = [1] }\n"):
        with pytest.raises(InputErrors) as caught:
            read_card(line + card_text())
        assert all(problem.field.startswith("sharpened") for problem in caught.value.problems)


def test_rounding_keeps_correlations_possible() -> None:
    """Three errors of which any two nearly decide the third: three decimals alone make it impossible."""
    near, far = 0.999999 * math.cos(0.0075), 0.999999 * math.cos(0.015)
    cholesky(((1.0,), (near, 1.0), (far, near, 1.0)))
    with pytest.raises(SolverError):
        cholesky(((1.0,), (round(near, 3), 1.0), (round(far, 3), round(near, 3), 1.0)))
    short = rounded(((1.0,), (near, 1.0), (far, near, 1.0)))
    cholesky(short)
    assert all(len(str(value)) <= 5 for row in short for value in row)
    assert short[2][0] == pytest.approx(1.0, abs=0.01)


def test_numbers_of_the_section_are_those_a_person_can_follow() -> None:
    """The comment above each fact says in the trade's units what the numbers below say in SI."""
    taught = fact(base_of(), "condenser_split_k", by=-1.0)
    text = write_sharpened(section(taught), {"condenser_split_k": "condenser split: 20 F, was 24 F"})
    lines = text.splitlines()
    place = next(number for number, line in enumerate(lines) if "was 24 F" in line)
    assert 'name = "condenser_split_k"' in lines[place + 1]
    assert 'typed = "247 psig"' in text
