from __future__ import annotations

import re

import pytest

from bench.core.entries import (
    CaseOpened,
    Mounted,
    RestWished,
    SettingTaken,
    TipChosen,
    UndercutRead,
)
from bench.core.ids import case_code, shown_code
from bench.web import board, caselines
from tests.web.castroom import disputed, mounted, opened


def numbers_on(page) -> list[str]:
    """The case numbers of the seven cases below that a page shows."""
    return [
        number for number in (f"26-010{n}" for n in range(1, 8)) if f">{number}</a>" in page.text
    ]


def test_an_empty_board_says_what_to_do_next(technician):
    page = technician.get("/")

    assert 200 == page.status_code
    assert "No case is open yet" in page.text
    assert 'href="/case/new"' in page.text


def test_a_reader_is_not_offered_to_open_a_case(reader):
    assert 'href="/case/new"' not in reader.get("/").text


def test_a_stranger_is_asked_who_they_are(stranger):
    assert "/who" in stranger.get("/").headers["Location"]


def test_a_case_shows_its_step_state_people_and_what_stops_it(technician, state):
    code = opened(state)
    mounted(state, code)

    page = technician.get("/?as=list").text

    for said in ("26-0101", shown_code(code), "Surveying", "TEC", "Setting not final"):
        assert said in page


def test_the_case_opened_first_stands_first(technician, state):
    opened(state, "26-0102", at=2)
    opened(state, "26-0101", at=1)

    page = technician.get("/?as=list").text

    assert page.index(">26-0102</a>") < page.index(">26-0101</a>")


def test_recalled_cases_and_contradictions_stand_out_for_the_supervisor_alone(
    technician, supervisor, state
):
    disputed(state, opened(state))

    assert "For the supervisor" in supervisor.get("/").text
    assert "1 contradiction" in supervisor.get("/").text
    assert "For the supervisor" not in technician.get("/").text


def test_the_supervisor_sees_groups_by_step_and_the_technician_a_list(
    technician, supervisor, state
):
    opened(state)

    assert "step-columns" in supervisor.get("/").text
    assert "board-list" in technician.get("/").text


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("state=received", ["26-0101"]),
        ("state=surveying", ["26-0102", "26-0103"]),
        ("person=SUP", ["26-0103"]),
        ("tooth=34", ["26-0102"]),
        ("step=receive", ["26-0101", "26-0102", "26-0103"]),
        ("q=26-0102", ["26-0102"]),
        ("q=34", ["26-0102"]),
        ("q=sup", ["26-0103"]),
        ("q=26", ["26-0101", "26-0102", "26-0103"]),
        ("q=34+SUP", []),
        (f"q={shown_code(case_code(3))}", ["26-0103"]),
        (f"q={case_code(3)[4:].lower()}", ["26-0103"]),
        ("q=nothing+like+it", []),
        ("state=nonsense", ["26-0101", "26-0102", "26-0103"]),
    ],
)
def test_filters_and_the_search_box_narrow_the_board(technician, state, asked, found):
    for number in (1, 2, 3):
        opened(state, f"26-010{number}", at=number)
    state(RestWished(34, "distal"), case=case_code(2))
    state(Mounted(), case=case_code(2))
    state(Mounted(), case=case_code(3), person="SUP")

    page = technician.get(f"/?as=list&{asked}")

    assert found == numbers_on(page)


def test_a_tooth_is_read_in_the_numbering_of_the_reader(technician, state):
    opened(state)
    state(RestWished(34, "distal"), case=case_code(1))
    technician.set_cookie("tiltbook-display", "universal.mm.auto.normal.right")

    assert ["26-0101"] == numbers_on(technician.get("/?as=list&tooth=21"))
    assert [] == numbers_on(technician.get("/?as=list&tooth=34"))


def test_a_tooth_that_is_none_is_refused_beside_its_field_and_kept(technician, state):
    opened(state)

    page = technician.get("/?as=list&tooth=99").text

    assert "99 is no permanent tooth in ISO 3950 numbers" in page
    assert 'value="99"' in page
    assert "Clear all filters" in page


def test_what_was_searched_for_is_shown_again_and_never_as_markup(technician, state):
    opened(state)

    page = technician.get("/?q=<script>alert(1)</script>").text

    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


def test_a_search_without_a_find_leads_back(technician, state):
    opened(state)

    page = technician.get("/?q=zzz").text

    assert "No case matches" in page
    assert 'href="/scan"' in page


@pytest.mark.parametrize("page", ["0", "-3", "abc", "999999999999", "2"])
def test_a_page_beyond_the_last_shows_the_last(technician, state, page):
    opened(state)

    assert ["26-0101"] == numbers_on(technician.get(f"/?as=list&page={page}"))


def test_many_cases_come_in_pages(technician, state):
    for number in range(1, 46):
        opened(state, f"26-{number:04d}", at=number)

    first, second = (technician.get(f"/?as=list&page={n}").text for n in (1, 2))

    assert "Page 1 of 2, 45 cases" in first
    assert ">26-0040</a>" in first
    assert ">26-0041</a>" in second
    assert ">26-0041</a>" not in first


