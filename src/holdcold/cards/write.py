"""Writing a card back as TOML, as it was typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from holdcold.cards.card import Card
from holdcold.cards.fields import CARD_FIELDS, SECTIONS
from holdcold.cards.form import Field
from holdcold.cards.sharpened_write import write_sharpened
from holdcold.cards.toml_text import toml_value


def write_card(card: Card) -> str:
    """Return the TOML of a card; reading it again gives an equal card."""
    text = write_form(card.typed, CARD_FIELDS, SECTIONS)
    return text if card.sharpened is None else text + "\n" + write_sharpened(card.sharpened)


def write_form(typed: Mapping[str, object], fields: Iterable[Field], sections: Iterable[str]) -> str:
    """Return TOML for the given (path, as typed) pairs, sections and keys in the order of the table."""
    by_section: dict[str, list[str]] = {section: [] for section in sections}
    for field in fields:
        if field.path in typed:
            by_section[field.section].append(f"{field.key} = {toml_value(typed[field.path])}")
    blocks = [
        "\n".join([f"[{section}]", *lines] if section else lines)
        for section, lines in by_section.items()
        if lines
    ]
    return "\n\n".join(blocks) + "\n"
