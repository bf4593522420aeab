"""Taking a picture in: check it, strip it, turn it upright, and make the sizes that are shown."""

from __future__ import annotations

import hashlib
import io
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Lock
from typing import Any

from PIL import Image

from bench.pictures import largewebp
from bench.pictures.container import MediaType, Stripped, media_type_of, stripped
from bench.pictures.refusal import MOST_BYTES, PictureRefused, refuse_pixels

__all__ = [
    "DISPLAY_PX",
    "THUMB_PX",
    "Picture",
    "PictureRefused",
    "take_in",
    "upright_colour",
    "upright_grey",
]

DISPLAY_PX = 1600
THUMB_PX = 320

_DISPLAY_QUALITY, _THUMB_QUALITY = 85, 78
_FORMATS: dict[MediaType, str] = {
    "image/jpeg": "JPEG",
    "image/png": "PNG",
    "image/webp": "WEBP",
}
_NAMES: dict[str, str] = {
    **dict.fromkeys(("jpg", "jpeg", "jpe", "jfif", "pjpeg"), "image/jpeg"),
    **dict.fromkeys(("png", "x-png"), "image/png"),
    "webp": "image/webp",
    **{other: f"image/{other}" for other in ("gif", "bmp", "tif", "tiff", "heic", "heif", "avif")},
}
_TURNS: dict[int, Image.Transpose] = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_LONGEST_PROFILE_BYTES = 32_768
_DECODER_ERRORS = (
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    ArithmeticError,
    LookupError,
    struct.error,
    Image.DecompressionBombError,
)

# A WebP takes Pillow 16 bytes a pixel. Up to this many that is not worth another decoder.
_FEW_PIXELS = 9_000_000

# A PNG of 50 million pixels takes 300 MB while it is decoded; with every thread doing so at once
# the bench PC would run out of memory.
_ONE_AT_A_TIME = Lock()


@dataclass(frozen=True)
class Picture:
    """A picture taken in, without any word of who, where and with what it was taken.

    `original_bytes` has the pixels as they came and states how to turn them; `width_px` and
    `height_px` are those of the upright picture; `sha256_hex` is of `original_bytes`,
    `received_sha256_hex` of the bytes that arrived (the same for a file with nothing to strip).
    `display_bytes` (longest side 1600 px) and `thumb_bytes` (320 px) are upright JPEGs.
    """

    sha256_hex: str
    media_type: MediaType
    width_px: int
    height_px: int
    original_bytes: bytes
    display_bytes: bytes
    thumb_bytes: bytes
    received_sha256_hex: str = ""


def take_in(data: bytes, declared: str = "") -> Picture:
    """Return the picture in a file, or raise PictureRefused.

    `declared` is what the sender calls it, a file name or a media type; what it says has to fit
    the content, what says nothing (such as application/octet-stream) is passed over.
    """
    source = _checked(data, declared)
    with _opened(source, DISPLAY_PX) as (image, size_px):
        display = _upright(image, source.orientation, DISPLAY_PX)
        profile = _profile(image, display)
    turned = source.orientation >= 5
    return Picture(
        sha256_hex=hashlib.sha256(source.data).hexdigest(),
        media_type=source.media_type,
        width_px=size_px[1] if turned else size_px[0],
        height_px=size_px[0] if turned else size_px[1],
        original_bytes=source.data,
        display_bytes=_as_jpeg(display, _DISPLAY_QUALITY, profile),
        thumb_bytes=_as_jpeg(_within(display, THUMB_PX), _THUMB_QUALITY, profile),
        received_sha256_hex=hashlib.sha256(data).hexdigest(),
    )


def upright_grey(data: bytes, longest_px: int) -> Image.Image:
    """Return a picture upright, in grey, no longer than `longest_px`, or raise PictureRefused."""
    source = _checked(data, "")
    with _opened(source, longest_px) as (image, _):
        return _upright(image, source.orientation, longest_px).convert("L")


def upright_colour(
    data: bytes, least_px: int, most_px: int
) -> tuple[Image.Image, tuple[int, int], Stripped]:
    """Return a picture upright in colour, its full upright size, and the file it came in.

    Its longer side is at most `most_px`; a JPEG may be decoded at a part of its size as long as
    that leaves `least_px`. Raises PictureRefused.
    """
    source = _checked(data, "")
    with _opened(source, least_px) as (image, size_px):
        shown = _upright(image, source.orientation, most_px).convert("RGB")
    return shown, size_px[::-1] if source.orientation >= 5 else size_px, source


