"""From a card to a design: everything given, everything assumed, with sources and spreads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from hashlib import sha256
from typing import Final, cast

from holdcold.cards import parts
from holdcold.cards.card import Card
from holdcold.cards.controls import cut_outs, head_control, regulators, setting_cautions
from holdcold.cards.curves import compressor_map
from holdcold.cards.facts import Default, Fact, Ledger, Taught
from holdcold.cards.machine import rating_point, size
from holdcold.cards.practice import HABITS, Application, Habits, Kind
from holdcold.cards.sharpened import Sharpened, set_aside
from holdcold.cycle.design import CompressorKind, Design, Expansion, HeadControl
from holdcold.errors import InputError, InputErrors
from holdcold.refrigerants import Fluid, fluid

_LIQUID_FULL: Final = 0.95
_NO_READING: Final = frozenset({"load_w", "high_cut_pa", "low_cut_pa", "coil_fan_w", "condenser_fan_w"})
_DIGEST: Final = 10
_FITTED: Final = (
    ("injection", "compressor.injection"),
    ("coil_regulator", "regulators.evaporator"),
    ("crankcase_regulator", "regulators.crankcase"),
    ("accumulator", "lines.accumulator"),
    ("exchanger", "lines.exchanger"),
)
"""Parts that are there when their setting or size is on the card, by their word in the catalogues."""

_AS_GIVEN: Final = (
    ("compressor", "compressor.kind"),
    ("defrost", "defrost.kind"),
    ("location", "condenser.location"),
    ("low_role", "controls.low_role"),
)
"""Words the catalogues share with the card."""


def _yes_no(there: bool) -> str:
    return "yes" if there else "no"


@dataclass(frozen=True)
class Choices:
    """What kind of unit it is: words, given or assumed. assumed: field path to the reason."""

    expansion: Expansion
    compressor_kind: CompressorKind
    head_control: HeadControl
    receiver: bool
    location: str
    assumed: Mapping[str, str] = field(default_factory=dict)

    @property
    def outdoor(self) -> bool:
        """Whether the condensing unit meets the weather."""
        return self.location != "indoor"


@dataclass(frozen=True)
class Resolved:
    """A card with nothing left open.

    card: what was given. design: what the cycle needs. facts: every number behind it, in the order it
    was settled. choices: the words behind it. cautions: what a person should know before trusting it.
    sharpened: the card's section where it is in force, else None. offsets: how far its facts lie off
    what card and defaults say [SI].
    """

    card: Card
    design: Design
    facts: tuple[Fact, ...]
    choices: Choices
    cautions: tuple[str, ...]
    sharpened: Sharpened | None = None
    offsets: Mapping[str, float] = field(default_factory=dict)

    def uncertain(self) -> tuple[Fact, ...]:
        """Return the facts a sensitivity study should move."""
        return tuple(fact for fact in self.facts if fact.uncertain)

    def fact(self, name: str) -> Fact:
        """Return one fact by name; KeyError when this unit has none of that name."""
        return {fact.name: fact for fact in self.facts}[name]

    def unit_facts(self) -> dict[str, str]:
        """Return what the catalogues may ask of a unit, in their words; what nobody gave is left out.

        The structure the cycle reckons with is there even when assumed (expansion device, receiver,
        head control, regulators, injection, accumulator, exchanger, a compressor without a drive),
        because a fault of a part that is not reckoned with could not be predicted.
        """
        card = self.card
        facts = {
            "kind": card.text("kind"),
            "application": card.text("application"),
            "expansion": self.choices.expansion,
            "receiver": _yes_no(self.choices.receiver),
            "head_control": self.choices.head_control,
            "safety_class": fluid(self.design.refrigerant).info.safety_class,
        }
        facts.update({name: _yes_no(card.has(path)) for name, path in _FITTED})
        facts.update({name: card.text(path) for name, path in _AS_GIVEN if card.has(path)})
        if card.has("supply.phases"):
            facts["phases"] = str(self.design.phases)
        facts["drive"] = _yes_no(card.flag("compressor.drive") is True)
        ports = card.flag("charge.ports")
        if ports is not None:
            facts["ports"] = _yes_no(ports)
        return facts

    def design_with(self, changes: Mapping[str, float]) -> Design:
        """Return the design with some facts [SI] changed by name; facts that rest on them follow.

        A value beyond a fact's physical bounds (``least_si``, ``most_si``) is taken at the bound.
        Raises UnknownNameError for a name that is no fact of this unit.
        """
        medium = fluid(self.design.refrigerant)
        ledger = Ledger(self.card, changes, _taught(self.facts, self.offsets), dict(self.offsets))
        _settle(ledger, self.choices, medium)
        ledger.refuse_unknown_changes()
        return _design(ledger, self.choices, medium)

    def digest(self) -> str:
        """Return a short digest of the machine and of how well it is known, to notice a changed card by."""
        return _digest(self.design, self.facts)

    def shifted(self, offsets: Mapping[str, float], spreads: Mapping[str, float] | None = None) -> Resolved:
        """Return the unit with some facts moved by so much [SI].

        offsets: by fact name. spreads: of those facts [SI]; those that are left out keep their own.
        Unlike a change, an offset goes with the facts that a fact rests on: power that was assumed from
        capacity stays off by as much when the capacity moves. Facts are held to their bounds.
        """
        medium = fluid(self.design.refrigerant)
        taught = {
            name: Taught((spreads or {}).get(name, one.spread), one.source)
            for name, one in _taught(self.facts, offsets).items()
        }
        ledger = Ledger(self.card, {}, taught, dict(offsets))
        _settle(ledger, self.choices, medium)
        facts = tuple(ledger.facts.values())
        return replace(
            self, design=_design(ledger, self.choices, medium), facts=facts, sharpened=None, offsets=offsets
        )


def resolve(card: Card) -> Resolved:
    """Return the card with every default filled in.

    Raises InputErrors when what was given contradicts itself or the sizes that follow from it.
    """
    medium = fluid(card.text("refrigerant"))
    choices = choose(card)
    ledger = _settle(Ledger(card), choices, medium)
    sharpened, stale = _in_force(card.sharpened, ledger, choices, medium)
    if sharpened is not None:
        ledger = _settle(_taught_ledger(card, sharpened), choices, medium)
    problems = _impossible(ledger, medium)
    if problems:
        raise InputErrors(problems)
    cautions = (*setting_cautions(card, ledger, medium), *stale)
    design = _design(ledger, choices, medium)
    return Resolved(card, design, tuple(ledger.facts.values()), choices, cautions, sharpened, ledger.offsets)


def _in_force(
    sharpened: Sharpened | None, ledger: Ledger, choices: Choices, medium: Fluid
) -> tuple[Sharpened | None, tuple[str, ...]]:
    """Return the section of a card where it holds, and a caution where it does not.

    ledger: the facts of the card without it.
    """
    if sharpened is None:
        return None, ()
    facts = ledger.facts
    digest = _digest(_design(ledger, choices, medium), facts.values())
    why = set_aside(
        sharpened, {name: (fact.value_si, fact.spread_si) for name, fact in facts.items()}, digest
    )
    if not why:
        return sharpened, ()
    caution = (
        f"what proved-good readings taught is set aside, because the card or the habits behind it have "
        f"changed since ({why}). Let holdcold card sharpen work it out again from the visits kept."
    )
    return None, (caution,)


def _digest(design: Design, facts: Iterable[Fact]) -> str:
    """Return a short digest of a machine and of how well it is known.

    What bears on no reading (the load it was chosen for, the limits of its controls) is left out; numbers
    count in four digits, spreads in two.
    """
    parts = [
        f"{name}={value:.4g}" if isinstance(value, float) else f"{name}={value}"
        for name, value in ((one.name, getattr(design, one.name)) for one in fields(design))
        if name not in _NO_READING
    ]
    parts += [f"{fact.name}~{fact.spread_si:.2g}" for fact in facts if fact.uncertain]
    return sha256(" ".join(sorted(parts)).encode()).hexdigest()[:_DIGEST]


def _taught(facts: Iterable[Fact], offsets: Mapping[str, float]) -> dict[str, Taught]:
    """Return the facts that have an offset, with the spread they have here."""
    return {fact.name: Taught(fact.spread_si, fact.source) for fact in facts if fact.name in offsets}


def _taught_ledger(card: Card, sharpened: Sharpened) -> Ledger:
    """Return an empty ledger of a card whose facts lie where proved-good readings put them."""
    source = sharpened.source()
    taught = {fact.name: Taught(fact.spread_si, source) for fact in sharpened.facts}
    return Ledger(card, {}, taught, {}, {fact.name: fact.value_si for fact in sharpened.facts})


def choose(card: Card) -> Choices:
    """Return the kind of each part, as given or as such units usually have it."""
    assumed: dict[str, str] = {}

    def pick(path: str, usual: str) -> str:
        told = card.text(path)
        if not told:
            assumed[path] = f"{usual}: common practice, no source"
        return told or usual

    walk_in = card.text("kind") == "walk_in"
    expansion = pick("expansion.device", "txv" if walk_in else "capillary")
    location = pick("condenser.location", "outdoor" if walk_in else "indoor")
    head = pick("head.control", "fan_cycling" if walk_in and location != "indoor" else "none")
    fitted = card.flag("receiver.fitted")
    if fitted is None:
        fitted = card.has("receiver.volume") or (expansion == "txv" and walk_in)
        assumed["receiver.fitted"] = f"{'yes' if fitted else 'no'}: common practice, no source"
    return Choices(
        cast(Expansion, expansion),
        cast(CompressorKind, pick("compressor.kind", "hermetic")),
        cast(HeadControl, head),
        fitted,
        location,
        assumed,
    )


def habits_of(card: Card) -> Habits:
    """Return the defaults of this card's kind of unit."""
    return HABITS[cast(Kind, card.text("kind")), cast(Application, card.text("application"))]


