"""The label's plane in a photo, against OpenCV, scipy and a camera of the test's own."""

from __future__ import annotations

from math import cos, dist, hypot, radians, sin

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from bench.core.arch import Vector
from bench.core.lens import USUAL
from bench.core.photoplane import (
    BadSquare,
    BeyondThePlane,
    Corners,
    TooNear,
    camera_of,
    distances_mm,
    height_factor,
    mirrored,
    places_mm,
    plane_from,
    sense_from_above,
)

WIDTH, HEIGHT, FOCAL = 4000, 3000, 3100.0
MARKS = ((30.0, -40.0), (52.0, -2.0), (8.0, -3.0))


def square(side_mm: float) -> list[tuple[float, float, float]]:
    half = side_mm / 2
    return [(-half, -half, 0), (half, -half, 0), (half, half, 0), (-half, half, 0)]


def seen(
    places: list[tuple[float, float, float]],
    height_mm: float = 300.0,
    tilt_deg: float = 12.0,
    toward_deg: float = 40.0,
    turned_deg: float = 25.0,
    at: Vector = (20.0, -15.0),
) -> list[Vector]:
    """Return where a pinhole camera sees places (mm, Z up out of the label's plane)."""
    axis = np.array([cos(radians(toward_deg)), sin(radians(toward_deg)), 0])
    turn = Rotation.from_rotvec(axis * radians(tilt_deg)) * Rotation.from_euler(
        "z", turned_deg, degrees=True
    )
    points = np.array([(x - at[0], y - at[1], height_mm - z) for x, y, z in places])
    x, y, z = turn.apply(points).T
    return list(zip(WIDTH / 2 + FOCAL * x / z, HEIGHT / 2 + FOCAL * y / z, strict=True))


def corners_of(places: list[Vector]) -> Corners:
    a, b, c, d = places
    return a, b, c, d


near = st.floats(-120, 120)
quads = st.tuples(*[st.tuples(near, near)] * 4).map(
    lambda shifts: [
        (x + dx, y + dy)
        for (x, y), (dx, dy) in zip(
            [(1000, 900), (1400, 900), (1400, 1300), (1000, 1300)], shifts, strict=True
        )
    ]
)


@given(quads, st.tuples(st.floats(-60, 60), st.floats(-60, 60)))
def test_the_map_is_the_one_opencv_finds(corners: list[Vector], place: Vector) -> None:
    source = np.array([c[:2] for c in square(20)], np.float32)
    theirs = cv2.getPerspectiveTransform(source, np.array(corners, np.float32)).astype(float)
    x, y, w = theirs @ (*place, 1.0)
    plane = plane_from(corners, 20)

    if w < 0.05:
        return
    ours = plane.px_of(place)

    assert pytest.approx((x / w, y / w), rel=2e-3, abs=0.5) == ours
    assert pytest.approx(place, abs=1e-5) == plane.mm_of(ours)


def test_corners_lie_where_they_were_given() -> None:
    corners = seen(square(25))

    plane = plane_from(corners, 25)

    for (x, y, _), corner in zip(square(25), corners, strict=True):
        assert pytest.approx(corner) == plane.px_of((x, y))
        assert pytest.approx((x, y), abs=1e-9) == plane.mm_of(corner)


@pytest.mark.parametrize("tilt_deg", [0.0, 5.0, 12.0, 20.0])
@pytest.mark.parametrize("height_mm", [200.0, 300.0, 400.0])
def test_marks_in_the_plane_are_measured_exactly(tilt_deg: float, height_mm: float) -> None:
    view = {"tilt_deg": tilt_deg, "height_mm": height_mm}
    plane = plane_from(seen(square(20), **view), 20)

    found = places_mm(plane, seen([(*mark, 0.0) for mark in MARKS], **view))

    assert np.allclose(MARKS, found)
    assert pytest.approx(distances_mm(MARKS)) == distances_mm(found)


