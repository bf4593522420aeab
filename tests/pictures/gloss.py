"""Spots of gloss on an invented cast: light of the lamp itself, which shows none of what lies under it."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from tests.pictures.pinhole import Camera

LARGEST_MM, REACH_MM = 3.0, 30.0


def gloss(
    chance: np.random.Generator, camera: Camera, middle_mm: np.ndarray, spots: int
) -> np.ndarray:
    """Return the light (0 to 1) of soft-edged long spots strewn over a cast around a place in space."""
    lit = Image.new("L", camera.size_px, 0)
    for _ in range(spots):
        spot = _spot(chance, camera, middle_mm)
        lit = ImageChops.lighter(lit, spot)
    return np.asarray(lit, np.float32) / 255


def _spot(chance: np.random.Generator, camera: Camera, middle_mm: np.ndarray) -> Image.Image:
    away, turn = REACH_MM * np.sqrt(chance.uniform()), chance.uniform(0, 2 * np.pi)
    long_mm = chance.uniform(0.5, LARGEST_MM)
    wide_mm = long_mm * chance.uniform(0.2, 0.7)
    around, lean = np.linspace(0, 2 * np.pi, 40, endpoint=False), chance.uniform(0, np.pi)
    along, across = long_mm / 2 * np.cos(around), wide_mm / 2 * np.sin(around)
    edge = np.column_stack(
        [
            away * np.cos(turn) + along * np.cos(lean) - across * np.sin(lean),
            away * np.sin(turn) + along * np.sin(lean) + across * np.cos(lean),
            np.zeros(40),
        ]
    )
    drawn = Image.new("L", camera.size_px, 0)
    places = [tuple(place) for place in camera.seen(middle_mm + edge)]
    ImageDraw.Draw(drawn).polygon(places, fill=int(255 * chance.uniform(0.6, 1.0)))
    per_mm = camera.size_px[0] / 350
    return drawn.filter(ImageFilter.GaussianBlur(chance.uniform(0.1, 0.5) * per_mm))
