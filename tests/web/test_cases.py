from __future__ import annotations

import pytest

from bench.core.entries import CaseOpened, Mounted, PolicySet
from bench.core.ids import case_code, code_from_typed, shown_code
from bench.web.cases import may_be_a_name, shape_shown
from tests.web.castroom import opened

FORM = {"number": "26-0101", "arch": "lower", "cast_kind": "master"}


def cases_in(app):
    log = app.extensions["log"]
    return [log.case(code).opened.body for code in log.codes()]


def form_id(client) -> str:
    page = client.get("/case/new").text
    return page.split('name="entry_id" value="')[1].split('"')[0]


def test_a_case_is_opened_under_a_fresh_code_and_leads_to_receive(app, technician):
    answer = technician.send("/case/new", {**FORM, "entry_id": form_id(technician)})

    (body,) = cases_in(app)
    assert 303 == answer.status_code
    assert f"/case/{body.code}/receive" in answer.headers["Location"]
    assert (body.number, body.arch, body.cast_kind) == ("26-0101", "lower", "master")
    assert code_from_typed(body.code) == body.code


def test_a_second_tap_opens_no_second_case(app, technician):
    sent = {**FORM, "entry_id": form_id(technician)}

    first, second = (technician.send("/case/new", sent) for _ in range(2))

    assert 1 == len(cases_in(app))
    assert first.headers["Location"] == second.headers["Location"]


def test_two_forms_get_two_codes(app, technician):
    for _ in range(2):
        technician.send("/case/new", {**FORM, "entry_id": form_id(technician)})

    assert 2 == len({body.code for body in cases_in(app)})


def test_a_code_that_is_taken_is_passed_over(app, technician, monkeypatch, state):
    taken = opened(state, "26-0900", at=5)
    monkeypatch.setattr("bench.web.cases.codes_of", lambda form: iter((taken, case_code(6))))

    technician.send("/case/new", {**FORM, "entry_id": form_id(technician)})

    assert {taken, case_code(6)} == set(app.extensions["log"].codes())


def test_a_printed_label_can_be_given_to_the_case(app, technician):
    code = case_code(77)
    page = technician.get(f"/case/new?code={code}").text

    answer = technician.send("/case/new", {**FORM, "code": code})

    assert shown_code(code) in page
    assert f"/case/{code}/receive" in answer.headers["Location"]


def test_a_label_that_is_in_use_is_refused(app, technician, state):
    code = opened(state)

    answer = technician.send("/case/new", {**FORM, "number": "26-0200", "code": code})

    assert 422 == answer.status_code
    assert "A case is open for this label already" in answer.text


def test_a_number_of_another_shape_is_refused_with_the_shape_and_kept(app, technician):
    answer = technician.send("/case/new", {**FORM, "number": "2601"})

    assert 422 == answer.status_code
    assert "Write it like 00-0000" in answer.text
    assert 'value="2601"' in answer.text
    assert [] == cases_in(app)


def test_what_is_not_chosen_is_named_and_what_is_stays_chosen(technician):
    answer = technician.send("/case/new", {"number": "26-0101", "cast_kind": "duplicate"})

    assert 422 == answer.status_code
    assert "The arch is missing" in answer.text
    assert 'value="duplicate" checked' in answer.text
    assert 'value="26-0101"' in answer.text


def test_a_number_that_may_be_a_name_must_be_confirmed(app, technician, state):
    state(PolicySet("case_number_pattern", "[A-Za-z0-9 -]+"), person="SUP", reason="New numbers")
    sent = {**FORM, "number": "Tooth 12", "entry_id": form_id(technician)}

    asked = technician.send("/case/new", sent)
    done = technician.send("/case/new", {**sent, "no_name": "on"})

    assert 422 == asked.status_code
    assert "may be a name" in asked.text
    assert 'name="no_name"' in asked.text
    assert 303 == done.status_code
    assert ["Tooth 12"] == [body.number for body in cases_in(app)]


@pytest.mark.parametrize(
    ("number", "name"),
    [
        ("26-0101", False),
        ("26-0101A", False),
        ("AB-12", False),
        ("Tooth", True),
        ("26 Zähne", True),
    ],
)
def test_three_letters_in_a_row_may_be_a_name(number, name):
    assert name == may_be_a_name(number)


@pytest.mark.parametrize(
    ("pattern", "example"),
    [
        ("[0-9]{2}-[0-9]{4}[A-Z]?", "00-0000"),
        (r"[A-Z]{3}\d{5}", "AAA00000"),
        (r"L-\d+", "L-0"),
        ("(a|b)c", "(a|b)c"),
    ],
)
def test_the_shape_of_a_number_is_shown_by_an_example(pattern, example):
    assert example == shape_shown(pattern)


def test_a_reader_opens_no_case(reader):
    assert 403 == reader.get("/case/new").status_code
    assert 403 == reader.send("/case/new", FORM).status_code


def test_a_form_without_its_token_is_refused(technician):
    assert 403 == technician.post("/case/new", data=FORM).status_code


def test_a_huge_form_is_refused_before_it_is_read(technician):
    answer = technician.send("/case/new", {**FORM, "number": "9" * 400_000})

    assert 413 == answer.status_code


@pytest.mark.parametrize("address", ["/case/{}", "/c/{}", "/C/{}"])
def test_a_case_is_opened_at_its_next_step_in_one_redirect(reader, state, address):
    code = opened(state)

    answer = reader.get(address.format(code))

    assert 303 == answer.status_code
    assert f"/case/{code}/receive" == answer.headers["Location"]


def test_a_code_typed_with_hyphen_and_small_letters_is_found(reader, state):
    code = opened(state)

    assert 303 == reader.get(f"/c/{shown_code(code).lower()}").status_code


def test_a_label_nobody_used_is_told_from_one_that_is_wrong(technician):
    unused, wrong = technician.get(f"/C/{case_code(99)}"), technician.get("/C/K7Q2M4XX")

    assert 404 == unused.status_code == wrong.status_code
    assert "Open a case with this label" in unused.text
    assert "is not the code of any label" in wrong.text
    assert "K7Q2M4XX" in wrong.text


def test_a_label_recorded_against_but_not_opened_says_so(technician, state):
    code = case_code(8)
    state(Mounted(), case=code)

    page = technician.get(f"/c/{code}").text

    assert "its case is not opened yet" in page


def test_a_reader_is_not_offered_to_open_a_case_with_a_label(reader):
    assert "/case/new" not in reader.get(f"/c/{case_code(99)}").text


def test_what_was_recorded_before_belongs_to_the_case_once_opened(app, technician, state):
    code = case_code(8)
    state(Mounted(), case=code)

    technician.send("/case/new", {**FORM, "code": code})

    case = app.extensions["log"].case(code)
    assert 1 == len(case.said(CaseOpened)) == len(case.said(Mounted))
