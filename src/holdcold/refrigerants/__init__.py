"""Refrigerant properties: fast, consistent, standard library only.

    >>> from holdcold.refrigerants import fluid, names
    >>> r448a = fluid("R-448A")
    >>> round(r448a.dew_k(239_000.0) - 273.15, 1)
    -20.4

``fluid`` returns a ``Fluid`` (its docstring lists every function); ``names`` lists what there is. The data
files beside this module are made by ``tools/fit_refrigerants``; docs/refrigerants.md tells the method, the
measured error and how to add a fluid.
"""

from __future__ import annotations

from functools import lru_cache

from holdcold.errors import UnknownNameError
from holdcold.refrigerants.fluid import Fluid, build
from holdcold.refrigerants.info import Envelope, FitError, FluidInfo, State
from holdcold.refrigerants.read import file_names, read_file

__all__ = ["Envelope", "FitError", "Fluid", "FluidInfo", "State", "fluid", "names"]


def names() -> list[str]:
    """The refrigerants there are, by ASHRAE 34 designation, sorted: ``["R-134a", "R-22", ...]``."""
    return [file_name.removesuffix(".json") for file_name in file_names()]


@lru_cache(maxsize=256)
def fluid(name: str) -> Fluid:
    """Return the refrigerant called ``name``.

    name: designation; case, dashes and spaces do not matter (``"r448a"`` is R-448A). The result is
    cached. Raises UnknownNameError, with near names, for anything else.
    """
    known = {_folded(each): each for each in names()}
    designation = known.get(_folded(name))
    if designation is None:
        raise UnknownNameError("refrigerant", name, names())
    return _load(designation)


@lru_cache(maxsize=64)
def _load(designation: str) -> Fluid:
    """Read and build one fluid once, whatever spelling asked for it."""
    return build(read_file(f"{designation}.json"))


def _folded(name: str) -> str:
    """Letters and digits only, lower case."""
    return "".join(character for character in name.lower() if character.isalnum())
