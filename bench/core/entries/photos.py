"""What is said of a photo that is kept: where its tripod marks are seen, and what is drawn over it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import dist

from bench.core import bounds
from bench.core.arch import Vector
from bench.core.bounds import BadEntry
from bench.core.entries import vocabulary as v
from bench.core.photoplane import Corners, places_mm, plane_from
from bench.core.refusal import Refusal

LARGEST_PX = 100_000
LEAST_APART_PX = 4.0
LEAST_LABEL_MM, MOST_LABEL_MM = 10.0, 60.0
MOST_DH_MM = 40.0
MOST_LENS_PHOTOS = 1000
MOST_SHAPES = 20
_SHARE = r"(?:0(?:\.\d{1,4})?|1(?:\.0{1,4})?)"
_SHAPE = re.compile(rf"(arrow|circle) ({_SHARE}) ({_SHARE}) ({_SHARE}) ({_SHARE})(?: (.*))?", re.S)


@dataclass(frozen=True, slots=True)
class PhotoMarksConfirmed:
    """A person confirms where a photo shows the label's corners and the marks A, B, C of a tripod.

    Pixels of the upright full-size picture, x and y in turn: the four corners from top left
    clockwise as on the label, then A, B, C. `label_mm` is the side of the label's square, `dh_mm` how
    much higher than the label the marks lie. `came` says for each mark, `label_came` for the corners,
    how its place was come by. `focal_px` is the focal length measured with, None for the usual one: as
    the camera stated it, or worked out from `lens_photos` photos with a standard error of `focal_sd_px`.
    """

    sha256: str
    about: str
    label_mm: float
    corners_px: tuple[float, ...]
    marks_px: tuple[float, ...]
    came: tuple[str, ...]
    label_came: str = "found"
    focal_px: float | None = None
    dh_mm: float = 0.0
    focal_sd_px: float | None = None
    lens_photos: int = 0

    def __post_init__(self) -> None:
        bounds.pattern("sha256", self.sha256, r"[0-9a-f]{64}", "bad_digest")
        bounds.entry_id("about", self.about)
        bounds.within("label_mm", self.label_mm, LEAST_LABEL_MM, MOST_LABEL_MM, "mm")
        _places("corners_px", self.corners_px, 4)
        _places("marks_px", self.marks_px, 3)
        if len(self.came) != 3:
            raise BadEntry("came", "missing")
        for one in self.came:
            bounds.one_of("came", one, v.CAME)
        bounds.one_of("label_came", self.label_came, v.LABEL_CAME)
        bounds.within("focal_px", self.focal_px, 1.0, 10.0 * LARGEST_PX, "px")
        bounds.within("dh_mm", self.dh_mm, -MOST_DH_MM, MOST_DH_MM, "mm")
        bounds.within("focal_sd_px", self.focal_sd_px, 0.0, 10.0 * LARGEST_PX, "px")
        bounds.within("lens_photos", self.lens_photos, 0, MOST_LENS_PHOTOS, "")
        if self.lens_photos and (self.focal_px is None or self.focal_sd_px is None):
            raise BadEntry("focal_px" if self.focal_px is None else "focal_sd_px", "missing")
        self._in_one_plane()

    def _in_one_plane(self) -> None:
        try:
            plane = plane_from(self.corners, self.label_mm)
        except Refusal as refused:
            raise BadEntry("corners_px", refused.code, **refused.params) from refused
        try:
            places_mm(plane, self.marks)
        except Refusal as refused:
            raise BadEntry("marks_px", refused.code, **refused.params) from refused

    @property
    def corners(self) -> Corners:
        """The label's corners as places: top left, top right, bottom right, bottom left."""
        a, b, c, d = _paired(self.corners_px)
        return a, b, c, d

    @property
    def marks(self) -> tuple[Vector, Vector, Vector]:
        """The marks A, B, C as places."""
        a, b, c = _paired(self.marks_px)
        return a, b, c


@dataclass(frozen=True, slots=True)
class Shape:
    """An arrow (from, to its head) or a circle (centre, a place on it), in shares of width and height."""

    sort: str
    start: Vector
    end: Vector
    text: str = ""


@dataclass(frozen=True, slots=True)
class PhotoDrawn:
    """Arrows and circles drawn over a photo, which itself stays as it is; none wipes it clean.

    Each shape is `arrow` or `circle`, four figures from 0 to 1 of the picture's width and height (x and
    y of its start, x and y of its end), and its text.
    """

    sha256: str
    shapes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        bounds.pattern("sha256", self.sha256, r"[0-9a-f]{64}", "bad_digest")
        if len(self.shapes) > MOST_SHAPES:
            raise BadEntry("shapes", "too_many_shapes", most=MOST_SHAPES)
        for one in self.drawn:
            bounds.text("shapes", one.text, most=60)
            if dist(one.start, one.end) < 0.005:
                raise BadEntry("shapes", "no_length")

    @property
    def drawn(self) -> tuple[Shape, ...]:
        """The shapes, read."""
        return tuple(map(_shape_from, self.shapes))


def _shape_from(text: str) -> Shape:
    found = _SHAPE.fullmatch(text)
    if found is None:
        raise BadEntry("shapes", "no_shape", value=text[:60])
    sort, *figures, said = found.groups()
    x1, y1, x2, y2 = map(float, figures)
    return Shape(sort, (x1, y1), (x2, y2), said or "")


def _places(field: str, figures: Sequence[float], count: int) -> None:
    if len(figures) != 2 * count:
        raise BadEntry(field, "places_missing", count=count)
    for figure in figures:
        bounds.within(field, figure, 0.0, LARGEST_PX, "px")
    places = _paired(figures)
    apart = [dist(one, other) for i, one in enumerate(places) for other in places[:i]]
    if min(apart) < LEAST_APART_PX:
        raise BadEntry(field, "same_place_twice")


def _paired(figures: Sequence[float]) -> list[Vector]:
    return list(zip(figures[::2], figures[1::2], strict=True))
