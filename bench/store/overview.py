"""What the supervisor's desk asks of all cases at once, answered from the read models and the index of kinds."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from bench.core.entries import Entry, HoldLifted, HoldSet
from bench.core.standing import put_aside
from bench.store.reading import Reading

_OPEN = "state NOT IN ('released')"
_BY_STEP = f"SELECT step, count(*), min(opened_at) FROM case_summaries WHERE {_OPEN} GROUP BY step"
_BLOCKING = (
    "SELECT blocking, count(*), min(opened_at) FROM case_summaries "
    f"WHERE {_OPEN} AND blocking <> '' GROUP BY blocking"
)
_STALE = (
    f"SELECT code, number, stale, touched_at FROM case_summaries WHERE {_OPEN} AND stale > 0 "
    "ORDER BY touched_at, code LIMIT ?"
)
_DISPUTED = (
    "SELECT code, number, contradictions, touched_at FROM case_summaries WHERE contradictions > 0 "
    "ORDER BY touched_at, code LIMIT ?"
)
_RECALLED = (
    "SELECT code, number, 1, touched_at FROM case_summaries WHERE state = 'recalled' "
    "ORDER BY touched_at, code LIMIT ?"
)
_OLD = (
    "SELECT code, number, 1, touched_at FROM case_summaries WHERE touched_at < ? "
    "ORDER BY touched_at, code LIMIT ?"
)
_COUNT_OLD = "SELECT count(*), min(touched_at) FROM case_summaries WHERE touched_at < ?"
_NUMBER = "SELECT number FROM case_summaries WHERE code = ?"


@dataclass(frozen=True, slots=True)
class Waiting:
    """Cases that wait for one thing: its key (a step, or a rule), how many, since when the oldest."""

    key: str
    count: int
    oldest_at: str


@dataclass(frozen=True, slots=True)
class Line:
    """A case to look at: code, number, how many things of it, when it was last touched."""

    code: str
    number: str
    count: int
    touched_at: str


@dataclass(frozen=True, slots=True)
class Overview:
    """The desk's questions to the log."""

    log: Reading

    def by_step(self) -> dict[str, Waiting]:
        """Return the open cases by the step each waits at."""
        return {row[0]: Waiting(*row) for row in self._rows(_BY_STEP)}

    def by_rule(self) -> tuple[Waiting, ...]:
        """Return what stops open cases, the rule that stops most first."""
        counts: Counter[str] = Counter()
        oldest: dict[str, str] = {}
        for rules, count, opened_at in self._rows(_BLOCKING):
            for rule in set(str(rules).split()):
                counts[rule] += int(count)
                oldest[rule] = min(oldest.get(rule, str(opened_at)), str(opened_at))
        ranked = sorted(counts, key=lambda rule: (-counts[rule], rule))
        return tuple(Waiting(rule, counts[rule], oldest[rule]) for rule in ranked)

    def stale(self, most: int) -> tuple[Line, ...]:
        """Return the open cases with stale findings, the one untouched longest first."""
        return self._lines(_STALE, (most,))

    def disputed(self, most: int) -> tuple[Line, ...]:
        """Return the cases with statements that disagree."""
        return self._lines(_DISPUTED, (most,))

    def recalled(self, most: int) -> tuple[Line, ...]:
        """Return the released cases whose ground has changed."""
        return self._lines(_RECALLED, (most,))

    def older_than(self, at: str, most: int) -> tuple[Line, ...]:
        """Return the cases untouched since before a time (ISO 8601), the oldest first."""
        return self._lines(_OLD, (at, most))

    def count_older_than(self, at: str) -> int:
        """Return how many cases were untouched since before a time."""
        return int(self.log.store.db.conn.execute(_COUNT_OLD, (at,)).fetchone()[0])

    def holds(self) -> tuple[Entry, ...]:
        """Return the legal holds that stand, oldest first."""
        entries = self.log.of_kinds("hold_set", "hold_lifted", "withdrawn")
        aside = put_aside(entries)
        standing = [entry for entry in entries if entry.id not in aside]
        lifted = {entry.body.hold for entry in standing if isinstance(entry.body, HoldLifted)}
        held = [entry for entry in standing if isinstance(entry.body, HoldSet)]
        return tuple(
            sorted((e for e in held if e.id not in lifted), key=lambda entry: (entry.at, entry.id))
        )

    def number_of(self, code: str) -> str:
        """Return the number of a case, '' for one that is not opened."""
        row = self.log.store.db.conn.execute(_NUMBER, (code,)).fetchone()
        return str(row[0]) if row else ""

    def _lines(self, sql: str, params: tuple[object, ...]) -> tuple[Line, ...]:
        return tuple(Line(*row) for row in self._rows(sql, params))

    def _rows(self, sql: str, params: tuple[object, ...] = ()) -> list[tuple[Any, ...]]:
        return self.log.store.db.conn.execute(sql, params).fetchall()
