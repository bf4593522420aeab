"""Record what the person at the tablet states: the one way from a page into the log."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flask import current_app

from bench.core import accept
from bench.core.bounds import BadEntry
from bench.core.case import fold
from bench.core.drills import check_drill
from bench.core.entries import BY_A_SUPERVISOR, Body, Draft, Entry, PersonAdded, sealed
from bench.core.joining import check_lab
from bench.core.lab import fold_lab
from bench.web import book, clock, seats
from bench.web.stamps import Stamps


class NotAllowed(Exception):
    """The person's role does not record this; `code` is its words' key in `errors.role`."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


@dataclass(frozen=True, slots=True)
class Statement:
    """A body and what it belongs to, before it is known who states it."""

    body: Body
    case: str | None = None
    setting: str | None = None
    supersedes: tuple[str, ...] = ()
    reason: str = ""
    entry_id: str | None = None


def record(
    body: Body,
    *,
    case: str | None = None,
    setting: str | None = None,
    supersedes: tuple[str, ...] = (),
    reason: str = "",
    entry_id: str | None = None,
) -> Entry:
    """Record one statement of the person signed in and return its entry.

    The same `entry_id` with the same words again returns the entry recorded at first. Raises BadEntry,
    NotAllowed, and the store's AlreadyRecorded when the id is taken by other words.
    """
    return record_many([Statement(body, case, setting, supersedes, reason, entry_id)])[0]


def record_many(statements: Sequence[Statement]) -> tuple[Entry, ...]:
    """Record statements of one case, or of the lab, one after another or none of them; as `record`."""
    person = [_recorder(statement.body) for statement in statements]
    drafts = [_draft(one, by) for one, by in zip(statements, person, strict=True)]
    return _kept(drafts, lambda entries: check_all(drafts, entries))


def record_first(initials: str) -> Entry:
    """Record the lab's first person, a supervisor who adds themself; raise BadEntry when there is one.

    The check runs inside the writing transaction, so that two first starts at once make one.
    """
    draft = Draft(PersonAdded(initials, "supervisor"), initials)

    def nobody_yet(entries: Sequence[Entry]) -> None:
        if fold_lab(entries).people:
            raise BadEntry("initials", "started")

    return _kept([draft], nobody_yet)[0]


def _kept(drafts: Sequence[Draft], check: Callable[[tuple[Entry, ...]], None]) -> tuple[Entry, ...]:
    try:
        return book.log().record(
            drafts, check=check, now_ms=clock.now_ms(), random_bits=clock.random_bits
        )
    finally:
        book.forget()


def check_all(drafts: Sequence[Draft], entries: Sequence[Entry]) -> None:
    """Refuse what does not fit the case, or the lab, that the entries make; raise BadEntry.

    Each draft is checked with the ones before it recorded, and one recorded already is not checked.
    """
    known = {entry.id for entry in entries}
    so_far = list(entries)
    for draft in drafts:
        if draft.entry_id not in known:
            _check(draft, so_far)
            so_far.append(_as_recorded(draft, so_far))


def _check(draft: Draft, entries: Sequence[Entry]) -> None:
    if draft.case is None:
        lab = fold_lab(entries)
        check_lab(draft, lab)
        check_drill(draft, entries, lab)
    else:
        accept.check(draft, fold(draft.case, entries), book.lab())


def _as_recorded(draft: Draft, entries: Sequence[Entry]) -> Entry:
    newest = max((entry.id for entry in entries), default="")
    named = draft.entry_id or ""
    # A later statement may name this one by its id; in any case it sorts after all before it.
    key = named if named > newest else newest + "~"
    return sealed(draft, entry_id=key, device="", at="", seq=0, prev="")


def _draft(statement: Statement, person: str) -> Draft:
    given = statement.entry_id
    return Draft(
        body=statement.body, person=person, case=statement.case, setting=statement.setting,
        supersedes=statement.supersedes, reason=statement.reason,
        entry_id=stamps().stamped(given) if given else None,
    )  # fmt: skip


def _recorder(body: Body) -> str:
    person = seats.person()
    if person is None or person.role == "reader":
        raise NotAllowed("readers_record_nothing")
    if type(body) in BY_A_SUPERVISOR and person.role != "supervisor":
        raise NotAllowed("by_a_supervisor")
    return person.initials


def stamps() -> Stamps:
    """Return the stamps of this bench."""
    kept: Stamps = current_app.extensions["stamps"]
    return kept
