from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from bench.pictures.container import media_type_of, stripped
from bench.pictures.exif import exif_of, film_mm_in, orientation_in
from bench.pictures.refusal import PictureRefused
from tests.pictures import files

KINDS = ("JPEG", "PNG", "WEBP")


@pytest.mark.parametrize("kind", KINDS)
def test_stripping_leaves_out_who_where_and_with_what(kind):
    talkative = files.talkative(kind)
    assert b"Camera" in talkative

    kept = stripped(talkative).data

    assert b"Camera" not in kept
    with Image.open(io.BytesIO(kept)) as picture:
        assert not dict(picture.getexif())
        assert not {"comment", "xmp", "Author", "XML:com.adobe.xmp"} & set(picture.info)


@pytest.mark.parametrize("kind", KINDS)
def test_stripping_changes_no_pixel(kind):
    talkative = files.talkative(kind)

    kept = stripped(talkative).data

    assert list(pixels_of(talkative)) == list(pixels_of(kept))


def pixels_of(data: bytes) -> bytes:
    with Image.open(io.BytesIO(data)) as picture:
        return picture.tobytes()


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_stripped_file_states_its_orientation_and_stays_as_it_is(kind, orientation):
    turned = files.saved(files.four_corners(), kind, exif=files.exif(orientation))

    once = stripped(turned)

    assert orientation == once.orientation
    assert once == stripped(once.data)
    with Image.open(io.BytesIO(once.data)) as picture:
        stated = dict(picture.getexif())
    assert ({} if orientation == 1 else {files.ORIENTATION: orientation}) == stated


@pytest.mark.parametrize("kind", KINDS)
def test_the_colour_profile_stays(kind):
    profile = b"\0" * 16 + b"RGB " + b"\0" * 108
    coloured = files.saved(files.four_corners(), kind, icc_profile=profile)

    kept = stripped(coloured).data

    with Image.open(io.BytesIO(kept)) as picture:
        assert profile == picture.info["icc_profile"]


def test_a_plain_file_comes_back_bit_for_bit():
    for kind in KINDS:
        plain = files.saved(files.four_corners(), kind)

        assert plain == stripped(plain).data


def test_a_scan_by_scan_jpeg_keeps_all_its_scans():
    in_scans = files.saved(
        files.four_corners(), progressive=True, exif=files.exif(), comment=b"Camera"
    )

    kept = stripped(in_scans).data

    assert pixels_of(in_scans) == pixels_of(kept)
    assert b"Camera" not in kept


def test_what_hangs_behind_the_end_of_a_jpeg_is_left_out():
    plain = files.saved(files.four_corners())

    assert plain == stripped(plain + b"a film of half a second").data


def test_the_small_preview_in_a_jfif_header_is_left_out():
    plain = files.saved(files.four_corners())
    length = int.from_bytes(plain[4:6], "big")
    preview = b"\x02\x02" + b"\x7f" * 12
    head = plain[:4] + (length + 12).to_bytes(2, "big") + plain[6:18] + preview

    assert plain == stripped(head + plain[20:]).data


@given(st.integers(1, 8))
def test_our_own_orientation_reads_back(orientation):
    assert orientation == orientation_in(exif_of(orientation))


@given(st.binary(max_size=60))
def test_broken_orientation_data_means_upright(junk):
    assert orientation_in(b"II*\0" + junk) in range(1, 9)
    assert orientation_in(junk) in range(1, 9)


@pytest.mark.parametrize(
    ("start", "code"),
    [
        (b"\0\0\0\x18ftypheic\0\0\0\0", "heic"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0", "heic"),
        (b"\0\0\0\x18ftypisom\0\0\0\0", "kind"),
        (b"GIF89a", "kind"),
        (b"<svg xmlns=", "kind"),
        (b"%PDF-1.7", "kind"),
    ],
)
def test_other_kinds_of_file_are_refused(start, code):
    with pytest.raises(PictureRefused) as caught:
        media_type_of(start + bytes(200))

    assert code == caught.value.code


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_cut_anywhere_is_refused(kind):
    whole = files.talkative(kind)
    for end in range(12, len(whole) - 1, max(1, len(whole) // 60)):
        with pytest.raises(PictureRefused) as caught:
            stripped(whole[:end])

        assert caught.value.code == "damaged"


def test_more_parts_than_an_honest_file_has_are_refused():
    crumbs = files.png_chunk(b"teXt", b"") * 100_001

    with pytest.raises(PictureRefused) as caught:
        stripped(files.png_of_size(8, 8, crumbs))

    assert caught.value.code == "damaged"


@pytest.mark.parametrize("orientation", [1, 6])
def test_a_jpeg_still_says_how_wide_its_lens_saw(orientation):
    said = Image.Exif()
    said[files.ORIENTATION], said[files.MAKE] = orientation, "Invented Camera Works"
    said.get_ifd(0x8769)[0xA405] = 27
    talkative = files.saved(files.four_corners(), exif=said)

    once = stripped(talkative)

    assert (orientation, 27) == (once.orientation, once.film_mm)
    assert b"Camera" not in once.data
    assert once == stripped(once.data)
    with Image.open(io.BytesIO(once.data)) as picture:
        assert {0xA405: 27} == dict(picture.getexif().get_ifd(0x8769))


@given(st.binary(max_size=80))
def test_nonsense_in_exif_states_no_lens(junk):
    assert film_mm_in(b"MM\0*\0\0\0\x08" + junk) in {None, *range(5, 2001)}
    assert film_mm_in(junk) in {None, *range(5, 2001)}
