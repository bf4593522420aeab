"""Convex polygons in the plane, cut by straight sides, each edge keeping the name of its maker.

Corners run anticlockwise. A polygon may shrink to a line (two corners), to a point (one) or to
nothing (none). Source: plane geometry.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot
from typing import Literal, NamedTuple

# Far below what any table shows (1e-10 is 6e-9 degrees), far above rounding.
TOUCHING = 1e-10
SAME_PLACE = 1e-12


class MadeBy(NamedTuple):
    """What makes an edge: a site with its least or most depth, or the limit of an edge down."""

    name: str
    bound: Literal["least", "most", "limit"]


class CutSide(NamedTuple):
    """All places where x·(place x) + y·(place y) is `least` or more."""

    x: float
    y: float
    least: float
    made_by: MadeBy


class Corner(NamedTuple):
    """A corner, and what makes the edge from it to the next."""

    x: float
    y: float
    made_by: MadeBy


Polygon = tuple[Corner, ...]


def square(reach: float) -> Polygon:
    """Return the square from -reach to +reach; x is the front lowered, y the right of view."""
    limits = ("left", "front", "right", "back")
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return tuple(
        Corner(x * reach, y * reach, MadeBy(edge, "limit"))
        for (x, y), edge in zip(signs, limits, strict=True)
    )


def clipped(polygon: Polygon, sides: Iterable[CutSide]) -> Polygon:
    """Return what is left of a polygon within all sides; nothing left gives no corners."""
    for side in sides:
        polygon = _cut(polygon, side)
        if not polygon:
            break
    return polygon


def holds(polygon: Polygon, x: float, y: float) -> bool:
    """Say whether a place lies in a polygon of three corners or more."""
    before = polygon[-1]
    for corner in polygon:
        along_x, along_y = corner.x - before.x, corner.y - before.y
        inside = along_x * (y - before.y) - along_y * (x - before.x)
        if inside < -SAME_PLACE * hypot(along_x, along_y):
            return False
        before = corner
    return len(polygon) > 2


def _cut(polygon: Polygon, side: CutSide) -> Polygon:
    x, y, least, made_by = side
    beyond = [x * corner.x + y * corner.y - least for corner in polygon]
    if min(beyond) >= 0:
        return polygon
    if max(beyond) < -TOUCHING:
        return ()
    left = []
    for n, here in enumerate(polygon):
        after = (n + 1) % len(polygon)
        stays, next_stays = beyond[n] >= -TOUCHING, beyond[after] >= -TOUCHING
        if stays:
            left.append(here)
        if stays != next_stays:
            share = min(1.0, max(0.0, beyond[n] / (beyond[n] - beyond[after])))
            place = _between(here, polygon[after], share)
            left.append(Corner(*place, made_by if stays else here.made_by))
    return _without_repeats(left)


def _between(here: Corner, there: Corner, share: float) -> tuple[float, float]:
    return here.x + share * (there.x - here.x), here.y + share * (there.y - here.y)


def _without_repeats(corners: list[Corner]) -> Polygon:
    left = [
        here
        for here, then in zip(corners, (*corners[1:], corners[0]), strict=True)
        if hypot(then.x - here.x, then.y - here.y) > SAME_PLACE
    ]
    return tuple(left or corners[:1])
