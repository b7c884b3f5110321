"""Rows of the data files turned into values; what is wrong with a row is kept, never raised."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from holdcold.cycle.faults import axes
from holdcold.diagnosis.catalogue.priors import NONE, Story
from holdcold.diagnosis.catalogue.rows import (
    Access,
    Caution,
    Check,
    Conditions,
    Costs,
    Fault,
    FromReading,
    Group,
    Guard,
    Place,
    Repair,
    Rows,
    Sighting,
    Turn,
)
from holdcold.diagnosis.catalogue.table import Table
from holdcold.diagnosis.catalogue.words import (
    AXES,
    COMBINATIONS,
    FAMILIES,
    PHYSICAL_AXES,
    PIECES,
    RISKS,
    WORKPLACES,
)
from holdcold.quantities import DIMENSIONS, instruments

_MOST: Final = 1e9
_MINUTES: Final = 1e4
_DUTY: Final = (0.2, 20.0)
"""Range of either number of a Beta prior: broader says nothing, narrower is more than anybody knows."""

Sources = Mapping[str, str]


def source_of(row: Table, sources: Sources) -> str:
    """Return the full text of the source a row names.

    row: the row. sources: name to text, from the head of the file.
    """
    name = row.choice("source", sources)
    return sources.get(name, "")


def read_repair(row: Table) -> Repair:
    """Return what mends a fault."""
    band = row.numbers("part_minutes", 0.0, _MINUTES)
    if len(band) != 2 or band[0] > band[-1]:
        row.complain("part_minutes", band, "two numbers, the lower first")
        band = (0.0, 0.0)
    repair = Repair(
        title=row.text("title"),
        minutes=row.number("minutes", 0.0, _MINUTES),
        part_low=band[0],
        part_high=band[1],
        place=row.choice("place", WORKPLACES),
        opens_circuit=row.flag("opens_circuit"),
        refrigerant_lost_kg=row.number("refrigerant_lost_kg", 0.0, 50.0),
        on_van=row.number("on_van", 0.0, 1.0),
        proof=row.text("proof"),
    )
    if repair.opens_circuit != (repair.place == "C"):
        row.complain("opens_circuit", repair.opens_circuit, "true exactly where the place is C")
    row.finish()
    return repair


def read_fault(row: Table, sources: Sources) -> Fault:
    """Return one fault.

    row: its table. sources: name to text.
    """
    nodes = row.numbers("nodes", 0.0, _MOST)
    if list(nodes) != sorted(set(nodes)):
        row.complain("nodes", nodes, "rising numbers")
    axis = row.choice("axis", AXES)
    has_physics = row.flag("physics")
    if has_physics != (axis in PHYSICAL_AXES):
        row.complain("physics", has_physics, f"true exactly for the axes {', '.join(PHYSICAL_AXES)}")
    if axis in axes() and nodes and nodes[-1] > axes()[axis][1]:
        row.complain("nodes", nodes, f"up to {axes()[axis][1]:g} ({axes()[axis][2]})")
    duty, presence = _presence(row)
    fault = Fault(
        id=row.text("id"),
        title=row.text("title"),
        family=row.choice("family", FAMILIES),
        axis=axis,
        has_physics=has_physics,
        unit=row.text("unit"),
        nodes=nodes or (1.0,),
        weights=row.as_chances("weights", row.take("weights"), len(nodes) or 1),
        per=row.choice("per", PIECES, ""),
        leads_to=row.choice("leads_to", ("coil_ice",), ""),
        group=row.text("group", ""),
        applies_to=row.conditions("applies_to"),
        unmoved=row.texts("unmoved"),
        loose=tuple(
            {place: way.number(place, -_MOST, _MOST) for place in way.names()}
            for way in row.rows("loose", name="")
        ),
        duty=duty,
        presence=presence,
        because=row.text("because"),
        kills=row.text("kills"),
        behind=row.texts("behind"),
        cautions=row.texts("cautions"),
        repair=read_repair(row.table("repair")),
        source=source_of(row, sources),
    )
    row.finish()
    return fault


def _presence(row: Table) -> tuple[tuple[float, float] | None, str]:
    """Return the Beta prior of the share of time an intermittent fault is there, and when that is."""
    if not row.flag("intermittent", False):
        if row.take("duty") is not None or row.take("presence") is not None:
            row.complain("duty", "a duty or presence", "intermittent = true beside them")
        return None, ""
    duty = row.numbers("duty", *_DUTY)
    if len(duty) != 2:
        row.complain("duty", duty, "two numbers: alpha and beta of a Beta distribution")
        return None, ""
    return (duty[0], duty[1]), row.text("presence")


def read_check(row: Table, sources: Sources, guards: Sequence[Guard]) -> Check:
    """Return one check.

    row: its table. sources: name to text. guards: all of them, to know which hold this check back.
    """
    name = row.text("id")
    check = Check(
        id=name,
        title=row.text("title"),
        how=row.text("how"),
        places=row.texts("place", WORKPLACES, required=True),
        minutes=row.number("minutes", 0.0, _MINUTES),
        wait_minutes=row.number("wait_minutes", 0.0, _MINUTES, 0.0),
        second_visit=row.flag("second_visit", False),
        risk=row.texts("risk", RISKS, required=True),
        isolate=row.flag("isolate", False),
        opens_circuit=row.flag("opens_circuit", False),
        refrigerant_lost_kg=row.number("refrigerant_lost_kg", 0.0, 50.0, 0.0),
        temporary=row.flag("temporary", False),
        readings=row.texts("readings"),
        sightings=row.texts("sightings"),
        cautions=row.texts("cautions"),
        guards=tuple(guard.id for guard in guards if name in guard.checks),
        applies_to=row.conditions("applies_to"),
        only_if=_seen(row.table("only_if")),
        who_not=row.text("who_not", ""),
        source=source_of(row, sources),
    )
    if not check.readings and not check.sightings:
        row.complain("sightings", "nothing", "at least one reading or sighting that the check yields")
    if check.opens_circuit != ("C" in check.places):
        row.complain("opens_circuit", check.opens_circuit, "true exactly where the place is C")
    row.finish()
    return check


def _seen(table: Table) -> Conditions:
    """Return sightings, each with the values asked for."""
    return {name: table.texts(name, required=True) for name in table.names()}


def read_place(row: Table, sources: Sources) -> Place:
    """Return one place.

    row: its table. sources: name to text.
    """
    dimension = row.choice("dimension", DIMENSIONS)
    instrument = row.choice("default_instrument", instruments(), "")
    place = Place(
        id=row.text("id"),
        title=row.text("title"),
        meaning=row.text("meaning"),
        dimension=dimension,
        measured=row.flag("measured"),
        follows_from=row.texts("from"),
        where=row.text("where"),
        mistakes=row.text("mistakes"),
        default_instrument=instrument,
        source=source_of(row, sources),
    )
    if place.measured != bool(instrument):
        row.complain("default_instrument", instrument, "an instrument exactly where the place is measured")
    elif instrument in instruments() and instruments()[instrument].dimension != dimension:
        row.complain("default_instrument", instrument, f"an instrument that reads {dimension}")
    row.finish()
    return place


def read_guard(row: Table, sources: Sources, faults: Sequence[Fault]) -> Guard:
    """Return one guard.

    row: its table. sources: name to text. faults: all of them, to spell out the families it holds back.
    """
    families, excepts = row.texts("families", FAMILIES), row.texts("excepts")
    row.check_names("excepts", excepts, [fault.id for fault in faults])
    guard = Guard(
        id=row.text("id"),
        title=row.text("title"),
        text=row.text("text"),
        why=row.text("why"),
        when=row.conditions("when"),
        faults=frozenset(f.id for f in faults if f.family in families and f.id not in excepts),
        checks=frozenset(row.texts("checks")),
        actions=frozenset(row.texts("actions")),
        needs=_seen(row.table("needs")),
        needs_checks=row.texts("needs_checks"),
        closed_until_override=row.flag("closed_until_override", False),
        lifts=row.text("lifts"),
        override=row.flag("override"),
        override_note=row.text("override_note", ""),
        source=source_of(row, sources),
    )
    if not (guard.faults or guard.checks or guard.actions):
        row.complain("checks", "nothing", "families, checks or actions that it holds back")
    if guard.closed_until_override == bool(guard.needs or guard.needs_checks):
        row.complain("needs", guard.needs, "something that opens it, or closed_until_override = true")
    row.finish()
    return guard


def read_caution(row: Table, sources: Sources) -> Caution:
    """Return one caution.

    row: its table. sources: name to text.
    """
    caution = Caution(row.text("id"), row.text("text"), source_of(row, sources))
    row.finish()
    return caution


def read_group(row: Table, sources: Sources, faults: Sequence[Fault]) -> Group:
    """Return one group of faults.

    row: its table. sources: name to text. faults: all of them, to find the members.
    """
    name = row.text("id")
    group = Group(
        id=name,
        title=row.text("title"),
        when=row.conditions("when"),
        faults=tuple(fault.id for fault in faults if fault.group == name),
        why=row.text("why"),
        source=source_of(row, sources),
    )
    if len(group.faults) < 2:
        row.complain("id", name, "a group that two faults or more name as theirs")
    row.finish()
    return group


def read_costs(file: Table, sources: Sources) -> Costs:
    """Return the costs.

    file: the whole file. sources: name to text.
    """
    access = {}
    for row in file.rows("access", "place"):
        place = row.choice("place", WORKPLACES)
        access[place] = Access(
            place,
            row.text("title"),
            row.number("open_minutes", 0.0, _MINUTES),
            row.number("travel_minutes", 0.0, _MINUTES),
            row.number("roof_minutes", 0.0, _MINUTES, 0.0),
            source_of(row, sources),
        )
        row.finish()
    danger, words = {}, {}
    for row in file.rows("danger", "risk"):
        code = row.choice("risk", RISKS)
        danger[code] = row.number("minutes", 0.0, _MINUTES)
        words[code] = row.text("meaning")
        source_of(row, sources)
        row.finish()
    if set(access) != set(WORKPLACES):
        file.complain("access", ", ".join(access), f"one row for each of {', '.join(WORKPLACES)}")
    if set(danger) != set(RISKS):
        file.complain("danger", ", ".join(danger), f"one row for each of {', '.join(RISKS)}")
    weights = file.table("weights")
    costs = Costs(
        access,
        danger,
        words,
        weights.number("wait_share", 0.0, 1.0),
        weights.number("wait_counted_to_minutes", 0.0, _MINUTES),
        weights.number("second_visit_minutes", 0.0, _MINUTES),
        weights.number("wrong_part_share", 0.0, 1.0),
        weights.number("refrigerant_minutes_per_kg", 0.0, _MINUTES),
        weights.number("least_saving_minutes", 0.0, _MINUTES),
        weights.number("unresolved_minutes", 0.0, _MINUTES),
        source_of(weights, sources),
    )
    weights.finish()
    return costs


def read_sighting(
    row: Table, sources: Sources, faults: Sequence[Fault], stories: Sequence[Story]
) -> Sighting:
    """Return one sighting.

    row: its table. sources: name to text. faults: all of them, to spell out families and axes.
    stories: what users tell, for the one sighting that is made from them.
    """
    values = row.texts("values", required=True)
    informs = row.flag("informs", True)
    even = [1.0 / len(values)] * len(values) if values else [1.0]
    if row.flag("from_stories", False):
        healthy, given = _from_stories(row, values, faults, stories)
        freezer = healthy
    else:
        healthy = row.as_chances("healthy", row.take("healthy", None if informs else even), len(even))
        raw = row.take("healthy_freezer", list(healthy))
        freezer = row.as_chances("healthy_freezer", raw, len(even))
        given = _spelled_out(row.table("given"), len(even), faults)
    off, cycling = row.take("off"), row.take("cycling")
    stops = {fault.id for fault in faults if fault.axis == "not_running"}
    sighting = Sighting(
        id=row.text("id"),
        title=row.text("title"),
        ask=row.text("ask"),
        place=row.choice("place", WORKPLACES),
        values=values,
        words=row.texts("words", required=True),
        healthy=healthy,
        healthy_freezer=freezer,
        error=row.number("error", 0.0, 0.5, None if informs else 0.0),
        given=given,
        given_running={name: pair for name, pair in given.items() if name not in stops},
        off=row.as_chances("off", off, len(even)) if off is not None else (),
        given_off=_spelled_out(row.table("given_off"), len(even), faults),
        cycling=row.as_chances("cycling", cycling, len(even)) if cycling is not None else (),
        given_cycling=_spelled_out(row.table("given_cycling"), len(even), faults),
        combine=row.choice("combine", COMBINATIONS, "worst"),
        lasting=row.flag("lasting", False),
        from_reading=_from_reading(row, values),
        turn=_turn(row, values),
        informs=informs,
        applies_to=row.conditions("applies_to"),
        source=source_of(row, sources),
    )
    if len(sighting.words) != len(values):
        row.complain("words", sighting.words, f"{len(values)} texts, one for each value")
    if sighting.given_off and not sighting.off:
        row.complain("given_off", list(sighting.given_off), "nothing, where there is no row off")
    if sighting.given_cycling and not sighting.cycling:
        row.complain("given_cycling", list(sighting.given_cycling), "nothing, where there is no row cycling")
    if informs and not given:
        row.complain("given", "nothing", "a row for at least one fault, or informs = false")
    row.finish()
    return sighting


def _from_reading(row: Table, values: Sequence[str]) -> FromReading | None:
    """Return how a sighting follows from a reading, or None."""
    inner = row.table("from_cycle")
    if not inner.names():
        return None
    order = inner.texts("order", values)
    thresholds = inner.numbers("thresholds", -_MOST, _MOST)
    widths = inner.numbers("widths", 1e-9, _MOST)
    if sorted(order) != sorted(values):
        inner.complain("order", order, f"each of {', '.join(values)} once")
    if len(thresholds) != len(values) - 1 or list(thresholds) != sorted(set(thresholds)):
        inner.complain("thresholds", thresholds, f"{len(values) - 1} rising numbers")
    if len(widths) != len(thresholds):
        inner.complain("widths", widths, f"{len(thresholds)} numbers above 0")
    rule = FromReading(inner.text("reading"), order, thresholds, widths)
    inner.finish()
    return rule


def _turn(row: Table, values: Sequence[str]) -> Turn | None:
    """Return how the usual answer turns into another as a reading rises, or None."""
    inner = row.table("turns")
    if not inner.names():
        return None
    turn = Turn(
        inner.text("reading"),
        inner.choice("to", values[1:]),
        inner.number("threshold", -_MOST, _MOST),
        inner.number("width", 1e-9, _MOST),
        inner.number("most", 0.0, 1.0),
    )
    inner.finish()
    return turn


def _spelled_out(given: Table, count: int, faults: Sequence[Fault]) -> Rows:
    """Return the two rows of chances for each fault; a fault's own row beats its axis, an axis its family."""
    known = {fault.id for fault in faults}
    known |= {f"axis:{fault.axis}" for fault in faults} | {f"family:{fault.family}" for fault in faults}
    given.check_names("fault", given.names(), known)
    rows = {}
    for key in given.names():
        value = given.take(key)
        pair = value if isinstance(value, list) and value and isinstance(value[0], list) else [value, value]
        if len(pair) != 2:
            given.complain(key, value, "one row of chances, or two: mildest and worst")
            continue
        rows[key] = (given.as_chances(key, pair[0], count), given.as_chances(key, pair[1], count))
    found = {}
    for fault in faults:
        for key in (fault.id, f"axis:{fault.axis}", f"family:{fault.family}"):
            if key in rows:
                found[fault.id] = rows[key]
                break
    return found


def _from_stories(
    row: Table, values: Sequence[str], faults: Sequence[Fault], stories: Sequence[Story]
) -> tuple[tuple[float, ...], Rows]:
    """Return the healthy row and the rows by fault that the stories make for ``user_story``."""
    if tuple(story.value for story in stories) != tuple(values):
        told = ", ".join(story.value for story in stories)
        row.complain("values", list(values), f"the stories of priors.toml, in their order: {told}")
        return (1.0 / max(len(values), 1),) * len(values), {}

    def told_under(fault: Fault | None) -> tuple[float, ...]:
        weights = [story.base * story.factor(fault) for story in stories]
        total = 0.0
        for weight in weights:
            total += weight
        return tuple(weight / total for weight in weights)

    names = {key for story in stories for key in story.times} - {NONE}
    found = {}
    for fault in faults:
        if names & {fault.id, f"axis:{fault.axis}", f"family:{fault.family}"}:
            found[fault.id] = (told_under(fault), told_under(fault))
    return told_under(None), found
