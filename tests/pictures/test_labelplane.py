from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageDraw

from bench.core.ids import case_code
from bench.pictures.label import label_address
from bench.pictures.labelplane import homography, moved, plane_of, squares_in
from tests.pictures.photomaker import LABEL_PX_PER_MM, printed_label

CODE = case_code(16_180_339_887)
ADDRESS = label_address("http://192.168.7.20:8480", CODE)
SQUARE = np.array([[0, 0], [20, 0], [20, 20], [0, 20.0]])
SEEN = np.array([[220, 180], [318, 186], [312, 287], [214, 279.0]])
WHOLE = (640, 480)


def warped(sheet: np.ndarray, square: np.ndarray, corners: np.ndarray, inside: int) -> np.ndarray:
    """A sheet as OpenCV lays it where its square has these corners; drawn finer, then averaged.

    OpenCV counts from the middle of the first pixel, hence the halves.
    """
    fine = homography(square - 0.5, corners * inside - 0.5)
    size = (WHOLE[0] * inside, WHOLE[1] * inside)
    big = cv2.warpPerspective(sheet, fine, size, flags=cv2.INTER_LINEAR, borderValue=165)
    return cv2.resize(big, WHOLE, interpolation=cv2.INTER_AREA)


def printed() -> tuple[np.ndarray, np.ndarray]:
    """Our label as it is printed, and the corners of its square on the print."""
    return printed_label(CODE, 20), (SQUARE + 5) * LABEL_PX_PER_MM


def shaken(seed: int) -> np.ndarray:
    """Corners of the square for one of many views, turned and leaning."""
    chance = np.random.default_rng(seed)
    turn = chance.uniform(0, 2 * np.pi)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return (SEEN - SEEN.mean(axis=0)) @ spin.T + [320, 240] + chance.uniform(-5, 5, (4, 2))


def lit(view: np.ndarray, seed: int) -> np.ndarray:
    """Light from one side, blur, and noise, by OpenCV."""
    chance = np.random.default_rng(seed)
    x, y = np.meshgrid(np.linspace(-1, 1, WHOLE[0]), np.linspace(-1, 1, WHOLE[1]))
    light = 0.85 + 0.15 * (x * chance.uniform(-1, 1) + y * chance.uniform(-1, 1))
    soft = cv2.GaussianBlur(view * light, (0, 0), chance.uniform(0.4, 1.0))
    return np.clip(soft + chance.normal(0, 3, soft.shape), 0, 255)


def off_px(view: np.ndarray, corners: np.ndarray) -> tuple[float, float]:
    """How far the reader's and the refined corners are off, in pixels."""
    grey = Image.fromarray(np.uint8(view))
    (square,) = squares_in(grey)
    plane = plane_of(square, np.asarray(grey, float))
    assert plane.refined
    raw, fine = (
        float(np.hypot(*(seen - corners).T).max()) for seen in (square.corners_px, plane.corners_px)
    )
    return raw, fine


@pytest.mark.parametrize("seed", range(12))
def test_corners_are_fine_on_labels_that_another_renderer_laid_and_lit(seed):
    corners = shaken(seed)

    raw, fine = off_px(lit(warped(*printed(), corners, 6), seed), corners)

    assert fine < 0.08
    assert fine < raw


def test_a_square_of_another_writer_is_refined_as_well():
    """zxing-cpp's own encoder chooses modes and masks of its own; the text is the same."""
    made = zxingcpp.create_barcode(ADDRESS, zxingcpp.BarcodeFormat.QRCode, ec_level="Q")
    dots = np.asarray(made.to_image(scale=1, add_quiet_zones=False))
    sheet = np.kron(np.pad(dots, 4, constant_values=255), np.ones((24, 24))).astype(np.uint8)
    side = len(dots)
    square = np.array([[4, 4], [4 + side, 4], [4 + side, 4 + side], [4, 4 + side]]) * 24.0

    _, fine = off_px(lit(warped(sheet, square, SEEN, 6), 3), SEEN)

    assert fine < 0.08


@pytest.mark.parametrize("quarter", range(4))
def test_corners_are_the_labels_own_however_the_photo_is_turned(quarter):
    view = warped(*printed(), SEEN, 4)
    turned = np.rot90(view, quarter)
    grey = Image.fromarray(np.uint8(turned))

    (square,) = squares_in(grey)
    top_left = plane_of(square, np.asarray(grey, float)).corners_px[0]

    x, y = SEEN[0]
    wanted = [(x, y), (y, WHOLE[0] - x), (WHOLE[0] - x, WHOLE[1] - y), (WHOLE[1] - y, x)][quarter]
    assert np.hypot(*(top_left - wanted)) < 0.1


def test_a_thumb_on_the_label_and_a_glare_move_no_corner():
    view = Image.fromarray(np.uint8(warped(*printed(), SEEN, 4)))
    draw = ImageDraw.Draw(view)
    draw.ellipse([300, 250, 330, 290], fill=120)
    draw.line([(225, 262), (262, 268)], fill=255, width=3)

    _, fine = off_px(lit(np.asarray(view, float), 5), SEEN)

    assert fine < 0.15


def test_the_homography_through_the_corners_is_that_of_the_whole_view():
    grey = Image.fromarray(np.uint8(warped(*printed(), SEEN, 6)))
    (square,) = squares_in(grey)
    plane = plane_of(square, np.asarray(grey, float))
    far_mm = np.array([[-40.0, 10], [30, 60], [60, -35]])
    true_px = moved(homography(SQUARE, SEEN), far_mm)

    found_mm = moved(homography(plane.corners_px, SQUARE), true_px)

    assert np.abs(found_mm - far_mm).max() < 0.15


def test_a_pattern_that_is_not_what_was_read_is_not_fitted():
    grey = Image.fromarray(np.uint8(warped(*printed(), SEEN, 4)))
    (square,) = squares_in(grey)
    other = replace(square, mask=(square.mask + 1) % 8)

    plane = plane_of(other, np.asarray(grey, float))

    assert not plane.refined
    assert (square.corners_px == plane.corners_px).all()


def test_a_picture_without_a_square_holds_none():
    assert [] == squares_in(Image.new("L", (640, 480), 180))


def test_a_square_with_other_text_is_none_of_ours():
    made = zxingcpp.create_barcode("TEA 3 EUR", zxingcpp.BarcodeFormat.QRCode)
    view = Image.fromarray(np.asarray(made.to_image(scale=6)))

    assert [None] == [square.code for square in squares_in(view)]


def test_a_small_square_is_read_at_twice_its_size():
    small = SEEN.mean(axis=0) + (SEEN - SEEN.mean(axis=0)) * 0.52
    view = warped(*printed(), small, 8)

    _, fine = off_px(view, small)

    assert fine < 0.1
