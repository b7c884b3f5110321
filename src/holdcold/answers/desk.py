"""The desk where shells ask: one request as JSON text in, one answer as JSON text out.

A phone's worker calls nothing else. Requests are ``{"ask": NAME, ...}``; an answer that cannot be given is
``{"error": [...]}`` with field, value, allowed and advice of every problem.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final

from holdcold.answers import bench, lists, page, unit
from holdcold.answers.asking import Given, problems_of
from holdcold.errors import InputError, InputErrors, SolverError, UnknownNameError

ASKS: Final[Mapping[str, Callable[[Given], dict[str, Any]]]] = MappingProxyType(
    {
        "lists": lists.lists,
        "walk": lists.walk,
        "saturation": bench.saturation,
        "state": bench.state,
        "convert": bench.convert,
        "five": unit.five,
        "card": unit.card,
        "normal": unit.normal_now,
        "find": page.find_now,
    }
)
"""Everything that can be asked, by name."""


def answer(request: str) -> str:
    """Return the answer to one request, both JSON; numbers in SI, words in the person's units.

    request: an object with ``ask`` (a name in ``ASKS``) and what that one takes. Never raises for what a
    person typed.
    """
    return json.dumps(answer_data(json.loads(request)), allow_nan=False)


def answer_data(given: Given) -> dict[str, Any]:
    """Return the answer to a request already parsed; given: as for ``answer``."""
    try:
        name = str(given.get("ask"))
        if name not in ASKS:
            raise UnknownNameError("ask", name, ASKS)
        return ASKS[name](given)
    except (InputError, InputErrors, SolverError) as problem:
        return {"error": problems_of(problem)}
