"""The places on a photo while they are chosen: the label's four corners and the marks A, B, C."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import dist
from typing import TypeVar

from bench.core.arch import Vector
from bench.core.bounds import BadEntry
from bench.core.casephotos import CasePhoto
from bench.core.entries import PhotoMarksConfirmed, TripodMarked
from bench.core.lens import USUAL, Lens
from bench.core.photonaming import named
from bench.core.photoplane import plane_from
from bench.core.refusal import Refusal
from bench.core.tripod import Sense
from bench.pictures.seen import Seen
from bench.web.forms import Form, number_from

MARKS = ("a", "b", "c")
CORNERS = ("tl", "tr", "br", "bl")
SPOTS = (*MARKS, *CORNERS)
NAMES = {"turn": ("b", "c", "a"), "swap": ("a", "c", "b")}

Place = Vector | None
T = TypeVar("T")


@dataclass(frozen=True)
class Places:
    """Places by their spot (`a` to `c`, `tl` to `bl` clockwise), None where none is chosen yet.

    `came` tells how each mark was come by, `label_came` the corners; `source` where all of it is from:
    confirmed before, found in the photo, typed on this page, or nothing. `focal_px`, `focal_sd_px` and
    `lens_photos` are as in PhotoMarksConfirmed.
    """

    at: Mapping[str, Place]
    came: Mapping[str, str]
    label_came: str
    label_mm: float
    focal_px: float | None
    dh_mm: float
    source: str
    focal_sd_px: float | None = None
    lens_photos: int = 0

    @property
    def next_spot(self) -> str:
        """The first spot without a place, marks before corners; the first mark when all have one."""
        return next((spot for spot in SPOTS if self.at[spot] is None), "a")

    @property
    def whole(self) -> bool:
        """Whether every spot has its place."""
        return all(self.at.values())

    @property
    def outline(self) -> list[Vector]:
        """The corners that have a place, in order round the label."""
        return [place for spot in CORNERS if (place := self.at[spot]) is not None]

    @property
    def px_per_mm(self) -> float | None:
        """How many pixels a millimetre takes near the label; None while a corner is missing."""
        corners = self.outline
        if len(corners) < 4:
            return None
        around = sum(dist(corners[i - 1], corners[i]) for i in range(4))
        return around / 4 / self.label_mm

    def through(self, lens: Lens, width_px: float, height_px: float) -> Places:
        """Return the places in a picture of this size taken with a lens."""
        if lens == USUAL:
            return replace(self, focal_px=None, focal_sd_px=None, lens_photos=0)
        focal_px = round(lens.focal_px(width_px, height_px), 2)
        if not lens.photos:
            return replace(self, focal_px=focal_px, focal_sd_px=None, lens_photos=0)
        sd_px = round(focal_px * lens.sd, 2)
        return replace(self, focal_px=focal_px, focal_sd_px=sd_px, lens_photos=lens.photos)

    def put(self, spot: str, place: Vector, came: str) -> Places:
        """Return the places with one of them elsewhere; a mark that was found stays known as moved."""
        at = {**self.at, spot: place}
        if spot in CORNERS:
            return replace(self, at=at, label_came="placed", source="typed")
        moved = "moved" if self.came[spot] in ("found", "moved") else came
        return replace(self, at=at, came={**self.came, spot: moved}, source="typed")

    def renamed(self, way: str) -> Places:
        """Return the places with the letters passed on: in a ring, or B and C exchanged."""
        new = dict(zip(MARKS, NAMES[way], strict=True))
        at = {**self.at, **{spot: self.at[old] for spot, old in new.items()}}
        came = {spot: self.came[old] for spot, old in new.items()}
        return replace(self, at=at, came=came, source="typed")


def nothing(label_mm: float) -> Places:
    """Return no places at all."""
    return Places(
        dict.fromkeys(SPOTS), dict.fromkeys(MARKS, "tapped"), "placed", label_mm, None, 0.0, "none"
    )


def confirmed(body: PhotoMarksConfirmed) -> Places:
    """Return the places that were confirmed before."""
    at = dict(zip((*MARKS, *CORNERS), (*body.marks, *body.corners), strict=True))
    came = dict(zip(MARKS, body.came, strict=True))
    return Places(
        at, came, body.label_came, body.label_mm, body.focal_px, body.dh_mm, "confirmed",
        body.focal_sd_px, body.lens_photos,
    )  # fmt: skip


def found(seen: Seen, marked: TripodMarked | None, label_mm: float) -> Places:
    """Return the places that were found in a photo, named as the record lets them be named."""
    empty = nothing(label_mm)
    at: dict[str, Place] = {**empty.at}
    if seen.label is not None:
        at |= dict(zip(CORNERS, seen.label.corners_px, strict=True))
    marks = [(mark.x_px, mark.y_px) for mark in seen.marks]
    order = _names(seen, marks, marked, label_mm) or range(min(3, len(marks)))
    at |= {spot: marks[i] for spot, i in zip(MARKS, order, strict=False)}
    came = {spot: "found" if at[spot] else "tapped" for spot in MARKS}
    return Places(at, came, "found" if seen.label else "placed", label_mm, None, 0.0, "found")


def _names(
    seen: Seen, marks: Sequence[Vector], marked: TripodMarked | None, label_mm: float
) -> Sequence[int] | None:
    if seen.label is None or marked is None:
        return None
    caliper = (marked.d_ab_mm, marked.d_ac_mm, marked.d_bc_mm)
    sense: Sense = "clockwise" if marked.sense == "clockwise" else "anticlockwise"
    try:
        plane = plane_from(seen.label.corners_px, label_mm)
        return named([plane.mm_of(mark) for mark in marks], caliper, sense)
    except Refusal:
        return None


def typed(form: Form, otherwise: Places) -> Places:
    """Return the places as a form has them; what cannot be read has none."""
    marks, corners = _pairs(form.getlist("marks_px")), _pairs(form.getlist("corners_px"))
    at = {**dict(zip(MARKS, marks, strict=False)), **dict(zip(CORNERS, corners, strict=False))}
    came = dict(zip(MARKS, form.getlist("came"), strict=False))
    return Places(
        {spot: at.get(spot) for spot in SPOTS},
        {spot: came.get(spot, "tapped") for spot in MARKS},
        form.get("label_came", otherwise.label_came),
        _number(form.get("label_mm"), otherwise.label_mm),
        _number(form.get("focal_px"), 0.0) or None, _number(form.get("dh_mm"), 0.0), "typed",
        _number(form.get("focal_sd_px"), 0.0) or None, int(_number(form.get("lens_photos"), 0)),
    )  # fmt: skip


def _pairs(texts: Sequence[str]) -> list[Place]:
    figures = [_number(text, None) for text in texts]
    return [
        None if x is None or y is None else (x, y)
        for x, y in zip(figures[::2], figures[1::2], strict=False)
    ]


def _number(text: str | None, otherwise: T) -> float | T:
    try:
        return number_from("place", (text or "").strip())
    except BadEntry:
        return otherwise


def body_of(places: Places, photo: CasePhoto, about: str) -> PhotoMarksConfirmed:
    """Return what the places state of a photo; raises BadEntry where they state nothing that can be."""
    return PhotoMarksConfirmed(
        photo.sha, about, places.label_mm, _flat(places, CORNERS), _flat(places, MARKS),
        tuple(places.came[spot] for spot in MARKS), places.label_came, places.focal_px, places.dh_mm,
        places.focal_sd_px, places.lens_photos,
    )  # fmt: skip


def _flat(places: Places, spots: Sequence[str]) -> tuple[float, ...]:
    return tuple(figure for spot in spots for figure in places.at[spot] or ())
