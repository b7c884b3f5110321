"""The pure rooms use a short list of standard modules and touch neither clock, network nor chance.

They run unchanged on a phone and on a server, and the same inputs give the same answer on both
(decisions/0001). A module is on the list because it is deterministic and present in every Python
the engine runs in; whoever needs another one adds it here and says why.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from house.tree import name_of, parsed, pure_files

ALLOWED_MODULES = {
    # the language
    "__future__", "abc", "collections", "collections.abc", "contextlib", "copy", "dataclasses", "enum",
    "functools", "itertools", "operator", "types", "typing",
    # arithmetic
    "array", "bisect", "cmath", "decimal", "fractions", "heapq", "math", "numbers",
    # text and packaged data: names, never paths
    "base64", "difflib", "hashlib", "importlib.resources", "importlib.resources.abc", "json", "re", "string",
    "struct", "textwrap", "tomllib", "unicodedata", "zlib",
    # dates as values that a caller passed in (reading the clock is caught below)
    "datetime",
}  # fmt: skip

# Only the class of a generator that a caller passes in, never the module's shared one.
ALLOWED_NAMES = {"random": {"Random"}}

CLOCK_CALLS = {"now", "today", "utcnow"}
FORBIDDEN_BUILTINS = {"open", "input", "print", "eval", "exec", "breakpoint", "__import__", "globals"}


def imported(tree: ast.Module) -> Iterator[tuple[int, str, str]]:
    """Yield (line, module, name) of each import; name is "" for ``import module``."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name, "") for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            module = "." * node.level + (node.module or "")
            yield from ((node.lineno, module, alias.name) for alias in node.names)


def import_is_allowed(module: str, name: str) -> bool:
    """Say whether a pure room may import ``name`` from ``module``."""
    if module.startswith(".") or module.split(".", maxsplit=1)[0] == "holdcold":
        return True
    if module in ALLOWED_MODULES or f"{module}.{name}" in ALLOWED_MODULES:
        return True
    return name in ALLOWED_NAMES.get(module, set())


def impure_imports(tree: ast.Module) -> list[str]:
    """Return each import a pure room may not have."""
    return [
        f"line {line}: {module} {name}".rstrip()
        for line, module, name in imported(tree)
        if not import_is_allowed(module, name)
    ]


def adds_only_integers(call: ast.Call) -> bool:
    """Say whether a ``sum`` plainly counts: of ``1 for ...``, ``len(x) for ...``, ``a < b for ...``."""
    if not call.args or not isinstance(call.args[0], ast.GeneratorExp):
        return False
    element = call.args[0].elt
    if isinstance(element, ast.Constant):
        return isinstance(element.value, int)
    if isinstance(element, ast.Call):
        return isinstance(element.func, ast.Name) and element.func.id in {"len", "int"}
    return isinstance(element, ast.Compare | ast.BoolOp)


def impure_calls(tree: ast.Module) -> list[str]:
    """Return each call a pure room may not make, with its line."""
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Attribute) and node.func.attr in CLOCK_CALLS:
            found.append(f"line {node.lineno}: .{node.func.attr}() reads the clock; let the caller pass it")
        if not isinstance(node.func, ast.Name):
            continue
        if node.func.id in FORBIDDEN_BUILTINS:
            found.append(f"line {node.lineno}: {node.func.id}() is for the shells")
        if node.func.id == "sum" and not adds_only_integers(node):
            found.append(
                f"line {node.lineno}: sum() rounds differently from Python 3.12 on; use math.fsum or a loop"
            )
    return found


def shared_state(tree: ast.Module) -> list[str]:
    """Return module-level containers that start empty: they can only be there to be filled later."""
    found = []
    for node in tree.body:
        value = node.value if isinstance(node, ast.Assign | ast.AnnAssign) else None
        empty_display = isinstance(value, ast.List | ast.Set) and not value.elts
        empty_dict = isinstance(value, ast.Dict) and not value.keys
        empty_call = isinstance(value, ast.Call) and ast.unparse(value) in {"dict()", "list()", "set()"}
        if empty_display or empty_dict or empty_call:
            found.append(f"line {node.lineno}: a container that fills up as the program runs")
    return found


@pytest.mark.parametrize("path", pure_files(), ids=name_of)
def test_pure_room_stays_pure(path: Path) -> None:
    tree = parsed(path)
    assert impure_imports(tree) + impure_calls(tree) + shared_state(tree) == []


IMPURE = """
import os
import numpy as np
from pathlib import Path
import random
from random import gauss
import time
import threading
from zoneinfo import ZoneInfo
import importlib
import urllib.request
started = datetime.now()
day = date.today()
file = open("x")
print(1)
total = sum(masses)
_CACHE: dict[str, int] = {}
seen = set()
"""
PURE = """
from random import Random
from importlib import resources
import importlib.resources
import tomllib
from datetime import datetime
from holdcold.errors import InputError
n = sum(1 for x in y)
n = sum(x > 0 for x in y)
NAMES = {"a": 1}
"""


@pytest.mark.parametrize("line", IMPURE.strip().splitlines())
def test_the_check_sees(line: str) -> None:
    tree = ast.parse(line)
    assert impure_imports(tree) + impure_calls(tree) + shared_state(tree)


@pytest.mark.parametrize("line", PURE.strip().splitlines())
def test_the_check_allows(line: str) -> None:
    tree = ast.parse(line)
    assert impure_imports(tree) + impure_calls(tree) + shared_state(tree) == []
