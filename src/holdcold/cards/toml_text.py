"""Single values as TOML."""

from __future__ import annotations

from typing import Final

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
