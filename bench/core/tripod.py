"""The triangle of three tripod marks: its shape, and how finely it holds a tilt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import atan2, cos, degrees, dist, exp, fsum, hypot, isfinite, pi, radians, sin, sqrt
from typing import Literal

from bench.core.arch import Vector
from bench.core.refusal import Refusal

Sense = Literal["clockwise", "anticlockwise"]
Marks = Sequence[Vector]

LEAST_ALTITUDE_MM = 5.0
_DIRECTIONS = 90


class TripodRefused(Refusal):
    """Marks that hold no tilt."""


class NoTriangle(TripodRefused):
    """Three distances that no three marks can have."""

    code = "no_triangle"
    what = "The distances {d_ab_mm}, {d_ac_mm} and {d_bc_mm} mm make no triangle."
    why = "Each must be more than nothing and the longest less than the other two together."
    what_to_do = "Measure all three again, from the middle of one mark to the middle of the next."


class CollinearMarks(TripodRefused):
    """Marks so nearly in one line that the cast can turn about it."""

    code = "collinear_marks"
    what = "The marks lie almost in one line: the triangle is only {altitude_mm} mm high."
    why = "Marks in one line hold no tilt about that line; {least_mm} mm is the least."
    what_to_do = "Move the middle mark well away from the line through the other two."


class TooFewMarks(TripodRefused):
    """Fewer than three marks."""

    code = "too_few_marks"
    what = "{count} marks were given."
    why = "A tilt is held by three."
    what_to_do = "Give three marks or more."


@dataclass(frozen=True)
class Triangle:
    """Three marks A, B, C seen from above: places in mm (A at zero, B along +X), sense, height."""

    marks_mm: tuple[Vector, Vector, Vector]
    sense: Sense
    least_altitude_mm: float


@dataclass(frozen=True)
class Held:
    """How finely marks hold a tilt: SD in degrees on the worst and the best axis.

    `weak_direction_deg` is the direction (from +X toward +Y) in which the tilt is held worst;
    `total95_deg` is the total tilt that 95 of 100 re-mounts stay below.
    """

    worst_deg: float
    best_deg: float
    weak_direction_deg: float

    @property
    def total95_deg(self) -> float:
        """The total tilt in degrees; worked out when asked for, as it takes a millisecond."""
        return total95_deg(self.worst_deg, self.best_deg)


def triangle_from(
    d_ab_mm: float, d_ac_mm: float, d_bc_mm: float, sense: Sense = "anticlockwise"
) -> Triangle:
    """Return the triangle with these distances (mm) and turning sense seen from above.

    Raises NoTriangle, or CollinearMarks when its least altitude is under 5 mm. Source: law of
    cosines.
    """
    sides = (d_ab_mm, d_ac_mm, d_bc_mm)
    if not all(isfinite(side) and side > 0 for side in sides) or max(sides) * 2 > fsum(sides):
        raise NoTriangle(d_ab_mm=d_ab_mm, d_ac_mm=d_ac_mm, d_bc_mm=d_bc_mm)
    x = (d_ab_mm**2 + d_ac_mm**2 - d_bc_mm**2) / (2 * d_ab_mm)
    y = sqrt(max(0.0, d_ac_mm**2 - x**2))
    marks = ((0.0, 0.0), (d_ab_mm, 0.0), (x, y if sense == "anticlockwise" else -y))
    return Triangle(marks, sense, require_spread(marks))


def least_altitude_mm(a: Vector, b: Vector, c: Vector) -> float:
    """Return the least of a triangle's three altitudes, in mm; 0 for marks in one line."""
    longest = max(dist(a, b), dist(a, c), dist(b, c))
    return abs(_twice_area(a, b, c)) / longest if longest else 0.0


def turning_sense(a: Vector, b: Vector, c: Vector) -> Sense:
    """Return the way round from A by B to C, seen from above (+X right, +Y anterior)."""
    return "anticlockwise" if _twice_area(a, b, c) > 0 else "clockwise"


