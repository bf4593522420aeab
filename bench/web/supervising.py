"""The supervisor's desk: what waits and why, what disagrees, what is due, and whether the log is whole."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

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
from bench.core.entries import CaseOpened, Entry, HoldLifted, HoldSet, PhotoKept
from bench.core.instruments import due_list
from bench.core.lab import Device
from bench.core.steps import STEPS
from bench.store import integrity
from bench.store.contacts import Contact, contacts
from bench.store.integrity import Report
from bench.store.log import iso
from bench.store.logchecks import last_check, note_check
from bench.store.overview import Line, Overview
from bench.store.refusals import AlreadyRecorded
from bench.web import book, clock, photos, seats, speech, telling
from bench.web.instruments import MARKS
from bench.web.keeping import kept_until
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import least
from bench.web.trails import Told, told

blueprint = Blueprint("supervising", __name__)

FEW = 12
FEW_OVERRULINGS = 6
PAGE_OVERRULINGS = 40
MOST_PROBLEMS = 20
_OVERRULED = ("overruled", "exempted")


@dataclass(frozen=True, slots=True)
class Held:
    """A legal hold as the desk shows it: the entry, the case's number, the words."""

    entry: Entry
    number: str
    words: str


@dataclass(frozen=True, slots=True)
class Kept:
    """A record kept as long as the policy says: the case, the day until which, whether it is on hold."""

    line: Line
    until: str
    on_hold: bool


@blueprint.get("/desk")
@least("supervisor")
def desk() -> str:
    """Show everything a supervisor has to look at, each with the way to it."""
    return _desk_page()


@blueprint.post("/desk/check")
@least("supervisor")
def check_log() -> str:
    """Walk the whole log for damage, keep what was found, and show it."""
    person = seats.person()
    assert person is not None
    report = integrity.check(book.store(), _photo_check())
    note_check(book.store(), report, person.initials, clock.now_ms())
    return _desk_page(report)


def _photo_check() -> integrity.PhotoCheck:
    """Read every photo of the shelf once, and then answer for each that an entry names."""
    shelf = photos.shelf()
    wrong, held = {one.name: one.trouble for one in shelf.verify()}, set(shelf.names())

    def trouble_of(kept: PhotoKept) -> str | None:
        if kept.sha256 not in held:
            return "photo_missing"
        return f"photo_{wrong[kept.sha256]}" if kept.sha256 in wrong else None

    return trouble_of


@blueprint.get("/desk/overrulings")
@least("supervisor")
def overrulings() -> str:
    """Show every overruling and exemption there was, newest first, with its reason and fate."""
    asked = request.args.get("page", "")
    every = _overrulings()
    pages = max(1, -(-len(every) // PAGE_OVERRULINGS))
    number = min(max(1, int(asked) if asked.isdecimal() and len(asked) < 7 else 1), pages)
    start = (number - 1) * PAGE_OVERRULINGS
    return render_template(
        "desk/overrulings.html", count=len(every), number=number, pages=pages, tell=telling,
        told=[told(entry) for entry in every[start : start + PAGE_OVERRULINGS]],
    )  # fmt: skip


@blueprint.post("/case/<code>/hold")
@least("supervisor")
def hold(code: str) -> Response:
    """Put a case on hold for the law, or lift the hold that stands, with a reason."""
    case, form = book.case_of(code), request.form
    lifts = form.get("hold", "")
    try:
        body = HoldLifted(lifts) if lifts else HoldSet(form.get("reference", "").strip())
        reason = form.get("reason", "").strip()
        record(body, case=case.code, reason=reason, entry_id=form.get("entry_id"))
    except (BadEntry, AlreadyRecorded) as refused:
        faults = faults_of(refused)
        words = {name: speech.say_fault(name, faults[name]) for name in faults}
        return make_response(_hold_page(case, words), 422)
    said = "lifted" if lifts else "held"
    return make_response(redirect(url_for("supervising.hold_page", code=case.code, said=said), 303))


@blueprint.get("/case/<code>/hold")
@least("reader")
def hold_page(code: str) -> str:
    """Show whether a case is on hold, until when its record is kept, and the way to change that."""
    case = book.case_of(code)
    if not case.said(CaseOpened):
        abort(404)
    return _hold_page(case, {})


def _hold_page(case: Case, errors: dict[str, str]) -> str:
    touched_at = max((entry.at for entry in case.entries), default=iso(clock.now_ms()))
    before = [
        told(entry) for entry in case.entries if isinstance(entry.body, (HoldSet, HoldLifted))
    ]
    return render_template(
        "desk/hold.html", case=case, errors=errors, tell=telling, until=kept_until(touched_at),
        before=before, held=told(case.hold.entry) if case.hold else None,
        opened=bool(case.said(CaseOpened)),
    )  # fmt: skip


def _desk_page(report: Report | None = None) -> str:
    log, lab = book.log(), book.lab()
    log.models.catch_up()
    view = Overview(log)
    every = _overrulings()
    held = [_held(view, entry) for entry in view.holds()]
    waiting = view.by_step()
    return render_template(
        "desk/desk.html", tell=telling, few=FEW, marks=MARKS, report=report,
        waiting=[waiting[step] for step in STEPS if step in waiting], rules=view.by_rule(),
        disputed=view.disputed(FEW), recalled=view.recalled(FEW), stale=view.stale(FEW),
        overruled=[told(entry) for entry in every[:FEW_OVERRULINGS]], overrulings=len(every),
        due=due_list(lab, iso(clock.now_ms())), devices=_devices(), holds=held,
        kept=_kept(view, {one.entry.case for one in held}), old=_old(view),
        checked=last_check(book.store()), problems=_problems(report),
        people=sorted(lab.people), years=f"{lab.policy.number('keep_years'):g}",
    )  # fmt: skip


def _overrulings() -> list[Entry]:
    found = book.log().of_kinds(*_OVERRULED)
    return sorted(found, key=lambda entry: (entry.at, entry.id), reverse=True)


def _devices() -> list[tuple[Device, Contact | None]]:
    """Return the tablets that may send, the one not heard of for longest first."""
    heard = contacts(book.store())
    found = [
        (one, heard.get(one.device)) for one in book.lab().devices.values() if not one.revoked_at
    ]
    return sorted(found, key=lambda pair: pair[1].at_ms if pair[1] else -1)


def _held(view: Overview, entry: Entry) -> Held:
    words: Told = told(entry)
    return Held(entry, view.number_of(entry.case or ""), words.words)


def _old(view: Overview) -> int:
    return view.count_older_than(_keep_from())


def _keep_from() -> str:
    """Return the time before which a record was touched last when it need be kept no longer."""
    now = datetime.fromisoformat(iso(clock.now_ms()))
    year = now.year - int(book.lab().policy.number("keep_years"))
    day = min(now.day, 28) if now.month == 2 else now.day
    return f"{max(1, year):04d}-{now.month:02d}-{day:02d}T00:00:00.000Z"


def _kept(view: Overview, on_hold: set[str | None]) -> list[Kept]:
    """Return the records that come due first, whether they are due or not."""
    return [
        Kept(line, kept_until(line.touched_at), line.code in on_hold)
        for line in view.older_than("~", 5)
    ]


def _problems(report: Report | None) -> list[str]:
    found = report.problems[:MOST_PROBLEMS] if report else ()
    return [speech.say(f"cli.problem.{one.code}", **one.params) for one in found]
