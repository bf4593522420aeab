"""One photo of a case: what it shows, and for the tripod's where its marks are and what they measure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from flask import (
    Blueprint,
    Response,
    abort,
    jsonify,
    make_response,
    redirect,
    render_template,
    request,
    url_for,
)

from bench.core.bounds import BadEntry
from bench.core.case import Case
from bench.core.casephotos import CasePhoto, check_of, photo_of, tripod_of
from bench.core.colours import written
from bench.core.entries import CaseOpened, Remounted, TripodMarked
from bench.core.policy import ONE_OF
from bench.pictures.seen import Rgb
from bench.store.refusals import AlreadyRecorded
from bench.web import book, photolook, photoplaces, photos, seats, speech, telling
from bench.web.forms import Fault, Form
from bench.web.photolens import lens_of
from bench.web.photolook import Look
from bench.web.photoplaces import SPOTS, Places
from bench.web.photoresult import Result, result_of
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import RANK, least
from bench.words.photochecks import CheckWords, check_in_words
from bench.words.trail import entry_in_words, fate_in_words

blueprint = Blueprint("onephoto", __name__)

TAP_WIDE_PX = 800
SETTLE_WITHIN_MM = 3.0
_TAP = re.compile(r"[0-9]{1,6}", re.ASCII)


@dataclass(frozen=True)
class PhotoView:
    """What the page of one photo shows; `form` is what was sent, `faults` what was refused of it."""

    case: Case
    photo: CasePhoto
    form: Form | None = None
    places_now: Places | None = None
    faults: tuple[str, ...] = ()
    learnt: Rgb | None = None

    @property
    def may(self) -> bool:
        """Whether the person signed in may confirm marks."""
        person = seats.person()
        return bool(person and RANK[person.role] >= RANK["technician"])

    @property
    def marked_id(self) -> str | None:
        """The entry of the marks this photo shows: the one it is about, or the newest."""
        about = self.photo.about
        if about is not None and isinstance(about.body, TripodMarked):
            return about.id
        if about is not None and isinstance(about.body, Remounted) and about.body.tripod:
            return about.body.tripod
        newest = self.case.latest(TripodMarked)
        return newest.entry.id if newest else None

    @property
    def marked(self) -> TripodMarked | None:
        """The distances the photo is held against."""
        return tripod_of(self.marked_id, self.case)

    @property
    def of_marks(self) -> bool:
        """Whether there are marks to confirm on it."""
        return self.photo.body.shows == "tripod" and not self.photo.taken_back

    @property
    def kept(self) -> bool:
        """Whether the photo's bytes are on this bench."""
        return photos.shelf().has(self.photo.sha)

    @property
    def asked_to_look(self) -> bool:
        """Whether the marks are to be looked for now."""
        return "look" in request.args

    @cached_property
    def look(self) -> Look | None:
        """What was found in the photo; None while nobody asked."""
        wanted = self.of_marks and self.may and self.kept and self.places_now is None
        return (
            photolook.looked(self.photo.sha, self.case.code)
            if wanted and self.asked_to_look
            else None
        )

    @property
    def to_look(self) -> bool:
        """Whether the page is to ask by itself what is found: nothing is confirmed or chosen yet."""
        return (
            self.of_marks and self.may and self.kept and self.photo.marks is None
            and self.places_now is None and not self.asked_to_look
        )  # fmt: skip

    @cached_property
    def places(self) -> Places:
        """The places shown: those chosen on this page, found, or confirmed before."""
        label_mm = book.lab().policy.number("label_mm")
        if self.places_now is not None:
            return self.places_now
        seen = self.look.seen if self.look is not None else None
        if seen is None and self.photo.marks is not None:
            return photoplaces.confirmed(self.photo.marks.body)
        found = photoplaces.found(seen, self.marked, label_mm) if seen else None
        lens, body = lens_of(self.photo, seen), self.photo.body
        places = found or photoplaces.nothing(label_mm)
        return places.through(lens, body.width_px, body.height_px)

    @property
    def result(self) -> Result:
        """What the places shown measure."""
        return result_of(self.places, self.photo, self.marked)

    @property
    def verdict(self) -> CheckWords | None:
        """What the confirmed marks say, in words; None while none are."""
        check = check_of(self.photo, self.case)
        return check_in_words(check, telling.reader()) if check else None

    @property
    def active(self) -> str:
        """The spot that a tap places next."""
        chosen = self.form.get("active", "") if self.form is not None else ""
        return chosen if chosen in SPOTS else self.places.next_spot

    @property
    def sizes(self) -> list[tuple[str, str]]:
        """The sizes a label may have, as keys show them."""
        return [
            (f"{mm:g}", speech.say("photomarks.size_mm", mm=f"{mm:g}")) for mm in ONE_OF["label_mm"]
        ]

    @property
    def around_px(self) -> float:
        """How far the closer view reaches from its middle, in pixels: seven millimetres."""
        scale = self.places.px_per_mm
        return 7 * scale if scale else self.photo.body.width_px / 14

    @property
    def step_px(self) -> float:
        """How far an arrow key moves a place: a twentieth of a millimetre, a pixel where none is known."""
        scale = self.places.px_per_mm
        return round(max(0.25, scale / 20), 2) if scale else 1.0

    @property
    def told(self) -> str:
        """Who took it and when it was kept, as the trail tells it."""
        return entry_in_words(self.photo.entry, self.case, telling.reader())

    @property
    def fate(self) -> str:
        """What became of it, nothing while it stands."""
        return fate_in_words(self.photo.entry, self.case, telling.reader())

    @property
    def about_words(self) -> str:
        """The entry it is about, as a sentence; nothing where it is about none."""
        about = self.photo.about
        return entry_in_words(about, self.case, telling.reader()) if about else ""

    @property
    def confirmed_words(self) -> str:
        """Who confirmed the marks last; nothing while nobody did."""
        marks = self.photo.marks
        if marks is None:
            return ""
        at = telling.moment(marks.entry.at)
        return speech.say("photomarks.confirmed_by", person=marks.entry.person, at=at)

    @property
    def learnt_colour(self) -> str:
        """The colour taken from the photo as #rrggbb; nothing while none is."""
        return written(self.learnt) if self.learnt else ""


