from __future__ import annotations

import random
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.entries import Draft, TipChosen
from bench.core.ids import case_code
from bench.core.lab import fold_lab
from bench.core.summary import Summary, summarise
from bench.store import readmodels, seeking
from bench.store.log import Log
from bench.store.readmodels import ReadModels, words_of
from tests import strategies
from tests.store.scenes import (
    CODE,
    NOW_MS,
    bits,
    board_rows,
    opened,
    opening,
    person,
    policy,
    reading,
    record,
)


@pytest.fixture
def board(log: Log) -> ReadModels:
    return log.models


def numbers(rows: tuple[Summary, ...]) -> list[str]:
    return [row.number for row in rows]


def three_cases(log: Log) -> None:
    for n in (1, 2, 3):
        record(log, *opening(n), now_ms=NOW_MS + n * 1000)


def test_a_line_is_the_summary_of_the_case(log: Log, board: ReadModels) -> None:
    record(log, *opening())

    assert (summarise(log.case(CODE), fold_lab([])),) == board.board()


def test_a_line_follows_each_entry(log: Log, board: ReadModels) -> None:
    entries = record(log, *opening()[:3])
    assert {"received": 1} == board.counts()

    record(log, opening()[3], now_ms=NOW_MS + 1)

    assert {"surveying": 1} == board.counts()
    assert entries[0].at < board.board()[0].touched_at


def test_entries_sent_in_by_a_tablet_show_on_the_board(log: Log, board: ReadModels) -> None:
    log.append([stored for _, stored in strategies.chained("tablet-1", opening(2))])

    assert ["25-0002"] == numbers(board.board())


def test_a_case_recorded_against_before_it_is_opened_is_shown(log: Log, board: ReadModels) -> None:
    (entry,) = record(log, reading(strategies.entry_id(1, 1)))

    (line,) = board.board()

    assert ("unopened", CODE, entry.at) == (line.state, line.code, line.opened_at)


