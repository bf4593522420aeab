from __future__ import annotations

import re

import pytest

from bench.core.entries import (
    InstrumentAdded,
    InstrumentChecked,
    Mounted,
    PersonUnconfirmed,
    TableDescribed,
    TripodMarked,
    UndercutRead,
)
from bench.core.policy import Policy
from tests.web.castroom import mounted, opened

DAY_S = 86_400


@pytest.fixture
def gauge(state):
    state(InstrumentAdded("G1", "gauge", 0.25), person="SUP")
    return "G1"


@pytest.fixture
def checked(state):
    def check(passed, tag="G1"):
        return state(InstrumentChecked(tag, passed, 0.25, 0.25))

    return check


def instrument(app, tag="G1"):
    return app.extensions["log"].lab().instruments[tag]


def test_a_check_may_say_how_uncertain_it_is(app, technician, gauge):
    technician.send(
        "/instruments/G1/check",
        {"reading": "0.25", "reference": "0.25", "passed": "on", "uncertainty": "0,01"},
    )

    known = instrument(app)
    assert {known.checks[0].id: 0.01} == known.uncertainties
    assert "0.25 / 0.25 ± 0.01" in technician.get("/instruments").text


def test_a_double_tap_checks_once(app, technician, gauge):
    page = technician.get("/instruments").text
    form = {
        name: re.search(rf'name="{name}" value="([^"]+)"', page).group(1)
        for name in ("entry_id", "second_id")
    }

    answers = [
        technician.send("/instruments/G1/check", {**form, "passed": "on", "uncertainty": "0.01"})
        for _ in range(2)
    ]

    known = instrument(app)
    assert [303, 303] == [one.status_code for one in answers]
    assert (1, 1) == (len(known.checks), len(known.uncertainties))


def test_an_uncertainty_that_is_no_number_records_nothing(app, technician, gauge):
    answer = technician.send("/instruments/G1/check", {"passed": "on", "uncertainty": "little"})

    assert 422 == answer.status_code
    assert "“little” is no number" in answer.text
    assert () == instrument(app).checks


def test_an_instrument_leaves_and_comes_back(app, supervisor, gauge):
    supervisor.send("/instruments/G1/retire")
    away = instrument(app).in_service
    answer = supervisor.send("/instruments/G1/return", {"remark": "New lip"})

    assert (False, True, 303) == (away, instrument(app).in_service, answer.status_code)
    assert 422 == supervisor.send("/instruments/G1/return").status_code


def test_a_technician_puts_nothing_back_into_service(technician, supervisor, gauge):
    supervisor.send("/instruments/G1/retire")

    assert 403 == technician.send("/instruments/G1/return").status_code


def test_a_sleeve_is_an_instrument(app, supervisor):
    assert 303 == supervisor.send("/instruments", {"tag": "SL1", "sort": "sleeve"}).status_code
    assert "sleeve" == instrument(app, "SL1").sort


def test_what_is_overdue_stands_at_the_top(technician, hands, gauge, checked):
    checked(True)
    fresh = technician.get("/instruments").text
    hands.forward((Policy().number("gauge_check_days") + 1) * DAY_S)
    late = technician.sit("TEC").get("/instruments").text

    assert "Checks that are due" not in fresh
    assert "check overdue since 2026-06-07" in late


def test_the_interval_of_a_sort_is_a_policy(technician, supervisor, hands, state):
    state(InstrumentAdded("I1", "inclinometer"), person="SUP")
    state(InstrumentChecked("I1", True, 0.0, 0.0, "deg"))
    supervisor.send("/policy/inclinometer_check_days", {"value": "30", "reason": "Dropped once"})
    hands.forward(31 * DAY_S)

    assert "check overdue since 2026-04-08" in technician.sit("TEC").get("/instruments").text


def reads(state, code, tooth, setting, hands):
    hands.forward(60)
    body = UndercutRead(tooth, "MB", 0.25, "both", gauge="G1")
    return state(body, case=code, setting=setting).id


def doubted(text):
    section = text.split("data-doubt", 1)[1].split("</section>")[0]
    return set(re.findall(r"#e-([0-9a-f-]{36})", section))


def test_a_failed_check_lists_exactly_what_was_read_since_the_last_good_one(
    reader, state, hands, gauge, checked
):
    code, other = opened(state), opened(state, "26-0102", at=2)
    here, there = mounted(state, code).id, mounted(state, other).id
    reads(state, code, 33, here, hands)
    hands.forward(60)
    checked(True)
    wanted = {reads(state, code, 34, here, hands), reads(state, other, 43, there, hands)}
    plain = state(UndercutRead(44, "MB", 0.25, "both", gauge="G9"), case=code, setting=here).id
    hands.forward(60)
    checked(False)
    wanted.add(reads(state, code, 45, here, hands))
    hands.forward(60)
    checked(True)
    reads(state, code, 35, here, hands)

    page = reader.get("/trail/instrument/G1").text

    assert wanted == doubted(page)
    assert plain not in page
    assert "3 entries to look at again" in page
    assert {f"/case/{code}/trail", f"/case/{other}/trail"} <= set(
        re.findall(r"/case/\w+/trail", page)
    )


