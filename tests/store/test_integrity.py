from __future__ import annotations

import random
import sqlite3
from pathlib import Path

import pytest

from bench.core.entries import Draft, PhotoKept
from bench.core.refusal import Refusal
from bench.store.integrity import Report, check
from bench.store.log import Log
from bench.store.open import FILE_NAME, Store
from tests import strategies
from tests.store.scenes import CODE, checked, opened, opening, person, policy, reading, record

TABLES = (
    "entries",
    "quarantine",
    "bench",
    "case_summaries",
    "case_teeth",
    "case_people",
    "case_words",
)
PHOTO = Draft(PhotoKept("ab" * 32, "image/jpeg", 10, 10, "cast"), "AB", CODE)


def told(report: Report) -> set[str]:
    return {problem.code for problem in report.problems}


def by_hand(store: Store, sql: str, *params: object) -> None:
    """Change a table the way somebody with the file open would, past the triggers."""
    names = (
        "entries_are_never_changed",
        "entries_are_never_deleted",
        "quarantine_is_never_changed",
    )
    conn = store.db.conn
    kept = [
        conn.execute("SELECT sql FROM sqlite_master WHERE name = ?", (name,)).fetchone()[0]
        for name in names
    ]
    for name in names:
        conn.execute(f"DROP TRIGGER {name}")
    conn.execute(sql, params)
    for trigger in kept:
        conn.execute(trigger)


@pytest.fixture
def full(log: Log) -> Log:
    """A logbook with two devices, two cases, the lab and something kept aside."""
    record(log, person())
    record(log, *opening())
    log.append([stored for _, stored in strategies.chained("tablet-1", opening(2))])
    log.append([stored for _, stored in strategies.chained("tablet-1", opening(3))])
    return log


def test_a_sound_logbook_is_clean_and_counted(full: Log) -> None:
    report = check(full.store)

    assert report.clean
    assert (9, 2, 2, 4) == (report.entries, report.devices, report.cases, report.kept_aside)


def test_an_empty_logbook_is_clean(store: Store) -> None:
    assert check(store).clean


def test_a_logbook_with_outdated_lines_is_clean(full: Log) -> None:
    record(full, policy("R1", "warns"))

    assert check(full.store).clean


@pytest.mark.parametrize(
    ("sql", "problem"),
    [
        ("UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), 'AB', 'XY') AS BLOB)", "digest_differs"),
        ("UPDATE entries SET digest = upper(digest) WHERE position = 3", "digest_differs"),
        ("UPDATE entries SET person = 'XY' WHERE position = 3", "columns_differ"),
        ("UPDATE entries SET case_code = NULL WHERE position = 3", "columns_differ"),
        ("UPDATE entries SET setting_id = 'x' WHERE position = 3", "columns_differ"),
        ("UPDATE entries SET at = '2025' WHERE position = 3", "columns_differ"),
        ("UPDATE entries SET received_at = '2025' WHERE position = 3", "arrival_broken"),
        ("UPDATE entries SET arrival = 'x' WHERE position = 3", "arrival_broken"),
        ("UPDATE entries SET position = 100 WHERE position = 9", "position_gap"),
        ("DELETE FROM entries WHERE position = 4", "sequence_gap"),
        ("DELETE FROM entries WHERE position = 1", "position_gap"),
        ("UPDATE quarantine SET device = 'x'", "quarantine_damaged"),
        ("UPDATE quarantine SET bytes = x'00'", "quarantine_damaged"),
        ("UPDATE quarantine SET code = 'gap'", "quarantine_damaged"),
        ("UPDATE quarantine SET received_at = '2025'", "quarantine_damaged"),
        ("UPDATE bench SET device = 'bench-000000000000'", "bench_damaged"),
        ("UPDATE bench SET epoch = 'x'", "bench_damaged"),
        ("DELETE FROM bench", "bench_damaged"),
        ("UPDATE case_summaries SET state = 'released'", "board_differs"),
        ("UPDATE case_summaries SET stale = 7", "board_differs"),
        ("DELETE FROM case_words", "board_differs"),
        ("DELETE FROM case_summaries WHERE state = 'surveying'", "board_differs"),
        ("INSERT INTO case_people (person, code) SELECT 'ZZ', code FROM case_summaries", "board_differs"),
        ("UPDATE case_counts SET cases = 5", "counts_differ"),
        ("DROP TRIGGER entries_are_never_replaced", "schema_differs"),
        ("CREATE TABLE more (a)", "schema_differs"),
        ("PRAGMA application_id = 1", "file_damaged"),
    ],
)  # fmt: skip
def test_what_was_changed_by_hand_is_told(full: Log, sql: str, problem: str) -> None:
    by_hand(full.store, sql)

    assert problem in told(check(full.store))


