"""Which entries stand: an entry falls when one that stands withdraws or supersedes it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from bench.core.entries import Entry, Withdrawn

Ids = Mapping[str, set[str]]


def put_aside(entries: Iterable[Entry]) -> Mapping[str, Entry]:
    """Return, for each entry that does not stand, the entry that put it aside.

    Taking back a withdrawal or a correction makes the earlier entry stand again. Entries that speak
    against each other in a ring all stand, and so does what only they speak against. The answer does
    not depend on the order of the entries; of several that put one aside the earliest id is named.
    """
    by_id = {entry.id: entry for entry in entries}
    against: defaultdict[str, set[str]] = defaultdict(set)
    for entry in by_id.values():
        for target in _targets(entry):
            if target in by_id and target != entry.id:
                against[target].add(entry.id)
    standing, fallen = _settled(by_id, against)
    return {key: by_id[min(against[key] & standing)] for key in fallen}


def _targets(entry: Entry) -> tuple[str, ...]:
    body = entry.body
    return (*entry.supersedes, body.entry) if isinstance(body, Withdrawn) else entry.supersedes


def _settled(by_id: Iterable[str], against: Ids) -> tuple[set[str], set[str]]:
    """Settle the entries from those nothing speaks against downward; rings stay out of both sets."""
    unsettled = {key: len(against.get(key, ())) for key in by_id}
    speaks = _turned(against)
    ready = [key for key, count in unsettled.items() if not count]
    standing, fallen = set(ready), set[str]()
    while ready:
        for target in speaks.get(ready.pop(), set()) - fallen:
            fallen.add(target)
            for freed in speaks.get(target, set()) - fallen:
                unsettled[freed] -= 1
                if not unsettled[freed]:
                    standing.add(freed)
                    ready.append(freed)
    return standing, fallen


def _turned(against: Ids) -> Ids:
    speaks: defaultdict[str, set[str]] = defaultdict(set)
    for target, speakers in against.items():
        for speaker in speakers:
            speaks[speaker].add(target)
    return speaks
