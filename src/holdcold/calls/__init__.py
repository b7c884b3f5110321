"""Calls: what was read, seen, checked and mended on one visit, and what of it is odd."""

from __future__ import annotations

from holdcold.calls.flags import flags
from holdcold.calls.log import CallConditions, CallLog, Flag, Reading
from holdcold.calls.read import read_call, read_call_document
from holdcold.calls.schema import call_schema
from holdcold.calls.weigh import evidence, situation

__all__ = [
    "CallConditions", "CallLog", "Flag", "Reading",
    "call_schema", "evidence", "flags", "read_call", "read_call_document", "situation",
]  # fmt: skip
