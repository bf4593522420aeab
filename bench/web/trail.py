"""The trail of a case: everything said of it as one story, and the way to settle what disagrees."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

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
from bench.core.contradiction import Contradiction
from bench.core.entries import (
    CaseOpened,
    Entry,
    Mounted,
    PhotoKept,
    RecallTaken,
    Released,
    SettingTaken,
    Withdrawn,
    kind_of,
)
from bench.core.entries.vocabulary import SHOWS
from bench.core.settling import can_settle, settle
from bench.core.wire import body_document
from bench.store.refusals import AlreadyRecorded
from bench.web import book, photos, seats, speech, telling
from bench.web.record import Statement, record_many
from bench.web.recording import faults_of
from bench.web.roles import RANK, least
from bench.words.wording import contradiction_in_words, entry_in_words, fate_in_words, tilt_in_words

blueprint = Blueprint("trail", __name__)

_TURNS = (Mounted, SettingTaken, Released, RecallTaken)


@dataclass(frozen=True)
class Told:
    """One entry as told: when, the sentence, what became of it, and the photo it kept."""

    entry: Entry
    time: str
    words: str
    fate: str
    photo: str | None

    @property
    def look(self) -> str:
        """How it stands out: fallen, a turn of the story, or plain."""
        return "superseded" if self.fate else "turn" if isinstance(self.entry.body, _TURNS) else ""


@dataclass(frozen=True)
class Chapter:
    """What was said on one day at one setting."""

    day: str
    setting: str
    told: tuple[Told, ...]


@dataclass(frozen=True)
class Dispute:
    """A contradiction as told: about what, and each statement with its entry.

    `settles` is JSON: for each statement that may be chosen those that settle it, as a tablet states them.
    """

    found: Contradiction
    title: str
    statements: tuple[tuple[Entry, str, str], ...]
    can_settle: bool
    settles: str


@blueprint.get("/case/<code>/trail")
@least("reader")
def trail(code: str) -> Response:
    """Show everything said of a case."""
    return _page(_opened(code), {})


@blueprint.post("/case/<code>/settle")
@least("technician")
def settled(code: str) -> Response:
    """Settle a contradiction: one statement is made again in place of those it disagrees with."""
    case, form = _opened(code), request.form
    found = next((one for one in case.contradictions if one.key == form.get("key")), None)
    if found is None:
        return _gone(case)
    try:
        record_many(_statements(case, found))
    except (BadEntry, AlreadyRecorded) as refused:
        faults = faults_of(refused)
        return _page(case, {name: speech.say_fault(name, faults[name]) for name in faults}, 422)
    return make_response(redirect(url_for("trail.trail", code=case.code, said="settled"), 303))


def _statements(case: Case, found: Contradiction) -> list[Statement]:
    form = request.form
    chosen = next((entry for entry in found.entries if entry.id == form.get("chosen")), None)
    reason = form.get("reason", "").strip().replace("\r\n", "\n")
    if chosen is None:
        raise BadEntry("chosen", "missing")
    if not reason:
        raise BadEntry("reason", "missing")
    here = case.now.id if case.now else None
    return [
        Statement(one.body, case.code, one.setting, one.supersedes, reason,
                  form.get("entry_id") if place == 0 else None)
        for place, one in enumerate(settle(found, chosen, here))
    ]  # fmt: skip


def _gone(case: Case) -> Response:
    """The second tap of a form finds nothing left to settle, and neither does a page out of date."""
    return _page(case, {"key": speech.say("trail.settle.gone")}, 409)


def _opened(code: str) -> Case:
    case = book.case_of(code)
    if not case.entries:
        abort(404)
    return case


def _page(case: Case, errors: dict[str, str], status: int = 200) -> Response:
    person = seats.person()
    page = render_template(
        "trail/trail.html", case=case, chapters=tuple(chapters(case)), disputes=tuple(disputes(case)),
        errors=errors, form=request.form, may=bool(person and RANK[person.role] >= RANK["technician"]),
        opened=bool(case.said(CaseOpened)), tell=telling, shows=SHOWS, tilt=_tilt, said=_said_of(case),
        recorders=book.lab().recorders(),
    )  # fmt: skip
    return make_response(page, status)


def _said_of(case: Case) -> str:
    """Return what to say of the entry that the address names as just recorded: a key of words, or ''."""
    said = request.args.get("said", "")
    entry = case.by_id.get(said)
    if said == "settled":
        return "said_settled"
    if entry is None:
        return ""
    if isinstance(entry.body, PhotoKept):
        return "said_photo"
    back = case.by_id.get(entry.body.entry) if isinstance(entry.body, Withdrawn) else None
    settles = back is None or isinstance(back.body, (SettingTaken, Mounted))
    return "said_settled" if settles else "said_back"


def _tilt(case: Case) -> str:
    arch = case.arch if case.said(CaseOpened) else None
    return tilt_in_words(case.now, telling.reader(), arch) if case.now else ""


def chapters(case: Case) -> Iterator[Chapter]:
    """Yield the story by day and setting, in the order it was said."""
    for (day, setting), entries in groupby(_placed(case), key=lambda placed: placed[:2]):
        yield Chapter(day, setting, tuple(_told(case, entry) for _, _, entry in entries))


def _placed(case: Case) -> Iterator[tuple[str, str, Entry]]:
    """Yield each entry with its day and the setting the cast had; what names none follows the last."""
    number: int | None = None
    for entry in case.entries:
        taken = case.setting_of(entry.id) or case.setting_of(entry.setting)
        number = taken.number if taken else number
        yield (
            telling.day(entry.at),
            "" if number is None else telling.reader().setting(number),
            entry,
        )


def _told(case: Case, entry: Entry) -> Told:
    reader, body = telling.reader(), entry.body
    kept = isinstance(body, PhotoKept) and photos.shelf().has(body.sha256)
    return Told(
        entry, telling.minute(entry.at), entry_in_words(entry, case, reader),
        fate_in_words(entry, case, reader), body.sha256 if kept and isinstance(body, PhotoKept) else None,
    )  # fmt: skip


def disputes(case: Case) -> Iterator[Dispute]:
    """Yield what disagrees, each statement in words with its day and time."""
    for found in case.contradictions:
        words = contradiction_in_words(found, case, telling.reader())
        yield Dispute(
            found, words.title, tuple(_said(found.entries, words.statements)), can_settle(found),
            _settles(case, found) if can_settle(found) else "",
        )  # fmt: skip


def _settles(case: Case, found: Contradiction) -> str:
    here = case.now.id if case.now else None
    return json.dumps({
        chosen.id: [
            {
                "kind": kind_of(type(one.body)), "body": body_document(one.body),
                "supersedes": one.supersedes, "setting": one.setting,
            }
            for one in settle(found, chosen, here)
        ]
        for chosen in found.entries
    })  # fmt: skip


def _said(entries: Iterable[Entry], words: Iterable[str]) -> Iterator[tuple[Entry, str, str]]:
    for entry, sentence in zip(entries, words, strict=True):
        yield entry, sentence, f"{telling.day(entry.at)} {telling.minute(entry.at)}"
