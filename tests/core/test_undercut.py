"""What a tilt does to an undercut and to a guide plane."""

from __future__ import annotations

from math import asin, cos, radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import arch_model
from bench.core.surfaces import Site
from bench.core.tilt import Tilt
from bench.core.undercut import (
    GUESSED_DROP_MM,
    NoGap,
    NoUndercutRead,
    drop_for_mm,
    equalising_turn_deg,
    plane_after_deg,
    plane_angle_deg,
    take_off_mm,
    turn_deg,
    undercut_after,
    wall_of,
)
from tests.facts.survey_figures import (
    PER_DEGREE_AT_2_MM,
    SPHERE_DEPTH_MM,
    SPHERE_DROP_FOR_MM,
    SPHERE_DROP_MM,
    SPHERE_RADIUS_MM,
)

SPHERE_DEPTH_AT_ZERO_MM = SPHERE_RADIUS_MM * (1 - cos(asin(SPHERE_DROP_MM / SPHERE_RADIUS_MM)))
depths = st.floats(0.05, 1.0)
drops = st.floats(0.5, 4.0)
turns = st.floats(-10, 10)
azimuths = st.floats(0, 360)


@pytest.mark.parametrize(("tilt_deg", "depth_mm"), SPHERE_DEPTH_MM)
def test_a_sphere_tilts_to_the_derived_depths(tilt_deg: int, depth_mm: float) -> None:
    after = undercut_after(SPHERE_DEPTH_AT_ZERO_MM, SPHERE_DROP_MM, tilt_deg)

    assert pytest.approx(depth_mm, abs=0.0006) == after.depth_mm


@pytest.mark.parametrize(("depth_mm", "drop_mm"), SPHERE_DROP_FOR_MM)
def test_gauges_touch_a_sphere_at_the_derived_drops(depth_mm: float, drop_mm: float) -> None:
    assert pytest.approx(drop_mm, abs=0.0006) == drop_for_mm(depth_mm, SPHERE_RADIUS_MM)
    assert pytest.approx(SPHERE_RADIUS_MM, abs=0.003) == wall_of(depth_mm, drop_mm).radius_mm


def test_one_degree_at_two_millimetres_changes_the_depth_as_derived() -> None:
    before, after = (undercut_after(0.25, 2.0, turn).depth_mm for turn in (-0.5, 0.5))

    assert pytest.approx(PER_DEGREE_AT_2_MM, abs=0.0005) == after - before


@given(depths, drops)
def test_no_turn_changes_nothing(depth_mm: float, drop_mm: float) -> None:
    after = undercut_after(depth_mm, drop_mm, 0.0)

    assert pytest.approx((depth_mm, drop_mm)) == (after.depth_mm, after.drop_mm)


@given(depths, drops, turns)
def test_turning_there_and_back_gives_the_first_reading(
    depth_mm: float, drop_mm: float, turn: float
) -> None:
    there = undercut_after(depth_mm, drop_mm, turn)
    gone = there.drop_mm is None
    back = there if gone else undercut_after(max(there.depth_mm, 1e-12), there.drop_mm, -turn)

    assert gone == (wall_of(depth_mm, drop_mm).theta_deg + turn <= 0)
    assert gone or pytest.approx(depth_mm, rel=1e-3) == back.depth_mm


def test_a_shallow_undercut_is_lost_when_the_wall_turns_away() -> None:
    after = undercut_after(0.05, 2.0, -6.0)

    assert (after.depth_mm, after.drop_mm) == (0.0, None)


def test_without_a_recorded_drop_the_figure_is_called_a_guess() -> None:
    guess, sure = undercut_after(0.25, None, 2.0), undercut_after(0.25, GUESSED_DROP_MM, 2.0)

    assert guess.drop_is_guessed
    assert not sure.drop_is_guessed
    assert guess.depth_mm == sure.depth_mm


@given(azimuths, st.floats(-20, 20))
def test_facing_walls_turn_by_opposite_amounts(azimuth_deg: float, deg: float) -> None:
    tilt = Tilt(deg, -deg / 2)

    there = turn_deg(azimuth_deg + 180, tilt)

    assert pytest.approx(-turn_deg(azimuth_deg, tilt), abs=1e-9) == there


def test_a_wall_square_to_one_axis_turns_by_the_angle_read() -> None:
    assert pytest.approx(7.0) == turn_deg(90.0, Tilt(7.0, 0.0))
    assert pytest.approx(7.0) == turn_deg(0.0, Tilt(0.0, 7.0))
    assert pytest.approx(0.0, abs=1e-9) == turn_deg(0.0, Tilt(7.0, 0.0))


def test_a_turn_counts_from_the_setting_of_the_reading() -> None:
    assert pytest.approx(3.0) == turn_deg(90.0, Tilt(8.0, 0.0), was=Tilt(5.0, 0.0))


@pytest.mark.parametrize("tooth", [35, 36, 37, 45, 46, 47])
def test_a_lowered_front_grows_mesial_and_shrinks_distal_undercuts(tooth: int) -> None:
    # Common practice, no source.
    lower = arch_model("lower")
    front_down = Tilt(5.0, 0.0)

    mesial, distal = (
        turn_deg(lower.azimuth_deg(Site(tooth, surface)), front_down) for surface in ("M", "D")
    )

    assert mesial > 0 > distal


def test_a_lowered_edge_grows_undercuts_that_face_it_and_shrinks_those_that_face_away() -> None:
    # Common practice, no source. The right of view is the patient's left on an upper cast.
    upper = arch_model("upper")
    right_down = Tilt(0.0, 5.0)

    facing = turn_deg(upper.azimuth_deg(Site(26, "B")), right_down)
    away = turn_deg(upper.azimuth_deg(Site(16, "B")), right_down)

    assert facing > 0 > away


def test_the_triangle_of_light_gives_the_angle_and_what_to_take_off() -> None:
    angle = plane_angle_deg(0.3, 4.0, gap_is_gingival=True)

    assert pytest.approx(4.289, abs=0.001) == angle
    assert pytest.approx(0.3) == take_off_mm(4.0, angle)
    assert pytest.approx(-angle) == plane_angle_deg(0.3, 4.0, gap_is_gingival=False)


@given(st.floats(-15, 15), st.floats(-15, 15))
def test_half_the_difference_makes_two_facing_walls_alike(one: float, facing: float) -> None:
    turn = equalising_turn_deg(one, facing)

    assert pytest.approx(plane_after_deg(one, turn), abs=1e-9) == plane_after_deg(facing, -turn)


def test_turning_a_plane_by_its_own_angle_leaves_nothing_to_take_off() -> None:
    angle = plane_angle_deg(4.0 * tan(radians(6.0)), 4.0, gap_is_gingival=True)

    assert pytest.approx(0.0, abs=1e-9) == take_off_mm(4.0, plane_after_deg(angle, -6.0))


def test_readings_that_draw_no_wall_are_refused() -> None:
    with pytest.raises(NoUndercutRead, match="Both must be more than nothing") as refused:
        undercut_after(0.0, 2.0, 1.0)
    with pytest.raises(NoGap):
        plane_angle_deg(0.2, 0.0, gap_is_gingival=True)
    with pytest.raises(NoUndercutRead):
        drop_for_mm(5.0, 4.0)

    assert refused.value.params == {"depth_mm": 0.0, "drop_mm": 2.0}
