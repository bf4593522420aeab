"""The instruments of the lab: their checks, which are due, and how they leave and come back."""

from __future__ import annotations

from collections.abc import Mapping

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for

from bench.core.bounds import BadEntry
from bench.core.entries import (
    Entry,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    InstrumentReturned,
    PersonConfirmed,
    UncertaintyStated,
)
from bench.core.entries.vocabulary import INSTRUMENTS
from bench.core.instruments import Standing, check_days, doubts_of, due_list, standing_of
from bench.core.lab import Lab
from bench.store.refusals import AlreadyRecorded
from bench.web import book, clock, seats, speech, telling
from bench.web.forms import Form, FormRefused, number_from, read_body
from bench.web.record import Statement, record, record_many, stamps
from bench.web.recording import faults_of
from bench.web.roles import least
from bench.words.trail import entry_in_words

blueprint = Blueprint("instruments", __name__)
Errors = Mapping[str, str]
MARKS = {
    "retired": "plain", "failed": "stopped", "never": "todo", "overdue": "stale", "soon": "warns",
    "sound": "done",
}  # fmt: skip
SAID = ("added", "checked", "retired", "returned", "confirmed")
ANGULAR = ("table", "inclinometer")


@blueprint.get("/instruments")
@least("reader")
def everything() -> Response:
    """Show the instruments with their checks, those that are due first."""
    return _page()


@blueprint.post("/instruments")
@least("supervisor")
def add() -> Response:
    """Add an instrument under its own tag."""
    return _recorded(InstrumentAdded, "added")


@blueprint.post("/instruments/<tag>/check")
@least("technician")
def check(tag: str) -> Response:
    """Log a check of an instrument against a reference, with its uncertainty where one is given."""
    form = _form_of(tag)
    try:
        record_many(_check_stated(form))
    except (FormRefused, BadEntry, AlreadyRecorded) as refused:
        return _page(of=tag, errors=_words(refused), status=422)
    return _done("checked", form["tag"])


@blueprint.post("/instruments/<tag>/retire")
@least("supervisor")
def retire(tag: str) -> Response:
    """Take an instrument out of service."""
    return _recorded(InstrumentRetired, "retired", tag)


@blueprint.post("/instruments/<tag>/return")
@least("supervisor")
def put_back(tag: str) -> Response:
    """Put an instrument back into service."""
    return _recorded(InstrumentReturned, "returned", tag)


@blueprint.post("/instruments/confirm")
@least("technician")
def confirm() -> Response:
    """Record that what a tablet recorded of instruments without the PIN is one's own."""
    form = request.form
    try:
        record(PersonConfirmed(tuple(form.getlist("entries"))), entry_id=form.get("entry_id"))
    except (BadEntry, AlreadyRecorded) as refused:
        return _page(errors=_words(refused), status=422)
    return _done("confirmed", "")


def _check_stated(form: Form) -> list[Statement]:
    """Return the check and, when its uncertainty is given, the statement of that under an id of its own."""
    body = read_body(InstrumentChecked, form)
    form_id = form.get("entry_id") or clock.new_entry_id()
    stated = [Statement(body, entry_id=form_id)]
    typed = form.get("uncertainty", "").strip()
    if typed:
        value = number_from("uncertainty_mm", typed)
        pair = (value, None) if body.unit == "mm" else (None, value)
        about = UncertaintyStated(stamps().stamped(form_id), *pair)
        stated.append(Statement(about, entry_id=form.get("second_id") or None))
    return stated


def _recorded(body_class: type, said: str, tag: str | None = None) -> Response:
    form = _form_of(tag)
    try:
        record(read_body(body_class, form), entry_id=form.get("entry_id"))
    except (FormRefused, BadEntry, AlreadyRecorded) as refused:
        return _page(of=tag or "", errors=_words(refused), status=422)
    return _done(said, form["tag"])


def _form_of(tag: str | None) -> Form:
    form = request.form.copy()
    if tag is not None:
        form.setlist("tag", [tag])
    form["tag"] = form.get("tag", "").upper()
    return form


def _done(said: str, tag: str) -> Response:
    return make_response(redirect(url_for("instruments.everything", said=said, of=tag), 303))


def _words(refused: FormRefused | BadEntry | AlreadyRecorded) -> dict[str, str]:
    return {field: speech.say_fault(field, fault) for field, fault in faults_of(refused).items()}


def _said(lab: Lab) -> tuple[str, str] | None:
    """Return what to say was just recorded and of which tag: as the address has it, or by an entry's id."""
    said, of = request.args.get("said", ""), request.args.get("of", "")
    if said in SAID:
        return said, of
    found = (tag for tag, one in lab.instruments.items() for check in (*one.checks, *one.unproved)
             if check.id == said)  # fmt: skip
    tag = next(found, None)
    return ("checked", tag) if tag else None


def _mine(lab: Lab) -> list[tuple[Entry, str]]:
    """Return what stands in the name of the person signed in and they have not confirmed, in words."""
    person = seats.person()
    mine = [one for one in lab.unconfirmed if person and one.person == person.initials]
    return [(one, entry_in_words(one, None, telling.reader())) for one in mine]


def _page(of: str = "", errors: Errors | None = None, status: int = 200) -> Response:
    lab, at = book.lab(), telling.now()
    known = [standing_of(one, lab.policy, at) for one in lab.instruments.values()]
    page = render_template(
        "desk/instruments.html", standings=sorted(known, key=_in_service_by_sort), sorts=INSTRUMENTS,
        of=of, errors=errors or {}, due=due_list(lab, at), marks=MARKS, angular=ANGULAR,
        doubts=doubts_of, days={sort: check_days(sort, lab.policy) for sort in INSTRUMENTS},
        tell=telling, said=_said(lab), mine=_mine(lab), recorders=lab.recorders(),
    )  # fmt: skip
    return make_response(page, status)


def _in_service_by_sort(one: Standing) -> tuple[bool, int, str]:
    known = one.instrument
    return not known.in_service, INSTRUMENTS.index(known.sort), known.tag
