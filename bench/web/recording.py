"""Take a statement from a form into the log, and one back out of force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import Blueprint, Response, abort, make_response, redirect, request, url_for

from bench.core.bounds import BadEntry
from bench.core.entries import KINDS, OF_THE_LAB, Entry, PhotoKept, Remounted, Withdrawn
from bench.core.steps import STEPS
from bench.store.refusals import AlreadyRecorded
from bench.web import book, clock, htmx, speech
from bench.web.forms import Fault, FormRefused, read_body
from bench.web.record import record
from bench.web.roles import least
from bench.web.steps import UNDO_MS, render_step

STALE_PAGE = frozenset(
    {
        "setting_has_changed",
        "changed_meanwhile",
        "said_meanwhile",
        "already_recorded",
        "already_open",
    }
)

# Withdrawals, photos and re-mounts have routes of their own, which see the photo and work the figures out.
OF_OTHER_ROUTES = frozenset({*OF_THE_LAB, Withdrawn, PhotoKept, Remounted})

blueprint = Blueprint("recording", __name__)


@dataclass(frozen=True, slots=True)
class Around:
    """What a form says beside the body: which setting, what it corrects and why, its own id, its page."""

    setting: str | None
    supersedes: tuple[str, ...]
    reason: str
    entry_id: str | None
    step: str
    place: dict[str, str]


def around() -> Around:
    """Read the hidden fields that go with every statement."""
    form = request.form
    step = form.get("step", "receive")
    return Around(
        setting=form.get("setting") or None,
        supersedes=tuple(one for one in form.getlist("supersedes") if one),
        reason=form.get("reason", "").strip().replace("\r\n", "\n"),
        entry_id=form.get("entry_id") or None,
        step=step if step in STEPS else "receive",
        place={name: form[name] for name in ("tooth", "surface") if form.get(name)},
    )


@blueprint.post("/case/<code>/record/<kind>")
@least("technician")
def state(code: str, kind: str) -> Response:
    """Record what a form states of a case."""
    body_class = KINDS.get(kind)
    if body_class is None or body_class in OF_OTHER_ROUTES:
        abort(404)
    case, said = book.case_of(code), around()
    try:
        entry = record(
            read_body(body_class, request.form), case=case.code, setting=said.setting,
            supersedes=said.supersedes, reason=said.reason, entry_id=said.entry_id,
        )  # fmt: skip
    except (FormRefused, BadEntry, AlreadyRecorded) as refused:
        return refused_page(case.code, said, refused)
    return recorded_page(case.code, said, entry)


@blueprint.post("/case/<code>/withdraw/<entry_id>")
@least("technician")
def withdraw(code: str, entry_id: str) -> Response:
    """Take an entry of a case back; within a minute no reason need be typed."""
    case, said = book.case_of(code), around()
    try:
        body = Withdrawn(entry_id)
        reason = said.reason or _reason_of_an_undo(case.by_id.get(entry_id))
        entry = record(body, case=case.code, reason=reason, entry_id=said.entry_id)
    except (BadEntry, AlreadyRecorded) as refused:
        return refused_page(case.code, said, refused)
    return recorded_page(case.code, said, entry)


def _reason_of_an_undo(entry: Entry | None) -> str:
    at_once = entry is not None and clock.age_ms(entry.at) < UNDO_MS
    return speech.say("recorded.undone_at_once") if at_once else ""


def faults_of(refused: FormRefused | BadEntry | AlreadyRecorded) -> dict[str, Fault]:
    """Return what was refused as faults by field."""
    if isinstance(refused, FormRefused):
        return refused.errors
    if isinstance(refused, BadEntry):
        return {refused.field: (refused.code, refused.params)}
    return {"entry_id": speech.fault_of(refused)}


def refused_page(
    code: str, said: Around, refused: FormRefused | BadEntry | AlreadyRecorded
) -> Response:
    """Return the same page with everything typed kept: 409 when the page is out of date, else 422."""
    faults = faults_of(refused)
    status = 409 if any(fault[0] in STALE_PAGE for fault in faults.values()) else 422
    return render_step(code, said.step, form=request.form, errors=faults, status=status)


def recorded_page(code: str, said: Around, entry: Entry) -> Response:
    """Send the browser to its step; htmx gets the page of the step at once, and a `recorded` event."""
    if htmx.asked_by_htmx():
        return render_step(code, said.step, announce=entry)
    place: dict[str, Any] = {"code": code, "step": said.step, "said": entry.id, **said.place}
    return make_response(redirect(url_for("steps.step_page", **place), 303))
