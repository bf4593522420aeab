"""The invented camera's lens: a pinhole, and one that bends straight lines."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image

COARSE = 4  # pixels between places that the bending is worked out for


@dataclass(frozen=True)
class Camera:
    """A pinhole camera: where it is, how it is turned, its picture, and where its axis meets it."""

    place_mm: np.ndarray
    turn: np.ndarray
    focal_px: float
    size_px: tuple[int, int]
    middle_px: np.ndarray
    bent: float = 0.0

    def plane(self, origin: np.ndarray, right: np.ndarray, down: np.ndarray) -> np.ndarray:
        """Return the homography from millimetres in a plane to pixels."""
        lens = np.diag([self.focal_px, self.focal_px, 1.0])
        lens[:2, 2] = self.middle_px
        return lens @ self.turn @ np.column_stack([right, down, origin - self.place_mm])

    def seen(self, places_mm: np.ndarray) -> np.ndarray:
        """Return where places in space (n x 3) are seen (n x 2)."""
        held = (np.atleast_2d(places_mm) - self.place_mm) @ self.turn.T
        return self.focal_px * held[:, :2] / held[:, 2:] + self.middle_px

    def bending(self, places_px: np.ndarray) -> np.ndarray:
        """Return where the lens bends places to (n x 2): outward where `bent` is above zero."""
        away = places_px - self.middle_px
        reach = np.sum(away**2, axis=-1, keepdims=True) / (np.hypot(*self.size_px) / 2) ** 2
        return self.middle_px + away * (1 + self.bent * reach)


def bent(straight: Image.Image, camera: Camera) -> Image.Image:
    """Return the picture as the lens bends it: each pixel shows what lies where it was bent from."""
    few = (straight.width // COARSE, straight.height // COARSE)
    across, down = np.meshgrid(np.arange(few[0]), np.arange(few[1]))
    pixels = (np.stack([across, down], axis=-1) + 0.5) * COARSE
    source = pixels
    for _ in range(4):  # the way back, nearer with every turn
        source = pixels - (camera.bending(source) - source)
    x, y = np.moveaxis(cv2.resize(source - 0.5, straight.size).astype(np.float32), -1, 0)
    seen = cv2.remap(np.asarray(straight), x, y, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return Image.fromarray(seen)
