"""Photos of the demo: a cast drawn from above, its three ringed marks and its label in view."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import permutations
from math import atan2, cos, dist, fsum, pi, radians, sin

from PIL import Image, ImageDraw

from bench.core.arch import ToothPlace, Vector, arch_model
from bench.core.entries import PhotoKept, PhotoMarksConfirmed, TripodMarked
from bench.core.off import triangle_of
from bench.core.policy import Policy
from bench.core.teeth import Arch, teeth_of
from bench.pictures.ingest import Picture, take_in
from bench.pictures.label import LabelFacts, label_image
from bench.store.photos import PhotoShelf
from bench.words import Words

LABELLED = 30
UNLABELLED_PER_ARCH = 3
BASE_URL = "http://bench.local"
_LABEL_DPI = 229
# As the square comes out in whole pixels: 180 for its 20 mm.
_PX_PER_MM = 9.0
_SIZE_PX = (1000, 1130)
_MIDDLE_PX = (500, 530)
_LABEL_PX = (14, 792)
# The square stands 8 mm inside the picture of its label: 3 to the cut marks, 5 of quiet zone.
_SQUARE_PX = (_LABEL_PX[0] + round(8 * _PX_PER_MM), _LABEL_PX[1] + round(8 * _PX_PER_MM))
_LABEL_MM = 20
# How far from the drawn middles a hand confirmed the marks.
_OFF_PX = ((0.6, -0.4), (-0.5, 0.3), (0.2, 0.7))
_OTHER_HAND = -1.0
_BENCH, _STONE, _SHADE, _TOOTH = (92, 84, 76), (214, 196, 158), (186, 166, 128), (226, 212, 180)
_PENCIL, _RING = Policy().texts["mark_colour"], Policy().texts["ring_colour"]


@dataclass
class Album:
    """Takes the photos of the demo and keeps each on the shelf; later cases share unlabelled ones."""

    shelf: PhotoShelf
    kept: dict[object, Picture] = field(default_factory=dict)
    labelled: set[str] = field(default_factory=set)

    def photo(
        self, facts: LabelFacts, missing: Sequence[int], about: str, shows: str,
        marked: TripodMarked | None = None, turned_deg: float = 0.0,
    ) -> PhotoKept:  # fmt: skip
        """Return the statement that a photo of the cast was kept, about an entry.

        Its marks lie as far apart as `marked` says; without it there are none. A cast put back lies
        turned by some degrees beside its label.
        """
        key: object = (facts.code, marked, turned_deg)
        label: LabelFacts | None = facts
        if key not in self.kept and len(self.kept) >= LABELLED:
            key, label = (facts.arch, sum(map(ord, facts.code)) % UNLABELLED_PER_ARCH), None
        if key not in self.kept:
            picture = take_in(drawn(facts.arch, missing, label, marked, turned_deg), "image/jpeg")
            self.shelf.keep(picture)
            self.kept[key] = picture
            self.labelled |= {picture.sha256_hex} if label else set()
        found = self.kept[key]
        return PhotoKept(
            found.sha256_hex, found.media_type, found.width_px, found.height_px, shows, about
        )


def around(arch: Arch, tooth: int, said: str) -> str:
    """Return the circle to draw over a photo of the album around a tooth, with words beside it."""
    (x, y), wide, high = _px(_beside(arch_model(arch).place(tooth), 0.0)), *_SIZE_PX
    rim = x + 7 * _PX_PER_MM
    return f"circle {x / wide:.4f} {y / high:.4f} {rim / wide:.4f} {y / high:.4f} {said}"


def confirmed(
    kept: PhotoKept, arch: Arch, about: str, marked: TripodMarked, turned_deg: float = 0.0
) -> PhotoMarksConfirmed:
    """Return where label and marks are on a photo of the album, as near as a hand places them."""
    side = round(_LABEL_MM * _PX_PER_MM)
    left, top = _SQUARE_PX
    corners = (left, top, left + side, top, left + side, top + side, left, top + side)
    drawn_px = [_turned(_px(mark), turned_deg) for mark in marks_of(arch, marked)]
    places = zip(drawn_px, _OFF_PX, strict=True)
    hand = _OTHER_HAND if turned_deg else 1.0
    marks = tuple(
        at + hand * off for place, offs in places for at, off in zip(place, offs, strict=True)
    )
    return PhotoMarksConfirmed(
        kept.sha256, about, _LABEL_MM, tuple(map(float, corners)), marks, ("found",) * 3
    )


def drawn(
    arch: Arch, missing: Sequence[int], label: LabelFacts | None, marked: TripodMarked | None,
    turned_deg: float = 0.0,
) -> bytes:  # fmt: skip
    """Return a JPEG of a cast seen from straight above, with its ringed marks and label where given.

    Cast, marks and label are drawn to one scale, so that the photo measures what `marked` says. The
    cast lies turned anticlockwise, the label straight.
    """
    image = Image.new("RGB", _SIZE_PX, _BENCH)
    draw = ImageDraw.Draw(image)
    places = [arch_model(arch).place(tooth) for tooth in teeth_of(arch)]
    _base(draw, arch, places)
    for place in places:
        if place.tooth not in missing:
            draw.polygon(_outline(place), fill=_TOOTH, outline=_SHADE, width=3)
    for mark in marks_of(arch, marked) if marked else ():
        _ringed(draw, _px(mark))
    if turned_deg:
        image = image.rotate(turned_deg, Image.Resampling.BICUBIC, fillcolor=_BENCH)
    if label is not None:
        _put_label(image, label)
    file = io.BytesIO()
    image.save(file, "JPEG", quality=80)
    return file.getvalue()


def marks_of(arch: Arch, marked: TripodMarked) -> list[Vector]:
    """Return where A, B and C lie on the cast: A foremost, as close to the good places as the triangle goes."""
    triangle = triangle_of(marked).marks_mm
    places = [arch_model(arch).place(tooth) for tooth in teeth_of(arch)]
    good = [_beside(places[at], -7.5) for at in (2, -3, 7)]
    orders = [order for order in permutations(range(3)) if order[-1] == 0]
    laid = [_laid([triangle[i] for i in order], good) for order in orders]
    best = min(range(len(orders)), key=lambda n: laid[n][0])
    return [laid[best][1][orders[best].index(mark)] for mark in range(3)]


def _laid(triangle: Sequence[Vector], wanted: Sequence[Vector]) -> tuple[float, list[Vector]]:
    """Return a triangle turned onto three places, the last one met, and how far off the others are."""
    one, other = _centred(triangle), _centred(wanted)
    pairs = list(zip(one, other, strict=True))
    along = fsum(a[0] * b[0] + a[1] * b[1] for a, b in pairs)
    turn = atan2(fsum(a[0] * b[1] - a[1] * b[0] for a, b in pairs), along)
    turned = [(x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)) for x, y in one]
    (front_x, front_y), (wanted_x, wanted_y) = turned[-1], wanted[-1]
    laid = [(x - front_x + wanted_x, y - front_y + wanted_y) for x, y in turned]
    return fsum(dist(a, b) for a, b in zip(laid, wanted, strict=True)), laid


def _centred(places: Sequence[Vector]) -> list[Vector]:
    x_mid, y_mid = (fsum(place[k] for place in places) / len(places) for k in (0, 1))
    return [(x - x_mid, y - y_mid) for x, y in places]


def _px(point_mm: Vector) -> tuple[float, float]:
    return _MIDDLE_PX[0] + point_mm[0] * _PX_PER_MM, _MIDDLE_PX[1] - point_mm[1] * _PX_PER_MM


def _turned(point_px: tuple[float, float], turned_deg: float) -> tuple[float, float]:
    """Return where a point of the picture comes to lie when it is turned anticlockwise about its middle."""
    x_mid, y_mid = (side / 2 for side in _SIZE_PX)
    x, y, turn = point_px[0] - x_mid, point_px[1] - y_mid, radians(turned_deg)
    return x_mid + x * cos(turn) + y * sin(turn), y_mid - x * sin(turn) + y * cos(turn)


def _base(draw: ImageDraw.ImageDraw, arch: Arch, places: Sequence[ToothPlace]) -> None:
    outer = _with_heels([_beside(place, 11.0) for place in places])
    inner = _with_heels([_beside(place, -12.0) for place in places])[::-1]
    edge_mm = outer if arch == "upper" else [*outer, *inner]
    draw.polygon([_px(point) for point in edge_mm], fill=_STONE, outline=_SHADE)
    draw.line([_px(_beside(place, 0.0)) for place in places], fill=_SHADE, width=46, joint="curve")


def _with_heels(edge_mm: list[Vector]) -> list[Vector]:
    """Return the edge drawn on behind the last teeth."""
    (first_x, first_y), (last_x, last_y) = edge_mm[0], edge_mm[-1]
    return [(first_x, first_y - 8.0), *edge_mm, (last_x, last_y - 8.0)]


def _beside(place: ToothPlace, by_mm: float) -> Vector:
    return place.x_mm + by_mm * place.outward[0], place.y_mm + by_mm * place.outward[1]


def _outline(place: ToothPlace) -> list[tuple[float, float]]:
    points = []
    for step in range(24):
        along = cos(step * pi / 12) * place.width_mm / 2
        across = sin(step * pi / 12) * place.depth_mm / 2
        x_mm = place.x_mm + along * place.distal[0] + across * place.outward[0]
        y_mm = place.y_mm + along * place.distal[1] + across * place.outward[1]
        points.append(_px((x_mm, y_mm)))
    return points


def _ringed(draw: ImageDraw.ImageDraw, at_px: tuple[float, float]) -> None:
    x, y = at_px
    draw.line((x - 14, y, x + 14, y), fill=_PENCIL, width=4)
    draw.line((x, y - 14, x, y + 14), fill=_PENCIL, width=4)
    draw.ellipse((x - 26, y - 26, x + 26, y + 26), outline=_RING, width=4)


def _put_label(image: Image.Image, facts: LabelFacts) -> None:
    drawn_label = label_image(facts, Words().say, code_mm=_LABEL_MM, dpi=_LABEL_DPI)
    with Image.open(io.BytesIO(drawn_label)) as label:
        image.paste(label.convert("RGB"), _LABEL_PX)
