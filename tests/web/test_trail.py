from __future__ import annotations

import html
import json
import re

import pytest
from werkzeug.datastructures import MultiDict

from bench.core.entries import (
    KINDS,
    CaseOpened,
    SettingTaken,
    SurveyLinesDrawn,
    UndercutRead,
    Withdrawn,
)
from bench.core.ids import case_code
from bench.web.forms import read_body
from tests.web.castroom import disputed, mounted, opened


def settle(client, code, first, **rest):
    key = f"undercut|34|MB|{first.setting}"
    return client.send(
        f"/case/{code}/settle", {"key": key, "chosen": first.id, "reason": "Read again", **rest}
    )


def test_the_trail_tells_every_entry_by_day_and_setting(reader, state):
    code = opened(state)
    zero = mounted(state, code).id
    state(SettingTaken(4.0, 0.0, "T1", 0.5), case=code, setting=zero)

    page = reader.get(f"/case/{code}/trail").text

    assert "2026-03-09" in page
    assert page.index("before mounting") < page.index("setting 0 (zero)") < page.index("setting 1")
    assert "TEC opened case 26-0101" in page


def test_what_was_taken_back_is_struck_through_with_its_reason(reader, state):
    code = opened(state)
    zero = mounted(state, code).id
    read = state(UndercutRead(34, "MB", 0.25, "both"), case=code, setting=zero)
    state(Withdrawn(read.id), case=code, reason="Wrong tooth in the chuck")

    page = reader.get(f"/case/{code}/trail").text

    assert "<s>TEC read 34 MB" in page
    assert "Wrong tooth in the chuck" in page
    assert "no longer counts" in page


def test_a_contradiction_is_shown_with_both_statements_and_the_way_to_settle_it(technician, state):
    code = opened(state)
    first, second = disputed(state, code)

    page = technician.get(f"/case/{code}/trail").text

    assert "Statements that disagree" in page
    assert f'value="{first.id}"' in page
    assert f'value="{second.id}"' in page


def test_a_reader_sees_the_contradiction_but_no_form(reader, state):
    code = opened(state)
    disputed(state, code)

    page = reader.get(f"/case/{code}/trail").text

    assert "Statements that disagree" in page
    assert f'action="/case/{code}/settle"' not in page


def test_one_statement_recorded_again_settles_it(app, technician, state):
    code = opened(state)
    first, second = disputed(state, code)

    answer = settle(technician, code, first)

    case = app.extensions["log"].case(code)
    assert 303 == answer.status_code
    assert () == case.contradictions
    assert {first.id, second.id} == set(case.aside)
    assert "both" == case.said(UndercutRead)[0].body.contact
    assert "Read again" == case.said(UndercutRead)[0].entry.reason


def test_a_settlement_without_a_reason_is_refused_and_the_choice_kept(app, technician, state):
    code = opened(state)
    first, _ = disputed(state, code)

    answer = settle(technician, code, first, reason="  ")

    assert 422 == answer.status_code
    assert "The reason is missing" in answer.text
    assert f'value="{first.id}" required checked' in answer.text
    assert 1 == len(app.extensions["log"].case(code).contradictions)


def test_a_settlement_that_chooses_nothing_is_refused_and_the_reason_kept(technician, state):
    code = opened(state)
    first, _ = disputed(state, code)

    answer = settle(technician, code, first, chosen="nonsense")

    assert 422 == answer.status_code
    assert "Choose the statement that counts" in answer.text
    assert 'value="Read again"' in answer.text


def test_a_second_tap_finds_it_settled_and_records_nothing(app, technician, state):
    code = opened(state)
    first, _ = disputed(state, code)
    settle(technician, code, first)
    held = len(app.extensions["log"].entries_of(code))

    answer = settle(technician, code, first)

    assert 409 == answer.status_code
    assert "settled already" in answer.text
    assert held == len(app.extensions["log"].entries_of(code))


def test_two_settings_that_left_the_same_one_are_settled_by_taking_one_back(app, technician, state):
    code = opened(state)
    zero = mounted(state, code).id
    first = state(SettingTaken(2.0, 0.0, "T1", 0.5), case=code, setting=zero)
    state(SettingTaken(5.0, 0.0, "T1", 0.5), case=code, setting=zero, person="SUP")

    technician.send(
        f"/case/{code}/settle",
        {"key": f"settings|{zero}", "chosen": first.id, "reason": "The first was meant"},
    )

    case = app.extensions["log"].case(code)
    assert () == case.contradictions
    assert first.id == case.now.id


