"""Whose name stands under what a tablet could not ask the PIN for: open until that person confirms it."""

from __future__ import annotations

from collections.abc import Iterable

from bench.core.bounds import BadEntry
from bench.core.entries import Entry, PersonConfirmed, PersonUnconfirmed


def unconfirmed_in(entries: Iterable[Entry], standing: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return the standing entries whose person a tablet could not make sure of and has not confirmed them since.

    The note counts also when it was taken back: nobody but the person named can clear it. `entries`
    are all of a case, or of the lab.
    """
    noted: set[str] = set()
    confirmed: set[tuple[str, str]] = set()
    for entry in entries:
        if isinstance(entry.body, PersonUnconfirmed):
            noted.update(entry.body.entries)
        elif isinstance(entry.body, PersonConfirmed):
            confirmed.update((entry.person, key) for key in entry.body.entries)
    return tuple(
        entry for entry in standing
        if entry.id in noted and (entry.person, entry.id) not in confirmed
    )  # fmt: skip


def check_confirmed(person: str, body: PersonConfirmed, unconfirmed: Iterable[Entry]) -> None:
    """Refuse a confirmation of what is not noted of the person themself; raise BadEntry."""
    open_ones = {entry.id for entry in unconfirmed if entry.person == person}
    for key in body.entries:
        if key not in open_ones:
            raise BadEntry("entries", "nothing_to_confirm", value=key)
