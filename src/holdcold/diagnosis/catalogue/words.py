"""The fixed words of the catalogues: families, mechanism axes, places of work, risk codes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from holdcold.cycle.faults import axes

FAMILIES: Final = (
    "refrigerant",
    "condenser_air",
    "box_air",
    "valve",
    "compressor",
    "electrical",
    "frost",
    "controls",
    "load",
    "instrument",
)
"""Families of faults, in the order they are listed."""

PHYSICAL_AXES: Final = tuple(axes())
"""Mechanism axes that ``cycle`` predicts readings for."""

AXES: Final = (*PHYSICAL_AXES, "box_load", "sensor_offset", "instrument", "not_running", "none")
"""Every mechanism axis a fault may push; the last five have no prediction of their own in ``cycle``."""

WORKPLACES: Final[Mapping[str, str]] = {
    "D": "door or phone",
    "B": "box",
    "P": "panel",
    "U": "condensing unit",
    "C": "refrigerant circuit opened",
}
"""Where the hands are."""

RISKS: Final[Mapping[str, str]] = {
    "0": "none",
    "1": "minor",
    "E": "energised",
    "I": "isolate first",
    "R": "refrigerant lost",
    "H": "hot or pressure",
}
"""Risk codes of checks."""

COMBINATIONS: Final = ("worst", "product")
"""How two faults together bear on a sighting."""

PIECES: Final = ("coil_fans", "condenser_fans")
"""What a severity may come in whole pieces of: counts on the card."""

KINDS: Final = ("walk_in", "reach_in")
"""Kinds of unit that have a table of priors."""

APPLICATIONS: Final = ("cooler", "freezer")
"""What a unit is for."""
