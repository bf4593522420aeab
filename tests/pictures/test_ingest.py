from __future__ import annotations

import hashlib
import io
import zlib
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bench.pictures.ingest import PictureRefused, take_in, upright_grey
from bench.words import Words
from tests.pictures import files

KINDS = ("JPEG", "PNG", "WEBP")
CLOCKWISE = [files.RED, files.GREEN, files.BLUE, files.WHITE]
# How a camera stores an upright picture for each Exif orientation (TIFF 6.0, tag 274): the
# stated row and column come first, so storing is the turn back from what is shown.
STORED_AS = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def opened(data: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(data))
    picture.load()
    return picture


def corners_of(picture: Image.Image) -> list[tuple[int, ...]]:
    right, bottom = picture.width - 8, picture.height - 8
    places = [(8, 8), (right, 8), (right, bottom), (8, bottom)]
    return [picture.convert("RGB").getpixel(place) for place in places]


def nearly(wanted: list[tuple[int, ...]], seen: list[tuple[int, ...]]) -> bool:
    pairs = zip(wanted, seen, strict=True)
    return all(abs(a - b) <= 12 for w, s in pairs for a, b in zip(w, s, strict=True))


def refusal_of(data: bytes, declared: str = "") -> PictureRefused:
    with pytest.raises(PictureRefused) as caught:
        take_in(data, declared)
    return caught.value


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_ends_upright(kind, orientation):
    turn = STORED_AS[orientation]
    upright = files.four_corners()
    stored = upright if turn is None else upright.transpose(turn)

    picture = take_in(files.saved(stored, kind, exif=files.exif(orientation)))

    assert (400, 300) == (picture.width_px, picture.height_px)
    for shown in (opened(picture.display_bytes), opened(picture.thumb_bytes)):
        assert shown.width > shown.height
        assert nearly(CLOCKWISE, corners_of(shown))


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_says_where_or_with_what_it_was_taken(kind):
    picture = take_in(files.talkative(kind))

    for data in (picture.original_bytes, picture.display_bytes, picture.thumb_bytes):
        shown = opened(data)
        assert b"Camera" not in data
        assert not dict(shown.getexif())
        assert not dict(shown.getexif().get_ifd(files.GPS_IFD))
        assert not {"comment", "exif", "xmp"} & set(shown.info)


def test_derivatives_are_jpegs_no_longer_than_asked():
    picture = take_in(files.saved(files.four_corners(4000, 3000), "PNG"))

    display, thumb = opened(picture.display_bytes), opened(picture.thumb_bytes)

    assert ("JPEG", (1600, 1200)) == (display.format, display.size)
    assert ("JPEG", (320, 240)) == (thumb.format, thumb.size)


def test_a_large_jpeg_keeps_its_full_size_on_record():
    picture = take_in(files.saved(files.four_corners(6000, 4000)))

    assert (6000, 4000) == (picture.width_px, picture.height_px)
    assert (1600, 1067) == opened(picture.display_bytes).size


def test_a_small_picture_is_not_enlarged():
    picture = take_in(files.saved(Image.new("RGB", (1, 1), "white")))

    assert (1, 1) == opened(picture.display_bytes).size == opened(picture.thumb_bytes).size


def test_a_very_long_picture_keeps_a_height():
    picture = take_in(files.saved(Image.new("L", (20_000, 2), 90), "PNG"))

    assert (320, 1) == opened(picture.thumb_bytes).size


def test_digests_name_what_is_kept_and_what_arrived():
    data = files.talkative()

    picture = take_in(data)

    assert hashlib.sha256(picture.original_bytes).hexdigest() == picture.sha256_hex
    assert hashlib.sha256(data).hexdigest() == picture.received_sha256_hex


def test_a_picture_taken_in_again_is_the_same_picture():
    once = take_in(files.talkative())

    assert once.sha256_hex == take_in(once.original_bytes).sha256_hex


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA"])
def test_every_mode_of_a_png_is_shown(mode):
    source = files.four_corners().convert(mode)

    shown = opened(take_in(files.saved(source, "PNG")).display_bytes)

    assert shown.mode in ("L", "RGB")
    assert shown.size == source.size


def test_sixteen_bits_of_grey_are_scaled_not_cut():
    deep = Image.new("I;16", (40, 40), 0x8000)

    shown = opened(take_in(files.saved(deep, "PNG")).display_bytes)

    assert abs(shown.getpixel((20, 20)) - 128) <= 2


def test_what_is_transparent_is_shown_on_white():
    for mode in ("RGBA", "P"):
        clear = Image.new("RGBA", (40, 40), (0, 0, 0, 0)).convert(mode)
        options = {"transparency": bytes(256)} if mode == "P" else {}

        shown = opened(take_in(files.saved(clear, "PNG", **options)).display_bytes)

        assert min(shown.convert("RGB").getpixel((20, 20))) >= 250


def test_a_print_jpeg_in_four_inks_is_shown_in_colour():
    inks = files.four_corners().convert("CMYK")

    shown = opened(take_in(files.saved(inks)).display_bytes)

    assert "RGB" == shown.mode
    assert nearly(CLOCKWISE, corners_of(shown))


