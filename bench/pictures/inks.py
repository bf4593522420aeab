"""How much of which ink lies on the stone, pixel by pixel.

A pixel is compared with the stone around it: p / s = k (1 + share (t - 1)) in each of red, green
and blue, where t is the ink's colour over the stone's and k the light. What is equal in all three
is left out, so that shadows, dust and lead lines show no ink; what is left is linear in the share.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from bench.pictures.seen import MarkColours

Shares = NDArray[np.float32]
Box = tuple[slice, slice]

# Two directions at right angles to grey, each of unit length.
_AWAY_FROM_GREY = np.array([[2**-0.5, 0, -(2**-0.5)], [6**-0.5, -2 * 6**-0.5, 6**-0.5]], np.float32)
_STONE_LEVEL = 205.0
_LEAST_COLOUR = 0.12
_OFF_COLOUR = 0.8


@dataclass(frozen=True)
class Shown:
    """A picture at working size with the stone's colour around each of its blocks."""

    rgb: NDArray[np.uint8]
    stone: Shares
    block_px: int

    def patch(self, box: Box) -> tuple[Shares, Shares]:
        """Return a part of the picture and the stone's colour there."""
        rows, columns = (np.arange(side.start, side.stop) for side in box)
        return self.rgb[box].astype(np.float32), self._stone_at(rows, columns)

    def every(self, step: int) -> tuple[Shares, Shares]:
        """Return the whole picture made `step` times smaller, and the stone's colour there."""
        whole = Image.fromarray(self.rgb).reduce(step)
        small = np.asarray(whole, np.float32)
        rows, columns = ((np.arange(side) + 0.5) * step - 0.5 for side in small.shape[:2])
        return small, self._stone_at(rows, columns)

    def _stone_at(self, rows: NDArray[np.generic], columns: NDArray[np.generic]) -> Shares:
        down, up, low = _between(rows, self.block_px, self.stone.shape[0])
        across = self.stone[down] * (1 - low)[:, None, None]
        across += self.stone[up] * low[:, None, None]
        left, right, part = _between(columns, self.block_px, self.stone.shape[1])
        return cast(
            Shares, across[:, left] * (1 - part)[:, None] + across[:, right] * part[:, None]
        )


def _between(
    places: NDArray[np.generic], block_px: int, count: int
) -> tuple[NDArray[np.intp], NDArray[np.intp], Shares]:
    at = np.clip((places.astype(np.float32) + 0.5) / block_px - 0.5, 0, count - 1)
    first = np.floor(at).astype(np.intp)
    return first, np.minimum(first + 1, count - 1), (at - first).astype(np.float32)


