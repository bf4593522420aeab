"""Rings of one colour around strokes of another.

Where a ring may be is voted for on a coarse picture; each such place is then looked at closely:
the closed path around it on which most ring ink lies, how much of that path is inked, how round
it is, and whether a stroke of the mark's colour lies inside.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from bench.pictures.crossing import Crossing, middle_of
from bench.pictures.inks import (
    Box,
    Shares,
    Shown,
    ink_shares,
    spread_of,
    stone_within,
    stroke_shares,
    too_dark,
)
from bench.pictures.rims import ANGLES, Rim, parts_of_reach, rim_around, rims
from bench.pictures.seen import MarkColours

Floats = NDArray[np.float64]

RADII_MM = (1.6, 6.0)
_COARSE = 4
_MOST_CANDIDATES = 60
_LOOSE_CONFIDENCE = 0.3
_LEAST_VOTE, _LEAST_COVERED, _LEAST_WORTH = 0.18, 0.4, 0.5


@dataclass(frozen=True)
class Ringed:
    """A mark found, in pixels of the working picture."""

    x_px: float
    y_px: float
    radius_px: float
    confidence: float
    crossed: bool


class Finder:
    """Looks for ringed marks in one picture."""

    def __init__(self, shown: Shown, colours: MarkColours, radii_px: tuple[float, float]) -> None:
        self.shown = shown
        self.colours = colours
        self.radii_px = radii_px

    def marks(self, blank: Floats | None) -> list[Ringed]:
        """Return the ringed marks, the surest first; nothing is looked for inside `blank`."""
        kept: list[Ringed] = []
        looked: list[tuple[float, float, float]] = []
        for x_px, y_px, radius_px in self._places(blank):
            if any(_same((x_px, y_px, radius_px), other) for other in looked):
                continue
            looked.append((x_px, y_px, radius_px))
            mark = self.mark_at(x_px, y_px, radius_px)
            if mark and all(_apart(mark, other) for other in kept):
                kept.append(mark)
        return sorted(kept, key=lambda mark: -mark.confidence)

    def _places(self, blank: Floats | None) -> Iterator[tuple[float, float, float]]:
        """Yield x, y and radius where ring ink lies around an empty middle, the best first."""
        ring = ink_shares(self.colours, *self.shown.every(2))[1]
        inked = np.clip((ring - min(3 * spread_of(ring), 0.2)) / 0.3, 0, 1)
        small = _halved(inked)
        if blank is not None:
            small[_inside(small.shape, blank / _COARSE)] = 0
        votes, radii = _votes(small, [r / _COARSE for r in _steps(self.radii_px)])
        peaks = votes == ndimage.maximum_filter(votes, size=3)
        y, x = np.nonzero(peaks & (votes > _LEAST_VOTE))
        best = np.argsort(-votes[y, x])[:_MOST_CANDIDATES]
        if len(best) == 0:
            return
        at = [np.asarray((along[best] + 0.5) * _COARSE / 2, float) for along in (x, y)]
        reach = np.asarray(radii[y[best], x[best]] * _COARSE / 2, float)
        for rim in rims(inked, at[0], at[1], reach):
            if rim.covered > _LEAST_COVERED and rim.squeezed < 0.3 and rim.rough < 0.2:
                yield 2 * rim.x_px, 2 * rim.y_px, 2 * rim.radius_px

    def mark_at(self, x_px: float, y_px: float, radius_px: float) -> Ringed | None:
        """Return the ringed mark around a place, or None where there is none."""
        looked = self.look_at(x_px, y_px, radius_px)
        if looked is None:
            return None
        rim, crossing, worth = looked
        if worth < _LEAST_WORTH or crossing is None:
            return None
        off_px = np.hypot(crossing.x_px - rim.x_px, crossing.y_px - rim.y_px)
        worth *= 1 - _ramp(float(off_px) / rim.radius_px, 0.42, 0.6)
        if worth < _LEAST_WORTH:
            return None
        return Ringed(
            float(crossing.x_px), float(crossing.y_px), rim.radius_px, worth, crossing.crossed
        )

    def settled(self, x_px: float, y_px: float, tap_px: float) -> Ringed | None:
        """Return the mark at a tap: in a ring where there is one, else the stroke itself."""
        best: Ringed | None = None
        for radius_px in _steps((self.radii_px[0] * 1.2, self.radii_px[1])):
            looked = self.look_at(x_px, y_px, float(radius_px), least=0.1)
            if looked is None:
                continue
            rim, crossing, worth = looked
            if crossing is None:
                continue
            near = np.hypot(crossing.x_px - x_px, crossing.y_px - y_px) < 2 * tap_px
            if near and (best is None or worth > best.confidence):
                best = Ringed(crossing.x_px, crossing.y_px, rim.radius_px, worth, crossing.crossed)
        return best or self._stroke_at(x_px, y_px, tap_px)

    def _stroke_at(self, x_px: float, y_px: float, tap_px: float) -> Ringed | None:
        """Return the stroke at a tap, whether or not anything is around it."""
        box = self._box(x_px, y_px, 2.4 * tap_px)
        if box is None:
            return None
        rgb, stone = self.shown.patch(box)
        mark, ring = ink_shares(self.colours, rgb, stone)
        x, y = x_px - box[1].start, y_px - box[0].start
        around = Rim(x, y, np.full(ANGLES, tap_px), np.zeros(ANGLES), 0.0, 0.0, 0.0)
        away = parts_of_reach(mark.shape, around)
        inside = away < 1
        if inside.sum() < 12:
            return None
        strongest = float(np.percentile(mark[inside], 97))
        ground = float(np.median(mark[away > 1.2])) if (away > 1.2).any() else 0.0
        crossing = _middle(rgb, mark, ring, around) if strongest - ground > 0.06 else None
        if crossing is None:
            return None
        x, y = crossing.x_px + box[1].start, crossing.y_px + box[0].start
        return Ringed(x, y, 1.4 * tap_px, _LOOSE_CONFIDENCE, crossing.crossed)

    def look_at(
        self, x_px: float, y_px: float, radius_px: float, least: float = _LEAST_WORTH
    ) -> tuple[Rim, Crossing | None, float] | None:
        """Return the rim around a place, its worth (0-1), and the stroke's middle if worth it."""
        box = self._box(x_px, y_px, 2.2 * radius_px + 4)
        if box is None:
            return None
        rgb, _ = self.shown.patch(box)
        left, top = box[1].start, box[0].start
        stone = stone_within(rgb, (x_px - left, y_px - top), 1.25 * radius_px)
        mark, ring = ink_shares(self.colours, rgb, stone)
        floor = 0.06
        inked = np.clip((ring - floor) / 0.3, 0, 1).astype(float)
        rim = rim_around(inked, x_px - left, y_px - top, radius_px)
        worth = self._worth(rim, mark, inked)
        if worth > 0:
            worth *= self._coloured(rgb, stone, ring, parts_of_reach(mark.shape, rim))
        crossing = _middle(rgb, mark, ring, rim) if worth >= least else None
        if crossing is not None:
            crossing = Crossing(crossing.x_px + left, crossing.y_px + top, crossing.crossed)
        return replace(rim, x_px=rim.x_px + left, y_px=rim.y_px + top), crossing, worth

    def _box(self, x_px: float, y_px: float, reach_px: float) -> Box | None:
        tall, wide = self.shown.rgb.shape[:2]
        top, bottom = max(0, int(y_px - reach_px)), min(tall, int(y_px + reach_px) + 1)
        left, right = max(0, int(x_px - reach_px)), min(wide, int(x_px + reach_px) + 1)
        if bottom - top < reach_px or right - left < reach_px:
            return None
        return slice(top, bottom), slice(left, right)

    def _coloured(self, rgb: Shares, stone: Shares, ring: Shares, away: Floats) -> float:
        """Say how sure it is that a ring is of the ring's ink and not of lead."""
        on_rim = (away > 0.8) & (away < 1.2)
        drawn = on_rim & (ring > 0.5 * float(np.percentile(ring[on_rim], 90)))
        if not drawn.any():
            return 0.0
        dark = too_dark(self.colours, rgb[drawn], stone[drawn], ring[drawn])
        return 1 - _ramp(dark, 2.6, 4.0)

    def _worth(self, rim: Rim, mark: Shares, inked: Floats) -> float:
        """Say how sure it is that a rim and what is in it are a ringed mark."""
        low, high = self.radii_px
        away = parts_of_reach(mark.shape, rim)
        core, around = away < 0.6, (away > 1.3) & (away < 1.75)
        if not low * 0.85 <= rim.radius_px <= high * 1.15 or min(core.sum(), around.sum()) < 6:
            return 0.0
        worth = _ring_worth(rim, inked, core, around) * _stroke_worth(mark, away)
        return float(np.sqrt(worth))


