"""The refrigeration cycle: what a unit's gauges, thermometers and ammeter should read, and why."""

from holdcold.cycle.build import build
from holdcold.cycle.conditions import Conditions
from holdcold.cycle.design import Design
from holdcold.cycle.faults import HEALTHY, Faults, axes
from holdcold.cycle.inventory import Inventory
from holdcold.cycle.point import OperatingPoint, solve
from holdcold.cycle.unit import Unit

__all__ = [
    "HEALTHY",
    "Conditions",
    "Design",
    "Faults",
    "Inventory",
    "OperatingPoint",
    "Unit",
    "axes",
    "build",
    "solve",
]
