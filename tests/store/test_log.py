from __future__ import annotations

import json
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
from bench.core.wire import canonical, digest_of, document, seal
from bench.store.decode import decode
from bench.store.integrity import check
from bench.store.log import Log
from bench.store.open import Store
from bench.store.refusals import AlreadyRecorded, BatchTooLarge
from tests import strategies
from tests.store.scenes import (
    CODE,
    NOW_MS,
    bits,
    checked,
    opened,
    opening,
    person,
    policy,
    reading,
    record,
)

KEY = entry_id(NOW_MS, 5)


def tablet_chain(count: int, device: str = "tablet-1", number: int = 1) -> list[bytes]:
    """Return the bytes of a tablet's chain of readings."""
    setting = entry_id(NOW_MS, number)
    said = [reading(setting, number=number) for _ in range(count)]
    return [stored for _, stored in strategies.chained(device, said)]


def verdicts(log: Log, batch: list[bytes]) -> list[str]:
    return [f"{one.verdict} {one.code}".strip() for one in log.append(batch)]


def remade(stored: bytes, **changes: object) -> bytes:
    """Return stored bytes with some of their fields changed, in canonical form."""
    return canonical({**json.loads(stored), **changes})


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


def test_a_chain_sent_twice_is_stored_once(log: Log) -> None:
    chain = tablet_chain(3)

    assert ["stored"] * 3 == verdicts(log, chain)
    assert ["already"] * 3 == verdicts(log, chain)
    assert chain == list(log.after("tablet-1", 0))


def test_a_receipt_names_id_and_digest(log: Log) -> None:
    (stored,) = tablet_chain(1)

    (receipt,) = log.append([stored])

    (entry,) = log.entries_of(CODE)
    assert (entry.id, digest_of(stored)) == (receipt.id, receipt.digest)


def test_a_batch_may_be_in_any_order(log: Log) -> None:
    chain = tablet_chain(4)

    assert ["stored"] * 4 == verdicts(log, [chain[2], chain[0], chain[3], chain[1]])


def test_a_gap_is_refused_with_the_number_held(log: Log) -> None:
    chain = tablet_chain(4)
    log.append(chain[:1])

    (receipt,) = log.append(chain[2:3])

    assert ("refused", "gap", 1) == (receipt.verdict, receipt.code, receipt.held_seq)


def test_the_same_id_with_other_bytes_is_an_alarm_and_kept(log: Log) -> None:
    (stored,) = tablet_chain(1)
    other = remade(stored, person="XY")
    log.append([stored])

    assert ["refused other_digest"] * 2 == verdicts(log, [other, other])
    kept = log.store.db.conn.execute("SELECT bytes, code FROM quarantine").fetchall()
    assert [(other, "other_digest")] == kept


def test_a_second_chain_of_one_device_is_refused_and_kept(log: Log) -> None:
    chain = tablet_chain(2)
    log.append(chain)
    forked = remade(chain[1], id=entry_id(1, 1))
    unlinked = remade(chain[1], id=entry_id(1, 2), seq=3, prev="0" * 64)

    assert ["refused chain_forked", "refused wrong_prev"] == verdicts(log, [forked, unlinked])
    assert 2 == check(log.store).kept_aside
    assert check(log.store).clean


def test_an_unknown_kind_is_stored_and_does_not_break_the_chain(log: Log) -> None:
    first, second = tablet_chain(2)
    strange = remade(first, kind="wax_tried", body={"b": 1e-7, "a": [True]})
    strange = strange.replace(b"1e-07", b"1e-7")
    linked = remade(second, prev=digest_of(strange))

    assert ["stored", "stored"] == verdicts(log, [strange, linked])
    assert Unknown('{"a":[true],"b":1e-7}') == log.entries_of(CODE)[0].body


