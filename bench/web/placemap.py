"""The places where an interference may lie, drawn beside the arch as areas to tap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees

from bench.core.arch import ArchModel, ToothPlace, Vector
from bench.core.entries.vocabulary import PLACES
from bench.core.teeth import position_of, side_of, teeth_of
from bench.web.archmap import Text, smooth

CLEAR_MM, BAND_MM, FRONT_TO, SIDE_TO = 1.2, 6.4, 3, 7
_PARTS = {
    "right_lingual": ("right", -1), "left_lingual": ("left", -1), "right_buccal": ("right", 1),
    "left_buccal": ("left", 1), "front_labial": ("front", 1), "front_lingual": ("front", -1),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlaceShape:
    """One place as drawn: its outline, and where and how far turned its short name stands."""

    place: str
    path: str
    at: Text
    turn_deg: float = 0.0


def places_of(arch: ArchModel) -> tuple[str, ...]:
    """Return the places a cast has: a palate on an upper cast only."""
    return tuple(place for place in PLACES if place != "palate" or arch.arch == "upper")


def place_shapes(arch: ArchModel, most_x_mm: float) -> tuple[PlaceShape, ...]:
    """Return the areas of a cast's places no wider than the picture, in mm, +y toward the technician."""
    return tuple(_shape(arch, place, most_x_mm) for place in places_of(arch))


def _shape(arch: ArchModel, place: str, most_x_mm: float) -> PlaceShape:
    if place == "palate":
        return _palate(arch)
    part, outward = _PARTS[place]
    near = _edge(arch, part, outward * CLEAR_MM)
    far = _edge(arch, part, outward * (CLEAR_MM + BAND_MM))
    middle = _middle(arch, part, outward * (CLEAR_MM + BAND_MM / 2))
    outline = tuple((_held(x, most_x_mm), y) for x, y in (*near, *reversed(far)))
    label = Text(round(middle[0], 2), round(-middle[1], 2), "")
    return PlaceShape(place, smooth(outline), label, _along_deg(arch, part))


def _along_deg(arch: ArchModel, part: str) -> float:
    """Return how far (degrees, clockwise) a name is turned to run along a part and still be read upright."""
    if part == "front":
        return 0.0
    x, y = arch.place(_teeth(arch, part)[1]).distal
    turned = degrees(atan2(-y, x))
    return round(turned - 180 if turned > 90 else turned + 180 if turned < -90 else turned, 1)


def _held(x: float, most: float) -> float:
    return max(-most, min(most, x))


def _palate(arch: ArchModel) -> PlaceShape:
    inner = -(CLEAR_MM + BAND_MM + 1.2)
    path = (
        *_edge(arch, "right", inner)[::-1],
        *_edge(arch, "front", inner),
        *_edge(arch, "left", inner),
    )
    y = sum(point[1] for point in path) / len(path) - 4
    return PlaceShape("palate", smooth(path), Text(0.0, -y, ""))


def _teeth(arch: ArchModel, part: str) -> list[int]:
    """Return the teeth of a part, from the patient's right to the left; sides begin beside the midline."""
    every = teeth_of(arch.arch)
    if part == "front":
        return [tooth for tooth in every if position_of(tooth) <= FRONT_TO]
    here = [t for t in every if side_of(t) == part and FRONT_TO < position_of(t) <= SIDE_TO]
    return sorted(here, key=position_of)


def _edge(arch: ArchModel, part: str, off_mm: float) -> list[Vector]:
    """Return the line along a part of the arch at a distance from the teeth, outward more than nothing."""
    teeth = _teeth(arch, part)
    points = [_end(arch, teeth[0], off_mm, -1 if part != "front" else 1)]
    points += [_beside(arch.place(tooth), 0.0, off_mm) for tooth in teeth]
    return [*points, _end(arch, teeth[-1], off_mm, 1)]


def _end(arch: ArchModel, tooth: int, off_mm: float, distally: int) -> Vector:
    place = arch.place(tooth)
    return _beside(place, distally * (place.width_mm / 2 - 0.9), off_mm)


def _beside(place: ToothPlace, along_mm: float, off_mm: float) -> Vector:
    out_mm = off_mm + (place.depth_mm / 2 if off_mm > 0 else -place.depth_mm / 2)
    return (
        place.x_mm + along_mm * place.distal[0] + out_mm * place.outward[0],
        place.y_mm + along_mm * place.distal[1] + out_mm * place.outward[1],
    )


def _middle(arch: ArchModel, part: str, off_mm: float) -> Vector:
    teeth = _teeth(arch, part)
    if part != "front":
        return _beside(arch.place(teeth[1 if off_mm > 0 else 2]), 0.0, off_mm)
    points: Sequence[Vector] = [
        _beside(arch.place(t), 0.0, off_mm) for t in teeth if position_of(t) == 1
    ]
    return 0.0, sum(y for _, y in points) / len(points)
