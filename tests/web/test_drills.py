from __future__ import annotations

import re

import pytest

from bench.core.drills import drills_from, order_of
from bench.core.entries import (
    DrillClosed,
    DrillPlanned,
    DrillReading,
    InstrumentAdded,
    InstrumentChecked,
    PersonAdded,
)

KINDS = ("drill_planned", "drill_reading", "drill_closed")
UNDERCUTS = DrillPlanned("undercut", ("A", "B", "C"), ("TEC", "KT"), 2, 5,
                         ("34MB", "35DB", "45L"), 0.25)  # fmt: skip
HEIGHTS = DrillPlanned("tripod_heights", ("X", "Y"), ("TEC", "KT"), 2, 6,
                       distances_mm=(40.0, 40.0, 40.0, 38.0, 39.0, 41.0))  # fmt: skip
DISTANCE = DrillPlanned("distance", ("P", "Q"), ("TEC", "SUP"), 2, 8)


@pytest.fixture
def planned(state):
    """Record a plan by the supervisor and return its id."""

    def record(plan):
        state(PersonAdded("KT", "technician"), person="SUP")
        return state(plan, person="SUP").id

    return record


def drill_of(app, key):
    return drills_from(app.extensions["log"].of_kinds(*KINDS))[key]


def field(text, name):
    return re.search(rf'name="{name}" value="([^"]*)"', text).group(1)


def hidden(text):
    return {name: field(text, name) for name in ("entry_id", "turn", "cast")}


def take(client, key, **values):
    """Take the next reading as its page asks for it, and return the answer."""
    page = client.get(f"/drills/{key}/next").text
    return client.send(f"/drills/{key}/next", {**hidden(page), **values})


def test_a_supervisor_plans_and_the_plan_holds_its_seed(app, supervisor):
    page = supervisor.get("/drills/new?reads=undercut").text
    form = {
        "reads": "undercut", "cast_0": "A", "tooth_0": "34", "surface_0": "MB", "cast_3": "B",
        "tooth_3": "45", "surface_3": "DB", "gauge_mm": "0.25", "technicians": ["TEC", "SUP"],
        "repeats": "2", "seed": field(page, "seed"), "entry_id": field(page, "entry_id"),
    }  # fmt: skip

    first, second = (supervisor.send("/drills", form) for _ in range(2))

    (drill,) = drills_from(app.extensions["log"].of_kinds(*KINDS)).values()
    assert (303, 303, first.location) == (first.status_code, second.status_code, second.location)
    assert DrillPlanned(
        "undercut", ("A", "B"), ("TEC", "SUP"), 2, int(form["seed"]), ("34MB", "45DB"), 0.25
    ) == drill.plan  # fmt: skip
    assert form["seed"] in supervisor.get(first.location).text


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"reads": "undercut", "cast_0": "A", "tooth_0": "99", "surface_0": "MB"}, "no surface"),
        ({"reads": "undercut", "cast_0": "A", "tooth_0": "34", "surface_0": "ZZ"}, "no surface"),
        ({"reads": "distance"}, "casts"),
        ({"reads": "distance", "cast_0": "A", "technicians": []}, "technicians"),
        ({"reads": "tripod_heights", "cast_0": "A", "ab_0": "40"}, "Three distances"),
        ({"reads": "tripod_heights", "cast_0": "A", "ab_0": "9", "ac_0": "90", "bc_0": "9"}, "triangle"),
        ({"reads": "distance", "cast_0": "A", "repeats": "many"}, "no whole number"),
        ({"reads": "weight", "cast_0": "A"}, "none of those offered"),
    ],
)  # fmt: skip
def test_a_plan_that_makes_no_sense_is_refused_in_words(app, supervisor, form, words):
    whole = {"technicians": ["TEC"], "repeats": "2", "seed": "1", "gauge_mm": "0.25"}

    answer = supervisor.send("/drills", {**whole, **form})

    assert answer.status_code == 422
    assert words in answer.text
    assert {} == drills_from(app.extensions["log"].of_kinds(*KINDS))


def test_readings_follow_the_order_of_the_seed_to_the_end(app, technician, planned):
    key = planned(UNDERCUTS)
    asked = []

    for _ in range(6):
        page = technician.get(f"/drills/{key}/next").text
        asked.append((int(field(page, "turn")), field(page, "cast")))
        assert take(technician, key, contact="both").status_code == 303

    assert [(t.number, t.cast) for t in order_of(UNDERCUTS, "TEC")] == asked
    assert "You have taken all 6 readings" in technician.get(f"/drills/{key}/next").text
    assert 6 == drill_of(app, key).taken_by("TEC")


