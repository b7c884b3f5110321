"""Cards: a unit as people describe it, and the design that follows with every assumption named."""

from __future__ import annotations

from holdcold.cards.card import Card
from holdcold.cards.facts import Fact
from holdcold.cards.read import read_card
from holdcold.cards.resolve import Resolved, resolve
from holdcold.cards.schema import card_schema
from holdcold.cards.write import write_card

__all__ = ["Card", "Fact", "Resolved", "card_schema", "read_card", "resolve", "write_card"]
