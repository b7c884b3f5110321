"""Belief over hypotheses (sets of faults) from readings and sightings, as mathematics alone."""

from __future__ import annotations

from holdcold.diagnosis.case import (
    NONE,
    NOT_LISTED,
    CardSensitivity,
    Cell,
    CellSighting,
    DiscreteTerm,
    HypothesisKey,
    Observation,
    Problem,
)

__all__ = [
    "NONE",
    "NOT_LISTED",
    "CardSensitivity",
    "Cell",
    "CellSighting",
    "DiscreteTerm",
    "HypothesisKey",
    "Observation",
    "Problem",
]
