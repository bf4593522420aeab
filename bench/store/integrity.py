"""Walk the whole log and say what is wrong: chains, columns, tables, photos. It changes nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlite_utils import Database

from bench.core.bounds import BadEntry
from bench.core.entries import Entry, PhotoKept
from bench.core.refusal import Param
from bench.core.wire import digest_of
from bench.store import audittables
from bench.store.decode import decode
from bench.store.log import Log, arrival_digest
from bench.store.migrations import MIGRATIONS
from bench.store.open import APPLICATION_ID, Store, bench_digest
from bench.store.reading import NOTHING_HELD, Cursor
from bench.store.readmodels import Rows, rows_of

PhotoCheck = Callable[[PhotoKept], str | None]
MOST_PROBLEMS = 1000

_ENTRIES = (
    "SELECT position, id, kind, person, device, at, device_seq, prev, case_code, setting_id, digest, "
    "bytes, received_at, arrival FROM entries NOT INDEXED ORDER BY position"
)
_QUARANTINE = (
    "SELECT id, device, device_seq, digest, bytes, code, received_at, arrival FROM quarantine"
)
_SCHEMA = "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite%'"
_LINE = "SELECT * FROM case_summaries WHERE code = ?"
_LISTS = (
    "SELECT tooth FROM case_teeth WHERE code = ? ORDER BY tooth",
    "SELECT person FROM case_people WHERE code = ? ORDER BY person",
    "SELECT word FROM case_words WHERE code = ? ORDER BY word",
)
_STRAY_LINES = (
    "SELECT code FROM case_summaries WHERE code NOT IN "
    "(SELECT case_code FROM entries WHERE case_code IS NOT NULL)"
)
_STRAY_SAMPLES = (
    "SELECT code FROM (SELECT code FROM audit_remounts UNION SELECT code FROM audit_gauges "
    "UNION SELECT code FROM audit_calipers) WHERE code NOT IN "
    "(SELECT case_code FROM entries WHERE case_code IS NOT NULL)"
)
_NAMED = """
SELECT DISTINCT named.value, e.at, e.position FROM entries AS e, json_each(
    CASE WHEN json_valid(CAST(e.bytes AS TEXT)) THEN CAST(e.bytes AS TEXT) ELSE '{}' END, '$.body'
) AS named
WHERE named.type = 'text' AND named.value <> ''
    AND named.key IN ('tag', 'gauge', 'surveyor', 'table', 'instrument', 'caliper', 'sleeve')
