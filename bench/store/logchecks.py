"""When the log was last walked for damage, by whom, and what was found. No part of the log."""

from __future__ import annotations

from dataclasses import dataclass

from bench.store.integrity import Report
from bench.store.open import Store

_PUT = (
    "INSERT INTO log_checks (at_ms, person, entries, problems, kept_aside) VALUES (?, ?, ?, ?, ?) "
    "ON CONFLICT (at_ms) DO NOTHING"
)
_LAST = "SELECT at_ms, person, entries, problems, kept_aside FROM log_checks ORDER BY at_ms DESC LIMIT 1"


@dataclass(frozen=True, slots=True)
class LogCheck:
    """One walk over the log: when (Unix ms), who asked for it, how much was looked at, what was wrong."""

    at_ms: int
    person: str
    entries: int
    problems: int
    kept_aside: int


def note_check(store: Store, report: Report, person: str, at_ms: int) -> None:
    """Keep what a walk over the log found."""
    row = (at_ms, person, report.entries, len(report.problems), report.kept_aside)
    with store.writing() as conn:
        conn.execute(_PUT, row)


def last_check(store: Store) -> LogCheck | None:
    """Return the newest walk over the log, or None before the first."""
    row = store.db.conn.execute(_LAST).fetchone()
    return LogCheck(*row) if row else None
