"""The survey sheet of a case: as a page, and as the same page on paper."""

from __future__ import annotations

from flask import Blueprint, Response, abort, current_app, make_response, render_template, request

from bench.core.entries import CaseOpened
from bench.core.release import judge
from bench.core.survey import Survey
from bench.pictures.label import BadLabel
from bench.sheets.blocks import unbroken
from bench.sheets.facts import Facts, facts_of
from bench.sheets.square import square_dots
from bench.sheets.survey import PAPERS, sheet_pdf
from bench.store.photos import NoSuchPhoto
from bench.web import archmap, book, clock, photos, speech, telling
from bench.web.roles import least

blueprint = Blueprint("sheet", __name__)


@blueprint.get("/case/<code>/sheet")
@least("reader")
def sheet(code: str) -> str:
    """Show the survey sheet of a case."""
    facts = _facts(code)
    return render_template(
        "sheet/sheet.html", facts=facts, case=book.case_of(code), picture=_picture(facts),
        papers=PAPERS, dots=square_dots(facts.address),
        whole=unbroken,
    )  # fmt: skip


@blueprint.get("/case/<code>/sheet.pdf")
@least("reader")
def paper(code: str) -> Response:
    """Return the survey sheet of a case as one page of PDF; `paper` is A4 or Letter."""
    wanted = request.args.get("paper", "A4")
    size = next((one for one in PAPERS if one == wanted), None)
    if size is None:
        abort(422, "paper")
    facts = _facts(code)
    data = sheet_pdf(facts, telling.reader(), paper=size, photo=_photo(facts.photo))
    answer = make_response(data)
    answer.headers["Content-Type"] = "application/pdf"
    answer.headers["Content-Disposition"] = f'inline; filename="survey-{facts.code}.pdf"'
    return answer


def _facts(code: str) -> Facts:
    case = book.case_of(code)
    if not case.said(CaseOpened):
        abort(404)
    survey = Survey(case, book.lab())
    try:
        return facts_of(
            survey, judge(survey), telling.reader(), when=telling.moment,
            base_url=current_app.config["SETTINGS"].labels_at, printed=telling.moment_of(clock.now_ms()),
        )  # fmt: skip
    except BadLabel:
        abort(422, "address")


def _photo(sha: str | None) -> bytes | None:
    if sha is None:
        return None
    try:
        with photos.shelf().open(sha, "display") as source:
            return source.read()
    except NoSuchPhoto:
        return None


def _picture(facts: Facts) -> archmap.MapPicture:
    marked, reader = facts.marked, telling.reader()
    return archmap.draw(
        marked.model, say=speech.say, missing=marked.missing, replaced=marked.replaced,
        extractions=marked.extractions, teeth=marked.teeth, surfaces=marked.surfaces,
        numbering=reader.numbering, overlays=marked.overlays,
    )  # fmt: skip
