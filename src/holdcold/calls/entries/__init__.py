"""The log of a call: entries as they were made, merged by union, and what follows from them."""

from __future__ import annotations

from holdcold.calls.entries.amounts import Movement, ledger, totals
from holdcold.calls.entries.attachments import files_of
from holdcold.calls.entries.entry import Entry, body_bytes, canonical, entry_of, is_moment, make_entry
from holdcold.calls.entries.ids import is_sha256, is_uuid7, sha256_text, uuid7_text
from holdcold.calls.entries.kinds import KINDS
from holdcold.calls.entries.merge import ClockOffset, Log, log_of, may_redact, merge, redacted_ids
from holdcold.calls.entries.order import corrected_s, ordered
from holdcold.calls.entries.readings import Latest, latest_readings
from holdcold.calls.entries.receipts import GENESIS, Receipt, broken_links, next_receipt
from holdcold.calls.entries.schema import body_schemas, entry_schema
from holdcold.calls.entries.story import Item, Story, story
from holdcold.calls.entries.validate import body_of, form_of, problems_of, validate
from holdcold.calls.entries.views import (
    SUMMARY_KINDS,
    Line,
    Proof,
    Stay,
    Summary,
    call_state,
    open_temporary,
    summary,
    time_on_site,
    timeline,
    what_is_proved,
    why_not_closed,
)
from holdcold.calls.entries.weigh import call_document, call_of, evidence_of

__all__ = [
    "Entry", "files_of", "body_bytes", "canonical", "entry_of", "make_entry",
    "is_moment", "is_sha256", "is_uuid7", "sha256_text", "uuid7_text",
    "KINDS", "body_of", "form_of", "problems_of", "validate", "body_schemas", "entry_schema",
    "ClockOffset", "Log", "log_of", "may_redact", "merge", "redacted_ids", "corrected_s", "ordered",
    "GENESIS", "Receipt", "broken_links", "next_receipt",
    "Item", "Story", "story", "Line", "Proof", "Stay", "Movement", "Latest",
    "call_state", "latest_readings", "ledger", "open_temporary", "time_on_site", "timeline", "totals",
    "SUMMARY_KINDS", "Summary", "summary",
    "what_is_proved", "why_not_closed", "call_document", "call_of", "evidence_of",
]  # fmt: skip
