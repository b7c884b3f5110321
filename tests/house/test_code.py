"""Sizes and habits of the code: alarms that ring before a file or a function is too big to read."""

from __future__ import annotations

import ast
import statistics
from pathlib import Path

import pytest

from house.tree import SOURCE, body_lines, functions, name_of, parsed, python_files

MOST_FILE_LINES = 700
MOST_FUNCTION_LINES = 80
BROAD = {"Exception", "BaseException"}


def broad_handlers(tree: ast.Module) -> list[str]:
    """Return each handler that would also swallow a programming mistake."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.ExceptHandler):
            caught = node.type.elts if isinstance(node.type, ast.Tuple) else [node.type]
            if any(one is None or ast.unparse(one) in BROAD for one in caught):
                found.append(f"line {node.lineno}: broad except")
    return found


def bad_habits(tree: ast.Module) -> list[str]:
    """Return each construct the source does without, with its line."""
    found = broad_handlers(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Global):
            found.append(f"line {node.lineno}: global statement")
        elif isinstance(node, ast.Assert):
            found.append(f"line {node.lineno}: assert (gone under python -O; raise an error instead)")
        elif isinstance(node, ast.Raise) and "NotImplemented" in ast.unparse(node):
            found.append(f"line {node.lineno}: a stub")
    return found


@pytest.mark.parametrize("path", python_files(), ids=name_of)
def test_python_file_is_readable(path: Path) -> None:
    tree = parsed(path)  # also proves that the oldest supported Python can read it
    lines = path.read_text(encoding="utf-8").count("\n")
    assert lines <= MOST_FILE_LINES
    sizes = {f"{node.name}, line {node.lineno}": body_lines(node) for node in functions(tree)}
    assert {name: size for name, size in sizes.items() if size > MOST_FUNCTION_LINES} == {}


@pytest.mark.parametrize("path", python_files(SOURCE), ids=name_of)
def test_source_has_no_bad_habits(path: Path) -> None:
    assert bad_habits(parsed(path)) == []


def test_typical_sizes() -> None:
    files = [path.read_text(encoding="utf-8").count("\n") for path in python_files(SOURCE)]
    bodies = sorted(body_lines(node) for path in python_files(SOURCE) for node in functions(parsed(path)))
    assert statistics.median(files) <= 200
    assert statistics.median(bodies) <= 10
    assert bodies[int(0.9 * len(bodies))] <= 30


@pytest.mark.parametrize(
    "code",
    [
        "try: f()\nexcept Exception: pass",
        "try: f()\nexcept: pass",
        "try: f()\nexcept (ValueError, BaseException): pass",
        "def f():\n    global x",
        "assert x",
        "raise NotImplementedError",
    ],
)
def test_the_check_sees(code: str) -> None:
    assert bad_habits(ast.parse(code))


def test_newer_syntax_is_refused() -> None:
    with pytest.raises(SyntaxError):
        ast.parse("type Pressure = float", feature_version=(3, 11))
