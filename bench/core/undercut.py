"""What a tilt does to one undercut and to one guide plane: estimates, to be confirmed at the cast.

An undercut's wall is taken as a circle near the mark, a guide plane as straight. Source: plane
trigonometry; derived.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan, atan2, cos, degrees, fsum, radians, sin, tan

from bench.core.refusal import Refusal
from bench.core.tilt import LEVEL, Tilt, path_of_insertion

GUESSED_DROP_MM = 2.0


class NoUndercutRead(Refusal):
    """A reading from which no wall can be drawn."""

    code = "no_undercut_read"
    what = "Depth {depth_mm} mm and drop {drop_mm} mm give no wall."
    why = "Both must be more than nothing."
    what_to_do = "Read the gauge at the mark and the drop below the survey line, in mm."


class NoGap(Refusal):
    """A triangle of light that cannot be."""

    code = "no_gap"
    what = "A gap of {gap_mm} mm over a height of {height_mm} mm gives no angle."
    why = "The gap cannot be negative and the height must be more than nothing."
    what_to_do = "Measure the gap at its widest and the height of the light, in mm."


@dataclass(frozen=True)
class Wall:
    """The circle taken for a wall: how far it turns in below the survey line, and its radius."""

    theta_deg: float
    radius_mm: float


@dataclass(frozen=True)
class UndercutAfter:
    """What is expected at the same mark after a tilt; `drop_mm` None where nothing is left.

    `drop_is_guessed` says that no drop was recorded and a policy figure stood in for it.
    """

    depth_mm: float
    drop_mm: float | None
    turn_deg: float
    drop_is_guessed: bool


def turn_deg(azimuth_deg: float, to: Tilt, was: Tilt = LEVEL) -> float:
    """Return how far a wall turns between two settings, in degrees.

    Positive when the cast is lowered toward the side the wall faces (`azimuth_deg` from +X toward
    +Y): undercuts there grow. t = -asin(u·p) of the one setting less that of the other.
    """
    return _facing_deg(azimuth_deg, to) - _facing_deg(azimuth_deg, was)


def wall_of(depth_mm: float, drop_mm: float) -> Wall:
    """Return the circle through a mark `depth_mm` in and `drop_mm` below the survey line.

    theta = 2 atan(depth / drop), radius = drop / sin theta. Raises NoUndercutRead.
    """
    if not (depth_mm > 0 and drop_mm > 0):
        raise NoUndercutRead(depth_mm=depth_mm, drop_mm=drop_mm)
    theta = 2 * atan(depth_mm / drop_mm)
    return Wall(degrees(theta), drop_mm / sin(theta))


def undercut_after(
    depth_mm: float,
    drop_mm: float | None,
    wall_turn_deg: float,
    guessed_drop_mm: float = GUESSED_DROP_MM,
) -> UndercutAfter:
    """Return the depth and drop (mm) expected at the same mark after its wall turns.

    Depth becomes radius·(1 - cos(theta + t)), drop radius·sin(theta + t); none at or below zero.
    For small turns depth changes by the drop per radian. Raises NoUndercutRead.
    """
    guessed = drop_mm is None
    wall = wall_of(depth_mm, guessed_drop_mm if drop_mm is None else drop_mm)
    angle = radians(wall.theta_deg + wall_turn_deg)
    if angle <= 0:
        return UndercutAfter(0.0, None, wall_turn_deg, guessed)
    # 2 sin² keeps shallow depths exact where 1 - cos would round them away.
    depth_after_mm = 2 * wall.radius_mm * sin(angle / 2) ** 2
    return UndercutAfter(depth_after_mm, wall.radius_mm * sin(angle), wall_turn_deg, guessed)


def drop_for_mm(depth_mm: float, radius_mm: float) -> float:
    """Return how far (mm) below the survey line a circle of this radius is `depth_mm` deep.

    Raises NoUndercutRead when the depth is not between nothing and the radius.
    """
    if not 0 < depth_mm <= radius_mm:
        raise NoUndercutRead(depth_mm=depth_mm, drop_mm=None)
    return float((depth_mm * (2 * radius_mm - depth_mm)) ** 0.5)


def plane_angle_deg(gap_mm: float, height_mm: float, gap_is_gingival: bool) -> float:
    """Return the angle of a straight wall to the path, from its triangle of light, in degrees.

    Positive with the light at the gum, where the wall leans in below; negative with the light on
    the occlusal side. atan(gap / height). Raises NoGap.
    """
    if not (gap_mm >= 0 and height_mm > 0):
        raise NoGap(gap_mm=gap_mm, height_mm=height_mm)
    angle = degrees(atan2(gap_mm, height_mm))
    return angle if gap_is_gingival else -angle


def plane_after_deg(angle_deg: float, wall_turn_deg: float) -> float:
    """Return the angle of a straight wall to the path after it turns, in degrees."""
    return angle_deg + wall_turn_deg


def equalising_turn_deg(angle_deg: float, facing_angle_deg: float) -> float:
    """Return the turn of the first wall (degrees) that makes two facing walls alike.

    A turn of one is the opposite turn of the other, so each meets the other half-way.
    """
    return (facing_angle_deg - angle_deg) / 2


def take_off_mm(height_mm: float, angle_deg: float) -> float:
    """Return how much wax or stone (mm) makes a straight wall parallel: height·tan|angle|."""
    return height_mm * tan(radians(abs(angle_deg)))


def _facing_deg(azimuth_deg: float, tilt: Tilt) -> float:
    azimuth, (x, y, _) = radians(azimuth_deg), path_of_insertion(tilt)
    along = fsum((cos(azimuth) * x, sin(azimuth) * y))
    return -degrees(asin(max(-1.0, min(1.0, along))))