def shown_with_stone(image: Image.Image, block_px: int) -> Shown:
    """Return a picture with the colour of the stone around: medians of blocks, and of those."""
    rgb = np.asarray(image)
    down, across = max(1, rgb.shape[0] // block_px), max(1, rgb.shape[1] // block_px)
    step = max(1, block_px // 12)
    cut = rgb[: down * block_px, : across * block_px]
    if cut.shape[0] < block_px or cut.shape[1] < block_px:
        stone = np.median(rgb.reshape(-1, 3), axis=0).reshape(1, 1, 3)
        return Shown(rgb, stone.astype(np.float32), block_px)
    blocks = cut.reshape(down, block_px, across, block_px, 3)[:, ::step, :, ::step]
    flat = blocks.transpose(0, 2, 4, 1, 3).reshape(down, across, 3, -1)
    middle = np.percentile(flat, 55, axis=-1).astype(np.float32)
    stone = ndimage.median_filter(middle, size=(3, 3, 1), mode="nearest")
    return Shown(rgb, stone, block_px)


def stone_within(rgb: Shares, about_px: tuple[float, float], reach_px: float) -> Shares:
    """Return one stone colour for a patch: that of the lighter half around a place.

    Ink is darker than stone, and the board under the cast is left out where it shows.
    """
    y, x = np.mgrid[0 : rgb.shape[0], 0 : rgb.shape[1]] + 0.5
    near = rgb[np.hypot(x - about_px[0], y - about_px[1]) < reach_px]
    if len(near) == 0:
        near = rgb.reshape(-1, 3)
    light = near.sum(axis=1)
    stone = np.median(near[light >= np.median(light)], axis=0).astype(np.float32)
    return cast(Shares, np.broadcast_to(stone, rgb.shape))


def ink_shares(colours: MarkColours, rgb: Shares, stone: Shares) -> tuple[Shares, Shares]:
    """Return the shares of the mark's and of the ring's ink, each about 0 to 1."""
    over = cast(Shares, (1 / np.maximum(stone, 8)).astype(np.float32))
    level = rgb * over
    light = np.clip(_mean(stone) / _STONE_LEVEL, 0.35, 1.1)
    over *= light[:, :, None]
    away = [_towards(level, row) for row in _AWAY_FROM_GREY]
    inks = (colours.mark_rgb, colours.ring_rgb)
    mark, ring = (_share(np.array(ink, np.float32), away, level, over) for ink in inks)
    return mark, ring


def _mean(level: Shares) -> Shares:
    return cast(Shares, (level[..., 0] + level[..., 1] + level[..., 2]) * np.float32(1 / 3))


def _towards(level: Shares, row: Shares) -> Shares:
    return cast(Shares, level[..., 0] * row[0] + level[..., 1] * row[1] + level[..., 2] * row[2])


def _share(ink: Shares, away: list[Shares], level: Shares, over: Shares) -> Shares:
    towards = [_towards(over, row * ink) for row in _AWAY_FROM_GREY]
    strength = np.maximum(towards[0] ** 2 + towards[1] ** 2, 1e-6)
    along = away[0] * towards[0] + away[1] * towards[1]
    aside = np.abs(away[0] * towards[1] - away[1] * towards[0])
    share = (along - np.float32(_OFF_COLOUR) * aside) / strength
    grey = strength < _LEAST_COLOUR**2
    if grey.any():
        through = _mean(over * ink)
        dark = np.clip((1 - _mean(level)) / np.maximum(1 - through, 0.2), 0, 1.2)
        share = np.where(grey, dark - np.hypot(away[0], away[1]) / 0.3, share)
    return cast(Shares, np.clip(share, 0, 1.2))


def too_dark(colours: MarkColours, rgb: Shares, stone: Shares, ring: Shares) -> float:
    """Return how many times darker than its colour lets expect the ring's ink is, in a few pixels.

    Lead on a yellow stone looks blue beside it, but is far too dark for so little blue.
    """
    over = cast(Shares, 1 / np.maximum(stone, np.float32(8)))
    light = np.clip(_mean(stone) / _STONE_LEVEL, 0.35, 1.1)
    ink = np.array(colours.ring_rgb, np.float32)
    through = cast(Shares, (over * light[..., None] * ink).astype(np.float32))
    expected = float(np.median(ring * (1 - _mean(through))))
    dark = float(np.median(1 - _mean(cast(Shares, rgb * over))))
    return dark / max(expected, 0.02)


def stroke_shares(rgb: Shares, mark: Shares, clear: NDArray[np.bool_]) -> Shares | None:
    """Return the share of the very ink that lies in a patch, about 1 where it lies thickest.

    Here light and dark count too, which a JPEG keeps sharper than colour: the stone is a plane of
    colour through what is `clear` of ink, the ink is what the patch shows where `mark` is most.
    None where there is no stone or no ink to learn from.
    """
    if clear.sum() < 12:
        return None
    y, x = np.mgrid[0 : rgb.shape[0], 0 : rgb.shape[1]].astype(np.float32)
    ground = np.stack([np.ones_like(x), x, y], axis=2)
    rows = ground[clear]
    planes = np.linalg.lstsq(rows.T @ rows, rows.T @ rgb[clear], rcond=None)[0]
    darker = ground @ planes - rgb
    top = mark >= max(float(np.sort(mark, axis=None)[-12]), 0.02)
    ink = darker[top].mean(axis=0)
    strength = float(ink @ ink)
    return None if strength < 9 else cast(Shares, (darker @ ink / strength).astype(np.float32))


def spread_of(share: Shares) -> float:
    """Return how much a share scatters where there is no ink."""
    some = share.ravel()[::7]
    return float(np.percentile(some, 90)) / 1.2816
