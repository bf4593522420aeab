"""The rim of a ring: the closed path around a place on which most ring ink lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Floats = NDArray[np.float64]

ANGLES = 72
_TURNS = np.arange(ANGLES) * 2 * np.pi / ANGLES
_AROUND = np.column_stack(
    [np.ones(ANGLES), np.cos(_TURNS), np.sin(_TURNS), np.cos(2 * _TURNS), np.sin(2 * _TURNS)]
)


@dataclass(frozen=True)
class Rim:
    """The path of a ring around a place: its middle, reach at each angle, ink, and how round."""

    x_px: float
    y_px: float
    reach_px: Floats
    ink: Floats
    covered: float
    rough: float
    squeezed: float

    @property
    def radius_px(self) -> float:
        """Return the mean reach."""
        return float(self.reach_px.mean())


def rim_around(inked: Floats, x: float, y: float, radius: float) -> Rim:
    """Return the rim around a place, looked at again from its own middle."""
    for _ in range(3):
        (rim,) = rims(inked, np.array([x]), np.array([y]), np.array([radius]))
        moved = np.hypot(rim.x_px - x, rim.y_px - y)
        x, y, radius = rim.x_px, rim.y_px, rim.radius_px
        if moved < 0.5:
            break
    return rim


def rims(inked: NDArray[np.generic], x: Floats, y: Floats, radius: Floats) -> list[Rim]:
    """Return the closed path around each place on which most ink lies."""
    reach = np.linspace(0.5, 1.6, 34) * radius[:, None]
    rows = y[:, None, None] + np.sin(_TURNS)[:, None] * reach[:, None] - 0.5
    columns = x[:, None, None] + np.cos(_TURNS)[:, None] * reach[:, None] - 0.5
    polar = ndimage.map_coordinates(inked, [rows, columns], float, 1, mode="constant")
    paths = _closed_paths(polar)
    return [_rim(*parts) for parts in zip(polar, paths, reach, zip(x, y, strict=True), strict=True)]


def _rim(polar: Floats, path: NDArray[np.intp], reach: Floats, place: tuple[float, float]) -> Rim:
    near = np.clip(path[:, None] + np.arange(-1, 2), 0, len(reach) - 1)
    ink = np.take_along_axis(polar, near, axis=1).max(axis=1)
    far = _sharpened(polar, path, reach)
    covered = ink > max(0.15, 0.4 * float(np.percentile(ink, 75)))
    shape = _round_fit(far, np.where(covered, 1.0, 0.02))
    fitted = _AROUND @ shape
    off = np.abs(far - fitted)[covered]
    rough = float(np.sqrt((off**2).mean())) / max(shape[0], 1) if covered.any() else 1.0
    squeezed = float(np.hypot(shape[3], shape[4])) / max(float(shape[0]), 1)
    smooth = np.where(covered, far, fitted)
    x, y = place[0] + float(shape[1]), place[1] + float(shape[2])
    return Rim(x, y, smooth, ink, float(covered.mean()), rough, squeezed)


def _sharpened(polar: Floats, path: NDArray[np.intp], reach: Floats) -> Floats:
    """Return the reach at each angle as the middle of the ink around the path."""
    near = np.clip(path[:, None] + np.arange(-3, 4), 0, len(reach) - 1)
    ink = np.take_along_axis(polar, near, axis=1) + 1e-6
    return np.asarray((ink * reach[near]).sum(axis=1) / ink.sum(axis=1))


def _round_fit(far: Floats, weight: Floats) -> Floats:
    """Fit a shifted, squeezed circle: the first terms of the reach over the angle."""
    held = 1e-3 * np.diag([0.0, 1, 1, 3, 3])
    for _ in range(3):
        rows = _AROUND * weight[:, None]
        shape = np.linalg.solve(rows.T @ _AROUND + held * len(far), rows.T @ far)
        off = np.abs(far - _AROUND @ shape)
        spread = 1.5 * float(np.median(off)) + 0.01 * float(shape[0]) + 0.1
        weight = weight / (1 + (off / (3 * spread)) ** 2)
    return np.asarray(shape)


def _closed_paths(polar: Floats) -> NDArray[np.intp]:
    """Return the best step at each angle for each of several places; neighbours differ by one.

    Twice around, and the middle turn is kept: it does not know where the start was.
    """
    places, count, steps = polar.shape
    came = np.zeros((2 * count, places, steps), np.int8)
    total = np.full((places, steps + 2), -1e9)
    total[:, 1:-1] = 0
    for n in range(2 * count):
        below, same, above = total[:, :-2] - 0.02, total[:, 1:-1], total[:, 2:] - 0.02
        best = np.maximum(np.maximum(below, above), same)
        came[n] = np.where(best == same, 0, np.where(best == above, 1, -1))
        total[:, 1:-1] = best + polar[:, n % count]
    path = np.zeros((2 * count, places), np.intp)
    at = total[:, 1:-1].argmax(axis=1)
    for n in range(2 * count - 1, -1, -1):
        path[n] = at
        at = at + came[n, np.arange(places), at]
    half = count // 2
    return np.concatenate([path[count : count + half], path[half:count]]).T


def parts_of_reach(shape: tuple[int, ...], rim: Rim) -> Floats:
    """Return how far each pixel is from a rim's middle, in parts of the rim's reach there."""
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]] + 0.5
    across, down = x - rim.x_px, y - rim.y_px
    turn = np.round(np.arctan2(down, across) / (2 * np.pi) * ANGLES).astype(int) % ANGLES
    return np.asarray(np.hypot(across, down) / np.maximum(rim.reach_px[turn], 0.5))
