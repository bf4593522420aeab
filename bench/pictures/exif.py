"""The two things Exif data may say here: how a picture is turned, and how wide its lens saw.

Sources: TIFF 6.0 for directories and tag 274 (orientation); Exif 2.3 (CIPA DC-008) for tags 34665
(its own directory), 41989 (focal length as on 35 mm film, in whole millimetres) and 41988 (digital
zoom, a ratio).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

_ORIENTATION_TAG, _OWN_DIRECTORY_TAG, _FILM_TAG, _ZOOM_TAG = 0x0112, 0x8769, 0xA405, 0xA404
_SHORT, _LONG, _RATIO = 3, 4, 5
_LONGEST_DIRECTORY = 1000
_FILM_MM = range(5, 2001)


def orientation_in(exif: bytes) -> int:
    """Return the orientation 1-8 stated in Exif data (a TIFF header first), 1 where none is."""
    value = _stated(exif, _first_directory(exif), _ORIENTATION_TAG, _SHORT)
    return value if value is not None and 1 <= value <= 8 else 1


def film_mm_in(exif: bytes) -> int | None:
    """Return the focal length as on 35 mm film stated in Exif data, in millimetres, if any is.

    None beside a digital zoom: some makers count it into the length, and some do not.
    """
    own = _stated(exif, _first_directory(exif), _OWN_DIRECTORY_TAG, _LONG)
    value = None if own is None else _stated(exif, own, _FILM_TAG, _SHORT)
    return value if value in _FILM_MM and not _zoomed(exif, own) else None


def _zoomed(exif: bytes, own: int | None) -> bool:
    at = _stated(exif, own, _ZOOM_TAG, _RATIO)
    try:
        above, below = (0, 0) if at is None else struct.unpack_from(_order(exif) + "II", exif, at)
    except struct.error:
        return False
    return bool(above > below > 0)


def exif_of(orientation: int, film_mm: int | None = None) -> bytes:
    """Return Exif data that states an orientation and a focal length, and nothing else.

    An orientation of 1 is left out beside a focal length: it says nothing.
    """
    turned = struct.pack(">HHIHH", _ORIENTATION_TAG, _SHORT, 1, orientation, 0)
    if film_mm is None:
        return _header() + _directory([turned])
    first = [turned] if orientation != 1 else []
    own_at = 8 + 2 + 12 * (len(first) + 1) + 4
    first.append(struct.pack(">HHII", _OWN_DIRECTORY_TAG, _LONG, 1, own_at))
    film = struct.pack(">HHIHH", _FILM_TAG, _SHORT, 1, film_mm, 0)
    return _header() + _directory(first) + _directory([film])


def _header() -> bytes:
    return struct.pack(">2sHI", b"MM", 42, 8)


def _directory(entries: list[bytes]) -> bytes:
    return struct.pack(">H", len(entries)) + b"".join(entries) + struct.pack(">I", 0)


def _order(exif: bytes) -> str:
    return {b"II": "<", b"MM": ">"}.get(exif[:2], "")


def _first_directory(exif: bytes) -> int | None:
    order = _order(exif)
    try:
        if not order or struct.unpack_from(order + "H", exif, 2) != (42,):
            return None
        (start,) = struct.unpack_from(order + "I", exif, 4)
    except struct.error:
        return None
    return int(start)


def _stated(exif: bytes, directory: int | None, wanted: int, wanted_kind: int) -> int | None:
    """Return the whole number that a directory states under a tag, None where it does not.

    Of a ratio it is where its two numbers stand.
    """
    if directory is None:
        return None
    order = _order(exif)
    try:
        for at in _entries(exif, directory, order):
            tag, kind = struct.unpack_from(order + "HH", exif, at)
            if (tag, kind) == (wanted, wanted_kind):
                size = "H" if kind == _SHORT else "I"
                return int(struct.unpack_from(order + size, exif, at + 8)[0])
    except struct.error:
        return None
    return None


def _entries(exif: bytes, directory: int, order: str) -> Iterator[int]:
    (count,) = struct.unpack_from(order + "H", exif, directory)
    yield from (directory + 2 + 12 * n for n in range(min(count, _LONGEST_DIRECTORY)))
