"""Hypotheses of one call: no fault, one, or two at once, each with its prior chance and severities."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from holdcold.diagnosis.case import NONE, HypothesisKey
from holdcold.diagnosis.catalogue import Catalogue, Facts, Fault, Priors

_CHARGE_NODES = 7
_LEAST_PAIR = 2.5e-4
_BESIDE = "instrument"
NO_PREDICTION = ("not_running", "none", "instrument")
"""Axes whose faults come without degrees."""


@dataclass(frozen=True, slots=True)
class Ladder:
    """Severities at which one fault is predicted.

    nodes: rising [unit of the fault]. halves: half-width each stands for. weights: shares, sum 1.
    """

    nodes: tuple[float, ...]
    halves: tuple[float, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Hypotheses:
    """What may be the matter: prior chances by key, and the severities of each fault.

    priors: *none*, single faults and pairs; together with ``not_listed`` they sum to 1.
    """

    faults: Mapping[str, Fault]
    ladders: Mapping[str, Ladder]
    priors: Mapping[HypothesisKey, float]
    not_listed: float
    source: Priors


def hypotheses(catalogue: Catalogue, facts: Facts, pieces: Mapping[str, int]) -> Hypotheses:
    """Return the hypotheses for a unit of these facts.

    facts: what is known of the unit, kind and application among it. pieces: how many of each thing a
    severity may come in (``coil_fans``, ``condenser_fans``).
    Pairs push two different mechanisms; those rarer than one in four thousand are left out and their
    share goes to the others. Lying instruments stand beside every hypothesis and are no key here.
    """
    priors = catalogue.priors_for(facts["kind"], facts["application"], facts)
    known = {name: catalogue.fault(name) for name in priors.faults}
    ladders = {name: ladder(fault, pieces) for name, fault in known.items()}
    found: dict[HypothesisKey, float] = {NONE: priors.none}
    single_share = 1.0 - priors.together.chance
    for name, chance in priors.faults.items():
        found[(name,)] = chance * single_share
    pairs = {
        tuple(sorted(pair)): weight
        for pair, weight in priors.pairs().items()
        if weight > _LEAST_PAIR and _distinct(*(known[name] for name in pair))
    }
    total, listed = math.fsum(pairs.values()), math.fsum(priors.faults.values())
    for key, weight in pairs.items():
        found[key] = weight / total * priors.together.chance * listed
    return Hypotheses(known, ladders, found, priors.not_listed, priors)


def _distinct(one: Fault, other: Fault) -> bool:
    """Say whether two faults together are more than one of them (they push different mechanisms)."""
    return one.axis != other.axis or one.axis in ("none", "box_load")


def ladder(fault: Fault, pieces: Mapping[str, int]) -> Ladder:
    """Return the severities of a fault on a unit with so many ``pieces`` (fans) of each kind."""
    if fault.axis in NO_PREDICTION or len(fault.nodes) == 1:
        return Ladder((fault.nodes[0],), (0.0,), (1.0,))
    if fault.per and pieces.get(fault.per):
        return _in_pieces(fault, pieces[fault.per])
    if fault.axis == "charge_loss":
        return _finer(fault)
    return Ladder(fault.nodes, _halves(fault.nodes), fault.weights)


def _halves(nodes: tuple[float, ...]) -> tuple[float, ...]:
    """Return the half-width of the interval each node stands for (borders midway between nodes)."""
    gaps = [high - low for low, high in pairwise(nodes)]
    sides = [gaps[0], *gaps, gaps[-1]]
    return tuple(0.25 * (before + after) for before, after in pairwise(sides))


def _in_pieces(fault: Fault, count: int) -> Ladder:
    """Return one node per number of pieces lost; shares follow the nearest catalogue node."""
    nodes = tuple(min(number / count, fault.nodes[-1]) for number in range(1, count + 1))
    shares = [0.0] * count
    for node, weight in zip(fault.nodes, fault.weights, strict=True):
        nearest = min(range(count), key=lambda index: abs(nodes[index] - node))
        shares[nearest] += weight
    floor = 0.04 / count
    total = math.fsum(share + floor for share in shares)
    return Ladder(nodes, (0.02,) * count, tuple((share + floor) / total for share in shares))


def _finer(fault: Fault) -> Ladder:
    """Return evenly spaced nodes for the charge, whose effect bends where the receiver runs empty."""
    low, high = fault.nodes[0], fault.nodes[-1]
    step = (high - low) / (_CHARGE_NODES - 1)
    nodes = tuple(low + step * index for index in range(_CHARGE_NODES))
    shares = [_interpolated(fault, node) for node in nodes]
    total = math.fsum(shares)
    return Ladder(nodes, (0.5 * step,) * _CHARGE_NODES, tuple(share / total for share in shares))


def _interpolated(fault: Fault, severity: float) -> float:
    """Return the prior density of a severity, linear between the catalogue's nodes."""
    halves = _halves(fault.nodes)
    heights = [weight / half for weight, half in zip(fault.weights, halves, strict=True)]
    for index in range(len(fault.nodes) - 1):
        low, high = fault.nodes[index], fault.nodes[index + 1]
        if severity <= high + 1e-12:
            share = (severity - low) / (high - low)
            return heights[index] + share * (heights[index + 1] - heights[index])
    return heights[-1]
