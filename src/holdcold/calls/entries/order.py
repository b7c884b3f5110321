"""The order of entries: what a device had seen comes first, then corrected clocks, then the id.

Clocks of two phones may be an hour apart; what one person had on the screen when entering the next fact is
never in doubt. The order is the same for any order of delivery, and where a faulty device claims to have
seen the future the contradiction is cut at the earliest time, the same way everywhere.
"""

from __future__ import annotations

import heapq
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from holdcold.calls.entries.entry import Entry
from holdcold.calls.entries.merge import ClockOffset, Log

Key = tuple[float, str]


def corrected_s(entry: Entry, offsets: Mapping[str, ClockOffset]) -> float:
    """Return when an entry was made [s since 1970, UTC], by the shop's clock where an offset is known.

    offsets: by device.
    """
    offset = offsets.get(entry.device)
    return entry.seconds + (0.0 if offset is None else offset.seconds)


def ordered(log: Log) -> tuple[Entry, ...]:
    """Return the standing entries of a log in their order."""
    entries = log.standing
    keys = [(corrected_s(entry, log.offsets), entry.id) for entry in entries]
    after: list[list[int]] = [[] for _ in entries]
    waits = [0] * len(entries)
    for earlier, later in _edges(entries):
        after[earlier].append(later)
        waits[later] += 1
    return tuple(entries[number] for number in _sorted(keys, after, waits))


def _edges(entries: Sequence[Entry]) -> Iterator[tuple[int, int]]:
    """Yield (earlier, later) positions: one device's counters, what it had seen, what an entry speaks of."""
    groups = _by_counter(entries)
    place = {entry.id: number for number, entry in enumerate(entries)}
    for counters in groups.values():
        for first, second in pairwise(sorted(counters)):
            yield from ((a, b) for a in counters[first] for b in counters[second])
    counted = {device: sorted(counters) for device, counters in groups.items()}
    for number, entry in enumerate(entries):
        for device, last in entry.seen.items():
            known = counted.get(device, [])
            found = bisect_right(known, last)
            if found and device != entry.device:
                yield from ((earlier, number) for earlier in groups[device][known[found - 1]])
        for named in (entry.corrects, entry.redacts):
            if named in place and named != entry.id:
                yield place[named], number


def _by_counter(entries: Sequence[Entry]) -> dict[str, dict[int, list[int]]]:
    """Return positions by device and counter; a device set back to an old copy may use a counter twice."""
    groups: dict[str, dict[int, list[int]]] = {}
    for number, entry in enumerate(entries):
        groups.setdefault(entry.device, {}).setdefault(entry.counter, []).append(number)
    return groups


def _sorted(keys: Sequence[Key], after: Sequence[Sequence[int]], waits: list[int]) -> Iterator[int]:
    """Yield positions so that nothing comes before what it waits for, the smallest key first."""
    ready = [(key, number) for number, key in enumerate(keys) if waits[number] == 0]
    heapq.heapify(ready)
    by_key = iter(sorted((key, number) for number, key in enumerate(keys)))
    done = [False] * len(keys)
    for _ in keys:
        if ready:
            number = heapq.heappop(ready)[1]
        else:
            number = next(number for _, number in by_key if not done[number])
        done[number] = True
        yield number
        for later in after[number]:
            waits[later] -= 1
            if waits[later] == 0 and not done[later]:
                heapq.heappush(ready, (keys[later], later))