def test_a_case_whose_entries_make_no_sense_does_not_close_the_board(
    log: Log, board: ReadModels, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stumble(*_: object) -> None:
        raise ArithmeticError

    three_cases(log)
    monkeypatch.setattr(readmodels, "summarise", stumble)
    board.refresh(case_code(2))

    assert {"surveying": 2, "unreadable": 1} == board.counts()
    assert ["25-0002"] == numbers(board.board(state="unreadable"))


def test_a_change_of_policy_is_seen_on_every_line(log: Log, board: ReadModels) -> None:
    three_cases(log)
    before = board.board()
    rules = {rule for line in before for rule in line.blocking}
    assert "R1" in rules

    record(log, policy("R1", "warns"))

    assert 3 == board.outdated()
    after = board.board()
    assert rules - {"R1"} == {rule for line in after for rule in line.blocking}
    assert 0 == board.outdated()


def test_only_so_many_outdated_lines_are_renewed_at_a_time(log: Log, board: ReadModels) -> None:
    three_cases(log)
    record(log, policy())

    assert 1 == board.catch_up(most=2)
    assert 0 == board.catch_up()
    assert 0 == board.catch_up()


@pytest.mark.parametrize("few", [0, 1000], ids=["as if common", "rare"])
def test_the_board_is_filtered_by_each_filter_and_by_all_together(
    log: Log, board: ReadModels, few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(seeking, "FEW", few)
    three_cases(log)
    setting = log.case(case_code(2)).now
    assert setting is not None
    tip = TipChosen(34, "MB", "co_cr", "plate")
    record(log, Draft(tip, "CD", case_code(2), setting.id), now_ms=NOW_MS + 9000)

    assert ["25-0002"] == numbers(board.board(person="CD"))
    assert ["25-0002"] == numbers(board.board(tooth=34, text="25-0002"))
    assert () == board.board(state="released")
    assert 3 == len(board.board(state="surveying", person="AB"))
    step = board.board()[0].step
    assert ["25-0002"] == numbers(board.board("surveying", step, "CD", 34, "0002"))
    assert () == board.board(person="CD", text="0001")


@pytest.mark.parametrize(
    "text",
    [
        "25-0002",
        "0002",
        "250002",
        "  25   0002 ",
        case_code(2),
        case_code(2)[:4].lower(),
        f"{case_code(2)[:4]}-{case_code(2)[4:]}",
        case_code(2)[4:],
    ],
)
def test_a_case_is_found_by_its_number_and_its_code(log: Log, board: ReadModels, text: str) -> None:
    record(log, *opening(2))
    record(log, *opening(29_791_000))

    assert ["25-0002"] == numbers(board.board(text=text))


@pytest.mark.parametrize("text", ["9999", "-", "%", "25_0002", "' OR 1=1 --"])
def test_a_text_that_fits_nothing_finds_nothing(log: Log, board: ReadModels, text: str) -> None:
    record(log, *opening())

    assert () == board.board(text=text)


def test_letters_of_any_script_are_search_words() -> None:
    assert "straße" not in words_of(CODE, "STRASSE 7")
    assert {"strasse", "7", "strasse7"} < set(words_of(CODE, "Straße 7"))


def test_the_board_is_ordered_and_paged(log: Log, board: ReadModels) -> None:
    three_cases(log)
    record(log, reading(strategies.entry_id(1, 1), number=1), now_ms=NOW_MS + 9000)

    assert ["25-0001", "25-0003", "25-0002"] == numbers(board.board())
    assert ["25-0003", "25-0002", "25-0001"] == numbers(board.board(order="opened"))
    assert ["25-0001", "25-0002", "25-0003"] == numbers(board.board(order="number"))
    assert ["25-0002"] == numbers(board.board(order="number", limit=1, offset=1))


def test_cases_are_counted_by_state_and_by_step(log: Log, board: ReadModels) -> None:
    three_cases(log)
    record(log, *opening(4)[:1])

    assert {"surveying": 3, "received": 1} == board.counts()
    assert 4 == sum(board.counts_by_step().values())


def test_dropped_tables_come_back_row_for_row(log: Log, board: ReadModels) -> None:
    record(log, person())
    three_cases(log)
    record(
        log, Draft(TipChosen(34, "MB", "co_cr", "plate"), "AB", CODE, log.case(CODE).settings[0].id)
    )
    before = board_rows(log.store)
    for table in reversed(before):
        log.store.db.conn.execute(f"DROP TABLE {table}")

    board.rebuild()

    assert before == board_rows(log.store)
    assert all(before.values())


def test_rebuilding_mends_what_was_changed_by_hand(log: Log, board: ReadModels) -> None:
    three_cases(log)
    before = board_rows(log.store)
    log.store.db.conn.execute("UPDATE case_summaries SET state = 'released', number = '7'")
    log.store.db.conn.execute("DELETE FROM case_people")

    board.rebuild()

    assert before == board_rows(log.store)


@settings(max_examples=25, deadline=None)
@given(said=st.lists(strategies.drafts(), max_size=12), seed=st.integers(0, 9))
def test_lines_kept_in_step_are_those_that_are_rebuilt(
    said: list[Draft], seed: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    with opened(tmp_path_factory.mktemp("bench")) as store:
        log = Log(store)
        everything = [*said, *opening(1), *opening(2)]
        random.Random(seed).shuffle(everything)
        for draft in everything:
            log.record([draft], now_ms=NOW_MS, random_bits=bits)
        log.models.catch_up()
        kept = board_rows(store)

        log.models.rebuild()

        assert kept == board_rows(store)


def test_a_thousand_lines_are_renewed_within_seconds(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        log = Log(store)
        for n in range(50):
            record(log, *opening(n))
        record(log, policy())

        start = time.process_time()
        log.models.catch_up()
        a_thousand_s = (time.process_time() - start) * 20

        assert a_thousand_s < 10