def _settle(ledger: Ledger, choices: Choices, medium: Fluid) -> Ledger:
    """Settle every fact of a card in an empty ledger and return it."""
    card = ledger.card
    habits = habits_of(card)
    curves = compressor_map(card)
    ledger.settle("run_share", "fraction", habits.run_share)
    rating_point(ledger, habits, medium, outdoor=choices.outdoor)
    size(ledger, habits, medium, choices.compressor_kind, curves)
    parts.coil(ledger, habits)
    parts.condenser(ledger, medium)
    parts.receiver(ledger, choices.receiver)
    parts.expansion(ledger, habits, choices.expansion == "capillary")
    parts.lines(ledger, habits, medium)
    head_control(ledger, medium, choices.head_control)
    cut_outs(ledger, medium)
    regulators(ledger)
    if card.has("charge.amount"):
        ledger.settle("charge_kg", "mass", Default(0.0, 0.0, ""), path="charge.amount")
    capacity_w = ledger["rated_capacity_w"]
    ledger.settle(
        "load_w",
        "power",
        Default(
            min(max(ledger["box_load_w"], 0.4 * capacity_w), 0.85 * capacity_w),
            0.25,
            "box load, held between 0.4 and 0.85 of capacity: a matched unit runs 10 to 20 h a day",
            relative=True,
        ),
    )
    return ledger


