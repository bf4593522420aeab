from __future__ import annotations

import sqlite3
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.bounds import BadEntry
from bench.core.entries import Draft, Entry, Unknown
from bench.core.ids import case_code, entry_id
from bench.core.wire import document, seal
from bench.store.integrity import check
from bench.store.log import Log
from bench.store.open import Store
from bench.store.refusals import AlreadyRecorded
from tests import strategies
from tests.store.scenes import (
    CODE,
    KEY,
    NOW_MS,
    bits,
    checked,
    opened,
    opening,
    person,
    policy,
    reading,
    record,
    remade,
    tablet_chain,
)


def test_what_is_recorded_is_the_bench_own_chain(log: Log) -> None:
    entries = record(log, *opening())

    assert [(log.store.device, n) for n in (1, 2, 3, 4)] == [(e.device, e.seq) for e in entries]
    assert ["", *(e.digest for e in entries[:-1])] == [e.prev for e in entries]
    assert entries == log.entries_of(CODE)


def test_a_number_is_returned_as_it_was_stored(log: Log) -> None:
    draft = reading(KEY)
    fine = replace(draft, body=replace(draft.body, drop_mm=1.23456))

    (entry,) = record(log, fine)

    assert 1.2346 == entry.body.drop_mm  # type: ignore[union-attr]
    assert (entry,) == log.entries_of(CODE)


def test_statements_of_one_call_keep_their_order_by_id(log: Log) -> None:
    entries = record(log, *opening())

    assert sorted(e.id for e in entries) == [e.id for e in entries]


def test_a_clock_set_back_does_not_turn_the_order_round(log: Log) -> None:
    (before,) = record(log, reading(KEY), now_ms=NOW_MS)
    (after,) = record(log, reading(KEY), now_ms=NOW_MS - 3_600_000)

    assert before.id < after.id
    assert "2023-11-14T21:13:20.000Z" == after.at


def test_an_id_far_ahead_is_not_followed(log: Log) -> None:
    record(log, reading(KEY, key=entry_id(2**48 - 1, 1)))

    (after,) = record(log, reading(KEY))

    assert after.id.startswith(entry_id(NOW_MS, 0)[:13])


def test_a_double_tap_is_answered_with_the_first_entry(log: Log) -> None:
    first = record(log, reading(KEY, key=KEY))
    again = record(log, reading(KEY, key=KEY))

    assert first == again
    assert 1 == len(log.entries_of(CODE))


def test_a_double_tap_is_not_checked_again(log: Log) -> None:
    def refuse(entries: tuple[Entry, ...]) -> None:
        if entries:
            raise BadEntry("case", "stale_page")

    first = record(log, reading(KEY, key=KEY), check=refuse)

    assert first == record(log, reading(KEY, key=KEY), check=refuse)


@pytest.mark.parametrize("changes", [{"person": "CD"}, {"reason": "x"}, {"case": case_code(2)}])
def test_another_statement_under_a_known_id_is_refused(log: Log, changes: dict[str, str]) -> None:
    record(log, reading(KEY, key=KEY))

    with pytest.raises(AlreadyRecorded) as caught:
        record(log, replace(reading(KEY, key=KEY), **changes))

    assert KEY == caught.value.params["entry"]


def test_a_refused_check_keeps_nothing(log: Log) -> None:
    seen: list[tuple[Entry, ...]] = []
    before = record(log, *opening())

    def refuse(entries: tuple[Entry, ...]) -> None:
        seen.append(entries)
        raise BadEntry("case", "stale_page")

    with pytest.raises(BadEntry, match="stale_page"):
        record(log, reading(KEY), reading(KEY, 33), check=refuse)

    assert [before] == seen
    assert before == log.entries_of(CODE)


def test_a_check_of_the_lab_sees_the_entries_of_the_lab(log: Log) -> None:
    seen: list[tuple[Entry, ...]] = []
    before = record(log, person("SV"))

    record(log, policy(), check=seen.append)

    assert [before] == seen


def test_statements_of_two_cases_are_not_recorded_together(log: Log) -> None:
    with pytest.raises(BadEntry, match="two_cases"):
        record(log, reading(KEY), reading(KEY, number=2))


def test_one_id_twice_in_a_call_is_refused(log: Log) -> None:
    with pytest.raises(BadEntry, match="named_twice"):
        record(log, reading(KEY, key=KEY), reading(KEY, key=KEY))


@pytest.mark.parametrize(
    ("draft", "code"),
    [
        (replace(reading(KEY), case="22222223"), "bad_code"),
        (replace(reading(KEY), entry_id="7"), "no_entry_id"),
        (replace(reading(KEY), setting="7"), "no_entry_id"),
        (replace(reading(KEY), person=" "), "missing"),
        (replace(reading(KEY), body=Unknown("{}")), "bad_body"),
    ],
)
def test_a_draft_that_cannot_be_read_back_is_refused(log: Log, draft: Draft, code: str) -> None:
    with pytest.raises(BadEntry) as caught:
        record(log, draft)

    assert code == caught.value.code
    assert {} == log.cursors()


