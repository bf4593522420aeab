"""Arrows and circles drawn over a photo, which itself is never altered."""

from __future__ import annotations

import json
from contextlib import suppress

from flask import (
    Blueprint,
    Response,
    abort,
    make_response,
    redirect,
    render_template,
    request,
    url_for,
)

from bench.core.bounds import BadEntry
from bench.core.case import Case
from bench.core.casephotos import CasePhoto, photo_of
from bench.core.entries import CaseOpened, Entry, PhotoDrawn, Withdrawn
from bench.store.refusals import AlreadyRecorded
from bench.web import book, clock, photos, seats, speech
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import least
from bench.web.steps import UNDO_MS

blueprint = Blueprint("drawing", __name__)


@blueprint.get("/case/<code>/photo/<sha>/draw")
@least("technician")
def draw(code: str, sha: str) -> Response:
    """Show a photo to draw arrows and circles over it; `said` names the drawing just recorded."""
    case, photo = _photo(code, sha)
    return _page(case, photo, photo.drawn.body.shapes if photo.drawn else (), ())


@blueprint.post("/case/<code>/photo/<sha>/draw")
@least("technician")
def keep(code: str, sha: str) -> Response:
    """Record what is drawn over a photo, in place of what was."""
    case, photo = _photo(code, sha)
    shapes = tuple(one.strip() for one in request.form.getlist("shapes") if one.strip())
    replaced = (photo.drawn.entry.id,) if photo.drawn else ()
    try:
        entry = record(
            PhotoDrawn(sha, shapes), case=case.code, supersedes=replaced,
            reason=speech.say("drawing.why") if replaced else "",
            entry_id=request.form.get("entry_id") or None,
        )  # fmt: skip
    except (BadEntry, AlreadyRecorded) as refused:
        faults = faults_of(refused)
        said = tuple(speech.say_fault(name, faults[name]) for name in faults)
        return _page(case, photo, shapes, said, 422)
    address = url_for("drawing.draw", code=case.code, sha=sha, said=entry.id)
    return make_response(redirect(address, 303))


@blueprint.post("/case/<code>/photo/<sha>/draw/<entry_id>/back")
@least("technician")
def take_back(code: str, sha: str, entry_id: str) -> Response:
    """Take a drawing back within its minute: the one before shows again."""
    case, _ = _photo(code, sha)
    entry = case.by_id.get(entry_id)
    if entry is None or not isinstance(entry.body, PhotoDrawn) or clock.age_ms(entry.at) >= UNDO_MS:
        abort(404)
    with suppress(BadEntry, AlreadyRecorded):  # a second tap: it is back already
        record(Withdrawn(entry.id), case=case.code, reason=speech.say("recorded.undone_at_once"))
    return make_response(redirect(url_for("drawing.draw", code=case.code, sha=sha), 303))


def _photo(code: str, sha: str) -> tuple[Case, CasePhoto]:
    case = book.case_of(code)
    photo = photo_of(case, sha) if case.said(CaseOpened) else None
    if photo is None or photo.taken_back or not photos.shelf().has(photo.sha):
        abort(404)
    return case, photo


def _page(
    case: Case,
    photo: CasePhoto,
    shapes: tuple[str, ...],
    faults: tuple[str, ...],
    status: int = 200,
) -> Response:
    page = render_template(
        "photos/draw.html", case=case, photo=photo, shapes=json.dumps(shapes), faults=faults,
        said=_said(case), offline_code=case.code,
    )  # fmt: skip
    return make_response(page, status)


def _said(case: Case) -> Entry | None:
    """Return the drawing just recorded by the person signed in, who may take it back for a minute."""
    entry, person = case.by_id.get(request.args.get("said", "")), seats.person()
    if entry is None or person is None or not isinstance(entry.body, PhotoDrawn):
        return None
    stands = entry in case.standing
    mine = entry.person == person.initials and clock.age_ms(entry.at) < UNDO_MS
    return entry if stands and mine else None
