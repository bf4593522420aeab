"""Drills: a supervisor plans readings to be repeated, technicians take them blind, the results follow."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from flask import (
    Blueprint,
    Response,
    abort,
    make_response,
    redirect,
    render_template,
    request,
    stream_with_context,
    url_for,
)

from bench.core.bounds import BadEntry
from bench.core.drills import Drill, Turn, drills_from, order_of
from bench.core.entries import DrillClosed, DrillPlanned, DrillReading, Entry, FiguresLookedAt
from bench.core.entries.drills import LARGEST_SEED, MOST_REPEATS
from bench.core.entries.vocabulary import CONTACTS, READS
from bench.core.instruments import standing_of
from bench.core.lab import Instrument
from bench.core.surfaces import SURFACES
from bench.store.refusals import AlreadyRecorded
from bench.web import (
    book,
    clock,
    display,
    drillexport,
    drillfigures,
    seats,
    speech,
    telling,
)
from bench.web.caselines import tooth_from
from bench.web.drillview import Shown
from bench.web.forms import FormRefused, number_from
from bench.web.record import record
from bench.web.recording import STALE_PAGE, faults_of
from bench.web.roles import least
from bench.web.trails import period_from

blueprint = Blueprint("drills", __name__)

ROWS = 8
SORT_OF = {"undercut": "gauge", "tripod_heights": "surveyor", "distance": "caliper"}
MARKS = ("a", "b", "c")
SIDES = ("ab", "ac", "bc")
VALUES_OF = {"tripod_heights": tuple(f"h_{mark}_mm" for mark in MARKS), "distance": ("d_mm",)}
_KINDS = ("drill_planned", "drill_reading", "drill_closed")
Errors = Mapping[str, str]
Refused = FormRefused | BadEntry | AlreadyRecorded


@dataclass(frozen=True, slots=True)
class Asked:
    """The reading asked for: the drill, whose turn, and the reading it is put in place of, if any."""

    drill: Drill
    turn: Turn | None
    again: Entry | None = None

    @property
    def site(self) -> str:
        """The site of this turn's cast as compact text, or ''."""
        if self.turn is None or not self.drill.plan.sites:
            return ""
        return self.drill.plan.sites[self.drill.plan.casts.index(self.turn.cast)]


@blueprint.get("/drills")
@least("technician")
def everything() -> str:
    """Show the drills with how far each has come; figures stay with the supervisor's results."""
    asked = request.args
    period = period_from(asked.get("since", ""), asked.get("until", ""))
    drills = sorted(_drills().values(), key=lambda one: one.id, reverse=True)
    people = sorted({name for one in drills for name in one.plan.technicians})
    person = asked.get("person", "") if asked.get("person", "") in people else ""
    chosen = [
        one for one in drills if period.from_at <= one.entry.at < period.before_at
        and person in ("", *one.plan.technicians)
    ]  # fmt: skip
    return render_template(
        "desk/drills.html", drills=chosen, planned=len(drills), me=_me(), tell=telling,
        period=period, people=people, person=person,
    )  # fmt: skip


@blueprint.get("/drills/new")
@least("supervisor")
def new() -> Response:
    """Ask what is to be read, then for casts, technicians and repeats."""
    return _new_page({})


@blueprint.post("/drills")
@least("supervisor")
def plan() -> Response:
    """Record a plan; the seed of its order is part of it."""
    try:
        entry = record(_planned(), entry_id=request.form.get("entry_id"))
    except (FormRefused, BadEntry, AlreadyRecorded) as refused:
        return _new_page(_words(refused), 422)
    return make_response(redirect(url_for("drills.results", drill=entry.id, said="planned"), 303))


@blueprint.get("/drills/<drill>")
@least("technician")
def results(drill: str) -> str:
    """Show how far a drill has come and what it shows so far; to technicians once it is closed."""
    return _results_page(_shown(_drill(drill)), {})


@blueprint.get("/drills/<drill>.csv")
@least("technician")
def table(drill: str) -> Response:
    """Return the readings of a drill as CSV."""
    lines = stream_with_context(drillexport.csv_lines(_unhidden(drill)))
    return _file(Response(lines, mimetype="text/csv"), f"{drill}.csv")


@blueprint.get("/drills/<drill>.json")
@least("technician")
def figures(drill: str) -> Response:
    """Return the readings and figures of a drill as JSON, each with the ids of its entries."""
    shown = _unhidden(drill)
    return _file(
        Response(drillexport.json_text(shown), mimetype="application/json"), f"{drill}.json"
    )


