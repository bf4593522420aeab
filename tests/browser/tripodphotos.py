"""Photos of an invented cast's marks, kept in a bench and with their marks confirmed."""

from __future__ import annotations

from io import BytesIO
from itertools import combinations
from math import dist

from flask import Flask

from bench.core.entries import Entry, PhotoKept, PhotoMarksConfirmed, TripodMarked
from bench.core.policy import Policy
from bench.pictures.ingest import take_in
from bench.pictures.label import label_size_mm
from bench.web.camera import of_policy
from bench.web.photos import shelf
from tests.browser.tripodfilm import LABEL_AT, LABEL_PX, MARKS, tripod_frame
from tests.web.surveyedcases import State

LABEL_MM = 20.0
EDGE_MM, QUIET_MM = 3.0, 5.0
PX_PER_MM = LABEL_PX / (label_size_mm(20)[0] + 2 * EDGE_MM)
Place = tuple[float, float]


def tripod_marked() -> TripodMarked:
    """Return what a caliper reads of the marks in the frame."""
    ab, ac, bc = (round(dist(*pair) / PX_PER_MM, 2) for pair in combinations(MARKS, 2))
    return TripodMarked(ab, ac, bc, "anticlockwise", True, True, True, True)


def photo_bytes(code: str, turn: int = 0) -> bytes:
    """Return a JPEG of the marks beside the label of a case."""
    lab, drawn = of_policy(Policy()), BytesIO()
    frame = tripod_frame(code, str(lab["mark_colour"]), str(lab["ring_colour"]), turn)
    frame.save(drawn, "JPEG", quality=92)
    return drawn.getvalue()


def keep(app: Flask, say: State, code: str, about: str, turn: int = 0) -> Entry:
    """Keep a photo of the marks, as the camera page does."""
    picture = take_in(photo_bytes(code, turn), "marks.jpg")
    with app.app_context():
        shelf().keep(picture)
    size = (picture.width_px, picture.height_px)
    return say(
        PhotoKept(picture.sha256_hex, picture.media_type, *size, shows="tripod", about=about),
        case=code,
    )


def confirm(say: State, code: str, kept: Entry, about: str, moved: Place = (0.0, 0.0)) -> Entry:
    """Confirm the marks of a photo; `moved` is by how many mm mark B lies elsewhere."""
    assert isinstance(kept.body, PhotoKept)
    places = [(float(x), float(y)) for x, y in MARKS]
    x, y = places[1]
    places[1] = (x + moved[0] * PX_PER_MM, y + moved[1] * PX_PER_MM)
    flat = tuple(figure for place in places for figure in place)
    body = PhotoMarksConfirmed(
        kept.body.sha256, about, LABEL_MM, corners_px(), flat, ("found",) * 3
    )
    return say(body, case=code)


def corners_px() -> tuple[float, ...]:
    """Return where the label's square lies in the frame that is not turned."""
    left, top = (along + (EDGE_MM + QUIET_MM) * PX_PER_MM for along in LABEL_AT)
    side = LABEL_MM * PX_PER_MM
    return (left, top, left + side, top, left + side, top + side, left, top + side)
