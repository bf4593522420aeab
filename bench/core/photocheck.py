"""What a photo of three tripod marks says of the caliper's distances, and of the marks seen later.

The caliper stays the record; the photo tells a slip. What it cannot see: less than a millimetre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations
from math import atan2, cos, degrees, dist, fsum, sin
from typing import Literal

from bench.core.arch import Vector
from bench.core.photoplane import Three
from bench.core.tripod import Sense, turning_sense

Verdict = Literal["agree", "look_again", "swapped", "mirrored", "other_triangle"]
Why = Literal[
    "", "uneven", "one_side", "one_mark", "all_longer", "all_shorter", "sides", "names", "either"
]  # fmt: skip
SIDES = ("AB", "AC", "BC")
# The mark at neither end of each side.
_ACROSS = ("C", "B", "A")

SIDE_MM = 1.5
SLIP_WARNS_MM, SLIP_MM = 0.6, 1.2
LIKE = 0.030
# What distances of photos taken with everyday care err by, all of it common practice, no source: a
# caliper by 0.1 mm and a mark's middle by 0.03 mm (SD); every side alike by the label's print, 0.8 %,
# and the marks' height, 0.4 %; sides of other directions otherwise where the label leans by 3 degrees
# and the camera by up to 10.
_SIDE_SD_MM, _SCALE_SD, _STRAIN_SD = 0.11, 0.009, 0.004
_AS_GIVEN = (0, 1, 2)
_OTHER_MM = 2 * SIDE_MM


@dataclass(frozen=True)
class Check:
    """Three distances of a photo beside the caliper's (AB, AC, BC), in mm, and what follows.

    `off_mm` is photo less caliper. `uneven` is free of scale: the greatest of the three ratios
    photo : caliper over the least, less one. `odd_side` is the one that fits the other two least, and
    `slip_mm` by how much it would have to be shorter (below zero: longer) for all three to fit.
    `order` says which caliper side fits each place when sides are swapped. `why` tells apart what
    to look for: the sides were typed in each other's place, or the marks named so, or either.
    """

    verdict: Verdict
    why: Why
    caliper_mm: Three
    photo_mm: Three
    off_mm: Three
    uneven: float
    odd_side: str
    slip_mm: float
    order: tuple[str, str, str] = ("AB", "AC", "BC")

    @property
    def odd_mark(self) -> str:
        """The mark that neither end of the best fitting side is: the one that lies elsewhere, if one does."""
        return _ACROSS[min(range(3), key=lambda k: abs(self.off_mm[k]))]

    @property
    def fits(self) -> bool:
        """Whether the photo bears the caliper out."""
        return self.verdict == "agree"


@dataclass(frozen=True)
class Moved:
    """Marks seen later laid over those seen first: how far each lies from its place, in mm.

    `turned_deg` is by how much the later ones were turned (from X toward Y) before they fit best.
    `mirrored` says that they go round the other way.
    """

    by_mm: tuple[float, ...]
    turned_deg: float
    mirrored: bool

    @property
    def most_mm(self) -> float:
        """The mark that lies farthest from its place."""
        return max(self.by_mm)


def unevenness(caliper_mm: Sequence[float], photo_mm: Sequence[float]) -> float:
    """Return the greatest ratio photo : caliper over the least, less one; 0 for like triangles."""
    ratios = _ratios(caliper_mm, photo_mm)
    return max(ratios) / min(ratios) - 1


def slip(caliper_mm: Sequence[float], photo_mm: Sequence[float]) -> tuple[str, float]:
    """Return which one side is most likely wrong if one is, and by how many mm it is too long.

    Source: of three jointly normal errors, what one is off beyond what the other two let expect
    (conditional mean); the likelihood ratio of a slip there is greatest where this, squared, is
    greatest over its variance. The errors are those of everyday care; what a common scale explains
    counts little.
    """
    off = [p - c for c, p in zip(caliper_mm, photo_mm, strict=True)]
    errors = _errors(caliper_mm)
    beyond = [_beyond(side, off, errors) for side in _AS_GIVEN]
    side = max(_AS_GIVEN, key=lambda k: beyond[k][0] ** 2 / beyond[k][1])
    return SIDES[side], -beyond[side][0]


def _errors(caliper_mm: Sequence[float]) -> list[list[float]]:
    """Return the covariance of photo less caliper, in mm squared."""
    return [
        [
            one * other * (_SCALE_SD**2 + (_STRAIN_SD * _cosine(i, j, caliper_mm)) ** 2)
            + (_SIDE_SD_MM**2 if i == j else 0.0)
            for j, other in enumerate(caliper_mm)
        ]
        for i, one in enumerate(caliper_mm)
    ]


def _cosine(i: int, j: int, sides: Sequence[float]) -> float:
    """Return the cosine between two sides of a triangle; sides that make none count as one line."""
    if i == j:
        return 1.0
    a, b, across = sides[i], sides[j], sides[3 - i - j]
    return max(-1.0, min(1.0, (a * a + b * b - across * across) / (2 * a * b)))


def _beyond(
    side: int, off: Sequence[float], errors: Sequence[Sequence[float]]
) -> tuple[float, float]:
    """Return how far a side is off beyond what the other two let expect, and the variance of that."""
    a, b = (k for k in _AS_GIVEN if k != side)
    with_a, with_b, shared = errors[side][a], errors[side][b], errors[a][b]
    area = errors[a][a] * errors[b][b] - shared**2
    by_a = (with_a * errors[b][b] - with_b * shared) / area
    by_b = (with_b * errors[a][a] - with_a * shared) / area
    expected = by_a * off[a] + by_b * off[b]
    return off[side] - expected, errors[side][side] - by_a * with_a - by_b * with_b


def checked(caliper_mm: Three, caliper_sense: Sense, photo_mm: Three, photo_sense: Sense) -> Check:
    """Return what the photo says of the caliper's distances and turning sense.

    A side more than 1.5 mm off or a slip of one side beyond 1.2 mm says no; beyond 0.6 mm it agrees
    and says which side to look at. All distances are more than nothing.
    """
    same_sense = caliper_sense == photo_sense
    if _fits(caliper_mm, photo_mm):
        uneven: Why = "uneven" if abs(slip(caliper_mm, photo_mm)[1]) > SLIP_WARNS_MM else ""
        return _check("agree" if same_sense else "mirrored", uneven, caliper_mm, photo_mm)
    order = _best_order(caliper_mm, photo_mm)
    swapped = tuple(caliper_mm[place] for place in order)
    if order != _AS_GIVEN and _fits(swapped, photo_mm):
        why = _why_swapped(order, same_sense)
        return _check("swapped", why, caliper_mm, photo_mm, order)
    return _no_order_fits(caliper_mm, photo_mm, swapped)


def compared(first_mm: Sequence[Vector], later_mm: Sequence[Vector]) -> Moved:
    """Return how far each mark seen later is from where it was first, after the best rigid fit.

    Both in mm, the same marks in the same order, three or more. Source: least squares in the
    plane, whose turn is the angle of the summed cross and dot products about the centroids.
    """
    one, other = _about_centre(first_mm), _about_centre(later_mm)
    pairs = list(zip(one, other, strict=True))
    along = fsum(a[0] * b[0] + a[1] * b[1] for a, b in pairs)
    across = fsum(a[0] * b[1] - a[1] * b[0] for a, b in pairs)
    turn = atan2(across, along)
    laid = [(x * cos(turn) + y * sin(turn), y * cos(turn) - x * sin(turn)) for x, y in other]
    return Moved(
        by_mm=tuple(dist(a, b) for a, b in zip(one, laid, strict=True)),
        turned_deg=degrees(turn),
        mirrored=turning_sense(*first_mm[:3]) != turning_sense(*later_mm[:3]),
    )


def _fits(caliper_mm: Sequence[float], photo_mm: Sequence[float]) -> bool:
    slipped_mm = abs(slip(caliper_mm, photo_mm)[1])
    return _most_off(caliper_mm, photo_mm) <= SIDE_MM and slipped_mm <= SLIP_MM


def _most_off(caliper_mm: Sequence[float], photo_mm: Sequence[float]) -> float:
    return max(abs(p - c) for c, p in zip(caliper_mm, photo_mm, strict=True))


def _best_order(caliper_mm: Three, photo_mm: Three) -> tuple[int, int, int]:
    orders: list[tuple[int, int, int]] = [(a, b, c) for a, b, c in permutations(_AS_GIVEN)]
    return min(orders, key=lambda order: unevenness([caliper_mm[k] for k in order], photo_mm))


def _why_swapped(order: tuple[int, int, int], same_sense: bool) -> Why:
    """Two sides exchanged are two marks exchanged, which alone turns the sense; a ring of three does not."""
    exchanged = sum(k == place for k, place in enumerate(order)) == 1
    if not exchanged:
        return "either"
    return "sides" if same_sense else "names"


def _no_order_fits(caliper_mm: Three, photo_mm: Three, ordered: Sequence[float]) -> Check:
    far = sum(abs(p - c) > _OTHER_MM for c, p in zip(ordered, photo_mm, strict=True))
    if unevenness(caliper_mm, photo_mm) <= LIKE:
        longer: Why = "all_longer" if sum(photo_mm) > sum(caliper_mm) else "all_shorter"
        return _check("look_again", longer, caliper_mm, photo_mm)
    if far >= 2:
        one_fits = min(abs(p - c) for c, p in zip(caliper_mm, photo_mm, strict=True)) <= SIDE_MM
        return _check("other_triangle", "one_mark" if one_fits else "", caliper_mm, photo_mm)
    return _check("look_again", "one_side", caliper_mm, photo_mm)


def _check(
    verdict: Verdict, why: Why, caliper_mm: Three, photo_mm: Three,
    order: tuple[int, int, int] = _AS_GIVEN,
) -> Check:  # fmt: skip
    a, b, c = (p - k for k, p in zip(caliper_mm, photo_mm, strict=True))
    one, two, three = (SIDES[k] for k in order)
    return Check(
        verdict, why, caliper_mm, photo_mm, (a, b, c), unevenness(caliper_mm, photo_mm),
        *slip(caliper_mm, photo_mm), (one, two, three),
    )  # fmt: skip


def _ratios(caliper_mm: Sequence[float], photo_mm: Sequence[float]) -> list[float]:
    return [p / c for c, p in zip(caliper_mm, photo_mm, strict=True)]


def _about_centre(marks: Sequence[Vector]) -> list[Vector]:
    x_mid, y_mid = (fsum(mark[k] for mark in marks) / len(marks) for k in (0, 1))
    return [(x - x_mid, y - y_mid) for x, y in marks]
