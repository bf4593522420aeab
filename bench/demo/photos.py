"""Photos of the demo: a cast drawn from above, its three ringed marks and its label in view."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import cos, pi, sin
from random import Random

from PIL import Image, ImageDraw

from bench.core.arch import ToothPlace, Vector, arch_model
from bench.core.entries import PhotoKept
from bench.core.teeth import Arch, teeth_of
from bench.pictures.ingest import Picture, take_in
from bench.pictures.label import LabelFacts, label_image
from bench.store.photos import PhotoShelf
from bench.words import Words

LABELLED = 30
UNLABELLED_PER_ARCH = 3
BASE_URL = "http://bench.local"
_SIZE_PX = (1000, 960)
_PX_PER_MM = 9.0
_BENCH, _STONE, _SHADE, _TOOTH = (92, 84, 76), (214, 196, 158), (186, 166, 128), (226, 212, 180)
_PENCIL, _RING = (52, 50, 54), (178, 42, 38)
_LABEL_DPI = 155


@dataclass
class Album:
    """Takes the photos of the demo and keeps each on the shelf; later cases share unlabelled ones."""

    shelf: PhotoShelf
    kept: dict[object, Picture] = field(default_factory=dict)

    def photo(self, facts: LabelFacts, missing: Sequence[int], about: str, shows: str) -> PhotoKept:
        """Return the statement that a photo of the cast was kept, about an entry."""
        key: object = facts.code
        if key not in self.kept and len(self.kept) >= LABELLED:
            key = (facts.arch, sum(map(ord, facts.code)) % UNLABELLED_PER_ARCH)
        if key not in self.kept:
            label = facts if key == facts.code else None
            picture = take_in(drawn(facts.arch, missing, label, Random(str(key))), "image/jpeg")
            self.shelf.keep(picture)
            self.kept[key] = picture
        found = self.kept[key]
        return PhotoKept(
            found.sha256_hex, found.media_type, found.width_px, found.height_px, shows, about
        )


def drawn(arch: Arch, missing: Sequence[int], label: LabelFacts | None, random: Random) -> bytes:
    """Return a JPEG of a cast seen from above with three ringed marks, and its label if one is given."""
    image = Image.new("RGB", _SIZE_PX, _BENCH)
    draw = ImageDraw.Draw(image)
    places = [arch_model(arch).place(tooth) for tooth in teeth_of(arch)]
    _base(draw, arch, places)
    for place in places:
        if place.tooth not in missing:
            draw.polygon(_outline(place), fill=_TOOTH, outline=_SHADE, width=3)
    for mark in _marks(places, random):
        _ringed(draw, _px(mark))
    if label is not None:
        _put_label(image, label)
    file = io.BytesIO()
    image.save(file, "JPEG", quality=80)
    return file.getvalue()


def _px(point_mm: Vector) -> tuple[float, float]:
    return _SIZE_PX[0] / 2 + point_mm[0] * _PX_PER_MM, 560 - point_mm[1] * _PX_PER_MM


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


def _marks(places: Sequence[ToothPlace], random: Random) -> list[Vector]:
    """Return three marks on the lingual side: far back on both sides, and in front."""
    chosen = (places[2], places[-3], places[7])
    return [_beside(place, -7.0 - random.random()) for place in chosen]


def _ringed(draw: ImageDraw.ImageDraw, at_px: tuple[float, float]) -> None:
    x, y = at_px
    draw.line((x - 14, y, x + 14, y), fill=_PENCIL, width=4)
    draw.line((x, y - 14, x, y + 14), fill=_PENCIL, width=4)
    draw.ellipse((x - 26, y - 26, x + 26, y + 26), outline=_RING, width=4)


def _put_label(image: Image.Image, facts: LabelFacts) -> None:
    with Image.open(io.BytesIO(label_image(facts, Words().say, dpi=_LABEL_DPI))) as label:
        image.paste(label.convert("RGB"), (20, _SIZE_PX[1] - label.height - 20))
