from __future__ import annotations

import re

import pytest

from bench.core.entries import CaseOpened, PersonChanged
from tests.conftest import PINS


def lab(app):
    return app.extensions["log"].lab()


def sign_in(client, initials="TEC", pin=None, **more):
    return client.send("/who", {"initials": initials, "pin": pin or PINS[initials], **more})


def test_before_the_first_start_every_page_leads_to_it(empty_app):
    client = empty_app.test_client()

    assert client.get("/people").location == "/start"
    assert client.get("/who").location == "/start"


def test_the_first_start_makes_a_supervisor_and_signs_them_in(empty_app):
    client = empty_app.test_client()

    answer = client.send("/start", {"initials": "kd", "pin": "7294", "pin_again": "7294"})

    assert answer.location == "/people"
    assert lab(empty_app).people["KD"].role == "supervisor"
    assert client.get("/people").status_code == 200


def test_there_is_no_second_first_start(app, stranger):
    answer = stranger.send("/start", {"initials": "EV", "pin": "7294", "pin_again": "7294"})

    assert answer.status_code == 403
    assert "EV" not in lab(app).people
    assert stranger.get("/start").location == "/who"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"initials": "K"}, "two to four letters"),
        ({"initials": ""}, "two to four letters"),
        ({"pin": "1234", "pin_again": "1234"}, "counts up or down"),
        ({"pin": "7777", "pin_again": "7777"}, "over and over"),
        ({"pin": "1987", "pin_again": "1987"}, "reads as a year"),
        ({"pin": "729", "pin_again": "729"}, "too few or too many"),
        ({"pin_again": "7295"}, "differ"),
    ],
)
def test_a_first_start_that_cannot_be_says_why_and_makes_nobody(empty_app, fields, words):
    client = empty_app.test_client()
    form = {"initials": "KD", "pin": "7294", "pin_again": "7294", **fields}

    answer = client.send("/start", form)

    assert answer.status_code == 422
    assert words in answer.text
    assert not lab(empty_app).people


def test_initials_and_pin_open_the_page_that_was_wanted(stranger):
    wanted = stranger.get("/instruments")
    answer = sign_in(stranger, next="/instruments")

    assert wanted.location == "/who?next=/instruments"
    assert answer.location == "/instruments"
    assert stranger.get("/instruments").status_code == 200


@pytest.mark.parametrize(
    "wanted", ["//evil.example", "https://evil.example", "/\\evil.example", "/\t/x"]
)
def test_signing_in_leads_nowhere_else(stranger, wanted):
    assert sign_in(stranger, next=wanted).location.startswith("/display")


def test_a_wrong_pin_is_told_and_opens_nothing(stranger):
    answer = sign_in(stranger, pin="9999")

    assert answer.status_code == 422
    assert "PIN is wrong" in answer.text
    assert stranger.get("/instruments").status_code == 303


def test_wrong_pins_are_slowed_down_with_the_seconds_said(stranger):
    for _ in range(3):
        sign_in(stranger, pin="9999")

    answer = sign_in(stranger)

    assert answer.status_code == 429
    assert re.search(r"Wait \d+ seconds?\b", answer.text)


def test_after_many_wrong_pins_a_supervisor_unlocks(stranger, supervisor, hands):
    for _ in range(12):
        sign_in(stranger, pin="9999")
        hands.forward(70)

    locked = sign_in(stranger)
    supervisor.sit("SUP")
    shown = supervisor.get("/people")
    supervisor.send("/people/TEC/unlock")
    answer = sign_in(stranger)

    assert "TEC is locked" in locked.text
    assert "locked after wrong PINs" in shown.text
    assert answer.status_code == 303


def test_a_hundred_guesses_open_nothing(stranger, hands):
    answers = set()
    for n in range(100):
        answers.add(sign_in(stranger, pin=f"{5000 + 37 * n}").status_code)
        hands.forward(90)

    assert answers == {422, 429}
    assert sign_in(stranger).status_code == 429


def test_locking_frees_the_seat(technician):
    technician.send("/lock")

    assert technician.get("/instruments").status_code == 303


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("http://localhost/instruments?said=x", "/who?next=/instruments"),
        ("http://evil.example/instruments", "/who"),
        ("http://localhost/who", "/who"),
        ("http://[", "/who"),
    ],
)
def test_after_the_lock_the_same_page_opens_again(technician, before, after):
    answer = technician.send("/lock", headers={"Referer": before})

    assert answer.location == after


def test_a_seat_left_alone_is_locked_by_the_policy(technician, hands):
    technician.get("/instruments")
    hands.forward(599)
    kept = technician.get("/instruments")
    hands.forward(601)
    lost = technician.get("/instruments")

    assert kept.status_code == 200
    assert lost.status_code == 303


def test_what_asks_by_itself_does_not_put_off_the_lock(technician, hands):
    for _ in range(4):
        hands.forward(200)
        technician.get("/health")

    assert technician.get("/instruments").status_code == 303


