from __future__ import annotations

from bench.core.entries import CaseOpened, InstrumentAdded, PolicySet
from bench.words import Words
from tests.core.bench_story import CODE


def policy(app):
    return app.extensions["log"].lab().policy


def test_a_supervisor_changes_a_number_with_a_reason(app, supervisor):
    answer = supervisor.send(
        "/policy/remount_tolerance_deg", {"value": "0,8", "reason": "new surveyor"}
    )

    entry = app.extensions["log"].lab_entries()[-1]
    assert answer.status_code == 303
    assert policy(app).number("remount_tolerance_deg") == 0.8
    assert (entry.body, entry.reason) == (PolicySet("remount_tolerance_deg", "0.8"), "new surveyor")


def test_the_page_names_owner_date_and_reason_of_a_change(supervisor, reader):
    supervisor.send("/policy/B1", {"value": "warns", "reason": "teaching week"})

    page = reader.get("/policy").text
    assert "changed by SUP on 2026-03-09: teaching week" in page
    assert "from 0.1 to 5 degrees" in page


def test_a_change_without_a_reason_is_refused_and_keeps_what_was_typed(app, supervisor):
    answer = supervisor.send("/policy/idle_lock_s", {"value": "1200"})

    assert answer.status_code == 422
    assert "The reason is missing" in answer.text
    assert 'value="1200"' in answer.text
    assert policy(app).number("idle_lock_s") == 600


def test_a_number_outside_its_range_is_refused_with_the_range(supervisor):
    answer = supervisor.send("/policy/idle_lock_s", {"value": "1", "reason": "x"})

    assert answer.status_code == 422
    assert "outside 30" in answer.text


def test_a_change_of_the_idle_lock_counts_at_once(supervisor, technician, hands):
    supervisor.send("/policy/idle_lock_s", {"value": "60", "reason": "open house"})
    technician.get("/about")
    hands.forward(61)

    assert technician.get("/instruments").status_code == 303


def test_the_later_of_two_open_pages_wins(app, supervisor, hands):
    early = form_id(supervisor)
    hands.forward(60)
    supervisor.sit("SUP")
    supervisor.send("/policy/keep_years", {"value": "12", "reason": "first"})
    supervisor.send("/policy/keep_years", {"value": "15", "reason": "second", "entry_id": early})

    assert policy(app).number("keep_years") == 15


def form_id(client):
    page = client.get("/policy").text
    return page.split('name="entry_id" value="')[1][:36]


def test_the_label_is_chosen_among_the_sizes_there_are(app, supervisor, reader, state):
    state(CaseOpened(CODE, "26-0102", "lower", "master"), case=CODE)
    page = supervisor.get("/policy").text

    supervisor.send("/policy/label_mm", {"value": "25", "reason": "photos are measured"})

    assert 'name="value" value="30"' in page
    assert policy(app).number("label_mm") == 25
    assert 'value="25" checked' in reader.get("/labels").text


def test_a_colour_is_chosen_and_shown_with_its_name(app, supervisor, reader):
    supervisor.send("/policy/ring_colour", {"value": "#117A33", "reason": "green pencil"})

    page = reader.get("/policy").text
    assert policy(app).texts["ring_colour"] == "#117a33"
    assert 'fill="#117a33"' in page
    assert 'type="color"' in supervisor.get("/policy").text


def test_marks_and_rings_of_one_colour_are_refused(app, supervisor):
    answer = supervisor.send("/policy/mark_colour", {"value": "#2060b0", "reason": "x"})

    assert answer.status_code == 422
    assert "would look alike" in answer.text
    assert policy(app).texts["mark_colour"] == "#c22f2a"


def test_an_item_there_is_not_is_refused(supervisor):
    assert supervisor.send("/policy/Z9", {"value": "1", "reason": "x"}).status_code == 422


def test_a_reader_sees_the_policy_and_no_way_to_change_it(reader):
    assert "<form" not in main_of(reader.get("/policy").text)


def main_of(text):
    return text.split("<main")[1].split("</main>")[0]


def test_a_supervisor_adds_a_gauge_and_a_technician_logs_its_check(app, supervisor, technician):
    supervisor.send("/instruments", {"tag": "g25-1", "sort": "gauge", "size_mm": "0,25"})

    technician.send(
        "/instruments/G25-1/check", {"reading": "0.25", "reference": "0.25", "passed": "on"}
    )

    gauge = app.extensions["log"].lab().instruments["G25-1"]
    assert gauge.size_mm == 0.25
    assert gauge.checks[0].body.passed
    assert "last check 2026-03-09 by TEC" in technician.get("/instruments").text


def test_a_technician_neither_adds_nor_retires(technician, state):
    state(InstrumentAdded("T1", "table"), person="SUP")

    assert technician.send("/instruments", {"tag": "T2", "sort": "table"}).status_code == 403
    assert technician.send("/instruments/T1/retire").status_code == 403


def test_a_retired_instrument_takes_no_more_checks(supervisor, state):
    state(InstrumentAdded("T1", "table"), person="SUP")
    supervisor.send("/instruments/T1/retire")

    answer = supervisor.send("/instruments/T1/check", {"passed": "on"})

    assert answer.status_code == 422
    assert "T1 is out of service" in answer.text


def test_a_tag_is_given_once(supervisor, state):
    state(InstrumentAdded("T1", "table"), person="SUP")

    answer = supervisor.send("/instruments", {"tag": "T1", "sort": "table"})

    assert answer.status_code == 422
    assert "tag T1 is taken" in answer.text


def test_a_gauge_has_a_size(supervisor):
    answer = supervisor.send("/instruments", {"tag": "G1", "sort": "gauge"})

    assert answer.status_code == 422
    assert "size is missing" in answer.text


def test_everybody_may_read_what_the_tool_never_says(stranger):
    page = stranger.get("/about").text

    assert Words("en").say("about.decides") in page
    for caution in ("contamination", "dust", "tips", "estimates", "remount"):
        assert Words("en").say(f"about.cautions.{caution}") in page


def test_health_counts_what_is_held(app, stranger):
    held = app.extensions["log"].lab_entries()

    health = stranger.get("/health").json

    assert health["status"] == "ok"
    assert health["entries"] == len(held)
    assert health["newest_digest"] == held[-1].digest
    assert health["free_bytes"] > 0
