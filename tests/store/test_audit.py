"""The audit's tables: in step with the log, rebuilt row for row, and the same answers as the samples."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.audit.samples import Remount, samples_of
from bench.core.audit.selection import Selection
from bench.core.audit.sums import sums_of
from bench.core.entries import Draft, Remounted, Withdrawn
from bench.core.ids import case_code
from bench.store import audittables as tables
from bench.store.audit import MOST_KEPT, Audit
from bench.store.integrity import check
from bench.store.log import Log
from tests.store.scenes import CODE, NOW_MS, opened, opening, record, rows

APART_MS = 2 * 86_400_000
PEOPLE, SURVEYORS = ("AB", "CD", "EF"), ("", "S1", "S2")


@pytest.fixture
def audit(log: Log) -> Audit:
    return Audit(log)


def remount(number: int, code: str = CODE, **said: object) -> Draft:
    dice = random.Random(number)
    ap_deg, surveyor = round(dice.uniform(-2, 2), 4), dice.choice(SURVEYORS)
    body = Remounted("scored_lines", ap_deg, 0.0, abs(ap_deg), 1.0, surveyor=surveyor)
    return Draft(body, dice.choice(PEOPLE), code, **said)  # type: ignore[arg-type]


def put_back(log: Log, count: int = 30) -> None:
    """Record re-mounts of three casts, two days apart."""
    for number in (1, 2, 3):
        record(log, *opening(number), now_ms=NOW_MS + number)
    for n in range(count):
        draft = remount(n, case_code(1 + n % 3))
        record(log, draft, now_ms=NOW_MS + (n + 1) * APART_MS)


def held(log: Log) -> dict[str, list[tuple[object, ...]]]:
    return {table: rows(log.store, table) for table in (*tables.TABLES, "audit_months")}


def from_entries(log: Log) -> list[Remount]:
    every = [one for code in log.codes() for one in samples_of(log.case(code)).remounts]
    return sorted(every, key=lambda one: one.entry)


def test_the_rows_of_a_case_are_its_samples(log: Log, audit: Audit) -> None:
    put_back(log)

    assert from_entries(log) == list(audit.every(Selection(reading="every")))


def test_rows_come_back_as_the_samples_they_were_made_of(log: Log) -> None:
    put_back(log)

    case = log.case(CODE)
    assert samples_of(case) == tables.samples_from(tables.rows_of(case))


def test_an_entry_taken_back_leaves_the_tables(log: Log, audit: Audit) -> None:
    put_back(log, 3)
    version, one = audit.version(), from_entries(log)[0]

    taken_back = Draft(Withdrawn(one.entry), one.technician, one.case, reason="another cast")
    record(log, taken_back, now_ms=NOW_MS + 99 * APART_MS)

    assert 2 == audit.count(Selection(reading="every"))
    assert version < audit.version()


def test_dropped_and_rebuilt_the_tables_are_the_same(log: Log, audit: Audit) -> None:
    put_back(log)
    before = held(log)

    audit.rebuild()

    assert before == held(log)
    assert check(log.store).clean


def test_a_rebuilt_board_brings_the_audit_along(log: Log) -> None:
    put_back(log)
    before = held(log)

    log.models.rebuild()

    assert before == held(log)


def test_a_logbook_from_before_the_tables_is_filled_when_asked(log: Log, audit: Audit) -> None:
    put_back(log)
    before = held(log)
    with log.store.writing() as conn:
        tables.empty(conn)
    assert (False, 0) == (tables.state(log.store.db.conn)[0], audit.count(Selection()))
    assert check(log.store).clean

    audit.version()

    assert before == held(log)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE audit_remounts SET ap = ap + 1 WHERE code = (SELECT min(code) FROM audit_remounts)",
        "DELETE FROM audit_remounts WHERE technician = 'AB'",
        "UPDATE audit_remounts SET technician = 'ZZ' WHERE technician = 'AB'",
        "INSERT INTO audit_calipers VALUES ('e', 'at', 'ZZZZZZZZ', 'm', 'AB', 1, 1, 1)",
    ],
)
def test_what_was_changed_by_hand_is_told(log: Log, sql: str) -> None:
    put_back(log)
    log.store.db.conn.execute(sql)

    assert "audit_differs" in {one.code for one in check(log.store).problems}


@pytest.mark.parametrize(
    "sql",
    ["UPDATE audit_months SET sunk = sunk + 1", "DELETE FROM audit_months WHERE technician = 'AB'"],
)
def test_monthly_sums_changed_by_hand_are_told(log: Log, sql: str) -> None:
    put_back(log)
    log.store.db.conn.execute(sql)

    assert {"audit_sums_differ"} == {one.code for one in check(log.store).problems}


def test_a_repeat_of_an_entry_changes_nothing(log: Log, audit: Audit) -> None:
    put_back(log, 4)
    chain, version = log.after(log.store.device, 0), audit.version()

    log.append(chain)

    assert version == audit.version()


# The re-mounts run from November 2023 to January 2024.
TIMES = (
    "", "2023-11-20", "2023-11-20T06:00:00.000Z", "2023-11-30T23:59:59.999Z", "2023-12-01T00:00:00.000Z",
    "2023-12-01T00:00:00.001Z", "2023-12-20T06:00:00.000Z", "2024-01-01T00:00:00.000Z",
    "2024-01-15T06:00:00.000Z", "2031-01-01T00:00:00.000Z",
)  # fmt: skip
selections = st.builds(
    Selection,
    since=st.sampled_from(TIMES),
    until=st.sampled_from(TIMES),
    technician=st.none() | st.sampled_from(PEOPLE),
    surveyor=st.none() | st.sampled_from(SURVEYORS),
    cast=st.none() | st.sampled_from([case_code(n) for n in (1, 2)]),
    method=st.none() | st.sampled_from(("scored_lines", "tripod")),
    reading=st.sampled_from(("first", "last", "every")),
)


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory):
    """A log with re-mounts of three casts."""
    with opened(tmp_path_factory.mktemp("audit")) as store:
        log = Log(store)
        put_back(log, 40)
        yield log


@settings(max_examples=400, deadline=None)
@given(selection=selections)
def test_every_answer_is_that_of_the_samples(many: Log, selection: Selection) -> None:
    audit = Audit(many)
    wanted = [one for one in from_entries(many) if selection.holds(one)]

    cells = audit.cells(selection, "technician", "surveyor")
    codes = audit.busiest_casts(selection, 9)
    assert wanted == list(audit.every(selection))
    assert sorted(codes, key=lambda code: (-sum(o.case == code for o in wanted), code)) == codes
    assert audit.cells_of_casts(selection, codes) == audit.cells(selection, "cast", "technician")
    assert (len(wanted), wanted[-5:]) == (audit.count(selection), audit.newest(selection, 5))
    assert wanted[::-1][2:7] == audit.page(selection, 5, 2)
    for (technician, surveyor), sums in cells.items():
        own = [o for o in wanted if (o.technician, o.surveyor) == (technician, surveyor)]
        mine = sums_of(own)
        assert mine == sums
    assert len(wanted) == sum(sums.count for sums in cells.values())


def test_entries_are_found_in_their_cases(log: Log, audit: Audit) -> None:
    put_back(log, 4)

    wanted = {one.entry: one.case for one in from_entries(log)}
    assert wanted == audit.cases_of(list(wanted))


def test_what_was_worked_out_is_kept_until_a_re_mount_comes(log: Log, audit: Audit) -> None:
    put_back(log, 3)
    asked = list[int]()

    def made() -> int:
        asked.append(audit.count(Selection(reading="every")))
        return asked[-1]

    before = [audit.once("count", made), audit.once("count", made)]
    record(log, remount(99), now_ms=NOW_MS + 99 * APART_MS)

    assert [3, 3, 4] == [*before, audit.once("count", made)]
    assert [3, 4] == asked


def test_no_more_is_kept_than_so_much(audit: Audit) -> None:
    found = [audit.once(number, lambda number=number: number) for number in range(3 * MOST_KEPT)]

    assert list(range(3 * MOST_KEPT)) == found
    assert len(audit._made) <= MOST_KEPT + 1