def test_a_clock_set_back_opens_nothing(technician, hands):
    hands.forward(-3600)

    assert technician.get("/instruments").status_code == 303


def test_a_form_sent_after_the_lock_is_held_and_goes_through_with_the_pin(
    app, technician, hands, code
):
    form = {"code": code, "number": "26-0042", "arch": "lower", "cast_kind": "master"}
    hands.forward(700)

    asked = technician.send(f"/case/{code}/record/case_opened", form)
    held = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', asked.text))
    done = technician.post(
        re.search(r'<form method="post" action="(/case[^"]+)"', asked.text)[1],
        data={**held, "unlock_initials": "TEC", "unlock_pin": PINS["TEC"]},
    )

    assert asked.status_code == 401
    assert {name: held[name] for name in form} == form
    assert done.status_code == 303
    assert app.extensions["log"].case(code).opened.body == CaseOpened(
        code, "26-0042", "lower", "master"
    )


def test_a_held_form_stays_held_after_a_wrong_pin(app, technician, hands, code):
    hands.forward(700)
    form = {"number": "26-0042", "unlock_initials": "TEC", "unlock_pin": "9999"}

    answer = technician.send(f"/case/{code}/record/case_opened", form)

    assert answer.status_code == 401
    assert 'name="number" value="26-0042"' in answer.text
    assert "9999" not in answer.text
    assert "PIN is wrong" in answer.text
    assert not app.extensions["log"].entries_of(code)


def test_a_pin_sent_along_does_not_lift_a_role(reader, hands, code):
    hands.forward(700)
    form = {"unlock_initials": "REA", "unlock_pin": PINS["REA"]}

    assert reader.send(f"/case/{code}/record/mounted", form).status_code == 403


def test_htmx_puts_the_pin_into_the_page_it_has(technician, hands, code):
    hands.forward(700)

    answer = technician.send(f"/case/{code}/record/mounted", headers={"HX-Request": "true"})

    assert answer.status_code == 401
    assert answer.headers["HX-Retarget"] == "#main"


def test_a_supervisor_adds_somebody_with_a_pin(app, supervisor, stranger):
    form = {"initials": "nw", "role": "technician", "pin": "4816", "pin_again": "4816"}

    supervisor.send("/people", {**form, "initials": "NW"})

    assert lab(app).people["NW"].role == "technician"
    assert sign_in(stranger, "NW", "4816").status_code == 303


def test_initials_are_never_given_out_again(supervisor):
    form = {"initials": "TEC", "role": "reader", "pin": "4816", "pin_again": "4816"}

    answer = supervisor.send("/people", form)

    assert answer.status_code == 422
    assert "initials TEC are taken" in answer.text


def test_a_person_who_left_is_signed_out_at_once(app, supervisor, technician):
    supervisor.send("/people/TEC", {"role": "technician", "active": "off"})

    assert not lab(app).people["TEC"].active
    assert technician.get("/instruments").status_code == 303
    assert sign_in(technician).status_code == 422


def test_the_last_supervisor_stays(app, supervisor):
    answer = supervisor.send("/people/SUP", {"role": "reader", "active": "on"})

    assert answer.status_code == 422
    assert "only supervisor" in answer.text
    assert lab(app).people["SUP"].role == "supervisor"


def test_a_changed_role_counts_at_the_next_request(supervisor, technician, state):
    state(PersonChanged("TEC", "supervisor", True), person="SUP")

    assert technician.get("/people").status_code == 200


def test_a_new_pin_signs_out_everywhere(supervisor, technician):
    supervisor.send("/people/TEC/pin", {"pin": "4816", "pin_again": "4816"})

    assert technician.get("/instruments").status_code == 303
    assert sign_in(technician).status_code == 422
    assert sign_in(technician, pin="4816").status_code == 303


def test_ones_own_pin_is_changed_by_who_knows_it(technician):
    wrong = technician.send("/pin", {"pin_now": "9999", "pin": "4816", "pin_again": "4816"})
    right = technician.send("/pin", {"pin_now": PINS["TEC"], "pin": "4816", "pin_again": "4816"})

    assert wrong.status_code == 422
    assert right.status_code == 303
    assert technician.get("/pin").status_code == 200
    assert sign_in(technician, pin="4816").status_code == 303


def test_signing_in_takes_a_fresh_seat(stranger):
    sign_in(stranger)
    with stranger.session_transaction() as session:
        first = session["seat"]
    sign_in(stranger)
    with stranger.session_transaction() as session:
        second = session["seat"]

    assert first != second


def test_a_pin_is_never_shown_again(supervisor):
    answer = supervisor.send(
        "/people", {"initials": "N", "role": "reader", "pin": "4816", "pin_again": "4816"}
    )

    assert answer.status_code == 422
    assert "4816" not in answer.text