def _impossible(ledger: Ledger, medium: Fluid) -> list[InputError]:
    """Return what cannot be, seen only once sizes are known."""
    problems = []
    charge = ledger.card.number("charge.amount")
    room_m3 = ledger["receiver_m3"] + ledger["condenser_m3"] + ledger["coil_m3"] + ledger["liquid_line_m3"]
    most_kg = _LIQUID_FULL * room_m3 * medium.rho_bubble(medium.dew_pa(ledger["rated_ambient_k"]))
    if charge is not None and charge > most_kg:
        problems.append(
            InputError(
                "charge.amount",
                ledger.card.said("charge.amount"),
                f"at most {most_kg:.2f} kg ({most_kg / 0.45359237:.1f} lb), which fills receiver, condenser, "
                "coil and liquid line with liquid",
                "Check the charge and its unit, or give the volumes (receiver.volume first).",
            )
        )
    problems.extend(_starved_of_air(ledger, medium))
    most_k = parts.SUPERHEAT_REACH * ledger["coil_td_k"]
    if ledger["superheat_k"] > most_k:
        problems.append(
            InputError(
                "expansion.superheat",
                ledger.card.said("expansion.superheat"),
                f"at most {most_k * 1.8:.1f} F ({most_k:.1f} K), nine tenths of the coil's TD",
                "Gas cannot get as warm as the air: check the superheat setting and coil.td.",
            )
        )
    if ledger["rated_evap_k"] >= ledger["set_point_k"]:
        problems.append(
            InputError(
                "capacity.suction",
                ledger.card.said("capacity.suction"),
                "below the box set point",
                "A coil must be colder than its box: check the rating temperature and the set point.",
            )
        )
    return problems


