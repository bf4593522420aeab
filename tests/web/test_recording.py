from __future__ import annotations

import json

import pytest

from bench.core.entries import CaseOpened, Mounted, SettingTaken, TeethRecorded, UndercutRead
from bench.web import clock
from bench.web.stamps import Stamps

OPENING = {"number": "26-0042", "arch": "lower", "cast_kind": "master", "step": "receive"}
UNDERCUT = {
    "tooth": "34", "surface": "MB", "gauge_mm": "0,25", "contact": "both", "step": "undercuts"
}  # fmt: skip


@pytest.fixture
def mounted(state, code):
    state(CaseOpened(code, "26-0042", "lower", "master"), case=code)
    state(TeethRecorded(missing=(36, 37)), case=code)
    return state(Mounted(), case=code)


def fresh_id(app):
    with app.test_request_context():
        return clock.new_entry_id()


def entries(app, code):
    return app.extensions["log"].entries_of(code)


def test_a_form_becomes_an_entry_and_the_browser_returns_to_its_step(app, technician, code):
    answer = technician.send(f"/case/{code}/record/case_opened", {"code": code, **OPENING})

    entry = entries(app, code)[0]
    assert entry.body == CaseOpened(code, "26-0042", "lower", "master")
    assert entry.person == "TEC"
    assert answer.status_code == 303
    assert answer.location == f"/case/{code}/receive?said={entry.id}"


def test_the_place_worked_at_travels_with_the_browser(technician, code, mounted):
    answer = technician.send(
        f"/case/{code}/record/undercut_read", {**UNDERCUT, "setting": mounted.id}
    )

    assert "tooth=34&surface=MB" in answer.location


def test_htmx_gets_the_page_at_once_and_hears_of_the_entry(app, technician, code, mounted):
    answer = technician.send(
        f"/case/{code}/record/undercut_read",
        {**UNDERCUT, "setting": mounted.id},
        headers={"HX-Request": "true"},
    )

    entry = entries(app, code)[-1]
    assert answer.status_code == 200
    assert json.loads(answer.headers["HX-Trigger-After-Settle"]) == {"recorded": {"id": entry.id}}
    assert isinstance(entry.body, UndercutRead)


def test_a_double_tap_states_once(app, technician, code, mounted):
    form = {**UNDERCUT, "setting": mounted.id, "entry_id": fresh_id(app)}

    first = technician.send(f"/case/{code}/record/undercut_read", form)
    second = technician.send(f"/case/{code}/record/undercut_read", form)

    assert first.location == second.location
    assert [e.kind for e in entries(app, code)].count("undercut_read") == 1


def test_a_form_that_lay_open_is_stamped_when_it_is_sent(
    app, technician, code, mounted, hands, state
):
    form = {**UNDERCUT, "setting": mounted.id, "entry_id": fresh_id(app)}
    hands.forward(300)
    between = state(TeethRecorded(missing=(36,)), case=code)

    technician.send(f"/case/{code}/record/undercut_read", form)
    technician.send(f"/case/{code}/record/undercut_read", form)

    newest = max(entries(app, code), key=lambda entry: entry.id)
    assert newest.kind == "undercut_read"
    assert newest.id > between.id
    assert [e.kind for e in entries(app, code)].count("undercut_read") == 1


def test_only_so_many_forms_are_remembered(app, monkeypatch):
    monkeypatch.setattr("bench.web.stamps.REMEMBERED", 2)
    stamps = Stamps()

    with app.test_request_context():
        for _ in range(5):
            stamps.stamped(fresh_id(app))

    assert len(stamps._given) == 2


def test_a_refused_form_keeps_its_page_and_writes_nothing(app, technician, code, mounted):
    form = {**UNDERCUT, "setting": mounted.id, "gauge_mm": "9", "contact": "perhaps"}

    answer = technician.send(f"/case/{code}/record/undercut_read", form)

    assert answer.status_code == 422
    assert "Undercuts" in answer.text
    assert len(entries(app, code)) == 3


def test_a_page_made_for_an_earlier_setting_is_answered_as_out_of_date(
    technician, code, mounted, state
):
    state(SettingTaken(3.0, 1.0, resolution_deg=0.5), case=code, setting=mounted.id)

    answer = technician.send(
        f"/case/{code}/record/undercut_read", {**UNDERCUT, "setting": mounted.id}
    )

    assert answer.status_code == 409
    assert "it is at setting 1 now" in answer.text


def test_a_second_reading_of_one_site_is_answered_as_out_of_date(technician, code, mounted):
    form = {**UNDERCUT, "setting": mounted.id}
    technician.send(f"/case/{code}/record/undercut_read", form)

    answer = technician.send(f"/case/{code}/record/undercut_read", {**form, "contact": "lip_first"})

    assert answer.status_code == 409


def test_a_correction_names_what_it_corrects_and_why(app, technician, code, mounted):
    form = {**UNDERCUT, "setting": mounted.id}
    technician.send(f"/case/{code}/record/undercut_read", form)
    first = entries(app, code)[-1]

    technician.send(
        f"/case/{code}/record/undercut_read",
        {**form, "contact": "lip_first", "supersedes": first.id, "reason": "shank was dusty"},
    )

    newest = entries(app, code)[-1]
    assert newest.supersedes == (first.id,)
    assert newest.reason == "shank was dusty"


def test_an_entry_is_undone_within_a_minute_without_typing_a_reason(app, technician, code, mounted):
    technician.send(f"/case/{code}/record/undercut_read", {**UNDERCUT, "setting": mounted.id})
    reading = entries(app, code)[-1]

    answer = technician.send(f"/case/{code}/withdraw/{reading.id}", {"step": "undercuts"})

    assert answer.status_code == 303
    assert entries(app, code)[-1].body.entry == reading.id
    assert entries(app, code)[-1].reason


def test_after_a_minute_taking_back_needs_a_reason(app, technician, code, mounted, hands):
    technician.send(f"/case/{code}/record/undercut_read", {**UNDERCUT, "setting": mounted.id})
    reading = entries(app, code)[-1]
    hands.forward(61)

    bare = technician.send(f"/case/{code}/withdraw/{reading.id}", {"step": "undercuts"})
    with_reason = technician.send(
        f"/case/{code}/withdraw/{reading.id}", {"step": "undercuts", "reason": "wrong tooth"}
    )

    assert bare.status_code == 422
    assert "reason is missing" in bare.text
    assert with_reason.status_code == 303


@pytest.mark.parametrize("kind", ["nothing", "withdrawn", "person_added", "policy_set"])
def test_what_is_no_statement_of_a_case_has_no_address_there(technician, code, mounted, kind):
    answer = technician.send(f"/case/{code}/record/{kind}", {"reason": "x"})

    assert answer.status_code == 404


def test_a_technician_does_not_overrule(technician, code, mounted):
    answer = technician.send(
        f"/case/{code}/record/overruled",
        {"rule": "R1", "covers": "R1:x", "setting": mounted.id, "reason": "x", "step": "release"},
    )

    assert answer.status_code == 403
    assert "Only a supervisor" in answer.text


def test_a_case_that_nothing_is_recorded_of_opens_at_receive_alone(technician, code):
    assert technician.get(f"/case/{code}/receive").status_code == 200
    assert technician.get(f"/case/{code}/tilt").status_code == 404


def test_a_mistyped_label_code_is_told_from_a_missing_page(technician):
    answer = technician.get("/case/22222223/tilt")

    assert answer.status_code == 404
    assert "no label code" in answer.text