@blueprint.get("/case/<code>/photo/<sha>")
@least("reader")
def one_photo(code: str, sha: str) -> Response:
    """Show a photo of a case with its marks; `look` looks for them, `said` names what was recorded."""
    return _page(_view(code, sha))


@blueprint.post("/case/<code>/photo/<sha>")
@least("technician")
def confirm(code: str, sha: str) -> Response:
    """Record where the label and the marks are on a photo, as a person confirms them."""
    view = _view(code, sha)
    places = photoplaces.typed(request.form, view.places)
    try:
        entry = record(
            photoplaces.body_of(places, view.photo, view.marked_id or ""), case=view.case.code,
            entry_id=request.form.get("entry_id") or None,
        )  # fmt: skip
    except (BadEntry, AlreadyRecorded) as refused:
        return _page(_anew(view, places, faults=_words(faults_of(refused))), 422)
    address = url_for("onephoto.one_photo", code=view.case.code, sha=sha, said=entry.id)
    return make_response(redirect(address, 303))


@blueprint.post("/case/<code>/photo/<sha>/look")
@least("technician")
def look(code: str, sha: str) -> Response:
    """Show the page with what was typed, tapped, renamed or learnt, for a browser without scripts."""
    view, form = _view(code, sha), request.form
    places = photoplaces.typed(form, view.places)
    if form.get("names") in photoplaces.NAMES:
        places = places.renamed(form["names"])
    tapped = _tapped(view)
    if tapped is not None:
        places = places.put(_spot(form), tapped, "tapped")
    learnt = _learnt(view, places, _spot(form)) if "learn" in form else None
    faults = (speech.say("photomarks.learn.nothing"),) if "learn" in form and not learnt else ()
    return _page(_anew(view, places, faults=faults, learnt=learnt))


