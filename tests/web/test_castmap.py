from __future__ import annotations

from bench.core.case import fold
from bench.core.entries import (
    GuidePlaneRead,
    InterferenceNoted,
    Mounted,
    RestWished,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    UndercutRead,
)
from bench.core.lab import fold_lab
from bench.core.surfaces import Site
from bench.core.survey import Survey
from bench.web.castmap import marks_of, overlays_of
from bench.words import Words
from bench.words.reader import Reader
from tests.web.surveyedcases import mounted, opened, tilted, with_teeth

READER = Reader(Words("en"))


def marks(bench, step):
    survey = survey_of(bench)
    return marks_of(survey, step, READER)


def survey_of(bench):
    return Survey(fold(bench.code, bench.entries()), fold_lab([]))


def test_a_wanted_undercut_is_to_do_and_a_read_one_shows_its_gauge(bench):
    zero = mounted(bench)
    bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=zero.id)

    found = marks(bench, "undercuts").surfaces

    assert (found[Site(35, "DB")].state, found[Site(35, "DB")].badge) == ("todo", None)
    assert (found[Site(37, "ML")].state, found[Site(37, "ML")].badge) == ("done", "0.25")


def test_a_stale_reading_shows_the_setting_it_belongs_to(bench):
    first = tilted(bench, mounted(bench))
    bench.state(UndercutRead(44, "MB", 0.25, "both"), setting=first.id)
    tilted(bench, first, 2.0)

    mark = marks(bench, "undercuts").surfaces[Site(44, "MB")]

    assert (mark.state, mark.badge) == ("stale", "set. 1")


def test_a_reading_at_zero_of_a_site_nobody_wants_is_no_stale_mark(bench):
    zero = mounted(bench)
    bench.state(UndercutRead(44, "MB", 0.25, "both"), setting=zero.id)
    tilted(bench, zero)

    assert Site(44, "MB") not in marks(bench, "undercuts").surfaces


def test_more_and_less_than_the_gauge_and_none_are_told_apart(bench):
    zero = mounted(bench)
    for surface, contact in (("MB", "lip_short"), ("DB", "lip_first"), ("L", "none")):
        bench.state(UndercutRead(44, surface, 0.5, contact), setting=zero.id)

    found = marks(bench, "undercuts").surfaces

    assert [">0.50", "<0.50", "none"] == [found[Site(44, s)].badge for s in ("MB", "DB", "L")]


def test_a_tooth_with_done_and_open_surfaces_is_partly_done(bench):
    zero = mounted(bench)
    bench.state(SurveyLinesDrawn(("37B",), True), setting=zero.id)

    assert marks(bench, "survey_lines").teeth[37].state == "part"


def test_a_line_with_the_lead_too_high_stops(bench):
    zero = mounted(bench)
    bench.state(SurveyLinesDrawn(("37B", "37L"), False), setting=zero.id)

    found = marks(bench, "survey_lines")

    assert (found.surfaces[Site(37, "B")].state, found.teeth[37].state) == ("stopped", "stopped")


def test_a_guide_plane_shows_its_angle(bench):
    zero = mounted(bench)
    bench.state(GuidePlaneRead(35, "D", "gingival", 0.3, 4.0), setting=zero.id)

    # Plane trigonometry: atan(0.3 / 4) is 4.29 degrees, shown to one decimal.
    assert marks(bench, "guide_planes").surfaces[Site(35, "D")].badge == "4.3°"


def test_wished_clasps_push_where_their_tips_will_lie(bench):
    with_teeth(bench)

    mark = marks(bench, "receive").surfaces[Site(37, "ML")]

    assert (mark.push, mark.badge) == (True, "0.25")


def test_a_tip_counts_with_its_reading_and_not_without(bench):
    zero = mounted(bench)
    bench.state(TipChosen(37, "ML", "co_cr", "arm"), setting=zero.id)
    before = marks(bench, "retention").surfaces[Site(37, "ML")]
    bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=zero.id)

    after = marks(bench, "retention").surfaces[Site(37, "ML")]

    assert (before.state, after.state) == ("part", "done")
    assert before.push
    assert after.push


def test_a_wish_taken_up_by_a_tip_elsewhere_on_the_tooth_is_no_longer_open(bench):
    zero = mounted(bench)
    bench.state(TipChosen(37, "MB", "co_cr", "arm"), setting=zero.id)

    assert set(marks(bench, "retention").surfaces) == {Site(35, "DB"), Site(37, "MB")}


def test_a_leaning_tooth_is_marked_where_interferences_are_looked_for(bench):
    zero = mounted(bench)
    bench.state(InterferenceNoted("left_lingual", "leaning_tooth", 37), setting=zero.id)

    assert marks(bench, "interferences").teeth[37].state == "stopped"


def test_the_fulcrum_line_is_drawn_between_the_rests(bench):
    opened(bench)
    bench.state(TeethRecorded(missing=(36, 37, 46, 47), replaced=(36, 37, 46, 47)))
    for tooth in (35, 45):
        bench.state(RestWished(tooth, "distal"))

    overlays = overlays_of(survey_of(bench), "retention", READER)

    assert [one.kind for one in overlays] == ["fulcrum"]


def test_what_is_left_of_the_pushes_is_drawn_where_tips_are_judged(bench):
    opened(bench)
    zero = bench.state(Mounted())
    bench.state(UndercutRead(44, "B", 0.25, "both"), setting=zero.id)
    bench.state(TipChosen(44, "B", "co_cr", "arm"), setting=zero.id)

    survey = survey_of(bench)

    assert [one.kind for one in overlays_of(survey, "retention", READER)] == ["resultant"]
    assert overlays_of(survey, "undercuts", READER) == ()


def test_stale_lines_are_hatched_and_said_but_not_badged(bench):
    first = tilted(bench, mounted(bench))
    bench.state(SurveyLinesDrawn(("35B",), True), setting=first.id)
    tilted(bench, first, 2.0)

    mark = marks(bench, "survey_lines").surfaces[Site(35, "B")]

    assert ("stale", None) == (mark.state, mark.badge)
    assert "setting 1" in mark.word.lower()


def test_more_than_four_stale_planes_are_hatched_without_badges(bench):
    first = tilted(bench, mounted(bench))
    for tooth in (31, 32, 33, 34, 35):
        bench.state(GuidePlaneRead(tooth, "D", "none"), setting=first.id)
    tilted(bench, first, 2.0)

    found = marks(bench, "guide_planes").surfaces

    assert [None] * 5 == [mark.badge for mark in found.values() if mark.state == "stale"]