@blueprint.post("/drills/<drill>/look")
@least("supervisor")
def look(drill: str) -> Response:
    """Log a look at figures of single persons, and show them in the drill."""
    shown = _shown(_drill(drill), request.form)
    try:
        record(FiguresLookedAt(shown.wanted_person), entry_id=request.form.get("entry_id") or None)
    except (BadEntry, AlreadyRecorded) as refused:
        return make_response(_results_page(shown, _words(refused)), 422)
    return make_response(redirect(f"{shown.same('drills.results')}#readings", 303))


@blueprint.post("/drills/<drill>/close")
@least("supervisor")
def close(drill: str) -> Response:
    """Close a drill, complete or not."""
    known = _drill(drill)
    try:
        body = DrillClosed(known.id, request.form.get("remark", "").strip())
        record(body, entry_id=request.form.get("entry_id"))
    except (BadEntry, AlreadyRecorded) as refused:
        return make_response(_results_page(_shown(known), _words(refused)), 422)
    return make_response(redirect(url_for("drills.results", drill=known.id, said="closed"), 303))


@blueprint.get("/drills/<drill>/next")
@least("technician")
def following(drill: str) -> Response:
    """Ask the person signed in for their next reading, and show nothing of any earlier one."""
    return _next_page(_asked(_drill(drill)), {})


@blueprint.post("/drills/<drill>/next")
@least("technician")
def read(drill: str) -> Response:
    """Record a reading and go on to the next."""
    known = _drill(drill)
    replaced = request.form.get("supersedes", "")
    try:
        body = _reading(known)
        entry = record(
            body, supersedes=(replaced,) if replaced else (),
            reason=request.form.get("reason", "").strip(), entry_id=request.form.get("entry_id"),
        )  # fmt: skip
    except (FormRefused, BadEntry, AlreadyRecorded) as refused:
        faults = faults_of(refused)
        status = 409 if any(fault[0] in STALE_PAGE for fault in faults.values()) else 422
        return _next_page(_asked(known, again=bool(replaced)), _words(refused), status)
    return make_response(redirect(url_for("drills.following", drill=drill, said=entry.id), 303))


def _drills() -> dict[str, Drill]:
    return drills_from(book.log().of_kinds(*_KINDS))


def _drill(key: str) -> Drill:
    found = _drills().get(key)
    if found is None:
        abort(404)
    return found


def _me() -> str:
    person = seats.person()
    assert person is not None
    return person.initials


def _words(refused: Refused) -> dict[str, str]:
    return {field: speech.say_fault(field, fault) for field, fault in faults_of(refused).items()}


def _asked(drill: Drill, *, again: bool | None = None) -> Asked:
    """Return the next turn, or the last one over again when the address or the form asks for that."""
    wanted = bool(request.args.get("again")) if again is None else again
    last = drill.last_of(_me()) if wanted and not drill.closed else None
    if last is None or not isinstance(last.body, DrillReading):
        return Asked(drill, drill.next_turn(_me()))
    number = last.body.turn
    turn = next((t for t in order_of(drill.plan, _me()) if t.number == number), None)
    return Asked(drill, turn, last)


def _planned() -> DrillPlanned:
    form = request.form
    reads = form.get("reads", "")
    rows = [row for row in range(ROWS) if form.get(f"cast_{row}", "").strip()]
    gauge = form.get("gauge_mm", "").strip()
    return DrillPlanned(
        reads=reads,
        casts=tuple(form[f"cast_{row}"].strip() for row in rows),
        technicians=tuple(form.getlist("technicians")),
        repeats=_whole("repeats"),
        seed=_whole("seed"),
        sites=tuple(map(_site, rows)) if reads == "undercut" else (),
        gauge_mm=number_from("gauge_mm", gauge) if reads == "undercut" and gauge else None,
        distances_mm=tuple(_sides(rows)) if reads == "tripod_heights" else (),
    )


def _whole(name: str) -> int:
    text = request.form.get(name, "").strip()
    if not re.fullmatch(r"[0-9]{1,12}", text, re.ASCII):
        raise BadEntry(name, "not_whole" if text else "missing", value=text[:40])
    return int(text)


