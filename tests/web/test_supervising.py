from __future__ import annotations

import re

import pytest

from bench.core.entries import (
    DevicePaired,
    Disturbed,
    HoldLifted,
    HoldSet,
    InstrumentAdded,
    Mounted,
    Overruled,
    Withdrawn,
)
from bench.store.contacts import note_contact
from bench.store.logchecks import last_check
from bench.web.trails import PAGE_ENTRIES, period_from
from tests.sync.sealing import Device
from tests.web.castroom import disputed, mounted, opened


def test_the_desk_is_the_supervisors(supervisor, technician, reader):
    assert [200, 403, 403] == [
        who.get("/desk").status_code for who in (supervisor, technician, reader)
    ]
    assert 'href="/desk"' in supervisor.get("/").text
    assert 'href="/desk"' not in technician.get("/").text


def test_an_empty_bench_says_so_in_every_place(supervisor):
    page = supervisor.get("/desk").text

    for words in ("No case is open", "No rule stops", "No statements disagree", "No cast is recalled",
                  "No finding is stale", "No check is due", "Nothing was overruled", "No case is on hold",
                  "No tablet is paired", "never checked here", "No record is past"):  # fmt: skip
        assert words in page


def test_blockers_and_contradictions_lead_to_where_they_are_settled(supervisor, state, hands):
    code = opened(state)
    disputed(state, code)
    hands.forward(3 * 86_400)

    page = supervisor.sit("SUP").get("/desk").text

    assert f'href="/case/{code}/trail"' in page
    assert "1 contradiction" in page
    assert "3 days" in page
    assert "Statements disagree <span" in page


def test_every_overruling_stands_there_with_its_reason_and_fate(supervisor, state):
    code = opened(state)
    zero = mounted(state, code).id
    first = state(Overruled("R4", ("R4:missing:34B",)), case=code, setting=zero, person="SUP",
                  reason="Crown comes first")  # fmt: skip
    state(Withdrawn(first.id), case=code, person="SUP", reason="Not any more")

    for page in (supervisor.get("/desk").text, supervisor.get("/desk/overrulings").text):
        assert "Crown comes first" in page
        assert "Not any more" in page


def test_tablets_stand_with_their_last_contact_and_what_they_hold(app, supervisor, state, hands):
    made = [Device(), Device()]
    for number, one in enumerate(made):
        state(DevicePaired(one.device, f"tablet {number}", one.public_key), person="SUP")
    note_contact(app.extensions["store"], made[0].device, hands.now_ms(), 4)

    page = supervisor.get("/desk").text

    assert "4 not sent yet" in page
    assert page.index("tablet 1") < page.index("tablet 0")  # never heard of comes first


def test_the_log_is_checked_at_a_tap_and_the_answer_is_kept(app, supervisor, state):
    opened(state)

    page = supervisor.send("/desk/check").text

    kept = last_check(app.extensions["store"])
    assert ("SUP", 0) == (kept.person, kept.problems)
    assert "The log is whole" in page
    assert "nothing wrong at the last check" in supervisor.get("/desk").text


def test_damage_is_told_in_words_with_what_to_do(app, supervisor, state):
    opened(state)
    app.extensions["store"].db.conn.execute("UPDATE case_counts SET cases = 9")

    page = supervisor.send("/desk/check").text

    assert "counts differ from its lines" in page
    assert "restore the newest backup" in page
    assert "1 problem at the last check" in supervisor.get("/desk").text


def test_records_past_their_time_are_counted_and_none_is_deleted(app, supervisor, state, hands):
    opened(state)
    before = app.extensions["log"].codes()
    hands.forward(10.1 * 365.25 * 86_400)
    supervisor.sit("SUP")

    page = supervisor.get("/desk").text

    assert "1 record is past that time" in page
    assert "2036-03-09" in page
    assert before == app.extensions["log"].codes()


def hold_id(text):
    return re.search(r'name="hold" value="([^"]+)"', text).group(1)


def test_a_hold_is_set_and_lifted_with_a_reason_and_shown_on_case_and_desk(app, supervisor, state):
    code = opened(state)

    held = supervisor.send(f"/case/{code}/hold", {"reason": "Letter came", "reference": "L-1"})
    shown = [supervisor.get(path).text for path in (f"/case/{code}/trail", f"/case/{code}/sheet")]
    desk, page = supervisor.get("/desk").text, supervisor.get(held.location).text
    lifted = supervisor.send(f"/case/{code}/hold", {"reason": "Settled", "hold": hold_id(page)})

    assert (303, 303) == (held.status_code, lifted.status_code)
    assert all("On hold for the law since 2026-03-09" in text for text in shown)
    assert "Letter came" in desk
    assert ["hold_set", "hold_lifted"] == [
        e.kind for e in app.extensions["log"].case(code).entries[-2:]
    ]
    assert "On hold for the law since" not in supervisor.get(f"/case/{code}/trail").text
    assert "No case is on hold" in supervisor.get("/desk").text


