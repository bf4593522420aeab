"""What surrounds the pixels in a file: read it safely, and leave out who, where and with what.

Nothing here decodes pixels. Each file is walked by its lengths; what is not needed to show the
picture is left out, and the size is checked before any decoder sees the file. Sources: JPEG
ITU-T T.81 annex B, JFIF ITU-T T.871, PNG (W3C, third edition), WebP RFC 9649.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeVar

from bench.pictures.exif import exif_of, film_mm_in, orientation_in
from bench.pictures.refusal import PictureRefused, refuse_pixels

MediaType = Literal["image/jpeg", "image/png", "image/webp"]

_Part = TypeVar("_Part")

_PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = frozenset(
    (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"pHYs")
)
_PNG_ANIMATED = frozenset((b"acTL", b"fcTL", b"fdAT"))
_WEBP_KEPT = frozenset((b"ICCP", b"ALPH", b"VP8 ", b"VP8L"))
_WEBP_ANIMATED = frozenset((b"ANIM", b"ANMF"))
_WEBP_ICC, _WEBP_ALPHA, _WEBP_EXIF = 0x20, 0x10, 0x08
_STILL_IMAGE_BRANDS = frozenset(
    (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
)
_END_OF_SCAN = re.compile(rb"\xff[^\x00\xd0-\xd7]", re.DOTALL)
_MOST_PARTS, _MOST_SCANS = 100_000, 64


@dataclass(frozen=True)
class Stripped:
    """A file without the left-out parts. `orientation` is Exif's 1-8; `data` still states it.

    `film_mm` is the focal length as on 35 mm film where a JPEG states it: it tells how wide the
    lens saw, and nothing of whose it is. `data` still states that, too.
    """

    data: bytes
    media_type: MediaType
    orientation: int
    film_mm: int | None = None


def media_type_of(data: bytes) -> MediaType:
    """Return the media type that a file's first bytes show; refuse ('heic', 'kind') all others."""
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data.startswith(_PNG_SIGNATURE):
        return "image/png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    if data[4:8] == b"ftyp" and data[8:12] in _STILL_IMAGE_BRANDS:
        raise PictureRefused("heic")
    raise PictureRefused("kind")


def stripped(data: bytes) -> Stripped:
    """Return a picture file with its pixels, colour profile and orientation, and nothing else.

    The pixels are not encoded again: they stay as they came, bit for bit. A stripped file comes
    back unchanged. Raises PictureRefused ('kind', 'heic', 'animated', 'pixels', 'damaged').
    """
    media_type = media_type_of(data)
    walk = {"image/jpeg": _jpeg, "image/png": _png, "image/webp": _webp}[media_type]
    try:
        kept, orientation, film_mm = walk(data)
    except (struct.error, IndexError) as broken:
        raise PictureRefused("damaged") from broken
    return Stripped(kept, media_type, orientation, film_mm)


def _counted(parts: Iterator[_Part]) -> Iterator[_Part]:
    """Pass the parts of a file on, up to a number that no honest file comes near."""
    for number, part in enumerate(parts):
        if number > _MOST_PARTS:
            raise PictureRefused("damaged")
        yield part


def _jpeg_segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield each marker with its payload; a scan's coded pixels come with the marker 0."""
    at = 2
    while True:
        if data[at] != 0xFF:
            raise PictureRefused("damaged")
        while data[at] == 0xFF:
            at += 1
        marker = data[at]
        at += 1
        if marker == 0xD9:
            return
        (length,) = struct.unpack_from(">H", data, at)
        if length < 2 or at + length > len(data):
            raise PictureRefused("damaged")
        yield marker, data[at + 2 : at + length]
        at += length
        if marker == 0xDA:
            end = _end_of_scan(data, at)
            yield 0, data[at:end]
            at = end


def _end_of_scan(data: bytes, at: int) -> int:
    """Return where the next marker stands that is neither a stuffed FF 00 nor a restart."""
    found = _END_OF_SCAN.search(data, at)
    if not found:
        raise PictureRefused("damaged")
    return found.start()


def _jpeg(data: bytes) -> tuple[bytes, int, int | None]:
    orientation, frames, scans = 1, 0, 0
    film_mm: int | None = None
    kept: list[bytes] = []
    for marker, payload in _counted(_jpeg_segments(data)):
        if marker == 0:
            kept.append(payload)
            continue
        if marker == 0xE1 and payload.startswith(b"Exif\0\0"):
            orientation = orientation_in(payload[6:]) if orientation == 1 else orientation
            film_mm = film_mm or film_mm_in(payload[6:])
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            frames += 1
            height_px, width_px = struct.unpack_from(">HH", payload, 1)
            refuse_pixels(width_px, height_px)
        scans += marker == 0xDA
        kept.extend(_jpeg_kept(marker, payload))
    if frames != 1 or not 1 <= scans <= _MOST_SCANS:
        raise PictureRefused("damaged")
    head = _joined_jpeg_head(kept, orientation, film_mm)
    return b"".join((b"\xff\xd8", head, *kept, b"\xff\xd9")), orientation, film_mm


