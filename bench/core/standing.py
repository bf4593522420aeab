"""Which entries stand: an entry falls when one that stands withdraws or supersedes it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from bench.core.entries import Entry, Withdrawn


def put_aside(entries: Iterable[Entry]) -> Mapping[str, Entry]:
    """Return, for each entry that does not stand, the entry that put it aside.

    Taking back a withdrawal or a correction makes the earlier entry stand again. The answer does not
    depend on the order of the entries; of several that put one aside the earliest id is named.
    """
    ordered = sorted(entries, key=lambda entry: entry.id)
    against: dict[str, list[Entry]] = {}
    for entry in ordered:
        for target in _targets(entry):
            if target != entry.id:
                against.setdefault(target, []).append(entry)
    return _fallen(ordered, against)


def _targets(entry: Entry) -> tuple[str, ...]:
    body = entry.body
    return (*entry.supersedes, body.entry) if isinstance(body, Withdrawn) else entry.supersedes


def _fallen(ordered: list[Entry], against: Mapping[str, list[Entry]]) -> dict[str, Entry]:
    """Settle the entries from those nothing speaks against downward; rings of entries all stand."""
    settled: dict[str, Entry | None] = {}
    for root in ordered:
        path = [root]
        while path:
            entry = path[-1]
            waiting = _unsettled(against.get(entry.id, ()), settled, path)
            if waiting is not None:
                path.append(waiting)
                continue
            speakers = against.get(entry.id, ())
            settled[entry.id] = next(
                (one for one in speakers if settled.get(one.id, one) is None), None
            )
            path.pop()
    return {key: by for key, by in settled.items() if by is not None}


def _unsettled(
    speakers: Iterable[Entry], settled: Mapping[str, Entry | None], path: list[Entry]
) -> Entry | None:
    on_path = {entry.id for entry in path}
    return next((one for one in speakers if one.id not in settled and one.id not in on_path), None)