def test_a_reader_settles_nothing(reader, state):
    code = opened(state)
    first, _ = disputed(state, code)

    assert 403 == settle(reader, code, first).status_code


@pytest.mark.parametrize("code", [case_code(44), "K7Q2M4XX", "nonsense"])
def test_a_case_that_is_not_there_has_no_trail(reader, code):
    assert 404 == reader.get(f"/case/{code}/trail").status_code


def test_a_case_opened_twice_says_that_only_a_supervisor_can_decide(technician, state):
    code = opened(state)
    state(CaseOpened(code, "26-0999", "lower", "master"), case=code, person="SUP")

    page = technician.get(f"/case/{code}/trail").text

    assert "opened twice under one label" in page


def test_remarks_are_told_as_text(technician, state):
    code = opened(state)
    zero = mounted(state, code).id
    read = state(UndercutRead(34, "MB", 0.25, "both"), case=code, setting=zero)
    state(Withdrawn(read.id), case=code, reason="<script>alert(1)</script>")

    assert "<script>alert" not in technician.get(f"/case/{code}/trail").text


def test_settling_a_survey_line_keeps_the_other_lines_of_the_same_entry(app, technician, state):
    code = opened(state)
    zero = mounted(state, code).id
    first = state(SurveyLinesDrawn(("34B", "34L"), True), case=code, setting=zero)
    second = state(SurveyLinesDrawn(("34B",), False), case=code, setting=zero, person="SUP")

    answer = technician.send(
        f"/case/{code}/settle",
        {"key": f"line|34B|{zero}", "chosen": second.id, "reason": "Drawn again together"},
    )

    case = app.extensions["log"].case(code)
    drawn = {
        str(claim[1]): r.body.lead_at_gingival
        for claim, r in case.readings(SurveyLinesDrawn).items()
    }
    assert 303 == answer.status_code
    assert {"34B": False, "34L": True} == drawn
    assert first.id in case.aside


def settles_of(page):
    (text,) = re.findall(r'data-settles="([^"]*)"', page)
    return json.loads(html.unescape(text))


def stated(app, state, code, settles, chosen):
    """State what the page says would settle it, as a tablet does."""
    return [
        state(
            read_body(KINDS[one["kind"]], MultiDict(fields_of(one["body"]))), case=code,
            setting=one["setting"], supersedes=tuple(one["supersedes"]), reason="Read again",
        )
        for one in settles[chosen]
    ]  # fmt: skip


def fields_of(body):
    for name, value in body.items():
        for one in value if isinstance(value, list) else [value]:
            yield name, "" if one is None else "on" if one is True else str(one)


def test_the_form_tells_a_tablet_what_settles_it_for_each_statement_that_may_be_chosen(
    app, technician, state
):
    code = opened(state)
    first, second = disputed(state, code)

    settles = settles_of(technician.get(f"/case/{code}/trail").text)
    stated(app, state, code, settles, second.id)

    case = app.extensions["log"].case(code)
    assert {first.id, second.id} == set(settles)
    assert {first.id, second.id} == set(case.aside)
    assert () == case.contradictions
    assert second.body == case.said(UndercutRead)[0].body


def test_lines_that_are_settled_are_told_with_those_that_are_said_again(app, technician, state):
    code = opened(state)
    zero = mounted(state, code).id
    first = state(SurveyLinesDrawn(("34B", "35B"), True), case=code, setting=zero)
    second = state(SurveyLinesDrawn(("34B", "36B"), False), case=code, setting=zero)

    settles = settles_of(technician.get(f"/case/{code}/trail").text)
    stated(app, state, code, settles, first.id)

    case = app.extensions["log"].case(code)
    lines = [(said.body.sites, said.body.lead_at_gingival) for said in case.said(SurveyLinesDrawn)]
    assert [2, 2] == [len(one) for one in settles.values()]
    assert [(("34B", "35B"), True), (("36B",), False)] == lines
    assert {first.id, second.id} == set(case.aside)


def test_what_a_tablet_stated_is_named_once_the_page_is_shown_anew(app, technician, state):
    code = opened(state)
    first, _ = disputed(state, code)
    path = f"/case/{code}/trail"
    (said,) = stated(app, state, code, settles_of(technician.get(path).text), first.id)
    back = state(Withdrawn(said.id), case=code, reason="Too early")

    settled, taken_back, unknown = (
        technician.get(f"{path}?said={one}").text for one in (said.id, back.id, "x")
    )

    assert "Settled." in settled
    assert "Taken back." in taken_back
    assert "Settled." not in unknown
    assert "Statements that disagree" in unknown
