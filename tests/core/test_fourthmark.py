from __future__ import annotations

from math import dist

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bench.core.backagain import fourth_of, residual_mm
from bench.core.bounds import BadEntry
from bench.core.entries import FourthMarkMade, TripodMarked, Withdrawn
from bench.core.fourthmark import NoFourthPlace, fourth_place
from bench.core.off import off_by_marks
from bench.core.tripod import triangle_from
from tests.core.bench_story import TRIPOD, a_ready_cast

places = st.tuples(st.floats(-30, 30), st.floats(-30, 30))


def fourth_at(triangle, place, tripod) -> FourthMarkMade:
    a, b, c = (dist(place, mark) for mark in triangle.marks_mm)
    return FourthMarkMade(tripod, a, b, c)


@given(places)
def test_a_place_is_found_again_by_its_three_distances(place):
    triangle = triangle_from(41.0, 37.0, 44.0, "clockwise")
    assume(min(dist(place, mark) for mark in triangle.marks_mm) > 3)

    found = fourth_place(triangle, fourth_at(triangle, place, _an_id()))

    assert found == pytest.approx(place, abs=1e-6)


def _an_id() -> str:
    return a_ready_cast().last(TripodMarked).id


def test_distances_that_meet_nowhere_are_refused():
    triangle = triangle_from(40.0, 40.0, 40.0)

    with pytest.raises(NoFourthPlace):
        fourth_place(triangle, FourthMarkMade(_an_id(), 20.0, 20.0, 60.0))


def with_fourth(place=(0.0, -20.0)):
    """The ready cast with a fourth mark behind the middle of its equilateral triangle of 40 mm."""
    story = a_ready_cast()
    triangle = triangle_from(TRIPOD.d_ab_mm, TRIPOD.d_ac_mm, TRIPOD.d_bc_mm, "clockwise")
    tripod = story.last(TripodMarked)
    a, b, c = (dist(place, mark) for mark in triangle.marks_mm)
    story.say(FourthMarkMade(tripod.id, round(a, 2), round(b, 2), round(c, 2)))
    return story


def test_the_fourth_mark_of_the_tripod_counts_until_it_is_taken_back():
    story = with_fourth()

    before = fourth_of(story.survey)
    story.say(Withdrawn(story.last(FourthMarkMade).id), reason="rubbed off")

    assert before is not None
    assert fourth_of(story.survey) is None


def test_a_fourth_mark_outlasts_a_correction_of_the_distances():
    story = with_fourth()
    story.correct(story.last(TripodMarked), d_ab_mm=40.1)

    assert fourth_of(story.survey) is not None


def test_a_fourth_mark_that_fits_no_place_is_refused_when_it_is_recorded():
    story = a_ready_cast()

    with pytest.raises(BadEntry) as refused:
        story.say(FourthMarkMade(story.last(TripodMarked).id, 20.0, 20.0, 60.0))

    assert "fourth_does_not_fit" == refused.value.code


def test_four_heights_of_one_plane_leave_no_residual_and_the_tilt_of_three():
    story = with_fourth()
    tripod, fourth = story.survey.tripod.body, fourth_of(story.survey)
    heights = heights_of_plane(tripod, fourth, 0.02, -0.01)

    three, four = off_by_marks(tripod, heights[:3]), off_by_marks(tripod, heights, fourth=fourth)

    assert four.total_deg == pytest.approx(three.total_deg, abs=0.01)
    assert residual_mm(tripod, heights, fourth) == pytest.approx(0.0, abs=0.01)


def test_a_misread_mark_shows_in_the_residual():
    story = with_fourth()
    tripod, fourth = story.survey.tripod.body, fourth_of(story.survey)
    heights = heights_of_plane(tripod, fourth, 0.02, -0.01)
    misread = (heights[0] + 1.0, *heights[1:])

    assert residual_mm(tripod, misread, fourth) > 0.3


def heights_of_plane(tripod, fourth, slope_x, slope_y):
    """Return the heights of the four marks on one tilted plane, mm."""
    triangle = triangle_from(tripod.d_ab_mm, tripod.d_ac_mm, tripod.d_bc_mm, "clockwise")
    marks = (*triangle.marks_mm, fourth_place(triangle, fourth))
    return tuple(slope_x * x + slope_y * y for x, y in marks)