@pytest.mark.parametrize("dh_mm", [-6.0, -2.0, 3.0, 8.0])
def test_the_height_of_the_marks_is_taken_out_exactly(dh_mm: float) -> None:
    plane = plane_from(seen(square(20)), 20)
    marks = seen([(*mark, dh_mm) for mark in MARKS])
    camera = camera_of(plane, FOCAL, WIDTH, HEIGHT)

    raw = distances_mm(places_mm(plane, marks))
    freed = distances_mm(places_mm(plane, marks, height_factor(camera.height_mm, dh_mm)))

    true = distances_mm(MARKS)
    assert pytest.approx(true) == freed
    assert all(abs(r - t) > 0.2 for r, t in zip(raw, true, strict=True))


@pytest.mark.parametrize(("tilt_deg", "height_mm"), [(0.0, 250.0), (7.0, 310.0), (20.0, 400.0)])
def test_the_camera_is_where_it_was_put(tilt_deg: float, height_mm: float) -> None:
    plane = plane_from(seen(square(20), tilt_deg=tilt_deg, height_mm=height_mm), 20)

    camera = camera_of(plane, FOCAL, WIDTH, HEIGHT)

    assert pytest.approx(height_mm) == camera.height_mm
    assert pytest.approx(tilt_deg, abs=1e-4) == camera.tilt_deg
    assert pytest.approx((20.0, -15.0), abs=1e-6) == camera.place_mm


def test_a_guessed_focal_length_leaves_a_fifth_of_a_heights_effect() -> None:
    plane = plane_from(seen(square(20)), 20)
    marks = seen([(*mark, 4.0) for mark in MARKS])
    guess = USUAL.focal_px(WIDTH, HEIGHT)
    camera = camera_of(plane, guess, WIDTH, HEIGHT)

    raw = dist(*places_mm(plane, marks)[:2])
    freed = dist(*places_mm(plane, marks, height_factor(camera.height_mm, 4.0))[:2])

    true = dist(*MARKS[:2])
    assert abs(freed - true) < 0.2 * abs(raw - true)
    assert pytest.approx(0.647, abs=1e-3) == guess / hypot(WIDTH, HEIGHT)


def test_the_sense_is_seen_from_above() -> None:
    clockwise_on_the_picture = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0))

    assert sense_from_above(clockwise_on_the_picture) == "clockwise"
    assert sense_from_above(clockwise_on_the_picture[::-1]) == "anticlockwise"


def test_a_mirrored_picture_still_tells_the_marks_true_sense() -> None:
    corners = [(WIDTH - x, y) for x, y in seen(square(20))]
    marks = [(WIDTH - x, y) for x, y in seen([(*mark, 0.0) for mark in MARKS])]

    plane = plane_from(corners, 20)

    assert mirrored(corners)
    assert not mirrored(seen(square(20)))
    assert sense_from_above(MARKS) == sense_from_above(places_mm(plane, marks))


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (100, 0), (0, 100), (100, 100)],
        [(0, 0), (100, 0), (20, 20), (0, 100)],
        [(0, 0), (5, 0), (5, 5), (0, 5)],
        [(0, 0), (100, 0), (200, 0), (300, 0)],
        [(0, 0), (100, 0), (100, 100)],
        [(0, 0), (100, 0), (100, float("nan")), (0, 100)],
    ],
    ids=["crossed", "dented", "tiny", "in a line", "three", "no number"],
)
def test_four_places_that_are_no_square_are_refused(corners: list[Vector]) -> None:
    with pytest.raises(BadSquare, match="Place the corners again"):
        plane_from(corners, 20)


def test_a_place_beyond_the_horizon_is_refused() -> None:
    plane = plane_from([(900, 1000), (1100, 1000), (1600, 1400), (400, 1400)], 20)

    with pytest.raises(BeyondThePlane, match="straight above"):
        plane.mm_of((1000, 100))


def test_marks_as_high_as_the_camera_are_refused() -> None:
    with pytest.raises(TooNear, match="height difference"):
        height_factor(90.0, 40.0)
