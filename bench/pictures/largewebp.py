"""Decoding a large WebP straight to a part of its size.

Pillow decodes WebP by way of an animation's canvas, 16 bytes a pixel. libwebp itself shrinks row by
row: what is lossy takes next to nothing beside the result, what is lossless 4 bytes a pixel. Source
of the layout: libwebp's public header `decode.h`, the structure WebPDecoderOptions.
"""

from __future__ import annotations

from typing import Any

from PIL import Image

# Whole numbers before `use_scaling` in WebPDecoderOptions; the width and the height come after it.
_USE_SCALING = 7


def shrunk(data: bytes, size_px: tuple[int, int]) -> Image.Image:
    """Return the still picture in a WebP file at another size, in RGB, or RGBA where it is see-through.

    Raises OSError for a file that libwebp does not decode.
    """
    from webp._webp import ffi, lib  # brings numpy along, which stays out of the server

    source, config = ffi.from_buffer(data), ffi.new("WebPDecoderConfig*")
    features = ffi.addressof(config, "input")
    if not lib.WebPInitDecoderConfig(config) or lib.WebPGetFeatures(source, len(data), features):
        raise OSError("no WebP that can be decoded")
    mode = "RGBA" if config.input.has_alpha else "RGB"
    pixels = bytearray(size_px[0] * size_px[1] * len(mode))
    if size_px != (config.input.width, config.input.height):
        _scale(ffi, config, size_px)
    _fill(ffi, config, pixels, size_px[0] * len(mode))
    config.output.colorspace = lib.MODE_RGBA if mode == "RGBA" else lib.MODE_RGB
    if lib.WebPDecode(source, len(data), config):
        raise OSError("a WebP that is broken")
    return Image.frombuffer(mode, size_px, pixels, "raw", mode, 0, 1)


def _scale(ffi: Any, config: Any, size_px: tuple[int, int]) -> None:
    """Ask for a size: the binding knows the structure of the options, but not the names in it."""
    options = ffi.cast("int*", ffi.addressof(config, "options"))
    options[_USE_SCALING], options[_USE_SCALING + 1], options[_USE_SCALING + 2] = 1, *size_px


def _fill(ffi: Any, config: Any, pixels: bytearray, stride: int) -> None:
    """Have the picture written into memory of ours; too little of it is refused and not overrun."""
    into = config.output.u.RGBA
    into.rgba = ffi.cast("uint8_t*", ffi.from_buffer(pixels))
    into.size, into.stride = len(pixels), stride
    config.output.is_external_memory = 1
