"""What the detector gets right on photos whose truth is known, summed up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from bench.core import photoplane
from bench.pictures.looking import Seen, look
from tests.pictures.photomaker import Conditions, Truth, photo

SIDES = ((0, 1), (0, 2), (1, 2))  # as photoplane.distances_mm has them
FOUND_WITHIN_MM = 1.2


@dataclass
class Figures:
    """Counts and errors over photos; lengths in mm, `known` where the height difference was told."""

    photos: int = 0
    marks: int = 0
    found: int = 0
    whole: int = 0
    false: int = 0
    labels: int = 0
    off_mm: list[float] = field(default_factory=list)
    corner_px: list[float] = field(default_factory=list)
    sides_mm: list[float] = field(default_factory=list)
    sides_known_mm: list[float] = field(default_factory=list)

    @property
    def recall(self) -> float:
        """Return the share of the marks that were found."""
        return self.found / max(self.marks, 1)

    def add(self, seen: Seen, truth: Truth) -> None:
        """Count one photo."""
        self.photos += 1
        self.marks += len(truth.marks_px)
        matched = marks_matched(seen, truth)
        here = [n for n in matched if n is not None]
        self.found += len(here)
        self.false += len(seen.marks) - len(here)
        self.whole += len(here) == len(truth.marks_px)
        places = np.array([[mark.x_px, mark.y_px] for mark in seen.marks]).reshape(-1, 2)
        for n, at in zip(matched, truth.marks_px, strict=True):
            if n is not None:
                self.off_mm.append(float(np.hypot(*(places[n] - at))) / truth.px_per_mm)
        if seen.label is None:
            return
        self.labels += 1
        away = np.array(seen.label.corners_px) - truth.corners_px
        self.corner_px.append(float(np.hypot(away[:, 0], away[:, 1]).max()))
        if len(here) == 3:
            self._add_sides(seen, truth, [(places[n][0], places[n][1]) for n in here])

    def _add_sides(self, seen: Seen, truth: Truth, marks_px: list[tuple[float, float]]) -> None:
        assert seen.label is not None
        plane = photoplane.plane_from(seen.label.corners_px, truth.label_mm)
        camera = photoplane.camera_of(plane, truth.focal_px, seen.width_px, seen.height_px)
        known = photoplane.height_factor(camera.height_mm, truth.dh_mm)
        wanted = [float(np.linalg.norm(truth.marks_mm[a] - truth.marks_mm[b])) for a, b in SIDES]
        for factor, errors in ((1.0, self.sides_mm), (known, self.sides_known_mm)):
            sides = photoplane.distances_mm(photoplane.places_mm(plane, marks_px, factor))
            errors += [abs(side - true) for side, true in zip(sides, wanted, strict=True)]


def marks_matched(seen: Seen, truth: Truth) -> list[int | None]:
    """Return for each true mark which of those seen it is."""
    reach_px = FOUND_WITHIN_MM * truth.px_per_mm
    matched: list[int | None] = []
    for x, y in truth.marks_px:
        away = [float(np.hypot(mark.x_px - x, mark.y_px - y)) for mark in seen.marks]
        nearest = int(np.argmin(away)) if away else None
        matched.append(nearest if nearest is not None and away[nearest] < reach_px else None)
    return matched


def figures(conditions: Conditions, seeds: Iterable[int]) -> Figures:
    """Return the figures over one photo a seed."""
    total = Figures()
    for seed in seeds:
        data, truth = photo(seed, conditions)
        total.add(look(data, truth.colours, code=truth.code, label_mm=truth.label_mm), truth)
    return total


def middle(values: list[float], share: float = 50) -> float:
    """Return a percentile of values, and nothing of none."""
    return float(np.percentile(values, share)) if values else float("nan")
