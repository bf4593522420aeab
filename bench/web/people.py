"""The people of the lab: the first supervisor, signing in, and the supervisor's page of them."""

from __future__ import annotations

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
from bench.core.entries import PersonAdded, PersonChanged
from bench.core.entries.vocabulary import ROLES
from bench.store.credentials import LEAST_DIGITS, MOST_DIGITS, weakness_of
from bench.web import book, lock, seats, speech
from bench.web.display import local_address
from bench.web.forms import Form, FormRefused, read_body
from bench.web.record import record, record_first
from bench.web.recording import faults_of
from bench.web.roles import least

blueprint = Blueprint("people", __name__)
Words = dict[str, str]


@blueprint.get("/start")
@least("stranger")
def start() -> Response:
    """Ask for the first supervisor; only while there is none."""
    if book.lab().people:
        return make_response(redirect(url_for("people.who"), 303))
    return _start_page({})


@blueprint.post("/start")
@least("stranger")
def make_first() -> Response:
    """Add the first supervisor and sign them in."""
    if book.lab().people:
        abort(403, "started")
    try:
        initials, pin = _initials(), _new_pin()
        record_first(initials)
    except BadEntry as refused:
        return _start_page(_words(refused), 422)
    book.credentials().set_pin(initials, pin)
    seats.sit_down(initials)
    return make_response(redirect(url_for("people.everybody"), 303))


@blueprint.get("/who")
@least("stranger")
def who() -> Response:
    """Ask who it is."""
    if not book.lab().people:
        return make_response(redirect(url_for("people.start"), 303))
    return _who_page({})


@blueprint.post("/who")
@least("stranger")
def sign_in() -> Response:
    """Sign a person in and go on to the page they wanted."""
    try:
        lock.sign_in(_initials(), request.form.get("pin", ""))
    except BadEntry as bad:
        return _who_page(_words(bad), lock.status_of(bad))
    return make_response(redirect(local_address(request.form.get("next") or "/"), 303))


@blueprint.post("/lock")
@least("stranger")
def lock_tablet() -> Response:
    """Free the seat; the person comes back with the PIN.

    A forgotten page names its person in `of`: the seat of whoever sits there by now is left alone.
    """
    person = seats.person()
    if person is None or request.form.get("of", person.initials) == person.initials:
        seats.stand_up()
    return make_response(redirect(url_for("people.who", next=_page_before()), 303))


@blueprint.get("/people")
@least("supervisor")
def everybody() -> Response:
    """Show everybody, with their role and whether a PIN is set or locked."""
    return _people_page({})


@blueprint.post("/people")
@least("supervisor")
def add() -> Response:
    """Add a person with a first PIN."""
    try:
        body = read_body(PersonAdded, request.form)
        pin = _new_pin()
        record(body, entry_id=request.form.get("entry_id"))
    except (FormRefused, BadEntry) as refused:
        return _people_page(_words(refused), 422)
    book.credentials().set_pin(body.initials, pin)
    return _done("added", body.initials)


@blueprint.post("/people/<initials>")
@least("supervisor")
def change(initials: str) -> Response:
    """Change a person's role, or whether they belong to the lab."""
    try:
        body = read_body(PersonChanged, _with_initials(initials))
        record(body, entry_id=request.form.get("entry_id"))
    except (FormRefused, BadEntry) as refused:
        return _people_page(_words(refused), 422, of=initials)
    if not body.active:
        seats.seats().leave_all(initials)
    return _done("changed", initials)


@blueprint.post("/people/<initials>/pin")
@least("supervisor")
def set_pin(initials: str) -> Response:
    """Give a person a new PIN; every tablet they were signed in at asks for it."""
    _known(initials)
    try:
        book.credentials().set_pin(initials, _new_pin())
    except BadEntry as refused:
        return _people_page(_words(refused), 422, of=initials)
    seats.seats().leave_all(initials)
    return _done("pin_set", initials)


@blueprint.post("/people/<initials>/unlock")
@least("supervisor")
def unlock(initials: str) -> Response:
    """Let a person try their PIN again."""
    _known(initials)
    book.credentials().unlock(initials)
    return _done("unlocked", initials)


@blueprint.get("/pin")
@least("reader")
def own_pin() -> Response:
    """Ask for the PIN of now and a new one."""
    return _own_pin_page({})


@blueprint.post("/pin")
@least("reader")
def change_own_pin() -> Response:
    """Change the PIN of the person signed in, who proves to know the one of now."""
    person = seats.person()
    assert person is not None
    try:
        lock.prove(person.initials, request.form.get("pin_now", ""), field="pin_now")
        book.credentials().set_pin(person.initials, _new_pin())
    except BadEntry as refused:
        return _own_pin_page(_words(refused), 422)
    seats.seats().leave_all(person.initials)
    seats.sit_down(person.initials)
    return make_response(redirect(url_for("people.own_pin", said="pin_changed"), 303))


def _page_before() -> str | None:
    """Return the page of this bench that the lock was pressed on, to come back to."""
    before, ours = request.referrer or "", request.host_url
    path = "/" + before.removeprefix(ours).partition("?")[0]
    return path if before.startswith(ours) and path != url_for("people.who") else None


def _initials() -> str:
    return request.form.get("initials", "").strip().upper()


def _with_initials(initials: str) -> Form:
    form = request.form.copy()
    form.setlist("initials", [initials])
    return form


def _known(initials: str) -> None:
    if initials not in book.lab().people:
        abort(404)


def _new_pin() -> str:
    pin = request.form.get("pin", "").strip()
    if pin != request.form.get("pin_again", "").strip():
        raise BadEntry("pin_again", "pins_differ")
    reason = weakness_of(pin)
    if reason:
        raise BadEntry("pin", f"pin_{reason}", least=LEAST_DIGITS, most=MOST_DIGITS)
    return pin


def _words(refused: FormRefused | BadEntry) -> Words:
    return {field: speech.say_fault(field, fault) for field, fault in faults_of(refused).items()}


def _done(what: str, initials: str) -> Response:
    return make_response(redirect(url_for("people.everybody", said=what, of=initials), 303))


def _start_page(errors: Words, status: int = 200) -> Response:
    return make_response(render_template("people/start.html", errors=errors), status)


def _who_page(errors: Words, status: int = 200) -> Response:
    page = render_template(
        "people/who.html", errors=errors, people=lock.active_people(), last=lock.last_here(),
        next=request.values.get("next", ""),
    )  # fmt: skip
    return make_response(page, status)


def _own_pin_page(errors: Words, status: int = 200) -> Response:
    return make_response(render_template("people/pin.html", errors=errors), status)


def _people_page(errors: Words, status: int = 200, of: str = "") -> Response:
    people = sorted(book.lab().people.values(), key=lambda one: (not one.active, one.initials))
    page = render_template(
        "people/everybody.html", people=people, roles=ROLES, errors=errors, of=of,
        standing={one.initials: _standing(one.initials) for one in people},
    )  # fmt: skip
    return make_response(page, status)


def _standing(initials: str) -> str:
    held = book.credentials()
    return "locked" if held.is_locked(initials) else "set" if held.has_pin(initials) else "none"
