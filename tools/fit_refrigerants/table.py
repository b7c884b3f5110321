"""The tables of docs/refrigerants.md, written from the packaged data files; a test compares the page."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from holdcold.refrigerants import Fluid, FluidInfo, fluid, names

ATMOSPHERE_PA, ZERO_C = 101_325.0, 273.15
FACTS_HEAD = ("", "mass %", "class", "AR4", "EU", "to C", "glide K", "status")
ERRORS_HEAD = ("", "p %", "T K", "h kJ/kg", "density %", "glide T K", "other model: p %", "1 atm: K")


def renewed(page: str) -> str:
    """The page with each marked table replaced."""
    for mark, table in (("facts", facts), ("errors", errors)):
        begin, end = f"<!-- {mark} -->\n", f"<!-- end of {mark} -->\n"
        head, rest = page.split(begin)
        page = head + begin + table() + end + rest.split(end)[1]
    return page


def facts() -> str:
    """Composition, class, warming potential, range, glide and status of each refrigerant."""
    return _table(FACTS_HEAD, _facts)


def errors() -> str:
    """Fit error of each refrigerant, and how far other models and published points lie from it."""
    return _table(ERRORS_HEAD, _errors)


def _table(head: tuple[str, ...], row: Callable[[Fluid], tuple[str, ...]]) -> str:
    """A Markdown table of every refrigerant, by number."""
    by_number = sorted(names(), key=lambda name: (int(re.findall(r"\d+", name)[0]), name))
    lines = [head, ("---",) * len(head), *((name, *row(fluid(name))) for name in by_number)]
    return "".join("| " + " | ".join(line) + " |\n" for line in lines)


def _facts(f: Fluid) -> tuple[str, ...]:
    """One line of ``facts``."""
    info = f.info
    parts = "/".join(part.removeprefix("R-") for part in info.composition)
    shares = "/".join(f"{100.0 * share:.4g}" for share in info.composition.values())
    gwp = {basis.split(",")[0]: value for basis, value in info.gwp.items()}
    return (
        f"{parts} {shares}" if len(info.composition) > 1 else "pure",
        info.safety_class,
        *(f"{gwp[key]:.4g}" if key in gwp else "-" for key in ("AR4", "Regulation (EU) 2024/573")),
        f"{math.floor(10.0 * (info.envelope.max_k - ZERO_C)) / 10.0:.1f}",
        _glide(f),
        info.status,
    )


def _glide(f: Fluid) -> str:
    """Dew less bubble temperature at atmospheric pressure (or at the least usable one)."""
    if len(f.info.composition) == 1:
        return "-"
    p_pa = max(ATMOSPHERE_PA, f.p_min)
    return f"{f.dew_k(p_pa) - f.bubble_k(p_pa):.1f}"


def _errors(f: Fluid) -> tuple[str, ...]:
    """One line of ``errors``."""
    stored = f.info.fit_error
    groups = (
        ("bubble pressure", "dew pressure"),
        ("bubble temperature", "dew temperature"),
        ("bubble enthalpy", "dew enthalpy", "vapour enthalpy", "liquid enthalpy"),
        ("bubble density", "dew density", "vapour density", "liquid density"),
        ("wet temperature",),
    )
    worst = [max((stored[each].worst for each in group if each in stored), default=None) for group in groups]
    return (
        *("-" if value is None else f"{value:.2g}" for value in worst),
        _pair(f.info, "{} pressure"),
        _pair(f.info, "normal {} point"),
    )


def _pair(info: FluidInfo, quantity: str) -> str:
    """Bubble and dew of one spread."""
    found = [info.reference_spread.get(quantity.format(kind)) for kind in ("bubble", "dew")]
    return " / ".join(f"{each.worst:.2g}" for each in found if each) or "-"
