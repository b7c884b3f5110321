"""One catalogue of messages: every language has every message, every message is used, none is missing."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from house.tree import SOURCE

STATIC = SOURCE / "web" / "static"
LANGUAGES = sorted((STATIC / "messages").glob("*.json"))
SCRIPTS = "\n".join(path.read_text(encoding="utf-8") for path in sorted((STATIC / "js").glob("*.js")))
VALUES = re.compile(r"\{\w+\}")


def messages(path: Path) -> dict[str, str]:
    """Return the messages of a language, its words for the engine's texts aside."""
    found = json.loads(path.read_text(encoding="utf-8"))
    found.pop("engine", None)
    return dict(found)


ENGLISH = messages(STATIC / "messages" / "en.json")


@pytest.mark.parametrize("path", LANGUAGES, ids=lambda path: path.stem)
def test_languages_say_the_same(path: Path) -> None:
    own = messages(path)
    assert own.keys() == ENGLISH.keys()
    assert {key for key in own if set(VALUES.findall(own[key])) != set(VALUES.findall(ENGLISH[key]))} == set()
    assert [key for key, text in own.items() if not text.strip()] == []


def test_every_message_asked_for_is_there() -> None:
    asked = set(re.findall(r'\bt\("(\w+)"', SCRIPTS))
    assert asked - ENGLISH.keys() == set()


def test_every_message_is_asked_for() -> None:
    parts = set(re.findall(r"\$\{t\(`(\w+_)", SCRIPTS)) | set(re.findall(r"t\(`(\w+_)\$", SCRIPTS))
    groups = set(re.findall(r'words\("(\w+)"', SCRIPTS))
    starts = tuple(parts | {f"{group}_" for group in groups})
    named = {key for key in ENGLISH if f'"{key}"' in SCRIPTS or key.startswith(starts)}
    assert ENGLISH.keys() - named - {"language_name"} == set()


def test_no_text_stands_in_a_screen() -> None:
    """Words between tags would be in one language only; signs, units and the name may stand there."""
    loose = re.findall(r'[\w"}]>\s*([A-Za-z][a-z]{2,}[^<>${}`|]*)<', SCRIPTS)
    assert [text for text in loose if text.strip() not in {"Holdcold", "abc"}] == []
