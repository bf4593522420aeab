"""Where three marks hold a tilt least finely: the weak way, named by a side and the mark that faces it."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees
from typing import Literal

from bench.core.arch import Vector
from bench.core.tripod import Triangle, how_finely_held

Letter = Literal["A", "B", "C"]
LETTERS: tuple[Letter, Letter, Letter] = ("A", "B", "C")


@dataclass(frozen=True, slots=True)
class WeakWay:
    """About which side of the triangle the cast rocks most easily, and the mark that faces this side."""

    side: tuple[Letter, Letter]
    facing: Letter


def weak_way(triangle: Triangle, reading_sd_mm: float) -> WeakWay:
    """Return the side about which the tilt is held worst: the one most nearly square to the weak direction."""
    weak_deg = how_finely_held(triangle.marks_mm, reading_sd_mm).weak_direction_deg
    facing = min(range(3), key=lambda n: _from_square_deg(triangle, n, weak_deg))
    first, second = (LETTERS[n] for n in range(3) if n != facing)
    return WeakWay((first, second), LETTERS[facing])


def _from_square_deg(triangle: Triangle, facing: int, weak_deg: float) -> float:
    along = _along(triangle, facing)
    between = (degrees(atan2(along[1], along[0])) - weak_deg) % 180
    return abs(between - 90)


def _along(triangle: Triangle, facing: int) -> Vector:
    (x, y), (to_x, to_y) = (triangle.marks_mm[n] for n in range(3) if n != facing)
    return to_x - x, to_y - y
