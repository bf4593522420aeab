"""Open the logbook's file: one SQLite database in a folder of this machine, a connection per thread."""

from __future__ import annotations

import hashlib
import secrets
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlite_utils import Database

from bench.core.refusal import Refusal
from bench.store.folder import made_ready
from bench.store.migrations import MIGRATIONS, unknown_to_this_version
from bench.store.refusals import FolderNotWritable, LogbookBusy, LogbookTooNew, NotALogbook

FILE_NAME = "logbook.sqlite3"
APPLICATION_ID = 0x54494C54
BUSY_S = 10
_DISK_TROUBLE = (
    sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_PERM,
)  # fmt: skip
_SETTINGS = (
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA recursive_triggers = ON",
    "PRAGMA trusted_schema = OFF",
)


class Store:
    """The open logbook. Threads read side by side; writers take turns."""

    def __init__(
        self, folder: Path, connection: type[sqlite3.Connection], random_hex: Callable[[int], str]
    ) -> None:
        self.folder = folder
        self.path = folder / FILE_NAME
        self._connection = connection
        self._random_hex = random_hex
        self._turn = threading.RLock()
        self._opening = threading.Lock()
        self._open: dict[threading.Thread, Database] = {}

    @property
    def db(self) -> Database:
        """The calling thread's own connection, opened at first use."""
        thread = threading.current_thread()
        found = self._open.get(thread)
        return found if found is not None else self._opened_for(thread)

    def _opened_for(self, thread: threading.Thread) -> Database:
        db = _connected(self.path, self._connection)
        with self._opening:
            for gone in [one for one in self._open if not one.is_alive()]:
                self._open.pop(gone).conn.close()
            self._open[thread] = db
        return db

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Hold the one write transaction: all of what is done inside is kept, or none of it.

        It begins IMMEDIATE: a transaction that read first and asked to write later would be refused
        whenever another writer came between. Raises LogbookBusy, and FolderNotWritable when the disk
        is full or fails.
        """
        with self._turn:
            conn = self.db.conn
            try:
                conn.execute("BEGIN IMMEDIATE")
                yield conn
                conn.execute("COMMIT")
            except BaseException as error:
                # Some errors have ended the transaction already; the first error is the one to tell.
                with suppress(sqlite3.Error):
                    if conn.in_transaction:
                        conn.execute("ROLLBACK")
                refused = _refused(self, error)
                if refused:
                    raise refused from error
                raise

    @property
    def device(self) -> str:
        """The name under which this bench records its own entries."""
        return self._bench()[0]

    @property
    def epoch(self) -> str:
        """A mark that changes when the logbook was restored: tablets then send again what it lost."""
        return self._bench()[1]

    def _bench(self) -> tuple[str, str]:
        row = self.db.conn.execute("SELECT device, epoch FROM bench").fetchone()
        return str(row[0]), str(row[1])

    def start_new_epoch(self) -> None:
        """Take a new name and epoch, as after a restore.

        The old name's chain may have gone on in what was lost, so nothing is added to it any more.
        """
        with self.writing() as conn:
            conn.execute("DELETE FROM bench")
            self.name_bench(conn)

    def name_bench(self, conn: sqlite3.Connection) -> None:
        """Give the bench a fresh random name and epoch where it has none. Runs inside `writing`."""
        device, epoch = f"bench-{self._random_hex(6)}", self._random_hex(8)
        row = (device, epoch, bench_digest(device, epoch))
        conn.execute(
            "INSERT INTO bench (only_row, device, epoch, digest) VALUES (1, ?, ?, ?) "
            "ON CONFLICT (only_row) DO NOTHING",
            row,
        )

    def close(self) -> None:
        """Close the connections of all threads. Using the store afterwards opens them again."""
        with self._opening:
            while self._open:
                self._open.popitem()[1].conn.close()


def bench_digest(device: str, epoch: str) -> str:
    """Return the check over the bench's name and epoch, so that a damaged row is noticed."""
    return hashlib.sha256(f"{device} {epoch}".encode()).hexdigest()


def _connected(path: Path, connection: type[sqlite3.Connection]) -> Database:
    # Each connection is used by one thread; `close` alone reaches over from another.
    conn = sqlite3.connect(
        path, timeout=BUSY_S, isolation_level=None, check_same_thread=False, factory=connection
    )
    try:
        for setting in _SETTINGS:
            conn.execute(setting)
        return Database(conn, recursive_triggers=True, execute_plugins=False)
    except BaseException:
        conn.close()
        raise


def open_store(
    folder: Path,
    *,
    connection: type[sqlite3.Connection] = sqlite3.Connection,
    random_hex: Callable[[int], str] = secrets.token_hex,
) -> Store:
    """Open the logbook of a folder, making folder, file and tables where they are missing.

    Raises FolderNotWritable, OnNetworkShare, NotALogbook, LogbookTooNew, LogbookBusy.
    """
    store = Store(made_ready(folder), connection, random_hex)
    try:
        _prepare(store)
    except (sqlite3.DatabaseError, UnicodeDecodeError, KeyError) as error:
        # Damage may reach the names of columns, and the text of SQLite's own complaint.
        store.close()
        refused = _refused(store, error)
        raise refused or NotALogbook(file=str(store.path), reason=str(error)) from error
    except BaseException:
        store.close()
        raise
    return store


def _refused(store: Store, error: BaseException) -> Refusal | None:
    """Return what an error of SQLite means to the bench, or None for one that is no fault of the file."""
    cause, reason = getattr(error, "sqlite_errorcode", 0) & 0xFF, str(error).capitalize()
    if cause == sqlite3.SQLITE_BUSY:
        return LogbookBusy(file=str(store.path), seconds=BUSY_S)
    if cause in _DISK_TROUBLE:
        return FolderNotWritable(folder=str(store.folder), reason=reason)
    if cause in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return NotALogbook(file=str(store.path), reason=reason)
    return None


def _prepare(store: Store) -> None:
    db = store.db
    _refuse_foreign(db, store.path)
    if db.journal_mode != "wal":
        db.enable_wal()
    # One writer migrates and names the bench; a second process that starts now waits for it.
    with store.writing() as conn:
        MIGRATIONS.apply(db)
        conn.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        store.name_bench(conn)


def _refuse_foreign(db: Database, path: Path) -> None:
    tables = db.conn.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    mark = db.conn.execute("PRAGMA application_id").fetchone()[0]
    if tables and mark != APPLICATION_ID:
        raise NotALogbook(file=str(path), reason="It is a database of another program")
    changes = unknown_to_this_version(db)
    if changes:
        raise LogbookTooNew(file=str(path), changes=", ".join(changes))
