"""What the screws of a tilting table do: written down once per table, used in the words of a re-mount."""

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
from bench.core.entries import TableDescribed
from bench.core.lab import Instrument
from bench.store.refusals import AlreadyRecorded
from bench.web import book, speech
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import least

blueprint = Blueprint("tables", __name__)

EDGES = ("front", "back", "right", "left")
FIELDS = tuple(f"lowers_{edge}" for edge in EDGES)


@blueprint.get("/tables/<tag>")
@least("reader")
def table(tag: str) -> str:
    """Show what the screws of a table do, and take it."""
    known = _known(tag)
    typed = {f"lowers_{edge}": known.screws.get(edge, "") for edge in EDGES}
    return _page(known, typed, {})


@blueprint.post("/tables/<tag>")
@least("technician")
def describe(tag: str) -> Response:
    """Record what the screws of a table do."""
    known = _known(tag)
    typed = {name: request.form.get(name, "").strip() for name in FIELDS}
    try:
        record(TableDescribed(tag, **typed), entry_id=request.form.get("entry_id") or None)
    except (BadEntry, AlreadyRecorded) as refused:
        faults = faults_of(refused)
        words = {name: speech.say_fault(name, faults[name]) for name in faults}
        return make_response(_page(known, typed, words), 422)
    return make_response(redirect(url_for("tables.table", tag=tag, said="1"), 303))


def _known(tag: str) -> Instrument:
    known = book.lab().instruments.get(tag)
    if known is None or known.sort != "table":
        abort(404)
    return known


def _page(known: Instrument, typed: dict[str, str], words: dict[str, str]) -> str:
    return render_template(
        "desk/table.html", table=known, typed=typed, words=words, edges=EDGES,
        recorders=book.lab().recorders(),
    )  # fmt: skip
