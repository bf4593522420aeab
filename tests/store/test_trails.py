from __future__ import annotations

import sqlite3
import tempfile
import time
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.entries import (
    BESIDE_THE_LAB,
    Draft,
    DrillClosed,
    HoldLifted,
    HoldSet,
    InstrumentAdded,
    Mounted,
    SurveyLinesDrawn,
    UndercutRead,
    Withdrawn,
    kind_of,
)
from bench.core.ids import case_code, entry_id
from bench.core.instruments import named_by
from bench.store import reading as readings
from bench.store.integrity import check
from bench.store.log import Log, iso
from bench.store.logchecks import LogCheck, last_check, note_check
from bench.store.migrations import statements_of
from bench.store.open import Store, open_store
from bench.store.overview import Overview
from tests import strategies
from tests.store.scenes import CODE, NOW_MS, opening, record

ALWAYS = ("", "~")


def test_a_person_is_followed_newest_first_and_page_by_page(log: Log) -> None:
    for day in range(5):
        record(
            log, Draft(Mounted(), "AB" if day % 2 == 0 else "CD", CODE), now_ms=NOW_MS + day * 1000
        )

    first, second = log.stated_by("AB", *ALWAYS, 2), log.stated_by("AB", *ALWAYS, 2, 2)

    assert (3, 3) == (first.count, second.count)
    assert [iso(NOW_MS + day * 1000) for day in (4, 2, 0)] == [
        entry.at for entry in (*first.entries, *second.entries)
    ]


def test_a_period_begins_with_its_first_moment_and_ends_before_its_last(log: Log) -> None:
    for second in range(4):
        record(log, Draft(Mounted(), "AB", CODE), now_ms=NOW_MS + second * 1000)

    found = log.stated_by("AB", iso(NOW_MS + 1000), iso(NOW_MS + 3000))

    assert 2 == found.count == len(found.entries)


def test_an_instrument_is_followed_through_cases_and_lab(log: Log) -> None:
    added = record(log, Draft(InstrumentAdded("G1", "gauge", 0.25), "AB"))[0]
    zero = record(log, *opening())[-1]
    read = Draft(UndercutRead(34, "MB", 0.25, "both", gauge="G1"), "AB", CODE, zero.id)
    later = record(log, read, now_ms=NOW_MS + 1000)[0]

    assert [later.id, added.id] == [entry.id for entry in log.made_with("G1", *ALWAYS).entries]
    assert 0 == log.made_with("G2", *ALWAYS).count


@settings(max_examples=25, deadline=None)
@given(st.lists(strategies.drafts(), min_size=1, max_size=8))
def test_the_table_of_uses_names_what_every_body_names(said: list[Draft]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder) / "bench")
        log = Log(store, lambda: NOW_MS)
        log.append([stored for _, stored in strategies.chained("tablet-1", said)])
        rows = store.db.conn.execute("SELECT tag, position FROM instrument_uses").fetchall()
        clean = check(store).clean
        store.close()

    wanted = {(tag, n) for n, one in enumerate(said, start=1) for tag in named_by(one.body)}
    assert wanted == set(rows)
    assert clean


def test_a_logbook_of_before_gets_the_same_table_by_the_change(log: Log) -> None:
    record(log, Draft(InstrumentAdded("G1", "gauge", 0.25), "AB"))
    record(log, *opening())
    conn = log.store.db.conn
    before = conn.execute("SELECT * FROM instrument_uses").fetchall()

    conn.execute("DELETE FROM instrument_uses")
    conn.execute(next(sql for sql in statements_of("0004_trails") if sql.startswith("INSERT")))

    assert before == conn.execute("SELECT * FROM instrument_uses").fetchall() != []


def test_calipers_and_sleeves_of_a_logbook_of_before_are_found_by_a_later_change(log: Log) -> None:
    zero = record(log, *opening())[-1]
    drawn = SurveyLinesDrawn(("34B",), True, "SL1")
    record(log, Draft(drawn, "AB", CODE, zero.id), now_ms=NOW_MS + 1)
    conn = log.store.db.conn
    before = conn.execute("SELECT * FROM instrument_uses").fetchall()

    conn.execute("DELETE FROM instrument_uses WHERE tag = 'SL1'")
    conn.execute(next(iter(statements_of("0006_calipers"))))

    assert before == conn.execute("SELECT * FROM instrument_uses").fetchall()
    assert "SL1" in [tag for tag, *_ in before]


def test_the_instrument_named_last_by_a_person_is_remembered(log: Log) -> None:
    zero = record(log, *opening())[-1]
    for n, (gauge, site) in enumerate((("G1", "MB"), ("G2", "DB"))):
        read = UndercutRead(34, site, 0.25, "both", gauge=gauge)  # type: ignore[arg-type]
        record(log, Draft(read, "AB", CODE, zero.id), now_ms=NOW_MS + 1000 * n + 1)
    record(log, Draft(InstrumentAdded("G1", "gauge"), "AB"), now_ms=NOW_MS + 9000)

    assert "G2" == log.last_named(("G1", "G2", "G3"), "AB")
    assert "" == log.last_named(("G3",), "AB") == log.last_named(("G1", "G2"), "CD")


