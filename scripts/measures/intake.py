"""Entries a second through `append` in batches of 500, beside bare sqlite3 into the same table."""

from __future__ import annotations

import sqlite3
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from bench.core.entries import CaseOpened, Draft, Mounted, UndercutRead, sealed
from bench.core.ids import case_code, entry_id
from bench.core.wire import seal
from bench.store.log import Log
from bench.store.open import open_store
from measures.row import Row
from measures.served import Bench

ENTRIES, BATCH, CASES = 20_000, 500, 400
START_MS = 1_773_043_200_000
AT = "2026-03-09T08:00:00.000Z"
BARE = (
    "INSERT INTO entries (position, id, device, device_seq, kind, case_code, setting_id, person, at, "
    "prev, digest, bytes, received_at, arrival) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)


def rows(bench: Bench) -> Iterator[Row]:
    """Measure the intake, then the bare insert of the very same rows."""
    chain = made_chain()
    stored = [made for _, made in chain]
    with tempfile.TemporaryDirectory() as folder:
        ours = _append_rate(Path(folder) / "ours", stored)
        bare = _bare_rate(Path(folder) / "bare", chain)
    yield Row("append, batches of 500, chains checked, FULL sync", ours, "entries/s", ">= 0.15 of bare",
              f"bare sqlite3 executemany, same table, triggers and sync: {bare:,.0f}/s, "
              f"ratio {ours / bare:.2f}")  # fmt: skip


def made_chain() -> list[tuple[object, bytes]]:
    """Return one tablet's chain of entries over some hundred cases."""
    chain, prev = [], ""
    mounted: dict[str, str] = {}
    for n in range(ENTRIES):
        code = case_code(n * CASES // ENTRIES)
        key = entry_id(START_MS + n, n)
        draft = _draft(code, mounted, key, n)
        entry, stored = seal(
            sealed(draft, entry_id=key, device="tablet-measured", at=AT, seq=n + 1, prev=prev)
        )
        prev = entry.digest
        chain.append((entry, stored))
    return chain


def _draft(code: str, mounted: dict[str, str], key: str, n: int) -> Draft:
    if code not in mounted:
        mounted[code] = ""
        return Draft(CaseOpened(code, f"26-{n % 10_000:04d}", "lower", "master"), "AM", case=code)
    if not mounted[code]:
        mounted[code] = key
        return Draft(Mounted("S1", "T1"), "AM", case=code)
    tooth = (34, 35, 44, 45, 37, 47)[n % 6]
    body = UndercutRead(tooth, ("MB", "DB", "ML", "DL")[n % 4], 0.25, "both", 1.0 + n % 40 * 0.05)
    return Draft(body, "AM", case=code, setting=mounted[code])


def _append_rate(folder: Path, stored: list[bytes]) -> float:
    store = open_store(folder)
    log = Log(store)
    begun = time.perf_counter()
    for start in range(0, len(stored), BATCH):
        receipts = log.append(stored[start : start + BATCH])
        assert all(receipt.verdict == "stored" for receipt in receipts)
    taken = time.perf_counter() - begun
    store.close()
    return len(stored) / taken


def _bare_rate(folder: Path, chain: list[tuple[object, bytes]]) -> float:
    store = open_store(folder)
    path = store.path
    store.close()
    conn = sqlite3.connect(path, isolation_level=None)
    conn.execute("PRAGMA synchronous = FULL")
    table = [_row(n, entry, stored) for n, (entry, stored) in enumerate(chain, start=1)]
    begun = time.perf_counter()
    for start in range(0, len(table), BATCH):
        conn.execute("BEGIN IMMEDIATE")
        conn.executemany(BARE, table[start : start + BATCH])
        conn.execute("COMMIT")
    taken = time.perf_counter() - begun
    conn.close()
    return len(table) / taken


def _row(position: int, e: object, stored: bytes) -> tuple[object, ...]:
    return (
        position, e.id, e.device, e.seq, e.kind, e.case, e.setting, e.person, e.at, e.prev,  # type: ignore[attr-defined]
        e.digest, stored, AT, "0" * 64,  # type: ignore[attr-defined]
    )  # fmt: skip
