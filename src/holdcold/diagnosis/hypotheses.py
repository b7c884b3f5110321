"""Hypotheses of one call: no fault, one, or two at once, each with its prior chance and severities."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from holdcold.diagnosis.case import NONE, HypothesisKey
from holdcold.diagnosis.catalogue import Catalogue, Facts, Fault, Priors
from holdcold.diagnosis.learn import Counts, learnt

_CHARGE_NODES = 7
_SHARED_NODES = 5
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


def hypotheses(
    catalogue: Catalogue, facts: Facts, pieces: Mapping[str, int], counts: Counts | None = None
) -> Hypotheses:
    """Return the hypotheses for a unit of these facts.

    facts: what is known of the unit, kind and application among it. pieces: how many of each thing a
    severity may come in (``coil_fans``, ``condenser_fans``). counts: closed calls of such units, added
    to the practice estimates.
    Pairs push two different mechanisms; those rarer than one in four thousand are left out and their
    share goes to the others. Lying instruments stand beside every hypothesis and are no key here.
    """
    priors = catalogue.priors_for(facts["kind"], facts["application"], facts)
    if counts is not None:
        priors = learnt(priors, counts)
    known = {name: catalogue.fault(name) for name in priors.faults}
    spans = _axis_spans(known.values())
    ladders = {name: ladder(fault, pieces, spans.get(fault.axis)) for name, fault in known.items()}
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


def _axis_spans(faults: Iterable[Fault]) -> dict[str, tuple[float, float]]:
    """Return lowest and highest node over all faults of each axis that more than one of them pushes."""
    spans: dict[str, list[float]] = {}
    counts: dict[str, int] = {}
    for fault in faults:
        if len(fault.nodes) > 1 and not fault.per:
            spans.setdefault(fault.axis, []).extend((fault.nodes[0], fault.nodes[-1]))
            counts[fault.axis] = counts.get(fault.axis, 0) + 1
    return {axis: (min(ends), max(ends)) for axis, ends in spans.items() if counts[axis] > 1}


def ladder(fault: Fault, pieces: Mapping[str, int], span: tuple[float, float] | None = None) -> Ladder:
    """Return the severities of a fault on a unit with so many ``pieces`` (fans) of each kind.

    span: lowest and highest severity of its axis where several faults push it: they then share one
    set of severities, so that the machine is solved, and its readings weighed, once for all of them.
    """
    if fault.axis in NO_PREDICTION or len(fault.nodes) == 1:
        return Ladder((fault.nodes[0],), (0.0,), (1.0,))
    if fault.per and pieces.get(fault.per):
        return _in_pieces(fault, pieces[fault.per])
    if fault.axis == "charge_loss":
        return _even(fault, span or (fault.nodes[0], fault.nodes[-1]), _CHARGE_NODES)
    if span is not None and fault.axis not in ("box_load", "sensor_offset"):
        return _even(fault, span, _SHARED_NODES)
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


def _even(fault: Fault, span: tuple[float, float], count: int) -> Ladder:
    """Return evenly spaced severities over ``span``, weighed by the fault's own prior.

    Those far outside the fault's own range are left out. The charge takes more of them, since its effect
    bends where the receiver runs empty.
    """
    step = (span[1] - span[0]) / (count - 1)
    nodes = [span[0] + step * index for index in range(count)]
    shares = [_interpolated(fault, node, 0.5 * step) for node in nodes]
    total = math.fsum(shares)
    kept = [(node, share / total) for node, share in zip(nodes, shares, strict=True) if share > 0.01 * total]
    scale = math.fsum(share for _, share in kept)
    return Ladder(
        tuple(node for node, _ in kept), (0.5 * step,) * len(kept), tuple(share / scale for _, share in kept)
    )


def _interpolated(fault: Fault, severity: float, reach: float) -> float:
    """Return the prior density of a severity, linear between the catalogue's nodes, zero beyond ``reach``."""
    halves = _halves(fault.nodes)
    heights = [weight / half for weight, half in zip(fault.weights, halves, strict=True)]
    if not fault.nodes[0] - reach <= severity <= fault.nodes[-1] + reach:
        return 0.0
    if severity <= fault.nodes[0]:
        return heights[0]
    for index, (low, high) in enumerate(pairwise(fault.nodes)):
        if severity <= high:
            share = (severity - low) / (high - low)
            return heights[index] + share * (heights[index + 1] - heights[index])
    return heights[-1]
