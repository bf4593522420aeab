"""Wished sites that exclude each other: which they are, what misses least, what would free them.

By Helly's theorem on convex sets in the plane (E. Helly, 1923), wishes that no tilt within the
limits meets hold three or fewer that already exclude each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, combinations
from math import atan2, ceil, degrees, floor, hypot

from bench.core.polygon import Polygon
from bench.core.remark import Remark
from bench.core.strips import (
    Place,
    Strip,
    common,
    depth_turned_mm,
    miss_mm,
    turn_for_deg,
)

WIRE_DEPTH_MM = 0.50
_SLACK_MM = 1e-9
_HELLY = 3


def least_miss(limits: Polygon, strips: Sequence[Strip]) -> tuple[float, Polygon]:
    """Return the least slack (mm) that every window needs, and the tilts that then serve.

    Exact but for rounding: windows widened by one slack stay strips, so the slack is halved in on.
    A few strips decide it: the one missed most is added until none is missed more.
    """
    slack_mm, place = 0.0, Place(0.0, 0.0)
    deciding = [_missed_most(strips, place)]
    while True:
        slack_mm, place = _least_slack(limits, deciding, place, slack_mm)
        most = _missed_most(strips, place)
        if most in deciding or miss_mm(most, place) <= slack_mm:
            slack_mm = max(slack_mm, miss_mm(most, place))
            return slack_mm, common(limits, strips, slack_mm)
        deciding.append(most)


def excluding(limits: Polygon, strips: Sequence[Strip], at: Place) -> tuple[Strip, ...]:
    """Return one, two or three strips that have no tilt in common, those missed most at a tilt.

    No smaller part of them excludes itself.
    """
    worst = max(miss_mm(strip, at) for strip in strips)
    missed = [strip for strip in strips if miss_mm(strip, at) > worst - 1e-6]
    for few in chain(_groups(missed), _groups(strips)):
        if not common(limits, few):
            return few
    return tuple(missed[:_HELLY])


def freeing(
    limits: Polygon,
    strips: Sequence[Strip],
    conflict: Sequence[Strip],
    wire_depth_mm: float = WIRE_DEPTH_MM,
) -> Iterator[Remark]:
    """Yield what would make all wishes meet, each a change of one site of the conflict alone.

    Codes: `another_tooth`, `another_surface` (a wall like this one, facing `azimuth_deg`),
    `shallower_gauge`, `deeper_gauge`, `wire_arm` (each `to_mm`); `more_than_one_change` when no
    change of one site is enough.
    """
    found = list(
        chain.from_iterable(_freed_by(limits, strips, strip, wire_depth_mm) for strip in conflict)
    )
    yield from found or [Remark("more_than_one_change", {})]


def needs(strip: Strip) -> Remark:
    """Return how far the site's wall would have to turn from level, where it excludes itself."""
    wanted_mm = strip.least_mm if depth_turned_mm(strip, 0.0) < strip.least_mm else strip.most_mm
    by_deg = turn_for_deg(strip, wanted_mm)
    if by_deg is None:
        return Remark("out_of_reach", {"site": strip.name, "want_mm": wanted_mm})
    return Remark("needs_turn", {"site": strip.name, "want_mm": wanted_mm, "by_deg": by_deg})


def _missed_most(strips: Sequence[Strip], place: Place) -> Strip:
    return max(strips, key=lambda strip: miss_mm(strip, place))


def _least_slack(
    limits: Polygon, strips: Sequence[Strip], at: Place, above_mm: float
) -> tuple[float, Place]:
    low = max(0.0, above_mm - 2 * _SLACK_MM)
    high = max(low, *(miss_mm(strip, at) for strip in strips))
    within = common(limits, strips, high)
    while high - low > _SLACK_MM:
        middle = (low + high) / 2
        left = common(within, strips, middle)
        low, high, within = (low, middle, left) if left else (middle, high, within)
    return high, (Place(within[0].x, within[0].y) if within else at)


def _groups(strips: Sequence[Strip]) -> Iterator[tuple[Strip, ...]]:
    return chain.from_iterable(combinations(strips, count) for count in range(1, _HELLY + 1))


def _freed_by(
    limits: Polygon, strips: Sequence[Strip], strip: Strip, wire_depth_mm: float
) -> Iterator[Remark]:
    left = common(limits, [other for other in strips if other is not strip])
    if not left:
        return
    site = {"site": strip.name}
    yield Remark("another_tooth", site)
    turns = [strip.x * corner.x + strip.y * corner.y for corner in left]
    shallowest, deepest = (depth_turned_mm(strip, turn) for turn in (min(turns), max(turns)))
    shallow = deepest < strip.least_mm
    far = max(left, key=lambda corner: hypot(corner.x, corner.y))
    yield from _other_surface(strip, Place(far.x, far.y), 1 if shallow else -1)
    if shallow:
        to_mm = floor(deepest * 100 + 1e-6) / 100
        yield from [Remark("shallower_gauge", {**site, "to_mm": to_mm})] if to_mm > 0 else []
        return
    to_mm = ceil(shallowest * 100 - 1e-6) / 100
    yield Remark("deeper_gauge", {**site, "to_mm": to_mm})
    if to_mm <= wire_depth_mm:
        yield Remark("wire_arm", {**site, "to_mm": to_mm})


def _other_surface(strip: Strip, far: Place, sign: int) -> Iterator[Remark]:
    reached_mm = depth_turned_mm(strip, sign * hypot(*far))
    if strip.least_mm <= reached_mm <= strip.most_mm:
        azimuth_deg = degrees(atan2(sign * far.x, sign * far.y)) % 360.0
        yield Remark("another_surface", {"site": strip.name, "azimuth_deg": azimuth_deg})
