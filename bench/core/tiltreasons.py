"""Why a tilt was found, and what it does, as codes with their figures.

Codes of every answer: `lower_edge` (edge, by_deg) or `stay`; `site_decides` (site, bound),
`limit_decides` (edge) or `nothing_decides`; `depth_becomes` for each site; `plane_becomes` for each
guide plane; `deeper_than_wanted`, `drop_guessed` where so; `estimate` always. Of a conflict, before
these: `sites_exclude`, `misses_by`, and what would free the sites (see `conflicts`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import hypot, isfinite

from bench.core.polygon import MadeBy, Polygon
from bench.core.remark import Remark
from bench.core.strips import Place, Strip, depth_mm, miss_mm, place_of
from bench.core.tilt import Tilt, edges_to_lower
from bench.core.toothchange import GuidePlane, Pull, angle_at_deg, slope_at
from bench.core.undercut import take_off_mm

TOO_DEEP_BY_MM = 0.10
# Less than any table shows.
LEAST_MOVE_DEG = 0.005
_TOUCHES = 1e-8


def outcome_told(
    strips: Sequence[Strip],
    planes: Sequence[GuidePlane],
    pulls: Sequence[Pull],
    place: Place,
    region: Polygon,
    current: Tilt,
    too_deep_by_mm: float,
) -> Iterator[Remark]:
    """Yield what to lower, what decides, and what each site and guide plane comes to."""
    yield from _moves(current, place.tilt)
    yield from _deciders(region, pulls, place)
    now = place_of(current)
    yield from (_depth_becomes(strip, now, place) for strip in strips)
    yield from (_plane_becomes(plane, current, place.tilt) for plane in planes)
    for strip in strips:
        yield from _cautions(strip, place, too_deep_by_mm)
    yield Remark("estimate", {})


def conflict_told(
    strips: Sequence[Strip], conflict: Sequence[Strip], place: Place, ways: Iterable[Remark]
) -> Iterator[Remark]:
    """Yield which sites exclude each other, what each site misses by, and what would free them."""
    yield Remark("sites_exclude", {"sites": tuple(strip.name for strip in conflict)})
    for strip in strips:
        by_mm = miss_mm(strip, place)
        if by_mm > _TOUCHES:
            bound = "least" if depth_mm(strip, place) < strip.least_mm else "most"
            yield Remark("misses_by", {"site": strip.name, "bound": bound, "by_mm": by_mm})
    yield from ways


def _moves(current: Tilt, wanted: Tilt) -> Iterator[Remark]:
    moves = [move for move in edges_to_lower(current, wanted) if move.by_deg >= LEAST_MOVE_DEG]
    for edge, by_deg in moves:
        yield Remark("lower_edge", {"edge": edge, "by_deg": by_deg})
    if not moves:
        yield Remark("stay", {})


def _deciders(region: Polygon, pulls: Sequence[Pull], place: Place) -> Iterator[Remark]:
    """Yield the makers of the edges that hold the tilt from going where the teeth change less."""
    if not region:
        return
    pulled = hypot(*slope_at(pulls, place)) > _TOUCHES
    makers = dict.fromkeys(_touched(region, place)) if pulled else {}
    for maker in makers:
        if maker.bound == "limit":
            yield Remark("limit_decides", {"edge": maker.name})
        else:
            yield Remark("site_decides", {"site": maker.name, "bound": maker.bound})
    if not makers:
        yield Remark("nothing_decides", {})


def _touched(region: Polygon, place: Place) -> Iterator[MadeBy]:
    for here, then in zip(region, (*region[1:], region[0]), strict=True):
        along_x, along_y = then.x - here.x, then.y - here.y
        off_x, off_y = place.x - here.x, place.y - here.y
        length = hypot(along_x, along_y)
        if length == 0 or abs(along_x * off_y - along_y * off_x) <= _TOUCHES * length:
            yield here.made_by


def _depth_becomes(strip: Strip, now: Place, place: Place) -> Remark:
    return Remark(
        "depth_becomes",
        {
            "site": strip.name,
            "from_mm": depth_mm(strip, now),
            "to_mm": depth_mm(strip, place),
            "least_mm": strip.least_mm,
            "most_mm": strip.most_mm if isfinite(strip.most_mm) else None,
        },
    )


def _plane_becomes(plane: GuidePlane, current: Tilt, wanted: Tilt) -> Remark:
    before, after = angle_at_deg(plane, current), angle_at_deg(plane, wanted)
    return Remark(
        "plane_becomes",
        {
            "plane": plane.name,
            "from_deg": before,
            "to_deg": after,
            "from_take_off_mm": take_off_mm(plane.height_mm, before),
            "to_take_off_mm": take_off_mm(plane.height_mm, after),
        },
    )


def _cautions(strip: Strip, place: Place, too_deep_by_mm: float) -> Iterator[Remark]:
    depth = depth_mm(strip, place)
    if strip.least_mm > 0 and depth > strip.least_mm + too_deep_by_mm + _TOUCHES:
        by_mm = depth - strip.least_mm
        yield Remark("deeper_than_wanted", {"site": strip.name, "to_mm": depth, "by_mm": by_mm})
    if strip.drop_is_guessed:
        yield Remark("drop_guessed", {"site": strip.name})
