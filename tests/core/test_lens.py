"""The lens told by a label's square, against OpenCV's calibration and a camera of the test's own."""

from __future__ import annotations

from dataclasses import replace
from math import exp, hypot, log

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.arch import Vector
from bench.core.lens import (
    COMMON_SD,
    GOOD_SD,
    LEAST_TOLD_SD,
    USUAL,
    USUAL_SD,
    Lens,
    lens_seen,
    pooled,
    stated,
)
from bench.core.photoplane import BadSquare

WIDTH, HEIGHT = 4000, 3000
DIAGONAL = hypot(WIDTH, HEIGHT)
SPREAD_PX = 0.05
SQUARE_MM = np.array([[-10, -10, 0], [10, -10, 0], [10, 10, 0], [-10, 10, 0]], float)


def seen(
    focal: float,
    tilt_deg: float,
    *,
    toward_deg: float = 40.0,
    turned_deg: float = 25.0,
    height_mm: float = 300.0,
    aside_mm: Vector = (20.0, -15.0),
    middle_off: Vector = (0.0, 0.0),
    bent: float = 0.0,
    longer: float = 1.0,
) -> list[Vector]:
    """Return where OpenCV sees the corners of a 20 mm square that leans by `tilt_deg`.

    `middle_off` moves the axis off the picture's middle, in shares of the diagonal; `bent` is what bends a
    straight line at the picture's corner; `longer` stretches the print one way.
    """
    toward, turned = np.radians([toward_deg, turned_deg])
    lean, _ = cv2.Rodrigues(np.radians(tilt_deg) * np.array([np.cos(toward), np.sin(toward), 0]))
    turn, _ = cv2.Rodrigues(np.array([0, 0, turned]))
    focal_px = focal * DIAGONAL
    middle = (WIDTH / 2 + middle_off[0] * DIAGONAL, HEIGHT / 2 + middle_off[1] * DIAGONAL)
    camera = np.array([[focal_px, 0, middle[0]], [0, focal_px, middle[1]], [0, 0, 1]])
    # OpenCV's first coefficient goes with the square of the slope; at the corner that is (1 / 2 focal)^2.
    bends = np.array([bent * (2 * focal) ** 2, 0, 0, 0])
    place = np.array([*aside_mm, height_mm])
    square = SQUARE_MM * [1, longer, 1]
    found, _ = cv2.projectPoints(square, cv2.Rodrigues(lean @ turn)[0], place, camera, bends)
    return [(float(x), float(y)) for x, y in found.reshape(4, 2)]


def told_by(corners: list[Vector], spread_px: float = SPREAD_PX) -> Lens:
    return lens_seen(corners, spread_px, WIDTH, HEIGHT)


def off(lens: Lens, focal: float) -> float:
    return abs(log(lens.focal / focal))


def shaken(corners: list[Vector], chance: np.random.Generator) -> list[Vector]:
    moved = np.array(corners) + chance.normal(0, SPREAD_PX, (4, 2))
    return [(float(x), float(y)) for x, y in moved]


@pytest.mark.parametrize("focal", [0.5, 0.6, 0.75, 0.9])
@pytest.mark.parametrize("tilt_deg", [15.0, 20.0, 30.0])
@pytest.mark.parametrize("toward_deg", [0.0, 75.0, 200.0])
def test_one_leaning_square_tells_the_lens(
    focal: float, tilt_deg: float, toward_deg: float
) -> None:
    found = told_by(seen(focal, tilt_deg, toward_deg=toward_deg))

    assert (found.photos, found.told) == (1, True)
    assert off(found, focal) < found.sd < 0.09


def test_several_views_tell_what_opencvs_calibration_tells() -> None:
    chance = np.random.default_rng(20_260)
    focal = 0.73
    leans = [(14.0, 10.0), (18.0, 130.0), (20.0, 250.0), (16.0, 310.0), (19.0, 80.0), (15.0, 190.0)]
    views = [shaken(seen(focal, tilt, toward_deg=to), chance) for tilt, to in leans]
    square = SQUARE_MM.astype(np.float32)
    start = np.array([[3000.0, 0, WIDTH / 2], [0, 3000.0, HEIGHT / 2], [0, 0, 1]])
    fixed = (
        cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_PRINCIPAL_POINT | cv2.CALIB_FIX_ASPECT_RATIO
        | cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_K1 | cv2.CALIB_FIX_K2 | cv2.CALIB_FIX_K3
    )  # fmt: skip

    _, camera, *_ = cv2.calibrateCamera(
        [square] * len(views), [np.array(view, np.float32) for view in views],
        (WIDTH, HEIGHT), start, np.zeros(5), flags=fixed,
    )  # fmt: skip
    found = pooled([told_by(view) for view in views])

    assert found.photos == 6
    assert off(found, camera[0, 0] / DIAGONAL) < 0.02
    assert off(found, focal) < 2 * found.sd
    assert found.good


def test_from_straight_above_the_usual_lens_is_left_and_it_says_so() -> None:
    for focal in (0.5, 0.9):
        found = told_by(seen(focal, 0.0, aside_mm=(0.0, 0.0)))

        assert pytest.approx(USUAL.focal, rel=0.02) == found.focal
        assert pytest.approx(USUAL_SD, abs=0.02) == found.sd
        assert not found.told


@pytest.mark.parametrize(
    "fault",
    [{"middle_off": (0.005, -0.004)}, {"bent": 0.005}, {"bent": -0.005}, {"longer": 1.002}],
    ids=["axis off the middle", "barrel", "pincushion", "print longer one way"],
)
def test_the_standard_error_holds_what_a_real_lens_and_print_do(fault: dict[str, float]) -> None:
    errors = [
        off(found, focal) / found.sd
        for focal in (0.55, 0.65, 0.8)
        for tilt in (6.0, 12.0, 18.0)
        for to in range(0, 360, 60)
        if (found := told_by(seen(focal, tilt, toward_deg=to, **fault)))  # type: ignore[arg-type]
    ]

    assert max(errors) < 2.5
    assert np.sqrt(np.mean(np.square(errors))) < 1.2


