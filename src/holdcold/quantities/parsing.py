"""From what a person types ("95F", "18 in.Hg", "1 lb 6 oz") to an SI value of a stated dimension.

Nothing is guessed silently: a missing unit, a unit of another dimension and an impossible value are
errors that say what is wanted; a wording with two meanings is read one documented way and noted.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from holdcold.errors import InputError
from holdcold.quantities.constants import STANDARD_ATMOSPHERE_PA
from holdcold.quantities.dimensions import DIMENSIONS, Dimension, dimension
from holdcold.quantities.numerals import Numeral, NumeralError, plain_text, read_numeral, split_sign
from holdcold.quantities.units import Unit, unit, units_written

_SMALLER: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {"mass": ("lb", "oz"), "length": ("ft", "in"), "time": ("d", "h", "min", "s")}
)
"""Units that may follow one another in one quantity, largest first."""

_UNITLESS: Final = frozenset({"fraction", "humidity"})
_UP_TO_DIGIT: Final = re.compile(r"[^\d]+")


@dataclass(frozen=True, slots=True)
class Parsed:
    """A quantity as understood: SI value, the unit it was read in, and notes worth telling the person."""

    value_si: float
    unit: str
    notes: tuple[str, ...] = ()


def parse(
    text: str,
    dimension: str,
    *,
    field: str = "value",
    default_unit: str | None = None,
    ambient_pa: float = STANDARD_ATMOSPHERE_PA,
) -> float:
    """Return the SI value of what a person typed; a pressure comes back absolute.

    text: for example "95F", "18 in.Hg", "1 lb 6 oz".
    dimension: what is wanted, a name in ``DIMENSIONS``; differences have dimensions of their own.
    field: where it was typed, for messages.
    default_unit: the unit when none is typed; None makes a missing unit an error.
    ambient_pa: air pressure [Pa, absolute] that gauge and vacuum readings count from.
    Raises: ``InputError`` that names field, text, what is allowed and what to do.
    """
    return parse_noted(
        text, dimension, field=field, default_unit=default_unit, ambient_pa=ambient_pa
    ).value_si


def parse_noted(
    text: str,
    dimension: str,
    *,
    field: str = "value",
    default_unit: str | None = None,
    ambient_pa: float = STANDARD_ATMOSPHERE_PA,
) -> Parsed:
    """Return what ``parse`` returns together with the unit read and notes on doubtful wording.

    Same arguments and errors as ``parse``.
    """
    return _Reader(text, field, ambient_pa, dimension).read(default_unit)


def parse_one_of(
    text: str,
    dimensions: Sequence[str],
    *,
    field: str = "value",
    ambient_pa: float = STANDARD_ATMOSPHERE_PA,
) -> tuple[str, Parsed]:
    """Return which of several dimensions the typed unit belongs to, and the quantity.

    text, field, ambient_pa: as for ``parse``.
    dimensions: two or more names in ``DIMENSIONS`` that share no unit; a unit must be typed.
    Raises: ``InputError`` as for ``parse``; it names all the dimensions when the unit fits none.
    """
    wanted = [dimension(name) for name in dimensions]
    written = _written_unit(text)
    fitting = [one.name for one in wanted if units_written(written, one.name)]
    if len(fitting) == 1:
        return fitting[0], parse_noted(text, fitting[0], field=field, ambient_pa=ambient_pa)
    called = " or ".join(one.called for one in wanted)
    examples = " or ".join(one.examples.split(" or ")[0] for one in wanted)
    others = [DIMENSIONS[name].called for name in DIMENSIONS if written and units_written(written, name)]
    problem = f"This is {others[0]}; {called} is needed." if others else "Give a number and its unit."
    raise InputError(field, text, f"{called}, such as {examples}", problem)


def _written_unit(text: str) -> str:
    """Return what follows the number in ``text``: the unit, or nothing."""
    try:
        number = read_numeral(split_sign(plain_text(text))[1])
    except NumeralError:
        return ""
    return number.rest if number else ""


class _Reader:
    """Reads one text; holds what every message needs, so that no helper has five arguments."""

    def __init__(self, text: str, field: str, ambient_pa: float, wanted: str) -> None:
        self.text = text
        self.field = field
        self.ambient_pa = ambient_pa
        self.wanted: Dimension = dimension(wanted)

    def read(self, default_unit: str | None) -> Parsed:
        """Return the quantity, or raise the one error that helps most."""
        sign, unsigned = split_sign(plain_text(self.text))
        number = self._numeral(unsigned)
        written = number.rest or default_unit or ""
        if not written and self.wanted.name in _UNITLESS:
            return self._bare_fraction(sign * number.value)
        if not written:
            raise self._error(f"Add the unit: {self.wanted.examples}.")
        found = units_written(written, self.wanted.name)
        if len(found) > 1:
            raise self._error("Write " + " or ".join(one.symbol for one in found) + ": capitals matter here.")
        if found:
            return self._single(sign, number, found[0])
        return self._compound(sign, number)

    def _numeral(self, text: str) -> Numeral:
        """Return the number at the start of ``text`` or say that there is none."""
        try:
            number = read_numeral(text)
        except NumeralError as problem:
            raise self._error(str(problem)) from None
        if number is None:
            raise self._error(f"Start with a number and end with a unit: {self.wanted.examples}.")
        return number

    def _single(self, sign: float, number: Numeral, one: Unit) -> Parsed:
        """Return a number with one unit, checked against what is possible."""
        notes = [one.note] if one.note else []
        if number.thousands_comma:
            notes.append(self._thousands(number, one))
        if one.datum == "vacuum" and sign < 0.0:
            notes.append(f"a minus before {one.symbol} was read as vacuum, as without it")
        value_si = self._checked(one.to_si(sign * number.value, self.ambient_pa), one)
        return Parsed(value_si, one.symbol, tuple(notes))

    def _thousands(self, number: Numeral, one: Unit) -> str:
        """Return a note on a comma read as thousands; raise where it is as likely a decimal comma."""
        if not one.customary:
            raise self._error(
                f"Write {number.value:.0f} or {number.value / 1000.0:.3f}: "
                "the comma could be a thousands mark or a decimal mark."
            )
        return f"the comma was taken as a thousands mark: {number.value:.0f} {one.symbol}"

    def _compound(self, sign: float, number: Numeral) -> Parsed:
        """Return a quantity in several units ("1 lb 6 oz"), or explain why the wording is none."""
        chain = _SMALLER.get(self.wanted.name, ())
        total_si, used, notes = 0.0, list[str](), list[str]()
        remaining: Numeral | None = number
        while remaining is not None:
            one, rest = self._next_unit(remaining.rest, chain, used, notes)
            if used and remaining.value * one.scale >= unit(used[-1], self.wanted.name).scale:
                raise self._error(f"The {one.symbol} part must be less than one {used[-1]}.")
            total_si += remaining.value * one.scale
            used.append(one.symbol)
            remaining = self._numeral(rest) if rest else None
        value_si = self._checked(sign * total_si, unit(used[0], self.wanted.name))
        return Parsed(value_si, " ".join(used), tuple(notes))

    def _next_unit(
        self, rest: str, chain: tuple[str, ...], used: list[str], notes: list[str]
    ) -> tuple[Unit, str]:
        """Return the next, smaller unit of a compound quantity and the text after it."""
        place = chain.index(used[-1]) + 1 if used else 0
        if not rest and used and place < len(chain):
            notes.append(f"{chain[place]} was understood after {used[-1]}")
            return unit(chain[place], self.wanted.name), ""
        match = _UP_TO_DIGIT.match(rest)
        written = match.group() if match else ""
        found = units_written(written, self.wanted.name)
        if not found or found[0].symbol not in chain[place:]:
            raise self._not_understood(rest, written)
        return found[0], rest[len(written) :]

    def _not_understood(self, rest: str, written: str) -> InputError:
        """Return an error that names the dimension a wrong unit belongs to, if it belongs to one."""
        for candidate in (rest, written):
            others = [name for name in DIMENSIONS if units_written(candidate, name)]
            if candidate and others and self.wanted.name not in others:
                return self._error(f"This is {DIMENSIONS[others[0]].called}; {self.wanted.called} is needed.")
        return self._error(f"The unit {rest!r} is not known here. Write for example {self.wanted.examples}.")

    def _bare_fraction(self, value: float) -> Parsed:
        """Return a plain number between 0 and 1 as a fraction; 30 without % could be either."""
        if not 0.0 <= value <= 1.0:
            raise self._error("Write a percentage with its % sign, or a plain number from 0 to 1.")
        return Parsed(value, "")

    def _checked(self, value_si: float, one: Unit) -> float:
        """Return ``value_si``; raise if no such value can exist."""
        if self.wanted.lowest <= value_si <= self.wanted.highest and math.isfinite(value_si):
            return value_si
        raise self._error("Such a value cannot exist: read the instrument again.", self._range(one))

    def _range(self, one: Unit) -> str:
        """Return the possible values in words and, where it helps, in the unit that was typed."""
        if one.datum == "vacuum":
            return f"0 to {self.ambient_pa / one.scale:.2f} {one.symbol} at this air pressure"
        lowest = one.from_si(self.wanted.lowest, self.ambient_pa)
        if not math.isfinite(lowest):
            return f"{self.wanted.called} that can be measured"
        return f"{self.wanted.limit} ({lowest:.2f} {one.symbol})" if abs(lowest) > 1e-9 else self.wanted.limit

    def _error(self, advice: str, allowed: str | None = None) -> InputError:
        """Return an error about this text."""
        usual = f"{self.wanted.called}, such as {self.wanted.examples}"
        return InputError(self.field, self.text, allowed or usual, advice)
