"""Where entries disagree: one claim stated differently at one setting, or one setting left twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bench.core.claims import Claim, stated_by
from bench.core.entries import Entry, Mounted, SettingTaken


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Entries that state different things of one claim; `setting` is None for claims of the whole case."""

    claim: Claim
    setting: str | None
    entries: tuple[Entry, ...]

    @property
    def key(self) -> str:
        """A stable name for the contradiction."""
        return "|".join(str(part) for part in (*self.claim, self.setting or ""))


def contradictions_in(
    standing: Iterable[Entry], held_at: Mapping[str, frozenset[str]]
) -> tuple[Contradiction, ...]:
    """Return every contradiction among standing entries.

    `held_at` names for each finding the settings at which it was made or confirmed.
    """
    entries = tuple(standing)
    return (*_of_claims(entries, held_at), *_of_settings(entries))


def _of_claims(
    entries: tuple[Entry, ...], held_at: Mapping[str, frozenset[str]]
) -> list[Contradiction]:
    said: defaultdict[tuple[Claim, str | None], list[tuple[Entry, object]]] = defaultdict(list)
    for entry in entries:
        for claim, value in stated_by(entry):
            for setting in sorted(held_at.get(entry.id, ())) or (None,):
                said[claim, setting].append((entry, value))
    return [
        Contradiction(claim, setting, tuple(entry for entry, _ in pairs))
        for (claim, setting), pairs in said.items()
        if any(value != pairs[0][1] for _, value in pairs)
    ]


def _of_settings(entries: tuple[Entry, ...]) -> list[Contradiction]:
    left: defaultdict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if isinstance(entry.body, (SettingTaken, Mounted)):
            left[entry.setting or ""].append(entry)
    return [
        Contradiction(("settings",), before or None, tuple(after))
        for before, after in left.items()
        if len(after) > 1
    ]
