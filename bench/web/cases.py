"""Open a case, and find the way to one from its label."""

from __future__ import annotations

import re
from collections.abc import Iterator
from hashlib import sha256

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for

from bench.core.bounds import BadEntry
from bench.core.entries import CaseOpened, Entry
from bench.core.entries.vocabulary import CAST_KINDS
from bench.core.ids import CODES, BadCode, case_code, code_from_typed, is_entry_id
from bench.core.release import judge
from bench.core.steps import next_step, steps_of
from bench.core.survey import Survey
from bench.core.teeth import ARCHES
from bench.store.refusals import AlreadyRecorded
from bench.web import book, clock, speech
from bench.web.forms import Form, FormRefused, read_body
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import least

blueprint = Blueprint("cases", __name__)

CODE_TRIES = 8
STAND_IN_CODE = case_code(0)
_REPEAT = r"(?:\{(\d+)(?:,\d*)?\}|([?*+]))?"
_PIECE = re.compile(r"(\[[^\]]+\]|\\d|\\w|[A-Za-z0-9 ./_-]|\\[.\-/])" + _REPEAT)


@blueprint.get("/case/new")
@least("technician")
def new() -> Response:
    """Ask for what opens a case; `code` names a label that is printed already."""
    return _page(request.args, {})


@blueprint.post("/case/new")
@least("technician")
def open_case() -> Response:
    """Open a case under the label of the form, or under a fresh one, and go on to its first step."""
    form = request.form.copy()
    try:
        body = _body(form)
        entry = _opened(body, form)
    except (FormRefused, BadEntry, AlreadyRecorded) as refused:
        errors = {name: speech.say_fault(name, f) for name, f in faults_of(refused).items()}
        return _page(form, errors, 422)
    except NumberRefused as refused:
        return _page(form, {"number": refused.words}, 422, ask=refused.may_confirm)
    return make_response(redirect(url_for("steps.step_page", code=entry.case, step="receive"), 303))


class NumberRefused(ValueError):
    """A case number that is not taken; `may_confirm` when whoever typed it may say that it names nobody."""

    def __init__(self, words: str, *, may_confirm: bool) -> None:
        super().__init__(words)
        self.words, self.may_confirm = words, may_confirm


def _body(form: Form) -> CaseOpened:
    """Read the form, under a stand-in code where the label is still to be made."""
    form["code"] = form.get("code") or STAND_IN_CODE
    body = read_body(CaseOpened, form)
    policy = book.lab().policy
    if not policy.fits_number_pattern(body.number):
        shape = shape_shown(policy.texts["case_number_pattern"])
        words = speech.say("cases.new.other_shape", number=body.number, shape=shape)
        raise NumberRefused(words, may_confirm=False)
    if may_be_a_name(body.number) and "no_name" not in form:
        words = speech.say("cases.new.name_like", number=body.number)
        raise NumberRefused(words, may_confirm=True)
    return body


def number_checks() -> dict[str, str]:
    """Return what a page's script needs to look at a case number as `_body` does: pattern and words."""
    pattern = book.lab().policy.texts["case_number_pattern"]
    gap = "{number}"
    return {
        "shape": pattern, "name_like": speech.say("cases.new.name_like", number=gap),
        "other_shape": speech.say("cases.new.other_shape", number=gap, shape=shape_shown(pattern)),
    }  # fmt: skip


def may_be_a_name(number: str) -> bool:
    """Say whether a case number holds three letters in a row, as names do and numbers rarely."""
    return re.search(r"[^\W\d_]{3}", number) is not None


def shape_shown(pattern: str) -> str:
    """Return an example of a case number of the lab's shape; the pattern itself when it is beyond that."""
    pieces = list(_PIECE.finditer(pattern))
    if "".join(piece[0] for piece in pieces) != pattern:
        return pattern
    return "".join(_example(*piece.groups()) for piece in pieces)


def _example(sign: str, count: str | None, repeat: str | None) -> str:
    if repeat in ("?", "*") or count == "0":
        return ""
    shown = (
        "0" if sign in (r"\d", "[0-9]") else "A" if sign[0] == "[" or sign == r"\w" else sign[-1]
    )
    return shown * int(count or 1)


def _opened(body: CaseOpened, form: Form) -> Entry:
    if body.code != STAND_IN_CODE:
        return record(body, case=body.code, entry_id=form.get("entry_id"))
    form_id = form.get("entry_id") or clock.new_entry_id()
    if not is_entry_id(form_id):
        raise BadEntry("entry_id", "no_entry_id", value=form_id[:60])
    form["code"] = ""
    return _under_a_fresh_code(body, form_id)


def _under_a_fresh_code(body: CaseOpened, form_id: str) -> Entry:
    """Open the case under the first code of the form's own row that no other case has.

    The row follows from the form's random id, so a second tap of the same form finds the same case.
    """
    for code in codes_of(form_id):
        try:
            own = CaseOpened(code, body.number, body.arch, body.cast_kind)
            return record(own, case=code, entry_id=form_id)
        except BadEntry as bad:
            if bad.code != "already_open":
                raise
    raise BadEntry("code", "already_open", value=code)


def codes_of(form_id: str) -> Iterator[str]:
    """Yield label codes that nobody can foretell without the 74 random bits of the form's id."""
    for turn in range(CODE_TRIES):
        digest = sha256(f"{form_id} {turn}".encode()).digest()
        yield case_code(int.from_bytes(digest[:16], "big") % (CODES - 1) + 1)


def _page(form: Form, errors: dict[str, str], status: int = 200, *, ask: bool = False) -> Response:
    policy = book.lab().policy
    page = render_template(
        "cases/new.html", form=form, errors=errors, ask=ask, arches=ARCHES, kinds=CAST_KINDS,
        code=_shown_code(form), shape=shape_shown(policy.texts["case_number_pattern"]),
        opening=number_checks(),
    )  # fmt: skip
    return make_response(page, status)


def _shown_code(form: Form) -> str:
    code = form.get("code", "")
    try:
        return code_from_typed(code) if code and code != STAND_IN_CODE else ""
    except BadCode:
        return ""


@blueprint.get("/case/<code>")
@least("reader")
def case_page(code: str) -> Response:
    """Go to the step of a case that is to be done next."""
    return way_to(code)


@blueprint.get("/c/<code>")
@blueprint.get("/C/<code>", endpoint="label_in_capitals")
@least("reader")
def label(code: str) -> Response:
    """Go from the address on a label to its case."""
    return way_to(code)


def way_to(typed: str) -> Response:
    """Return the way to the case of a label code: its next step, or a page that says why there is none."""
    try:
        code = code_from_typed(typed)
    except BadCode as bad:
        return bad_code_page(bad)
    case = book.case_of(code)
    if not case.said(CaseOpened):
        return unknown_page(code, recorded=bool(case.entries))
    survey = Survey(case, book.lab())
    step = next_step(steps_of(survey, judge(survey)))
    return make_response(redirect(url_for("steps.step_page", code=code, step=step), 303))


def bad_code_page(bad: BadCode) -> Response:
    """Say what is wrong with a code, with what was typed kept."""
    words = {
        part: speech.say(f"labels.typed.{bad.code}.{part}", **bad.params)
        for part in ("what", "why", "do")
    }
    page = render_template("scan/scan.html", words=words, typed=bad.params["typed"])
    return make_response(page, 404)


def unknown_page(code: str, *, recorded: bool = False) -> Response:
    """Say that no case was opened under a label, and what to do about it."""
    return make_response(render_template("cases/unknown.html", code=code, recorded=recorded), 404)
