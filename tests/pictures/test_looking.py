from __future__ import annotations

import io
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from bench.core.ids import case_code
from bench.core.lens import USUAL
from bench.pictures.ingest import PictureRefused, take_in
from bench.pictures.looking import MarkColours, Seen, look, sampled, settle
from bench.words import Words
from tests.pictures import files, lensfigures, photomaker
from tests.pictures.figures import Figures, figures, middle
from tests.pictures.photomaker import Truth

PLAIN = MarkColours((190, 40, 45), (45, 70, 160))
ANOTHER = case_code(999)
TURNED_BACK = {
    3: Image.Transpose.ROTATE_180,
    6: Image.Transpose.ROTATE_90,
    8: Image.Transpose.ROTATE_270,
}


@cache
def ordinary() -> tuple[bytes, Truth]:
    return photomaker.photo(90_001)


def looked(data: bytes, truth: Truth, code: str | None = None) -> Seen:
    return look(data, truth.colours, code=code or truth.code, label_mm=truth.label_mm)


def reopened(data: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(data))
    picture.load()
    return picture


def off_mm(seen: Seen, truth: Truth) -> list[float]:
    total = Figures()
    total.add(seen, truth)
    return total.off_mm


def test_three_marks_are_found_in_ordinary_photos_and_nothing_else():
    total = figures(photomaker.ORDINARY, range(91_000, 91_008))

    assert (24, 8, 0) == (total.found, total.whole, total.false)
    assert middle(total.off_mm) < 0.025
    assert middle(total.off_mm, 95) < 0.1
    assert middle(total.corner_px, 95) < 0.1


def test_distances_hold_where_the_height_of_the_marks_is_known():
    total = figures(photomaker.KNOWN_HEIGHT, range(92_000, 92_004))

    assert 12 == len(total.sides_known_mm)
    assert middle(total.sides_known_mm) < 0.05
    assert max(total.sides_known_mm) < 0.3
    assert middle(total.sides_known_mm) < middle(total.sides_mm)


def test_distances_hold_with_everyday_care():
    total = figures(photomaker.EVERYDAY, range(93_000, 93_004))

    assert middle(total.sides_mm) < 0.25
    assert max(total.sides_mm) < 0.9


@pytest.mark.parametrize(
    "conditions",
    [photomaker.BROKEN, photomaker.FAINT, photomaker.GLOSSY],
    ids=["broken rings", "faint pencil", "gloss"],
)
def test_most_marks_are_found_where_it_is_hard(conditions):
    total = figures(conditions, range(94_000, 94_003))

    assert total.recall > 0.5
    assert 0 == total.false


def test_a_lens_that_bends_a_little_leaves_distances_within_everyday_care():
    total = figures(photomaker.BENT, range(93_500, 93_503))

    assert (9, 0) == (total.found, total.false)
    assert middle(total.sides_mm) < 0.35
    assert max(total.sides_mm) < 0.9


def test_strokes_and_empty_rings_are_no_marks():
    total = figures(photomaker.BARE, range(95_000, 95_003))

    assert (3, 0) == (total.labels, total.false)


def test_a_large_photo_is_looked_at_in_the_pixels_of_its_full_size():
    data, truth = photomaker.photo(96_000, replace(photomaker.LEVEL, megapixels=12))

    seen = looked(data, truth)

    assert (4000, 3000) == (seen.width_px, seen.height_px)
    assert max(off_mm(seen, truth)) < 0.1


@pytest.mark.parametrize("orientation", sorted(TURNED_BACK))
def test_places_are_those_of_the_upright_picture(orientation):
    data, truth = ordinary()
    stored = reopened(data).transpose(TURNED_BACK[orientation])
    turned = files.saved(stored, quality=92, exif=files.exif(orientation))

    seen = looked(turned, truth)

    assert (2000, 1500) == (seen.width_px, seen.height_px)
    assert len(off_mm(seen, truth)) == 3
    assert seen.label is not None
    assert np.abs(np.array(seen.label.corners_px) - truth.corners_px).max() < 0.15


def test_what_is_kept_of_a_photo_shows_the_same():
    data, truth = ordinary()

    assert looked(data, truth) == looked(take_in(data).original_bytes, truth)


def test_the_focal_length_is_known_where_the_file_states_it():
    data, truth = ordinary()

    stated = looked(data, truth).focal_px
    silent = looked(files.saved(reopened(data), quality=92), truth).focal_px

    assert stated == pytest.approx(truth.focal_px, rel=0.001)
    assert silent is None


def test_a_leaning_label_tells_the_focal_length_that_the_file_does_not_state():
    leaning = replace(photomaker.LEVEL, tilt_deg=(16, 20), film_mm=34.0, marks=0)
    data, truth = photomaker.photo(90_077, leaning)

    seen = looked(files.saved(reopened(data), quality=92), truth)

    assert seen.focal_px is None
    assert abs(seen.told_focal_px - truth.focal_px) < 2 * seen.told_focal_sd_px
    assert 0.005 < seen.told_focal_sd_px / truth.focal_px < 0.06


def test_a_photo_without_a_label_tells_no_focal_length():
    data, truth = photomaker.photo(90_078, replace(photomaker.LEVEL, label=False, marks=0))

    seen = looked(data, truth)

    assert seen.told_focal_px is seen.told_focal_sd_px is None