def test_one_tap_takes_an_undercut(app, technician, planned, state):
    state(InstrumentAdded("G1", "gauge", 0.25), person="SUP")
    key = planned(UNDERCUTS)

    page = technician.get(f"/drills/{key}/next").text
    technician.send(
        f"/drills/{key}/next",
        {**hidden(page), "instrument": field(page, "instrument"), "contact": "lip_first"},
    )

    body = drill_of(app, key).read["TEC"][1].body
    assert ("lip_first", "G1") == (body.contact, body.instrument)


def test_a_double_tap_takes_one_reading(app, technician, planned):
    key = planned(UNDERCUTS)
    form = {**hidden(technician.get(f"/drills/{key}/next").text), "contact": "both"}

    answers = [technician.send(f"/drills/{key}/next", form) for _ in range(2)]

    assert [303, 303] == [answer.status_code for answer in answers]
    assert 1 == drill_of(app, key).taken


def test_a_page_left_open_on_another_tablet_takes_nothing_twice(app, technician, planned):
    key = planned(UNDERCUTS)
    stale = hidden(technician.get(f"/drills/{key}/next").text)
    take(technician, key, contact="both")

    answer = technician.send(f"/drills/{key}/next", {**stale, "contact": "none"})

    assert answer.status_code == 409
    assert "both" == drill_of(app, key).read["TEC"][1].body.contact


def test_no_page_a_technician_reaches_shows_an_earlier_reading(app, technician, planned, state):
    key = planned(HEIGHTS)
    marks = {"h_a_mm": "7.31", "h_b_mm": "6.47", "h_c_mm": "5.93"}
    assert take(technician, key, **marks).status_code == 303
    mine = drill_of(app, key).read["TEC"][1]
    cast = order_of(HEIGHTS, "KT")[0].cast
    theirs = state(DrillReading(key, 1, cast, "", (8.83, 9.29, 4.61)), person="KT")
    addresses = [
        f"/drills/{key}/next", f"/drills/{key}/next?again=1", f"/drills/{key}/next?said={mine.id}",
        f"/drills/{key}/next?said={theirs.id}", "/drills", "/trail/person/TEC", "/instruments", "/",
        "/about", f"/drills/{key}", "/drills/new", "/trail/person/KT",
    ]  # fmt: skip

    shown = {address: technician.get(address).text for address in addresses}
    shown["refused"] = technician.send(f"/drills/{key}/next", {"turn": "1", "cast": cast}).text

    values = ("7.31", "6.47", "5.93", "8.83", "9.29", "4.61", "7,31")
    assert {} == {
        address: value for address, text in shown.items() for value in values if value in text
    }
    assert 403 == technician.get(f"/drills/{key}").status_code


def test_the_page_of_an_undercut_is_the_same_whatever_was_read_before(app, planned, technician):
    key = planned(UNDERCUTS)
    pages = []
    for contact in ("both", "none"):
        take(technician, key, contact=contact)
        again = technician.get(f"/drills/{key}/next?again=1").text
        page = re.sub(r'(name="(entry_id|supersedes)" value=")[^"]*|[0-9a-f]{128}', r"\1", again)
        pages.append(
            re.sub(
                r'(Reading |name="turn" value="|<dd[^>]*>|name="cast" value="|value=")[^<"]*',
                "",
                page,
            )
        )

    assert pages[0] == pages[1]
    assert "checked" not in pages[0]


def test_a_supervisor_who_reads_too_sees_no_figures_before_the_last_reading(supervisor, planned):
    key = planned(DISTANCE)
    take(supervisor, key, d_mm="41.37")

    blind = supervisor.get(f"/drills/{key}").text
    for _ in range(3):
        take(supervisor, key, d_mm="41.37")
    seeing = supervisor.get(f"/drills/{key}").text

    assert "41.37" not in blind
    assert "You still have readings to take" in blind
    assert "41.37" in seeing


def test_the_last_reading_can_be_taken_anew_with_a_reason(app, technician, planned):
    key = planned(UNDERCUTS)
    take(technician, key, contact="both")
    page = technician.get(f"/drills/{key}/next?again=1").text
    form = {**hidden(page), "supersedes": field(page, "supersedes"), "contact": "none"}

    without = technician.send(f"/drills/{key}/next", form)
    given = technician.send(f"/drills/{key}/next", {**form, "reason": "Wrong key"})

    assert (422, 303) == (without.status_code, given.status_code)
    assert "The reason is missing" in without.text
    assert "none" == drill_of(app, key).read["TEC"][1].body.contact
    assert 2 == drill_of(app, key).next_turn("TEC").number


def test_a_reading_without_its_figure_is_refused_and_keeps_what_was_typed(technician, planned):
    key = planned(HEIGHTS)

    answer = take(technician, key, h_a_mm="1.25", h_b_mm="", h_c_mm="0")

    assert answer.status_code == 422
    assert 'value="1.25"' in answer.text