@blueprint.get("/case/<code>/photo/<sha>/measured")
@least("technician")
def measured(code: str, sha: str) -> str:
    """Show what the places in the address measure; nothing is recorded."""
    view = _view(code, sha)
    places = photoplaces.typed(request.args, view.places)
    return render_template(
        "photos/measured.html", result=result_of(places, view.photo, view.marked),
        code=view.case.code,
    )  # fmt: skip


@blueprint.get("/case/<code>/photo/<sha>/near")
@least("technician")
def near(code: str, sha: str) -> Response:
    """Return the middle of the mark near a place that was tapped, or nothing."""
    view = _view(code, sha)
    places = photoplaces.typed(request.args, view.places)
    spot = places.at.get(_spot(request.args))
    return jsonify(_settled(view, places, spot) if spot else {})


@blueprint.get("/case/<code>/photo/<sha>/colour")
@least("technician")
def colour(code: str, sha: str) -> str:
    """Show the colour of the pencil at the chosen place, and to a supervisor the way to make it the lab's."""
    view = _view(code, sha)
    places = photoplaces.typed(request.args, view.places)
    taken = _learnt(view, places, _spot(request.args))
    return render_template(
        "photos/learnt.html", colour=written(taken) if taken else "",
        number=view.case.opened.body.number,
    )  # fmt: skip


def _settled(view: PhotoView, places: Places, spot: tuple[float, float]) -> dict[str, float]:
    scale = places.px_per_mm
    found = photolook.settled(view.photo.sha, *spot, scale) if view.of_marks else None
    reach = SETTLE_WITHIN_MM * (scale or view.photo.body.width_px / 100)
    if found is None or max(abs(found.x_px - spot[0]), abs(found.y_px - spot[1])) > reach:
        return {}
    return {"x_px": round(found.x_px, 2), "y_px": round(found.y_px, 2)}


def _view(code: str, sha: str) -> PhotoView:
    case = book.case_of(code)
    if not case.said(CaseOpened):
        abort(404)
    photo = photo_of(case, sha)
    if photo is None:
        abort(404)
    return PhotoView(case, photo)


def _anew(
    view: PhotoView, places: Places, *, faults: tuple[str, ...] = (), learnt: Rgb | None = None
) -> PhotoView:
    return PhotoView(view.case, view.photo, request.form, places, faults, learnt)


def _page(view: PhotoView, status: int = 200) -> Response:
    page = render_template(
        "photos/onephoto.html", view=view, case=view.case, photo=view.photo, tell=telling,
        offline_code=view.case.code, tap_wide=TAP_WIDE_PX,
    )  # fmt: skip
    return make_response(page, status)


def _spot(form: Form) -> str:
    chosen = form.get("active", "")
    return chosen if chosen in SPOTS else "a"


def _tapped(view: PhotoView) -> tuple[float, float] | None:
    """Return where the picture was tapped that a browser without scripts shows at a known width."""
    texts = [request.form.get(f"at.{axis}", "") for axis in "xy"]
    if not all(_TAP.fullmatch(text) for text in texts):
        return None
    wide, high = view.photo.body.width_px, view.photo.body.height_px
    x, y = ((int(text) + 0.5) * wide / TAP_WIDE_PX for text in texts)
    return min(x, float(wide)), min(y, float(high))


def _learnt(view: PhotoView, places: Places, spot: str) -> Rgb | None:
    place = places.at[spot]
    return photolook.sampled(view.photo.sha, *place) if place and view.kept else None


def _words(faults: dict[str, Fault]) -> tuple[str, ...]:
    return tuple(speech.say_fault(name, fault) for name, fault in faults.items())
