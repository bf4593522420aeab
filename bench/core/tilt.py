"""A tilt of the cast, the path of insertion it makes, and which edges it lowers.

Frame of the cast on the table seen from behind: +X viewer's right, +Y anterior, +Z up. `ap_deg` > 0
lowers the front edge, `lat_deg` > 0 the edge on the right of view: a tilt is named for the edge
that goes down, viewed from behind (common practice, no source). Both are what an inclinometer laid
on the base shows along each axis.
"""

from __future__ import annotations

from math import asin, atan2, degrees, fsum, hypot, isfinite, radians, sin, sqrt
from typing import Literal, NamedTuple

from bench.core.refusal import Refusal
from bench.core.teeth import Arch, Side

Path = tuple[float, float, float]
Edge = Literal["front", "back", "right", "left"]
ROUNDING_DEG = 1e-9


class TiltTooSteep(Refusal):
    """Two angles that no level cast can show at once."""

    code = "tilt_too_steep"
    what = "A tilt of {ap_deg} and {lat_deg} degrees cannot be."
    why = "Together the two angles would lay the cast on its side or beyond."
    what_to_do = "Read the inclinometer again along both axes."


class Tilt(NamedTuple):
    """A setting of the table in degrees: front edge lowered, right-of-view edge lowered."""

    ap_deg: float
    lat_deg: float


LEVEL = Tilt(0.0, 0.0)


class EdgeDown(NamedTuple):
    """An edge that is lowered, seen from behind, and by how many degrees (more than none)."""

    edge: Edge
    by_deg: float


def path_of_insertion(tilt: Tilt) -> Path:
    """Return the unit vector of the path of insertion, upward, in the frame of the cast.

    p = (-sin lat, -sin ap, sqrt(1 - sin² ap - sin² lat)). Raises TiltTooSteep where there is none.
    """
    x, y = -sin(radians(tilt.lat_deg)), -sin(radians(tilt.ap_deg))
    up = 1 - x * x - y * y
    if not isfinite(up) or up < -1e-12 or max(abs(tilt.ap_deg), abs(tilt.lat_deg)) > 90:
        raise TiltTooSteep(ap_deg=tilt.ap_deg, lat_deg=tilt.lat_deg)
    return x, y, sqrt(max(0.0, up))


def tilt_of(path: Path) -> Tilt:
    """Return the tilt (degrees) whose path of insertion points along a vector of any length."""
    x, y, z = path
    length = hypot(x, y, z)
    return Tilt(-degrees(asin(y / length)), -degrees(asin(x / length)))


def angle_between_deg(setting: Tilt, other: Tilt) -> float:
    """Return the angle between the paths of insertion of two settings, in degrees."""
    return angle_of_paths_deg(path_of_insertion(setting), path_of_insertion(other))


def angle_of_paths_deg(path: Path, other: Path) -> float:
    """Return the angle between two vectors in degrees, exact for small angles too."""
    (a, b, c), (d, e, f) = path, other
    across = hypot(b * f - c * e, c * d - a * f, a * e - b * d)
    return degrees(atan2(across, fsum((a * d, b * e, c * f))))


def total_deg(tilt: Tilt) -> float:
    """Return the angle of a tilt against the level cast, in degrees."""
    return angle_between_deg(tilt, LEVEL)


def edges_down(tilt: Tilt) -> tuple[EdgeDown, ...]:
    """Return which edges a tilt lowers and by how much, front or back first; none when level."""
    pairs: tuple[tuple[float, Edge, Edge], ...] = (
        (tilt.ap_deg, "front", "back"),
        (tilt.lat_deg, "right", "left"),
    )
    return tuple(
        EdgeDown(plus if by > 0 else minus, abs(by))
        for by, plus, minus in pairs
        if abs(by) > ROUNDING_DEG
    )


def edges_to_lower(current: Tilt, wanted: Tilt) -> tuple[EdgeDown, ...]:
    """Return which edges to lower, and by how much, to go from one setting to another."""
    difference = (wanted.ap_deg - current.ap_deg, wanted.lat_deg - current.lat_deg)
    return edges_down(Tilt(*difference))


def patients_side(arch: Arch, view_side: Side) -> Side:
    """Return the patient's side at the right or left of view: crossed on an upper cast only."""
    if arch == "lower":
        return view_side
    return "left" if view_side == "right" else "right"