def test_known_heights_are_taken_out_with_the_lens_that_the_photos_of_a_tablet_tell():
    conditions = replace(lensfigures.under((8, 20)), film_mm=33.5, dh_mm=(5, 8))
    shots = lensfigures.roll(90_100, conditions, 4)

    usual = lensfigures.sides_off_mm(shots, [USUAL] * len(shots))
    told = lensfigures.sides_off_mm(shots, lensfigures.lenses(shots, len(shots)))

    assert len(shots) == 4
    assert all(lens.good for lens in lensfigures.lenses(shots, len(shots)))
    assert middle(told) < 0.05
    assert middle(told) < middle(usual) / 2


def test_the_label_of_another_case_is_named():
    data, truth = ordinary()

    seen = looked(data, truth, ANOTHER)

    assert seen.label is not None
    assert truth.code == seen.label.code
    assert "other_label" in seen.hints
    assert len(seen.marks) == 3


def test_the_wanted_label_is_taken_where_two_are_seen():
    data, truth = ordinary()
    both = reopened(data)
    other = photomaker.printed_label(ANOTHER, 20)
    both.paste(Image.fromarray(np.uint8(other)).resize((300, 150)), (20, 20))

    seen = looked(files.saved(both, "PNG"), truth)

    assert seen.label is not None
    assert (truth.code, (ANOTHER,)) == (seen.label.code, seen.other_codes)
    assert "several_labels" in seen.hints


def test_a_square_that_is_no_label_of_ours_is_said_to_be_none():
    data, truth = photomaker.photo(97_001, replace(photomaker.ORDINARY, label=False, strokes=0))
    made = zxingcpp.create_barcode("TEA 3 EUR", zxingcpp.BarcodeFormat.QRCode)
    both = reopened(data)
    both.paste(Image.fromarray(np.asarray(made.to_image(scale=4))), (20, 20))

    seen = looked(files.saved(both, "PNG"), truth)

    assert seen.label is None
    assert "foreign_label" in seen.hints


def test_marks_are_found_without_a_label_as_well():
    data, truth = photomaker.photo(97_000, replace(photomaker.ORDINARY, label=False))

    seen = look(data, truth.colours, code=truth.code, label_mm=20)

    assert seen.label is None
    assert "no_label" in seen.hints
    nearest = [min(np.hypot(m.x_px - x, m.y_px - y) for m in seen.marks) for x, y in truth.marks_px]
    assert max(nearest) < 3


def test_a_picture_of_nothing_holds_nothing():
    seen = look(files.saved(files.four_corners()), PLAIN, code=None, label_mm=20)

    assert (None, (), ("no_label", "no_marks")) == (seen.label, seen.marks, seen.hints)


@pytest.mark.parametrize("size", [(1, 1), (3, 900), (2400, 2), (17, 17)])
def test_a_picture_of_any_shape_can_be_looked_at(size):
    data = files.saved(Image.new("RGB", size, (200, 180, 150)), "PNG")

    assert () == look(data, PLAIN, code=None, label_mm=20).marks
    assert settle(data, PLAIN, size[0] / 2, size[1] / 2) is None
    assert max(abs(a - b) for a, b in zip(sampled(data, 0, 0), (200, 180, 150), strict=True)) < 2


@pytest.mark.parametrize("mode", ["L", "RGBA", "P", "1"])
def test_a_picture_in_any_mode_can_be_looked_at(mode):
    data = files.saved(files.four_corners().convert(mode), "PNG")

    assert () == look(data, PLAIN, code=None, label_mm=20).marks


@pytest.mark.parametrize("share", [0.02, 0.3, 0.9])
def test_a_photo_cut_short_is_refused(share):
    data, truth = ordinary()

    with pytest.raises(PictureRefused) as caught:
        looked(data[: int(len(data) * share)], truth)

    assert "damaged" == caught.value.code


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"no picture",
        files.png_of_size(60_000, 60_000),
        files.jpeg_of_size(60_000, 60_000),
        files.webp_of_size(16_000, 16_000),
        files.png_of_size(500, 500),
    ],
    ids=["nothing", "words", "a PNG bomb", "a JPEG bomb", "a WebP bomb", "a PNG without pixels"],
)
def test_hostile_files_are_refused_by_every_call(data):
    for call in (
        lambda: look(data, PLAIN, code=None, label_mm=20),
        lambda: settle(data, PLAIN, 1, 1),
        lambda: sampled(data, 1, 1),
    ):
        with pytest.raises(PictureRefused):
            call()


def test_a_tap_near_a_mark_settles_on_it():
    data, truth = ordinary()
    for x, y in truth.marks_px:
        seen = settle(data, truth.colours, x + 5, y - 4, px_per_mm=truth.px_per_mm)

        assert seen is not None
        assert np.hypot(seen.x_px - x, seen.y_px - y) / truth.px_per_mm < 0.15


@pytest.mark.parametrize("place", [(30, 30), (-5, 10), (5000, 10)])
def test_a_tap_where_nothing_is_settles_on_nothing(place):
    data, truth = ordinary()

    assert settle(data, truth.colours, *place, px_per_mm=truth.px_per_mm) is None


def test_a_tap_on_a_ring_learns_its_colour():
    data, truth = ordinary()
    seen = looked(data, truth).marks[0]

    red, green, blue = sampled(data, seen.x_px + seen.radius_px, seen.y_px)

    wanted = truth.colours.ring_rgb
    strongest = max(range(3), key=lambda n: (red, green, blue)[n])
    assert strongest == max(range(3), key=lambda n: wanted[n])


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_hint_can_be_told(language):
    hints = ("no_label", "other_label", "foreign_label", "several_labels", "unrefined", "tilted",
             "no_marks", "few_marks", "many_marks", "blurred", "far")  # fmt: skip

    assert all(Words(language).say(f"pictures.hint.{hint}") for hint in hints)
