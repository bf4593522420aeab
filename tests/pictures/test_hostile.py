"""Pillow's own test images, broken and hostile ones among them, arrive as uploads.

Source: the folder Tests/images of Pillow's source archive, in the pinned version. `scripts/test`
fetches the archive into the environment; no image of it is kept in the project.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import io
import os
import sys
import tarfile
import warnings
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path, PurePosixPath

import pytest
from PIL import Image, ImageChops

from bench.pictures import apart
from bench.pictures.apart import Child
from bench.pictures.ingest import DISPLAY_PX, THUMB_PX, Picture
from bench.pictures.refusal import MOST_BYTES, MOST_PIXELS, PictureRefused
from tests.pictures import files

VERSION = importlib.metadata.version("pillow")
ARCHIVE = Path(sys.prefix) / "sources" / f"pillow-{VERSION}.tar.gz"
# What a file is by its first bytes decides how it is read; its name does not.
STARTS = {"JPEG": b"\xff\xd8\xff", "PNG": b"\x89PNG\r\n\x1a\n", "WebP": b"RIFF"}
HOSTILE = ("crash", "oom", "timeout", "decompression_bomb", "broken", "truncated", "ossfuzz", "bad")
REFUSED = {"empty", "heavy", "heic", "kind", "animated", "pixels", "damaged"}
# The rest of what an image's `info` says of a file in which nothing but pixels is left.
SAYS_NOBODY = {
    "icc_profile", "dpi", "jfif", "jfif_version", "jfif_unit", "jfif_density", "adobe",
    "adobe_transform", "progressive", "progression", "gamma", "transparency", "srgb",
    "chromaticity", "aspect", "interlace", "loop", "background", "timestamp", "duration", "exif",
}  # fmt: skip
# A busy machine makes anything wait: what counts is the processor's time.
LONGEST_S, LONGEST_WAIT_S, MOST_MB = 5.0, 120.0, 400


@cache
def images() -> dict[str, bytes]:
    """Return the bytes of every file among Pillow's test images, by its path in their folder."""
    if not ARCHIVE.is_file():
        pytest.fail(f"{ARCHIVE} is missing: scripts/test fetches it; or put it there by hand.")
    found = {}
    with tarfile.open(ARCHIVE) as archive:
        for member in archive:
            _, inside, name = member.name.partition("/Tests/images/")
            kept = archive.extractfile(member) if inside and member.isfile() else None
            if kept is not None:
                found[name] = kept.read()
    return found


def sort_of(data: bytes) -> str:
    return next((kind for kind, start in STARTS.items() if data.startswith(start)), "other")


def hostile(name: str) -> bool:
    return PurePosixPath(name).name.startswith(HOSTILE)


@pytest.fixture(scope="module")
def child() -> Iterator[Child]:
    """One child that is never replaced, so that it is seen to outlive everything it is given."""
    child = Child(time_limit_s=LONGEST_WAIT_S, most_looks=100_000)
    yield child
    child.stop()


@pytest.fixture
def intake(child: Child, monkeypatch: pytest.MonkeyPatch) -> Child:
    monkeypatch.setattr(apart, "_INTAKE", child)
    apart.take_in(files.saved(files.four_corners()))
    return child


def fed(names: list[str], child: Child) -> dict[str, Picture | str]:
    """Return for each file the picture that was taken in, or why it was not; each in good time."""
    outcomes: dict[str, Picture | str] = {}
    for name in names:
        before_s = spent_s(child)
        try:
            outcomes[name] = apart.take_in(images()[name])
        except PictureRefused as refused:
            outcomes[name] = refused.code
        assert spent_s(child) - before_s < LONGEST_S, name
    return outcomes


def spent_s(child: Child) -> float:
    """Return the processor's time that the child has taken, as Linux tells it (proc(5))."""
    assert child._process is not None
    said = Path(f"/proc/{child._process.pid}/stat").read_text().rpartition(")")[2].split()
    return (int(said[11]) + int(said[12])) / os.sysconf("SC_CLK_TCK")


def peak_mb(child: Child) -> int:
    """Return the most memory that the child has held, as Linux tells it."""
    assert child._process is not None
    said = Path(f"/proc/{child._process.pid}/status").read_text()
    return int(said.partition("VmHWM:")[2].split()[0]) // 1000


@pytest.mark.parametrize("sort", [*STARTS, "other"])
def test_each_of_pillows_images_is_taken_in_or_refused_for_a_known_reason(sort, intake):
    names = [name for name, data in images().items() if sort_of(data) == sort]
    process = intake._process

    outcomes = fed(names, intake)

    counts = Counter(one if isinstance(one, str) else "taken" for one in outcomes.values())
    print(f"{sort}: {dict(counts)}")
    assert len(outcomes) > 10
    assert {"taken", *REFUSED} >= set(counts)
    assert process is intake._process
    assert process.poll() is None
    assert peak_mb(intake) < MOST_MB
    for name, one in outcomes.items():
        if isinstance(one, Picture):
            check_picture(name, one)


def test_what_was_made_to_break_a_reader_breaks_nothing(intake):
    names = [name for name in images() if hostile(name)]
    process = intake._process

    outcomes = fed(names, intake)

    assert len(names) > 50
    assert "taken" not in {outcomes[name] for name in names if "truncated" in name}
    assert process is intake._process
    assert 400 == apart.take_in(files.saved(files.four_corners())).width_px
    for name, one in outcomes.items():
        assert one in REFUSED or isinstance(one, Picture), name


def test_ordinary_images_are_taken_in(intake):
    """Pillow decodes these whole, and what moves or is cut short is not among them."""
    ordinary = ["hopper.jpg", "hopper.png", "hopper.webp", "flower.jpg", "exif-72dpi-int.jpg"]

    outcomes = fed(ordinary, intake)

    assert all(isinstance(one, Picture) for one in outcomes.values()), outcomes


def check_picture(name: str, picture: Picture) -> None:
    assert hashlib.sha256(picture.original_bytes).hexdigest() == picture.sha256_hex, name
    assert picture.width_px * picture.height_px <= MOST_PIXELS
    assert len(picture.original_bytes) <= MOST_BYTES
    for data, longest_px in ((picture.display_bytes, DISPLAY_PX), (picture.thumb_bytes, THUMB_PX)):
        shown = decoded(data)
        assert ("JPEG", True) == (shown.format, max(shown.size) <= longest_px), name
        assert not dict(shown.getexif()), name
    kept = decoded(picture.original_bytes)
    assert {*kept.info} <= SAYS_NOBODY, name
    assert {*kept.getexif()} <= {files.ORIENTATION, 0x8769}, name
    assert {*kept.getexif().get_ifd(0x8769)} <= {0xA405}, name
    assert_same_pixels(name, kept)


def assert_same_pixels(name: str, kept: Image.Image) -> None:
    with warnings.catch_warnings(action="ignore"):  # of what hangs behind the picture
        try:
            sent = decoded(images()[name])
        except ValueError:
            return  # a text that Pillow refuses to unpack; it is left out of what is kept
    assert (kept.mode, kept.size) == (sent.mode, sent.size), name
    assert ImageChops.difference(kept.convert("RGBA"), sent.convert("RGBA")).getbbox() is None, name


def decoded(data: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(data), formats=["JPEG", "PNG", "WEBP"])
    picture.load()
    return picture
