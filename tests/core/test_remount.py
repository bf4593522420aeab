"""Re-mounting: what heights on the marks say about the tilt."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import Vector
from bench.core.remount import (
    HeightsTooSteep,
    UnequalCounts,
    edges_to_lower,
    judge,
    tilt_off,
)
from bench.core.tilt import Tilt, path_of_insertion, total_deg
from bench.core.tripod import CollinearMarks, TooFewMarks, in_cast_frame, triangle_from
from tests.facts.tripod_figures import (
    REMOUNT_EQUILATERAL,
    REMOUNT_HEIGHTS_MM,
    REMOUNT_MARKS_MM,
    REMOUNT_OFF_DEG,
)

MARKS: tuple[Vector, ...] = ((0.0, 22.0), (23.0, -14.0), (-23.0, -14.0))
tilts = st.builds(Tilt, st.floats(-20, 20), st.floats(-20, 20))


def heights_at(tilt: Tilt, marks: tuple[Vector, ...]) -> list[float]:
    """Heights of marks that were level before the cast was tilted: along the path of the tilt."""
    x, y, _ = path_of_insertion(tilt)
    return [50.0 + x * mark_x + y * mark_y for mark_x, mark_y in marks]


def test_the_worked_remount_is_off_as_derived() -> None:
    off = tilt_off(REMOUNT_MARKS_MM, REMOUNT_HEIGHTS_MM)

    assert pytest.approx(REMOUNT_OFF_DEG, abs=1e-9) == (off.ap_deg, off.lat_deg, off.total_deg)
    assert off.residual_mm is None


def test_the_equilateral_remount_is_off_as_derived() -> None:
    side_mm, heights, total = REMOUNT_EQUILATERAL
    marks = in_cast_frame(triangle_from(side_mm, side_mm, side_mm, "clockwise"))

    off = tilt_off(marks, heights)

    assert pytest.approx(total, abs=1e-6) == off.total_deg
    assert edges_to_lower(off)[0].edge == "front"


@given(tilts)
def test_heights_give_back_the_tilt_they_came_from(tilt: Tilt) -> None:
    off = tilt_off(MARKS, heights_at(tilt, MARKS))

    assert pytest.approx(tilt, abs=1e-7) == (off.ap_deg, off.lat_deg)
    assert pytest.approx(total_deg(tilt), abs=1e-6) == off.total_deg


def test_a_mark_higher_in_front_means_the_front_must_come_down() -> None:
    off = tilt_off(MARKS, [1.0, 0.0, 0.0])

    (step,) = edges_to_lower(off)
    assert step.edge == "front"
    assert pytest.approx(1.59, abs=0.01) == step.by_deg


def test_a_fourth_mark_shows_a_misread_height() -> None:
    marks = (*MARKS, (0.0, -14.0))
    heights = heights_at(Tilt(2.0, 1.0), marks)

    agreeing = tilt_off(marks, heights)
    misread = tilt_off(marks, [*heights[:3], heights[3] + 0.5])

    assert pytest.approx(0.0, abs=1e-9) == agreeing.residual_mm
    assert misread.residual_mm is not None
    assert misread.residual_mm > 0.2


def test_verdicts_follow_the_policys_two_limits() -> None:
    assert [judge(1.0), judge(1.01), judge(2.0), judge(2.01)] == [
        "pass",
        "look_again",
        "look_again",
        "repeat",
    ]
    assert judge(0.8, pass_deg=0.5) == "look_again"


def test_heights_and_marks_must_be_as_many() -> None:
    with pytest.raises(UnequalCounts, match="2 heights were given for 3 marks"):
        tilt_off(MARKS, [0.0, 1.0])


def test_heights_that_differ_more_than_the_marks_are_apart_are_refused() -> None:
    with pytest.raises(HeightsTooSteep) as refused:
        tilt_off(MARKS, [50.0, 0.0, 0.0])

    assert refused.value.params == {"range_mm": 50.0}


def test_marks_in_one_line_and_too_few_marks_are_refused() -> None:
    with pytest.raises(CollinearMarks):
        tilt_off([(0.0, 0.0), (20.0, 1.0), (40.0, 0.0)], [0.0, 0.0, 0.0])
    with pytest.raises(TooFewMarks):
        tilt_off([(0.0, 0.0), (20.0, 1.0)], [0.0, 0.0])
