from __future__ import annotations

from math import asin, cos, degrees, radians, sin

import pytest

from bench.core.entries import Mounted, SettingTaken, UndercutRead
from bench.core.predictions import (
    Expected,
    Prediction,
    expected_now,
    predictions_of,
    told_of,
)
from bench.core.surfaces import Site
from tests.core.bench_story import a_received_cast, an_undercut

SITE = Site(45, "B")


@pytest.fixture
def read():
    """A lower cast with 45 B read at zero: 0.253 mm deep, 1.4 mm below the line."""
    story = a_received_cast("I")
    story.say(Mounted("S1", "T1"))
    story.say(UndercutRead(45, "B", 0.253, "both", 1.4))
    return story


def predictions(*offs, found="at"):
    return [
        Prediction(Expected(SITE, 0.25 + off, False, 5.0, "a"), "b", 0.25, found) for off in offs
    ]


# Closed form for a sphere of radius 4 mm with a mark 1.4 mm below its line: 0.389 mm after 5 degrees.
def test_the_depth_of_a_sphere_is_expected_by_its_closed_form(read):
    facing = radians(read.survey.model.azimuth_deg(SITE))
    down = sin(radians(5.0))
    toward = [round(degrees(asin(down * way(facing))), 6) for way in (sin, cos)]
    read.tilt(*toward, final=False)

    expected = expected_now(read.survey, SITE)

    assert expected.mm == pytest.approx(0.389, abs=0.001)
    assert expected.by_deg == pytest.approx(5.0, abs=1e-4)


def test_nothing_is_expected_at_the_setting_where_it_was_read(read):
    assert expected_now(read.survey, SITE) is None


def test_nothing_is_expected_on_a_table_without_a_scale(read):
    read.say(SettingTaken(None, None))

    assert expected_now(read.survey, SITE) is None


def test_nothing_is_expected_from_a_gauge_that_did_not_touch():
    story = a_received_cast("I")
    story.say(Mounted("S1", "T1"))
    story.say(UndercutRead(45, "B", 0.25, "lip_first"))
    story.tilt(0.0, 5.0, final=False)

    assert expected_now(story.survey, SITE) is None


@pytest.mark.parametrize(
    ("contact", "found", "off"),
    [("both", "at", True), ("lip_short", "more", False), ("lip_first", "less", False),
     ("none", "less", False)],
)  # fmt: skip
def test_a_site_read_again_at_a_new_setting_tests_what_was_expected(read, contact, found, off):
    read.tilt(0.0, 5.0, final=False)
    again = read.say(an_undercut(45, "B", gauge_mm=0.25, contact=contact))

    (one,) = predictions_of(read.survey)

    assert (again.id, found, off) == (one.reading, one.found, one.off_mm is not None)
    assert one.expected.before == read.entries[-3].id


def test_the_reading_that_was_expected_from_is_the_last_one_at_another_setting(read):
    read.tilt(0.0, 5.0, final=False)
    second = read.say(an_undercut(45, "B", gauge_mm=0.38))
    read.tilt(0.0, 0.0, final=False)
    read.say(an_undercut(45, "B", gauge_mm=0.25))

    assert [second.id] == [one.expected.before for one in predictions_of(read.survey)][1:]


def test_a_second_reading_at_the_same_setting_is_expected_from_the_other_setting(read):
    read.tilt(0.0, 5.0, final=False)
    first = read.say(an_undercut(45, "B", gauge_mm=0.38))
    read.correct(first, gauge_mm=0.25)

    assert 1 == len(predictions_of(read.survey))


def test_bias_and_spread_are_those_of_plain_arithmetic():
    told = told_of(predictions(0.02, -0.02, 0.04, 0.0, 0.01))

    # Mean 0.01; squares 1, 9, 9, 1, 0 e-4 sum to 20e-4, over 4: 5e-4.
    assert told.bias_mm == pytest.approx(0.01)
    assert told.spread_mm == pytest.approx(5e-4**0.5)
    assert (5, 5, ()) == (told.count, told.touched, told.short)


def test_too_few_touches_give_no_figure_and_say_how_many_are_wanting():
    told = told_of([*predictions(0.02, 0.03), *predictions(0.1, 0.1, found="more")])

    assert (None, None) == (told.bias_mm, told.spread_mm)
    assert [("readings", 2, 3)] == [(s.what, s.have, s.missing) for s in told.short]


def test_a_gauge_that_did_not_touch_agrees_when_the_depth_was_expected_on_that_side():
    told = told_of([*predictions(0.1, -0.1, found="more"), *predictions(-0.1, found="less")])

    assert (3, 2) == (told.sided, told.agreeing)


def test_no_prediction_at_all_is_no_figure():
    told = told_of([])

    assert (0, None, None) == (told.count, told.bias_mm, told.spread_mm)
