"""What would let three marks hold a tilt more finely: the weak way named, and one mark moved outward."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees, hypot
from typing import Literal

from bench.core.arch import Vector
from bench.core.tripod import Triangle, centred, how_finely_held

Letter = Literal["A", "B", "C"]
LETTERS: tuple[Letter, Letter, Letter] = ("A", "B", "C")
MOST_MM = 40


@dataclass(frozen=True, slots=True)
class WeakWay:
    """About which side of the triangle the cast rocks most easily, and the mark that faces this side."""

    side: tuple[Letter, Letter]
    facing: Letter


@dataclass(frozen=True, slots=True)
class Wider:
    """A mark moved straight away from the side it faces, by whole mm, and the SD this leaves in degrees."""

    mark: Letter
    by_mm: int
    worst_deg: float


def weak_way(triangle: Triangle, reading_sd_mm: float) -> WeakWay:
    """Return the side about which the tilt is held worst: the one most nearly square to the weak direction."""
    weak_deg = how_finely_held(triangle.marks_mm, reading_sd_mm).weak_direction_deg
    facing = min(range(3), key=lambda n: _from_square_deg(triangle, n, weak_deg))
    first, second = (LETTERS[n] for n in range(3) if n != facing)
    return WeakWay((first, second), LETTERS[facing])


def wider(triangle: Triangle, reading_sd_mm: float, limit_deg: float) -> Wider | None:
    """Return the least whole mm by which the mark that faces the weak side brings both axes inside a limit.

    None where the limit (degrees, SD) is held already, and where 40 mm would not do.
    """
    if how_finely_held(triangle.marks_mm, reading_sd_mm).worst_deg <= limit_deg:
        return None
    facing = LETTERS.index(weak_way(triangle, reading_sd_mm).facing)
    for by_mm in range(1, MOST_MM + 1):
        worst_deg = how_finely_held(_moved(triangle, facing, by_mm), reading_sd_mm).worst_deg
        if worst_deg <= limit_deg:
            return Wider(LETTERS[facing], by_mm, worst_deg)
    return None


def _from_square_deg(triangle: Triangle, facing: int, weak_deg: float) -> float:
    along = _along(triangle, facing)
    between = (degrees(atan2(along[1], along[0])) - weak_deg) % 180
    return abs(between - 90)


def _along(triangle: Triangle, facing: int) -> Vector:
    (x, y), (to_x, to_y) = (triangle.marks_mm[n] for n in range(3) if n != facing)
    return to_x - x, to_y - y


def _moved(triangle: Triangle, facing: int, by_mm: float) -> tuple[Vector, ...]:
    along_x, along_y = _along(triangle, facing)
    length = hypot(along_x, along_y)
    out_x, out_y = along_y / length, -along_x / length
    middle = centred(triangle.marks_mm)[facing]
    turn = 1 if middle[0] * out_x + middle[1] * out_y > 0 else -1
    marks = list(triangle.marks_mm)
    x, y = marks[facing]
    marks[facing] = (x + turn * by_mm * out_x, y + turn * by_mm * out_y)
    return tuple(marks)