def test_somebody_else_reads_nothing(app, technician, planned):
    key = planned(DrillPlanned("distance", ("P",), ("SUP",), 2, 8))

    page = technician.get(f"/drills/{key}/next").text
    answer = technician.send(f"/drills/{key}/next", {"turn": "1", "cast": "P", "d_mm": "4"})

    assert "You are not among those" in page
    assert answer.status_code == 422
    assert 0 == drill_of(app, key).taken


def test_a_gauge_that_failed_its_check_is_not_offered(technician, planned, state):
    for tag in ("G1", "G2", "G3"):
        state(InstrumentAdded(tag, "gauge", 0.25), person="SUP")
    state(InstrumentChecked("G2", False), person="SUP")
    state(InstrumentAdded("G5", "gauge", 0.5), person="SUP")
    key = planned(UNDERCUTS)

    page = technician.get(f"/drills/{key}/next").text

    assert ["G1", "G3"] == re.findall(r'name="instrument" value="(\w+)"', page)


def test_a_closed_drill_takes_no_more_readings(app, technician, supervisor, planned):
    key = planned(UNDERCUTS)
    form = {**hidden(technician.get(f"/drills/{key}/next").text), "contact": "both"}

    closed = supervisor.send(f"/drills/{key}/close", {"remark": "Stopped"})
    late = technician.send(f"/drills/{key}/next", form)

    assert 303 == closed.status_code
    assert 422 == late.status_code
    assert "SUP closed this drill" in technician.get(f"/drills/{key}/next").text
    assert DrillClosed(key, "Stopped") == drill_of(app, key).closed.body
    assert 422 == supervisor.send(f"/drills/{key}/close").status_code


def test_a_drill_broken_off_shows_what_it_can(supervisor, technician, planned):
    key = planned(DISTANCE)
    for value in ("40.1", "38.0"):
        take(technician, key, d_mm=value)

    page = supervisor.send(f"/drills/{key}/close") and supervisor.get(f"/drills/{key}").text

    assert "2 of 8 readings taken" in page
    assert "Not enough data: 1 of at least 2 technicians" in page


def test_figures_stand_with_their_intervals(supervisor, technician, state, planned):
    key = planned(DrillPlanned("distance", ("P", "Q"), ("TEC", "KT"), 2, 8))
    for name, off in (("TEC", 0.0), ("KT", 0.2)):
        plan = DrillPlanned("distance", ("P", "Q"), ("TEC", "KT"), 2, 8)
        for turn in order_of(plan, name):
            value = 40.0 + off + turn.repeat / 10
            state(DrillReading(key, turn.number, turn.cast, "", (value,)), person=name)

    page = supervisor.get(f"/drills/{key}").text

    # Repeats 0.1 mm apart: SD 0.1 / sqrt(2) = 0.071 mm with 4 degrees of freedom; its interval by
    # chi-square (quantiles 11.143 and 0.484, from published tables): 0.042 to 0.203 mm.
    assert "0.071\u00a0mm" in page
    assert "0.042\u00a0mm to 0.203\u00a0mm" in page


def test_kappa_that_is_undefined_says_so(supervisor, state, planned):
    key = planned(UNDERCUTS)
    for name in ("TEC", "KT"):
        for turn in order_of(UNDERCUTS, name):
            state(DrillReading(key, turn.number, turn.cast, "both"), person=name)

    page = supervisor.get(f"/drills/{key}").text

    assert "undefined: all said the same" in page
    assert "3 of 3: 100 %" in page


def test_a_drill_there_is_not_is_not_found(supervisor, technician):
    assert 404 == supervisor.get("/drills/x").status_code
    assert 404 == technician.get("/drills/x/next").status_code
    assert 404 == technician.send("/drills/x/next").status_code


def test_the_form_bears_what_a_tablet_states_a_reading_by(technician, planned):
    key = planned(HEIGHTS)

    page = technician.get(f"/drills/{key}/next").text

    assert 'data-statement="drill_reading" data-proved data-values="h_a_mm h_b_mm h_c_mm"' in page
    assert (key, f"/drills/{key}/next") == (field(page, "drill"), field(page, "next"))


def test_a_reading_that_does_not_count_is_told_to_its_technician_and_listed_beside_the_figures(
    app, technician, supervisor, planned, state
):
    key = planned(DISTANCE)
    take(technician, key, d_mm="40")
    held = drill_of(app, key).read["TEC"][1]
    late = state(DrillReading(key, 1, held.body.cast, "", (41.0,)))
    state(DrillClosed(key), person="SUP")

    told = technician.get(f"/drills/{key}/next?said={late.id}").text
    counted = technician.get(f"/drills/{key}/next?said={held.id}").text
    results = supervisor.get(f"/drills/{key}").text

    assert "does not count: this turn was read already" in told
    assert "does not count" not in counted
    assert "One reading kept beside these figures" in results
    assert f"{held.body.cast}, reading 1: this turn was read already." in results
    assert 1 == drill_of(app, key).taken
