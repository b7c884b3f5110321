"""The modules of tools/fit_compressors, which import each other by plain name."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from types import ModuleType

FOLDER = Path(__file__).parents[1] / "tools" / "fit_compressors"


def tool(name: str) -> ModuleType:
    """Return one of the tool's modules."""
    if str(FOLDER) not in sys.path:
        sys.path.append(str(FOLDER))
    return importlib.import_module(name)
