"""Statements a bench makes of invented cases, and what a store holds: for the tests of the store."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from bench.core.entries import (
    CaseOpened,
    CastReceived,
    Draft,
    Entry,
    Mounted,
    PersonAdded,
    PolicySet,
    TeethRecorded,
    UndercutRead,
)
from bench.core.ids import case_code, entry_id
from bench.core.wire import canonical
from bench.store.integrity import Report, check
from bench.store.log import Log
from bench.store.open import Store, open_store
from tests import strategies

NOW_MS = 1_700_000_000_000
CODE = case_code(1)
KEY = entry_id(NOW_MS, 5)

_dice = random.Random(7)


def bits() -> int:
    """Return the random part of an entry id, the same ones in every run."""
    return _dice.getrandbits(74)


def record(
    log: Log, *drafts: Draft, now_ms: int = NOW_MS, **also: Callable[..., None]
) -> tuple[Entry, ...]:
    """Record drafts at the tests' hour."""
    return log.record(drafts, now_ms=now_ms, random_bits=bits, **also)


def opening(number: int = 1, person: str = "AB") -> list[Draft]:
    """Return what is said of a new lower case: opened, received, its teeth, mounted."""
    code = case_code(number)
    said = (
        CaseOpened(code, f"25-{number:04d}", "lower", "master"), CastReceived("sound"),
        TeethRecorded((45, 46, 35, 36), (45, 46, 35, 36)), Mounted(),
    )  # fmt: skip
    return [Draft(body, person, code) for body in said]


def reading(setting: str, tooth: int = 34, number: int = 1, key: str | None = None) -> Draft:
    """Return an undercut reading of a case at a setting."""
    body = UndercutRead(tooth, "MB", 0.25, "both", 2.0)
    return Draft(body, "AB", case_code(number), setting, entry_id=key)


def tablet_chain(count: int, device: str = "tablet-1", number: int = 1) -> list[bytes]:
    """Return the bytes of a tablet's chain of readings."""
    setting = entry_id(NOW_MS, number)
    said = [reading(setting, number=number) for _ in range(count)]
    return [stored for _, stored in strategies.chained(device, said)]


def remade(stored: bytes, **changes: object) -> bytes:
    """Return stored bytes with some of their fields changed, in canonical form."""
    return canonical({**json.loads(stored), **changes})


def policy(item: str = "R6", value: str = "blocks") -> Draft:
    """Return a change of the lab's policy."""
    return Draft(PolicySet(item, value), "SV", reason="the lab agreed")


def person(initials: str = "AB") -> Draft:
    """Return the statement that somebody joins the lab."""
    return Draft(PersonAdded(initials, "technician"), initials)


def rows(store: Store, table: str) -> list[tuple[object, ...]]:
    """Return the rows of a table in a fixed order."""
    return sorted(store.db.conn.execute(f"SELECT * FROM {table}").fetchall())


def board_rows(store: Store) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of the read models."""
    tables = ("case_summaries", "case_teeth", "case_people", "case_words")
    counts = store.db.conn.execute("SELECT * FROM case_counts WHERE cases <> 0 ORDER BY 1, 2")
    return {**{table: rows(store, table) for table in tables}, "case_counts": counts.fetchall()}


def checked(folder: Path) -> Report:
    """Return the integrity report of the logbook in a folder, opened anew."""
    with opened(folder) as store:
        return check(store)


@contextmanager
def opened(folder: Path) -> Iterator[Store]:
    """Open the logbook of a folder for a while."""
    store = open_store(folder)
    try:
        yield store
    finally:
        store.close()


def said_by(entries: tuple[Entry, ...]) -> list[Entry]:
    """Return entries without what their place in a chain adds."""
    return [replace(entry, seq=0, prev="", digest="") for entry in entries]
