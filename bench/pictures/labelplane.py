"""The label in a photo, and the plane it lies in.

The reader's corners are some pixels off. They are where a fit starts: the whole known pattern,
blurred as the photo is, is laid over the photo, and the eight figures of the homography are moved
until it fits best (Gauss-Newton on grey levels, outliers weighed down).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import zxingcpp
from numpy.typing import NDArray
from PIL import Image
from qrcode import constants
from qrcode.exceptions import DataOverflowError
from qrcode.main import QRCode
from scipy import ndimage

from bench.core.ids import code_from_scan

Floats = NDArray[np.float64]

_SQUARES = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
_LEVELS = {
    "L": constants.ERROR_CORRECT_L,
    "M": constants.ERROR_CORRECT_M,
    "Q": constants.ERROR_CORRECT_Q,
    "H": constants.ERROR_CORRECT_H,
}
_FINE = 8  # cells a dot is drawn with
_QUIET = 2  # dots of the light zone that take part
_BLURS_DOTS = (0.12, 0.2, 0.3, 0.42, 0.6)
_LEAST_LIKENESS = 0.8
# What pixels miss the pattern by is alike in neighbours, and edges of print are never where they were
# drawn: found on invented photos.
_ALIKE, _LEAST_SPREAD_PX = 3.0, 0.02
_SMALL = 1e-6
_UNIT = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


@dataclass(frozen=True)
class Square:
    """A square as read: its text, the label code in it if it is ours, and rough corners."""

    text: str
    code: str | None
    corners_px: Floats
    version: int
    mask: int
    level: str


@dataclass(frozen=True)
class Plane:
    """The plane of a label: corners of its dark square, and how well the pattern fits (0-1).

    `spread_px` is the standard error of a corner's x and y where the fit holds.
    """

    corners_px: Floats
    likeness: float
    blur_dots: float
    spread_px: float = 0.0

    @property
    def side_px(self) -> float:
        """Return the mean side of the square as it is seen."""
        sides = self.corners_px - np.roll(self.corners_px, 1, axis=0)
        return float(np.hypot(sides[:, 0], sides[:, 1]).mean())

    @property
    def refined(self) -> bool:
        """Say whether the corners come from a fit that holds."""
        return self.likeness >= _LEAST_LIKENESS


def squares_in(grey: Image.Image) -> list[Square]:
    """Return every square that can be read in a grey picture."""
    found = zxingcpp.read_barcodes(grey, formats=_SQUARES)
    if not found and max(grey.size) < 2600:
        twice = grey.resize((grey.width * 2, grey.height * 2), Image.Resampling.BICUBIC)
        return [_square(seen, 0.5) for seen in zxingcpp.read_barcodes(twice, formats=_SQUARES)]
    return [_square(seen, 1.0) for seen in found]


def _square(seen: Any, scale: float) -> Square:
    place = seen.position
    corners = (place.top_left, place.top_right, place.bottom_right, place.bottom_left)
    extra: dict[str, Any] = seen.extra
    return Square(
        seen.text,
        code_from_scan(seen.text),
        np.array([[corner.x, corner.y] for corner in corners], float) * scale,
        int(extra.get("Version", 0)),
        int(extra.get("DataMask", -1)),
        str(extra.get("ECLevel", "")),
    )


def homography(here: Floats, there: Floats) -> Floats:
    """Return the 3 x 3 homography that takes four places here to four places there."""
    rows, wanted = [], []
    for (x, y), (u, v) in zip(here, there, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        wanted += [u, v]
    return np.append(np.linalg.solve(np.array(rows), np.array(wanted)), 1.0).reshape(3, 3)


def moved(turn: Floats, places: Floats) -> Floats:
    """Return places (n x 2) as a homography moves them."""
    held = places @ turn[:, :2].T + turn[:, 2]
    return np.asarray(held[:, :2] / held[:, 2:])


def plane_of(square: Square, grey: Floats) -> Plane:
    """Return the plane of a square, refined on its whole pattern where the fit holds."""
    dots = _drawn(square)
    read = _read(square.corners_px, grey, len(dots)) if dots is not None else None
    if dots is None or read is None or np.mean(dots == read) < 0.85:
        return Plane(square.corners_px, 0.0, 0.0)
    return _fitted(square.corners_px, dots, grey)


def _drawn(square: Square) -> NDArray[np.bool_] | None:
    """Draw the pattern of a square anew from its text; None where that cannot be done."""
    if square.level not in _LEVELS or not 1 <= square.version <= 40 or not 0 <= square.mask <= 7:
        return None
    code = QRCode(square.version, _LEVELS[square.level], 1, 0, mask_pattern=square.mask)
    code.add_data(square.text, optimize=0)
    try:
        code.make(fit=False)
    except (DataOverflowError, ValueError):
        return None
    return np.array(code.modules, bool)


def _read(corners: Floats, grey: Floats, count: int) -> NDArray[np.bool_] | None:
    """Read the dots at their middles as the rough corners place them."""
    middles = (2 * np.arange(count) + 1) / count - 1
    across, down = np.meshgrid(middles, middles)
    places = moved(homography(_UNIT, corners), np.column_stack([across.ravel(), down.ravel()]))
    levels = ndimage.map_coordinates(grey, places[:, ::-1].T - 0.5, order=1, mode="nearest")
    cut = (np.percentile(levels, 10) + np.percentile(levels, 90)) / 2
    return np.asarray((levels < cut).reshape(count, count))


class _Pattern:
    """The ideal pattern (light 1, dark 0) with its quiet zone, blurred, and its slopes."""

    def __init__(self, dots: NDArray[np.bool_], blur_dots: float) -> None:
        self.count = len(dots)
        cells = np.kron(np.pad(~dots, _QUIET, constant_values=True), np.ones((_FINE, _FINE)))
        level = ndimage.gaussian_filter(cells, blur_dots * _FINE, mode="nearest")
        down, across = np.gradient(level)
        per_unit = self.count * _FINE / 2
        self._grids = (level, across * per_unit, down * per_unit)

    def at(self, u: Floats, v: Floats) -> tuple[Floats, ...]:
        """Return level and slopes at places of the square from -1 to 1."""
        cells = [((w + 1) * self.count / 2 + _QUIET) * _FINE - 0.5 for w in (v, u)]
        return tuple(
            ndimage.map_coordinates(grid, cells, order=1, mode="nearest") for grid in self._grids
        )


class _Fit:
    """The pixels around a square, and the homography from them to the square that is sought."""

    def __init__(self, corners: Floats, count: int, grey: Floats) -> None:
        self.middle = corners.mean(axis=0)
        self.reach_px = float(np.abs(corners - self.middle).max())
        edge = 1 + 2 * (_QUIET - 0.5) / count
        outer = moved(homography(_UNIT, corners), _UNIT * edge)
        low = np.maximum(np.floor(outer.min(axis=0)).astype(int), 0)
        high = np.minimum(np.ceil(outer.max(axis=0)).astype(int), grey.shape[::-1])
        patch = grey[low[1] : high[1], low[0] : high[0]]
        y, x = np.mgrid[low[1] : high[1], low[0] : high[0]] + 0.5
        self.x = ((x - self.middle[0]) / self.reach_px).ravel()
        self.y = ((y - self.middle[1]) / self.reach_px).ravel()
        self.level = patch.ravel()
        self.edge = edge
        self.turn = homography((corners - self.middle) / self.reach_px, _UNIT)

    def _square_places(self) -> tuple[Floats, Floats, Floats, NDArray[np.bool_]]:
        turn = self.turn
        w = turn[2, 0] * self.x + turn[2, 1] * self.y + turn[2, 2]
        u = (turn[0, 0] * self.x + turn[0, 1] * self.y + turn[0, 2]) / w
        v = (turn[1, 0] * self.x + turn[1, 1] * self.y + turn[1, 2]) / w
        inside = (np.abs(u) < self.edge) & (np.abs(v) < self.edge)
        return u, v, w, inside

    def step(self, pattern: _Pattern) -> float:
        """Move the homography once towards the best fit; return how far, in units of the square."""
        rows, missed = self._rows(pattern)
        change = _solved(rows, missed)[:8]
        self.turn = self.turn + np.append(change, 0.0).reshape(3, 3)
        self.turn /= self.turn[2, 2]
        return float(np.abs(change[:6]).max())

    def spread_px(self, pattern: _Pattern) -> float:
        """Return the standard error of a corner's x and y, by the errors carried forward.

        Source: the covariance of least squares, as in any textbook of it.
        """
        rows, missed = self._rows(pattern)
        moved_by = np.linalg.pinv(rows.T @ rows, hermitian=True)[:8, :8] * float((missed**2).mean())
        held, before = self.turn, self.corners()
        slopes = np.zeros((8, 8))
        for n in range(8):
            self.turn = held + _SMALL * np.eye(1, 9, n).reshape(3, 3)
            slopes[:, n] = (self.corners() - before).ravel() / _SMALL
        self.turn = held
        return float(np.sqrt(np.trace(slopes @ moved_by @ slopes.T) / 8))

    def _rows(self, pattern: _Pattern) -> tuple[Floats, Floats]:
        """Return what each pixel says of a change of homography and light, and what it misses, weighed."""
        u, v, w, inside = self._square_places()
        u, v, w, x, y = (along[inside] for along in (u, v, w, self.x, self.y))
        light, slope_u, slope_v = pattern.at(u, v)
        lit = np.column_stack([np.ones_like(u), u, v, light, light * u, light * v])
        shades, missed = _weighed(lit, self.level[inside])
        gain = shades[3] + shades[4] * u + shades[5] * v
        a, b = gain * slope_u / w, gain * slope_v / w
        c = -(a * u + b * v)
        moves = np.column_stack([a * x, a * y, a, b * x, b * y, b, c * x, c * y])
        weight = _weight(missed)
        return np.hstack([moves, lit]) * weight[:, None], missed * weight

    def miss(self, pattern: _Pattern) -> tuple[float, float]:
        """Return the mean square missed and the likeness of pattern and photo."""
        u, v, _, inside = self._square_places()
        u, v = u[inside], v[inside]
        light = pattern.at(u, v)[0]
        lit = np.column_stack([np.ones_like(u), u, v, light, light * u, light * v])
        shades, missed = _weighed(lit, self.level[inside])
        ground = np.column_stack([np.ones_like(u), u, v])
        flat = self.level[inside] - ground @ _solved(ground, self.level[inside])
        worth = _weight(missed) ** 2
        share = float((worth * missed**2).sum() / max((worth * flat**2).sum(), 1e-9))
        return float((worth * missed**2).mean()), 1 - share if shades[3] > 0 else 0.0

    def corners(self) -> Floats:
        """Return the corners of the square in pixels."""
        back: Floats = np.asarray(np.linalg.inv(self.turn), float)
        return np.asarray(moved(back, _UNIT) * self.reach_px + self.middle)


def _solved(rows: Floats, wanted: Floats) -> Floats:
    """Return the least-squares answer by the normal equations: few columns, many rows."""
    square = rows.T @ rows
    square[np.diag_indices_from(square)] *= 1 + 1e-12
    return np.asarray(np.linalg.lstsq(square, rows.T @ wanted, rcond=None)[0])


def _weighed(lit: Floats, level: Floats) -> tuple[Floats, Floats]:
    shades = _solved(lit, level)
    weight = _weight(level - lit @ shades)
    shades = _solved(lit * weight[:, None], level * weight)
    return shades, level - lit @ shades


def _weight(missed: Floats) -> Floats:
    """Weigh what misses by far less, so that glare and dirt do not pull."""
    spread = 1.4826 * float(np.median(np.abs(missed))) + 1.0
    return np.asarray(1 / np.sqrt(1 + (missed / (3 * spread)) ** 2))


def _fitted(corners: Floats, dots: NDArray[np.bool_], grey: Floats) -> Plane:
    fit = _Fit(corners, len(dots), grey)
    _converged(fit, _Pattern(dots, 0.5), 8)
    patterns = [(blur, _Pattern(dots, blur)) for blur in _BLURS_DOTS]
    blur_dots, best = min(patterns, key=lambda pair: fit.miss(pair[1])[0])
    _converged(fit, best, 12)
    found = fit.corners()
    if not np.isfinite(found).all() or np.abs(found - corners).max() > fit.reach_px * 0.3:
        return Plane(corners, 0.0, 0.0)

    spread_px = float(np.hypot(_ALIKE * fit.spread_px(best), _LEAST_SPREAD_PX))
    return Plane(found, fit.miss(best)[1], blur_dots, spread_px)


def _converged(fit: _Fit, pattern: _Pattern, most: int) -> None:
    for _ in range(most):
        if fit.step(pattern) < 1e-6:
            return
