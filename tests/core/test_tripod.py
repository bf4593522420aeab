"""The tripod triangle: shape from three distances, and how finely it holds a tilt."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, degrees, dist, hypot, radians, sin, sqrt
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import Vector
from bench.core.tripod import (
    CollinearMarks,
    NoTriangle,
    TooFewMarks,
    TripodRefused,
    centred,
    how_finely_held,
    in_cast_frame,
    least_altitude_mm,
    total95_deg,
    triangle_from,
    turning_sense,
)
from tests.facts.tripod_figures import EQUILATERAL, FLAT, ISOSCELES, SIDE_FOR_ONE_DEGREE_MM

places = st.tuples(st.floats(-40, 40), st.floats(-40, 40))
triangles = st.tuples(places, places, places).filter(lambda three: least_altitude_mm(*three) > 5.1)


@given(triangles)
def test_three_distances_and_the_sense_rebuild_the_triangle(
    three: tuple[Vector, Vector, Vector],
) -> None:
    a, b, c = three
    distances = (dist(a, b), dist(a, c), dist(b, c))

    triangle = triangle_from(*distances, turning_sense(a, b, c))

    at_a, at_b, at_c = triangle.marks_mm
    assert pytest.approx(distances) == (dist(at_a, at_b), dist(at_a, at_c), dist(at_b, at_c))
    assert turning_sense(a, b, c) == turning_sense(at_a, at_b, at_c)


def test_a_triangle_of_three_four_and_five_has_its_right_angle_at_a() -> None:
    triangle = triangle_from(30.0, 40.0, 50.0)

    assert pytest.approx((0.0, 40.0)) == triangle.marks_mm[2]
    assert pytest.approx(24.0) == triangle.least_altitude_mm


@pytest.mark.parametrize("sides", [(10.0, 20.0, 40.0), (0.0, 20.0, 20.0), (float("nan"), 9.0, 9.0)])
def test_distances_that_make_no_triangle_are_refused(sides: tuple[float, float, float]) -> None:
    with pytest.raises(NoTriangle, match="Measure all three again") as refused:
        triangle_from(*sides)

    assert refused.value.code == "no_triangle"
    assert isinstance(refused.value, TripodRefused)


def test_marks_almost_in_one_line_are_refused_with_their_height() -> None:
    with pytest.raises(CollinearMarks) as refused:
        triangle_from(40.0, 20.3, 20.3)

    assert refused.value.params == {"altitude_mm": 3.5, "least_mm": 5.0}


def test_a_triangle_exactly_five_high_is_taken() -> None:
    side_mm = hypot(20.0, 5.0)

    triangle = triangle_from(40.0, side_mm, side_mm)

    assert pytest.approx(5.0) == triangle.least_altitude_mm


def test_two_marks_are_too_few() -> None:
    with pytest.raises(TooFewMarks, match="2 marks"):
        how_finely_held([(0.0, 0.0), (30.0, 0.0)], 0.1)


def test_an_isosceles_tripod_holds_what_was_derived() -> None:
    back, half = -ISOSCELES["b_mm"], ISOSCELES["w_mm"] / 2

    held = how_finely_held([(0.0, 0.0), (half, back), (-half, back)], ISOSCELES["sigma_mm"])

    assert pytest.approx(ISOSCELES["sd_ap_deg"], abs=0.0005) == held.worst_deg
    assert pytest.approx(ISOSCELES["sd_lat_deg"], abs=0.0005) == held.best_deg
    assert pytest.approx(90.0) == held.weak_direction_deg


@pytest.mark.parametrize(("side_mm", "sigma_mm", "sd_deg", "total_deg"), EQUILATERAL)
def test_equilateral_tripods_hold_what_was_derived(
    side_mm: float, sigma_mm: float, sd_deg: float, total_deg: float
) -> None:
    held = how_finely_held(triangle_from(side_mm, side_mm, side_mm).marks_mm, sigma_mm)

    assert pytest.approx((sd_deg, sd_deg), abs=0.0005) == (held.worst_deg, held.best_deg)
    assert pytest.approx(total_deg, abs=0.002) == held.total95_deg


def test_a_flat_tripod_is_weak_on_one_axis() -> None:
    sides, sigma_mm, sd_deg = FLAT

    held = how_finely_held(triangle_from(*sides).marks_mm, sigma_mm)

    assert pytest.approx(sd_deg, abs=0.005) == held.worst_deg
    assert held.best_deg < held.worst_deg / 4


def test_the_side_that_holds_one_degree_is_as_derived() -> None:
    side_mm = SIDE_FOR_ONE_DEGREE_MM

    held = how_finely_held(triangle_from(side_mm, side_mm, side_mm).marks_mm, 0.2)

    assert pytest.approx(1.0, abs=0.002) == held.total95_deg


@given(triangles, st.floats(0, 360), places)
def test_moving_and_turning_the_marks_changes_nothing(
    three: tuple[Vector, Vector, Vector], turn_deg: float, shift: Vector
) -> None:
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    moved = [(c * x - s * y + shift[0], s * x + c * y + shift[1]) for x, y in three]

    here, there = how_finely_held(three, 0.1), how_finely_held(moved, 0.1)

    assert pytest.approx((here.worst_deg, here.best_deg, here.total95_deg)) == (
        there.worst_deg,
        there.best_deg,
        there.total95_deg,
    )


def test_seeded_draws_agree_with_the_worst_axis_and_the_total() -> None:
    marks = centred(((0.0, 20.0), (15.0, -14.0), (-24.0, -9.0)))
    draw = Random(4).gauss
    held = how_finely_held(marks, 0.1)
    totals, along_weak = [], []
    weak = (cos(radians(held.weak_direction_deg)), sin(radians(held.weak_direction_deg)))

    for _ in range(4000):
        slope = fitted_slope(marks, [draw(0, 0.1) for _ in marks])
        totals.append(degrees(hypot(*slope)))
        along_weak.append(degrees(slope[0] * weak[0] + slope[1] * weak[1]))

    assert held.worst_deg == pytest.approx(sqrt(sum(w * w for w in along_weak) / 4000), rel=0.04)
    assert held.total95_deg == pytest.approx(sorted(totals)[3800], rel=0.04)


def fitted_slope(marks: Sequence[Vector], heights: Sequence[float]) -> Vector:
    """Solve the least-squares plane by Cramer's rule, apart from the code under test."""
    xx = sum(x * x for x, _ in marks)
    xy = sum(x * y for x, y in marks)
    yy = sum(y * y for _, y in marks)
    xh = sum(x * h for (x, _), h in zip(marks, heights, strict=True))
    yh = sum(y * h for (_, y), h in zip(marks, heights, strict=True))
    whole = xx * yy - xy * xy
    return (xh * yy - yh * xy) / whole, (xx * yh - xy * xh) / whole


def test_with_one_axis_perfect_the_total_is_the_two_sided_normal_limit() -> None:
    # 1.95996: the 97.5 % point of the normal distribution, handbook tables (value from memory).
    assert pytest.approx(1.95996, abs=0.002) == total95_deg(1.0, 0.0)


def test_marks_in_the_cast_frame_have_a_in_front() -> None:
    marks = in_cast_frame(triangle_from(40.0, 40.0, 30.0, "clockwise"))

    assert pytest.approx(0.0, abs=1e-9) == marks[0][0]
    assert marks[0][1] > 0
    assert marks[1][0] > 0 > marks[2][0]
