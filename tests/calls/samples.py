"""Calls the tests start from."""

from __future__ import annotations

from holdcold.calls import CallLog, read_call
from holdcold.diagnosis.catalogue import catalogue

CONDITIONS = 'ambient = "95 F"\nbox = "38 F"\nstate = "running"\nminutes_in_state = 30'


def call_text(*entries: str, conditions: str = CONDITIONS) -> str:
    """Return a call with these lines as its entries."""
    return "\n".join(["schema = 1", "[conditions]", conditions, *entries])


def reading(place: str, value: str, more: str = "") -> str:
    """Return one reading as a file holds it."""
    return f'[[reading]]\nplace = "{place}"\nvalue = "{value}"\n{more}'


def call(*entries: str, conditions: str = CONDITIONS, ambient_pa: float = 101_325.0) -> CallLog:
    """Return a call that was read."""
    text = call_text(*entries, conditions=conditions)
    return read_call(text, catalogue=catalogue(), ambient_pa=ambient_pa)
