"""Photos: shown to whoever is signed in, kept once their bytes are on disk."""

from __future__ import annotations

from flask import (
    Blueprint,
    Response,
    abort,
    current_app,
    make_response,
    redirect,
    render_template,
    request,
    url_for,
)

from bench.core.bounds import BadEntry
from bench.core.case import Case
from bench.core.entries import CaseOpened, Entry, PhotoKept, TripodMarked
from bench.core.entries.vocabulary import SHOWS
from bench.pictures.apart import take_in
from bench.pictures.ingest import Picture
from bench.pictures.refusal import PictureRefused
from bench.store.photos import NoSuchPhoto, PhotoShelf, Variant
from bench.store.refusals import AlreadyRecorded
from bench.web import book, htmx, speech
from bench.web.display import local_address
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import PHOTO_BYTES, least

blueprint = Blueprint("photos", __name__)

FOLDER = "photos"
YEAR_S = 365 * 24 * 3600
_KEPT_FIELDS = ("shows", "about", "setting", "next", "step", "supersedes", "reason")


def shelf() -> PhotoShelf:
    """Return the shelf of photos of this bench."""
    kept: PhotoShelf | None = current_app.extensions.get("shelf")
    if kept is None:
        kept = current_app.extensions["shelf"] = PhotoShelf(
            current_app.config["SETTINGS"].data / FOLDER
        )
    return kept


@blueprint.get("/photo/<sha>/<any(display, thumb):variant>")
@least("reader", quiet=True)
def photo(sha: str, variant: Variant) -> Response:
    """Serve a photo: its bytes never change under its digest."""
    try:
        with shelf().open(sha, variant) as source:
            data = source.read()
    except NoSuchPhoto:
        abort(404)
    answer = make_response(data)
    answer.headers["Content-Type"] = "image/jpeg"
    answer.headers["Cache-Control"] = f"private, max-age={YEAR_S}, immutable"
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return answer


@blueprint.post("/case/<code>/photo")
@least("technician", most_bytes=PHOTO_BYTES)
def keep(code: str) -> Response:
    """Keep a photo of a case: first its bytes, then the entry that names them."""
    case = book.case_of(code)
    if not case.said(CaseOpened):
        abort(404)
    try:
        entry = _kept(case, _taken_in(case))
    except PictureRefused as refused:
        said = [speech.say(f"pictures.refused.{refused.code}.{part}", **refused.params)
                for part in ("what", "why", "do")]  # fmt: skip
        return refused_page(case, said)
    except (BadEntry, AlreadyRecorded) as refused:
        faults = faults_of(refused)
        return refused_page(case, [speech.say_fault(name, faults[name]) for name in faults])
    return _recorded(case, entry)


def _taken_in(case: Case) -> Picture:
    """Check what the photo is said to show, then the picture itself."""
    shows, about = request.form.get("shows", ""), _about(case)
    if shows not in SHOWS:
        raise BadEntry("shows", "not_a_choice", value=shows[:20], choices=", ".join(SHOWS))
    if about is not None and about not in case.by_id:
        raise BadEntry("about", "no_such_entry", value=about[:60])
    _only_photos_replaced(case)
    sent = request.files.get("photo")
    return take_in(sent.read() if sent else b"", (sent.filename or "") if sent else "")


def _only_photos_replaced(case: Case) -> None:
    """A photo takes the place of a photo, never of a finding."""
    for key in request.form.getlist("supersedes"):
        entry = case.by_id.get(key)
        if key and (entry is None or not isinstance(entry.body, PhotoKept)):
            raise BadEntry("supersedes", "no_such_entry", value=key[:60])


def _about(case: Case) -> str | None:
    """Return the entry the photo is about; a tripod's photo is about the marks that count."""
    named = request.form.get("about") or None
    marked = case.latest(TripodMarked)
    if named is None and request.form.get("shows") == "tripod" and marked is not None:
        return marked.entry.id
    return named


def _kept(case: Case, picture: Picture) -> Entry:
    shelf().keep(picture)
    body = PhotoKept(
        picture.sha256_hex, picture.media_type, picture.width_px, picture.height_px,
        shows=request.form["shows"], about=_about(case),
    )  # fmt: skip
    setting = request.form.get("setting") or None
    return record(
        body, case=case.code, setting=setting, entry_id=request.form.get("entry_id") or None,
        supersedes=tuple(one for one in request.form.getlist("supersedes") if one),
        reason=request.form.get("reason", "").strip(),
    )  # fmt: skip


def _recorded(case: Case, entry: Entry) -> Response:
    wanted = request.form.get("next", "")
    address = (
        local_address(wanted) if wanted else url_for("trail.trail", code=case.code, said=entry.id)
    )
    if htmx.asked_by_htmx():
        return htmx.sent_elsewhere(make_response("", 200), address)
    return make_response(redirect(address, 303))


def refused_page(case: Case, said: list[str]) -> Response:
    """Say why a photo was not kept, with the form to try again and everything chosen kept."""
    kept = {name: request.form[name] for name in _KEPT_FIELDS if request.form.get(name)}
    page = render_template("cases/photo.html", case=case, said=said, kept=kept, shows=SHOWS)
    return htmx.into_main(make_response(page, 422))
