"""The tilt finder: the tilt that gives every wished undercut at the least change of teeth.

An estimate on the walls' circles and straight planes, to be confirmed with the gauge.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import asin, degrees, isfinite, radians, sin

from bench.core.conflicts import WIRE_DEPTH_MM, excluding, freeing, least_miss, needs
from bench.core.polygon import MadeBy, Polygon, square
from bench.core.refusal import Refusal
from bench.core.remark import Remark
from bench.core.strips import Strip, WishedSite, common, strip_of
from bench.core.tilt import LEVEL, Tilt
from bench.core.tiltreasons import TOO_DEEP_BY_MM, conflict_told, outcome_told
from bench.core.toothchange import GuidePlane, Pull, cost_mm2, least_change, pulls_of
from bench.core.undercut import GUESSED_DROP_MM

LIMIT_DEG = 15.0
MOST_LIMIT_DEG = 40.0
TIE_WEIGHT_MM2 = 0.01


class BadLimit(Refusal):
    """A limit or a tie weight with which nothing can be found."""

    code = "bad_limit"
    what = "A limit of {limit_deg} degrees with a tie weight of {tie_weight_mm2} was not taken."
    why = "The limit must lie above 0 and up to 40 degrees, and the tie weight not under 0."
    what_to_do = "Give the most that either edge may be lowered, in degrees."


class NameTwice(Refusal):
    """Two sites or two planes under one name."""

    code = "name_twice"
    what = "The name {name} stands for more than one of them."
    why = "What is found is told by name."
    what_to_do = "Give each site, and each plane, a name of its own."


@dataclass(frozen=True)
class TiltMap:
    """The tilts that serve: corners in degrees, anticlockwise with ap to the right and lat up.

    `made_by[k]` makes the edge from corner k to the next. Edges are straight between the sines of
    the two angles, and so nearly straight in degrees. No corners when no tilt serves; one or two
    when only a point or a line does.
    """

    corners: tuple[Tilt, ...]
    made_by: tuple[MadeBy, ...]


@dataclass(frozen=True)
class FoundTilt:
    """The tilt found, the map of tilts that serve, and why, as codes with their figures.

    When none serves, `conflict` names up to three sites that exclude each other, and `tilt` is the
    one at which the worst site misses its window least, by `miss_mm`. `cost_mm2` is the tooth
    change: the sum of weight·(height·angle)² with angles in radians, and the pull toward level.
    """

    tilt: Tilt
    feasible: bool
    map: TiltMap
    conflict: tuple[str, ...]
    miss_mm: float
    cost_mm2: float
    explanation: tuple[Remark, ...]


@dataclass(frozen=True)
class Bench:
    """What holds while a tilt is looked for: the setting now, and the figures of the policy."""

    current: Tilt = LEVEL
    limit_deg: float = LIMIT_DEG
    tie_weight_mm2: float = TIE_WEIGHT_MM2
    guessed_drop_mm: float = GUESSED_DROP_MM
    too_deep_by_mm: float = TOO_DEEP_BY_MM
    wire_depth_mm: float = WIRE_DEPTH_MM


def find_tilt(
    sites: Sequence[WishedSite], planes: Sequence[GuidePlane] = (), bench: Bench | None = None
) -> FoundTilt:
    """Return the tilt that meets every wish at the least change of teeth at the guide planes.

    Without sites the planes alone decide, without planes the tilt nearest to level is taken.
    Raises BadWish, NoUndercutRead, BadPlane, BadLimit or NameTwice.
    """
    bench = bench or Bench()
    _require_limit(bench)
    require_own_names(site.name for site in sites)
    require_own_names(plane.name for plane in planes)
    limits = square(sin(radians(bench.limit_deg)))
    strips = [strip_of(site, bench.guessed_drop_mm) for site in sites]
    pulls = pulls_of(planes, bench.tie_weight_mm2)
    region = common(limits, strips)
    if region:
        return _found(region, strips, planes, pulls, bench)
    return _missed(limits, strips, planes, pulls, bench)


def require_own_names(names: Iterable[str]) -> None:
    """Raise NameTwice when a name stands for more than one."""
    for name, count in Counter(names).items():
        if count > 1:
            raise NameTwice(name=name)


def _found(
    region: Polygon,
    strips: Sequence[Strip],
    planes: Sequence[GuidePlane],
    pulls: Sequence[Pull],
    bench: Bench,
) -> FoundTilt:
    place = least_change(region, pulls)
    told = outcome_told(
        strips, planes, pulls, place, region, bench.current, bench.too_deep_by_mm
    )  # fmt: skip
    cost = cost_mm2(pulls, place)
    return FoundTilt(place.tilt, True, _map_of(region), (), 0.0, cost, tuple(told))


def _missed(
    limits: Polygon,
    strips: Sequence[Strip],
    planes: Sequence[GuidePlane],
    pulls: Sequence[Pull],
    bench: Bench,
) -> FoundTilt:
    miss, nearest = least_miss(limits, strips)
    place = least_change(nearest, pulls)
    conflict = excluding(limits, strips, place)
    alone = [needs(conflict[0])] if len(conflict) == 1 else []
    ways = [*alone, *freeing(limits, strips, conflict, bench.wire_depth_mm)]
    told = (
        *conflict_told(strips, conflict, place, ways),
        *outcome_told(strips, planes, pulls, place, (), bench.current, bench.too_deep_by_mm),
    )
    names = tuple(strip.name for strip in conflict)
    cost = cost_mm2(pulls, place)
    return FoundTilt(place.tilt, False, TiltMap((), ()), names, miss, cost, told)


def _map_of(region: Polygon) -> TiltMap:
    corners = tuple(Tilt(degrees(asin(c.x)), degrees(asin(c.y))) for c in region)
    return TiltMap(corners, tuple(corner.made_by for corner in region))


def _require_limit(bench: Bench) -> None:
    limit, tie = bench.limit_deg, bench.tie_weight_mm2
    if not (0 < limit <= MOST_LIMIT_DEG and tie >= 0 and isfinite(tie)):
        raise BadLimit(limit_deg=limit, tie_weight_mm2=tie)