def test_the_lab_is_folded_anew_only_when_an_entry_was_added(log: Log) -> None:
    record(log, person("AB"))
    first = log.lab()
    record(log, *opening())

    assert first is log.lab()
    record(log, person("CD"))
    assert {"AB", "CD"} == set(log.lab().people)


def test_a_lab_entry_that_was_rolled_back_is_forgotten(log: Log) -> None:
    def look_and_refuse(conn: sqlite3.Connection) -> None:
        log._insert(conn, [seal_of(person("ZZ"))], "2025-01-01T00:00:00.000Z")
        assert {"ZZ"} == set(log.lab().people)
        raise BadEntry("case", "stale_page")

    def seal_of(draft: Draft) -> tuple[Entry, bytes]:
        return strategies.chained("tablet-9", [draft])[0]

    with pytest.raises(BadEntry), log.store.writing() as conn:
        look_and_refuse(conn)

    record(log, person("AB"))
    assert {"AB"} == set(log.lab().people)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE entries SET person = 'XX'",
        "DELETE FROM entries",
        "INSERT OR REPLACE INTO entries SELECT * FROM entries",
        "REPLACE INTO entries (position, id, device, device_seq, kind, person, at, prev, digest, "
        "bytes, received_at, arrival) SELECT position + 100, id, 'other', 1, kind, person, at, prev, "
        "digest, bytes, received_at, arrival FROM entries LIMIT 1",
        "INSERT INTO entries SELECT * FROM entries WHERE true ON CONFLICT DO UPDATE SET person = 'X'",
        "UPDATE quarantine SET code = 'x'",
        "DELETE FROM quarantine",
    ],
)
@pytest.mark.parametrize("recursive", ["ON", "OFF"])
def test_an_entry_is_never_changed_deleted_or_replaced(log: Log, sql: str, recursive: str) -> None:
    chain = tablet_chain(2)
    log.append([*chain, remade(chain[0], person="XY")])
    log.store.db.conn.execute(f"PRAGMA recursive_triggers = {recursive}")

    with pytest.raises(sqlite3.IntegrityError, match="never"):
        log.store.db.conn.execute(sql)

    assert chain == list(log.after("tablet-1", 0))


def test_two_threads_that_record_at_once_lose_nothing(log: Log) -> None:
    said: list[str] = []

    def many(number: int) -> None:
        for _ in range(40):
            said.extend(e.id for e in record(log, reading(KEY, number=number)))

    threads = [threading.Thread(target=many, args=(n,)) for n in (1, 2, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    held = [e.id for code in log.codes() for e in log.entries_of(code)]
    assert 120 == len(said)
    assert sorted(said) == sorted(held)
    assert check(log.store).clean


def test_two_stores_on_one_file_that_record_at_once_lose_nothing(store: Store) -> None:
    with opened(store.folder) as other:
        logs = [Log(store), Log(other)]
        threads = [
            threading.Thread(target=lambda log=log: [record(log, reading(KEY)) for _ in range(25)])
            for log in logs
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

    assert 50 == len(Log(store).entries_of(CODE))
    assert check(store).clean


def test_reading_does_not_wait_for_a_writer(log: Log) -> None:
    before = record(log, *opening())
    seen: list[tuple[Entry, ...]] = []

    with log.store.writing():
        reader = threading.Thread(target=lambda: seen.append(log.entries_of(CODE)))
        reader.start()
        reader.join(timeout=5)

    assert [before] == seen


def test_a_restart_finds_everything(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        device = store.device
        before = record(Log(store), *opening())
        Log(store).append(tablet_chain(3))

    with opened(tmp_path) as store:
        log = Log(store)
        assert device == store.device
        assert before == log.entries_of(CODE)[:4]
        assert {device: 4, "tablet-1": 3} == {d: c.seq for d, c in log.cursors().items()}


@settings(max_examples=30, deadline=None)
@given(said=st.lists(strategies.drafts(case=CODE), min_size=1, max_size=6))
def test_whatever_can_be_said_of_a_case_is_recorded_and_read_back(
    said: list[Draft], tmp_path_factory: pytest.TempPathFactory
) -> None:
    with opened(tmp_path_factory.mktemp("bench")) as store:
        entries = Log(store).record(said, now_ms=NOW_MS, random_bits=bits)

        assert entries == Log(store).entries_of(CODE)
        assert [draft.body for draft in said] == [entry.body for entry in entries]
        assert [document(e) for e in entries] == [document(seal(e)[0]) for e in entries]


def test_the_log_of_a_closed_store_is_clean(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        record(Log(store), *opening())

    assert checked(tmp_path).clean
