"""The mark of Tiltbook as a picture of any size: a cast tilted on its table."""

from __future__ import annotations

import io
from functools import cache
from math import cos, radians, sin

from PIL import Image, ImageDraw

GROUND, STEEL, STONE, GREEN = "#1f2a33", "#cfd3d2", "#f2ede2", "#8fcdb0"
TILT_DEG = -13.0
_SIDE = 64
_FINER = 4
_OUTLINE = ((15, 32.5), (15, 24.5), (18.5, 21), (20.5, 21), (23.7, 18.5), (27.7, 14), (31.7, 18.5),
             (33.2, 20.5), (34.7, 18.5), (38.7, 14), (42.7, 18.5), (45.7, 21), (46.5, 21), (50, 24.5),
             (50, 32.5))  # fmt: skip


@cache
def icon_png(side_px: int, *, whole: bool = False) -> bytes:
    """Return the mark as a PNG; `whole` fills the square, with room for whatever shape it is cut to."""
    scale = side_px * _FINER / _SIDE
    canvas = Image.new(
        "RGBA", (side_px * _FINER, side_px * _FINER), GROUND if whole else (0, 0, 0, 0)
    )
    pen = ImageDraw.Draw(canvas)
    if not whole:
        pen.rounded_rectangle((0, 0, *(side - 1 for side in canvas.size)), 13 * scale, fill=GROUND)
    _draw(pen, scale, 0.76 if whole else 1.0)
    out = io.BytesIO()
    canvas.resize((side_px, side_px), Image.Resampling.LANCZOS).save(out, "PNG", optimize=True)
    return out.getvalue()


def _draw(pen: ImageDraw.ImageDraw, scale: float, part: float) -> None:
    def at(x: float, y: float) -> tuple[float, float]:
        return ((x - 32) * part + 32) * scale, ((y - 32) * part + 32) * scale

    def line(ends: list[tuple[float, float]], width: float, colour: str) -> None:
        pen.line([at(*end) for end in ends], colour, round(width * scale * part))
        for end in ends:
            _dot(pen, at(*end), width / 2 * scale * part, colour)

    line([(32, 44), (32, 52)], 5, STEEL)
    line([(20, 53), (44, 53)], 5, STEEL)
    _dot(pen, at(32, 43), 4.5 * scale * part, STEEL)
    line([_turned(13.5, 36.75), _turned(50.5, 36.75)], 5.5, STEEL)
    pen.polygon([at(*_turned(*point)) for point in _OUTLINE], STONE)
    line([(9, 12), (9, 30)], 3.5, GREEN)


def _turned(x: float, y: float) -> tuple[float, float]:
    """Return a point turned about the joint of the table at (32, 40)."""
    turn = radians(TILT_DEG)
    right, down = x - 32, y - 40
    return 32 + right * cos(turn) - down * sin(turn), 40 + right * sin(turn) + down * cos(turn)


def _dot(pen: ImageDraw.ImageDraw, at: tuple[float, float], radius: float, colour: str) -> None:
    pen.ellipse((at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius), colour)