def _checked(data: bytes, declared: str) -> Stripped:
    if not data:
        raise PictureRefused("empty")
    if len(data) > MOST_BYTES:
        mb = -(-len(data) // 1_000_000)
        raise PictureRefused("heavy", {"mb": mb, "most_mb": MOST_BYTES // 1_000_000})
    _refuse_mismatch(media_type_of(data), declared)
    return stripped(data)


def _refuse_mismatch(found: MediaType, declared: str) -> None:
    name = declared.strip().lower()
    said = name.partition(";")[0].strip().removeprefix("image/").rpartition(".")[2]
    if said in _NAMES and _NAMES[said] != found:
        raise PictureRefused(
            "mismatched", {"said": declared.strip()[:80], "found": _FORMATS[found]}
        )


@contextmanager
def _opened(source: Stripped, longest_px: int) -> Iterator[tuple[Image.Image, tuple[int, int]]]:
    """Give the decoded picture and its full size; a large JPEG or WebP is decoded at a part of it.

    Whatever a decoder raises on a broken file becomes the refusal 'damaged'.
    """
    with _ONE_AT_A_TIME:
        try:
            image, size_px = _decoded(source, longest_px)
        except PictureRefused:
            raise
        except _DECODER_ERRORS as broken:
            raise PictureRefused("damaged") from broken
        with image:
            yield image, size_px


def _decoded(source: Stripped, longest_px: int) -> tuple[Image.Image, tuple[int, int]]:
    size_px, info = _head(source)
    refuse_pixels(*size_px)
    if source.media_type == "image/webp" and size_px[0] * size_px[1] > _FEW_PIXELS:
        image = largewebp.shrunk(source.data, _part_px(size_px, longest_px))
        image.info.update(info)
    else:
        image = _unread(source)
        image.draft(None, _shrunk_px(size_px, longest_px))
        image.load()
    return image, size_px


def _head(source: Stripped) -> tuple[tuple[int, int], dict[str | tuple[int, int], Any]]:
    """Return the size and what else is stated; a WebP's canvas goes before the picture is decoded."""
    image = _unread(source)
    return image.size, image.info


def _unread(source: Stripped) -> Image.Image:
    return Image.open(io.BytesIO(source.data), formats=[_FORMATS[source.media_type]])


def _part_px(size_px: tuple[int, int], longest_px: int) -> tuple[int, int]:
    """Return the size at which a WebP is decoded: a half, a third and so on that leaves `longest_px`."""
    parts = max(size_px) // longest_px
    if parts < 2:
        return _shrunk_px(size_px, min(longest_px, max(size_px)))
    return _shrunk_px(size_px, max(size_px) / parts)


def _upright(image: Image.Image, orientation: int, longest_px: int) -> Image.Image:
    """Return a picture upright in grey or colour; shrunk first, so that little is worked on."""
    small = _flat(_within(_smooth(image), longest_px))
    turn = _TURNS.get(orientation)
    return small if turn is None else small.transpose(turn)


def _smooth(image: Image.Image) -> Image.Image:
    """Return the picture in a mode that can be shrunk smoothly: no palette, no 16 bits."""
    if image.mode in ("P", "PA"):
        return image.convert("RGBA")
    if image.mode.startswith("I"):
        return image.point(lambda level: level * (1 / 257)).convert("L")
    return image.convert("L") if image.mode == "1" else image


def _flat(image: Image.Image) -> Image.Image:
    """Return the picture in grey or colour, what is transparent laid on white."""
    if image.mode in ("LA", "RGBA"):
        white = Image.new("RGBA", image.size, "white")
        return Image.alpha_composite(white, image.convert("RGBA")).convert("RGB")
    return image if image.mode in ("L", "RGB") else image.convert("RGB")


def _within(image: Image.Image, longest_px: int) -> Image.Image:
    if max(image.size) <= longest_px:
        return image
    size_px = _shrunk_px(image.size, longest_px)
    return image.resize(size_px, Image.Resampling.LANCZOS, reducing_gap=2.0)


def _shrunk_px(size_px: tuple[int, int], longest_px: float) -> tuple[int, int]:
    """Return the size in the same proportions whose longer side is `longest_px`."""
    scale = longest_px / max(size_px)
    return max(1, round(size_px[0] * scale)), max(1, round(size_px[1] * scale))


def _profile(image: Image.Image, shown: Image.Image) -> bytes | None:
    """Return the colour profile where it still fits the picture shown and is of a sane length."""
    profile = image.info.get("icc_profile")
    wanted = {"RGB": b"RGB ", "L": b"GRAY"}[shown.mode]
    if not isinstance(profile, bytes) or len(profile) > _LONGEST_PROFILE_BYTES:
        return None
    return profile if profile[16:20] == wanted else None


def _as_jpeg(image: Image.Image, quality: int, profile: bytes | None) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality, optimize=True, icc_profile=profile)
    return out.getvalue()
