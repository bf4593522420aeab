"""A film for the fake camera: the printed label of an invented case, held a little unsteadily."""

from __future__ import annotations

from io import BytesIO

from PIL import Image

from bench.core.ids import case_code
from bench.pictures.label import LabelFacts, label_image
from bench.words import Words

CODE = case_code(7_316_442)
FRAME = (1280, 720)


def film_of_a_label() -> bytes:
    """Return JPEGs one after another, which Chromium plays in place of a camera."""
    facts = LabelFacts(CODE, "26-0077", "lower", "http://127.0.0.1:8480")
    with Image.open(BytesIO(label_image(facts, Words("en").say))) as drawn:
        label = drawn.convert("RGB")
    label.thumbnail((640, 640))
    return b"".join(_jpeg(_frame(label, turn)) for turn in range(4))


def _frame(label: Image.Image, turn: int) -> Image.Image:
    frame = Image.new("RGB", FRAME, "#c9c2b4")
    turned = label.rotate(1.5 * turn, expand=True, fillcolor="#c9c2b4", resample=Image.BICUBIC)
    frame.paste(turned, ((FRAME[0] - turned.width) // 2, (FRAME[1] - turned.height) // 2))
    return frame


def _jpeg(frame: Image.Image) -> bytes:
    drawn = BytesIO()
    frame.save(drawn, "JPEG", quality=90)
    return drawn.getvalue()
