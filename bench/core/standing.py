"""Which entries stand: an entry falls when it is withdrawn, or superseded by one that is not withdrawn."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from bench.core.entries import Entry, Withdrawn

# An entry counts in two ways: it stands, or it merely has a voice. A correction that was corrected
# itself no longer stands, yet the entry it replaced stays replaced: only a withdrawal takes its voice.
Part = tuple[str, bool]
Parts = Mapping[Part, set[Part]]
_STANDS, _HAS_VOICE = True, False


def put_aside(entries: Iterable[Entry]) -> Mapping[str, Entry]:
    """Return, for each entry that does not stand, the entry that put it aside.

    Taking back a withdrawal or a correction makes the earlier entry stand again; correcting a
    correction does not. Withdrawals that speak against each other in a ring all stand. The answer
    does not depend on the order of the entries; of several that put one aside the earliest id is named.
    """
    by_id = {entry.id: entry for entry in entries}
    against: defaultdict[Part, set[Part]] = defaultdict(set)
    for entry in by_id.values():
        _speak(entry, against)
    known = {part: found for part, found in against.items() if part[0] in by_id}
    parts = [(key, way) for key in by_id for way in (_STANDS, _HAS_VOICE)]
    holding, fallen = _settled(parts, known)
    return {
        key: by_id[min(part[0] for part in known[key, way] & holding)]
        for key, way in fallen
        if way is _STANDS
    }


def _speak(entry: Entry, against: defaultdict[Part, set[Part]]) -> None:
    """Note what an entry speaks against, and with which part of itself."""
    for target in entry.supersedes:
        if target != entry.id:
            against[target, _STANDS].add((entry.id, _HAS_VOICE))
    body = entry.body
    if isinstance(body, Withdrawn) and body.entry != entry.id:
        against[body.entry, _STANDS].add((entry.id, _STANDS))
        against[body.entry, _HAS_VOICE].add((entry.id, _STANDS))


def _settled(parts: Iterable[Part], against: Parts) -> tuple[set[Part], set[Part]]:
    """Settle the parts from those nothing speaks against downward; rings stay out of both sets."""
    unsettled = {part: len(against.get(part, ())) for part in parts}
    speaks = _turned(against)
    ready = [part for part, count in unsettled.items() if not count]
    holding, fallen = set(ready), set[Part]()
    while ready:
        for target in speaks.get(ready.pop(), set()) - fallen:
            fallen.add(target)
            for freed in speaks.get(target, set()) - fallen:
                unsettled[freed] -= 1
                if not unsettled[freed]:
                    holding.add(freed)
                    ready.append(freed)
    return holding, fallen


def _turned(against: Parts) -> Parts:
    speaks: defaultdict[Part, set[Part]] = defaultdict(set)
    for target, speakers in against.items():
        for speaker in speakers:
            speaks[speaker].add(target)
    return speaks
