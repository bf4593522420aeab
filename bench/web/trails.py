"""The trail of a person and of an instrument: what was stated by or with it, newest first, as a story."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby

from flask import Blueprint, Response, abort, make_response, render_template, request, url_for

from bench.core.entries import CaseOpened, Entry
from bench.core.instruments import Doubt, doubts_of, good_since, standing_of
from bench.core.lab import Instrument
from bench.core.madewith import By, Use, doubtful, uses_between, uses_in
from bench.store.reading import Page
from bench.web import book, seats, telling
from bench.web.instruments import MARKS
from bench.web.roles import RANK, least
from bench.words.wording import entry_in_words, fate_in_words

blueprint = Blueprint("trails", __name__)

PAGE_ENTRIES = 40
_ALWAYS = ("", "~")
_LAST_PAGE = 100_000


@dataclass(frozen=True, slots=True)
class Period:
    """The days a trail is asked for, '' where open, and the times (ISO 8601, UTC) they make."""

    since: str
    until: str
    from_at: str
    before_at: str


@dataclass(frozen=True, slots=True)
class Told:
    """One entry as told: time of day, sentence, what became of it, and the case it belongs to."""

    entry: Entry
    time: str
    words: str
    fate: str
    number: str


@dataclass(frozen=True, slots=True)
class Used:
    """One entry that an instrument is behind, as told, and how the instrument comes in."""

    told: Told
    by: By


@dataclass(frozen=True, slots=True)
class Shown:
    """A page of a trail: its days with what was told on each, and which page of how many it is."""

    days: tuple[tuple[str, tuple[Told, ...]], ...]
    count: int
    number: int
    pages: int


@blueprint.get("/trail/person/<initials>")
@least("technician")
def person(initials: str) -> Response:
    """Show what a person stated; for supervisors, and for the person."""
    asking = seats.person()
    assert asking is not None
    if asking.initials != initials and RANK[asking.role] < RANK["supervisor"]:
        abort(403)
    if initials not in book.lab().people:
        abort(404)
    period = period_from(request.args.get("since", ""), request.args.get("until", ""))
    found = _paged(lambda limit, offset: book.log().stated_by(
        initials, period.from_at, period.before_at, limit, offset))  # fmt: skip
    address = url_for("trails.person", initials=initials)
    page = render_template(
        "desk/person.html", shown=found, period=period, address=address,
        person=book.lab().people[initials],
    )  # fmt: skip
    return make_response(page)


@blueprint.get("/trail/device/<device>")
@least("supervisor")
def device(device: str) -> Response:
    """Show what a tablet, or the bench PC itself, sent and stated, in its own order."""
    known = book.lab().devices.get(device)
    if known is None and device != book.store().device and not book.log().cursor_of(device).seq:
        abort(404)
    period = period_from(request.args.get("since", ""), request.args.get("until", ""))
    found = _paged(lambda limit, offset: book.log().sent_by(
        device, period.from_at, period.before_at, limit, offset))  # fmt: skip
    page = render_template(
        "desk/device.html", shown=found, period=period, device=device, known=known,
        here=device == book.store().device, address=url_for("trails.device", device=device),
        tell=telling,
    )  # fmt: skip
    return make_response(page)


@blueprint.get("/trail/instrument/<tag>")
@least("reader")
def instrument(tag: str) -> Response:
    """Show what was stated of an instrument and with it, and what a failed check casts doubt on."""
    known = book.lab().instruments.get(tag)
    if known is None:
        abort(404)
    period = period_from(request.args.get("since", ""), request.args.get("until", ""))
    found = _paged(lambda limit, offset: book.log().made_with(
        tag, period.from_at, period.before_at, limit, offset))  # fmt: skip
    page = render_template(
        "desk/instrument.html", shown=found, period=period, known=known, marks=MARKS,
        address=url_for("trails.instrument", tag=tag), doubts=tuple(_doubts(known)),
        standing=standing_of(known, book.lab().policy, telling.now()), tell=telling,
        good_since=good_since(known),
        since_good=_since_good(known) if request.args.get("made") == "since" else None,
    )  # fmt: skip
    return make_response(page)


def period_from(since: str, until: str) -> Period:
    """Return the period of two days as an address names them (YYYY-MM-DD); others are left out."""
    first, last = _day(since), _day(until)
    return Period(
        str(first or ""), str(last or ""), _midnight(first) if first else _ALWAYS[0],
        _midnight(last + timedelta(days=1)) if last else _ALWAYS[1],
    )  # fmt: skip


def _day(text: str) -> date | None:
    """Return a day of the years that clocks know, or None."""
    try:
        day = (
            date.fromisoformat(text) if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII) else None
        )
    except ValueError:
        return None
    return day if day and 1971 <= day.year <= 9998 else None


def _midnight(day: date) -> str:
    """Return when a day of this bench begins, as the log writes times."""
    begins = datetime.combine(day, time()).astimezone(UTC)
    return begins.strftime("%Y-%m-%dT%H:%M:%S.000Z")


def _paged(ask: Callable[[int, int], Page]) -> Shown:
    asked = request.args.get("page", "")
    wanted = int(asked) if re.fullmatch(r"[0-9]{1,6}", asked, re.ASCII) else 1
    number = min(max(1, wanted), _LAST_PAGE)
    page = ask(PAGE_ENTRIES, (number - 1) * PAGE_ENTRIES)
    pages = max(1, -(-page.count // PAGE_ENTRIES))
    if number > pages:
        number, page = pages, ask(PAGE_ENTRIES, (pages - 1) * PAGE_ENTRIES)
    return Shown(tuple(_days(page.entries)), page.count, number, pages)


def _days(entries: tuple[Entry, ...]) -> Iterator[tuple[str, tuple[Told, ...]]]:
    for day, same in groupby(entries, key=lambda entry: telling.day(entry.at)):
        yield day, tuple(told(entry) for entry in same)


def told(entry: Entry) -> Told:
    """Return an entry of any case, or of the lab, as it is told."""
    reader = telling.reader()
    at = telling.minute(entry.at)
    if entry.case is None:
        return Told(entry, at, entry_in_words(entry, None, reader), "", "")
    case = book.case_of(entry.case)
    number = case.opened.body.number if case.said(CaseOpened) else ""
    return Told(
        entry, at, entry_in_words(entry, case, reader), fate_in_words(entry, case, reader), number
    )


def _doubts(known: Instrument) -> Iterator[tuple[Doubt, tuple[Used, ...]]]:
    for doubt in doubts_of(known):
        found = _uses(known.tag, doubt.since, doubt.until)
        yield doubt, _as_told(doubtful(doubt, found, known.tag))


def _since_good(known: Instrument) -> tuple[Used, ...]:
    since = good_since(known)
    return _as_told(uses_between(_uses(known.tag, since, ""), known.tag, since, ""))


def _uses(tag: str, since: str, until: str) -> Iterator[Use]:
    for code in book.log().cases_with(tag, since, until or "~"):
        yield from uses_in(book.log().case(code))


def _as_told(uses: tuple[Use, ...]) -> tuple[Used, ...]:
    """Return uses as told, the newest first: all of them, as one left out would pass for sound."""
    newest = sorted(uses, key=lambda use: (use.entry.at, use.entry.id), reverse=True)
    return tuple(Used(told(use.entry), use.by) for use in newest)
