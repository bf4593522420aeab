"""The audit's tables: every re-mount, and every gauge and caliper reading that was repeated.

`audit_months` holds the sums of re-mounts by month (UTC), person, surveyor and method, kept by
triggers, so that an overview adds up months and not re-mounts.

They hold nothing of their own: an entry of a case renews the rows of its case in the same
transaction, and dropped they come back row for row. A logbook from before them is filled when the
audit is first asked for. Angles and lengths are whole numbers of 1/10,000 degree or mm, as exact as
the log, so that sums over any number of rows lose nothing.
"""

from __future__ import annotations

import sqlite3
from typing import Any, NamedTuple

from bench.core.audit.samples import (
    CaliperReading,
    GaugeReading,
    Remount,
    Samples,
    samples_of,
)
from bench.core.audit.sums import PER_DEGREE, terms_of
from bench.core.case import Case
from bench.store.migrations import AUDIT, statements_of

PER_MM = 10_000
TABLES = ("audit_remounts", "audit_gauges", "audit_calipers")
_COLUMNS = {"audit_remounts": 17, "audit_gauges": 9, "audit_calipers": 8}
_PUT = {
    table: f"INSERT INTO {table} VALUES ({', '.join('?' * count)})"
    for table, count in _COLUMNS.items()
}
_HELD = {table: f"SELECT * FROM {table} WHERE code = ? ORDER BY entry" for table in TABLES}
_MONTHS = "SELECT * FROM audit_months WHERE count <> 0 ORDER BY 1, 2, 3, 4, 5, 6"
_SUMMED = """
SELECT substr(at, 1, 7), technician, surveyor, method, first, last, count(*), sum(total <= tolerance),
    sum(ap), sum(ap * ap), sum(lat), sum(lat * lat), sum(x), sum(y), sum(sunk)
FROM audit_remounts GROUP BY 1, 2, 3, 4, 5, 6 ORDER BY 1, 2, 3, 4, 5, 6
"""
_CHANGED = "UPDATE audit_state SET version = version + 1"
_STATE = "SELECT filled, version FROM audit_state"

Row = tuple[Any, ...]


class Rows(NamedTuple):
    """The rows of one case in each of the tables, in order of the entries' ids."""

    remounts: tuple[Row, ...]
    gauges: tuple[Row, ...]
    calipers: tuple[Row, ...]


def rows_of(case: Case) -> Rows:
    """Return the rows that a case has."""
    samples = samples_of(case)
    return Rows(
        _sorted(_remount_row(one) for one in samples.remounts),
        _sorted(_gauge_row(one) for one in samples.gauges),
        _sorted(_caliper_row(one) for one in samples.calipers),
    )


def _sorted(rows: Any) -> tuple[Row, ...]:
    return tuple(sorted(rows))


def _remount_row(one: Remount) -> Row:
    terms = terms_of(one)
    return (
        one.entry, one.round, one.at, one.case, one.technician, one.surveyor, one.method, one.record,
        terms.ap, terms.lat, round(one.total_deg * PER_DEGREE), round(one.tolerance_deg * PER_DEGREE),
        int(one.first), int(one.last), terms.x, terms.y, terms.sunk,
    )  # fmt: skip


def remount_from(row: Row) -> Remount:
    """Return the re-mount of a row of `audit_remounts`."""
    ap_deg, lat_deg, total_deg, tolerance_deg = (value / PER_DEGREE for value in row[8:12])
    entry, first, at, case, technician, surveyor, method, record = row[:8]
    return Remount(
        entry, first, at, case, technician, surveyor, method, record, ap_deg, lat_deg, total_deg,
        tolerance_deg, bool(row[12]), bool(row[13]),
    )  # fmt: skip


def _gauge_row(one: GaugeReading) -> Row:
    return (
        one.entry, one.at, one.case, one.setting, one.tooth, one.surface,
        round(one.gauge_mm * PER_MM), one.person, one.contact,
    )  # fmt: skip


def gauge_from(row: Row) -> GaugeReading:
    """Return the reading of a row of `audit_gauges`."""
    entry, at, case, setting, tooth, surface, gauge, person, contact = row
    return GaugeReading(entry, at, case, setting, tooth, surface, gauge / PER_MM, person, contact)


def _caliper_row(one: CaliperReading) -> Row:
    sides = (round(side * PER_MM) for side in one.sides_mm)
    return one.entry, one.at, one.case, one.marks, one.person, *sides


def caliper_from(row: Row) -> CaliperReading:
    """Return the reading of a row of `audit_calipers`."""
    entry, at, case, marks, person, *sides = row
    d_ab_mm, d_ac_mm, d_bc_mm = (side / PER_MM for side in sides)
    return CaliperReading(entry, at, case, marks, person, d_ab_mm, d_ac_mm, d_bc_mm)


def samples_from(rows: Rows) -> Samples:
    """Return the samples that rows hold."""
    return Samples(
        tuple(map(remount_from, rows.remounts)),
        tuple(map(gauge_from, rows.gauges)),
        tuple(map(caliper_from, rows.calipers)),
    )


def held(conn: sqlite3.Connection, code: str) -> Rows:
    """Return the rows that the tables hold of a case."""
    return Rows(*(tuple(conn.execute(_HELD[table], (code,)).fetchall()) for table in TABLES))


def renew(conn: sqlite3.Connection, case: Case) -> None:
    """Bring the rows of one case in step with its entries, inside an open write transaction."""
    wanted, had = rows_of(case), held(conn, case.code)
    if wanted == had:
        return
    for table, rows, old in zip(TABLES, wanted, had, strict=True):
        gone, new = set(old) - set(rows), set(rows) - set(old)
        conn.executemany(f"DELETE FROM {table} WHERE entry = ?", [(row[0],) for row in gone])
        conn.executemany(_PUT[table], sorted(new))
    conn.execute(_CHANGED)


def months_differ(conn: sqlite3.Connection) -> bool:
    """Say whether the monthly sums are not those of the re-mounts."""
    return conn.execute(_SUMMED).fetchall() != conn.execute(_MONTHS).fetchall()


def state(conn: sqlite3.Connection) -> tuple[bool, int]:
    """Return whether the tables hold every case, and a number that grows with every change."""
    filled, version = conn.execute(_STATE).fetchone()
    return bool(filled), int(version)


def empty(conn: sqlite3.Connection) -> None:
    """Drop the tables and make them anew without rows, inside an open write transaction."""
    version = state(conn)[1] if _has_state(conn) else 0
    for table in (*TABLES, "audit_months", "audit_state"):
        conn.execute(f"DROP TABLE IF EXISTS {table}")
    for statement in statements_of(AUDIT):
        conn.execute(statement)
    conn.execute("UPDATE audit_state SET version = ?", (version + 1,))


def mark_filled(conn: sqlite3.Connection) -> None:
    """Note that every case has its rows, inside an open write transaction."""
    conn.execute("UPDATE audit_state SET filled = 1, version = version + 1")


def _has_state(conn: sqlite3.Connection) -> bool:
    sql = "SELECT count(*) FROM sqlite_master WHERE name = 'audit_state'"
    return bool(conn.execute(sql).fetchone()[0])