def test_cases_of_an_instrument_are_found_by_when_they_were_last_touched(log: Log) -> None:
    for number in (1, 2):
        at_ms = NOW_MS + number * 1000
        record(log, *opening(number), now_ms=at_ms)
        record(log, Draft(Mounted("S1"), "AB", case_code(number)), now_ms=at_ms)

    assert (case_code(2), case_code(1)) == log.cases_with("S1", "", "~")
    assert (case_code(2),) == log.cases_with("S1", iso(NOW_MS + 1500), "~")
    assert (case_code(1),) == log.cases_with("S1", "", iso(NOW_MS + 1500))
    assert () == log.cases_with("S2", "", "~")


def test_a_use_put_in_by_hand_is_told(log: Log) -> None:
    record(log, Draft(InstrumentAdded("G1", "gauge", 0.25), "AB"))
    log.store.db.conn.execute("UPDATE instrument_uses SET tag = 'G2'")

    assert ["uses_differ"] == [one.code for one in check(log.store).problems]


def test_what_is_said_beside_the_lab_leaves_the_board_as_it_is(log: Log) -> None:
    record(log, *opening())
    drill = entry_id(NOW_MS, 1)

    record(log, Draft(DrillClosed(drill), "AB"))

    assert 0 == log.models.outdated()
    assert ["drill_closed"] == [entry.kind for entry in log.of_kinds("drill_closed")]
    assert {f"'{kind_of(body)}'" for body in BESIDE_THE_LAB} == set(
        readings.BESIDE_THE_LAB.split(", ")
    )


def test_the_lab_itself_is_found_through_its_own_index(store: Store) -> None:
    plan = store.db.conn.execute(f"EXPLAIN QUERY PLAN {readings._NEWEST_OF_LAB}").fetchall()

    assert "entries_of_lab_itself" in plan[0][3]


def test_holds_that_were_lifted_or_taken_back_stand_no_more(log: Log) -> None:
    held = []
    for number in (1, 2, 3):
        code = case_code(number)
        record(log, *opening(number))
        held += record(
            log, Draft(HoldSet(), "AB", code, reason="Asked for"), now_ms=NOW_MS + number
        )
    record(log, Draft(HoldLifted(held[0].id), "AB", case_code(1), reason="Over"))
    record(log, Draft(Withdrawn(held[1].id), "AB", case_code(2), reason="Wrong case"))

    assert (held[2],) == Overview(log).holds()


def test_the_desk_counts_what_waits_where(log: Log) -> None:
    for number in (1, 2):
        record(log, *opening(number), now_ms=NOW_MS + number * 1000)
    view = Overview(log)

    waiting = view.by_step()

    assert {"receive": 2} == {key: one.count for key, one in waiting.items()}
    assert iso(NOW_MS + 1000) == waiting["receive"].oldest_at
    assert all(one.count == 2 for one in view.by_rule())
    assert {"S1", "R1"} <= {one.key for one in view.by_rule()}
    assert () == view.stale(9) == view.disputed(9) == view.recalled(9)
    assert ("25-0001", "") == (view.number_of(CODE), view.number_of(case_code(99)))
    assert (
        1
        == view.count_older_than(iso(NOW_MS + 1500))
        == len(view.older_than(iso(NOW_MS + 1500), 9))
    )


def test_the_newest_check_of_the_log_is_kept(log: Log) -> None:
    record(log, *opening())

    note_check(log.store, check(log.store), "AB", NOW_MS)
    note_check(log.store, check(log.store), "CD", NOW_MS + 1)

    assert LogCheck(NOW_MS + 1, "CD", 4, 0, 0) == last_check(log.store)


def test_a_trail_of_a_hundred_thousand_entries_opens_at_once(store: Store, log: Log) -> None:
    # The rows are made in SQL; what is measured is finding a page, not reading strange bytes.
    made = record(log, Draft(InstrumentAdded("G1", "gauge", 0.25), "AB"))[0]
    _multiply(store.db.conn, 100_000)

    started = time.perf_counter()
    last = log.stated_by("AB", *ALWAYS, 40, 99_960)
    tool = log.made_with("G1", *ALWAYS, 40, 99_960)
    passed_s = time.perf_counter() - started

    assert 100_000 == last.count == tool.count
    assert 40 == len(last.entries) == len(tool.entries)
    assert made.body == tool.entries[-1].body
    assert passed_s < 0.3


def _multiply(conn: sqlite3.Connection, count: int) -> None:
    conn.execute("BEGIN")
    conn.execute(
        "INSERT INTO entries SELECT n, id || n, device, n, kind, case_code, setting_id, person, "
        "at || n, prev, digest, bytes, received_at, arrival FROM entries, "
        "(WITH RECURSIVE n (n) AS (SELECT 2 UNION ALL SELECT n + 1 FROM n WHERE n < ?) "
        "SELECT n FROM n)",
        (count,),
    )
    conn.execute(
        "INSERT INTO instrument_uses SELECT 'G1', at, position FROM entries WHERE position > 1"
    )
    conn.execute("COMMIT")
