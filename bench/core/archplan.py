"""The arch map laid out in millimetres: outlines, marks, badges that keep clear of one another.

Frame as in `bench.core.arch`: seen from behind the cast, +X viewer's right, +Y anterior. Screens
and sheets draw from the same plan; neither decides where anything lies.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import cos, hypot, pi, sin

from bench.core.arch import ArchModel, ToothPlace, Vector
from bench.core.archmarks import Overlay, State, SurfaceMark, ToothMark
from bench.core.badges import Badge, Box, Ground, around, label_boxes, placed
from bench.core.surfaces import SURFACES, Site, Surface
from bench.core.teeth import Numbering, neighbours, position_of, teeth_of, written
from bench.core.toothshape import Points, on_cast, outline, sampled

_RING_OUT_MM = 2.3
CLOSE_UP_MM, CLOSE_UP_INNER_MM, CLOSE_UP_CENTRE = 19.0, 8.4, (0.0, -2.5)
_ROUNDNESS = 2.5
# How far behind a last tooth a finger still touches it: third molars are short.
BEHIND_LAST_MM = 2.5
_TURNS: dict[Surface, int] = {
    "D": 0, "DB": 1, "B": 2, "MB": 3, "M": 4, "ML": 5, "L": 6, "DL": 7,
}  # fmt: skip


@dataclass(frozen=True)
class PlannedTooth:
    """One tooth of the plan: where it stands, how it is drawn, what is known of it."""

    place: ToothPlace
    number: str
    outline: Points
    reach: Points
    state: State
    word: str
    missing: bool
    replaced: bool
    extraction: bool
    planned: bool
    ring: Vector | None
    bar: Points


@dataclass(frozen=True)
class Dot:
    """The mark on a surface, in mm; `push` is the far end of its arrow."""

    site: Site
    state: State
    at: Vector
    push: Vector | None


@dataclass(frozen=True)
class Zone:
    """One surface of the enlarged tooth: its outline and the place of its letters, in mm."""

    surface: Surface
    outline: Points
    at: Vector


@dataclass(frozen=True)
class Plan:
    """Everything on the map, in mm."""

    teeth: tuple[PlannedTooth, ...]
    dots: tuple[Dot, ...]
    badges: tuple[Badge, ...]
    overlays: tuple[Overlay, ...] = ()
    label_boxes: tuple[Box | None, ...] = ()
    zones: tuple[Zone, ...] = ()
    half_width_mm: float = 0.0
    front_mm: float = 0.0
    back_mm: float = 0.0


def plan_map(
    arch: ArchModel,
    *,
    missing: Collection[int] = (),
    replaced: Collection[int] = (),
    extractions: Collection[int] = (),
    teeth: Mapping[int, ToothMark] | None = None,
    surfaces: Mapping[Site, SurfaceMark] | None = None,
    chosen_tooth: int | None = None,
    numbering: Numbering = "iso",
    overlays: Sequence[Overlay] = (),
) -> Plan:
    """Return the arch map in mm; badges overlap nothing: no badge, tooth or enlarged tooth."""
    marks, sites, zoomed = dict(teeth or {}), dict(surfaces or {}), chosen_tooth is not None
    planned = tuple(
        _tooth(arch, tooth, marks.get(tooth), numbering, missing, replaced, extractions, zoomed)
        for tooth in teeth_of(arch.arch)
    )
    zones = close_up(arch.place(chosen_tooth)) if chosen_tooth is not None else ()
    ground = _ground(arch, planned, sites, bool(zones))
    badges = _badges(arch, marks, sites, ground)
    labels = label_boxes(overlays, ground)
    dots = tuple(_dot(arch, site, mark) for site, mark in sorted(sites.items()))
    return _framed(Plan(planned, dots, badges, tuple(overlays), labels, zones))


def close_up(place: ToothPlace) -> tuple[Zone, ...]:
    """Return the eight surfaces of one tooth, enlarged in the middle of the arch ."""
    return tuple(_zone(place, surface) for surface in SURFACES)


def rim(place: ToothPlace, radius_mm: float) -> Points:
    """Return the closed rim of the enlarged tooth at a radius, in mm."""
    return tuple(_on_rim(place, radius_mm, n * pi / 24) for n in range(48))


def _tooth(
    arch: ArchModel,
    tooth: int,
    mark: ToothMark | None,
    numbering: Numbering,
    missing: Collection[int],
    replaced: Collection[int],
    extractions: Collection[int],
    zoomed: bool,
) -> PlannedTooth:
    place, planned = arch.place(tooth), bool(mark and mark.planned)
    return PlannedTooth(
        place=place,
        number=written(tooth, numbering),
        outline=outline(place),
        reach=_reach(arch, tooth),
        state=mark.state if mark else "plain",
        word=mark.word if mark else "",
        missing=tooth in missing,
        replaced=tooth in replaced,
        extraction=tooth in extractions,
        planned=planned,
        ring=ring_at(place, outside=zoomed) if planned else None,
        bar=ridge_bar(place) if tooth in replaced else (),
    )


@lru_cache(maxsize=256)
def _reach(arch: ArchModel, tooth: int) -> Points:
    """The area a finger may touch: a wedge between the borders to both neighbours."""
    place = arch.place(tooth)
    near, far = (_border(arch, tooth, end) for end in (0, 1))
    out_mm, in_mm = place.depth_mm / 2 + 8.0, place.depth_mm / 2 + 3.5
    rays = ((near, out_mm), (far, out_mm), (far, -in_mm), (near, -in_mm))
    return tuple((p[0] + n[0] * mm, p[1] + n[1] * mm) for (p, n), mm in rays)


def _border(arch: ArchModel, tooth: int, end: int) -> tuple[Vector, Vector]:
    place, other = arch.place(tooth), neighbours(tooth)[end]
    mine = on_cast(place, 1 if end else -1, 0)
    if other is None:
        x_mm, y_mm = (at + BEHIND_LAST_MM * d for at, d in zip(mine, place.distal, strict=True))
        return (x_mm, y_mm), place.outward
    beside = arch.place(other)
    theirs = on_cast(beside, -1 if end or position_of(tooth) == 1 else 1, 0)
    normal = tuple(a + b for a, b in zip(place.outward, beside.outward, strict=True))
    length = hypot(*normal)
    middle = ((mine[0] + theirs[0]) / 2, (mine[1] + theirs[1]) / 2)
    return middle, (normal[0] / length, normal[1] / length)


def _dot(arch: ArchModel, site: Site, mark: SurfaceMark) -> Dot:
    at, (dx, dy) = arch.point_mm(site), arch.direction(site)
    push = (at[0] + 4.2 * dx, at[1] + 4.2 * dy) if mark.push else None
    return Dot(site, mark.state, at, push)


def _badges(
    arch: ArchModel,
    marks: Mapping[int, ToothMark],
    sites: Mapping[Site, SurfaceMark],
    ground: Ground,
) -> tuple[Badge, ...]:
    wanted = [(Site(tooth, "B"), mark.badge, mark.state) for tooth, mark in marks.items()]
    wanted += [(site, mark.badge, mark.state) for site, mark in sites.items()]
    wanted.sort(key=lambda want: (position_of(want[0].tooth), want[0].tooth, want[0].surface))
    return tuple(placed(arch, site, text, state, ground) for site, text, state in wanted if text)


def _ground(
    arch: ArchModel,
    planned: Sequence[PlannedTooth],
    sites: Mapping[Site, SurfaceMark],
    close_up_shown: bool,
) -> Ground:
    ground = Ground()
    for tooth in planned:
        polygon = sampled(tooth.outline)
        ground.polygons.append((around(polygon), polygon))
        if tooth.ring:
            ground.boxes.append(Box(*tooth.ring, 1.5, 1.5))
    dots = (_dot(arch, site, mark) for site, mark in sites.items())
    ground.boxes += [around((dot.at, dot.push)) for dot in dots if dot.push]
    if close_up_shown:
        x_mm, y_mm = CLOSE_UP_CENTRE
        ground.boxes.append(Box(x_mm, y_mm, CLOSE_UP_MM + 1.5, CLOSE_UP_MM + 1.5))
    return ground


def ring_at(place: ToothPlace, *, outside: bool = False) -> Vector:
    """Return where the ring of a planned tooth sits: just inward of its inner edge, in mm.

    Outward of its outer edge instead while an enlarged tooth fills the middle of the arch.
    """
    across = 1 + 2 * _RING_OUT_MM / place.depth_mm
    return on_cast(place, 0, across if outside else -across)


def ridge_bar(place: ToothPlace) -> Points:
    """Return the bar along the inner edge of a gap to be filled, in mm; those of a row line up."""
    return on_cast(place, -0.8, -1.0), on_cast(place, 0.8, -1.0)


def _framed(plan: Plan) -> Plan:
    seen = [point for tooth in plan.teeth for point in sampled(tooth.outline)]
    seen += [corner for badge in plan.badges for corner in badge.box.corners]
    seen += [corner for box in plan.label_boxes if box for corner in box.corners]
    seen += [dot.push for dot in plan.dots if dot.push]
    rings = [Box(*tooth.ring, 1.5, 1.5) for tooth in plan.teeth if tooth.ring]
    seen += [corner for ring in rings for corner in ring.corners]
    seen += [point for overlay in plan.overlays for point in (overlay.start, overlay.end)]
    return replace(
        plan,
        half_width_mm=max(abs(x) for x, _ in seen),
        front_mm=max(y for _, y in seen),
        back_mm=min(y for _, y in seen),
    )


def _zone(place: ToothPlace, surface: Surface) -> Zone:
    middle = _TURNS[surface] * pi / 4
    angles = [middle + (n - 6) * pi / 48 for n in range(13)]
    outer = [_on_rim(place, CLOSE_UP_MM, angle) for angle in angles]
    inner = [_on_rim(place, CLOSE_UP_INNER_MM, angle) for angle in reversed(angles)]
    at = _on_rim(place, (CLOSE_UP_MM + CLOSE_UP_INNER_MM) / 2, middle)
    return Zone(surface, (*outer, *inner), at)


def _on_rim(place: ToothPlace, radius_mm: float, angle: float) -> Vector:
    u, v = cos(angle), sin(angle)
    reach_mm = radius_mm / (abs(u) ** _ROUNDNESS + abs(v) ** _ROUNDNESS) ** (1 / _ROUNDNESS)
    x = CLOSE_UP_CENTRE[0] + reach_mm * (u * place.distal[0] + v * place.outward[0])
    return x, CLOSE_UP_CENTRE[1] + reach_mm * (u * place.distal[1] + v * place.outward[1])
