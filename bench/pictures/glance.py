"""One look at a decoded photo: the label's plane first, then the marks at its scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from PIL import Image

from bench.core.lens import lens_seen
from bench.core.photoplane import BadSquare
from bench.pictures.framing import focal_px, hints
from bench.pictures.ingest import upright_colour
from bench.pictures.inks import shown_with_stone
from bench.pictures.labelplane import Floats, Plane, Square, plane_of, squares_in
from bench.pictures.rings import RADII_MM, Finder, Ringed
from bench.pictures.seen import Corners, LabelSeen, MarkColours, MarkSeen, Place, Rgb, Seen

# 3 million pixels serve as well as 12; a JPEG of 12 is decoded at half its size.
LEAST_PX, MOST_PX = 1800, 2048
# Marks lie beside their label; farther off its plane would say little about them.
REACH_MM = 130.0
# A fingertip lands within some millimetres; a usual photo is some 350 mm wide.
TAP_MM, USUAL_WIDTH_MM, SAMPLE_PX = 2.5, 350.0, 8
# Without a label the scale is unknown: a ring's radius in parts of the longer side.
LOOSE_RADII = (0.0045, 0.025)


def look(image_bytes: bytes, colours: MarkColours, code: str | None, label_mm: float) -> Seen:
    """Return what a photo shows."""
    shown, size_px, source = upright_colour(image_bytes, LEAST_PX, MOST_PX)
    scale = size_px[0] / shown.width
    grey = shown.convert("L")
    squares = squares_in(grey)
    chosen = _chosen(squares, code)
    plane = plane_of(chosen, np.asarray(grey, float)) if chosen else None
    marks = _marks(shown, colours, plane, label_mm)
    return Seen(
        *size_px,
        _label(chosen, plane, scale) if chosen and plane else None,
        _others(squares, chosen),
        tuple(_mark(mark, scale) for mark in marks),
        hints(squares, chosen, plane, code, marks),
        focal_px(source, size_px),
        *_told_focal_px(plane, scale, size_px),
    )


def _told_focal_px(
    plane: Plane | None, scale: float, size_px: tuple[int, int]
) -> tuple[float, float] | tuple[None, None]:
    """Return what the label tells of the focal length, with its standard error."""
    if plane is None or not plane.refined:
        return None, None
    try:
        lens = lens_seen(_corners(plane.corners_px * scale), plane.spread_px * scale, *size_px)
    except BadSquare:
        return None, None
    told_px = lens.focal_px(*size_px)
    return told_px, told_px * lens.sd


def _marks(
    shown: Image.Image, colours: MarkColours, plane: Plane | None, label_mm: float
) -> list[Ringed]:
    """Look for marks around the label, or in the whole picture where there is none."""
    if plane is None:
        longest_px = max(shown.size)
        radii_px = (LOOSE_RADII[0] * longest_px, LOOSE_RADII[1] * longest_px)
        return _finder(shown, colours, radii_px).marks(None)
    px_per_mm = plane.side_px / label_mm
    left, top, right, bottom = _around(shown, plane, REACH_MM * px_per_mm)
    radii_px = (RADII_MM[0] * px_per_mm, RADII_MM[1] * px_per_mm)
    near = shown.crop((left, top, right, bottom))
    marks = _finder(near, colours, radii_px).marks(plane.corners_px - [left, top])
    return [replace(mark, x_px=mark.x_px + left, y_px=mark.y_px + top) for mark in marks]


def _around(shown: Image.Image, plane: Plane, reach_px: float) -> tuple[int, int, int, int]:
    x, y = plane.corners_px.mean(axis=0)
    left, top = max(0, int(x - reach_px)), max(0, int(y - reach_px))
    return left, top, min(shown.width, int(x + reach_px)), min(shown.height, int(y + reach_px))


def _finder(shown: Image.Image, colours: MarkColours, radii_px: tuple[float, float]) -> Finder:
    block_px = int(max(16, 1.2 * radii_px[1])) // 2 * 2
    return Finder(shown_with_stone(shown, block_px), colours, radii_px)


def _mark(mark: Ringed, scale: float) -> MarkSeen:
    figures = (mark.x_px * scale, mark.y_px * scale, mark.radius_px * scale, mark.confidence)
    return MarkSeen(*map(float, figures))


def _others(squares: Sequence[Square], chosen: Square | None) -> tuple[str, ...]:
    own = chosen.code if chosen else None
    return tuple(sorted({square.code for square in squares if square.code} - {own}))


def _chosen(squares: Sequence[Square], code: str | None) -> Square | None:
    """Choose the wanted label, or else the only one of ours."""
    ours = [square for square in squares if square.code]
    wanted = [square for square in ours if square.code == code]
    return next(iter(wanted or ours), None)


def _label(square: Square, plane: Plane, scale: float) -> LabelSeen:
    return LabelSeen(square.code, _corners(plane.corners_px * scale), plane.refined)


def _corners(places: Floats) -> Corners:
    first, second, third, fourth = ((float(x), float(y)) for x, y in places)
    return first, second, third, fourth


def sampled(image_bytes: bytes, x_px: float, y_px: float) -> Rgb:
    """Return the colour of the stroke nearest to a place.

    Around the place the stone is what most pixels show; the stroke is what differs most from it.
    """
    shown, size_px, _ = upright_colour(image_bytes, LEAST_PX, MOST_PX)
    scale = shown.width / size_px[0]
    near, x, y = _cut(shown, x_px * scale, y_px * scale, SAMPLE_PX)
    rgb = np.asarray(near, float).reshape(-1, 3)
    rows, columns = np.mgrid[0 : near.height, 0 : near.width]
    away = np.hypot(columns + 0.5 - x, rows + 0.5 - y).ravel()
    differs = np.abs(rgb - np.median(rgb[away >= away.max() / 3], axis=0)).sum(axis=1)
    worth = differs * np.exp(-0.5 * (away / (SAMPLE_PX / 4)) ** 2)
    best = np.median(rgb[np.argsort(worth)[-max(5, len(worth) // 50) :]], axis=0)
    red, green, blue = (round(float(level)) for level in best)
    return red, green, blue


def _cut(shown: Image.Image, x: float, y: float, reach_px: int) -> tuple[Image.Image, float, float]:
    """Cut out what lies around a place, and say where the place is in the cut."""
    x, y = min(max(x, 0.5), shown.width - 0.5), min(max(y, 0.5), shown.height - 0.5)
    left, top = max(0, int(x) - reach_px), max(0, int(y) - reach_px)
    right, bottom = (
        min(shown.width, int(x) + reach_px + 1),
        min(shown.height, int(y) + reach_px + 1),
    )
    return shown.crop((left, top, right, bottom)), x - left, y - top


def settle(
    image_bytes: bytes, colours: MarkColours, place_px: Place, px_per_mm: float | None
) -> MarkSeen | None:
    """Return the mark near a place."""
    shown, size_px, _ = upright_colour(image_bytes, LEAST_PX, MOST_PX)
    scale = shown.width / size_px[0]
    per_mm = px_per_mm * scale if px_per_mm else max(shown.size) / USUAL_WIDTH_MM
    x_px, y_px = (along * scale for along in place_px)
    if not (0 <= x_px < shown.width and 0 <= y_px < shown.height):
        return None
    near, x, y = _cut(shown, x_px, y_px, int(14 * per_mm) + 8)
    finder = _finder(near, colours, (RADII_MM[0] * per_mm, RADII_MM[1] * per_mm))
    mark = finder.settled(x, y, TAP_MM * per_mm)
    if mark is None:
        return None
    x_px, y_px = mark.x_px + x_px - x, mark.y_px + y_px - y
    return _mark(replace(mark, x_px=x_px, y_px=y_px), 1 / scale)
