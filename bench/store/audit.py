"""What the audit asks of the log: sums of groups, the newest of a run, the entries of a figure."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TypeVar

from bench.core.audit.samples import CaliperReading, GaugeReading, Remount
from bench.core.audit.selection import Selection, Side
from bench.core.audit.sums import Sums
from bench.core.entries import Entry
from bench.store import audittables as tables
from bench.store.auditsums import COLUMN, condition, sums_by, sums_of_casts
from bench.store.reading import Reading

_BESIDE = (
    "SELECT id FROM entries WHERE case_code IS NULL AND kind = ? ORDER BY position DESC LIMIT ?"
)
# What two readings share that repeat each other: of one person asked for, theirs and those beside them.
_REPEATED_WITH = {"audit_gauges": "code, setting, tooth, surface, gauge", "audit_calipers": "marks"}
_CHUNK = 500
MOST_KEPT = 200

Made = TypeVar("Made")


class Audit:
    """The audit's tables as its pages read them."""

    def __init__(self, reading: Reading) -> None:
        self._reading = reading
        self._made: dict[tuple[int, Hashable], Any] = {}

    @property
    def _conn(self) -> sqlite3.Connection:
        return self._reading.store.db.conn

    def version(self) -> int:
        """Return a number that grows whenever a sample comes, changes or goes; fill the tables first."""
        filled, version = tables.state(self._conn)
        if not filled:
            self.rebuild()
            version = tables.state(self._conn)[1]
        return version

    def once(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Return what `make` works out from the tables, worked out anew only when they changed.

        `key` tells it apart from everything else that is worked out.
        """
        # Read before the work: what comes in meanwhile has another version and is not missed.
        whole = (self.version(), key)
        made = self._made
        if whole not in made:
            still = {one: found for one, found in made.items() if one[0] == whole[0]}
            made = {**(still if len(still) < MOST_KEPT else {}), whole: make()}
            self._made = made
        found: Made = made[whole]
        return found

    def rebuild(self) -> None:
        """Drop the tables and make them anew from the entries, in one transaction."""
        with self._reading.store.writing() as conn:
            tables.empty(conn)
            for code in self._reading.codes():
                tables.renew(conn, self._reading.case(code))
            tables.mark_filled(conn)

    def cells(self, selection: Selection, *sides: Side) -> dict[tuple[str, ...], Sums]:
        """Return the sums of a selection for each combination of the sides given that occurs."""
        return sums_by(self._conn, selection, sides)

    def busiest_casts(self, selection: Selection, most: int) -> list[str]:
        """Return the casts with the most re-mounts, alphabetical among those with as many."""
        where, params = _where(selection)
        sql = (
            f"SELECT code FROM audit_remounts WHERE {where} "
            "GROUP BY code ORDER BY count(*) DESC, code LIMIT ?"
        )
        return [row[0] for row in self._conn.execute(sql, (*params, most))]

    def cells_of_casts(
        self, selection: Selection, codes: Sequence[str]
    ) -> dict[tuple[str, ...], Sums]:
        """Return the sums of some casts by cast and technician."""
        return sums_of_casts(self._conn, selection, codes)

    def newest(self, selection: Selection, most: int) -> list[Remount]:
        """Return the newest re-mounts of a selection, oldest of them first."""
        where, params = _where(selection)
        sql = f"SELECT * FROM audit_remounts WHERE {where} ORDER BY entry DESC LIMIT ?"
        rows = self._conn.execute(sql, (*params, most)).fetchall()
        return [tables.remount_from(row) for row in reversed(rows)]

    def page(self, selection: Selection, limit: int, offset: int) -> list[Remount]:
        """Return re-mounts of a selection, the newest first."""
        where, params = _where(selection)
        sql = f"SELECT * FROM audit_remounts WHERE {where} ORDER BY entry DESC LIMIT ? OFFSET ?"
        return [tables.remount_from(r) for r in self._conn.execute(sql, (*params, limit, offset))]

    def every(self, selection: Selection) -> Iterator[Remount]:
        """Yield the re-mounts of a selection in order of their ids."""
        where, params = _where(selection)
        rows = self._conn.execute(
            f"SELECT * FROM audit_remounts WHERE {where} ORDER BY entry", params
        )
        return map(tables.remount_from, rows)

    def ids(self, selection: Selection) -> Iterator[str]:
        """Yield the ids of the re-mounts of a selection, in order."""
        where, params = _where(selection)
        sql = f"SELECT entry FROM audit_remounts WHERE {where} ORDER BY entry"
        return (row[0] for row in self._conn.execute(sql, params))

    def casts(self, selection: Selection) -> Iterator[tuple[str, int]]:
        """Yield the casts of a selection with how many re-mounts each has, in order of their codes."""
        where, params = _where(selection)
        sql = f"SELECT code, count(*) FROM audit_remounts WHERE {where} GROUP BY code ORDER BY code"
        return ((row[0], int(row[1])) for row in self._conn.execute(sql, params))

    @contextmanager
    def at_once(self) -> Iterator[None]:
        """Let everything read inside be of one moment, whatever is recorded meanwhile.

        A figure and the ids behind it, read one after the other, would else not fit each other.
        """
        conn = self._conn
        conn.execute("BEGIN")
        try:
            yield
        finally:
            if conn.in_transaction:
                conn.execute("ROLLBACK")

    def count(self, selection: Selection) -> int:
        """Return how many re-mounts a selection holds."""
        where, params = _where(selection)
        sql = f"SELECT count(*) FROM audit_remounts WHERE {where}"
        return int(self._conn.execute(sql, params).fetchone()[0])

    def names(self, side: Side) -> tuple[str, ...]:
        """Return the technicians, surveyors or methods of any re-mount, in alphabetical order."""
        sql = f"SELECT DISTINCT {COLUMN[side]} FROM audit_months WHERE count <> 0 ORDER BY 1"
        return tuple(row[0] for row in self._conn.execute(sql))

    def gauges(self, selection: Selection) -> list[GaugeReading]:
        """Return the gauge readings that were repeated in a selection's time, of its cast and person."""
        return list(self.every_gauge(selection))

    def every_gauge(self, selection: Selection) -> Iterator[GaugeReading]:
        """Yield the same one by one."""
        return map(tables.gauge_from, self._timed("audit_gauges", selection))

    def calipers(self, selection: Selection) -> list[CaliperReading]:
        """Return the caliper readings that were repeated in a selection's time, of its cast and person."""
        return list(self.every_caliper(selection))

    def every_caliper(self, selection: Selection) -> Iterator[CaliperReading]:
        """Yield the same one by one."""
        return map(tables.caliper_from, self._timed("audit_calipers", selection))

    def _timed(self, table: str, selection: Selection) -> sqlite3.Cursor:
        where, params = _in_time(selection)
        if selection.technician is not None:
            same = _REPEATED_WITH[table]
            where.append(f"({same}) IN (SELECT {same} FROM {table} WHERE person = ?)")
            params.append(selection.technician)
        sql = f"SELECT * FROM {table} WHERE {' AND '.join(where)} ORDER BY entry"
        return self._conn.execute(sql, params)

    def said_beside(self, kind: str, most: int) -> list[Entry]:
        """Return the newest entries of a kind that is said beside the lab, newest first."""
        ids = [row[0] for row in self._conn.execute(_BESIDE, (kind, most))]
        found = (self._reading.find(key) for key in ids)
        return [entry for entry in found if entry is not None]

    def cases_of(self, ids: Sequence[str]) -> dict[str, str]:
        """Return the case codes of entries by their ids, of those that belong to a case."""
        found: dict[str, str] = {}
        for start in range(0, len(ids), _CHUNK):
            some = tuple(ids[start : start + _CHUNK])
            sql = f"SELECT id, case_code FROM entries WHERE id IN ({', '.join('?' * len(some))})"
            found |= {row[0]: row[1] for row in self._conn.execute(sql, some) if row[1] is not None}
        return found


def _in_time(selection: Selection) -> tuple[list[str], list[object]]:
    return condition(
        Selection(selection.since, selection.until, cast=selection.cast, reading="every")
    )


def _where(selection: Selection) -> tuple[str, list[object]]:
    where, params = condition(selection)
    return " AND ".join(where), params