def test_a_colour_profile_goes_along():
    profile = b"\0" * 16 + b"RGB " + b"\0" * 108

    picture = take_in(files.saved(files.four_corners(), icc_profile=profile))

    assert profile == opened(picture.display_bytes).info["icc_profile"]


def test_an_empty_file_is_refused():
    assert "empty" == refusal_of(b"").code


def test_a_heavy_file_is_refused_with_its_weight():
    refusal = refusal_of(b"\xff\xd8\xff" + bytes(30_000_000))

    assert ("heavy", {"mb": 31, "most_mb": 30}) == (refusal.code, refusal.params)


@pytest.mark.parametrize(
    "bomb",
    [
        files.png_of_size(60_000, 60_000),
        files.png_of_size(2_147_483_647, 2),
        files.jpeg_of_size(65_000, 65_000),
        files.webp_of_size(16_000, 16_000),
    ],
    ids=["png", "png that is long", "jpeg", "webp"],
)
def test_a_file_that_promises_too_many_pixels_is_refused_before_decoding(bomb):
    assert "pixels" == refusal_of(bomb).code


@pytest.mark.parametrize("kind", KINDS)
def test_a_truncated_file_is_refused(kind):
    whole = files.talkative(kind)

    assert "damaged" == refusal_of(whole[: len(whole) // 2]).code


@pytest.mark.parametrize("head", [b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF\0\0\0\0WEBP"])
def test_a_file_of_zero_bytes_behind_a_good_start_is_refused(head):
    assert "damaged" == refusal_of(head + bytes(1000)).code


def test_only_zero_bytes_are_no_picture():
    assert "kind" == refusal_of(bytes(1000)).code


def test_png_pixels_that_stop_short_are_refused():
    assert "damaged" == refusal_of(files.png_of_size(500, 500)).code


def test_a_huge_text_chunk_is_left_out_unread():
    bomb = b"Comment\0\0" + zlib.compress(bytes(64_000_000))

    picture = take_in(files.png_of_size(8, 8, files.png_chunk(b"zTXt", bomb)))

    assert len(picture.original_bytes) < 300


def test_a_huge_colour_profile_is_refused():
    bomb = b"Profile\0\0" + zlib.compress(bytes(64_000_000))

    assert "damaged" == refusal_of(files.png_of_size(8, 8, files.png_chunk(b"iCCP", bomb))).code


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_a_moving_picture_is_refused(kind):
    frames = [files.four_corners(), files.four_corners().rotate(180)]
    moving = files.saved(frames[0], kind, save_all=True, append_images=frames[1:], duration=100)

    assert "animated" == refusal_of(moving).code


@pytest.mark.parametrize("declared", ["cast.png", "image/png", "IMAGE/PNG; q=1", "cast.heic"])
def test_a_file_that_is_not_what_it_is_called_is_refused(declared):
    refusal = refusal_of(files.saved(files.four_corners()), declared)

    assert ("mismatched", "JPEG") == (refusal.code, refusal.params["found"])


@pytest.mark.parametrize(
    "declared",
    [
        "",
        "cast.JPG",
        "cast.jpeg",
        "image/jpg",
        "image/*",
        "application/octet-stream",
        "cast",
        "blob",
    ],
)
def test_a_name_that_fits_or_says_nothing_is_accepted(declared):
    assert "image/jpeg" == take_in(files.saved(files.four_corners()), declared).media_type


@pytest.mark.parametrize(
    "code",
    [
        "empty",
        "heavy",
        "heic",
        "kind",
        "mismatched",
        "animated",
        "pixels",
        "damaged",
        "slow",
        "broken",
    ],
)
def test_every_refusal_says_what_why_and_what_to_do(code):
    words = Words("en")

    assert all(words.has(f"pictures.refused.{code}.{part}") for part in ("what", "why", "do"))


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(KINDS), st.data())
def test_a_changed_file_is_taken_in_or_refused_and_nothing_else(kind, data):
    whole = bytearray(SMALL[kind])
    for _ in range(data.draw(st.integers(1, 6))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))

    try:
        outcome = take_in(bytes(whole)).media_type
    except PictureRefused as refusal:
        outcome = refusal.code

    assert outcome


SMALL = {kind: files.saved(files.four_corners(40, 30), kind, exif=files.exif(6)) for kind in KINDS}


def test_a_picture_for_reading_is_upright_grey_and_of_the_asked_length():
    turned = files.saved(files.four_corners(), exif=files.exif(6))

    grey = upright_grey(turned, 200)

    assert ("L", (150, 200)) == (grey.mode, grey.size)


def test_many_threads_take_pictures_in_at_once():
    data = files.saved(files.four_corners(1200, 900))

    with ThreadPoolExecutor(6) as tablets:
        digests = {picture.sha256_hex for picture in tablets.map(take_in, [data] * 12)}

    assert 1 == len(digests)


def test_a_refused_picture_does_not_hold_up_the_next():
    refusal_of(files.png_of_size(500, 500))

    assert 400 == take_in(files.saved(files.four_corners())).width_px
