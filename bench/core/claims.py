"""What an entry states about what: two entries that state different things of one claim contradict each other."""

from __future__ import annotations

from collections.abc import Callable

from bench.core.entries import (
    Body,
    CaseOpened,
    CastReceived,
    ClaspWished,
    DisinfectionRecorded,
    Entry,
    Exempted,
    GuidePlaneRead,
    GuidePlaneWished,
    IndirectRetainerWished,
    InterferenceNoted,
    InterferencesLooked,
    PrescriptionRecorded,
    RestWished,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    TripodMarked,
    UndercutRead,
)
from bench.core.surfaces import site_from

Claim = tuple[str | int | None, ...]
Stated = tuple[Claim, object]

LOOKED: Claim = ("interferences",)


def _whole(name: str) -> Callable[[Entry], tuple[Stated, ...]]:
    return lambda entry: (((name,), entry.body),)


def _of_site(name: str) -> Callable[[Entry], tuple[Stated, ...]]:
    def stated(entry: Entry) -> tuple[Stated, ...]:
        body = entry.body
        return (((name, body.tooth, body.surface), body),)  # type: ignore[union-attr]

    return stated


def _of_tooth(name: str) -> Callable[[Entry], tuple[Stated, ...]]:
    return lambda entry: (((name, entry.body.tooth), entry.body),)  # type: ignore[union-attr]


def _lines(entry: Entry) -> tuple[Stated, ...]:
    body = entry.body
    assert isinstance(body, SurveyLinesDrawn)
    return tuple((("line", site), body.lead_at_gingival) for site in body.sites)


def _interference(entry: Entry) -> tuple[Stated, ...]:
    body = entry.body
    assert isinstance(body, InterferenceNoted)
    return (("interference", body.place, body.nature, body.tooth), body), (LOOKED, "seen")


_STATES: dict[type, Callable[[Entry], tuple[Stated, ...]]] = {
    CaseOpened: _whole("case"),
    TeethRecorded: _whole("teeth"),
    PrescriptionRecorded: _whole("prescription"),
    DisinfectionRecorded: _whole("disinfection"),
    CastReceived: _whole("cast"),
    ClaspWished: _of_site("clasp"),
    RestWished: lambda entry: ((("rest", entry.body.tooth, entry.body.seat), entry.body),),  # type: ignore[union-attr]
    GuidePlaneWished: _of_site("plane_wish"),
    IndirectRetainerWished: _of_tooth("indirect"),
    GuidePlaneRead: _of_site("plane"),
    UndercutRead: _of_site("undercut"),
    InterferenceNoted: _interference,
    InterferencesLooked: lambda entry: ((LOOKED, "none seen"),),
    SurveyLinesDrawn: _lines,
    TripodMarked: _whole("tripod"),
    TipChosen: _of_site("tip"),
}


def stated_by(entry: Entry) -> tuple[Stated, ...]:
    """Return what an entry states: (claim, value) pairs, none for entries that state nothing of a site."""
    states = _STATES.get(type(entry.body))
    return states(entry) if states else ()


def claim_of(entry: Entry) -> Claim:
    """Return the first claim of an entry that makes one; raise LookupError when it makes none."""
    for claim, _ in stated_by(entry):
        return claim
    raise LookupError(f"{entry.kind} states nothing of a site")


def teeth_named_by(body: Body) -> tuple[tuple[str, int], ...]:
    """Return the teeth that a statement needs on the cast, each with the field that names it."""
    if isinstance(body, (SurveyLinesDrawn, Exempted)):
        return tuple(("sites", site_from(site).tooth) for site in body.sites)
    tooth: int | None = getattr(body, "tooth", None)
    return (("tooth", tooth),) if tooth is not None else ()
