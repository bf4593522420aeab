"""The audit: how well casts are put back, by whom and on what, what signals, and every entry behind it."""

from __future__ import annotations

from flask import (
    Blueprint,
    Response,
    abort,
    make_response,
    redirect,
    render_template,
    request,
    stream_with_context,
)

from bench.core.bounds import BadEntry
from bench.core.entries import FiguresLookedAt, SignalAcknowledged
from bench.core.entries.vocabulary import CONTACTS, METHODS
from bench.sheets.audit import report_pdf
from bench.store.refusals import AlreadyRecorded
from bench.web import auditexport, book, clock, speech, telling
from bench.web.auditasked import UNNAMED, AuditAsked, audit_asked_from
from bench.web.auditgauges import GaugesView
from bench.web.auditreport import report_of
from bench.web.auditview import View
from bench.web.auditwords import signal_in_words
from bench.web.personfigures import audit
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import least

blueprint = Blueprint("audit", __name__)

PAGE_ENTRIES = 60
_LAST_PAGE = 1_000_000


@blueprint.get("/audit")
@least("supervisor")
def overview() -> Response:
    """Show how well the lab puts casts back."""
    return _overview(_asked())


@blueprint.get("/audit/gauges")
@least("supervisor")
def gauges() -> str:
    """Show whether people read the same undercut, and whether caliper distances repeat."""
    _fill()
    view = GaugesView(_asked())
    return render_template("audit/gauges.html", contacts=CONTACTS, **_frame(view))


@blueprint.get("/audit/entries")
@least("supervisor")
def entries() -> str:
    """List the re-mounts behind a figure, each with its place in the trail of its case."""
    _fill()
    view = View(_asked())
    number = _page_number()
    count = audit().count(view.selection)
    found = audit().page(view.selection, PAGE_ENTRIES, (number - 1) * PAGE_ENTRIES)
    pages = max(1, -(-count // PAGE_ENTRIES))
    return render_template(
        "audit/entries.html", made=found, count=count, number=number, pages=pages, **_frame(view)
    )


@blueprint.post("/audit/look")
@least("supervisor")
def look() -> Response:
    """Log a look at figures of single persons, and show them."""
    asked = audit_asked_from(request.form)
    try:
        record(FiguresLookedAt(asked.person), entry_id=request.form.get("entry_id") or None)
    except (BadEntry, AlreadyRecorded) as refused:
        return _refused(asked, refused)
    return make_response(redirect(asked.href(_back()), 303))


@blueprint.post("/audit/acknowledge")
@least("supervisor")
def acknowledge() -> Response:
    """Record that a signal was seen, and what was made of it."""
    asked, form = audit_asked_from(request.form), request.form
    _fill()
    key = form.get("key", "")
    if key not in {one.key for one in View(asked).every_signal}:
        return _overview(asked, {"gone": speech.say("audit.signal.gone")}, 409)
    try:
        reason = form.get("reason", "").strip().replace("\r\n", "\n")
        record(SignalAcknowledged(key), reason=reason, entry_id=form.get("entry_id") or None)
    except (BadEntry, AlreadyRecorded) as refused:
        return _refused(asked, refused, key)
    return make_response(redirect(asked.href("audit.overview") + "#signals", 303))


@blueprint.get("/audit.csv")
@least("supervisor")
def table() -> Response:
    """Return the samples as CSV: re-mounts, or with `of` gauge or caliper readings."""
    _fill()
    of = request.args.get("of", "remounts")
    if of not in auditexport.TABLES:
        abort(404)
    lines = stream_with_context(auditexport.csv_lines(of, View(_asked())))
    answer = Response(lines, mimetype="text/csv")
    answer.headers["Content-Disposition"] = f'attachment; filename="audit-{of}.csv"'
    return answer


@blueprint.get("/audit.json")
@least("supervisor")
def figures() -> Response:
    """Return the figures as JSON, each with the ids of its entries."""
    _fill()
    pieces = stream_with_context(auditexport.json_parts(View(_asked())))
    answer = Response(pieces, mimetype="application/json")
    answer.headers["Content-Disposition"] = 'attachment; filename="audit.json"'
    return answer


@blueprint.get("/audit.pdf")
@least("supervisor")
def paper() -> Response:
    """Return the audit as a report on paper."""
    _fill()
    view = View(_asked())
    report = report_of(view, GaugesView(_asked()), telling.moment_of(clock.now_ms()))
    answer = make_response(report_pdf(report))
    answer.headers["Content-Type"] = "application/pdf"
    answer.headers["Content-Disposition"] = 'inline; filename="audit.pdf"'
    return answer


def _asked() -> AuditAsked:
    return audit_asked_from(request.args)


def _fill() -> None:
    """Make sure that the tables hold every case, also in a logbook from before them."""
    audit().version()


def _back() -> str:
    pages = {"gauges": "audit.gauges", "predictions": "predictions.predictions"}
    return pages.get(request.form.get("page", ""), "audit.overview")


def _page_number() -> int:
    text = request.args.get("page", "1")
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 8 else 1
    return min(max(1, number), _LAST_PAGE)


def _frame(view: View) -> dict[str, object]:
    """Return what every page of the audit shows besides its own figures."""
    return {
        "view": view, "asked": view.asked, "people": view.people, "tell": telling,
        "methods": METHODS, "surveyors": audit().names("surveyor"), "unnamed": UNNAMED,
        "technicians": sorted(book.lab().people) if view.people.by_policy else [],
        "said_of": signal_in_words, "form_fields": _form_fields(view),
    }  # fmt: skip


def _form_fields(view: View) -> dict[str, str]:
    """Return what is asked for as the hidden fields of a form, with the person kept back too."""
    return view.asked.args(person=view.hidden_person or view.asked.person)


def _overview(
    asked: AuditAsked, errors: dict[str, str] | None = None, status: int = 200, key: str = ""
) -> Response:
    _fill()
    page = render_template(
        "audit/audit.html", errors=errors or {}, fault_of=key, **_frame(View(asked))
    )
    return make_response(page, status)


def _refused(asked: AuditAsked, refused: BadEntry | AlreadyRecorded, key: str = "") -> Response:
    faults = faults_of(refused)
    words = {name: speech.say_fault(name, fault) for name, fault in faults.items()}
    return _overview(asked, words, 422, key)
