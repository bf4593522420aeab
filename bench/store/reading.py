"""What can be read of the log: the entries of a case or of the lab, by device, by id."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from bench.core.bounds import BadEntry
from bench.core.case import Case, fold
from bench.core.entries import Entry
from bench.core.lab import Lab, fold_lab
from bench.store.decode import decode, unreadable
from bench.store.open import Store
from bench.store.readingsd import OwnReading

_OF_CASE = "SELECT position, digest, bytes FROM entries WHERE case_code = ? AND position <= ? ORDER BY position"
_OF_LAB = "SELECT position, digest, bytes FROM entries WHERE case_code IS NULL ORDER BY position"
# What is said beside the lab changes no line of the board. The index of 0004 has these very words.
BESIDE_THE_LAB = (
    "'drill_planned', 'drill_reading', 'drill_closed', 'signal_acknowledged', 'figures_looked_at'"
)
_LAB_ITSELF = f"case_code IS NULL AND kind NOT IN ({BESIDE_THE_LAB})"
_OF_LAB_ITSELF = (
    f"SELECT position, digest, bytes FROM entries WHERE {_LAB_ITSELF} ORDER BY position"
)
_NEWEST_OF_LAB = (
    f"SELECT position, digest FROM entries WHERE {_LAB_ITSELF} ORDER BY position DESC LIMIT 1"
)
_BY_ID = "SELECT position, digest, bytes FROM entries WHERE id = ?"
_AFTER = "SELECT bytes FROM entries WHERE device = ? AND device_seq > ? ORDER BY device_seq LIMIT ?"
# One look-up per device: the newest of each chain is found in the index, not by counting all entries.
_CURSORS = """
WITH RECURSIVE devices (device) AS (
    SELECT min(device) FROM entries
    UNION ALL
    SELECT (SELECT min(device) FROM entries WHERE device > devices.device)
    FROM devices WHERE devices.device IS NOT NULL
)
SELECT device, device_seq, digest, id FROM entries
WHERE (device, device_seq) IN (
    SELECT device, (SELECT max(device_seq) FROM entries WHERE entries.device = devices.device)
    FROM devices WHERE device IS NOT NULL
)
"""
_COLUMNS = (
    "SELECT id AS entry_id, kind, person, device, at, device_seq AS seq, prev, case_code AS 'case', "
    "digest FROM entries WHERE position = ?"
)

_CURSOR_OF = (
    "SELECT device_seq, digest, id FROM entries WHERE device = ? ORDER BY device_seq DESC LIMIT 1"
)
_NEWEST = "SELECT received_at FROM entries ORDER BY position DESC LIMIT 1"

# The page asked for is found in the index alone; only its entries are then read.
_TOLD = (
    "SELECT position, digest, bytes FROM entries WHERE position IN (SELECT position FROM {where} "
    "ORDER BY {order} LIMIT ? OFFSET ?) ORDER BY {order}"
)
_NEWEST_FIRST = "at DESC, position DESC"
_BY_PERSON = "entries WHERE person = ? AND at >= ? AND at < ?"
_BY_DEVICE = "entries WHERE device = ? AND at >= ? AND at < ?"
_WITH_TAG = "instrument_uses WHERE tag = ? AND at >= ? AND at < ?"

# A finding need not name what the cast lay on: every case that names it, and went on since, is looked at.
_CASES_WITH = (
    "SELECT e.case_code FROM instrument_uses AS used JOIN entries AS e ON e.position = used.position "
    "JOIN case_summaries AS told ON told.code = e.case_code "
    "WHERE used.tag = ? AND used.at < ? AND told.touched_at > ? "
    "GROUP BY e.case_code ORDER BY max(told.touched_at) DESC"
)
_NAMED_LAST = (
    "SELECT max(at) FROM (SELECT used.at, e.person FROM instrument_uses AS used "
    "JOIN entries AS e ON e.position = used.position WHERE used.tag = ? "
    "AND e.case_code IS NOT NULL ORDER BY used.at DESC LIMIT 50) WHERE person = ?"
)

Row = tuple[int, str, bytes]
NEWEST = 2**62


@dataclass(frozen=True, slots=True)
class Cursor:
    """How far a device's chain is held: the sequence number of its newest entry, its digest, its id."""

    seq: int
    digest: str
    id: str


