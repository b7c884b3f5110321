"""What became of every entry: stands, corrected, withdrawn, redacted, cannot be read, in quarantine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from holdcold.calls.entries.entry import Entry
from holdcold.calls.entries.kinds import KINDS
from holdcold.calls.entries.merge import Log
from holdcold.calls.entries.order import corrected_s, ordered
from holdcold.calls.entries.validate import body_of, form_of, problems_of
from holdcold.diagnosis.catalogue import Catalogue
from holdcold.errors import InputError

Status = Literal["stands", "corrected", "withdrawn", "redacted", "unreadable", "not_known", "quarantined"]
"""``not_known``: of a kind or version that this release does not know, kept as it is."""

_SAYS: Final = {"stands", "corrected", "withdrawn"}


@dataclass(frozen=True)
class Item:
    """One entry with what became of it.

    status: see ``Status``. body: the document, empty where nothing can be read. at_s: corrected time it
    was made [s since 1970]. fact_s: time of the entry it goes back to through corrections [s since 1970].
    root: id of that entry. corrected_by: ids of the entries that correct or withdraw it, in order.
    rivals: ids of others that correct the same entry; all are shown, the last one counts.
    counts: whether views take it as a fact. problems: what is wrong with it.
    """

    entry: Entry
    status: Status
    body: Mapping[str, Any]
    at_s: float
    fact_s: float
    root: str
    corrected_by: tuple[str, ...] = ()
    rivals: tuple[str, ...] = ()
    counts: bool = False
    problems: tuple[InputError, ...] = ()


@dataclass(frozen=True)
class Story:
    """Every entry of a log with what became of it, in causal order; those in quarantine come last."""

    items: tuple[Item, ...]

    def facts(self, *kinds: str) -> tuple[Item, ...]:
        """Return what counts, in the order of the facts; kinds: only these, or all."""
        found = [item for item in self.items if item.counts and (not kinds or item.entry.kind in kinds)]
        place = {item.entry.id: number for number, item in enumerate(self.items)}
        return tuple(sorted(found, key=lambda item: place[item.root]))

    def shown(self, *statuses: Status) -> tuple[Item, ...]:
        """Return the items with one of these statuses."""
        return tuple(item for item in self.items if item.status in statuses)


def story(log: Log, catalogue: Catalogue) -> Story:
    """Return what became of every entry of one call's log; catalogue: the names that exist.

    A correction counts where it names an entry of its own call and kind (a withdrawal: of any kind but
    amounts) that lies before it and that can be read. Until that entry arrives, it stands by itself.
    """
    entries = ordered(log)
    read = {entry.id: _read(entry, catalogue) for entry in entries}
    links = _Links(entries, {id_: found[0] for id_, found in read.items()})
    items = []
    for entry in entries:
        status, body, problems = read[entry.id]
        wrong = links.wrong(entry)
        root = links.root(entry.id)
        leaves = links.leaves(root)
        items.append(
            Item(
                entry,
                links.status(entry.id, status),
                body,
                corrected_s(entry, log.offsets),
                corrected_s(links.by_id[root], log.offsets),
                root,
                links.corrections.get(entry.id, ()),
                tuple(id_ for id_ in leaves if id_ != entry.id) if entry.id in leaves else (),
                status == "stands" and entry.id == leaves[-1] and entry.kind != "withdrawal",
                (*problems, *wrong),
            )
        )
    return Story((*items, *_in_quarantine(log)))


def _read(entry: Entry, catalogue: Catalogue) -> tuple[Status, Mapping[str, Any], tuple[InputError, ...]]:
    """Return status by itself, body, and problems of one entry."""
    if entry.body is None:
        return "redacted", {}, ()
    if form_of(entry) is None:
        return "not_known", {}, ()
    problems = problems_of(entry, catalogue)
    if problems:
        return "unreadable", {}, problems
    return "stands", body_of(entry), ()


def _in_quarantine(log: Log) -> Iterator[Item]:
    for entry in log.quarantined:
        advice = "Two entries have one id: compare both, and enter what is right as a new entry."
        problem = InputError("id", entry.id, "an id that is not taken", advice)
        at_s = corrected_s(entry, log.offsets)
        yield Item(entry, "quarantined", {}, at_s, at_s, entry.id, problems=(problem,))


class _Links:
    """Who corrects whom, among entries in order."""

    def __init__(self, entries: tuple[Entry, ...], statuses: Mapping[str, Status]) -> None:
        self.by_id = {entry.id: entry for entry in entries}
        self._place = {entry.id: number for number, entry in enumerate(entries)}
        self._statuses = statuses
        self.corrections: dict[str, tuple[str, ...]] = {}
        for entry in entries:
            if self._corrects(entry):
                known = self.corrections.get(entry.corrects, ())
                self.corrections[entry.corrects] = (*known, entry.id)

    def _corrects(self, entry: Entry) -> bool:
        """A correction that was redacted, or that only a newer release can read, still says: not so."""
        if entry.corrects not in self.by_id or self._statuses[entry.id] == "unreadable":
            return False
        return not self.wrong(entry)

    def wrong(self, entry: Entry) -> tuple[InputError, ...]:
        """Return why the entry named by ``corrects`` or ``redacts`` cannot be meant."""
        problems = []
        target = self.by_id.get(entry.corrects)
        if target is not None:
            kind = KINDS.get(target.kind)
            withdraws = entry.kind == "withdrawal" and target.kind not in {"withdrawal", "redaction"}
            amounts = kind is not None and kind.amounts
            alike = target.kind == entry.kind or withdraws
            later = self._place[target.id] < self._place[entry.id]
            if target.call != entry.call or amounts or not alike or not later:
                advice = "Name an earlier entry of the same kind and call; amounts are only reversed."
                problems.append(InputError("corrects", entry.corrects, "an entry it can correct", advice))
        named = self.by_id.get(entry.redacts)
        if named is not None and (named.call != entry.call or named.body is not None):
            advice = "Amounts, redactions and entries of other calls are not redacted."
            problems.append(InputError("redacts", entry.redacts, "an entry that may be redacted", advice))
        return tuple(problems)

    def root(self, id_: str) -> str:
        """Return the entry that an entry goes back to."""
        while self._corrects(self.by_id[id_]):
            id_ = self.by_id[id_].corrects
        return id_

    def leaves(self, root: str) -> tuple[str, ...]:
        """Return what stands for an entry: its corrections that nothing corrects, or itself; in order."""
        found, waiting = [], [root]
        while waiting:
            id_ = waiting.pop()
            waiting.extend(self.corrections.get(id_, ()))
            if id_ not in self.corrections:
                found.append(id_)
        return tuple(sorted(found, key=self._place.__getitem__))

    def status(self, id_: str, own: Status) -> Status:
        """Return the status of an entry, corrections of it included."""
        by = self.corrections.get(id_, ())
        if own not in _SAYS or not by:
            return own
        return "withdrawn" if self.by_id[by[-1]].kind == "withdrawal" else "corrected"
