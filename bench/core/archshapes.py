"""The arch map as plain drawing primitives in millimetres, for sheets and any other canvas."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot

from bench.core.arch import Vector
from bench.core.archmarks import ArrowOverlay, Overlay, State
from bench.core.archplan import Dot, Plan, PlannedTooth
from bench.core.badges import BADGE_TEXT_MM, LABEL_MM, Badge, Box
from bench.core.toothshape import Points, on_cast, ridges, sampled

NUMBER_MM = 3.1
RING_MM, DOT_MM = 1.3, 0.8
_HEAD_MM = 1.7


@dataclass(frozen=True)
class Polygon:
    """A closed outline in mm; `role` says what it is, `state` how it stands."""

    role: str
    points: Points
    state: State = "plain"
    dashed: bool = False


@dataclass(frozen=True)
class Stroke:
    """An open line through points, in mm."""

    role: str
    points: Points
    state: State = "plain"
    dashed: bool = False


@dataclass(frozen=True)
class Disc:
    """A circle in mm."""

    role: str
    at: Vector
    radius_mm: float
    state: State = "plain"


@dataclass(frozen=True)
class Lettering:
    """A text centred on a point, its size in mm."""

    role: str
    at: Vector
    text: str
    size_mm: float
    state: State = "plain"


Shape = Polygon | Stroke | Disc | Lettering


def shapes(plan: Plan) -> tuple[Shape, ...]:
    """Return a plan as primitives in drawing order: later ones lie on top.

    Roles: tooth, missing, ridge, bar, cross, ring, ring_dot, hatch, dot, push, resultant, fulcrum, space,
    other, head, leader, badge; letterings number, badge, label. +Y points to the front.
    """
    return (
        *(shape for tooth in plan.teeth for shape in _tooth(tooth)),
        *(
            shape
            for overlay, box in zip(plan.overlays, plan.label_boxes, strict=True)
            for shape in _overlay(overlay, box)
        ),
        *(shape for dot in plan.dots for shape in _dot(dot)),
        *(shape for badge in plan.badges for shape in _badge(badge)),
    )


def arrow_head(start: Vector, end: Vector, size_mm: float = _HEAD_MM) -> Points:
    """Return the triangle in mm at the end of an arrow; none when the arrow has no length."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    if length == 0:
        return ()
    x, y = (end[0] - start[0]) / length * size_mm, (end[1] - start[1]) / length * size_mm
    back = (end[0] - x, end[1] - y)
    return end, (back[0] - y * 0.55, back[1] + x * 0.55), (back[0] + y * 0.55, back[1] - x * 0.55)


def leader(badge: Badge) -> Points:
    """Return the line in mm from a badge to its point; none when they lie close together."""
    box, (x, y) = badge.box, badge.points_at
    nearest = (
        min(max(x, box.x_mm - box.half_width_mm), box.x_mm + box.half_width_mm),
        min(max(y, box.y_mm - box.half_height_mm), box.y_mm + box.half_height_mm),
    )
    far = hypot(nearest[0] - x, nearest[1] - y) > 1.2
    return (nearest, (x, y)) if far else ()


def crossing(tooth: PlannedTooth) -> tuple[Points, Points]:
    """Return the two strokes in mm over a tooth that is to be extracted."""
    place = tooth.place
    return (
        (on_cast(place, -0.95, -0.95), on_cast(place, 0.95, 0.95)),
        (on_cast(place, -0.95, 0.95), on_cast(place, 0.95, -0.95)),
    )


def hatching(tooth: PlannedTooth, gap_mm: float = 1.5) -> tuple[Points, ...]:
    """Return slanting strokes in mm clipped to a tooth's outline, for stale teeth on paper."""
    polygon = sampled(tooth.outline)
    low = min(x - y for x, y in polygon)
    high = max(x - y for x, y in polygon)
    count = int((high - low) / gap_mm)
    return tuple(cut for n in range(1, count + 1) if (cut := _clipped(polygon, low + n * gap_mm)))


def _clipped(polygon: Points, offset: float) -> Points:
    """The stretch of the line x - y = offset that lies within a convex outline."""
    ends = []
    for (x0, y0), (x1, y1) in zip(polygon, (*polygon[1:], polygon[0]), strict=True):
        a, b = x0 - y0 - offset, x1 - y1 - offset
        if (a < 0) != (b < 0):
            share = a / (a - b)
            ends.append((x0 + share * (x1 - x0), y0 + share * (y1 - y0)))
    return (min(ends), max(ends)) if len(ends) >= 2 else ()


def _tooth(tooth: PlannedTooth) -> Iterator[Shape]:
    place, at = tooth.place, (tooth.place.x_mm, tooth.place.y_mm)
    role = "missing" if tooth.missing else "tooth"
    yield Polygon(role, sampled(tooth.outline), tooth.state, dashed=tooth.missing)
    if not tooth.missing:
        yield from (Stroke("ridge", ridge) for ridge in ridges(place))
    if tooth.state == "stale":
        yield from (Stroke("hatch", stroke, "stale") for stroke in hatching(tooth))
    yield Lettering("number", at, tooth.number, NUMBER_MM, tooth.state)
    if tooth.bar:
        yield Stroke("bar", tooth.bar)
    if tooth.extraction:
        yield from (Stroke("cross", stroke, "stopped") for stroke in crossing(tooth))
    if tooth.ring:
        yield Disc("ring", tooth.ring, RING_MM)
        yield Disc("ring_dot", tooth.ring, RING_MM * 0.4)


def _overlay(overlay: Overlay, box: Box | None) -> Iterator[Shape]:
    dashed = overlay.kind in ("fulcrum", "space")
    stops = isinstance(overlay, ArrowOverlay) and overlay.stops
    state: State = "stopped" if stops else "plain"
    yield Stroke(overlay.kind, (overlay.start, overlay.end), state, dashed)
    if isinstance(overlay, ArrowOverlay) and (head := arrow_head(overlay.start, overlay.end)):
        yield Polygon("head", head)
    if box:
        yield Lettering("label", (box.x_mm, box.y_mm), overlay.label, LABEL_MM)


def _dot(dot: Dot) -> Iterator[Shape]:
    if dot.push:
        yield Stroke("push", (dot.at, dot.push), dot.state)
        yield Polygon("head", arrow_head(dot.at, dot.push), dot.state)
    yield Disc("dot", dot.at, DOT_MM, dot.state)


def _badge(badge: Badge) -> Iterator[Shape]:
    if line := leader(badge):
        yield Stroke("leader", line)
    yield Polygon("badge", badge.box.corners, badge.state, dashed=badge.state == "stale")
    at = (badge.box.x_mm, badge.box.y_mm)
    yield Lettering("badge", at, badge.text, BADGE_TEXT_MM, badge.state)
