"""Badges of the arch map: each looks for the nearest free place and none covers another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import hypot

from bench.core.arch import ArchModel, ToothPlace, Vector
from bench.core.archmarks import ArrowOverlay, Overlay, State
from bench.core.surfaces import Site, Surface
from bench.core.toothshape import Points, inside

BADGE_TEXT_MM = 2.4
LABEL_MM = 2.2
BADGE_HEIGHT_MM = 3.8
_LETTER_MM, _BADGE_SIDES_MM = 1.48, 1.7
_CLEAR_MM = 0.35
_MIDLINE_MM = 0.3
_INWARD_MM = 11.2


@dataclass(frozen=True)
class Box:
    """An upright rectangle in mm: its middle and half its two sizes."""

    x_mm: float
    y_mm: float
    half_width_mm: float
    half_height_mm: float

    def meets(self, other: Box, clear_mm: float = 0.0) -> bool:
        """Say whether two boxes overlap or come closer than `clear_mm`."""
        across = self.half_width_mm + other.half_width_mm + clear_mm
        along = self.half_height_mm + other.half_height_mm + clear_mm
        return abs(self.x_mm - other.x_mm) < across and abs(self.y_mm - other.y_mm) < along

    def holds(self, point: Vector) -> bool:
        """Say whether a point lies within the box."""
        return (
            abs(point[0] - self.x_mm) <= self.half_width_mm
            and abs(point[1] - self.y_mm) <= self.half_height_mm
        )

    @property
    def corners(self) -> Points:
        """The four corners in mm."""
        signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        return tuple(
            (self.x_mm + i * self.half_width_mm, self.y_mm + j * self.half_height_mm)
            for i, j in signs
        )


@dataclass(frozen=True)
class Badge:
    """A short text in its box, and the point of the tooth it speaks of."""

    tooth: int
    text: str
    state: State
    box: Box
    points_at: Vector


@dataclass
class Ground:
    """What is already taken on the map, as polygons with their boxes, and boxes."""

    polygons: list[tuple[Box, Points]] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)

    def free(self, box: Box) -> bool:
        """Say whether a box overlaps nothing that is taken."""
        if any(box.meets(taken, _CLEAR_MM) for taken in self.boxes):
            return False
        return not any(
            box.meets(around) and _covers(box, polygon) for around, polygon in self.polygons
        )


def badge_size(text: str) -> tuple[float, float]:
    """Return half the width and half the height in mm that a badge needs for its text."""
    return (_LETTER_MM * len(text) + _BADGE_SIDES_MM) / 2, BADGE_HEIGHT_MM / 2


def placed(arch: ArchModel, site: Site, text: str, state: State, ground: Ground) -> Badge:
    """Return a badge at the nearest free place on its own half of the arch, and take that place."""
    place, (half_w, half_h) = arch.place(site.tooth), badge_size(text)
    tries = (
        Box(*_candidate(place, site.surface, out_mm, shift_mm, (half_w, half_h)), half_w, half_h)
        for out_mm, shift_mm in _WAYS
    )
    inner = -1.0 if place.x_mm < 0 else 1.0
    box = next(
        box for box in tries
        if inner * box.x_mm >= half_w + _MIDLINE_MM and ground.free(box)
    )  # fmt: skip
    ground.boxes.append(box)
    return Badge(site.tooth, text, state, box, arch.point_mm(site))


# Ways out, the shortest first: mm along the normal, mm sideways (mesially first, for symmetry);
# beyond 14 mm only the normal is followed, so that some way is always free.
_WAYS = (
    *sorted(
        product((n * 0.7 for n in range(20)), (0.0, -1.2, 1.2, -2.4, 2.4, -3.6, 3.6)),
        key=lambda way: way[0] + 0.8 * abs(way[1]),
    ),
    *((14.0 + 0.7 * n, shift) for n in range(400) for shift in (0.0, 4.0, 8.0)),
)


def label_boxes(overlays: Sequence[Overlay], ground: Ground) -> tuple[Box | None, ...]:
    """Return where the label of each line or arrow stands; None for one without a label."""
    points = [point for overlay in overlays for point in _along(overlay)]
    ground.boxes += [Box(x, y, 0.2, 0.2) for x, y in points]
    return tuple(_label_box(overlay, ground) if overlay.label else None for overlay in overlays)


def _label_box(overlay: Overlay, ground: Ground) -> Box:
    half = (LABEL_MM * 0.31 * len(overlay.label) + 0.3, LABEL_MM * 0.65)
    tries = [Box(*middle, *half) for middle in _beside(overlay, half)]
    box = next(filter(ground.free, tries), tries[0])
    ground.boxes.append(box)
    return box


def _beside(overlay: Overlay, half: Vector) -> Iterator[Vector]:
    """Places for a label: past the tip of an arrow, then on either side, from the middle on."""
    (x0, y0), (x1, y1) = overlay.start, overlay.end
    length = hypot(x1 - x0, y1 - y0) or 1.0
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    past_mm = abs(ux) * half[0] + abs(uy) * half[1] + 1.0
    if isinstance(overlay, ArrowOverlay):
        yield x1 + ux * past_mm, y1 + uy * past_mm
        yield x0 - ux * past_mm, y0 - uy * past_mm
    beside_mm = abs(uy) * half[0] + abs(ux) * half[1] + 0.9
    for extra_mm, share, side in product(
        (0, 2, 4, 8, 12, 16, 20), (0.5, 0.35, 0.65, 0.2, 0.8), (1, -1)
    ):
        off_mm = side * (beside_mm + extra_mm)
        x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
        yield x - uy * off_mm, y + ux * off_mm
    yield from ((0.0, -10.0 - 3.2 * n) for n in range(40))


def _along(overlay: Overlay) -> Iterator[Vector]:
    (x0, y0), (x1, y1) = overlay.start, overlay.end
    count = int(hypot(x1 - x0, y1 - y0) / 1.2) + 1
    yield from ((x0 + n / count * (x1 - x0), y0 + n / count * (y1 - y0)) for n in range(count + 1))


def _candidate(
    place: ToothPlace, surface: Surface, out_mm: float, shift_mm: float, half: Vector
) -> Vector:
    turn = -1.0 if "L" in surface else 1.0
    if turn < 0 and out_mm >= _INWARD_MM:
        turn, out_mm = 1.0, out_mm - _INWARD_MM
    nx, ny = place.outward[0] * turn, place.outward[1] * turn
    reach_mm = place.depth_mm / 2 + 0.7 + out_mm + abs(nx) * half[0] + abs(ny) * half[1]
    along_mm = (("D" in surface) - ("M" in surface)) * place.width_mm * 0.36 + shift_mm
    x = place.x_mm + nx * reach_mm + place.distal[0] * along_mm
    return x, place.y_mm + ny * reach_mm + place.distal[1] * along_mm


def _covers(box: Box, polygon: Points) -> bool:
    wider = Box(box.x_mm, box.y_mm, box.half_width_mm + 0.3, box.half_height_mm + 0.3)
    if any(wider.holds(point) for point in polygon):
        return True
    return any(inside(polygon, corner) for corner in box.corners)


def around(points: Sequence[Vector | None]) -> Box:
    """Return the box around points, 0.4 mm wider on every side."""
    xs = [p[0] for p in points if p]
    ys = [p[1] for p in points if p]
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    return Box(*middle, (max(xs) - min(xs)) / 2 + 0.4, (max(ys) - min(ys)) / 2 + 0.4)
