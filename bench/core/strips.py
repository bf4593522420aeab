"""The tilts that give a site the depth wished of it: a straight strip in the plane of tilts.

A tilt is a place (sin ap, sin lat) in that plane. A wall facing azimuth phi turns by t with
sin t = sin ap·sin phi + sin lat·cos phi, and its depth grows with t alone, so the tilts that keep
the depth between two figures lie exactly between two parallel lines. Source: plane trigonometry
on the wall's circle (see `undercut`); derived.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import asin, cos, degrees, inf, isfinite, pi, radians, sin, sqrt
from typing import NamedTuple

from bench.core.polygon import CutSide, MadeBy, Polygon, clipped
from bench.core.refusal import Refusal
from bench.core.tilt import LEVEL, Tilt
from bench.core.undercut import GUESSED_DROP_MM, turn_deg, wall_of

# More than any sine: no tilt lies beyond it.
_NEVER = 2.0


class BadWish(Refusal):
    """A window of depths that is none."""

    code = "bad_wish"
    what = "From {least_mm} to {most_mm} mm was wished of {name}."
    why = "The least depth cannot be under nothing, nor the most under the least."
    what_to_do = "Give the least depth, and the most or none, in mm."


@dataclass(frozen=True)
class WishedSite:
    """A site with its reading and the depths wished of it, in mm.

    `azimuth_deg` is where the surface faces, from +X toward +Y; `gauge_mm` the depth at the mark
    and `drop_mm` its way below the survey line (None: not recorded), both at the setting
    `read_at`. `most_mm` None wishes 'at least'.
    """

    name: str
    azimuth_deg: float
    gauge_mm: float
    drop_mm: float | None
    least_mm: float
    most_mm: float | None = None
    read_at: Tilt = LEVEL


class Place(NamedTuple):
    """A tilt in the plane of tilts: sines of the front and of the right of view lowered."""

    x: float
    y: float

    @property
    def tilt(self) -> Tilt:
        """The tilt in degrees."""
        return Tilt(degrees(asin(self.x)), degrees(asin(self.y)))


@dataclass(frozen=True)
class Strip:
    """A wished site made ready: its direction in the plane of tilts, its wall, its window in mm.

    `theta` is how far the wall would turn in at a level cast, in radians.
    """

    name: str
    x: float
    y: float
    theta: float
    radius_mm: float
    least_mm: float
    most_mm: float
    drop_is_guessed: bool


def place_of(tilt: Tilt) -> Place:
    """Return where a tilt lies in the plane of tilts."""
    return Place(sin(radians(tilt.ap_deg)), sin(radians(tilt.lat_deg)))


def strip_of(site: WishedSite, guessed_drop_mm: float = GUESSED_DROP_MM) -> Strip:
    """Return the strip of a wished site; raise BadWish or NoUndercutRead."""
    most_mm = inf if site.most_mm is None else site.most_mm
    if not (0 <= site.least_mm <= most_mm and isfinite(site.least_mm)):
        raise BadWish(name=site.name, least_mm=site.least_mm, most_mm=site.most_mm)
    guessed = site.drop_mm is None
    wall = wall_of(site.gauge_mm, guessed_drop_mm if site.drop_mm is None else site.drop_mm)
    already_deg = turn_deg(site.azimuth_deg, site.read_at)
    return Strip(
        name=site.name,
        x=sin(radians(site.azimuth_deg)),
        y=cos(radians(site.azimuth_deg)),
        theta=radians(wall.theta_deg - already_deg),
        radius_mm=wall.radius_mm,
        least_mm=site.least_mm,
        most_mm=most_mm,
        drop_is_guessed=guessed,
    )


def depth_mm(strip: Strip, place: Place) -> float:
    """Return the depth (mm) expected at the site's mark at a tilt."""
    return depth_turned_mm(strip, strip.x * place.x + strip.y * place.y)


def depth_turned_mm(strip: Strip, turn_sine: float) -> float:
    """Return the depth (mm) after the wall turns from level by an angle of this sine."""
    angle = max(0.0, strip.theta + asin(max(-1.0, min(1.0, turn_sine))))
    return 2 * strip.radius_mm * sin(angle / 2) ** 2


def miss_mm(strip: Strip, place: Place) -> float:
    """Return by how much (mm) a site's depth lies outside what is wished; 0 within."""
    depth = depth_mm(strip, place)
    return max(0.0, strip.least_mm - depth, depth - strip.most_mm)


def sides_of(strip: Strip, slack_mm: float = 0.0) -> Iterator[CutSide]:
    """Yield the one or two straight sides of a strip, its window widened by a slack (mm)."""
    least, most = strip.least_mm - slack_mm, strip.most_mm + slack_mm
    if least > 0 and (low := _sine_for(strip, least)) > -1:
        yield CutSide(strip.x, strip.y, low, MadeBy(strip.name, "least"))
    if most < 2 * strip.radius_mm and (high := _sine_for(strip, most)) < 1:
        yield CutSide(-strip.x, -strip.y, -high, MadeBy(strip.name, "most"))


def common(polygon: Polygon, strips: Iterable[Strip], slack_mm: float = 0.0) -> Polygon:
    """Return the part of a polygon of tilts that lies in every strip."""
    return clipped(polygon, (side for strip in strips for side in sides_of(strip, slack_mm)))


def turn_for_deg(strip: Strip, depth_mm: float) -> float | None:
    """Return the turn from level (degrees) that gives a site a depth (mm); None if none does."""
    if depth_mm > 2 * strip.radius_mm:
        return None
    return degrees(_turn_for(strip, depth_mm))


def _turn_for(strip: Strip, depth: float) -> float:
    return 2 * asin(sqrt(depth / (2 * strip.radius_mm))) - strip.theta


def _sine_for(strip: Strip, depth: float) -> float:
    if depth > 2 * strip.radius_mm:
        return _NEVER
    turn = _turn_for(strip, depth)
    if abs(turn) < pi / 2:
        return sin(turn)
    return _NEVER if turn > 0 else -_NEVER
