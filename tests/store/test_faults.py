from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from bench.store.integrity import check
from bench.store.log import Log
from bench.store.open import Store, open_store
from bench.store.refusals import FolderNotWritable
from tests import strategies
from tests.store.scenes import CODE, checked, opened, opening, person, policy, reading, record

ROOT = Path(__file__).resolve().parents[2]
WRITER = """
import sys
from pathlib import Path
from bench.store.log import Log
from bench.store.open import open_store
from tests.store.scenes import opening, reading, record
from tests import strategies

log = Log(open_store(Path(sys.argv[1])))
n = int(sys.argv[2])
record(log, *opening(n))
setting = strategies.entry_id(1, 1)
while True:
    for entry in record(log, reading(setting, number=n), reading(setting, 33, number=n)):
        print(entry.id, flush=True)
"""


class Disk:
    """Counts the writes of a test's connections and fails the one that is asked for."""

    def __init__(self) -> None:
        self.fails_at, self.writes = 0, 0

    def write(self, sql: str) -> None:
        if sql.lstrip().upper().startswith(("SELECT", "ROLLBACK", "PRAGMA")):
            return
        self.writes += 1
        if self.writes == self.fails_at:
            error = sqlite3.OperationalError("disk I/O error")
            error.sqlite_errorcode = sqlite3.SQLITE_IOERR_WRITE
            raise error


def goes_through(disk: Disk, fails_at: int, act: Callable[[], object]) -> bool:
    """Say whether an act succeeds although one of its writes is to fail: it has fewer than that."""
    disk.fails_at, disk.writes = fails_at, 0
    try:
        act()
    except FolderNotWritable:
        return False
    finally:
        disk.fails_at = 0
    return True


@pytest.fixture
def disk() -> Disk:
    return Disk()


@pytest.fixture
def failing(disk: Disk, tmp_path: Path) -> Iterator[Store]:
    class Failing(sqlite3.Connection):
        def execute(self, sql: str, *params: Any) -> sqlite3.Cursor:
            disk.write(sql)
            return super().execute(sql, *params)

        def executemany(self, sql: str, *params: Any) -> sqlite3.Cursor:
            disk.write(sql)
            return super().executemany(sql, *params)

    store = open_store(tmp_path / "bench", connection=Failing)
    yield store
    store.close()


CHAIN = [stored for _, stored in strategies.chained("tablet-1", opening(3))]
WRITES: dict[str, Callable[[Log], object]] = {
    "record": lambda log: record(log, *opening(2)),
    "record for the lab": lambda log: record(log, policy("R1", "warns")),
    "append": lambda log: log.append([*CHAIN, CHAIN[0].replace(b"master", b"duplicate")]),
    "rebuild": lambda log: log.models.rebuild(),
    "catch up": lambda log: (record(log, policy("R2", "warns")), log.models.board()),
    "start a new epoch": lambda log: log.store.start_new_epoch(),
}


@pytest.mark.parametrize("write", WRITES.values(), ids=WRITES)
def test_whichever_write_fails_nothing_is_torn(
    write: Callable[[Log], object], failing: Store, disk: Disk
) -> None:
    log = Log(failing)
    record(log, person())
    before = record(log, *opening(1))
    failed = 0

    while not goes_through(disk, failed + 1, lambda: write(log)):
        failed += 1
        assert check(failing).clean
        assert before == log.entries_of(CODE)

    assert failed >= 3
    assert check(failing).clean


def test_whichever_write_fails_at_the_first_start_the_next_start_is_clean(
    disk: Disk, tmp_path: Path
) -> None:
    class Failing(sqlite3.Connection):
        def execute(self, sql: str, *params: Any) -> sqlite3.Cursor:
            disk.write(sql)
            return super().execute(sql, *params)

    failed = 0

    def start() -> None:
        open_store(tmp_path / str(failed), connection=Failing).close()

    while not goes_through(disk, failed + 1, start):
        assert checked(tmp_path / str(failed)).clean
        failed += 1

    assert failed > 20


@pytest.mark.parametrize("round_", range(5))
def test_what_was_acknowledged_survives_a_killed_writer(tmp_path: Path, round_: int) -> None:
    dice = random.Random(round_)
    acknowledged: set[str] = set()
    for n in (1, 2):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path), str(n)],
            cwd=ROOT, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert writer.stdout is not None
        for _ in range(dice.randrange(1, 60)):
            acknowledged.add(writer.stdout.readline().strip())
        writer.kill()
        rest = writer.stdout.read()
        acknowledged |= {
            line.strip() for line in rest.splitlines(keepends=True) if line[-1] == "\n"
        }
        writer.stdout.close()
        writer.wait()

    assert checked(tmp_path).clean
    with opened(tmp_path) as store:
        log = Log(store)
        held = {entry.id for code in log.codes() for entry in log.entries_of(code)}
    assert acknowledged <= held
    assert "" not in acknowledged


def test_a_reading_that_was_never_acknowledged_can_be_sent_again(
    failing: Store, disk: Disk
) -> None:
    log = Log(failing)
    key = strategies.entry_id(1, 7)
    disk.fails_at, disk.writes = 2, 0

    with pytest.raises(FolderNotWritable):
        record(log, reading(key, key=key))

    assert record(log, reading(key, key=key)) == log.entries_of(CODE)