def _site(row: int) -> str:
    typed = request.form.get(f"tooth_{row}", "").strip()
    tooth = tooth_from(typed, display.display().numbering)
    if tooth is None:
        raise BadEntry("sites", "no_such_site", value=typed[:20])
    return f"{tooth}{request.form.get(f'surface_{row}', '')}"


def _sides(rows: list[int]) -> Iterator[float]:
    for row in rows:
        for side in SIDES:
            typed = request.form.get(f"{side}_{row}", "").strip()
            if not typed:
                raise BadEntry("distances_mm", "three_of_each_cast", count=3 * len(rows))
            yield number_from("distances_mm", typed)


def _reading(drill: Drill) -> DrillReading:
    form = request.form
    values = [_value(name) for name in VALUES_OF.get(drill.plan.reads, ())]
    return DrillReading(
        drill.id, _whole("turn"), form.get("cast", ""), form.get("contact", ""), tuple(values),
        form.get("instrument", "").strip(),
    )  # fmt: skip


def _value(name: str) -> float:
    typed = request.form.get(name, "").strip()
    if not typed:
        raise BadEntry(name, "missing")
    return number_from(name, typed)


def _tools(drill: Drill) -> list[Instrument]:
    """Return the instruments in service that a drill's readings are taken with, but none that failed."""
    lab, size_mm = book.lab(), drill.plan.gauge_mm
    return [
        one
        for one in lab.in_service(SORT_OF[drill.plan.reads])
        if size_mm in (None, one.size_mm)
        and standing_of(one, lab.policy, telling.now()).state != "failed"
    ]


def _tool_before(drill: Drill) -> str:
    """Return what this person read with last: the one thing of an earlier reading that stays."""
    last = drill.last_of(_me())
    tags = [one.tag for one in _tools(drill)]
    used = last.body.instrument if last and isinstance(last.body, DrillReading) else ""
    return used if used in tags else tags[0] if len(tags) == 1 else ""


def _new_page(errors: Errors, status: int = 200) -> Response:
    reads = request.values.get("reads", "")
    lab = book.lab()
    people = [lab.people[initials] for initials in lab.recorders()]
    page = render_template(
        "desk/drill_new.html", reads=reads if reads in READS else "", choices=READS, rows=range(ROWS),
        people=sorted(people, key=lambda one: (one.role != "technician", one.initials)),
        gauges=lab.policy.gauges_mm, surfaces=SURFACES, sides=SIDES, errors=errors,
        seed=clock.random_bits(32) % (LARGEST_SEED + 1), most_repeats=MOST_REPEATS,
    )  # fmt: skip
    return make_response(page, status)


def _next_page(asked: Asked, errors: Errors, status: int = 200) -> Response:
    drill = asked.drill
    page = render_template(
        "desk/drill_next.html", asked=asked, drill=drill, errors=errors, me=_me(), marks=MARKS,
        tools=_tools(drill), tool=_tool_before(drill), contacts=CONTACTS,
        values=" ".join(VALUES_OF.get(drill.plan.reads, ())), uncounted=_uncounted(drill),
        said=request.args.get("said") == getattr(drill.last_of(_me()), "id", ""),
    )  # fmt: skip
    return make_response(page, status)


def _uncounted(drill: Drill) -> str:
    """Return why the reading that the address names as just recorded does not count, '' where it does."""
    said = request.args.get("said", "")
    return next((one.code for one in drill.uncounted if one.entry.id == said), "")


def _shown(drill: Drill, asked: Mapping[str, str] | None = None) -> Shown:
    """Return a drill for the person signed in; a technician has nothing to see of an open one."""
    person = seats.person()
    assert person is not None
    if person.role != "supervisor" and not drill.closed:
        abort(403)
    return Shown(drill, person, dict(request.args if asked is None else asked))


def _unhidden(drill: str) -> Shown:
    shown = _shown(_drill(drill))
    if shown.blind:
        abort(403)
    return shown


def _file(answer: Response, name: str) -> Response:
    answer.headers["Content-Disposition"] = f'attachment; filename="drill-{name}"'
    return answer


def _results_page(shown: Shown, errors: Errors) -> str:
    """Whoever still has readings to take sees how far the drill is, and none of its figures."""
    return render_template(
        "desk/drill.html", drill=shown.drill, shown=shown, people=shown.people, errors=errors,
        found=None if shown.blind else shown.results, taken=[] if shown.blind else shown.readings,
        tell=telling, figures=drillfigures, reader=telling.reader(),
    )  # fmt: skip
