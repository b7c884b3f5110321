"""Whether an entry can be used: everything wrong with it at once, and nothing changed."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any, Final

from holdcold.calls.entries.body_form import form_problems
from holdcold.calls.entries.entry import Entry
from holdcold.calls.entries.kinds import KINDS, Form
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.errors import InputError, InputErrors, UnknownNameError

_MOST_DEPTH: Final = 50
_MOST_DIGITS: Final = 16


def form_of(entry: Entry) -> Form | None:
    """Return the form of an entry's body; None for a kind or version that this release does not know."""
    kind = KINDS.get(entry.kind)
    return None if kind is None or entry.schema > len(kind.versions) else kind.versions[entry.schema - 1]


def body_of(entry: Entry) -> dict[str, Any]:
    """Return the body of an entry as a document.

    Raises InputError where there is none any more, or the bytes are no JSON object that every reader
    understands alike (repeated keys, numbers without a finite value, nesting beyond 50 levels).
    """
    if entry.body is None:
        raise InputError("body", None, "a body", "It was redacted: only its hash is left.")
    try:
        body = json.loads(
            entry.body.decode("utf-8"),
            object_pairs_hook=_object,
            parse_constant=_refuse,
            parse_float=_finite,
            parse_int=_exact,
        )
    except (ValueError, RecursionError) as problem:
        text = entry.body[:60].decode("utf-8", "replace")
        raise InputError("body", text, "one JSON object", f"Not usable as JSON: {problem}.") from None
    if not isinstance(body, dict):
        raise InputError("body", body, "one JSON object", "Write { ... } with the fields of the kind.")
    if _depth(body) > _MOST_DEPTH:
        raise InputError("body", "nested deeply", f"at most {_MOST_DEPTH} levels", "Make it flatter.")
    return body


def problems_of(entry: Entry, catalogue: Catalogue) -> tuple[InputError, ...]:
    """Return everything wrong with an entry by itself; nothing for kinds and versions not known here.

    catalogue: the names that exist. A redacted entry has no problems: it says nothing any more.
    """
    form = form_of(entry)
    if form is None or entry.body is None:
        return ()
    try:
        body = body_of(entry)
    except InputError as problem:
        return (problem,)
    problems = [*_envelope_problems(entry), *form_problems(body, form.fields, catalogue)]
    if not problems:
        problems = [problem for rule in form.rules for problem in rule(body, catalogue)]
    return tuple(problems)


def validate(entry: Entry, catalogue: Catalogue) -> None:
    """Raise InputErrors with everything wrong with an entry that is being made.

    catalogue: the names that exist. Stricter than taking in what others made: kinds and versions must
    be known here.
    """
    kind = KINDS.get(entry.kind)
    if kind is None:
        raise InputErrors([UnknownNameError("kind", entry.kind, KINDS)])
    if form_of(entry) is None:
        allowed = f"1 to {len(kind.versions)}"
        raise InputErrors([InputError("schema", entry.schema, allowed, "Use a version this release knows.")])
    problems = problems_of(entry, catalogue)
    if problems:
        raise InputErrors(problems)


def _envelope_problems(entry: Entry) -> Iterable[InputError]:
    kind = KINDS[entry.kind]
    if kind.amounts and entry.corrects:
        yield InputError(
            "corrects", entry.corrects, "nothing for amounts",
            "Amounts are legal records: take the entry back with a reversing one (reverses), then enter "
            "the right amount.",
        )  # fmt: skip
    if kind.only == "corrects" and not entry.corrects:
        yield InputError("corrects", "nothing", "id of an entry", "Name the entry that is withdrawn.")
    if kind.only == "redacts" and not entry.redacts:
        yield InputError("redacts", "nothing", "id of an entry", "Name the entry whose body is to go.")
    if entry.redacts and kind.only != "redacts":
        yield InputError("redacts", entry.redacts, "nothing", "Only an entry of kind redaction redacts.")
    if entry.redacts and entry.corrects:
        yield InputError("corrects", entry.corrects, "nothing", "A redaction corrects nothing.")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice")
    return found


def _refuse(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text} is no finite number")
    return value


def _exact(text: str) -> int:
    """Whole numbers beyond what a float holds exactly differ between readers: refused."""
    if len(text) > _MOST_DIGITS:
        raise ValueError(f"{text[:20]}... is too long a number")
    return int(text)


def _depth(value: object) -> int:
    """Return how deeply a document is nested, without recursion."""
    deepest, waiting = 0, [(value, 1)]
    while waiting:
        one, depth = waiting.pop()
        deepest = max(deepest, depth)
        inner = one.values() if isinstance(one, Mapping) else one if isinstance(one, list) else ()
        waiting.extend((item, depth + 1) for item in inner)
    return deepest
