"""Writing a card back as TOML, as it was typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from holdcold.cards.card import Card
from holdcold.cards.fields import CARD_FIELDS, SECTIONS
from holdcold.cards.form import Field

_ESCAPES: Final = {
    '"': '\\"',
    "\\": "\\\\",
    "\n": "\\n",
    "\r": "\\r",
    "\t": "\\t",
    "\b": "\\b",
    "\f": "\\f",
}
_LAST_CONTROL: Final = 0x1F
_DELETE: Final = 0x7F


def write_card(card: Card) -> str:
    """Return the TOML of a card; reading it again gives an equal card."""
    return write_form(card.typed, CARD_FIELDS, SECTIONS)


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


def toml_value(value: object) -> str:
    """Return one TOML value: text, number, true or false, or a list of them."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    return _quoted(str(value))


def _quoted(text: str) -> str:
    return '"' + "".join(_escaped(character) for character in text) + '"'


def _escaped(character: str) -> str:
    if character in _ESCAPES:
        return _ESCAPES[character]
    code = ord(character)
    return f"\\u{code:04x}" if code <= _LAST_CONTROL or code == _DELETE else character