def test_a_link_that_was_sealed_anew_is_told(full: Log) -> None:
    forged = strategies.chained("tablet-1", [reading(strategies.entry_id(1, 1))])[0]
    by_hand(
        full.store, "UPDATE entries SET bytes = ?, digest = ? WHERE device = 'tablet-1' AND device_seq = 2",
        forged[1], forged[0].digest,
    )  # fmt: skip

    assert {"columns_differ", "sequence_gap", "arrival_broken"} <= told(check(full.store))


def test_a_line_without_entries_is_told(full: Log) -> None:
    full.store.db.conn.execute(
        "INSERT INTO case_summaries SELECT 'ZZZZZZZZ', number, arch, kennedy, state, step, opened_at, "
        "touched_at, blocking, warning, stale, contradictions, overruled, lab_position "
        "FROM case_summaries LIMIT 1"
    )

    assert {"board_differs"} == told(check(full.store))


def test_a_problem_names_the_entry(full: Log) -> None:
    by_hand(full.store, "UPDATE entries SET person = 'XY' WHERE position = 3")

    (problem,) = (one for one in check(full.store).problems if one.code == "columns_differ")

    entry = full.entries_of(CODE)[1]
    assert {"position": 3, "entry": entry.id} == problem.params


def test_a_damaged_entry_does_not_close_the_case(full: Log) -> None:
    whole = full.entries_of(CODE)
    by_hand(full.store, "UPDATE entries SET bytes = x'7bff' WHERE position = 3")

    entries = full.entries_of(CODE)

    assert [e.id for e in whole] == [e.id for e in entries]
    assert whole[2:] == entries[2:]
    assert "unknown" == type(entries[1].body).__name__.lower()


def test_photos_are_asked_for_once_each(log: Log) -> None:
    asked: list[PhotoKept] = []
    record(log, PHOTO, PHOTO)

    report = check(log.store, lambda body: (asked.append(body), "photo_missing")[1])

    assert [PHOTO.body] == asked
    assert [("photo_missing", {"sha256": "ab" * 32})] == [
        (p.code, p.params) for p in report.problems
    ]
    assert check(log.store, lambda _: None).clean


def contents(folder: Path) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of every table that the logbook promises to keep."""
    conn = sqlite3.connect(folder / FILE_NAME)
    try:
        return {t: sorted(conn.execute(f"SELECT * FROM {t}").fetchall(), key=repr) for t in TABLES}
    finally:
        conn.close()


def is_told_or_harmless(folder: Path, before: dict[str, list[tuple[object, ...]]]) -> bool:
    """Say whether damage is told; a byte of unused space changes nothing that is ever read."""
    try:
        if not checked(folder).clean:
            return True
        return before == contents(folder)
    except (Refusal, sqlite3.DatabaseError):
        return True


def test_every_changed_byte_that_can_be_read_is_told(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        log = Log(store)
        record(log, person())
        record(log, *opening())
        store.db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    file = tmp_path / FILE_NAME
    sound, before = file.read_bytes(), contents(tmp_path)
    dice = random.Random(11)
    places = [place for place, byte in enumerate(sound) if byte]

    missed = []
    for place in dice.sample(places, 120):
        changed = bytearray(sound)
        changed[place] ^= 1 << dice.randrange(8)
        file.write_bytes(changed)
        if not is_told_or_harmless(tmp_path, before):
            missed.append(place)

    assert [] == missed


def test_every_changed_byte_of_an_entry_is_told(log: Log) -> None:
    (entry,) = record(log, reading(strategies.entry_id(1, 1)))
    (stored,) = log.after(entry.device, 0)
    dice = random.Random(12)

    for place in dice.sample(range(len(stored)), 40):
        changed = bytearray(stored)
        changed[place] ^= 1 << dice.randrange(8)
        by_hand(log.store, "UPDATE entries SET bytes = ?", bytes(changed))

        assert "digest_differs" in told(check(log.store))
