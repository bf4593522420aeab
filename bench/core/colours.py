"""Colours written #rrggbb: read, and how far apart two of them look."""

from __future__ import annotations

import re
from math import dist

from bench.core.bounds import BadEntry

Rgb = tuple[int, int, int]
Lab = tuple[float, float, float]

# Twice what keeps two pencils of one box apart at arm's length: common practice, no source.
LEAST_APART = 30.0
_WRITTEN = re.compile(r"#[0-9a-fA-F]{6}", re.ASCII)
# sRGB to XYZ (IEC 61966-2-1) and its white, D65.
_TO_XYZ = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)
_WHITE = (0.95047, 1.0, 1.08883)


def rgb_of(text: str) -> Rgb:
    """Return red, green and blue (0-255) of a colour; raise BadEntry for any other text."""
    if not _WRITTEN.fullmatch(text):
        raise BadEntry("value", "bad_colour", value=text[:20])
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def written(rgb: Rgb) -> str:
    """Return a colour as #rrggbb in lower case."""
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def apart(one: Rgb, other: Rgb) -> float:
    """Return how far apart two colours look: the distance in CIELAB (CIE 15, 1976); 2.3 is just seen."""
    return dist(lab_of(one), lab_of(other))


def lab_of(rgb: Rgb) -> Lab:
    """Return a colour's lightness and its two opponents in CIELAB."""
    linear = [_linear(part / 255) for part in rgb]
    x, y, z = (
        _cube_root(sum(k * part for k, part in zip(row, linear, strict=True)) / white)
        for row, white in zip(_TO_XYZ, _WHITE, strict=True)
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _linear(part: float) -> float:
    return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)


def _cube_root(share: float) -> float:
    return float(share ** (1 / 3)) if share > 216 / 24389 else (24389 / 27 * share + 16) / 116
