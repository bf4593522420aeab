"""The tilt that asks for the least change of teeth at the guide planes, within a polygon of tilts.

Each guide plane asks for weight·(height·(angle + t))², t being the turn of its wall; a small pull
toward the level cast breaks ties. In the plane of tilts the sum is convex for any tilt a table
takes; Newton's method meets its least, each step a quadratic solved exactly on the polygon.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import asin, cos, fsum, hypot, radians, sin, tan
from typing import NamedTuple

from bench.core.polygon import Polygon, holds
from bench.core.refusal import Refusal
from bench.core.strips import Place
from bench.core.tilt import LEVEL, Tilt
from bench.core.undercut import turn_deg

LEAST_TIE_MM2 = 1e-6
_ROUNDS = 30
_SETTLED = 1e-13


class BadPlane(Refusal):
    """A guide plane that cannot be weighed."""

    code = "bad_plane"
    what = "Guide plane {name} has {angle_deg} degrees, {height_mm} mm and weight {weight}."
    why = "The angle must lie within 80 degrees, height and weight be more than nothing."
    what_to_do = "Give the angle of the triangle of light and the height of the plane in mm."


@dataclass(frozen=True)
class GuidePlane:
    """A guide plane as read: azimuth and angle in degrees, height in mm.

    `angle_deg` > 0 where the wall leans in below, at the setting `read_at`; `weight` says how much
    its change counts beside the others.
    """

    name: str
    azimuth_deg: float
    angle_deg: float
    height_mm: float
    weight: float = 1.0
    read_at: Tilt = LEVEL


class Pull(NamedTuple):
    """One square to be kept small: weight·(angle + asin(x·place x + y·place y))², radians."""

    x: float
    y: float
    angle: float
    weight: float


class Bowl(NamedTuple):
    """The slope and curvature of a sum of squares at a place."""

    slope_x: float
    slope_y: float
    xx: float
    xy: float
    yy: float


def pulls_of(planes: Iterable[GuidePlane], tie_weight_mm2: float) -> tuple[Pull, ...]:
    """Return what guide planes ask for, and the pull toward level (mm² per radian²).

    Raises BadPlane. A tie weight of nothing is taken as a millionth: ties must be broken.
    """
    tie = max(tie_weight_mm2, LEAST_TIE_MM2)
    level = (Pull(1.0, 0.0, 0.0, tie), Pull(0.0, 1.0, 0.0, tie))
    return (*(_pull_of(plane) for plane in planes), *level)


def cost_mm2(pulls: Iterable[Pull], place: Place) -> float:
    """Return the sum of squares at a tilt, in mm²."""
    return fsum(
        pull.weight * (pull.angle + asin(pull.x * place.x + pull.y * place.y)) ** 2
        for pull in pulls
    )


def angle_at_deg(plane: GuidePlane, tilt: Tilt) -> float:
    """Return the angle of a guide plane to the path at a tilt, in degrees."""
    return plane.angle_deg + turn_deg(plane.azimuth_deg, tilt, plane.read_at)


def slope_at(pulls: Sequence[Pull], place: Place) -> tuple[float, float]:
    """Return which way, and how fast, the sum of squares grows."""
    bowl = _bowl(pulls, place)
    return bowl.slope_x, bowl.slope_y


def least_change(polygon: Polygon, pulls: Sequence[Pull]) -> Place:
    """Return the place in a polygon of tilts (one corner or more) with the least sum of squares."""
    place = Place(0.0, 0.0)
    for _ in range(_ROUNDS):
        before, place = place, _least_of(polygon, _bowl(pulls, place), place)
        if hypot(place.x - before.x, place.y - before.y) < _SETTLED:
            break
    return place


def _pull_of(plane: GuidePlane) -> Pull:
    sound = abs(plane.angle_deg) <= 80 and plane.height_mm > 0 and plane.weight > 0
    if not sound:
        raise BadPlane(
            name=plane.name, angle_deg=plane.angle_deg,
            height_mm=plane.height_mm, weight=plane.weight,
        )  # fmt: skip
    azimuth = radians(plane.azimuth_deg)
    return Pull(
        sin(azimuth),
        cos(azimuth),
        radians(angle_at_deg(plane, LEVEL)),
        plane.weight * plane.height_mm**2,
    )


def _bowl(pulls: Sequence[Pull], place: Place) -> Bowl:
    slope_x = slope_y = xx = xy = yy = 0.0
    for x, y, angle, weight in pulls:
        turn = asin(x * place.x + y * place.y)
        rate = 1 / cos(turn)
        slope = weight * (angle + turn) * rate
        # Never flat, even for a wall that leans so far that its square curves the other way.
        curve = weight * rate * rate * max(0.5, 1 + (angle + turn) * tan(turn))
        slope_x, slope_y = slope_x + slope * x, slope_y + slope * y
        xx, xy, yy = xx + curve * x * x, xy + curve * x * y, yy + curve * y * y
    return Bowl(2 * slope_x, 2 * slope_y, 2 * xx, 2 * xy, 2 * yy)


def _least_of(polygon: Polygon, bowl: Bowl, at: Place) -> Place:
    whole = bowl.xx * bowl.yy - bowl.xy**2
    x = at.x - (bowl.yy * bowl.slope_x - bowl.xy * bowl.slope_y) / whole
    y = at.y - (bowl.xx * bowl.slope_y - bowl.xy * bowl.slope_x) / whole
    if holds(polygon, x, y):
        return Place(x, y)
    return min(_least_on_edges(polygon, bowl, x, y))[1]


def _least_on_edges(
    polygon: Polygon, bowl: Bowl, x: float, y: float
) -> Iterator[tuple[float, Place]]:
    """Yield the best place of each edge, with how far above the least, at (x, y), it lies."""
    _, _, xx, xy, yy = bowl
    for here, then in zip(polygon, (*polygon[1:], polygon[0]), strict=True):
        off_x, off_y, along_x, along_y = here.x - x, here.y - y, then.x - here.x, then.y - here.y
        bent_x, bent_y = xx * along_x + xy * along_y, xy * along_x + yy * along_y
        bend = along_x * bent_x + along_y * bent_y
        share = -(off_x * bent_x + off_y * bent_y) / bend if bend > 0 else 0.0
        share = min(1.0, max(0.0, share))
        off_x, off_y = off_x + share * along_x, off_y + share * along_y
        above = xx * off_x**2 + 2 * xy * off_x * off_y + yy * off_y**2
        yield above, Place(x + off_x, y + off_y)
