from __future__ import annotations

import threading

import pytest

from bench.core.entries import Draft, TipChosen
from bench.core.ids import case_code
from bench.store.log import Log
from bench.store.readmodels import ReadModels
from bench.store.seeking import ORDERS, Sought, Word, condition, words_sought
from tests.store.scenes import NOW_MS, policy, record
from tests.store.test_readmodels import numbers, three_cases


@pytest.fixture
def board(log: Log) -> ReadModels:
    return log.models


def plan(log: Log, sought: Sought) -> str:
    """How SQLite means to find the first lines, the one opened first at the top."""
    conn = log.store.db.conn
    where, params = condition(conn, sought)
    sql = f"EXPLAIN QUERY PLAN SELECT s.code FROM case_summaries AS s{where} ORDER BY {ORDERS['oldest']} LIMIT 40"
    return " / ".join(row[3] for row in conn.execute(sql, params))


@pytest.mark.parametrize(
    ("sought", "index"),
    [
        (Sought(open_only=True), "summaries_open"),
        (Sought(open_only=True, step="tilt"), "summaries_open_step"),
        (Sought(state="released"), "summaries_state_opened"),
        (Sought(open_only=True, to_settle=True), "summaries_to_settle"),
        (Sought(), "summaries_opened"),
    ],
    ids=["open", "open at a step", "of a state", "to settle", "all"],
)
def test_a_page_of_the_board_is_read_from_an_index_in_its_order(log: Log, sought, index) -> None:
    three_cases(log)

    found = plan(log, sought)

    assert f"USING INDEX {index}" in found or f"USING COVERING INDEX {index}" in found
    assert "TEMP B-TREE" not in found


def test_the_indexes_of_the_board_come_back_with_a_rebuild(log: Log, board: ReadModels) -> None:
    three_cases(log)

    board.rebuild()

    assert "summaries_open" in plan(log, Sought(open_only=True))


def test_a_word_that_may_be_a_person_or_a_tooth_finds_all_it_may_mean(
    log: Log, board: ReadModels
) -> None:
    three_cases(log)
    setting = log.case(case_code(2)).now
    assert setting is not None
    tip = TipChosen(34, "MB", "co_cr", "plate")
    record(log, Draft(tip, "CD", case_code(2), setting.id), now_ms=NOW_MS + 9000)

    meant = Sought(words=(Word("cd", person="CD"),))
    either = Sought(words=(Word("0001", tooth=34),))

    assert ["25-0002"] == numbers(board.lines(meant, "oldest"))
    assert {"25-0001", "25-0002"} == set(numbers(board.lines(either, "oldest")))
    assert () == board.lines(Sought(words=(*either.words, Word("0003"))), "oldest")


def test_a_search_of_nothing_but_signs_finds_nothing(log: Log, board: ReadModels) -> None:
    three_cases(log)

    assert () == board.lines(Sought(words=words_sought("--")))
    assert 0 == board.how_many(Sought(words=words_sought("--")), 10)


def test_lines_are_counted_no_further_than_asked(log: Log, board: ReadModels) -> None:
    three_cases(log)

    assert 3 == board.how_many(Sought(words=words_sought("25")), 10)
    assert 2 == board.how_many(Sought(words=words_sought("25")), 2)


def test_the_kept_counts_tell_how_many_are_open_however_many(log: Log, board: ReadModels) -> None:
    three_cases(log)

    assert 3 == board.how_many(Sought(open_only=True), 1)
    assert 0 == board.how_many(Sought(state="released"), 1)


def test_outdated_lines_are_renewed_behind_until_none_is_left(log: Log, board: ReadModels) -> None:
    three_cases(log)
    record(log, policy("R1", "warns"))
    assert 3 == board.outdated()

    board.catch_up_behind()
    for thread in threading.enumerate():
        if thread.name == "catching up":
            thread.join(10)

    assert 0 == board.outdated()