def _joined_jpeg_head(kept: list[bytes], orientation: int, film_mm: int | None) -> bytes:
    """Take the JFIF segment off the front, where it must stay, and put what is stated after it."""
    jfif = kept.pop(0) if kept[0].startswith(b"\xff\xe0") else b""
    if orientation == 1 and film_mm is None:
        return jfif
    return jfif + _segment(0xE1, b"Exif\0\0" + exif_of(orientation, film_mm))


def _jpeg_kept(marker: int, payload: bytes) -> list[bytes]:
    """Return a segment as it is kept: none for comments and data of applications.

    JFIF stays without its small preview, Adobe's transform flag because colours depend on it.
    """
    if marker == 0xE0 and payload.startswith(b"JFIF\0") and len(payload) >= 14:
        return [_segment(marker, payload[:12] + b"\0\0")]
    if marker == 0xEE and payload.startswith(b"Adobe"):
        return [_segment(marker, payload[:12])]
    profile = marker == 0xE2 and payload.startswith(b"ICC_PROFILE\0")
    if not profile and (0xE0 <= marker <= 0xEF or marker == 0xFE):
        return []
    return [_segment(marker, payload)]


def _segment(marker: int, payload: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(payload) + 2) + payload


def _png_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at, kind = len(_PNG_SIGNATURE), b""
    while kind != b"IEND":
        length, kind = struct.unpack_from(">I4s", data, at)
        whole = data[at : at + length + 12]
        if len(whole) != length + 12:
            raise PictureRefused("damaged")
        yield kind, whole
        at += length + 12


def _png(data: bytes) -> tuple[bytes, int, None]:
    orientation = 1
    kept = [_PNG_SIGNATURE]
    for kind, whole in _counted(_png_chunks(data)):
        if (kind == b"IHDR") != (len(kept) == 1):
            raise PictureRefused("damaged")
        if kind in _PNG_ANIMATED:
            raise PictureRefused("animated")
        if kind == b"IHDR":
            refuse_pixels(*struct.unpack_from(">II", whole, 8))
        if kind == b"eXIf":
            orientation = orientation_in(whole[8:-4])
        if kind in _PNG_KEPT:
            kept.append(whole)
    if orientation != 1:
        kept.insert(2, _chunk(b"eXIf", exif_of(orientation)))
    return b"".join(kept), orientation, None


def _chunk(kind: bytes, payload: bytes) -> bytes:
    named = kind + payload
    return struct.pack(">I", len(payload)) + named + struct.pack(">I", zlib.crc32(named))


def _webp_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    (size,) = struct.unpack_from("<I", data, 4)
    end = 8 + size
    if end > len(data):
        raise PictureRefused("damaged")
    at = 12
    while at + 8 <= end:
        kind, length = struct.unpack_from("<4sI", data, at)
        if at + 8 + length > end:
            raise PictureRefused("damaged")
        yield kind, data[at + 8 : at + 8 + length]
        at += 8 + length + length % 2


def _webp(data: bytes) -> tuple[bytes, int, None]:
    orientation, extended = 1, b""
    kept: list[tuple[bytes, bytes]] = []
    for kind, payload in _counted(_webp_chunks(data)):
        if kind in _WEBP_ANIMATED:
            raise PictureRefused("animated")
        if kind in (b"VP8X", b"VP8 ", b"VP8L"):
            refuse_pixels(*_webp_size_px(kind, payload))
        if kind == b"VP8X":
            extended = payload
        if kind == b"EXIF":
            orientation = orientation_in(payload.removeprefix(b"Exif\0\0"))
        if kind in _WEBP_KEPT:
            kept.append((kind, payload))
    if len([kind for kind, _ in kept if kind.startswith(b"VP8")]) != 1:
        raise PictureRefused("damaged")
    orientation = orientation if extended else 1
    return _webp_file(kept, extended, orientation), orientation, None


def _webp_size_px(kind: bytes, payload: bytes) -> tuple[int, int]:
    if kind == b"VP8X":
        width, height = (int.from_bytes(payload[i : i + 3], "little") for i in (4, 7))
        return width + 1, height + 1
    if kind == b"VP8L":
        (bits,) = struct.unpack_from("<I", payload, 1)
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    width, height = struct.unpack_from("<HH", payload, 6)
    return width & 0x3FFF, height & 0x3FFF


def _webp_file(kept: list[tuple[bytes, bytes]], extended: bytes, orientation: int) -> bytes:
    """Write the chunks behind the header they came with; only an extended one can be turned."""
    chunks = list(kept)
    if extended:
        flags = extended[0] & (_WEBP_ICC | _WEBP_ALPHA) | (_WEBP_EXIF if orientation != 1 else 0)
        chunks.insert(0, (b"VP8X", bytes([flags, 0, 0, 0]) + extended[4:10]))
        if orientation != 1:
            chunks.append((b"EXIF", exif_of(orientation)))
    body = b"WEBP" + b"".join(
        struct.pack("<4sI", kind, len(payload)) + payload + b"\0" * (len(payload) % 2)
        for kind, payload in chunks
    )
    return b"RIFF" + struct.pack("<I", len(body)) + body