def _ring_worth(
    rim: Rim, inked: Floats, core: NDArray[np.bool_], around: NDArray[np.bool_]
) -> float:
    """Say how sure it is that a rim is a ring, and no edge of stone or label and no squiggle."""
    beside = max(float(np.percentile(inked[core], 60)), float(np.percentile(inked[around], 75)))
    return (
        _ramp(rim.covered, 0.42, 0.58)
        * (1 - _ramp(rim.rough, 0.045, 0.085))
        * (1 - _ramp(rim.squeezed, 0.15, 0.23))
        * _ramp(float(np.percentile(rim.ink, 60)) - beside, 0.2, 0.5)
        * (1 - _ramp(float(inked[around].mean()), 0.15, 0.4))
    )


def _stroke_worth(mark: Shares, away: Floats) -> float:
    """Say how sure it is that a stroke lies inside a rim and stays there.

    Strokes that pass through a ring, or by it, are no marks.
    """
    core = mark[away < 0.6]
    strongest = float(np.percentile(core, 96))
    ground = float(np.percentile(mark[(away > 1.3) & (away < 1.75)], 90))
    filled = float((core > max(0.4 * strongest, 0.05)).mean())
    inner = float(mark[away < 0.75].sum())
    on_rim = float(mark[(away > 0.75) & (away < 1.15)].sum())
    strong = mark > max(0.45 * strongest, 0.04)
    kept = int(strong[away < 0.75].sum())
    gone = int(strong[((away > 0.75) & (away < 0.9)) | ((away > 1.1) & (away < 1.4))].sum())
    return (
        _ramp(strongest - ground, 0.03, 0.08)
        * _ramp(filled, 0.02, 0.08)
        * (1 - _ramp(filled, 0.6, 0.8))
        * _ramp(inner / max(inner + on_rim, 1e-6), 0.72, 0.88)
        * _ramp(kept / max(kept + gone, 1), 0.62, 0.78)
    )


