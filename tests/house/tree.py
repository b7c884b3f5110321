"""What the house tests look at: the project's files, and its source as syntax trees."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "holdcold"
SHELLS = {"cli", "server", "store", "web"}
FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef


@cache
def project_files() -> tuple[Path, ...]:
    """Return every file that is, or is about to be, under version control."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    paths = (ROOT / name for name in sorted(set(listed.stdout.split("\0")) - {""}))
    return tuple(path for path in paths if path.is_file())


def python_files(under: Path = ROOT) -> list[Path]:
    """Return the project's Python files below ``under``."""
    return [path for path in project_files() if path.suffix == ".py" and path.is_relative_to(under)]


@cache
def parsed(path: Path) -> ast.Module:
    """Return the syntax tree of ``path``, read as the oldest supported Python reads it."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path), feature_version=(3, 11))


def name_of(path: Path) -> str:
    """Return ``path`` as people write it, from the project's root."""
    return path.relative_to(ROOT).as_posix()


def room_of(path: Path) -> str:
    """Return the room a source file belongs to ("errors" for ``errors.py``, "" for the package itself)."""
    first = path.relative_to(SOURCE).parts[0]
    return first.removesuffix(".py").replace("__init__", "")


def pure_files() -> list[Path]:
    """Return the source files of every room that is no shell."""
    return [path for path in python_files(SOURCE) if room_of(path) not in (*SHELLS, "__main__")]


def functions(tree: ast.AST) -> Iterator[FunctionNode]:
    """Yield every function and method in ``tree``, nested ones too."""
    return (node for node in ast.walk(tree) if isinstance(node, FunctionNode))


def public_definitions(tree: ast.Module) -> Iterator[tuple[str, FunctionNode | ast.ClassDef]]:
    """Yield (dotted name, node) of each public class, function and method, from the top down."""

    def visit(body: list[ast.stmt], prefix: str) -> Iterator[tuple[str, FunctionNode | ast.ClassDef]]:
        for node in body:
            if not isinstance(node, FunctionNode | ast.ClassDef) or node.name.startswith("_"):
                continue
            yield prefix + node.name, node
            if isinstance(node, ast.ClassDef):
                yield from visit(node.body, f"{prefix}{node.name}.")

    return visit(tree.body, "")


def body_lines(node: FunctionNode) -> int:
    """Return how many lines ``node`` has, its docstring aside (``def`` line included)."""
    lines = (node.end_lineno or node.lineno) - node.lineno + 1
    if ast.get_docstring(node) is not None:
        lines -= (node.body[0].end_lineno or 0) - node.body[0].lineno + 1
    return lines
