"""The board's tables: one line per case, with its teeth, people and search words.

They hold nothing of their own: dropped and rebuilt from the entries they come back row for row. An
entry of a case renews its line in the same transaction. An entry of the lab (policy, instrument,
person) may change every line; it leaves them marked by the older `lab_position`. Whoever reads the
board renews some hundred marked lines first, newest first, and leaves the rest to a thread behind, so
that a tap of the policy never holds up a bench with many cases.
"""

from __future__ import annotations

import sqlite3
import threading
import time
from dataclasses import dataclass, replace
from typing import Any, Literal

from bench.core.case import Case
from bench.core.entries import CaseOpened
from bench.core.lab import Lab
from bench.core.summary import Summary, summarise
from bench.store import audittables
from bench.store.migrations import BOARD, READ_MODELS, statements_of
from bench.store.reading import Reading
from bench.store.seeking import ORDERS, Order, Sought, condition, words_in, words_sought

UNOPENED = "unopened"
UNREADABLE = "unreadable"
PATIENCE = 200
_CHUNK = 100
_BREATH_S = 0.05

_TABLES = ("case_words", "case_people", "case_teeth", "case_summaries", "case_counts")
_COLUMNS = (
    "code, number, arch, kennedy, state, step, opened_at, touched_at, blocking, warning, stale, "
    "contradictions, overruled, lab_position"
)
_DROP = "DELETE FROM case_summaries WHERE code = ?"
_PUT = f"INSERT INTO case_summaries ({_COLUMNS}) VALUES ({', '.join('?' * 14)})"
_PUT_TOOTH = "INSERT INTO case_teeth (tooth, code) VALUES (?, ?)"
_PUT_PERSON = "INSERT INTO case_people (person, code) VALUES (?, ?)"
_PUT_WORD = "INSERT INTO case_words (word, code) VALUES (?, ?)"
_OUTDATED = (
    "SELECT code FROM case_summaries WHERE lab_position < ? ORDER BY touched_at DESC LIMIT ?"
)
_LINES = """
SELECT s.code, s.number, s.arch, s.kennedy, s.state, s.step, s.opened_at, s.touched_at,
    s.blocking, s.warning, s.stale, s.contradictions, s.overruled,
    (SELECT group_concat(tooth, ' ') FROM case_teeth WHERE code = s.code),
    (SELECT group_concat(person, char(10)) FROM case_people WHERE code = s.code)
FROM case_summaries AS s"""
_HOW_MANY = "SELECT count(*) FROM (SELECT 1 FROM case_summaries AS s{where} LIMIT ?)"
_ALL_WITH = "SELECT coalesce(sum(cases), 0) FROM case_counts AS s{where}"


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of one case in each of the tables, without its code in the last three."""

    summary: tuple[str | int, ...]
    teeth: tuple[int, ...]
    people: tuple[str, ...]
    words: tuple[str, ...]


def rows_of(case: Case, lab: Lab, lab_position: int) -> Rows:
    """Return the rows that a case has under a lab whose newest entry lies at `lab_position`."""
    found = summary_of(case, lab)
    line = (
        found.code, found.number, found.arch, found.kennedy, found.state, found.step,
        found.opened_at, found.touched_at, " ".join(found.blocking), " ".join(found.warning),
        found.stale, found.contradictions, found.overruled, lab_position,
    )  # fmt: skip
    people = tuple(sorted(set(found.people)))
    return Rows(line, tuple(sorted(set(found.teeth))), people, words_of(found.code, found.number))


def summary_of(case: Case, lab: Lab) -> Summary:
    """Return a case on one line, also when it was never opened or its entries make no sense together.

    Those get the states 'unopened' and 'unreadable', so that one odd case never closes the board.
    """
    if not case.said(CaseOpened):
        return _bare(case, UNOPENED)
    try:
        return summarise(case, lab)
    except (ValueError, ArithmeticError, LookupError):
        opened = case.opened
        bare = replace(_bare(case, UNREADABLE), opened_at=opened.entry.at)
        return replace(bare, number=opened.body.number, arch=opened.body.arch)


def _bare(case: Case, state: str) -> Summary:
    return Summary(
        code=case.code, number="", arch="", kennedy="", state=state, step="receive",
        opened_at=min(entry.at for entry in case.entries),
        touched_at=max(entry.at for entry in case.entries),
        blocking=(), warning=(), stale=0, contradictions=0, overruled=0, teeth=(),
        people=tuple({entry.person for entry in case.entries}),
    )  # fmt: skip


def words_of(code: str, number: str) -> tuple[str, ...]:
    """Return the words a case is found by: its number, whole and in parts, its code and its halves."""
    parts = words_in(number)
    return tuple(
        sorted({*parts, "".join(parts), *words_in(f"{code} {code[:4]} {code[4:]}")} - {""})
    )


class ReadModels:
    """The board's tables, kept in step with the log."""

    def __init__(self, reading: Reading) -> None:
        self._reading = reading
        self._store = reading.store
        self._behind = threading.Lock()

    def refresh(self, code: str) -> None:
        """Renew the line of one case from its entries."""
        with self._store.writing() as conn:
            self.renew(conn, code)

    def renew(self, conn: sqlite3.Connection, code: str) -> None:
        """Renew the line of one case inside a write transaction that is open already."""
        case = self._reading.case(code)
        audittables.renew(conn, case)
        conn.execute(_DROP, (code,))
        if case.entries:
            rows = rows_of(case, self._reading.lab(), self._reading.lab_mark()[0])
            conn.execute(_PUT, rows.summary)
            for sql, values in (
                (_PUT_TOOTH, rows.teeth),
                (_PUT_PERSON, rows.people),
                (_PUT_WORD, rows.words),
            ):
                conn.executemany(sql, [(value, code) for value in values])

    def rebuild(self) -> None:
        """Drop the tables and make them anew from the entries, in one transaction."""
        with self._store.writing() as conn:
            for table in _TABLES:
                conn.execute(f"DROP TABLE IF EXISTS {table}")
            for statement in (*statements_of(READ_MODELS), *statements_of(BOARD)):
                conn.execute(statement)
            audittables.empty(conn)
            for code in self._reading.codes():
                self.renew(conn, code)
            audittables.mark_filled(conn)

    def catch_up(self, most: int = PATIENCE) -> int:
        """Renew lines that an entry of the lab left outdated, and return how many are left.

        At most so many are renewed, newest first, some hundred per transaction: writers come between.
        """
        left = self.outdated()
        for start in range(0, min(most, left), _CHUNK):
            with self._store.writing() as conn:
                for (code,) in self._outdated_codes(min(_CHUNK, most - start)):
                    self.renew(conn, code)
        return self.outdated() if left else 0

    def catch_up_behind(self) -> None:
        """Renew what is outdated in a thread of its own; one at a time, and no more than one waits."""
        if self.outdated() and self._behind.acquire(blocking=False):
            threading.Thread(target=self._to_the_end, name="catching up", daemon=True).start()

    def _to_the_end(self) -> None:
        try:
            while self.catch_up():
                time.sleep(_BREATH_S)
        finally:
            self._behind.release()

    def outdated(self) -> int:
        """Return how many lines still show what they were before the newest entry of the lab."""
        sql = "SELECT count(*) FROM case_summaries WHERE lab_position < ?"
        position = self._reading.lab_mark()[0]
        return int(self._store.db.conn.execute(sql, (position,)).fetchone()[0])

    def _outdated_codes(self, most: int) -> list[tuple[str]]:
        position = self._reading.lab_mark()[0]
        return self._store.db.conn.execute(_OUTDATED, (position, most)).fetchall()

    def board(
        self,
        state: str | None = None,
        step: str | None = None,
        person: str | None = None,
        tooth: int | None = None,
        text: str = "",
        limit: int = 50,
        offset: int = 0,
        order: Order = "touched",
    ) -> tuple[Summary, ...]:
        """Return the lines that meet every filter given; `text` is matched word by word from its start."""
        self.catch_up()
        sought = Sought(state, False, step, person, tooth, words_sought(text))
        return self.lines(sought, order, limit, offset)

    def lines(
        self, sought: Sought, order: Order = "touched", limit: int = 50, offset: int = 0
    ) -> tuple[Summary, ...]:
        """Return the lines looked for, in that order, as they are now: `catch_up` comes before."""
        where, params = condition(self._store.db.conn, sought)
        sql = f"{_LINES}{where} ORDER BY {ORDERS[order]} LIMIT ? OFFSET ?"
        rows = self._store.db.conn.execute(sql, (*params, limit, offset)).fetchall()
        return tuple(_summary(row) for row in rows)

    def how_many(self, sought: Sought, most: int) -> int:
        """Return how many lines are looked for; where they have to be counted, `most` at most."""
        where, params = condition(self._store.db.conn, sought)
        if sought.by_state_and_step_alone:
            counted = self._store.db.conn.execute(_ALL_WITH.format(where=where), params)
        else:
            counted = self._store.db.conn.execute(_HOW_MANY.format(where=where), (*params, most))
        return int(counted.fetchone()[0])

    def counts(self) -> dict[str, int]:
        """Return how many cases there are in each state."""
        return self._counted("state")

    def counts_by_step(self) -> dict[str, int]:
        """Return how many cases wait at each step."""
        return self._counted("step")

    def _counted(self, column: Literal["state", "step"]) -> dict[str, int]:
        self.catch_up()
        sql = (
            f"SELECT {column}, sum(cases) FROM case_counts GROUP BY {column} HAVING sum(cases) > 0"
        )
        return dict(self._store.db.conn.execute(sql).fetchall())


def _summary(row: tuple[Any, ...]) -> Summary:
    code, number, arch, kennedy, state, step, opened_at, touched_at, *rest = row
    blocking, warning, stale, contradictions, overruled, teeth, people = rest
    return Summary(
        code=code, number=number, arch=arch, kennedy=kennedy, state=state, step=step,
        opened_at=opened_at, touched_at=touched_at, blocking=tuple(blocking.split()),
        warning=tuple(warning.split()), stale=stale, contradictions=contradictions,
        overruled=overruled, teeth=tuple(sorted(map(int, (teeth or "").split()))),
        people=tuple(sorted((people or "").split("\n"))),
    )  # fmt: skip
