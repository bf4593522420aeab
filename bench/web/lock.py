"""The locked tablet: a PIN opens it, and what was being sent goes through with the same tap."""

from __future__ import annotations

from flask import Response, make_response, redirect, render_template, request, session, url_for

from bench.core.bounds import BadEntry
from bench.core.lab import Person
from bench.store.refusals import Locked, Throttled
from bench.web import book, clock, htmx, seats, speech
from bench.web.security import TOKEN_FIELD

INITIALS_FIELD = "unlock_initials"
PIN_FIELD = "unlock_pin"
_OURS = frozenset({INITIALS_FIELD, PIN_FIELD, TOKEN_FIELD})


def sent_to_who() -> Response:
    """Ask who it is, and come back to the page wanted."""
    wanted = request.full_path.rstrip("?")
    address = url_for("people.who", next=wanted)
    if htmx.asked_by_htmx():
        return htmx.sent_elsewhere(make_response("", 401), url_for("people.who"))
    return make_response(redirect(address, 303))


def unlocked_in_passing() -> Response | None:
    """Sit the person down when the form brings a PIN and let it go on; else ask for the PIN.

    The page that asks holds the whole form in hidden fields and sends it where it was going, so
    nothing typed is lost to the idle lock.
    """
    if PIN_FIELD not in request.form:
        return _pin_page({})
    try:
        sign_in(request.form.get(INITIALS_FIELD, ""), request.form[PIN_FIELD])
    except BadEntry as bad:
        return _pin_page(
            {f"unlock_{bad.field}": speech.say_fault(bad.field, (bad.code, bad.params))}
        )
    return None


def sign_in(initials: str, pin: str) -> Person:
    """Sit the person down whose initials and PIN these are; raise BadEntry naming the field at fault."""
    person = book.lab().people.get(initials)
    if person is None or not person.active:
        raise BadEntry("initials", "no_such_person", value=initials[:8])
    prove(initials, pin)
    seats.sit_down(initials)
    return person


def prove(initials: str, pin: str, *, field: str = "pin") -> None:
    """Go on when the PIN is right; raise BadEntry with the seconds to wait, the lock, or 'wrong_pin'."""
    try:
        fits = book.credentials().verify(initials, pin, clock.now_ms())
    except (Throttled, Locked) as refusal:
        raise BadEntry(field, refusal.code, **refusal.params) from None
    if not fits:
        raise BadEntry(field, "wrong_pin")


def status_of(bad: BadEntry) -> int:
    """Return 429 where the PIN may not be tried now, else 422."""
    return 429 if bad.code in ("throttled", "locked") else 422


def last_here() -> str | None:
    """Return the initials of whoever sat last at this browser."""
    last: str | None = session.get("last")
    return last


def _pin_page(errors: dict[str, str]) -> Response:
    held = [(name, text) for name, text in request.form.items(multi=True) if name not in _OURS]
    page = render_template(
        "people/held.html", held=held, errors=errors, address=request.full_path.rstrip("?"),
        people=active_people(), last=request.form.get(INITIALS_FIELD) or last_here(),
        had_files=bool(request.files),
    )  # fmt: skip
    return htmx.into_main(make_response(page, 401))


def active_people() -> list[Person]:
    """Return the people who may sign in, by initials."""
    people = book.lab().people.values()
    return sorted((one for one in people if one.active), key=lambda one: one.initials)
