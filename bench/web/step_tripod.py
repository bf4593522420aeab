"""The step of the tripod: three distances, their triangle to scale and how finely it holds, and the photos."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from flask import Blueprint, Response, render_template, request

from bench.core.arch import Vector
from bench.core.backagain import fourth_in, fourth_of
from bench.core.bounds import BadEntry
from bench.core.case import Reading
from bench.core.casephotos import CasePhoto, tripod_photos_of
from bench.core.entries import FourthMarkMade, TripodMarked
from bench.core.entries.vocabulary import SENSES
from bench.core.off import triangle_of
from bench.core.tripod import Sense, Triangle, TripodRefused, triangle_from
from bench.web import book, speech, telling
from bench.web.forms import number_from
from bench.web.roles import least
from bench.web.steps import StepPage, render_step, renders
from bench.web.trianglepicture import Hold, TrianglePicture, hold_in_words, triangle_picture

blueprint = Blueprint("tripodpage", __name__)

SIDES = ("d_ab_mm", "d_ac_mm", "d_bc_mm")
DECLARED = ("one_tip_height", "arm_locked", "table_locked", "ringed")


@dataclass(frozen=True)
class Shown:
    """A triangle as shown while it is typed or once it is recorded; or why it makes none."""

    picture: TrianglePicture | None = None
    hold: Hold | None = None
    refused: str = ""


def shown(
    triangle: Triangle, a_direction_deg: float = 90.0, fourth_mm: Vector | None = None
) -> Shown:
    """Return the picture of a triangle and how finely it holds, for the reader who asks."""
    reader = telling.reader()
    return Shown(
        triangle_picture(triangle, reader, a_direction_deg, fourth_mm),
        hold_in_words(triangle, book.lab(), reader),
    )


def shown_of(values: Mapping[str, str]) -> Shown:
    """Return what three typed distances make; nothing while one is missing, and in words why not."""
    try:
        ab, ac, bc = (number_from(side, values.get(side, "").strip()) for side in SIDES)
    except BadEntry:
        return Shown()
    sense: Sense = "clockwise" if values.get("sense") == "clockwise" else "anticlockwise"
    try:
        found = shown(triangle_from(ab, ac, bc, sense))
    except TripodRefused as refused:
        return Shown(refused=speech.say(f"tripod.refused.{refused.code}"))
    return found if values.get("sense") else _unturned(found)


def _unturned(found: Shown) -> Shown:
    """Return a triangle without the way round, which nobody has named yet."""
    picture = replace(found.picture, turn="") if found.picture else None
    return replace(found, picture=picture)


@dataclass(frozen=True)
class TripodView:
    """What the page of the tripod shows besides its frame."""

    page: StepPage

    @cached_property
    def reading(self) -> Reading[TripodMarked] | None:
        """The tripod that counts."""
        return self.page.survey.tripod

    @property
    def stands(self) -> bool:
        """Whether marks made or confirmed at the present setting are recorded."""
        return self.reading is not None and self.reading.current

    @property
    def marking(self) -> bool:
        """Whether the form for marks is shown: none stand, they are marked anew, or it was sent."""
        sent = self.page.form is not None and "d_ab_mm" in self.page.form
        return not self.stands or sent or "again" in request.args

    @property
    def supersedes(self) -> tuple[str, ...]:
        """What new marks supersede."""
        return self.reading.seen if self.reading is not None and self.reading.current else ()

    @property
    def shown(self) -> Shown:
        """The triangle of what is typed, else of what stands."""
        if self.page.form is not None and "d_ab_mm" in self.page.form:
            return shown_of(self.page.form)
        if self.marking or self.reading is None:
            return Shown()
        return shown(triangle_of(self.reading.body), fourth_mm=fourth_in(self.page.survey))

    @property
    def fourth(self) -> FourthMarkMade | None:
        """The fourth mark of the tripod that counts, None without one."""
        return fourth_of(self.page.survey)

    @property
    def caliper(self) -> str:
        """The caliper that the distances that stand were measured with, '' for none named."""
        return self.reading.body.caliper if self.reading else ""

    @property
    def photos(self) -> tuple[CasePhoto, ...]:
        """The photos of the tripod that counts, newest first."""
        return tripod_photos_of(self.page.survey)[::-1]

    @property
    def senses(self) -> tuple[str, ...]:
        """The turning senses as drawn keys."""
        return SENSES

    @property
    def missing(self) -> tuple[str, ...]:
        """What was not declared when the marks that stand were made."""
        body = self.reading.body if self.reading else None
        return tuple(name for name in DECLARED if body and not getattr(body, name))


@renders("tripod")
def tripod(page: StepPage) -> str:
    """Render the page of the tripod."""
    view = TripodView(page) if page.case.now else None
    return render_template("steps/tripod.html", page=page, view=view)


@blueprint.get("/case/<code>/tripod/shape")
@least("technician")
def shape(code: str) -> str:
    """Show the triangle that typed distances make; nothing is recorded."""
    book.case_of(code)
    return render_template("steps/tripod_shape.html", shown=shown_of(request.args))


@blueprint.post("/case/<code>/tripod/look")
@least("technician")
def look(code: str) -> Response:
    """Show the whole page with the triangle of what is typed, for a browser without scripts."""
    return render_step(book.case_of(code).code, "tripod", form=request.form)
