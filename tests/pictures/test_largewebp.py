"""Large WebP pictures, which another decoder shrinks while it reads them."""

from __future__ import annotations

import io
import subprocess
import sys
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bench.pictures import ingest, largewebp
from bench.pictures.ingest import PictureRefused, take_in, upright_colour, upright_grey
from tests.pictures import files, photomaker
from tests.pictures.figures import figures, middle

WAYS = {
    "lossy": {"quality": 90, "method": 0},
    "lossless": {"lossless": True, "quality": 0, "method": 0},
}
MOST_MB = 400
# Linux tells the most memory a process has held.
PEAK = (
    "import sys; from pathlib import Path; from bench.pictures import {room};"
    "{room}.{call}; said = Path('/proc/self/status').read_text();"
    "print(int(said.partition('VmHWM:')[2].split()[0]) // 1000)"
)
DATA = "Path(sys.argv[1]).read_bytes()"
CALLS = {
    "ingest": f"take_in({DATA})",
    "scan": f"read_label({DATA})",
    "looking": f"look({DATA}, looking.MarkColours((188, 42, 48), (44, 72, 158)), code=None, label_mm=20)",
}


def see_through(picture: Image.Image) -> Image.Image:
    clear = picture.copy()
    soft = Image.linear_gradient("L").resize((picture.width // 8, picture.height // 8))
    alpha = Image.new("L", picture.size, 200)
    alpha.paste(soft, (picture.width // 3, picture.height // 3))
    clear.putalpha(alpha)
    return clear


@cache
def large(
    way: str, alpha: bool = False, orientation: int = 1, size: tuple[int, int] = (4000, 3000)
) -> bytes:
    picture = files.four_corners(*size)
    shown = see_through(picture) if alpha else picture
    profile = b"\0" * 16 + b"RGB " + b"\0" * 108
    return files.saved(
        shown, "WEBP", exif=files.exif(orientation), icc_profile=profile, **WAYS[way]
    )


def pixels(data: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(data)) as picture:
        return np.asarray(picture.convert("RGB"), float)


@pytest.mark.parametrize("alpha", [False, True], ids=["solid", "see-through"])
@pytest.mark.parametrize("way", WAYS)
def test_a_large_one_is_shown_as_pillow_would_show_it(way, alpha, monkeypatch):
    data = large(way, alpha, 6)
    found = take_in(data)
    monkeypatch.setattr(ingest, "_FEW_PIXELS", 1e9)

    wanted = take_in(data)

    assert replace(wanted, display_bytes=b"", thumb_bytes=b"") == replace(
        found, display_bytes=b"", thumb_bytes=b""
    )
    for one, other in (
        (wanted.display_bytes, found.display_bytes),
        (wanted.thumb_bytes, found.thumb_bytes),
    ):
        off = np.abs(pixels(one) - pixels(other))
        assert off.mean() < 0.6
        assert np.percentile(off, 99) <= 8


def test_its_colour_profile_goes_along():
    with Image.open(io.BytesIO(take_in(large("lossy")).display_bytes)) as shown:
        assert b"\0" * 16 + b"RGB " + b"\0" * 108 == shown.info["icc_profile"]


def test_a_large_one_is_decoded_at_a_whole_part_of_its_size_that_leaves_enough():
    data = large("lossy", orientation=8, size=(6000, 4000))

    shown, size_px, _ = upright_colour(data, 1800, 2048)
    grey = upright_grey(data, 4000)

    assert ((4000, 6000), (1333, 2000)) == (size_px, shown.size)
    assert ("L", (2667, 4000)) == (grey.mode, grey.size)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("share", [0.05, 0.5, 0.95])
def test_a_large_one_cut_short_is_refused(way, share, monkeypatch):
    data = large(way)
    # A cut file that states its new length: only the decoder can tell.
    cut = bytearray(data[: int(len(data) * share) // 2 * 2])
    cut[4:8] = (len(cut) - 8).to_bytes(4, "little")
    at = cut.index(b"VP8L" if way == "lossless" else b"VP8 ") + 4
    cut[at : at + 4] = (len(cut) - at - 4).to_bytes(4, "little")

    with pytest.raises(PictureRefused) as caught:
        take_in(bytes(cut))

    assert "damaged" == caught.value.code


SMALL = [
    files.saved(see_through(files.four_corners(40, 30)) if alpha else files.four_corners(40, 30),
                "WEBP", exif=files.exif(6), **options)
    for options in WAYS.values() for alpha in (False, True)
]  # fmt: skip


@pytest.mark.parametrize("small", SMALL, ids=["lossy", "lossy clear", "lossless", "lossless clear"])
def test_at_its_own_size_it_is_the_picture_that_pillow_decodes(small):
    with Image.open(io.BytesIO(small)) as picture:
        wanted = np.asarray(picture, int)

    found = largewebp.shrunk(small, (40, 30))

    assert wanted.shape == np.asarray(found).shape
    assert np.abs(wanted - np.asarray(found, int)).max() == 0


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(SMALL), st.data())
def test_changed_bytes_decode_or_are_refused_and_nothing_else(small, data):
    whole = bytearray(small)
    for _ in range(data.draw(st.integers(1, 6))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))

    try:
        outcome = largewebp.shrunk(bytes(whole), (20, 15)).size
    except OSError:
        outcome = (20, 15)

    assert (20, 15) == outcome


@pytest.mark.parametrize(
    ("way", "alpha", "room"),
    [
        ("lossy", False, "looking"),
        ("lossy", True, "ingest"),
        ("lossless", False, "looking"),
        *(("lossless", True, room) for room in CALLS),
    ],
)
def test_fifty_million_pixels_take_no_more_memory_than_is_allowed(way, alpha, room, tmp_path):
    path = tmp_path / "picture"
    path.write_bytes(large(way, alpha, 6, (8000, 6200)))
    ask = PEAK.format(room=room, call=CALLS[room])

    said = subprocess.run([sys.executable, "-c", ask, str(path)], capture_output=True, text=True)

    assert "" == said.stderr
    assert int(said.stdout) < MOST_MB


def test_marks_and_label_are_found_in_them_as_in_a_jpeg(monkeypatch):
    made = photomaker.photo

    def as_webp(seed: int, given: photomaker.Conditions) -> tuple[bytes, photomaker.Truth]:
        data, truth = made(seed, given)
        with Image.open(io.BytesIO(data)) as photo:
            return files.saved(photo, "WEBP", quality=92, method=0), truth

    monkeypatch.setattr("tests.pictures.figures.photo", as_webp)

    found = figures(replace(photomaker.LEVEL, megapixels=12), range(911_000, 911_002))

    assert (6, 0, 2) == (found.found, found.false, found.labels)
    assert middle(found.off_mm) < 0.03
    assert max(found.sides_known_mm) < 0.15
