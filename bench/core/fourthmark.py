"""A fourth tripod mark: where it lies by its distances from the three, and how they fit together.

Source: plane geometry; the differences of three circles are two straight lines.
"""

from __future__ import annotations

from math import dist

from bench.core.arch import Vector
from bench.core.entries.survey import FourthMarkMade
from bench.core.refusal import Refusal
from bench.core.tripod import Triangle

# A caliper reads within some tenths; more says that a distance was misread.
MOST_MISFIT_MM = 1.5


class NoFourthPlace(Refusal):
    """Three distances that meet nowhere near one place."""

    code = "fourth_does_not_fit"
    what = "The distances of D from A, B and C miss each other by {misfit_mm} mm."
    why = "In one plane the three meet in one place, within what a caliper reads."
    what_to_do = "Measure from the middle of D to the middle of A, of B and of C again."


def fourth_place(triangle: Triangle, fourth: FourthMarkMade) -> Vector:
    """Return where the fourth mark lies, in mm in the frame of the triangle; raise NoFourthPlace."""
    (ax, ay), (bx, by), (cx, cy) = triangle.marks_mm
    ad, bd, cd = fourth.d_ad_mm, fourth.d_bd_mm, fourth.d_cd_mm
    right_b = (ad**2 - bd**2 + bx**2 + by**2 - ax**2 - ay**2) / 2
    right_c = (ad**2 - cd**2 + cx**2 + cy**2 - ax**2 - ay**2) / 2
    whole = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    x = (right_b * (cy - ay) - right_c * (by - ay)) / whole
    y = ((bx - ax) * right_c - (cx - ax) * right_b) / whole
    pairs = zip(triangle.marks_mm, (ad, bd, cd), strict=True)
    misfit_mm = max(abs(dist((x, y), mark) - read_mm) for mark, read_mm in pairs)
    if misfit_mm > MOST_MISFIT_MM:
        raise NoFourthPlace(misfit_mm=round(misfit_mm, 1))
    return x, y