def _middle(rgb: Shares, mark: Shares, ring: Shares, rim: Rim) -> Crossing | None:
    """Return the middle of the stroke inside a rim; ring ink is left out of account."""
    inside = parts_of_reach(mark.shape, rim) < 0.82
    looked = inside & ~ndimage.binary_dilation(ring > 0.2, iterations=2)
    if not looked.any():
        return None
    own = np.where(looked, mark, 0)
    core = own > max(0.35 * float(np.percentile(own[looked], 97)), 0.02)
    clear = looked & ~ndimage.binary_dilation(core, iterations=2)
    share = stroke_shares(rgb, own, clear)
    if share is None:
        return None
    return middle_of(share.astype(float), looked, (rim.x_px, rim.y_px))


def _ramp(value: float, low: float, high: float) -> float:
    return min(max((value - low) / (high - low), 0.0), 1.0)


def _same(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    away = float(np.hypot(one[0] - other[0], one[1] - other[1]))
    return away < 0.2 * other[2] and abs(one[2] - other[2]) < 0.2 * other[2]


def _apart(one: Ringed, other: Ringed) -> bool:
    away = float(np.hypot(one.x_px - other.x_px, one.y_px - other.y_px))
    return away > 0.8 * max(one.radius_px, other.radius_px)


def _steps(radii_px: tuple[float, float]) -> Floats:
    count = max(2, round(np.log(radii_px[1] / radii_px[0]) / 0.2) + 1)
    return np.geomspace(*radii_px, count)


def _halved(level: Shares) -> Shares:
    tall, wide = (side // 2 * 2 for side in level.shape)
    cut = level[:tall, :wide].reshape(tall // 2, 2, wide // 2, 2)
    return np.asarray(cut.mean(axis=(1, 3)), np.float32)


def _inside(shape: tuple[int, ...], corners: Floats) -> NDArray[np.bool_]:
    """Return which pixels lie inside a convex quadrangle given in its order."""
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]] + 0.5
    sides = []
    for (ax, ay), (bx, by) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        sides.append((bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0)
    return np.asarray(np.all(sides, axis=0) | ~np.any(sides, axis=0))


def _votes(inked: Shares, radii: list[float]) -> tuple[Shares, Shares]:
    """Return how much of a ring lies around each pixel, at its best radius, and that radius."""
    shape = [fft.next_fast_len(side + 2 * int(radii[-1] * 1.8) + 6, True) for side in inked.shape]
    field = fft.rfft2(inked, shape)
    best = np.full(inked.shape, -1.0, np.float32)
    which = np.zeros(inked.shape, np.float32)
    for radius in radii:
        kernel = _ring_kernel(radius)
        half = kernel.shape[0] // 2
        whole = fft.irfft2(field * fft.rfft2(kernel, shape), shape)
        vote = whole[half : half + inked.shape[0], half : half + inked.shape[1]]
        better = vote > best
        best[better], which[better] = vote[better], radius
    return best, which


def _ring_kernel(radius: float) -> Shares:
    """Weigh a ring by 2 in all, and take away what fills its middle or lies all around it.

    An edge of the stone or a field of colour makes no vote that way.
    """
    half = int(np.ceil(radius * 1.8)) + 1
    y, x = np.mgrid[-half : half + 1, -half : half + 1]
    away = np.hypot(x, y)
    width = max(0.16 * radius, 0.75)
    ring = np.exp(-0.5 * ((away - radius) / width) ** 2)
    core = (away < 0.6 * radius).astype(float)
    outer = ((away > 1.4 * radius) & (away < 1.75 * radius)).astype(float)
    return np.asarray(
        2 * ring / ring.sum() - core / core.sum() - outer / max(outer.sum(), 1), np.float32
    )
