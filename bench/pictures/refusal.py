"""The refusal of a picture, and the limits a picture has to keep."""

from __future__ import annotations

from collections.abc import Mapping

MOST_BYTES = 30_000_000
MOST_PIXELS = 50_000_000


class PictureRefused(ValueError):
    """A picture that is not taken in; what, why and what to do are `pictures.refused.<code>`.

    Codes: 'empty', 'heavy' (`mb`, `most_mb`), 'heic', 'kind', 'mismatched' (`said`, `found`),
    'animated', 'pixels' (`mp`, `most_mp`), 'damaged'; from a process of its own also 'slow'
    (`seconds`) and 'broken'.
    """

    def __init__(self, code: str, params: Mapping[str, str | int] | None = None) -> None:
        super().__init__(code, dict(params or {}))
        self.code = code
        self.params = dict(params or {})


def refuse_pixels(width_px: int, height_px: int) -> None:
    """Raise PictureRefused when a picture has no pixels or more than the limit of 50 million."""
    if width_px < 1 or height_px < 1:
        raise PictureRefused("damaged")
    if width_px * height_px > MOST_PIXELS:
        mp = -(-width_px * height_px // 1_000_000)
        raise PictureRefused("pixels", {"mp": mp, "most_mp": MOST_PIXELS // 1_000_000})
