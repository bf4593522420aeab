"""A film for the fake camera: an empty bench for a moment, then a cast with its label and three ringed marks."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, ImageDraw

from bench.pictures.label import LabelFacts, label_image
from bench.words import Words

FRAME = (1280, 720)
STONE = "#c9c2b4"
BARE_FRAMES, FULL_FRAMES = 45, 360
LABEL_AT, LABEL_PX = (680, 200), 560
MARKS = ((240, 200), (300, 560), (560, 380))


def tripod_film(code: str, mark_rgb: str, ring_rgb: str) -> bytes:
    """Return JPEGs one after another: the bench alone, then everything a tripod photo has to show."""
    bare = _jpeg(Image.new("RGB", FRAME, STONE))
    full = [_jpeg(tripod_frame(code, mark_rgb, ring_rgb, turn)) for turn in range(4)]
    return bare * BARE_FRAMES + b"".join(full[n % 4] for n in range(FULL_FRAMES))


def tripod_frame(code: str, mark_rgb: str, ring_rgb: str, turn: int = 0) -> Image.Image:
    """Return one frame: the label at the right, a mark in each ring at the left, a stroke that is none."""
    frame = Image.new("RGB", FRAME, STONE)
    draw = ImageDraw.Draw(frame)
    for x, y in MARKS:
        draw.ellipse((x - 24, y - 24, x + 24, y + 24), outline=ring_rgb, width=5)
        draw.line((x - 9, y, x + 9, y), fill=mark_rgb, width=5)
        draw.line((x, y - 9, x, y + 9), fill=mark_rgb, width=5)
    draw.line((80, 660, 420, 640), fill=mark_rgb, width=5)
    facts = LabelFacts(code, "26-0077", "lower", "http://127.0.0.1:8480")
    with Image.open(BytesIO(label_image(facts, Words("en").say))) as drawn:
        label = drawn.convert("RGB")
    label.thumbnail((LABEL_PX, LABEL_PX))
    turned = label.rotate(
        0.5 * turn, expand=True, fillcolor=STONE, resample=Image.Resampling.BICUBIC
    )
    frame.paste(turned, LABEL_AT)
    return frame


def _jpeg(frame: Image.Image) -> bytes:
    drawn = BytesIO()
    frame.save(drawn, "JPEG", quality=88)
    return drawn.getvalue()