@pytest.mark.parametrize(
    ("changes", "code", "field"),
    [
        ({"id": "x"}, "no_entry_id", "id"),
        ({"device": "../etc"}, "bad_device", "device"),
        ({"device": ""}, "bad_device", "device"),
        ({"at": "2025-01-01T00:00:00Z"}, "bad_at", "at"),
        ({"prev": "abc"}, "bad_prev", "prev"),
        ({"kind": "Undercut"}, "bad_kind", "kind"),
        ({"seq": 0}, "out_of_range", "seq"),
        ({"seq": 2**60}, "out_of_range", "seq"),
        ({"v": 0}, "out_of_range", "v"),
        ({"person": ""}, "missing", "person"),
        ({"case": "22222223"}, "bad_code", "case"),
        ({"case": None}, "missing", "case"),
        ({"setting": None}, "no_setting", "setting"),
        ({"supersedes": ["x"]}, "no_entry_id", "supersedes"),
        ({"supersedes": [KEY]}, "missing", "reason"),
        ({"reason": "\x07"}, "control_characters", "reason"),
        ({"body": {"tooth": 34}}, "bad_body", "body"),
        (
            {"body": {"tooth": 99, "surface": "M", "gauge_mm": 1, "contact": "none"}},
            "no_such_tooth",
            "tooth",
        ),
        ({"extra": 1}, "not_canonical", "entry"),
        ({"seq": "1"}, "unreadable", "entry"),
    ],
)
def test_what_breaks_its_bounds_is_refused(
    log: Log, changes: dict[str, object], code: str, field: str
) -> None:
    (stored,) = tablet_chain(1)

    (receipt,) = log.append([remade(stored, **changes)])

    assert ("refused", code, field) == (receipt.verdict, receipt.code, receipt.field)
    assert {} == log.cursors()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"seq":1', b'"seq": 1'),
        (b'"seq":1', b'"seq":1.0'),
        (b"0.25", b"0.250"),
        (b'"marked":false', b'"marked":false '),
        (b'"person":"AB"', b'"person":"\\u0041B"'),
        (b'"contact":"both"', b'"contact":"\\u0062oth"'),
        (b'"drop_mm":2', b'"drop_mm":2,"drop_mm":2'),
    ],
)
def test_bytes_that_are_not_canonical_are_refused(log: Log, old: bytes, new: bytes) -> None:
    (stored,) = tablet_chain(1)

    (receipt,) = log.append([stored.replace(old, new)])

    assert "refused" == receipt.verdict
    assert receipt.code in {"not_canonical", "unreadable"}


@pytest.mark.parametrize(
    "stored",
    [b"", b"{}", b"\xff\xfe", b"[" * 70_000, b"[" * 60_000, b"x" * 65_537],
    ids=["empty", "bare", "no text", "deep and too large", "deep", "too large"],
)
def test_bytes_that_are_no_entry_are_refused(log: Log, stored: bytes) -> None:
    (receipt,) = log.append([stored])

    assert ("", digest_of(stored), "refused") == (receipt.id, receipt.digest, receipt.verdict)


def test_a_body_with_fields_of_a_newer_version_is_stored(log: Log) -> None:
    (stored,) = tablet_chain(1)
    entry = log.append([stored.replace(b'"tooth":34', b'"tooth":34,"zest":1')])

    assert ["stored"] == [one.verdict for one in entry]


def test_a_batch_that_is_too_large_is_refused(log: Log) -> None:
    with pytest.raises(BatchTooLarge):
        log.append([b""] * 501)


def test_cursors_tell_how_far_each_device_is_held(log: Log) -> None:
    log.append(tablet_chain(3) + tablet_chain(2, "tablet-2", 2))
    (own,) = record(log, person())

    held = {device: cursor.seq for device, cursor in log.cursors().items()}

    assert {"tablet-1": 3, "tablet-2": 2, log.store.device: 1} == held
    assert own.digest == log.cursors()[log.store.device].digest


def test_entries_after_a_number_come_in_order_and_no_more_than_asked(log: Log) -> None:
    chain = tablet_chain(5)
    log.append(chain)

    assert tuple(chain[2:4]) == log.after("tablet-1", 2, limit=2)


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


CHAINS = [*tablet_chain(6), *tablet_chain(5, "tablet-2"), *tablet_chain(4, "tablet-3", 2)]


@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_any_repeat_split_and_order_of_batches_ends_in_one_state(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    sent = data.draw(st.permutations(CHAINS * 2))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(sent)), max_size=4)))
    batches = [sent[a:b] for a, b in zip([0, *cuts], [*cuts, len(sent)], strict=True)]

    with opened(tmp_path_factory.mktemp("bench")) as store:
        log = Log(store)
        stored: list[str] = []
        while {device: c.seq for device, c in log.cursors().items()} != {
            "tablet-1": 6, "tablet-2": 5, "tablet-3": 4
        }:  # fmt: skip
            for batch in batches:
                stored += [one.id for one in log.append(batch) if one.verdict == "stored"]

        assert sorted(decode(stored).id for stored in CHAINS) == sorted(stored)
        assert CHAINS == [b for n in (1, 2, 3) for b in log.after(f"tablet-{n}", 0)]
        assert check(store).clean


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
