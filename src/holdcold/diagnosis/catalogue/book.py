"""The whole catalogue: rows by id, the chances of sightings under faults, and how it is read and checked."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Protocol, TypeVar

from holdcold.diagnosis.catalogue.priors import NOT_LISTED, PriorData, Priors
from holdcold.diagnosis.catalogue.read import (
    read_caution,
    read_check,
    read_costs,
    read_fault,
    read_group,
    read_guard,
    read_place,
    read_sighting,
)
from holdcold.diagnosis.catalogue.read_priors import read_priors
from holdcold.diagnosis.catalogue.rows import (
    Caution,
    Check,
    Conditions,
    Costs,
    Facts,
    Fault,
    Group,
    Guard,
    Place,
    Sighting,
    Standing,
    is_known_to_stand,
    stands_for,
)
from holdcold.diagnosis.catalogue.table import Table
from holdcold.errors import InputError, InputErrors, UnknownNameError

FILES: Final = (
    "faults.toml",
    "checks.toml",
    "sightings.toml",
    "places.toml",
    "priors.toml",
    "costs.toml",
    "guards.toml",
)
"""The data files of the catalogue."""

_SCHEMA: Final = 1
_UNLISTED_HEALTHY_SHARE: Final = 0.7
_STATE_HEARD: Final = {"running": "running", "loud": "running", "silent": "off", "hums_and_trips": "off"}


class _HasId(Protocol):
    """A row with an id."""

    @property
    def id(self) -> str:
        """The row's id."""


R = TypeVar("R", bound=_HasId)


