"""Public names are explained, and what a docstring says of arguments is true of the signature.

The form (CONTRIBUTING.md): ``name: meaning [unit], range`` or ``first, second: meaning``, after a blank
line, a semicolon, a full stop or a closing bracket. A function that explains one argument so mentions every
one whose type does not explain itself, as a class of ours does. ``Returns:``, ``Raises:`` and ``Source:``
begin with a capital and are left alone.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from house.tree import SOURCE, FunctionNode, name_of, parsed, public_definitions, python_files

NAME = r"\*{0,2}[a-z_]\w*"
LISTING = re.compile(rf"(?:\n\n|[;.]\s|\]\n)(?P<names>{NAME}(?:,\s{NAME})*):\s")
# Generic words of annotations; any other capitalised word is a class that explains itself.
GENERIC = {"Any", "Callable", "Collection", "Iterable", "Iterator", "Literal", "Mapping", "None", "Sequence"}


def documented_names(docstring: str) -> list[str]:
    """Return the argument or field names that the docstring explains, in its order."""
    listings = LISTING.finditer(docstring.replace("``", ""))
    return [name.strip("* \n") for listing in listings for name in listing["names"].split(",")]


def arguments(node: FunctionNode) -> dict[str, str]:
    """Return the arguments of a function and their annotations, ``self`` and ``cls`` aside."""
    spec = node.args
    every = [*spec.posonlyargs, *spec.args, *spec.kwonlyargs]
    every += [argument for argument in (spec.vararg, spec.kwarg) if argument is not None]
    annotated = {one.arg: ast.unparse(one.annotation) if one.annotation else "" for one in every}
    return {name: annotation for name, annotation in annotated.items() if name not in {"self", "cls"}}


def explains_itself(annotation: str) -> bool:
    """Say whether an annotation names a class, whose own docstring then does the explaining."""
    return bool(set(re.findall(r"\b[A-Z]\w+", annotation)) - GENERIC)


def attribute_names(node: ast.ClassDef) -> set[str]:
    """Return the names a class gives its instances: fields, properties, methods, ``self.x``, arguments."""
    names: set[str] = set()
    for inner in ast.walk(node):
        if isinstance(inner, FunctionNode):
            names |= {inner.name, *arguments(inner)}
        elif isinstance(inner, ast.Name | ast.Attribute) and isinstance(inner.ctx, ast.Store):
            names.add(inner.id if isinstance(inner, ast.Name) else inner.attr)
    return names


def complaints(dotted: str, node: FunctionNode | ast.ClassDef) -> list[str]:
    """Return what is wrong with the docstring of one public definition."""
    docstring = ast.get_docstring(node)
    if not docstring:
        return [f"{dotted}: no docstring"]
    listed = documented_names(docstring)
    if isinstance(node, ast.ClassDef):
        # A subclass may explain what it inherits; only a class that stands alone can be judged.
        unknown = [] if node.bases else [name for name in listed if name not in attribute_names(node)]
        return [f"{dotted}: explains {name}, which the class does not have" for name in unknown]
    real = arguments(node)
    wrong = [f"{dotted}: explains {name}, which is no argument" for name in listed if name not in real]
    if listed:
        silent = [name for name, annotation in real.items() if not explains_itself(annotation)]
        mentioned = set(re.findall(r"\w+", docstring))
        wrong += [f"{dotted}: leaves out argument {name}" for name in silent if name not in mentioned]
    return wrong


def is_explained_elsewhere(node: FunctionNode | ast.ClassDef) -> bool:
    """Say whether ``node`` only repeats another definition (overload, setter)."""
    decorators = [] if isinstance(node, ast.ClassDef) else node.decorator_list
    return any(ast.unparse(decorator).endswith(("overload", ".setter")) for decorator in decorators)


@pytest.mark.parametrize("path", python_files(SOURCE), ids=name_of)
def test_docstrings_match_signatures(path: Path) -> None:
    tree = parsed(path)
    wrong = [] if ast.get_docstring(tree) else ["the module has no docstring"]
    for dotted, node in public_definitions(tree):
        if not is_explained_elsewhere(node):
            wrong += complaints(dotted, node)
    assert wrong == [], "CONTRIBUTING.md, part Docstrings, shows the form"


@pytest.mark.parametrize(
    ("code", "finding"),
    [
        ("def f(a_k): return a_k", "f: no docstring"),
        ('def f(a_k):\n    """One.\n\n    b_k: air [K].\n    """', "f: explains b_k, which is no argument"),
        ('def f(a_k, b_k):\n    """One.\n\n    a_k: air [K].\n    """', "f: leaves out argument b_k"),
        (
            'class C:\n    """One.\n\n    a_k: air [K].\n    """\n    b_k: float',
            "C: explains a_k, which the class does not have",
        ),
        ('class C:\n    """One."""\n    def f(self): ...', "C.f: no docstring"),
    ],
)
def test_the_check_sees(code: str, finding: str) -> None:
    tree = ast.parse(code)
    assert finding in [line for dotted, node in public_definitions(tree) for line in complaints(dotted, node)]


def test_the_check_allows_a_full_listing() -> None:
    code = '''
def f(unit: Unit, a_pa: float, b_pa: float, *, c_k: float = 0.0, d: Sequence[float] = ()):
    """Return nothing of use: a summary line may hold a colon.

    a_pa,
    b_pa: pressures [Pa]; c_k: a difference [K], over
    two lines. d: masses [kg]. Raises: InputError when it is at a
    loss: a wrapped line may begin with a word and a colon.
    """
'''
    assert [complaints(dotted, node) for dotted, node in public_definitions(ast.parse(code))] == [[]]
