"""Units, every version of their cards, and the calls on them."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import and_, insert, select, update

from holdcold.calls.entries import Log, is_uuid7, sha256_text
from holdcold.errors import InputError, InputErrors
from holdcold.store.rows import call_log
from holdcold.store.shop import Store
from holdcold.store.tables import CALLS, CARDS, UNITS

_MOST_NAME = 200
_MOST_CARD = 256 * 1024


@dataclass(frozen=True, slots=True)
class CardVersion:
    """One version of a card: hash of its text, who wrote it, when (by the clock of the device)."""

    sha256: str
    author: str
    at: str


@dataclass(frozen=True)
class UnitRow:
    """A unit in a list: id, name, versions of its card, the newest last."""

    id: str
    name: str
    cards: tuple[CardVersion, ...]


@dataclass(frozen=True, slots=True)
class CallRow:
    """A call in a list: id, unit (may be empty), name, state, start [s since 1970]."""

    id: str
    unit: str
    name: str
    state: str
    opened_s: float


def put_unit(store: Store, shop: str, unit: str, name: str) -> None:
    """Add a unit or give it a new name; shop: its shop; unit: id made on the device.

    Raises InputErrors for an id or a name that is none.
    """
    problems = []
    if not is_uuid7(unit):
        problems.append(InputError("unit", unit, "a UUID of version 7", "Make it on the device."))
    if not name.strip() or len(name) > _MOST_NAME or not name.isprintable():
        words = f"1 to {_MOST_NAME} printable characters"
        problems.append(InputError("name", name, words, "Say how people call the unit."))
    if problems:
        raise InputErrors(problems)
    mine = and_(UNITS.c.shop == shop, UNITS.c.id == unit)
    with store.database.writing() as connection:
        if connection.execute(select(UNITS.c.id).where(mine)).first() is None:
            row = {"shop": shop, "id": unit, "name": name, "made_at": store.stamp()}
            connection.execute(insert(UNITS).values(row))
        else:
            connection.execute(update(UNITS).where(mine).values(name=name))


def put_card(store: Store, shop: str, unit: str, text: str, author: str, at: str) -> str:
    """Add a version of a unit's card and return its hash; the same text again changes nothing.

    shop, unit: ids. text: of the card. author, at: who wrote it, when.
    Raises InputErrors for a unit that is not there, or a text that cannot be kept. What the card says is
    not judged here: a half-filled card is kept too.
    """
    problems = []
    if "\0" in text or len(text.encode("utf-8", "replace")) > _MOST_CARD:
        problems.append(InputError("text", text[:40], f"text up to {_MOST_CARD} bytes", "Shorten the card."))
    mine = and_(CARDS.c.shop == shop, CARDS.c.unit == unit)
    with store.database.writing() as connection:
        here = select(UNITS.c.id).where(UNITS.c.shop == shop, UNITS.c.id == unit)
        if connection.execute(here).first() is None:
            problems.append(InputError("unit", unit, "a unit of this shop", "Add the unit first."))
        if problems:
            raise InputErrors(problems)
        sha256 = sha256_text(text.encode("utf-8"))
        if connection.execute(select(CARDS.c.sha256).where(mine, CARDS.c.sha256 == sha256)).first() is None:
            told = {"text": text, "author": author, "at": at}
            connection.execute(insert(CARDS).values(shop=shop, unit=unit, sha256=sha256, **told))
    return sha256


def units(store: Store, shop: str) -> list[UnitRow]:
    """Return the units of a shop by name; shop: its id."""
    with store.database.reading() as connection:
        named = connection.execute(select(UNITS.c.id, UNITS.c.name).where(UNITS.c.shop == shop)).all()
        versions = connection.execute(
            select(CARDS.c.unit, CARDS.c.sha256, CARDS.c.author, CARDS.c.at).where(CARDS.c.shop == shop)
        ).all()
    by_unit: dict[str, list[CardVersion]] = {}
    for unit, sha256, author, at in versions:
        by_unit.setdefault(unit, []).append(CardVersion(sha256, author, at))
    return sorted(
        (UnitRow(id_, name, tuple(_by_time(by_unit.get(id_, [])))) for id_, name in named),
        key=lambda row: (row.name, row.id),
    )


def _by_time(versions: list[CardVersion]) -> list[CardVersion]:
    return sorted(versions, key=lambda version: (version.at, version.sha256))


def card_text(store: Store, shop: str, unit: str, sha256: str) -> str | None:
    """Return the text of one version of a card, or None; shop, unit, sha256: which."""
    mine = and_(CARDS.c.shop == shop, CARDS.c.unit == unit, CARDS.c.sha256 == sha256)
    with store.database.reading() as connection:
        text = connection.execute(select(CARDS.c.text).where(mine)).scalar()
    return None if text is None else str(text)


def calls(store: Store, shop: str, unit: str = "") -> list[CallRow]:
    """Return the calls of a shop, or those on one unit, the newest first; shop, unit: ids."""
    where = CALLS.c.shop == shop
    if unit:
        where = and_(where, CALLS.c.unit == unit)
    columns = (CALLS.c.id, CALLS.c.unit, CALLS.c.name, CALLS.c.state, CALLS.c.opened_s)
    page = select(*columns).where(where).order_by(CALLS.c.opened_s.desc(), CALLS.c.id)
    with store.database.reading() as connection:
        return [CallRow(*row) for row in connection.execute(page)]


def log_of_call(store: Store, shop: str, call: str) -> Log:
    """Return everything there is of one call; shop, call: their ids."""
    with store.database.reading() as connection:
        return call_log(connection, shop, call)