@dataclass(frozen=True, slots=True)
class Dated:
    """Version and date of one data file, and its sources by name."""

    version: str
    date: datetime.date
    sources: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything known of faults, checks, sightings and places; rows by id in the order of the files.

    files: version, date and sources of each data file. prior_data: all tables of priors.
    """

    files: Mapping[str, Dated]
    faults: Mapping[str, Fault]
    groups: Mapping[str, Group]
    checks: Mapping[str, Check]
    sightings: Mapping[str, Sighting]
    places: Mapping[str, Place]
    guards: Mapping[str, Guard]
    cautions: Mapping[str, Caution]
    prior_data: PriorData
    costs: Costs

    def fault(self, name: str) -> Fault:
        """Return the fault called ``name``; raise UnknownNameError otherwise."""
        return _named("fault", name, self.faults)

    def check(self, name: str) -> Check:
        """Return the check called ``name``; raise UnknownNameError otherwise."""
        return _named("check", name, self.checks)

    def sighting(self, name: str) -> Sighting:
        """Return the sighting called ``name``; raise UnknownNameError otherwise."""
        return _named("sighting", name, self.sightings)

    def place(self, name: str) -> Place:
        """Return the place called ``name``; raise UnknownNameError otherwise."""
        return _named("place", name, self.places)

    def guard(self, name: str) -> Guard:
        """Return the guard called ``name``; raise UnknownNameError otherwise."""
        return _named("guard", name, self.guards)

    def faults_for(self, facts: Facts) -> list[Fault]:
        """Return the faults that may concern a unit; what is not known of it rules nothing out."""
        return [fault for fault in self.faults.values() if stands_for(fault.applies_to, facts)]

    def checks_for(self, facts: Facts, seen: Facts | None = None) -> list[Check]:
        """Return the checks that make sense on a unit; what is not known of it rules nothing out.

        facts: what is known of the unit. seen: sightings by id; when given, checks that only make sense
        after something else was seen are left out until it was.
        """
        return [
            check
            for check in self.checks.values()
            if stands_for(check.applies_to, facts)
            and (seen is None or is_known_to_stand(check.only_if, seen))
        ]

    def group_of(self, fault: str, facts: Facts) -> Group | None:
        """Return the group that ``fault`` is shown with on a unit, or None.

        fault: id. facts: what is known of the unit; a group stands only where its facts are known.
        """
        group = self.groups.get(self.fault(fault).group)
        return group if group is not None and is_known_to_stand(group.when, facts) else None

    def checks_that_yield(self, name: str) -> list[Check]:
        """Return the checks that answer a sighting or make a place readable, by the id of either."""
        return [check for check in self.checks.values() if name in check.sightings or name in check.readings]

    def priors_for(self, kind: str, application: str, facts: Facts | None = None) -> Priors:
        """Return the chances before anything was seen; they sum to 1 with *none* and *not listed*.

        kind: ``"walk_in"`` or ``"reach_in"``. application: ``"cooler"`` or ``"freezer"``.
        facts: what else is known of the unit; faults that cannot occur on it are left out.
        Raises InputError for a kind without a table.
        """
        return self.prior_data.priors_for(kind, application, facts or {}, self.faults)

    def standings(
        self,
        facts: Facts,
        seen: Facts,
        done: Iterable[str] = (),
        overridden: Iterable[str] = (),
    ) -> dict[str, Standing]:
        """Return how each guard that concerns this unit stands, by id.

        facts: what is known of the unit. seen: sightings by id. done: ids of checks done.
        overridden: ids of guards set aside with a reason.
        """
        checks, waived = frozenset(done), frozenset(overridden)
        found = {name: guard.standing(facts, seen, checks, waived) for name, guard in self.guards.items()}
        return {name: standing for name, standing in found.items() if standing.applies}

    def check_cost(self, name: str) -> float:
        """Return what a check costs, reaching its place not included [minutes of paid time]."""
        return self.costs.of_check(self.check(name))

    def sighting_chances(
        self, name: str, levels: Mapping[str, float], application: str = "", state: str = ""
    ) -> tuple[float, ...]:
        """Return the chance of each value of a sighting under a set of faults, wrong answers included.

        name: id of the sighting. levels: fault id to how bad it is, 0 mildest to 1 worst node (see
        ``Fault.level``); empty for a healthy machine; ``not_listed`` stands for a cause in no list and
        spreads the answers. application: ``"freezer"`` takes the healthy rates of freezers. state: of the
        compressor when it was looked at, ``"running"``, ``"cycling"``, ``"off"`` or empty; a sighting that
        depends on it then tells only what the state has not told already (see ``known_state``).
        Two faults together: see ``Sighting.combine``. The sum is 1.
        """
        sighting = self.sighting(name)
        given = sighting.given
        healthy = sighting.healthy_freezer if application == "freezer" else sighting.healthy
        if sighting.off and state == "off":
            given, healthy = sighting.given_off, sighting.off
        elif sighting.cycling and state == "cycling":
            given, healthy = sighting.given_cycling, sighting.cycling
        elif sighting.off and state == "running":
            given = sighting.given_running
        rows = []
        for fault, level in levels.items():
            if fault == NOT_LISTED:
                rows.append(_spread_out(healthy))
            elif (pair := given.get(fault)) is not None:
                rows.append(tuple(m + level * (w - m) for m, w in zip(*pair, strict=True)))
        if not rows:
            return sighting.with_error(healthy)
        combined = rows[0]
        for row in rows[1:]:
            combined = _COMBINE[sighting.combine](combined, row, healthy)
        return sighting.with_error(combined)


def known_state(seen: Facts) -> str:
    """Return the state of the compressor that was heard: ``"running"``, ``"off"``, or empty.

    seen: sightings by id. For sightings other than ``compressor_sound``, which told it.
    """
    return _STATE_HEARD.get(seen.get("compressor_sound", ""), "")


def _spread_out(healthy: Sequence[float]) -> tuple[float, ...]:
    """Return the chances under a cause that is in no list: mostly as when healthy, the rest anything."""
    even = (1.0 - _UNLISTED_HEALTHY_SHARE) / len(healthy)
    return tuple(_UNLISTED_HEALTHY_SHARE * chance + even for chance in healthy)


def _worst(one: Sequence[float], other: Sequence[float], healthy: Sequence[float]) -> tuple[float, ...]:
    """Return the chances when two faults each may spoil the normal value (the first).

    The normal value survives both as if independently; what is lost goes to the other values in
    proportion to what each fault adds to them.
    """
    normal = min(one[0], other[0], one[0] * other[0] / healthy[0]) if healthy[0] > 0.0 else 0.0
    added = [max(a + b - h, 1e-6) for a, b, h in zip(one[1:], other[1:], healthy[1:], strict=True)]
    total = 0.0
    for part in added:
        total += part
    return (normal, *((1.0 - normal) * part / total for part in added))


def _product(one: Sequence[float], other: Sequence[float], healthy: Sequence[float]) -> tuple[float, ...]:
    """Return the chances when the shifts of two faults away from the healthy rates multiply."""
    weights = [a * b / h if h > 0.0 else 0.0 for a, b, h in zip(one, other, healthy, strict=True)]
    total = 0.0
    for weight in weights:
        total += weight
    return tuple(weight / total for weight in weights)


_COMBINE: Final = {"worst": _worst, "product": _product}


def _named(field: str, name: str, rows: Mapping[str, R]) -> R:
    """Return a row by id."""
    try:
        return rows[name]
    except KeyError:
        raise UnknownNameError(field, name, rows) from None


def read_catalogue(texts: Mapping[str, str]) -> Catalogue:
    """Return the catalogue that a set of data files holds.

    texts: content of each of ``FILES`` by name.
    Raises InputErrors with every problem of every file: wrong types and ranges, unknown keys and ids,
    chances that do not sum to 1, references to nothing.
    """
    problems: list[InputError] = []
    files = {name: _parsed(name, texts.get(name, ""), problems) for name in FILES}
    if problems:
        raise InputErrors(problems)
    dated = {name: _dated(file) for name, file in files.items()}
    book = _assembled(files, dated, problems)
    for name, file in files.items():
        file.finish()
        _check_dates(name, dated[name], file)
    _check_references(book, problems)
    if problems:
        raise InputErrors(problems)
    return book


def _parsed(name: str, text: str, problems: list[InputError]) -> Table:
    """Return a file as a table."""
    try:
        return Table(name, tomllib.loads(text), problems)
    except tomllib.TOMLDecodeError as problem:
        problems.append(InputError(name, str(problem), "a TOML file", "Mend the data file."))
        return Table(name, {}, problems)


def _dated(file: Table) -> Dated:
    """Return version, date and sources from the head of a file."""
    file.number("schema", _SCHEMA, _SCHEMA)
    raw = file.take("date")
    date = raw if isinstance(raw, datetime.date) else datetime.date.min
    sources = file.table("sources")
    return Dated(file.text("version"), date, {name: sources.text(name) for name in sources.names()})


def _check_dates(name: str, dated: Dated, file: Table) -> None:
    """Keep a problem with a file that has no date or whose version is of another month."""
    month = dated.date.strftime("%Y.%m")
    if dated.date == datetime.date.min:
        file.complain("date", "nothing", "a date such as 2026-11-25")
    elif not dated.version.startswith(month):
        file.complain("version", dated.version, f"{month}, the month of the date of {name}")


def _assembled(
    files: Mapping[str, Table], dated: Mapping[str, Dated], problems: list[InputError]
) -> Catalogue:
    """Return the catalogue with its rows read; references between them are checked later."""

    def sources(name: str) -> Mapping[str, str]:
        return dated[name].sources

    faults_file, guards_file = files["faults.toml"], files["guards.toml"]
    faults = _by_id([read_fault(r, sources("faults.toml")) for r in faults_file.rows("fault")], problems)
    every = tuple(faults.values())
    groups = [read_group(r, sources("faults.toml"), every) for r in faults_file.rows("group")]
    guards = [read_guard(r, sources("guards.toml"), every) for r in guards_file.rows("guard")]
    cautions = [read_caution(r, sources("guards.toml")) for r in guards_file.rows("caution")]
    checks = [read_check(r, sources("checks.toml"), guards) for r in files["checks.toml"].rows("check")]
    priors = read_priors(files["priors.toml"], sources("priors.toml"), faults)
    sightings = [
        read_sighting(row, sources("sightings.toml"), every, priors.stories)
        for row in files["sightings.toml"].rows("sighting")
    ]
    places = [read_place(r, sources("places.toml")) for r in files["places.toml"].rows("place")]
    return Catalogue(
        dict(dated),
        faults,
        _by_id(groups, problems),
        _by_id(checks, problems),
        _by_id(sightings, problems),
        _by_id(places, problems),
        _by_id(guards, problems),
        _by_id(cautions, problems),
        priors,
        read_costs(files["costs.toml"], sources("costs.toml")),
    )


def _by_id(rows: Sequence[R], problems: list[InputError]) -> dict[str, R]:
    """Return rows by id; keep a problem for an id that is used twice."""
    found: dict[str, R] = {}
    for row in rows:
        if row.id in found:
            problems.append(InputError("id", row.id, "each id once", "Rename one of the two rows."))
        found[row.id] = row
    return found


def _check_references(book: Catalogue, problems: list[InputError]) -> None:
    """Keep a problem for every reference between rows that leads nowhere, and for rows nothing leads to."""
    for fault in book.faults.values():
        at = Table(f"faults.toml fault {fault.id}", {}, problems)
        at.check_names("repair.proof", [fault.repair.proof], book.checks)
        at.check_names("cautions", fault.cautions, book.cautions)
        at.check_names("unmoved", fault.unmoved, book.places)
        at.check_names("loose", [place for way in fault.loose for place in way], book.places)
        at.check_names("group", [fault.group] if fault.group else [], book.groups)
    for check in book.checks.values():
        at = Table(f"checks.toml check {check.id}", {}, problems)
        at.check_names("readings", check.readings, book.places)
        at.check_names("sightings", check.sightings, book.sightings)
        at.check_names("cautions", check.cautions, book.cautions)
        _check_seen(book, "only_if", check.only_if, at)
    for place in book.places.values():
        at = Table(f"places.toml place {place.id}", {}, problems)
        at.check_names("from", place.follows_from, book.places)
    for guard in book.guards.values():
        _check_guard(book, guard, Table(f"guards.toml guard {guard.id}", {}, problems))
    _check_sightings(book, problems)


def _check_guard(book: Catalogue, guard: Guard, at: Table) -> None:
    """Keep a problem for every id or value a guard names that does not exist."""
    at.check_names("checks", sorted(guard.checks), book.checks)
    at.check_names("needs_checks", guard.needs_checks, book.checks)
    _check_seen(book, "needs", guard.needs, at)


def _check_seen(book: Catalogue, key: str, asked: Conditions, at: Table) -> None:
    """Keep a problem for every sighting asked for, and every value of it, that does not exist."""
    at.check_names(key, asked, book.sightings)
    for name, values in asked.items():
        if name in book.sightings:
            at.check_names(f"{key}.{name}", values, book.sightings[name].values)


def _check_sightings(book: Catalogue, problems: list[InputError]) -> None:
    """Keep a problem for a sighting or a place that no check yields, and for a reading that is no place."""
    for sighting in book.sightings.values():
        at = Table(f"sightings.toml sighting {sighting.id}", {}, problems)
        if sighting.from_reading is not None:
            at.check_names("from_cycle.reading", [sighting.from_reading.reading], book.places)
        if sighting.turn is not None:
            at.check_names("turns.reading", [sighting.turn.reading], book.places)
        if sighting.informs and not book.checks_that_yield(sighting.id):
            at.complain("id", sighting.id, "a sighting that some check answers", "Name it in checks.toml.")
    for place in book.places.values():
        if place.measured and not book.checks_that_yield(place.id):
            at = Table(f"places.toml place {place.id}", {}, problems)
            at.complain("id", place.id, "a measured place that some check reads", "Name it in checks.toml.")
