"""A case with its tripod marked and photographed: a drawn picture whose marks measure what is recorded."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from flask import Flask

from bench.core.entries import Entry, PhotoKept, PhotoMarksConfirmed, TripodMarked
from bench.core.ids import case_code
from bench.demo.photos import BASE_URL, confirmed, drawn
from bench.pictures.ingest import take_in
from bench.pictures.label import LabelFacts
from bench.pictures.seen import LabelSeen, MarkSeen, Seen
from bench.store.photos import PhotoShelf
from tests.web.castroom import mounted, opened

State = Callable[..., Entry]
MARKED = TripodMarked(36.2, 41.0, 39.4, "anticlockwise", True, True, True, True)
SWAPPED = replace(MARKED, d_ab_mm=41.0, d_ac_mm=36.2)


@dataclass(frozen=True)
class Photographed:
    """The case: its code, its tripod's entry, its photo's digest, and where the marks are drawn."""

    code: str
    tripod: Entry
    kept: PhotoKept
    photo: Entry
    places: PhotoMarksConfirmed

    @property
    def at(self) -> str:
        """The address of the photo's page."""
        return f"/case/{self.code}/photo/{self.kept.sha256}"

    def seen(self, *, code: str | None = None, marks: int = 3, label: bool = True) -> Seen:
        """Return what a look at the photo would find: all of it, or less."""
        corners = self.places.corners
        return Seen(
            1000, 1130, LabelSeen(code or self.code, corners, True) if label else None, (),
            tuple(MarkSeen(x, y, 24.0, 0.9) for x, y in self.places.marks[:marks]), (), None,
        )  # fmt: skip

    def form(self, **changed: object) -> dict[str, object]:
        """Return the form that confirms the marks as they are drawn."""
        body = self.places
        return {
            "sha256": body.sha256, "about": body.about, "label_mm": "20", "label_came": "found",
            "corners_px": [f"{one:.2f}" for one in body.corners_px],
            "marks_px": [f"{one:.2f}" for one in body.marks_px],
            "came": list(body.came), "focal_px": "", "dh_mm": "0", **changed,
        }  # fmt: skip


def photographed(
    app: Flask,
    state: State,
    marked: TripodMarked = MARKED,
    *,
    labelled: int | None = None,
    at: int = 1,
) -> Photographed:
    """Open a case, mark its tripod, and keep a photo; `labelled` puts the label of another case into it."""
    code = opened(state, f"26-01{at:02d}", at=at)
    zero = mounted(state, code).id
    tripod = state(marked, case=code, setting=zero)
    facts = LabelFacts(case_code(labelled or at), "26-0101", "lower", BASE_URL)
    picture = take_in(drawn("lower", (36, 37), facts, MARKED), "image/jpeg")
    PhotoShelf(app.config["SETTINGS"].data / "photos").keep(picture)
    kept = PhotoKept(
        picture.sha256_hex,
        picture.media_type,
        picture.width_px,
        picture.height_px,
        "tripod",
        tripod.id,
    )
    photo = state(kept, case=code, setting=zero)
    return Photographed(code, tripod, kept, photo, confirmed(kept, "lower", tripod.id, MARKED))