NOTHING_HELD = Cursor(0, "", "")


@dataclass(frozen=True, slots=True)
class Page:
    """A page of a trail, newest first: its entries, and how many the whole period holds."""

    entries: tuple[Entry, ...]
    count: int


class Reading:
    """The log as readers see it. Safe to share between threads; nothing here waits for a writer."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._lab: tuple[tuple[int, str], Lab] | None = None
        self._own = OwnReading(self)

    def entries_of(self, code: str, until: int = NEWEST) -> tuple[Entry, ...]:
        """Return the entries of a case in the order they arrived, up to a position; none for a new code."""
        return self._entries(_OF_CASE, (code, until))

    def case(self, code: str) -> Case:
        """Return the case that the entries of a code make, also when there are none yet."""
        return fold(code, self.entries_of(code))

    def lab_entries(self) -> tuple[Entry, ...]:
        """Return the entries of the lab itself in the order they arrived."""
        return self._entries(_OF_LAB, ())

    def lab(self) -> Lab:
        """Return the lab as its entries make it, folded anew only when one was added."""
        # The digest tells an entry apart from one that was rolled back at the same position.
        newest = self.lab_mark()
        kept = self._lab
        if kept is None or kept[0] != newest:
            plain = fold_lab(self._entries(_OF_LAB_ITSELF, ()))
            kept = (newest, replace(plain, own_sd=self._own.up_to(newest[0], plain)))
            self._lab = kept
        return kept[1]

    def lab_mark(self) -> tuple[int, str]:
        """Return position and digest of the newest entry of the lab itself; (0, '') before the first."""
        row = self.store.db.conn.execute(_NEWEST_OF_LAB).fetchone()
        return (row[0], row[1]) if row else (0, "")

    def stated_by(
        self, person: str, since: str, until: str, limit: int = 50, offset: int = 0
    ) -> Page:
        """Return what a person stated from one time (ISO 8601) up to before another, newest first."""
        return self._told(_BY_PERSON, (person, since, until), limit, offset)

    def made_with(self, tag: str, since: str, until: str, limit: int = 50, offset: int = 0) -> Page:
        """Return what names an instrument, from one time up to before another, newest first."""
        return self._told(_WITH_TAG, (tag, since, until), limit, offset)

    def cases_with(self, tag: str, since: str, until: str) -> tuple[str, ...]:
        """Return the cases that name an instrument before one time and were touched after another.

        Those touched last come first.
        """
        rows = self.store.db.conn.execute(_CASES_WITH, (tag, until, since))
        return tuple(row[0] for row in rows)

    def last_named(self, tags: Iterable[str], person: str) -> str:
        """Return the instrument that a person named last in a case, '' for none of their newest uses."""
        conn = self.store.db.conn
        asked = (
            (conn.execute(_NAMED_LAST, (tag, person)).fetchone()[0] or "", tag) for tag in tags
        )
        at, tag = max(asked, default=("", ""))
        return tag if at else ""

    def sent_by(
        self, device: str, since: str, until: str, limit: int = 50, offset: int = 0
    ) -> Page:
        """Return what a device stated in its own order, from one time up to before another, newest first."""
        return self._told(_BY_DEVICE, (device, since, until), limit, offset, "device_seq DESC")

    def _told(
        self,
        where: str,
        params: tuple[str, ...],
        limit: int,
        offset: int,
        order: str = _NEWEST_FIRST,
    ) -> Page:
        count = self.store.db.conn.execute(f"SELECT count(*) FROM {where}", params).fetchone()[0]
        sql = _TOLD.format(where=where, order=order)
        return Page(self._entries(sql, (*params, limit, offset)), count)

    def of_kinds(self, *kinds: str, until: int = NEWEST) -> tuple[Entry, ...]:
        """Return every entry of some kinds in the order they arrived, up to a position."""
        sql = (
            "SELECT position, digest, bytes FROM entries "
            f"WHERE kind IN ({', '.join('?' * len(kinds))}) AND position <= ? ORDER BY position"
        )
        return self._entries(sql, (*kinds, until))

    def find(self, entry_id: str) -> Entry | None:
        """Return the entry of an id, or None."""
        found = self._entries(_BY_ID, (entry_id,))
        return found[0] if found else None

    def after(self, device: str, seq: int, limit: int = 500) -> tuple[bytes, ...]:
        """Return the stored bytes of a device's entries after a sequence number, in their order."""
        rows = self.store.db.conn.execute(_AFTER, (device, seq, limit))
        return tuple(row[0] for row in rows)

    def cursors(self) -> dict[str, Cursor]:
        """Return for each device how far its chain is held."""
        rows = self.store.db.conn.execute(_CURSORS)
        return {device: Cursor(seq, digest, entry) for device, seq, digest, entry in rows}

    def cursor_of(self, device: str) -> Cursor:
        """Return how far one device's chain is held."""
        row = self.store.db.conn.execute(_CURSOR_OF, (device,)).fetchone()
        return Cursor(*row) if row else NOTHING_HELD

    def held_digests(self, ids: Sequence[str]) -> dict[str, str]:
        """Return the digests of those entries that are held, by id; at most 500 ids at once."""
        sql = f"SELECT id, digest FROM entries WHERE id IN ({', '.join('?' * len(ids))})"
        return {row[0]: row[1] for row in self.store.db.conn.execute(sql, tuple(ids))}

    def newest_received_at(self) -> str:
        """Return when the newest entry arrived by the clock of this PC; '' before the first."""
        row = self.store.db.conn.execute(_NEWEST).fetchone()
        return str(row[0]) if row else ""

    def newest_with(self, rarest: str, *others: str, until: int = NEWEST) -> dict[str, int]:
        """Return the cases that hold entries of all these kinds, with the position of their newest entry.

        Only cases with the first kind are looked at: name the rarest. Nothing after `until` is seen.
        """
        also = "".join(
            " AND EXISTS (SELECT 1 FROM entries AS other WHERE other.case_code = one.case_code "
            "AND other.kind = ? AND other.position <= ?)"
            for _ in others
        )
        sql = (
            "SELECT case_code, max(position) FROM entries WHERE case_code IN (SELECT one.case_code "
            f"FROM entries AS one WHERE one.kind = ? AND one.position <= ?{also}) "
            "AND position <= ? GROUP BY case_code"
        )
        params = [value for kind in (rarest, *others) for value in (kind, until)]
        return dict(self.store.db.conn.execute(sql, (*params, until)))

    def codes(self) -> tuple[str, ...]:
        """Return the codes of all cases that something is recorded of, in alphabetical order."""
        sql = (
            "SELECT DISTINCT case_code FROM entries WHERE case_code IS NOT NULL ORDER BY case_code"
        )
        return tuple(row[0] for row in self.store.db.conn.execute(sql))

    def _entries(self, sql: str, params: tuple[object, ...]) -> tuple[Entry, ...]:
        return tuple(self._entry(row) for row in self.store.db.conn.execute(sql, params).fetchall())

    def _entry(self, row: Row) -> Entry:
        try:
            return decode(row[2], row[1])
        except (BadEntry, TypeError):
            return self._from_columns(row)

    def _from_columns(self, row: Row) -> Entry:
        """Show a damaged entry by its columns: the page opens, and the integrity check names it."""
        columns = next(iter(self.store.db.query(_COLUMNS, (row[0],))))
        return unreadable(row[2] if isinstance(row[2], bytes) else b"", **columns)
