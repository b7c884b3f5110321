"""A card: the description of a unit, as far as people gave it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from holdcold.cards.form import Value
from holdcold.cards.sharpened import Sharpened
from holdcold.quantities.constants import STANDARD_ATMOSPHERE_PA


@dataclass(frozen=True)
class Card:
    """What was given of a unit, and nothing else; ``resolve`` adds what is assumed.

    values: SI values by path (``"condenser.split"``); refrigerant in its proper spelling.
    typed: what stood in the file by path, *don't know* included, so that it can be written back.
    ambient_pa: air pressure at the card's altitude [Pa]; gauge pressures were read against it.
    sharpened: what proved-good readings taught, None before the first.
    """

    values: Mapping[str, Value]
    typed: Mapping[str, object]
    ambient_pa: float = STANDARD_ATMOSPHERE_PA
    sharpened: Sharpened | None = None

    def has(self, path: str) -> bool:
        """Say whether somebody gave this field."""
        return path in self.values

    def number(self, path: str) -> float | None:
        """Return a number [SI] or None when it was not given."""
        value = self.values.get(path)
        return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None

    def text(self, path: str) -> str:
        """Return a text or choice, empty when it was not given."""
        value = self.values.get(path)
        return value if isinstance(value, str) else ""

    def numbers(self, path: str) -> tuple[float, ...] | None:
        """Return a list of numbers or None when it was not given."""
        value = self.values.get(path)
        return value if isinstance(value, tuple) else None

    def flag(self, path: str) -> bool | None:
        """Return true or false, or None when it was not given."""
        value = self.values.get(path)
        return value if isinstance(value, bool) else None

    def said(self, path: str) -> str:
        """Return the field as it was typed, for messages."""
        return str(self.typed.get(path, ""))
