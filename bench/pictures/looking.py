"""Looking at a photo of the tripod: the label, and the ringed marks beside it.

What is worked with here needs numpy and scipy; the server does not hold them and asks
`bench.pictures.apart` for the same three calls.
"""

from __future__ import annotations

from bench.pictures.seen import LabelSeen, MarkColours, MarkSeen, Rgb, Seen

__all__ = ["LabelSeen", "MarkColours", "MarkSeen", "Rgb", "Seen", "look", "sampled", "settle"]


def look(image_bytes: bytes, colours: MarkColours, *, code: str | None, label_mm: float) -> Seen:
    """Return what a photo shows: its label and the marks in rings of the given colours.

    `code` is the case whose label is wanted where there are several; `label_mm` the side of its
    dark square. Raises PictureRefused for a file that is no picture.
    """
    from bench.pictures import glance  # numpy stays out of the server

    return glance.look(image_bytes, colours, code, label_mm)


def sampled(image_bytes: bytes, x_px: float, y_px: float) -> Rgb:
    """Return the colour of the stroke at a place that was tapped, the strongest one nearby."""
    from bench.pictures import glance

    return glance.sampled(image_bytes, x_px, y_px)


def settle(
    image_bytes: bytes,
    colours: MarkColours,
    x_px: float,
    y_px: float,
    *,
    px_per_mm: float | None = None,
) -> MarkSeen | None:
    """Return the mark near a place that was tapped, or None where there is no stroke.

    A ring need not be closed, nor be there at all: the tap stands for it. `px_per_mm` is the
    scale of the full-size picture near the label; without it a usual distance is assumed.
    """
    from bench.pictures import glance

    return glance.settle(image_bytes, colours, (x_px, y_px), px_per_mm)
