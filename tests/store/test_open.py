from __future__ import annotations

import json
import sqlite3
import threading
from pathlib import Path

import pytest

from bench.core.refusal import Refusal
from bench.store import folder as folder_module
from bench.store.folder import is_unc, mount_type, share_of
from bench.store.log import Log
from bench.store.migrations import statements
from bench.store.open import FILE_NAME, Store, open_store
from bench.store.refusals import (
    FolderNotWritable,
    LogbookBusy,
    LogbookTooNew,
    NotALogbook,
    OnNetworkShare,
)
from tests.store.scenes import opened, opening, record

# Lines as proc(5) describes /proc/mounts, with invented devices.
MOUNTS = """\
/dev/sda1 / ext4 rw,relatime 0 0
server:/cases /mnt/cases nfs4 rw,vers=4.2 0 0
//server/lab /mnt/the\\040lab cifs rw 0 0
/dev/sdb1 /mnt/cases/local ext4 rw 0 0
"""


def pragma(store: Store, name: str) -> object:
    return store.db.conn.execute(f"PRAGMA {name}").fetchone()[0]


def record_until_refused(log: Log) -> None:
    for _ in range(200):
        record(log, *opening(2))


def test_a_new_folder_gets_a_logbook_that_is_safe_to_write(tmp_path: Path) -> None:
    with opened(tmp_path / "lab" / "bench") as store:
        found = {
            name: pragma(store, name)
            for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers")
        }

    assert {
        "journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "recursive_triggers": 1
    } == found  # fmt: skip


def test_every_table_of_ours_is_strict(store: Store) -> None:
    rows = store.db.conn.execute("SELECT name, strict FROM pragma_table_list WHERE type = 'table'")

    loose = {name for name, strict in rows if not strict}

    assert {"_sqlite_migrations", "sqlite_schema", "sqlite_temp_schema"} == loose


