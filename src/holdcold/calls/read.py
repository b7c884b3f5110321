"""Reading a call from its TOML text (or an equal document), with every problem found at once."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from datetime import date
from typing import Final, TypeVar, cast

from holdcold.calls.fields import CALL_FIELDS, LISTS
from holdcold.calls.log import CallConditions, CallLog, Reading
from holdcold.cards.form import Filled, is_unknown, placed, read_form
from holdcold.cards.read import parse_toml
from holdcold.cards.sharpened_form import is_date
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.diagnosis.evidence import (
    BoxTrend,
    CheckEvidence,
    CheckOutcome,
    Complaint,
    InstrumentBias,
    Override,
    RepairEvidence,
    RepairOutcome,
    SightingEvidence,
    State,
)
from holdcold.errors import InputError, InputErrors, UnknownNameError
from holdcold.quantities import instrument, parse
from holdcold.quantities.constants import STANDARD_ATMOSPHERE_PA

_DEFAULT_UNITS: Final = {"voltage": "V", "current": "A", "electric_power": "W"}
_OFFSETS: Final = {"pressure": "pressure_difference", "temperature": "temperature_difference"}

Entry = TypeVar("Entry")


def read_call(
    text: str, *, catalogue: Catalogue, ambient_pa: float = STANDARD_ATMOSPHERE_PA
) -> CallLog:
    """Return the call written in ``text`` (TOML, ``schema = 1``).

    catalogue: the names that exist. ambient_pa: air pressure where the unit stands [Pa], for gauge readings
    (``Card.ambient_pa``). Raises InputErrors listing every problem of the file; readings that cannot
    be true are kept, see ``flags``.
    """
    return read_call_document(parse_toml(text), catalogue=catalogue, ambient_pa=ambient_pa)


def read_call_document(
    document: Mapping[str, object], *, catalogue: Catalogue, ambient_pa: float = STANDARD_ATMOSPHERE_PA
) -> CallLog:
    """Return the call in a document already parsed from TOML or JSON; otherwise as ``read_call``."""
    document = _day_as_text(document)
    filled = read_form(document, CALL_FIELDS, ambient_pa=ambient_pa, ignore=frozenset(LISTS))
    reader = _Reader(document, catalogue, ambient_pa, list(filled.problems))
    if "schema" not in document:
        reader.problems.insert(0, InputError("schema", "nothing", "1", "Write schema = 1 on the first line."))
    call = CallLog(
        _conditions(filled, ambient_pa),
        reader.entries("reading", reader.reading),
        reader.entries("sighting", reader.sighting),
        reader.entries("check", reader.check),
        reader.entries("repair", reader.repair),
        reader.entries("override", reader.override),
        reader.entries("bias", reader.bias),
        name=_text(filled, "name"),
        card=_text(filled, "card"),
        notes=_text(filled, "notes"),
        demo=filled.values.get("demo") is True,
        date=_text(filled, "date"),
    )
    if call.date and not is_date(call.date):
        reader.problems.append(
            InputError("date", call.date, "year-month-day, like 2026-11-25", "Write the day of the call.")
        )
    if reader.problems:
        raise InputErrors(reader.problems)
    return call


def _day_as_text(document: Mapping[str, object]) -> Mapping[str, object]:
    """Return the document with a date written without quotes, which TOML allows, as its text."""
    day = document.get("date")
    return {**document, "date": day.isoformat()} if isinstance(day, date) else document


def _text(filled: Filled, path: str) -> str:
    value = filled.values.get(path)
    return value if isinstance(value, str) else ""


def _number(filled: Filled, path: str) -> float | None:
    value = filled.values.get(path)
    return float(value) if isinstance(value, int | float) else None


def _minutes(filled: Filled, path: str) -> float | None:
    seconds = _number(filled, path)
    return None if seconds is None else seconds / 60.0


def _conditions(filled: Filled, ambient_pa: float) -> CallConditions:
    return CallConditions(
        ambient_k=_number(filled, "conditions.ambient"),
        box_k=_number(filled, "conditions.box"),
        state=cast(State, _text(filled, "conditions.state") or "unknown"),
        minutes_in_state=_minutes(filled, "conditions.minutes_in_state"),
        supply_v=_number(filled, "conditions.supply_voltage"),
        complaint=cast(Complaint, _text(filled, "conditions.complaint") or "none"),
        box_trend=cast(BoxTrend, _text(filled, "conditions.box_trend") or "unknown"),
        ambient_pa=ambient_pa,
        proved_good=filled.values.get("conditions.proved_good") is True,
    )


class _Reader:
    """Reads the lists of one document and collects problems on the way."""

    def __init__(
        self,
        document: Mapping[str, object],
        catalogue: Catalogue,
        ambient_pa: float,
        problems: list[InputError],
    ) -> None:
        self.document = document
        self.catalogue = catalogue
        self.ambient_pa = ambient_pa
        self.problems = problems

    def entries(self, name: str, read: Callable[[Filled, int], Entry]) -> tuple[Entry, ...]:
        """Return the entries of one list that could be read; the others leave problems."""
        raw = self.document.get(name, [])
        if not isinstance(raw, list) or not all(isinstance(item, Mapping) for item in raw):
            self.problems.append(
                InputError(name, raw, f"entries under [[{name}]]", f"Write [[{name}]] above each entry.")
            )
            return ()
        found = []
        for number, item in enumerate(raw, start=1):
            if name == "sighting" and _not_looked(item.get("seen")):
                continue
            where = f"{name} {number}"
            filled = read_form(self._spoken(name, item), LISTS[name][1], ambient_pa=self.ambient_pa)
            if filled.problems:
                self.problems.extend(placed(problem, where) for problem in filled.problems)
                continue
            try:
                found.append(read(filled, number))
            except InputError as problem:
                self.problems.append(placed(problem, where))
        return tuple(found)

    def _spoken(self, name: str, item: Mapping[str, object]) -> dict[str, object]:
        """Return an entry with what people write in other ways put as the form wants it."""
        spoken = dict(item)
        if name == "sighting" and isinstance(spoken.get("seen"), bool):
            spoken["seen"] = "yes" if spoken["seen"] else "no"
        if name == "reading" and isinstance(spoken.get("value"), int | float):
            spoken["value"] = str(spoken["value"])
        return spoken

    def reading(self, filled: Filled, number: int) -> Reading:
        place = _name("place", _text(filled, "place"), self.catalogue.places)
        dimension = self.catalogue.places[place].dimension
        typed = _text(filled, "value")
        class_, id_ = _instrument(_text(filled, "instrument"))
        return Reading(
            number,
            place,
            dimension,
            parse(
                typed,
                dimension,
                field=place,
                default_unit=_DEFAULT_UNITS.get(dimension),
                ambient_pa=self.ambient_pa,
            ),
            typed,
            class_,
            id_,
            _minutes(filled, "at_minute"),
            _text(filled, "note"),
        )

    def sighting(self, filled: Filled, number: int) -> SightingEvidence:
        del number
        id_ = _name("id", _text(filled, "id"), self.catalogue.sightings)
        allowed = self.catalogue.sightings[id_].values
        return SightingEvidence(id_, _name(f"{id_}.seen", _text(filled, "seen"), allowed))

    def check(self, filled: Filled, number: int) -> CheckEvidence:
        del number
        id_ = _name("id", _text(filled, "id"), self.catalogue.checks)
        outcome = cast(CheckOutcome, _text(filled, "outcome"))
        reason = _text(filled, "reason")
        if outcome == "not_now" and not reason.strip():
            raise InputError(
                f"{id_}.reason", "nothing", "the reason in a few words", 'Write why: reason = "no ladder".'
            )
        return CheckEvidence(id_, outcome, reason)

    def repair(self, filled: Filled, number: int) -> RepairEvidence:
        del number
        fault = _name("fault", _text(filled, "fault"), self.catalogue.faults)
        return RepairEvidence(fault, cast(RepairOutcome, _text(filled, "outcome")))

    def override(self, filled: Filled, number: int) -> Override:
        del number
        guard = _name("guard", _text(filled, "guard"), self.catalogue.guards)
        return Override(guard, _text(filled, "reason"))

    def bias(self, filled: Filled, number: int) -> InstrumentBias:
        del number
        name = _text(filled, "instrument")
        class_, id_ = _instrument(name)
        dimension = instrument(class_ or name).dimension
        offset = parse(_text(filled, "offset"), _OFFSETS.get(dimension, dimension), field=f"{name}.offset")
        return InstrumentBias(id_ or name, dimension, offset, _text(filled, "note"))

def _name(field: str, given: str, known: Collection[str]) -> str:
    """Return a name that exists; UnknownNameError with near names otherwise."""
    folded = given.strip().lower().replace("-", "_").replace(" ", "_")
    if folded not in known:
        raise UnknownNameError(field, given, known)
    return folded


def _not_looked(seen: object) -> bool:
    """Say whether a sighting was only listed, not looked at: no evidence either way."""
    if seen is None:
        return False
    return is_unknown(seen) or str(seen).strip().lower().replace("_", " ") == "not looked"


def _instrument(given: str) -> tuple[str | None, str | None]:
    """Return (class, which one) from a class name with an optional label behind it."""
    words = given.split(maxsplit=1)
    if not words:
        return None, None
    return instrument(words[0]).id, " ".join(words) if len(words) > 1 else words[0]
