from __future__ import annotations

import csv
import io
import json
import re

import pytest

from bench.core.drills import order_of
from bench.core.entries import DrillPlanned, DrillReading, PersonAdded, PolicySet
from tests.web.test_drills import DISTANCE, UNDERCUTS, take


@pytest.fixture
def planned(state):
    """Record a plan by the supervisor and return its id."""

    def record(plan):
        state(PersonAdded("KT", "technician"), person="SUP")
        return state(plan, person="SUP").id

    return record


def all_read(state, plan, key, names=("TEC", "KT")):
    """Take every reading of a drill of distances: 40 mm and a tenth more each repeat."""
    for name in names:
        for turn in order_of(plan, name):
            values = (40.0 + turn.repeat / 10,)
            state(DrillReading(key, turn.number, turn.cast, "", values), person=name)


READ_BY_TWO = DrillPlanned("distance", ("P", "Q"), ("TEC", "KT"), 2, 8)


def test_names_stand_beside_figures_only_after_a_look_that_is_logged(
    app, supervisor, state, planned
):
    key = planned(UNDERCUTS)
    for name in ("TEC", "KT"):
        for turn in order_of(UNDERCUTS, name):
            state(DrillReading(key, turn.number, turn.cast, "both"), person=name)

    before = supervisor.get(f"/drills/{key}").text
    answer = supervisor.send(f"/drills/{key}/look")
    after = supervisor.get(f"/drills/{key}").text

    assert "TEC with themself" not in before
    assert ">KT</td>" not in before
    assert (303, True) == (answer.status_code, "TEC with themself" in after)
    assert 12 == after.count(">TEC</td>") + after.count(">KT</td>")
    assert [""] == [
        entry.body.whose for entry in app.extensions["log"].of_kinds("figures_looked_at")
    ]


def test_a_policy_of_pooled_figures_shows_no_name_whatever_is_looked_at(supervisor, state, planned):
    key = planned(READ_BY_TWO)
    all_read(state, READ_BY_TWO, key)
    state(PolicySet("person_figures", "off"), person="SUP", reason="Agreed")

    supervisor.send(f"/drills/{key}/look")

    assert ">KT</td>" not in supervisor.get(f"/drills/{key}").text
    assert "KT" not in supervisor.get(f"/drills/{key}.csv").text
    assert '"KT"' not in supervisor.get(f"/drills/{key}.json").text


def test_readings_and_figures_are_exported_with_the_ids_behind_them(supervisor, state, planned):
    key = planned(READ_BY_TWO)
    all_read(state, READ_BY_TWO, key)
    supervisor.send(f"/drills/{key}/look")

    told = json.loads(supervisor.get(f"/drills/{key}.json").text)
    lines = list(csv.DictReader(io.StringIO(supervisor.get(f"/drills/{key}.csv").text)))

    (distance,) = told["measured"]
    assert 8 == len(lines) == distance["readings"] == len(distance["entries"])
    assert {line["entry"] for line in lines} == set(distance["entries"])
    assert {"TEC", "KT"} == {line["person"] for line in lines}
    of_p = {line["entry"] for line in lines if line["cast"] == "P"}
    assert of_p == set(distance["by_cast"]["P"]["entries"])
    # Repeats 0.1 mm apart: SD 0.1 / sqrt(2).
    assert distance["by_cast"]["P"]["repeatability_sd"] == pytest.approx(0.1 / 2**0.5)


def test_an_export_holds_the_readings_its_page_lists(supervisor, state, planned):
    key = planned(READ_BY_TWO)
    all_read(state, READ_BY_TWO, key)
    supervisor.send(f"/drills/{key}/look")

    page = supervisor.get(f"/drills/{key}?cast=P&person=KT").text
    lines = supervisor.get(f"/drills/{key}.csv?cast=P&person=KT").text.splitlines()

    assert "2 of 8 readings" in page
    assert set(re.findall(r'id="e-([0-9a-f-]{36})"', page)) == {
        line.split(",")[0] for line in lines[1:]
    }
    assert f"/drills/{key}.csv?cast=P&amp;person=KT" in page


def test_each_figure_of_a_drill_opens_its_readings(supervisor, state, planned):
    key = planned(READ_BY_TWO)
    all_read(state, READ_BY_TWO, key)

    page = supervisor.get(f"/drills/{key}").text
    of_p = supervisor.get(f"/drills/{key}?cast=P&person=").text

    assert f'href="/drills/{key}?cast=P&amp;person=#readings"' in page
    assert 4 == len(re.findall(r'id="e-[0-9a-f-]{36}"', of_p))
    assert '<details id="readings" open>' in of_p


@pytest.mark.parametrize("form", ["", ".csv", ".json"])
def test_a_technician_sees_a_drill_only_once_it_is_closed(
    technician, supervisor, state, planned, form
):
    key = planned(READ_BY_TWO)
    all_read(state, READ_BY_TWO, key)

    before = technician.get(f"/drills/{key}{form}").status_code
    supervisor.send(f"/drills/{key}/close")
    after = technician.get(f"/drills/{key}{form}")

    assert (403, 200) == (before, after.status_code)
    assert "40.1" in after.text


def test_a_technician_reads_their_own_name_and_nobody_elses(technician, supervisor, state, planned):
    key = planned(READ_BY_TWO)
    all_read(state, READ_BY_TWO, key)
    supervisor.send(f"/drills/{key}/look")
    supervisor.send(f"/drills/{key}/close")

    text = technician.get(f"/drills/{key}.csv?person=KT").text

    assert {"", "TEC"} == {line["person"] for line in csv.DictReader(io.StringIO(text))}
    assert ">KT</td>" not in technician.get(f"/drills/{key}?person=KT").text


def test_no_export_is_given_to_who_still_has_to_read(supervisor, planned):
    key = planned(DISTANCE)
    take(supervisor, key, d_mm="41.37")

    assert [403, 403] == [
        supervisor.get(f"/drills/{key}{form}").status_code for form in (".csv", ".json")
    ]


def test_drills_are_chosen_by_time_and_technician(supervisor, planned, state):
    planned(READ_BY_TWO)
    state(DrillPlanned("distance", ("P",), ("SUP",), 2, 8), person="SUP")

    found = [
        supervisor.get(f"/drills?{asked}").text.count('<section class="card"')
        for asked in ("", "person=KT", "since=2031-01-01", "until=2031-01-01", "person=nobody")
    ]

    assert [2, 1, 0, 2, 2] == found
