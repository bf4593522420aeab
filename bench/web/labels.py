"""Labels: one for a case, or sheets of them for cases that are chosen."""

from __future__ import annotations

from typing import get_args

from flask import Blueprint, Response, abort, current_app, make_response, render_template, request

from bench.core.entries import CaseOpened
from bench.core.teeth import Arch
from bench.pictures.label import (
    CODE_SIZES_MM,
    BadLabel,
    LabelFacts,
    Paper,
    label_image,
    label_pdf,
    label_sheet_images,
    label_sheet_pdf,
    labels_per_sheet,
)
from bench.web import book, speech, telling
from bench.web.roles import least

blueprint = Blueprint("labels", __name__)

PAGE_CASES = 60
PAPERS: tuple[Paper, ...] = get_args(Paper)
MEDIA = {"pdf": "application/pdf", "png": "image/png"}


@blueprint.get("/labels")
@least("reader")
def choose() -> Response:
    """Ask for which cases labels are to be printed, the case opened last at the top."""
    return _page([], None)


@blueprint.get("/case/<code>/label.<any(png, pdf):form>")
@least("reader")
def label(code: str, form: str) -> Response:
    """Return the label of a case as a picture or a page of its own size; `mm` is the square's side."""
    try:
        facts, mm = facts_of(code), _size_mm()
        data = label_pdf(facts, speech.say, code_mm=mm) if form == "pdf" else (
            label_image(facts, speech.say, code_mm=mm)
        )  # fmt: skip
    except BadLabel as bad:
        return _page([code], bad)
    return _file(data, form, f"label-{facts.code}.{form}")


@blueprint.get("/labels/sheet")
@least("reader")
def sheet() -> Response:
    """Return the labels of the chosen cases as sheets of paper."""
    codes = list(dict.fromkeys(request.args.getlist("code")))
    form = "png" if request.args.get("as") == "png" else "pdf"
    try:
        data = _sheet([facts_of(code) for code in codes], form)
    except BadLabel as bad:
        return _page(codes, bad)
    return _file(data, form, f"labels.{form}")


def _sheet(labels: list[LabelFacts], form: str) -> bytes:
    """Return all sheets as a PDF, or one of them, by its number in `sheet`, as a picture."""
    paper, mm = _paper(), _size_mm()
    if form == "pdf":
        return label_sheet_pdf(labels, speech.say, paper=paper, code_mm=mm)
    across, down = labels_per_sheet(paper, mm)
    first = across * down * (_number("sheet", 1) - 1)
    one = labels[max(0, first) : max(0, first) + across * down]
    return label_sheet_images(one, speech.say, paper=paper, code_mm=mm)[0]


def facts_of(code: str) -> LabelFacts:
    """Return what the label of a case says; 404 for a case that was not opened."""
    case = book.case_of(code)
    if not case.said(CaseOpened):
        abort(404)
    opened = case.opened.body
    return LabelFacts(
        case.code, opened.number, opened.arch, current_app.config["SETTINGS"].labels_at
    )


def _paper() -> Paper:
    named = request.args.get("paper", "A4")
    found = next((paper for paper in PAPERS if paper == named), None)
    if found is None:
        raise BadLabel("paper", {"paper": named[:20], "papers": ", ".join(PAPERS)})
    return found


def _size_mm() -> int:
    """Return the side asked for, else the one the lab's policy names."""
    return _number("mm", int(book.lab().policy.number("label_mm")))


def _number(name: str, otherwise: int) -> int:
    text = request.args.get(name, str(otherwise))
    return int(text) if text.isascii() and text.isdigit() and len(text) < 5 else -1


def _file(data: bytes, form: str, name: str) -> Response:
    answer = make_response(data)
    answer.headers["Content-Type"] = MEDIA[form]
    answer.headers["Content-Disposition"] = f'inline; filename="{name}"'
    return answer


def _page(chosen: list[str], bad: BadLabel | None) -> Response:
    page = min(max(1, _number("page", 1)), 999)
    text = request.args.get("q", "").strip()[:60]
    found = book.log().models.board(
        text=text, order="opened", limit=PAGE_CASES + 1, offset=(page - 1) * PAGE_CASES
    )
    said = {part: speech.say(f"labels.refused.{bad.code}.{part}", **bad.params)
            for part in ("what", "why", "do")} if bad else {}  # fmt: skip
    html = render_template(
        "labels/choose.html", cases=[one for one in found[:PAGE_CASES] if one.number], said=said,
        more=len(found) > PAGE_CASES, page=page, text=text, chosen=chosen, sizes=CODE_SIZES_MM,
        papers=PAPERS, paper=request.args.get("paper", "A4"), mm=_size_mm(), tell=telling,
        arches=get_args(Arch),
    )  # fmt: skip
    return make_response(html, 422 if bad else 200)