def test_a_bench_keeps_its_name_and_epoch(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        first = store.device, store.epoch

    with opened(tmp_path) as store:
        assert first == (store.device, store.epoch)
    assert first[0].startswith("bench-")
    assert len("bench-") + 12 == len(first[0])


def test_two_benches_have_different_names(tmp_path: Path) -> None:
    with opened(tmp_path / "a") as one, opened(tmp_path / "b") as other:
        assert one.device != other.device


def test_a_restored_bench_starts_a_chain_of_its_own(store: Store) -> None:
    log = Log(store)
    old_name, old_epoch = store.device, store.epoch
    record(log, *opening())

    store.start_new_epoch()
    (after, *_) = record(log, *opening(2))

    assert (old_name, old_epoch) != (store.device, store.epoch)
    assert (1, "") == (after.seq, after.prev)
    assert {old_name: 4, store.device: 4} == {d: c.seq for d, c in log.cursors().items()}


def test_a_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")

    with pytest.raises(FolderNotWritable) as caught:
        open_store(tmp_path / "file" / "bench")

    assert str(tmp_path / "file" / "bench") == caught.value.params["folder"]


def test_a_folder_that_cannot_be_written_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(**_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(folder_module.tempfile, "TemporaryFile", refuse)

    with pytest.raises(FolderNotWritable, match="Permission denied"):
        open_store(tmp_path)


@pytest.mark.parametrize(
    "content", [b"no database, but long enough" * 99, b"SQLite format 3\x00" * 99]
)
def test_a_file_that_is_no_database_is_refused_and_left_alone(
    tmp_path: Path, content: bytes
) -> None:
    (tmp_path / FILE_NAME).write_bytes(content)

    with pytest.raises(NotALogbook):
        open_store(tmp_path)

    assert content == (tmp_path / FILE_NAME).read_bytes()


def test_the_database_of_another_program_is_refused(tmp_path: Path) -> None:
    conn = sqlite3.connect(tmp_path / FILE_NAME)
    conn.execute("CREATE TABLE shopping (item TEXT)")
    conn.close()

    with pytest.raises(NotALogbook, match="another program"):
        open_store(tmp_path)


def test_a_logbook_of_a_newer_version_is_refused(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        store.db.conn.execute(
            "INSERT INTO _sqlite_migrations (migration_set, name) VALUES ('tiltbook', '9999_later')"
        )

    with pytest.raises(LogbookTooNew) as caught:
        open_store(tmp_path)

    assert "9999_later" == caught.value.params["changes"]


def test_a_logbook_whose_list_of_changes_is_damaged_is_refused(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        store.db.conn.execute("ALTER TABLE _sqlite_migrations RENAME COLUMN applied_at TO bpplied")

    with pytest.raises(NotALogbook, match="applied_at"):
        open_store(tmp_path)


def test_a_logbook_that_another_program_holds_is_refused_in_time(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bench.store.open.BUSY_S", 0.05)
    other = open_store(store.folder)

    with store.writing(), pytest.raises(LogbookBusy), other.writing():
        pass
    other.close()


def test_a_full_disk_is_said_and_nothing_is_kept(store: Store) -> None:
    log = Log(store)
    before = record(log, *opening())
    pages = store.db.conn.execute("PRAGMA page_count").fetchone()[0]
    store.db.conn.execute(f"PRAGMA max_page_count = {pages}")

    with pytest.raises(FolderNotWritable, match="full"):
        record_until_refused(log)
    store.db.conn.execute("PRAGMA max_page_count = 1000000")

    held = {device: cursor.seq for device, cursor in log.cursors().items()}
    assert before == log.entries_of(before[0].case or "")
    assert {store.device: 4 + len(log.entries_of(opening(2)[0].case or ""))} == held
    assert record(log, *opening(3))


def test_a_network_share_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bench.store.folder.share_of", lambda _: "nfs4")

    with pytest.raises(OnNetworkShare) as caught:
        open_store(tmp_path)

    assert "nfs4" == caught.value.params["share"]


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/home/bench", "ext4"),
        ("/mnt/cases", "nfs4"),
        ("/mnt/cases/2025", "nfs4"),
        ("/mnt/cases/local/a", "ext4"),
        ("/mnt/cases2", "ext4"),
        ("/mnt/the lab/a", "cifs"),
    ],
)
def test_the_mount_a_folder_lies_in_is_the_longest_that_fits(folder: str, kind: str) -> None:
    assert kind == mount_type(folder, MOUNTS)


@pytest.mark.parametrize(
    ("path", "share"),
    [(r"\\server\lab", True), (r"\\?\C:\lab", False), (r"C:\lab", False), ("/lab", False)],
)
def test_a_unc_path_names_a_share(path: str, share: bool) -> None:
    assert share == is_unc(path)


def test_a_folder_of_this_machine_is_no_share(tmp_path: Path) -> None:
    assert share_of(tmp_path) is None


def test_where_mounts_cannot_be_read_the_folder_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(folder_module, "_MOUNTS", tmp_path / "nothing")

    assert share_of(tmp_path) is None


def test_each_thread_has_its_own_connection_and_ended_ones_are_closed(store: Store) -> None:
    seen: list[sqlite3.Connection] = []

    for _ in range(3):
        thread = threading.Thread(target=lambda: seen.append(store.db.conn))
        thread.start()
        thread.join()

    assert store.db.conn is store.db.conn
    assert 4 == len({id(conn) for conn in [*seen, store.db.conn]})
    with pytest.raises(sqlite3.ProgrammingError, match="closed"):
        seen[0].execute("SELECT 1")


def test_a_script_that_ends_inside_a_statement_is_refused() -> None:
    with pytest.raises(ValueError, match="ends inside"):
        list(statements("SELECT 1;\nCREATE TABLE a ("))


def test_a_refusal_says_what_why_and_what_to_do() -> None:
    kinds: list[Refusal] = [
        FolderNotWritable(folder="a", reason="Full"),
        OnNetworkShare(folder="a", share="nfs"),
        NotALogbook(file="a", reason="Damaged"),
        LogbookTooNew(file="a", changes="b"),
        LogbookBusy(file="a", seconds=1),
    ]

    said = [(str(one), one.code) for one in kinds]

    assert all(text.count(". ") >= 2 for text, _ in said)
    assert len(kinds) == len({code for _, code in said})
    assert json.dumps([dict(one.params) for one in kinds])
