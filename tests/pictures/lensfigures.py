"""How far distances are off whose height is known and whose lens only the photos tell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bench.core import photoplane
from bench.core.lens import USUAL, Lens, pooled, stated
from bench.pictures.glance import look
from bench.pictures.seen import Seen
from tests.pictures.figures import SIDES, marks_matched
from tests.pictures.photomaker import KNOWN_HEIGHT, Conditions, Truth, photo

# Lenses as on 35 mm film, the usual one being 28: one a good deal wider, one narrower.
FILMS_MM = (23.5, 28.0, 33.5)
FLAWED = {"middle_off": (0.004, -0.003), "bent": 0.005}
PHOTOS = 20


@dataclass(frozen=True)
class Shot:
    """A photo with what was found in it; the lens is what this photo tells alone."""

    seen: Seen
    truth: Truth
    marks_px: tuple[tuple[float, float], ...]
    lens: Lens

    def sides_off_mm(self, lens: Lens) -> list[float]:
        """Return how far the three distances are off, measured with a lens."""
        seen, truth = self.seen, self.truth
        assert seen.label is not None
        plane = photoplane.plane_from(seen.label.corners_px, truth.label_mm)
        size_px = (seen.width_px, seen.height_px)
        camera = photoplane.camera_of(plane, lens.focal_px(*size_px), *size_px)
        factor = photoplane.height_factor(camera.height_mm, truth.dh_mm)
        found = photoplane.distances_mm(photoplane.places_mm(plane, self.marks_px, factor))
        true = [float(np.linalg.norm(truth.marks_mm[a] - truth.marks_mm[b])) for a, b in SIDES]
        return [abs(side - wanted) for side, wanted in zip(found, true, strict=True)]

    @property
    def true_lens(self) -> Lens:
        """The lens the photo was taken with."""
        return stated(self.truth.focal_px, self.seen.width_px, self.seen.height_px)


def under(tilt_deg: tuple[float, float], *, flawed: bool = False) -> Conditions:
    """Return the conditions of these figures: marks up to 8 mm higher or lower than the label."""
    flaws: dict[str, object] = FLAWED if flawed else {}
    return replace(KNOWN_HEIGHT, tilt_deg=tilt_deg, **flaws)


def roll(first_seed: int, conditions: Conditions, photos: int = PHOTOS) -> list[Shot]:
    """Return the photos of one tablet in which label and marks were found."""
    return list(_shots(range(first_seed, first_seed + photos), conditions))


def _shots(seeds: Sequence[int], conditions: Conditions) -> Iterator[Shot]:
    for seed in seeds:
        data, truth = photo(seed, conditions)
        seen = look(data, truth.colours, truth.code, truth.label_mm)
        places = [n for n in marks_matched(seen, truth) if n is not None]
        if seen.label is None or len(places) < 3:
            continue
        marks = tuple((seen.marks[n].x_px, seen.marks[n].y_px) for n in places)
        yield Shot(seen, truth, marks, _told(seen))


def _told(seen: Seen) -> Lens:
    if seen.told_focal_px is None or seen.told_focal_sd_px is None:
        return USUAL
    lens = stated(seen.told_focal_px, seen.width_px, seen.height_px)
    return replace(lens, sd=seen.told_focal_sd_px / seen.told_focal_px, photos=1)


def lenses(shots: Sequence[Shot], together: int) -> list[Lens]:
    """Return for each photo the lens that it and the ones after it, in a ring, tell together."""
    ring = [shot.lens for shot in shots] * 2
    return [pooled(ring[n : n + together]) for n in range(len(shots))]


def sides_off_mm(shots: Sequence[Shot], used: Sequence[Lens]) -> list[float]:
    """Return how far all distances are off, each photo measured with its lens."""
    return [off for shot, lens in zip(shots, used, strict=True) for off in shot.sides_off_mm(lens)]
