"""Invented photos of three marks with everyday care: what camera, label and hand do to distances.

A camera 250 to 400 mm up within 10 degrees of straight down; the label within 2 mm of the marks'
height, off their level by 3 degrees (SD), its print 0.8 % off in size (SD); marks placed to 0.03 mm;
a caliper of 0.1 mm (SD). Figures chosen so that distances err by 0.25 mm at the median and 0.77 mm at
the 95th percentile: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, dist, pi, radians, sin, tan
from random import Random

from bench.core.arch import Vector
from bench.core.photocheck import Check, checked
from bench.core.photoplane import Three
from bench.core.tripod import Sense, turning_sense


@dataclass(frozen=True)
class InventedPhoto:
    """Distances of one invented photo in mm: as they are, by the caliper, by the photo."""

    true_mm: Three
    caliper_mm: Three
    photo_mm: Three
    sense: Sense
    place: int
    sign: float


def invented(count: int, *, seed: int) -> list[InventedPhoto]:
    chance = Random(seed)
    return [_one(chance) for _ in range(count)]


def wrong_by(photo: InventedPhoto, by_mm: float) -> Check:
    """Return the check with one caliper distance wrong by so much."""
    sides = list(photo.caliper_mm)
    sides[photo.place] += photo.sign * by_mm
    wrong = replace(photo, caliper_mm=(sides[0], sides[1], sides[2]))
    return checked(wrong.caliper_mm, wrong.sense, wrong.photo_mm, wrong.sense)


def _one(chance: Random) -> InventedPhoto:
    marks = _marks(chance)
    true = _distances(marks)
    a, b, c = (side + chance.gauss(0, 0.1) for side in true)
    photo = _distances(_seen(marks, chance))
    place, sign = chance.randrange(3), chance.choice((-1.0, 1.0))
    return InventedPhoto(true, (a, b, c), photo, turning_sense(*marks), place, sign)


def _marks(chance: Random) -> tuple[Vector, Vector, Vector]:
    width, length = chance.uniform(30, 50), chance.uniform(25, 40)
    at = ((0.0, length * 2 / 3), (width / 2, -length / 3), (-width / 2, -length / 3))
    a, b, c = ((x + chance.gauss(0, 2.5), y + chance.gauss(0, 2.5)) for x, y in at)
    return a, b, c


def _seen(marks: tuple[Vector, Vector, Vector], chance: Random) -> tuple[Vector, Vector, Vector]:
    up_mm, slant = chance.uniform(250, 400), tan(radians(chance.uniform(0, 10)))
    toward, printed = chance.uniform(0, 2 * pi), 1 + chance.gauss(0, 0.008)
    over = (up_mm * slant * cos(toward), up_mm * slant * sin(toward))
    dh_mm = chance.uniform(-2, 2)
    slope = [radians(chance.gauss(0, 3)) for _ in range(2)]

    def one(mark: Vector) -> Vector:
        higher = dh_mm + mark[0] * slope[0] + mark[1] * slope[1]
        by = printed * up_mm / (up_mm - higher)
        x, y = (o + (m - o) * by + chance.gauss(0, 0.03) for m, o in zip(mark, over, strict=True))
        return x, y

    a, b, c = map(one, marks)
    return a, b, c


def _distances(marks: tuple[Vector, Vector, Vector]) -> Three:
    a, b, c = marks
    return dist(a, b), dist(a, c), dist(b, c)
