"""The arch map as a picture for a page: finished paths, links, and words for every tooth."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from bench.core.arch import ArchModel, Vector
from bench.core.archmarks import ArrowOverlay, LineOverlay, Overlay, State, SurfaceMark, ToothMark
from bench.core.archplan import (
    CLOSE_UP_CENTRE,
    CLOSE_UP_INNER_MM,
    CLOSE_UP_MM,
    Dot,
    Plan,
    PlannedTooth,
    Zone,
    plan_map,
    rim,
)
from bench.core.archshapes import arrow_head, crossing, leader
from bench.core.badges import Badge, Box
from bench.core.surfaces import Site, Surface
from bench.core.teeth import Numbering, position_of, written
from bench.core.toothshape import Points, handles, ridges

__all__ = [
    "ArrowOverlay", "LineOverlay", "MapPicture", "Overlay", "State", "SurfaceMark", "ToothMark",
    "draw",
]  # fmt: skip

Href = Callable[[int, str | None], str]
_SIDE_MM, _FRONT_ROOM_MM, _BACK_MM, _EDGE_MM = 8.6, 3.8, -24.0, 1.2


class Say(Protocol):
    """The catalogue: a dotted key and its parameters become words."""

    def __call__(self, key: str, /, **params: object) -> str: ...


@dataclass(frozen=True)
class Text:
    """A text centred at a place of the picture."""

    x: float
    y: float
    text: str


@dataclass(frozen=True)
class ToothShape:
    """One tooth as drawn: paths, words for the reader, and the address a tap opens."""

    tooth: int
    look: str
    state: State
    body: str
    reach: str
    ridges: str
    bar: str
    number: Text
    label: str
    href: str | None
    chosen: bool
    cross: str
    ring: Vector | None


@dataclass(frozen=True)
class DotShape:
    """The mark on a surface, with the arrow of a push."""

    x: float
    y: float
    state: State
    push: str
    head: str


@dataclass(frozen=True)
class BadgeShape:
    """A badge with the line that ties it to its surface."""

    x: float
    y: float
    width: float
    height: float
    state: State
    text: Text
    leader: str


@dataclass(frozen=True)
class ZoneShape:
    """One surface of the enlarged tooth."""

    surface: Surface
    face: str
    state: State
    letters: Text
    reading: Text | None
    label: str
    href: str | None
    chosen: bool


@dataclass(frozen=True)
class OverlayShape:
    """A line or an arrow over the map."""

    kind: str
    line: str
    head: str
    label: Text | None


@dataclass(frozen=True)
class CloseUp:
    """The chosen tooth, enlarged in the middle of the arch."""

    label: str
    backing: str
    occlusal: str
    title: Text
    zones: tuple[ZoneShape, ...]


@dataclass(frozen=True)
class MapPicture:
    """Everything `pieces/archmap.html` draws; lengths in mm, +y toward the technician."""

    view_box: str
    width: float
    height: float
    label: str
    front: Text
    left: Text
    right: Text
    teeth: tuple[ToothShape, ...]
    dots: tuple[DotShape, ...]
    badges: tuple[BadgeShape, ...]
    overlays: tuple[OverlayShape, ...]
    close_up: CloseUp | None
    linked: bool


def draw(
    arch: ArchModel,
    *,
    say: Say,
    missing: Collection[int] = (),
    replaced: Collection[int] = (),
    extractions: Collection[int] = (),
    teeth: Mapping[int, ToothMark] | None = None,
    surfaces: Mapping[Site, SurfaceMark] | None = None,
    chosen_tooth: int | None = None,
    chosen_surface: Surface | None = None,
    numbering: Numbering = "iso",
    href: Href | None = None,
    link_missing: bool = False,
    overlays: Sequence[Overlay] = (),
    room_mm: Vector = (0.0, 0.0),
) -> MapPicture:
    """Return the picture of an arch; without `href` it is a still picture for print.

    `teeth` and `surfaces` carry state, word and badge already in the reader's language;
    `link_missing` makes gaps tappable too, `room_mm` leaves that much free at the sides and in front.
    Raises WrongArch for a chosen tooth of the other arch.
    """
    plan = plan_map(
        arch,
        missing=missing,
        replaced=replaced,
        extractions=extractions,
        teeth=teeth,
        surfaces=surfaces,
        chosen_tooth=chosen_tooth,
        numbering=numbering,
        overlays=overlays,
    )
    reader = _Reader(say, numbering, surfaces or {}, teeth or {}, href, link_missing)
    return _picture(arch, plan, reader, chosen_tooth, chosen_surface, room_mm)


@dataclass(frozen=True)
class _Reader:
    """Whom the picture is for: words, numbering, marks and addresses."""

    say: Say
    numbering: Numbering
    surfaces: Mapping[Site, SurfaceMark]
    teeth: Mapping[int, ToothMark]
    href: Href | None
    link_missing: bool

    def written(self, tooth: int) -> str:
        return written(tooth, self.numbering)

    def named(self, tooth: int) -> str:
        name = self.say(f"shell.tooth.{position_of(tooth)}")
        return self.say("shell.map.tooth", tooth=self.written(tooth), name=name)

    def joined(self, *parts: str) -> str:
        return self.say("shell.map.join").join(part for part in parts if part)


def _picture(
    arch: ArchModel,
    plan: Plan,
    reader: _Reader,
    chosen_tooth: int | None,
    chosen_surface: Surface | None,
    room_mm: Vector,
) -> MapPicture:
    side_mm, front_mm = (max(pair) for pair in zip(room_mm, (0.0, _FRONT_ROOM_MM), strict=True))
    half, top = plan.half_width_mm + side_mm + _EDGE_MM, plan.front_mm + front_mm + _EDGE_MM
    bottom = min(plan.back_mm - 4.4, _BACK_MM if plan.zones else 0.0)
    width, height = round(2 * half, 1), round(top - bottom, 1)
    viewer = ("right", "left") if arch.arch == "upper" else ("left", "right")
    sides = {viewer[0]: _SIDE_MM - half, viewer[1]: half - _SIDE_MM}
    return MapPicture(
        view_box=f"{-half:.1f} {-top:.1f} {width} {height}",
        width=width,
        height=height,
        label=reader.say(f"shell.map.name_{arch.arch}"),
        front=_text((0.0, plan.front_mm + _FRONT_ROOM_MM - 1.2), reader.say("shell.map.front")),
        left=_text((sides["left"], bottom + 2.4), reader.say("shell.map.left")),
        right=_text((sides["right"], bottom + 2.4), reader.say("shell.map.right")),
        teeth=tuple(_tooth(tooth, reader, chosen_tooth) for tooth in plan.teeth),
        dots=tuple(_dot(dot) for dot in plan.dots),
        badges=tuple(_badge(badge) for badge in plan.badges),
        overlays=tuple(
            _overlay(*item) for item in zip(plan.overlays, plan.label_boxes, strict=True)
        ),
        close_up=_close_up(plan, reader, chosen_tooth, chosen_surface),
        linked=reader.href is not None,
    )


def _tooth(tooth: PlannedTooth, reader: _Reader, chosen_tooth: int | None) -> ToothShape:
    number, at = tooth.place.tooth, (tooth.place.x_mm, tooth.place.y_mm)
    linked = reader.href and (reader.link_missing or not tooth.missing)
    return ToothShape(
        tooth=number,
        look="missing" if tooth.missing else tooth.state,
        state=tooth.state,
        body=smooth(tooth.outline),
        reach=closed(tooth.reach),
        ridges="" if tooth.missing else "".join(line(ridge) for ridge in ridges(tooth.place)),
        bar=line(tooth.bar) if tooth.bar else "",
        number=_text(at, tooth.number),
        label=_tooth_label(tooth, reader),
        href=reader.href(number, None) if linked and reader.href else None,
        chosen=number == chosen_tooth,
        cross="".join(line(stroke) for stroke in crossing(tooth)) if tooth.extraction else "",
        ring=_flipped(tooth.ring) if tooth.ring else None,
    )


def _tooth_label(tooth: PlannedTooth, reader: _Reader) -> str:
    number, say = tooth.place.tooth, reader.say
    gap = "replaced" if tooth.replaced else "missing" if tooth.missing else ""
    mark = reader.teeth.get(number)
    badge = say("shell.map.badge", badge=mark.badge) if mark and mark.badge else ""
    read = (
        reader.joined(f"{site.surface} {of.word}", of.badge or "")
        for site, of in sorted(reader.surfaces.items())
        if site.tooth == number
    )
    return reader.joined(
        reader.named(number),
        say(f"shell.map.{gap}") if gap else "",
        say("shell.map.extraction") if tooth.extraction else "",
        tooth.word,
        badge,
        say("shell.map.planned") if tooth.planned else "",
        *read,
    )


def _close_up(
    plan: Plan, reader: _Reader, tooth: int | None, chosen_surface: Surface | None
) -> CloseUp | None:
    if tooth is None or not plan.zones:
        return None
    place = next(planned.place for planned in plan.teeth if planned.place.tooth == tooth)
    return CloseUp(
        label=reader.say("shell.map.close_up", tooth=reader.named(tooth)),
        backing=closed(rim(place, CLOSE_UP_MM + 1.2)),
        occlusal=closed(rim(place, CLOSE_UP_INNER_MM - 0.5)),
        title=_text(CLOSE_UP_CENTRE, reader.written(tooth)),
        zones=tuple(_zone(zone, tooth, reader, chosen_surface) for zone in plan.zones),
    )


def _zone(zone: Zone, tooth: int, reader: _Reader, chosen_surface: Surface | None) -> ZoneShape:
    mark = reader.surfaces.get(Site(tooth, zone.surface))
    reading = mark.badge if mark and mark.badge else ""
    name = reader.say(f"shell.surface.{zone.surface}")
    # What is seen is part of what is said (WCAG 2.2, 2.5.3), so the reading follows the letters.
    seen = f"{zone.surface} {reading}".strip()
    words = reader.say("shell.map.surface", tooth=reader.written(tooth), surface=seen, name=name)
    push = reader.say("shell.map.push") if mark and mark.push else ""
    x, y = zone.at
    return ZoneShape(
        surface=zone.surface,
        face=closed(zone.outline),
        state=mark.state if mark else "plain",
        letters=_text((x, y + (1.2 if reading else 0)), zone.surface),
        reading=_text((x, y - 1.7), reading) if reading else None,
        label=reader.joined(words, mark.word if mark else "", push),
        href=reader.href(tooth, zone.surface) if reader.href else None,
        chosen=zone.surface == chosen_surface,
    )


def _dot(dot: Dot) -> DotShape:
    x, y = _flipped(dot.at)
    push = line((dot.at, dot.push)) if dot.push else ""
    head = closed(arrow_head(dot.at, dot.push)) if dot.push else ""
    return DotShape(x, y, dot.state, push, head)


def _badge(badge: Badge) -> BadgeShape:
    box = badge.box
    x, y = _flipped((box.x_mm - box.half_width_mm, box.y_mm + box.half_height_mm))
    tie = leader(badge)
    text = _text((box.x_mm, box.y_mm), badge.text)
    width, height = round(2 * box.half_width_mm, 2), round(2 * box.half_height_mm, 2)
    return BadgeShape(x, y, width, height, badge.state, text, line(tie) if tie else "")


def _overlay(overlay: Overlay, box: Box | None) -> OverlayShape:
    arrow = isinstance(overlay, ArrowOverlay)
    head = arrow_head(overlay.start, overlay.end, 2.4) if arrow else ()
    label = _text((box.x_mm, box.y_mm), overlay.label) if box else None
    path = line((overlay.start, overlay.end))
    stops = isinstance(overlay, ArrowOverlay) and overlay.stops
    kind = f"{overlay.kind} stops" if stops else overlay.kind
    return OverlayShape(kind, path, closed(head) if head else "", label)


def smooth(points: Points) -> str:
    """Return the path of the smooth closed curve through points in mm."""
    pieces = (" ".join(_pair(point) for point in piece) for piece in handles(points))
    return f"M{_pair(points[0])}" + "".join(f"C{piece}" for piece in pieces) + "Z"


def closed(points: Points) -> str:
    """Return the path of a polygon in mm."""
    return line(points) + "Z"


def line(points: Points) -> str:
    """Return the path of an open line in mm."""
    return "M" + "L".join(_pair(point) for point in points)


def _text(at: Vector, text: str) -> Text:
    return Text(*_flipped(at), text)


def _flipped(at: Vector) -> Vector:
    # Pictures count downward, casts toward the front; + 0.0 turns -0.0 into 0.0.
    return round(at[0], 2) + 0.0, round(-at[1], 2) + 0.0


def _pair(point: Vector) -> str:
    x, y = _flipped(point)
    return f"{x:g} {y:g}"
