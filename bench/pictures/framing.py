"""What a better photo would take, and what the file says of the lens."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import hypot

import numpy as np

from bench.pictures.container import Stripped
from bench.pictures.labelplane import Plane, Square
from bench.pictures.rings import Ringed
from bench.pictures.seen import Hint

WANTED_MARKS = 3
# The longer side of a square over its shorter one, at about 20 degrees of tilt and 300 mm.
_MOST_UNEVEN = 1.09
_MOST_BLUR_DOTS = 0.55
_LEAST_SIDE_PX = 70.0


def hints(
    squares: Sequence[Square],
    chosen: Square | None,
    plane: Plane | None,
    code: str | None,
    marks: Sequence[Ringed],
) -> tuple[Hint, ...]:
    """Return what a better photo would take, the most important first."""
    return (*_label_hints(squares, chosen, plane, code), *_mark_hints(marks))


def _label_hints(
    squares: Sequence[Square], chosen: Square | None, plane: Plane | None, code: str | None
) -> Iterator[Hint]:
    if chosen is None or plane is None:
        yield "foreign_label" if squares else "no_label"
        return
    if code and chosen.code != code:
        yield "other_label"
    if len({square.code for square in squares if square.code}) > 1:
        yield "several_labels"
    if not plane.refined:
        yield "unrefined"
    sides = np.roll(plane.corners_px, -1, axis=0) - plane.corners_px
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    if lengths.max() > _MOST_UNEVEN * lengths.min():
        yield "tilted"
    if plane.side_px < _LEAST_SIDE_PX:
        yield "far"
    if plane.blur_dots > _MOST_BLUR_DOTS:
        yield "blurred"


def _mark_hints(marks: Sequence[Ringed]) -> Iterator[Hint]:
    if not marks:
        yield "no_marks"
    elif len(marks) < WANTED_MARKS:
        yield "few_marks"
    elif len(marks) > WANTED_MARKS:
        yield "many_marks"


def focal_px(source: Stripped, size_px: tuple[int, int]) -> float | None:
    """Return the focal length in pixels where the file states it as on 35 mm film.

    Both are compared by the diagonal of the picture, that of film being 43.27 mm (36 by 24 mm).
    """
    if source.film_mm is None:
        return None
    return source.film_mm / hypot(36, 24) * hypot(*size_px)