"""
_USES = "SELECT tag, at, position FROM instrument_uses"
_COUNTED = "SELECT state, step, count(*) FROM case_summaries GROUP BY state, step ORDER BY 1, 2"
_COUNTS = "SELECT state, step, cases FROM case_counts WHERE cases <> 0 ORDER BY state, step"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: a stable code and the figures for its words."""

    code: str
    params: dict[str, Param] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Report:
    """What a walk found: the problems (the first thousand), and how much was looked at.

    `kept_aside` counts the entries in quarantine: no damage, yet somebody has to look at them.
    """

    problems: tuple[Problem, ...]
    entries: int
    devices: int
    cases: int
    photos: int
    kept_aside: int

    @property
    def clean(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems


def check(store: Store, photo: PhotoCheck | None = None) -> Report:
    """Return what is wrong with a logbook; every changed byte that could be read is found.

    `photo` returns a code for a photo that is not as its entry says, or None. PIN hashes lie outside
    the log and are not judged. All is read in one transaction, so that writers may go on meanwhile.
    """
    walk = _Walk(store, photo)
    conn = store.db.conn
    conn.execute("BEGIN")
    try:
        for problem in walk.problems():
            walk.found.append(problem)
            if len(walk.found) >= MOST_PROBLEMS:
                break
    except Exception as error:  # A damaged file may go wrong anywhere; the check has to say so.
        walk.found.append(Problem("file_damaged", {"reason": f"{type(error).__name__}: {error}"}))
    finally:
        if conn.in_transaction:
            conn.execute("ROLLBACK")
    return walk.report()


class _Walk:
    def __init__(self, store: Store, photo: PhotoCheck | None) -> None:
        self.conn, self.log, self.photo = store.db.conn, Log(store), photo
        self.found: list[Problem] = []
        self.heads: dict[str, Cursor] = {}
        self.photos: dict[str, PhotoKept] = {}
        self.entries = self.cases = self.kept_aside = 0

    def report(self) -> Report:
        return Report(
            tuple(self.found),
            self.entries,
            len(self.heads),
            self.cases,
            len(self.photos),
            self.kept_aside,
        )

    def problems(self) -> Iterator[Problem]:
        yield from self._file()
        yield from self._schema()
        yield from self._bench()
        yield from self._chains()
        yield from self._quarantine()
        yield from self._read_models()
        yield from self._photos()

    def _file(self) -> Iterator[Problem]:
        for (said,) in self.conn.execute("PRAGMA integrity_check").fetchall():
            if said != "ok":
                yield Problem("file_damaged", {"reason": str(said)})
        for table, row, parent, _ in self.conn.execute("PRAGMA foreign_key_check").fetchall():
            yield Problem("file_damaged", {"reason": f"{table} {row} names no row of {parent}"})
        if self.conn.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
            yield Problem("file_damaged", {"reason": "application_id"})

    def _schema(self) -> Iterator[Problem]:
        wanted, held = _schema_as_made(), set(self.conn.execute(_SCHEMA).fetchall())
        for kind, name, _ in sorted(wanted ^ held):
            yield Problem("schema_differs", {"kind": kind, "name": name})

    def _bench(self) -> Iterator[Problem]:
        rows = self.conn.execute("SELECT device, epoch, digest FROM bench").fetchall()
        if len(rows) != 1 or bench_digest(*rows[0][:2]) != rows[0][2]:
            yield Problem("bench_damaged")

    def _chains(self) -> Iterator[Problem]:
        position, arrival = 0, ""
        for row in self.conn.execute(_ENTRIES):
            self.entries += 1
            if row[0] != position + 1:
                yield Problem("position_gap", {"after": position, "found": row[0]})
            position = row[0]
            arrival = arrival_digest(arrival, position, row[10], row[12])
            if row[13] != arrival:
                yield Problem("arrival_broken", {"position": position, "entry": str(row[1])})
                arrival = row[13]
            yield from self._entry(row)

    def _entry(self, row: Sequence[object]) -> Iterator[Problem]:
        position, stored, digest = row[0], row[11], row[10]
        at: dict[str, Param] = {"position": int(str(position)), "entry": str(row[1])}
        if not isinstance(stored, bytes) or digest_of(stored) != digest:
            yield Problem("digest_differs", at)
            return
        try:
            entry = decode(stored, str(digest))
        except BadEntry:
            yield Problem("unreadable", at)
            return
        columns = (
            entry.id, entry.kind, entry.person, entry.device, entry.at, entry.seq, entry.prev,
            entry.case, entry.setting,
        )  # fmt: skip
        if columns != tuple(row[1:10]):
            yield Problem("columns_differ", at)
        yield from self._link(entry, at)
        if isinstance(entry.body, PhotoKept):
            self.photos[entry.body.sha256] = entry.body

    def _link(self, entry: Entry, at: dict[str, Param]) -> Iterator[Problem]:
        head = self.heads.get(entry.device, NOTHING_HELD)
        self.heads[entry.device] = Cursor(entry.seq, entry.digest, entry.id)
        if entry.seq != head.seq + 1:
            yield Problem("sequence_gap", {**at, "device": entry.device, "after": head.seq})
        elif entry.prev != head.digest:
            yield Problem("link_broken", {**at, "device": entry.device})

    def _quarantine(self) -> Iterator[Problem]:
        for row in self.conn.execute(_QUARANTINE):
            self.kept_aside += 1
            if not _is_as_kept_aside(*row):
                yield Problem("quarantine_damaged", {"entry": str(row[0])})

    def _read_models(self) -> Iterator[Problem]:
        lab, position = self.log.lab(), self.log.lab_mark()[0]
        filled = audittables.state(self.conn)[0]
        for code in self.log.codes():
            self.cases += 1
            held, case = self._held(code), self.log.case(code)
            outdated = held is not None and _is_outdated(held, position)
            if not case.entries or (not outdated and held != rows_of(case, lab, position)):
                yield Problem("board_differs", {"case": code})
            if filled and audittables.held(self.conn, code) != audittables.rows_of(case):
                yield Problem("audit_differs", {"case": code})
        if audittables.months_differ(self.conn):
            yield Problem("audit_sums_differ")
        for (code,) in self.conn.execute(_STRAY_SAMPLES).fetchall():
            yield Problem("audit_differs", {"case": code})
        for (code,) in self.conn.execute(_STRAY_LINES).fetchall():
            yield Problem("board_differs", {"case": code})
        for one, other in ((_NAMED, _USES), (_USES, _NAMED)):
            if self.conn.execute(f"{one} EXCEPT {other} LIMIT 1").fetchone():
                yield Problem("uses_differ")
                break
        counted = self.conn.execute(_COUNTED).fetchall()
        if counted != self.conn.execute(_COUNTS).fetchall():
            yield Problem("counts_differ")

    def _held(self, code: str) -> Rows | None:
        line = self.conn.execute(_LINE, (code,)).fetchone()
        if line is None:
            return None
        teeth, people, words = (self._column(sql, code) for sql in _LISTS)
        return Rows(line, teeth, people, words)

    def _column(self, sql: str, code: str) -> tuple[Any, ...]:
        return tuple(row[0] for row in self.conn.execute(sql, (code,)))

    def _photos(self) -> Iterator[Problem]:
        kept: Iterable[PhotoKept] = self.photos.values() if self.photo else ()
        for body in kept:
            code = self.photo(body) if self.photo else None
            if code:
                yield Problem(code, {"sha256": body.sha256})


def _is_as_kept_aside(
    key: str,
    device: str,
    seq: int,
    digest: str,
    stored: bytes,
    code: str,
    received_at: str,
    arrival: str,
) -> bool:
    if arrival_digest(code, seq, digest, received_at) != arrival:
        return False
    try:
        entry = decode(stored)
    except (BadEntry, TypeError):
        return False
    return (key, device, seq, digest) == (entry.id, entry.device, entry.seq, entry.digest)


def _is_outdated(held: Rows, position: int) -> bool:
    marked = held.summary[-1]
    return isinstance(marked, int) and marked < position


def _schema_as_made() -> set[tuple[str, str, str]]:
    db = Database(memory=True, execute_plugins=False)
    try:
        MIGRATIONS.apply(db)
        return set(db.conn.execute(_SCHEMA).fetchall())
    finally:
        db.close()
