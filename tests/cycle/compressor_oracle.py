"""The fitting tool's modules and a refrigerant straight from CoolProp, for the compressor tests."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

TOOL = Path(__file__).parents[2] / "tools" / "fit_compressors"


def tool(name: str) -> ModuleType:
    """Return a module of tools/fit_compressors, whose modules import each other by plain name."""
    if str(TOOL) not in sys.path:
        sys.path.append(str(TOOL))
    return importlib.import_module(name)


def eos_gas(name: str):
    """Return a refrigerant computed by CoolProp alone."""
    return tool("eos_gas").EosGas(name)
