"""Reading one TOML table with care: types, ranges, choices, unknown keys; every problem kept, none raised."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from holdcold.diagnosis.catalogue.rows import UNIT_FACTS, Conditions
from holdcold.errors import InputError, near_names

_MEND: Final = "Mend the data file."


class Table:
    """One table of a data file; each key is taken once, problems gather in a list shared by the file.

    where: path for messages, for example ``"faults.toml fault low_charge"``.
    data: the table. problems: where problems are added.
    """

    def __init__(self, where: str, data: Mapping[str, Any], problems: list[InputError]) -> None:
        self.where = where
        self._data = data
        self._taken: set[str] = set()
        self.problems = problems

    def complain(self, key: str, value: object, allowed: str, advice: str = _MEND) -> None:
        """Keep a problem with ``key``.

        key: key of this table. value: what stands there. allowed: what may. advice: what to do.
        """
        self.problems.append(InputError(f"{self.where}: {key}", value, allowed, advice))

    def take(self, key: str, default: object = None) -> Any:  # noqa: ANN401 - raw TOML of any type
        """Return the raw value of ``key``, or ``default``; the key counts as used."""
        self._taken.add(key)
        return self._data.get(key, default)

    def _typed(self, key: str, default: object, fits: Callable[[object], bool], allowed: str) -> Any:  # noqa: ANN401
        """Return a value that ``fits``; keep a problem and return the default otherwise."""
        value = self.take(key, default)
        if value is None or not fits(value):
            self.complain(key, "nothing" if value is None else value, allowed)
            return default
        return value

    def text(self, key: str, default: str | None = None) -> str:
        """Return a text; required and not empty unless a default is given."""
        found = self._typed(
            key, default, lambda v: isinstance(v, str) and bool(v or default is not None), "a text"
        )
        return str(found or "")

    def flag(self, key: str, default: bool | None = None) -> bool:
        """Return true or false; required unless a default is given."""
        return bool(self._typed(key, default, lambda v: isinstance(v, bool), "true or false"))

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """Return a number from ``low`` to ``high``; required unless a default is given.

        key: key of this table. low, high: range, both inclusive. default: taken when absent.
        """

        def fits(value: object) -> bool:
            return isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high

        found = self._typed(key, default, fits, f"a number from {low:g} to {high:g}")
        return float(found) if found is not None else low

    def choice(self, key: str, allowed: Iterable[str], default: str | None = None) -> str:
        """Return one of the ``allowed`` words; required unless a default is given.

        key: key of this table. allowed: the words. default: taken when absent.
        """
        found = self.text(key, default)
        self.check_names(key, [found] if found != default else [], allowed)
        return found

    def texts(
        self, key: str, allowed: Iterable[str] | None = None, *, required: bool = False
    ) -> tuple[str, ...]:
        """Return a list of texts, each one of the ``allowed`` words if those are given.

        key: key of this table. allowed: the words, or None. required: whether it must hold something.
        """

        def fits(value: object) -> bool:
            is_list = isinstance(value, list) and all(isinstance(item, str) for item in value)
            return is_list and bool(value or not required)

        found = tuple(self._typed(key, None if required else [], fits, "a list of texts") or ())
        if allowed is not None:
            self.check_names(key, found, allowed)
        if len(set(found)) != len(found):
            self.complain(key, found, "each once")
        return found

    def numbers(self, key: str, low: float, high: float) -> tuple[float, ...]:
        """Return a list of one or more numbers from ``low`` to ``high``.

        key: key of this table. low, high: range, both inclusive.
        """
        return self.as_numbers(key, self.take(key), low, high)

    def as_numbers(self, key: str, value: object, low: float, high: float) -> tuple[float, ...]:
        """Return ``value`` as numbers from ``low`` to ``high``, empty with a problem kept otherwise.

        key: for the message. value: raw TOML. low, high: range, both inclusive.
        """
        fine = isinstance(value, list) and bool(value)
        if fine and isinstance(value, list):
            for item in value:
                is_number = isinstance(item, int | float) and not isinstance(item, bool)
                fine = fine and is_number and low <= item <= high
            if fine:
                return tuple(float(item) for item in value)
        self.complain(key, value, f"a list of numbers from {low:g} to {high:g}")
        return ()

    def as_chances(self, key: str, value: object, count: int) -> tuple[float, ...]:
        """Return ``value`` as ``count`` chances that sum to 1; even ones with a problem kept otherwise.

        key: for the message. value: raw TOML. count: how many.
        """
        found = self.as_numbers(key, value, 0.0, 1.0)
        if found and (len(found) != count or abs(math.fsum(found) - 1.0) > 1e-9):
            self.complain(key, value, f"{count} chances that sum to 1 (they sum to {math.fsum(found):.6g})")
        elif found:
            return found
        return (1.0 / count,) * count

    def conditions(self, key: str) -> Conditions:
        """Return facts of the unit, each with the values allowed (``expansion = ["txv"]``)."""
        inner = self.table(key)
        found = {}
        for name in inner.names():
            if name not in UNIT_FACTS:
                inner.check_names(name, [name], UNIT_FACTS)
            found[name] = inner.texts(name, UNIT_FACTS.get(name), required=True)
        return found

    def table(self, key: str) -> Table:
        """Return an inner table, empty when absent."""
        value = self.take(key, {})
        if not isinstance(value, Mapping):
            self.complain(key, value, "a table")
            value = {}
        return Table(f"{self.where}.{key}", value, self.problems)

    def rows(self, key: str, name: str = "id") -> list[Table]:
        """Return an array of tables, each named in messages by its ``name`` key.

        key: key of this table. name: key whose value names a row.
        """
        value = self.take(key, [])
        if not isinstance(value, list) or not all(isinstance(row, Mapping) for row in value):
            self.complain(key, value, f"an array of tables [[{key}]]")
            return []
        return [
            Table(f"{self.where} {key} {row.get(name, number + 1)}", row, self.problems)
            for number, row in enumerate(value)
        ]

    def names(self) -> tuple[str, ...]:
        """Return the keys of this table in the order of the file."""
        return tuple(self._data)

    def check_names(self, key: str, names: Iterable[str], known: Iterable[str]) -> None:
        """Keep a problem for each of ``names`` that is not ``known``, with near names.

        key: for the message. names: to be checked. known: the words allowed.
        """
        words = tuple(known)
        for name in names:
            if name not in words:
                near = near_names(name, sorted(words))
                advice = f"Did you mean {' or '.join(near)}?" if near else _MEND
                self.complain(key, name, ", ".join(words) or "nothing", advice)

    def finish(self) -> None:
        """Keep a problem for every key nobody asked for."""
        for key in self._data:
            if key not in self._taken:
                known = ", ".join(sorted(self._taken))
                self.complain(key, self._data[key], known, "Unknown key: check its spelling.")