def test_a_hold_wants_a_reason_and_stands_once(supervisor, state):
    code = opened(state)

    bare = supervisor.send(f"/case/{code}/hold", {"reference": "L-1"})
    supervisor.send(f"/case/{code}/hold", {"reason": "Letter"})
    twice = supervisor.send(f"/case/{code}/hold", {"reason": "Another letter"})

    assert (422, 422) == (bare.status_code, twice.status_code)
    assert "The reason is missing" in bare.text
    assert "SUP put this case on hold already" in twice.text


def test_a_hold_changes_nothing_of_a_case(app, state):
    code = opened(state)
    line = app.extensions["log"].models.board()[0]

    state(HoldSet(), case=code, person="SUP", reason="x")

    after = app.extensions["log"].models.board()[0]
    assert (line.state, line.step, line.blocking) == (after.state, after.step, after.blocking)
    assert app.extensions["log"].case(code).hold is not None


def test_only_supervisors_hold_and_readers_may_look(technician, reader, state):
    code = opened(state)

    assert 403 == technician.send(f"/case/{code}/hold", {"reason": "x"}).status_code
    assert (
        "<form" not in reader.get(f"/case/{code}/hold").text.split("<main")[1].split("</main>")[0]
    )


def test_a_lifting_names_the_hold_that_stands(app, supervisor, state):
    code = opened(state)
    held = state(HoldSet(), case=code, person="SUP", reason="x")
    state(HoldLifted(held.id), case=code, person="SUP", reason="y")

    answer = supervisor.send(f"/case/{code}/hold", {"reason": "z", "hold": held.id})

    assert 422 == answer.status_code


def main_of(text):
    return text.split("<main")[1].split("</main>")[0]


def test_the_trail_of_a_person_is_a_story_over_cases_and_lab(supervisor, state):
    code, other = opened(state), opened(state, "26-0102", at=2)
    mounted(state, code)
    state(Disturbed("table_moved"), case=other)
    state(InstrumentAdded("G1", "gauge", 0.25), person="SUP")

    mine, theirs = (main_of(supervisor.get(f"/trail/person/{who}").text) for who in ("TEC", "SUP"))

    assert "TEC mounted the cast" in mine
    assert "TEC reported that the table moved" in mine
    assert mine.index("table moved") < mine.index("mounted the cast")
    assert {"26-0101", "26-0102"} <= set(re.findall(r"26-010\d", mine))
    assert "SUP added undercut gauge G1" in theirs
    assert "mounted" not in theirs


def test_a_person_reads_their_own_trail_and_nobody_elses(technician, reader, supervisor):
    assert 200 == technician.get("/trail/person/TEC").status_code
    assert 403 == technician.get("/trail/person/SUP").status_code
    assert 403 == reader.get("/trail/person/REA").status_code
    assert 404 == supervisor.get("/trail/person/ZZ").status_code


def test_days_narrow_a_trail_and_other_words_are_left_out(supervisor, state, hands):
    code = opened(state)
    hands.forward(86_400)
    mounted(state, code)
    supervisor.sit("SUP")

    def trail(query):
        return main_of(supervisor.get(f"/trail/person/TEC?{query}").text)

    assert "mounted" in trail("since=2026-03-10")
    assert "opened case" not in trail("since=2026-03-10")
    assert "mounted" not in trail("until=2026-03-09")
    assert "2 entries" in trail("since=yesterday&until=0000-00-00&page=x")
    assert "Nothing was stated then" in trail("since=2027-01-01")


@pytest.mark.parametrize("day", ["", "2026-02-30", "0001-01-01", "9999-12-31", "x" * 99])
def test_a_day_that_is_none_leaves_the_period_open(day):
    assert ("", "~") == (period_from(day, day).from_at, period_from(day, day).before_at)


def test_a_long_trail_has_pages(supervisor, state):
    code = opened(state)
    for _ in range(PAGE_ENTRIES):
        state(Mounted(), case=code)

    first, last = (supervisor.get(f"/trail/person/TEC?page={n}").text for n in (1, 999))

    assert "Page 1 of 2" in first
    assert "Page 2 of 2" in last
    assert "opened case 26-0101" in last
