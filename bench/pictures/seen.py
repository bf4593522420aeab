"""What a look at a tripod photo finds.

Places are pixels of the upright full-size picture: (0, 0) is the outer corner of its top left
pixel, x runs right, y down. They are continuous: the middle of that pixel is (0.5, 0.5).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Rgb = tuple[int, int, int]
Place = tuple[float, float]
Corners = tuple[Place, Place, Place, Place]
Hint = Literal[
    "no_label",
    "other_label",
    "foreign_label",
    "several_labels",
    "unrefined",
    "no_marks",
    "few_marks",
    "many_marks",
    "tilted",
    "blurred",
    "far",
]


@dataclass(frozen=True)
class MarkColours:
    """The colours of the marks and of the rings around them, as red, green and blue of 0-255."""

    mark_rgb: Rgb
    ring_rgb: Rgb


@dataclass(frozen=True)
class LabelSeen:
    """The label in a photo: its code and the corners of its dark square.

    The corners are those of the label's own top left, top right, bottom right and bottom left,
    however the photo is turned. Where `refined`, they come from a fit of the whole known pattern,
    and the homography through them is that fit.
    """

    code: str | None
    corners_px: Corners
    refined: bool


@dataclass(frozen=True)
class MarkSeen:
    """A ringed mark: the middle of its stroke, how wide its ring is, and how sure it is (0-1)."""

    x_px: float
    y_px: float
    radius_px: float
    confidence: float


@dataclass(frozen=True)
class Seen:
    """What a look at a photo finds; the marks most sure first.

    `other_codes` are labels of other cases. `hints` say what a better photo would take, each
    `pictures.hint.<hint>` in the catalogue. `focal_px` is known where the file states the focal
    length as on 35 mm film; `told_focal_px` with its standard error is what a refined label tells of
    it, the usual lens counted in.
    """

    width_px: int
    height_px: int
    label: LabelSeen | None
    other_codes: tuple[str, ...]
    marks: tuple[MarkSeen, ...]
    hints: tuple[Hint, ...]
    focal_px: float | None
    told_focal_px: float | None = None
    told_focal_sd_px: float | None = None