def test_an_instrument_without_a_failure_is_in_no_doubt(reader, gauge, checked):
    checked(True)

    assert "data-doubt" not in reader.get("/trail/instrument/G1").text
    assert 404 == reader.get("/trail/instrument/G7").status_code


@pytest.fixture
def measured(app, state, hands):
    """A case whose cast lies on S1 and whose tripod was measured with C1; return the tripod."""
    for tag, sort in (("S1", "surveyor"), ("T1", "table"), ("C1", "caliper")):
        state(InstrumentAdded(tag, sort), person="SUP")
    code = opened(state)
    zero = state(Mounted("S1", "T1"), case=code)
    hands.forward(60)
    for tag in ("S1", "C1"):
        state(InstrumentChecked(tag, True))
    hands.forward(60)
    body = TripodMarked(40, 40, 40, "clockwise", True, True, True, True, caliper="C1")
    return state(body, case=code, setting=zero.id)


@pytest.mark.parametrize("tag", ["S1", "C1"])
def test_what_a_failed_surveyor_or_caliper_is_behind_is_listed(reader, state, hands, measured, tag):
    hands.forward(60)
    state(InstrumentChecked(tag, False))

    page = reader.get(f"/trail/instrument/{tag}").text

    assert {measured.id} == doubted(page)
    assert ("The cast lay on it." in page) == (tag == "S1")


def test_what_was_made_since_the_last_good_check_is_shown_when_asked_for(reader, measured):
    plain, asked = (reader.get(f"/trail/instrument/C1{more}").text for more in ("", "?made=since"))

    assert "data-made" not in plain
    assert measured.id in asked.split("data-made", 1)[1].split("</section>")[0]
    assert "1 entry" in asked


def test_the_screws_of_a_table_are_one_tap_from_the_instruments(reader, measured):
    assert 'href="/tables/T1"' in reader.get("/instruments").text
    assert 'href="/tables/T1"' in reader.get("/trail/instrument/T1").text


def test_each_check_opens_its_entry_on_the_trail(reader, gauge, checked):
    made = checked(True)

    address = re.search(r'href="([^"]*#e-[^"]*)"', reader.get("/instruments").text)[1]

    assert address.endswith(f"#e-{made.id}")
    assert f'id="e-{made.id}"' in reader.get(address.replace("&amp;", "&")).text


def noted(state, *entries):
    state(PersonUnconfirmed(tuple(entry.id for entry in entries)), person=entries[0].person)


def test_a_check_in_ones_name_without_the_pin_counts_once_one_confirms_it(
    app, technician, supervisor, state, gauge, checked
):
    check = checked(True)
    noted(state, check)

    before = technician.get("/instruments").text
    others = supervisor.get("/instruments").text
    refused = supervisor.send("/instruments/confirm", {"entries": [check.id]})
    held = instrument(app).checks
    answer = technician.send("/instruments/confirm", {"entries": [check.id]})

    assert "Recorded in your name without your PIN" in before
    assert "Recorded in your name without your PIN" not in others
    assert "it counts once TEC confirms it" in others
    assert (422, (), 303) == (refused.status_code, held, answer.status_code)
    assert (check,) == instrument(app).checks
    assert "Recorded in your name" not in technician.get(answer.location).text


def test_a_confirmation_of_nothing_is_refused_in_words(technician, state, gauge, checked):
    noted(state, checked(True))

    answer = technician.send("/instruments/confirm")

    assert 422 == answer.status_code
    assert 'class="error"' in answer.text


def test_what_the_screws_of_a_table_do_is_confirmed_at_the_same_place(technician, state):
    state(InstrumentAdded("T1", "table", None, 0.5, True), person="SUP")
    noted(state, state(TableDescribed("T1", "left screw")))

    assert "Recorded in your name" in technician.get("/instruments").text


def test_the_forms_bear_what_a_tablet_states_them_by(technician, state, gauge, checked):
    state(InstrumentAdded("T1", "table", None, 0.5, True), person="SUP")
    check = checked(True)

    page = technician.get(f"/instruments?said={check.id}").text
    table = technician.get("/tables/T1").text

    assert "The check of G1 was recorded." in page
    assert 2 == page.count('data-statement="instrument_checked"')
    assert 'name="tag" value="G1"' in page
    assert 'name="next" value="/instruments"' in page
    assert 'data-statement="table_described"' in table