def _starved_of_air(ledger: Ledger, medium: Fluid) -> list[InputError]:
    """Return the given airflows that could not carry the heat of the unit."""
    return [
        InputError(
            path,
            ledger.card.said(path),
            f"above {1.1 * least / ledger[name]:.2f} times that, to carry the heat at the TD or split",
            "Check airflow, capacity, and TD or split against each other.",
        )
        for path, name, least in (
            ("coil.airflow", "coil_air_kg_s", parts.least_coil_air_kg_s(ledger)),
            ("condenser.airflow", "condenser_air_kg_s", parts.least_condenser_air_kg_s(ledger, medium)),
        )
        if ledger.card.has(path) and ledger[name] < 1.1 * least
    ]


def _design(ledger: Ledger, choices: Choices, medium: Fluid) -> Design:
    """Return the design; names of facts are the design's own."""
    charge = ledger.facts.get("charge_kg")
    return Design(
        refrigerant=medium.info.name,
        expansion=choices.expansion,
        compressor_kind=choices.compressor_kind,
        set_point_k=ledger["set_point_k"],
        rated_capacity_w=ledger["rated_capacity_w"],
        rated_evap_k=ledger["rated_evap_k"],
        rated_cond_k=ledger["rated_cond_k"],
        rated_return_k=ledger["rated_return_k"],
        rated_box_k=ledger["rated_evap_k"] + ledger["suction_drop_k"] + ledger["coil_td_k"],
        rated_ambient_k=ledger["rated_ambient_k"],
        rated_power_w=ledger["rated_power_w"],
        compressor_map=compressor_map(ledger.card),
        coil_td_k=ledger["coil_td_k"],
        coil_air_kg_s=ledger["coil_air_kg_s"],
        coil_fans=round(ledger["coil_fans"]),
        sensible_fraction=ledger["sensible_fraction"],
        condenser_split_k=ledger["condenser_split_k"],
        condenser_air_kg_s=ledger["condenser_air_kg_s"],
        condenser_fans=round(ledger["condenser_fans"]),
        condenser_seal=ledger["condenser_seal"],
        superheat_k=ledger["superheat_k"],
        valve_reserve=ledger["valve_reserve"],
        capillary_subcooling_k=ledger["capillary_subcooling_k"],
        suction_drop_k=ledger["suction_drop_k"],
        liquid_drop_k=ledger["liquid_drop_k"],
        liquid_lift_m=ledger["liquid_lift_m"],
        receiver_m3=ledger["receiver_m3"],
        coil_m3=ledger["coil_m3"],
        condenser_m3=ledger["condenser_m3"],
        liquid_line_m3=ledger["liquid_line_m3"],
        suction_line_m3=ledger["suction_line_m3"],
        shell_m3=ledger["shell_m3"],
        charge_kg=None if charge is None else charge.value_si,
        receiver_fill=ledger["receiver_fill"],
        head_control=choices.head_control,
        fan_off_pa=ledger.get("fan_off_pa"),
        fan_on_pa=ledger.get("fan_on_pa"),
        fans_cycled=round(ledger.get("fans_cycled")),
        high_cut_pa=ledger["high_cut_pa"],
        low_cut_pa=ledger["low_cut_pa"],
        supply_v=ledger["supply_v"],
        phases=round(ledger["phases"]),
        rated_amps=ledger["rated_amps"],
        coil_fan_w=ledger["coil_fan_w"],
        condenser_fan_w=ledger["condenser_fan_w"],
        load_w=ledger["load_w"],
        head_set_pa=ledger.get("head_set_pa"),
        coil_hold_pa=ledger.get("coil_hold_pa"),
        crankcase_hold_pa=ledger.get("crankcase_hold_pa"),
        injection_k=ledger.get("injection_k"),
        accumulator_m3=ledger.get("accumulator_m3"),
        exchanger=ledger.get("exchanger"),
    )
