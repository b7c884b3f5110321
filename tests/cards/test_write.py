"""Writing a card and reading it again gives the same card."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.samples import card_text
from holdcold.cards import read_card, write_card
from holdcold.cards.write import toml_value

FOLDER = Path(__file__).parents[2] / "examples"
EXAMPLES = sorted(path for path in FOLDER.glob("*.toml") if not path.name.startswith("call-"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_come_back(path: Path) -> None:
    card = read_card(path.read_text(encoding="utf-8"))
    assert read_card(write_card(card)) == card


def test_what_was_not_known_stays_written() -> None:
    card = read_card(card_text(more='[condenser]\nsplit = "don\'t know"'))
    assert not card.has("condenser.split")
    assert 'split = "don\'t know"' in write_card(card)
    assert read_card(write_card(card)) == card


@given(name=st.text(alphabet=st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40))
def test_any_name_comes_back(name: str) -> None:
    written = f"x = {toml_value(name)}"
    assert tomllib.loads(written)["x"] == name


@given(
    value=st.recursive(
        st.booleans() | st.integers(-(2**62), 2**62) | st.floats(allow_nan=False, allow_infinity=False),
        lambda inner: st.lists(inner, max_size=4),
        max_leaves=8,
    )
)
def test_any_value_comes_back(value: object) -> None:
    assert tomllib.loads(f"x = {toml_value(value)}")["x"] == value


def test_sections_come_in_the_order_of_the_form() -> None:
    text = write_card(read_card(card_text(more='[charge]\namount = "5 lb"\n[coil]\nfans = 2')))
    assert text.index("[box]") < text.index("[capacity]") < text.index("[coil]") < text.index("[charge]")
