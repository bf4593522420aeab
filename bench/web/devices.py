"""The supervisor's page of tablets: who is paired, what they still hold, and how to let one in or out."""

from __future__ import annotations

from dataclasses import dataclass

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
from bench.core.entries import DeviceRevoked
from bench.core.lab import Device
from bench.sheets.square import square_dots
from bench.store.contacts import Contact, contacts, kept_aside
from bench.store.refusals import AlreadyRecorded
from bench.sync import pairing
from bench.web import book, clock, seats, speech, telling
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import least

blueprint = Blueprint("devices", __name__)


@dataclass(frozen=True, slots=True)
class Line:
    """A device as its page shows it; `seq` is the number of its newest entry here, 0 for none."""

    device: Device
    seq: int
    contact: Contact | None
    aside: int


@blueprint.get("/devices")
@least("supervisor")
def everything() -> Response:
    """Show the devices with their last contact, what they still hold, and what to do when one is lost."""
    return _page()


@blueprint.post("/devices/code")
@least("supervisor")
def code() -> Response:
    """Show a fresh one-time code as digits and as a square to point a tablet's camera at."""
    person = seats.person()
    assert person is not None
    digits = pairing.offer(book.log(), person.initials, clock.now_ms())
    address = f"{current_app.config['SETTINGS'].tablets_at}/pair"
    page = render_template(
        "devices/code.html", digits=digits, address=address,
        square=square_dots(f"{address}#{digits}"),
    )  # fmt: skip
    answer = make_response(page)
    answer.headers["Cache-Control"] = "no-store, no-transform"
    return answer


@blueprint.post("/devices/<device>/revoke")
@least("supervisor")
def revoke(device: str) -> Response:
    """Put a device out of use: nothing is taken from it any more."""
    if device not in book.lab().devices:
        abort(404)
    try:
        reason = request.form.get("reason", "").strip()
        record(DeviceRevoked(device), reason=reason, entry_id=request.form.get("entry_id"))
    except (BadEntry, AlreadyRecorded) as refused:
        faults = faults_of(refused)
        return _page({name: speech.say_fault(name, faults[name]) for name in faults}, device, 422)
    return make_response(redirect(url_for("devices.everything", said="revoked", of=device), 303))


def _page(errors: dict[str, str] | None = None, of: str = "", status: int = 200) -> Response:
    page = render_template(
        "devices/devices.html", lines=_lines(), errors=errors or {}, of=of, tell=telling,
        lan=current_app.config["SETTINGS"].lan, here=book.store().device,
    )  # fmt: skip
    return make_response(page, status)


def _lines() -> list[Line]:
    """Return the devices, those in use first, the newest at the top."""
    held, heard, aside = book.log().cursors(), contacts(book.store()), kept_aside(book.store())
    found = sorted(book.lab().devices.values(), key=lambda one: one.paired_at, reverse=True)
    found.sort(key=lambda one: bool(one.revoked_at))
    return [
        Line(
            one,
            held[one.device].seq if one.device in held else 0,
            heard.get(one.device),
            aside.get(one.device, 0),
        )
        for one in found
    ]