def require_spread(marks_mm: Marks) -> float:
    """Return the least altitude (mm) of the best three marks.

    Raises TooFewMarks, or CollinearMarks when it is under 5 mm.
    """
    if len(marks_mm) < 3:
        raise TooFewMarks(count=len(marks_mm))
    altitude_mm = max(least_altitude_mm(*three) for three in combinations(marks_mm, 3))
    # A caliper reading of exactly the limit must not fail by rounding.
    if altitude_mm < LEAST_ALTITUDE_MM - 1e-9:
        raise CollinearMarks(altitude_mm=round(altitude_mm, 1), least_mm=LEAST_ALTITUDE_MM)
    return altitude_mm


def in_cast_frame(triangle: Triangle, a_direction_deg: float = 90.0) -> tuple[Vector, ...]:
    """Return the marks (mm) about their middle, turned so that A lies in a direction from it.

    The direction counts from +X (viewer's right) toward +Y (anterior); 90 is straight in front.
    An axis off by e degrees puts 2 sin(e/2) of a tilt into the wrong axis.
    """
    marks = centred(triangle.marks_mm)
    turn = radians(a_direction_deg) - atan2(marks[0][1], marks[0][0])
    c, s = cos(turn), sin(turn)
    return tuple((c * x - s * y, s * x + c * y) for x, y in marks)


def centred(marks_mm: Marks) -> tuple[Vector, ...]:
    """Return the marks (mm) counted from their own middle."""
    middle_x = fsum(x for x, _ in marks_mm) / len(marks_mm)
    middle_y = fsum(y for _, y in marks_mm) / len(marks_mm)
    return tuple((x - middle_x, y - middle_y) for x, y in marks_mm)


def spread_mm2(marks_mm: Marks) -> tuple[float, float, float]:
    """Return the sums of x², xy and y² of the marks about their middle, in mm²."""
    marks = centred(marks_mm)
    return (
        fsum(x * x for x, _ in marks),
        fsum(x * y for x, y in marks),
        fsum(y * y for _, y in marks),
    )


def how_finely_held(marks_mm: Marks, reading_sd_mm: float) -> Held:
    """Return how finely three marks or more hold a tilt, given the SD of one height reading (mm).

    Covariance of the slope: SD² times the inverse of the spread of the marks (least squares).
    Raises TooFewMarks or CollinearMarks.
    """
    require_spread(marks_mm)
    xx, xy, yy = spread_mm2(marks_mm)
    middle, half_gap = (xx + yy) / 2, hypot((xx - yy) / 2, xy)
    strong_direction = atan2(2 * xy, xx - yy) / 2
    worst = degrees(reading_sd_mm / sqrt(middle - half_gap))
    best = degrees(reading_sd_mm / sqrt(middle + half_gap))
    weak_deg = (degrees(strong_direction) + 90) % 180
    return Held(worst, best, weak_deg)


def total95_deg(worst_deg: float, best_deg: float) -> float:
    """Return what the total of two independent normal tilts stays below 95 times of 100.

    From the SDs on the two principal axes, degrees; 2.4477 SD where they are equal. Exact but for
    rounding: the chance is averaged over directions and solved by halving.
    """
    if worst_deg <= 0:
        return 0.0
    low, high = 0.0, 3 * hypot(worst_deg, best_deg)
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (low, middle) if _beyond(middle, worst_deg, best_deg) < 0.05 else (middle, high)
    return high


def _beyond(total_deg: float, worst_deg: float, best_deg: float) -> float:
    step = pi / 2 / _DIRECTIONS
    turns = ((n + 0.5) * step for n in range(_DIRECTIONS))
    squares = ((worst_deg * cos(turn)) ** 2 + (best_deg * sin(turn)) ** 2 for turn in turns)
    return fsum(exp(-(total_deg**2) / (2 * square)) for square in squares) / _DIRECTIONS


def _twice_area(a: Vector, b: Vector, c: Vector) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
