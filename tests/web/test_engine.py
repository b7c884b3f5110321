"""The engine gives the same answers in the browser, cut off from everything, as in CPython."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from holdcold.answers.desk import answer_data
from support.app_in_browser import (
    EXAMPLES,
    PHONE,
    Served,
    ask,
    differences,
    engine_is_ready,
    plain,
    questions,
    shell_is_kept,
)

pytestmark = [pytest.mark.needs("chromium"), pytest.mark.xdist_group("browser")]

RANDOM_ONES = 4
OTHERS = (
    {"ask": "lists"},
    {"ask": "saturation", "refrigerant": "R-449A", "reading": "18 in.Hg", "altitude": "5000 ft"},
    {"ask": "saturation", "refrigerant": "R-290", "reading": "-10 C", "units": "si"},
    {"ask": "state", "refrigerant": "R-448A", "pressure": "30", "temperature": "20"},
    {"ask": "convert", "text": "1 lb 6 oz"},
    {"ask": "five", "answers": {"kind": "walk-in", "refrigerant": "R-448A", "application": "freezer",
                                "box": "10 x 8 x 8 ft", "capacity": "don't know"}},
    {"ask": "find", "card": "schema = 1"},
    {"ask": "nothing of the kind"},
)  # fmt: skip


def test_same_answers(browser: Browser) -> None:
    server = Served()
    context = browser.new_context(**PHONE)
    page = context.new_page()
    page.goto(server.address)
    engine_is_ready(page)
    shell_is_kept(page)
    context.set_offline(True)
    server.kill()
    page.reload()
    engine_is_ready(page)
    found: dict[str, list[str]] = {}
    asked = [*questions(RANDOM_ONES), *((str(one["ask"]), dict(one)) for one in OTHERS)]
    for name, request in asked:
        found[name] = differences(ask(page, request), plain(answer_data(request)))
    context.close()
    assert {name: rows[:3] for name, rows in found.items() if rows} == {}
    assert len(found) >= 12


def test_normal_of_every_example_card(browser: Browser, served: Served) -> None:
    context = browser.new_context(**PHONE)
    page = context.new_page()
    page.goto(served.address)
    engine_is_ready(page)
    cards = [path for path in sorted(EXAMPLES.glob("*.toml")) if not path.stem.startswith("call-")]
    for path in cards:
        request = {"ask": "normal", "card": path.read_text(encoding="utf-8"), "ambient": "88", "box": "20"}
        assert differences(ask(page, request), plain(answer_data(request))) == [], path.stem
    context.close()
    assert len(cards) == 4


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [({"a": 1.0}, {"a": 1.0 + 1e-12}, True), ({"a": 1.0}, {"a": 1.0 + 1e-7}, False), ([1, 2], [2, 1], False),
     ({"a": 1, "b": 2}, {"b": 2, "a": 1}, False), ({"a": "x"}, {"a": "y"}, False), ([1], [1, 1], False)],
)  # fmt: skip
def test_the_comparison_sees(one: object, other: object, *, same: bool) -> None:
    assert (differences(one, other) == []) is same
