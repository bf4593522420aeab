"""Invented picture files for the tests: plain, turned, talkative and hostile ones."""

from __future__ import annotations

import io
import struct
import zlib

from PIL import Image, ImageDraw, PngImagePlugin

RED, GREEN, BLUE, WHITE = (220, 30, 30), (30, 200, 30), (30, 30, 220), (240, 240, 240)
GPS_IFD, ORIENTATION, MAKE = 0x8825, 0x0112, 0x010F


def four_corners(width_px: int = 400, height_px: int = 300) -> Image.Image:
    """A picture whose corners are red, green, blue and white, clockwise from the top left."""
    picture = Image.new("RGB", (width_px, height_px), (128, 128, 128))
    draw = ImageDraw.Draw(picture)
    x, y = width_px // 3, height_px // 3
    right, bottom = width_px - 1, height_px - 1
    draw.rectangle([(0, 0), (x, y)], fill=RED)
    draw.rectangle([(right - x, 0), (right, y)], fill=GREEN)
    draw.rectangle([(right - x, bottom - y), (right, bottom)], fill=BLUE)
    draw.rectangle([(0, bottom - y), (x, bottom)], fill=WHITE)
    return picture


def saved(picture: Image.Image, kind: str = "JPEG", **options: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


def exif(orientation: int = 1, *, talkative: bool = True) -> bytes:
    data = Image.Exif()
    data[ORIENTATION] = orientation
    if talkative:
        data[MAKE] = "Invented Camera Works"
        data[GPS_IFD] = {1: "N", 2: (48.0, 12.0, 30.0), 3: "E", 4: (11.0, 34.0, 12.0)}
    return data.tobytes()


def talkative(kind: str = "JPEG") -> bytes:
    """A file that says who, where and with what: Exif with GPS, XMP, comments and times."""
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>Invented Camera Works</x:xmpmeta>"
    options: dict[str, object] = {"exif": exif(), "xmp": xmp}
    if kind == "JPEG":
        options["comment"] = b"Invented Camera Works"
    if kind == "PNG":
        notes = PngImagePlugin.PngInfo()
        notes.add_text("Author", "Invented Camera Works", zip=True)
        notes.add_itxt("XML:com.adobe.xmp", xmp.decode())
        notes.add(b"tIME", bytes([7, 230, 1, 1, 1, 1, 1]))
        options = {"exif": exif(), "pnginfo": notes}
    return saved(four_corners(), kind, **options)


def png_chunk(kind: bytes, payload: bytes) -> bytes:
    body = kind + payload
    return struct.pack(">I", len(payload)) + body + struct.pack(">I", zlib.crc32(body))


def png_of_size(width_px: int, height_px: int, *extra: bytes) -> bytes:
    """A PNG that says it has this size and holds next to nothing."""
    header = struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    pixels = zlib.compress(bytes(3 * 8 + 1) * 8)
    parts = [
        png_chunk(b"IHDR", header),
        *extra,
        png_chunk(b"IDAT", pixels),
        png_chunk(b"IEND", b""),
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def jpeg_of_size(width_px: int, height_px: int) -> bytes:
    """A JPEG whose frame header was changed to say it has this size."""
    data = bytearray(saved(four_corners(64, 64)))
    at = data.index(b"\xff\xc0")
    data[at + 5 : at + 9] = struct.pack(">HH", height_px, width_px)
    return bytes(data)


def webp_of_size(width_px: int, height_px: int) -> bytes:
    """An extended WebP whose canvas was changed to say it has this size."""
    data = bytearray(saved(four_corners(), "WEBP", exif=exif()))
    at = data.index(b"VP8X") + 12
    data[at : at + 3] = (width_px - 1).to_bytes(3, "little")
    data[at + 3 : at + 6] = (height_px - 1).to_bytes(3, "little")
    return bytes(data)