def test_a_case_recorded_against_before_it_was_opened_is_shown_with_its_way(technician, state):
    code = case_code(7)
    state(Mounted(), case=code)

    page = technician.get("/?as=list").text

    assert "Not opened yet" in page
    assert f'href="/case/new?code={code}"' in page


def test_stale_findings_are_counted(technician, state):
    code = opened(state)
    zero = mounted(state, code).id
    state(UndercutRead(34, "MB", 0.25, "both"), case=code, setting=zero)
    state(TipChosen(34, "MB", "co_cr", "arm"), case=code, setting=zero)
    state(SettingTaken(3.0, 0.0, "T1", 0.5), case=code, setting=zero)

    assert "2 findings stale" in technician.get("/?as=list").text


def fill_board(app):
    """Put three thousand lines into the board's tables."""
    conn = app.extensions["store"].db.conn
    mark = app.extensions["log"].lab_mark()[0]
    rows = [
        (case_code(n), f"26-{n:04d}", "lower", "III", "surveying", "undercuts",
         f"2026-01-01T00:{n // 60 % 60:02d}:{n % 60:02d}.000Z", "2026-03-01T00:00:00.000Z",
         "S1 R5", "", 0, 0, 0, mark)
        for n in range(1, 3001)
    ]  # fmt: skip
    conn.executemany(f"INSERT INTO case_summaries VALUES ({', '.join('?' * 14)})", rows)
    conn.executemany("INSERT INTO case_words VALUES ('26', ?)", [(row[0],) for row in rows])


def thousands_of_steps(app, work):
    """How many thousand steps SQLite takes while something is done: the same on every machine."""
    taken = []
    conn = app.extensions["store"].db.conn
    conn.set_progress_handler(lambda: taken.append(1) and None, 1000)
    try:
        done = work()
    finally:
        conn.set_progress_handler(None, 0)
    return len(taken), done


def test_a_board_of_thousands_reads_its_tables_alone(app, technician, monkeypatch):
    fill_board(app)
    monkeypatch.setattr(app.extensions["log"], "entries_of", None)

    assert "3000 cases" in technician.get("/?as=list&page=70").text


@pytest.mark.parametrize("asked", ["as=list", "as=steps", "as=list&q=26-0017", "as=list&tooth=34"])
def test_the_board_reads_a_page_and_not_all_of_its_thousands(app, technician, asked):
    fill_board(app)
    technician.get("/")

    steps, page = thousands_of_steps(app, lambda: technician.get(f"/?{asked}"))

    assert 200 == page.status_code
    assert steps < 40


def test_a_search_that_meets_thousands_counts_them(app, technician):
    fill_board(app)

    page = technician.get("/?as=list&q=26")

    assert "3000 cases" in page.text


def test_a_search_that_meets_more_than_are_counted_says_so(app, technician, monkeypatch):
    monkeypatch.setattr(caselines, "MOST_COUNTED", 200)
    monkeypatch.setattr(board, "MOST_COUNTED", 200)
    fill_board(app)

    page = technician.get("/?as=list&q=26")

    assert "Page 1 of 5, 200 cases or more" in page.text


def test_the_signpost_shows_a_reader_only_where_they_may_go(reader, supervisor):
    assert 'href="/people"' not in reader.get("/instruments").text
    assert 'href="/people"' in supervisor.get("/instruments").text


def arms(page):
    return re.findall(r'<li><a href="([^"]*)"[^>]*>([^<]*)</a></li>', page.split("<main")[0])


def test_a_technician_finds_few_arms_and_none_of_the_supervisors(technician):
    assert [
        ("/", "Cases"), ("/scan", "Scan"), ("/labels", "Labels"), ("/drills", "Drills"),
        ("/instruments", "Instruments"), ("/display", "More"),
    ] == arms(technician.get("/").text)  # fmt: skip


def test_a_supervisors_pages_stand_behind_the_arm_that_is_open(supervisor):
    closed, opened = arms(supervisor.get("/").text), arms(supervisor.get("/drills").text)

    assert ["Cases", "Scan", "Labels", "Desk", "Repeats", "Lab", "More"] == [
        text for _, text in closed
    ]
    assert [("/audit", "Audit"), ("/drills", "Drills"), ("/predictions", "Predictions")] == opened[
        len(closed) :
    ]


def test_a_page_behind_a_page_keeps_its_arm_open(supervisor):
    text = supervisor.get("/audit/gauges").text

    assert '<a href="/audit" aria-current="true">Repeats</a>' in text
    assert 'href="/predictions"' in text


def test_a_case_number_is_never_markup(technician, state):
    code = case_code(9)
    state(CaseOpened(code, "<b>26</b>", "lower", "master"), case=code)

    assert "<b>26</b>" not in technician.get("/").text