def test_errors_of_noisy_photos_are_as_large_as_their_standard_errors_say() -> None:
    chance = np.random.default_rng(7)
    errors = []
    for _ in range(60):
        focal = USUAL.focal * exp(chance.normal(0, USUAL_SD))
        view = seen(
            focal, chance.uniform(0, 20), toward_deg=chance.uniform(0, 360),
            turned_deg=chance.uniform(0, 360), height_mm=chance.uniform(200, 400),
            middle_off=tuple(chance.normal(0, 0.005, 2)), longer=1 + chance.normal(0, 0.002),
            bent=chance.normal(0, 0.005),
        )  # fmt: skip
        found = told_by(shaken(view, chance))
        errors.append(off(found, focal) / found.sd)

    assert 0.6 < np.sqrt(np.mean(np.square(errors))) < 1.3
    assert max(errors) < 3.5


leans = st.tuples(
    st.floats(0.45, 1.0),
    st.floats(0, 25),
    st.floats(0, 360),
    st.floats(0, 360),
    st.floats(150, 500),
)


@given(leans, st.floats(0.25, 2))
@settings(max_examples=25, deadline=None)
def test_the_size_of_the_picture_and_its_turning_change_nothing(
    lean: tuple[float, ...], by: float
) -> None:
    focal, tilt, to, turned, height = lean
    corners = seen(focal, tilt, toward_deg=to, turned_deg=turned, height_mm=height)
    found = told_by(corners)

    small = [(x * by, y * by) for x, y in corners]
    on_its_side = [(HEIGHT - y, x) for x, y in corners]
    mirrored = [(WIDTH - x, y) for x, y in corners]
    others = (
        lens_seen(small, SPREAD_PX * by, WIDTH * by, HEIGHT * by),
        lens_seen(on_its_side, SPREAD_PX, HEIGHT, WIDTH),
        lens_seen(mirrored, SPREAD_PX, WIDTH, HEIGHT),
        lens_seen([*corners[1:], corners[0]], SPREAD_PX, WIDTH, HEIGHT),
    )

    for other in others:
        assert pytest.approx(found.focal, rel=2e-3) == other.focal
        assert pytest.approx(found.sd, rel=2e-2) == other.sd


@given(leans)
@settings(max_examples=25, deadline=None)
def test_less_sure_corners_make_a_less_sure_lens_never_surer_than_nothing(
    lean: tuple[float, ...],
) -> None:
    focal, tilt, to, turned, height = lean
    corners = seen(focal, tilt, toward_deg=to, turned_deg=turned, height_mm=height)

    sharp, soft = told_by(corners, 0.05), told_by(corners, 0.5)

    assert 0 < sharp.sd <= soft.sd * 1.05
    assert soft.sd < 1.3 * USUAL_SD


lenses = st.lists(
    st.builds(Lens, st.floats(0.4, 1.1), st.floats(0.01, 0.3), st.just(1)), max_size=8
)


@given(lenses, st.randoms())
def test_the_order_of_photos_changes_nothing(photos: list[Lens], chance) -> None:  # type: ignore[no-untyped-def]
    other = [*photos]
    chance.shuffle(other)

    one, two = pooled(photos), pooled(other)

    assert pytest.approx((one.focal, one.sd)) == (two.focal, two.sd)
    assert one.photos == two.photos == sum(photo.sd <= LEAST_TOLD_SD for photo in photos)
    assert one.photos == 0 or COMMON_SD <= one.sd < USUAL_SD * 1.02


def test_more_photos_that_agree_make_it_surer_and_those_that_do_not_less_sure() -> None:
    one = Lens(0.7, 0.08, 1)

    few, many = pooled([one] * 2), pooled([one] * 8)
    torn = pooled([one, Lens(1.0, 0.08, 1)])

    assert COMMON_SD < many.sd < few.sd < hypot(one.sd, COMMON_SD)
    assert off(many, 0.7) < 0.03
    assert many.good
    assert torn.sd > 2 * few.sd


def test_the_usual_lens_counts_once_however_many_photos_there_are() -> None:
    # By hand, in logarithms: each photo adds 1 / 0.1^2 - 1 / 0.2^2 = 75 to the 25 of the usual lens.
    photo = Lens(USUAL.focal * exp(0.3 * 75 / 100), 0.1, 1)

    found = pooled([photo] * 3)

    assert pytest.approx(log(USUAL.focal) + 0.3 * 225 / 250) == log(found.focal)
    assert pytest.approx(hypot(250**-0.5, COMMON_SD)) == found.sd


@pytest.mark.parametrize("photos", [[], [USUAL], [Lens(0.7, 0.19, 1)], [Lens(0.7, 0.01)]])
def test_photos_that_tell_nothing_leave_the_usual_lens(photos: list[Lens]) -> None:
    assert pooled(photos) == USUAL


def test_a_stated_lens_is_sure_and_has_its_length_in_pixels() -> None:
    lens = stated(2800.0, WIDTH, HEIGHT)

    assert pytest.approx(2800.0) == lens.focal_px(WIDTH, HEIGHT)
    assert (lens.good, lens.photos) == (True, 0)
    assert replace(lens, sd=GOOD_SD * 1.01).good is False


def test_corners_that_make_no_square_are_refused() -> None:
    with pytest.raises(BadSquare):
        told_by([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
