"""What only the case can tell about a statement: refuse it before it is recorded, never after."""

from __future__ import annotations

from collections.abc import Callable

from bench.core import bounds
from bench.core.acceptback import check_fourth_mark, check_reading, check_remount, is_tripod
from bench.core.bounds import BadEntry
from bench.core.case import Case, fold
from bench.core.casephotos import measured, photo_of
from bench.core.claims import teeth_named_by
from bench.core.contradiction import Contradiction
from bench.core.entries import (
    AT_A_SETTING,
    BY_A_SUPERVISOR,
    FINDINGS,
    Body,
    CaseOpened,
    CastReceived,
    ClaspWished,
    Confirmed,
    DisinfectionRecorded,
    Draft,
    Entry,
    FourthMarkMade,
    GuidePlaneRead,
    HoldLifted,
    HoldSet,
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    Overruled,
    PersonConfirmed,
    PhotoDrawn,
    PhotoKept,
    PhotoMarksConfirmed,
    PrescriptionRecorded,
    RecallTaken,
    Released,
    Remounted,
    RemountRead,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    TripodMarked,
    UndercutRead,
    Withdrawn,
    sealed,
)
from bench.core.lab import Lab
from bench.core.proving import check_confirmed
from bench.core.refusal import Refusal
from bench.core.release import grounds, judge
from bench.core.survey import Survey
from bench.core.teeth import arch_of
from bench.core.tilt import ROUNDING_DEG, Tilt, angle_between_deg, total_deg


def check(draft: Draft, case: Case, lab: Lab) -> None:
    """Refuse a statement that does not fit the case as it is; raise BadEntry.

    `case` is folded from what is recorded, in the same transaction that will record the draft.
    """
    bounds.text("reason", draft.reason, most=2000)
    if isinstance(draft.body, CaseOpened):
        _opening(draft, draft.body, case)
        return
    _opened(case)
    _at_the_setting_seen(draft, case)
    _names_known_entries(draft, case, lab)
    _on_this_cast(draft, case)
    demand = _DEMANDS.get(type(draft.body))
    if demand:
        demand(draft, case, lab)


def _opening(draft: Draft, body: CaseOpened, case: Case) -> None:
    """A case is opened once; what was said of it then is corrected by an opening that supersedes it."""
    if body.code != case.code:
        raise BadEntry("code", "bad_code", value=body.code)
    standing = {said.entry.id for said in case.said(CaseOpened)}
    if not standing <= set(draft.supersedes):
        raise BadEntry("code", "already_open", value=case.code)
    if not standing.issuperset(draft.supersedes):
        raise BadEntry("supersedes", "no_such_entry", value=draft.supersedes[0])
    for entry in case.standing:
        for tooth in _teeth_of_any_kind(entry.body):
            if arch_of(tooth) != body.arch:
                raise BadEntry("arch", "other_arch", value=tooth, arch=body.arch)


def _teeth_of_any_kind(body: Body) -> tuple[int, ...]:
    if isinstance(body, TeethRecorded):
        return (*body.missing, *body.extractions)
    return tuple(tooth for _, tooth in teeth_named_by(body))


def _opened(case: Case) -> None:
    if not case.said(CaseOpened):
        raise BadEntry("case", "not_opened", value=case.code)


def _at_the_setting_seen(draft: Draft, case: Case) -> None:
    """The page must have been made for the setting the cast has now, or its figures belong to another."""
    if type(draft.body) not in AT_A_SETTING and not isinstance(draft.body, SettingTaken):
        return
    if case.now is None:
        raise BadEntry("setting", "not_mounted")
    if draft.setting != case.now.id:
        raise BadEntry("setting", "setting_has_changed", number=case.now.number)


def _names_known_entries(draft: Draft, case: Case, lab: Lab) -> None:
    for entry_id in draft.supersedes:
        if entry_id not in case.by_id:
            raise BadEntry("supersedes", "no_such_entry", value=entry_id)
        if entry_id in case.aside:
            raise BadEntry("supersedes", "changed_meanwhile", person=case.aside[entry_id].person)
        if isinstance(case.by_id[entry_id].body, CaseOpened):
            raise BadEntry("supersedes", "opening_stays")
        if not may_put_aside(draft.person, case.by_id[entry_id], case, lab):
            who = case.by_id[entry_id].person
            raise BadEntry("supersedes", "by_its_maker_or_a_supervisor", person=who)


def _on_this_cast(draft: Draft, case: Case) -> None:
    for field, tooth in teeth_named_by(draft.body):
        if arch_of(tooth) != case.arch:
            raise BadEntry(field, "other_arch", value=tooth, arch=case.arch)
        if tooth not in case.present:
            raise BadEntry(field, "tooth_is_missing", value=tooth)


def _teeth(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, TeethRecorded)
    for tooth in (*body.missing, *body.extractions):
        if arch_of(tooth) != case.arch:
            raise BadEntry("missing", "other_arch", value=tooth, arch=case.arch)
    for entry in case.standing:
        for _, used in teeth_named_by(entry.body):
            if used in body.missing and entry.id not in draft.supersedes:
                raise BadEntry("missing", "tooth_is_used", value=used)
    _not_twice(draft, case, lab)


def _mounted(draft: Draft, case: Case, lab: Lab) -> None:
    here = case.now.id if case.now else None
    if draft.setting != here:
        raise BadEntry("setting", "setting_has_changed", number=case.now.number if case.now else 0)


def _setting(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, SettingTaken)
    if body.ap_deg is None or body.lat_deg is None:
        return
    total = total_deg(Tilt(body.ap_deg, body.lat_deg))
    limit = lab.policy.number("tilt_asks_reason_deg") + ROUNDING_DEG
    if total > limit and not draft.reason.strip():
        raise BadEntry("reason", "tilt_needs_reason", total_deg=round(total, 1))


def _not_twice(draft: Draft, case: Case, lab: Lab) -> None:
    """Two statements of one site must be told apart as a correction, or they would contradict each other."""
    known = {_parties(found) for found in case.contradictions}
    if any(_parties(found) not in known for found in case_with(draft, case).contradictions):
        raise BadEntry("supersedes", "said_meanwhile")


def _parties(found: Contradiction) -> tuple[str, ...]:
    return found.key, *(entry.id for entry in found.entries)


def case_with(draft: Draft, case: Case) -> Case:
    """Return the case as it would be with the draft recorded."""
    later = max((entry.id for entry in case.entries), default="")
    entry = sealed(draft, entry_id=later + "~", device="", at="", seq=0, prev="")
    return fold(case.code, (*case.entries, entry))


def _confirmed(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, Confirmed)
    entry = case.by_id.get(body.finding)
    if entry is None or not isinstance(entry.body, FINDINGS):
        raise BadEntry("finding", "no_such_entry", value=body.finding)
    if entry.id in case.aside:
        raise BadEntry("finding", "changed_meanwhile", person=case.aside[entry.id].person)
    if not may_be_confirmed(entry, case, lab):
        raise BadEntry("finding", "marks_of_another_tilt")
    _not_twice(draft, case, lab)


def may_be_confirmed(finding: Entry, case: Case, lab: Lab) -> bool:
    """Say whether a finding can hold at the present setting without being made anew.

    Tripod marks lie level at one tilt only, so they hold at another setting when both tilts are the
    same within the lab's tolerance for a re-mount, or when a table without a scale leaves it open.
    """
    was, now = case.setting_of(finding.setting), case.now
    if not isinstance(finding.body, TripodMarked) or was is None or now is None:
        return True
    before, after = was.tilt, now.tilt
    if before is None or after is None:
        return True
    most_deg = lab.policy.number("remount_tolerance_deg") + ROUNDING_DEG
    return angle_between_deg(before, after) <= most_deg


def _withdrawn(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, Withdrawn)
    target = case.by_id.get(body.entry)
    if target is None:
        raise BadEntry("entry", "no_such_entry", value=body.entry)
    if isinstance(target.body, CaseOpened):
        raise BadEntry("entry", "opening_stays")
    if body.entry in case.aside:
        raise BadEntry("entry", "changed_meanwhile", person=case.aside[body.entry].person)
    if not may_put_aside(draft.person, target, case, lab):
        raise BadEntry("entry", "by_its_maker_or_a_supervisor", person=target.person)


def may_put_aside(person: str, target: Entry, case: Case, lab: Lab) -> bool:
    """Say whether a person may take an entry back or correct it.

    A release and what a supervisor stated are put aside by who stated them or by a supervisor, and so
    is an entry that itself puts such a one aside: else taking it back would be a way round.
    """
    if person == target.person:
        return True
    known = lab.people.get(person)
    if known is not None and known.active and known.role == "supervisor":
        return True
    return not any(_is_decisive(one.body) for one in (target, *_put_aside_by(target, case)))


def _is_decisive(body: Body) -> bool:
    return type(body) in BY_A_SUPERVISOR | {Released}


def _put_aside_by(entry: Entry, case: Case) -> list[Entry]:
    """Return what an entry withdraws or supersedes, and what these do, each once."""
    found: dict[str, Entry] = {}
    waiting = [entry]
    while waiting:
        one = waiting.pop()
        named = (*one.supersedes, *((one.body.entry,) if isinstance(one.body, Withdrawn) else ()))
        fresh = [case.by_id[key] for key in named if key in case.by_id and key not in found]
        found.update((one.id, one) for one in fresh)
        waiting += fresh
    return list(found.values())


def _overruled(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, Overruled)
    blocking = {one.reason.key for one in judge(Survey(case, lab)).blocking}
    for key in body.covers:
        if key not in blocking or key.split(":")[0] != body.rule:
            raise BadEntry("covers", "nothing_to_overrule", value=key)


def _released(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, Released)
    verdict = judge(Survey(case, lab))
    if not verdict.may_release:
        raise BadEntry("release", "release_blocked", count=len(verdict.blocking))
    if set(body.grounds) != set(grounds(case)):
        raise BadEntry("release", "changed_meanwhile", person="")


def _photo_marks(draft: Draft, case: Case, lab: Lab) -> None:
    """The photo is kept in this case, the marks lie on it, and it shows a tripod of this case."""
    body = draft.body
    assert isinstance(body, PhotoMarksConfirmed)
    kept = _photo_kept(body.sha256, case)
    if not is_tripod(case, body.about):
        raise BadEntry("about", "no_such_entry", value=body.about)
    for field, places in (("corners_px", body.corners), ("marks_px", body.marks)):
        if any(x > kept.width_px or y > kept.height_px for x, y in places):
            raise BadEntry(field, "outside_the_photo")
    try:
        measured(body, kept.width_px, kept.height_px)
    except Refusal as refused:
        raise BadEntry("dh_mm", refused.code, **refused.params) from refused


def _photo_drawn(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, PhotoDrawn)
    _photo_kept(body.sha256, case)


def _photo_kept(sha: str, case: Case) -> PhotoKept:
    photo = photo_of(case, sha)
    if photo is None or photo.taken_back:
        raise BadEntry("sha256", "no_such_photo")
    return photo.body


def _recall(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, RecallTaken)
    if case.release is None or case.release.entry.id != body.release:
        raise BadEntry("release", "no_such_entry", value=body.release)


def _person_confirmed(draft: Draft, case: Case, lab: Lab) -> None:
    """A person confirms what is noted of themself alone."""
    body = draft.body
    assert isinstance(body, PersonConfirmed)
    check_confirmed(draft.person, body, case.unconfirmed)


def _hold_set(draft: Draft, case: Case, lab: Lab) -> None:
    if case.hold is not None:
        raise BadEntry("reason", "on_hold_already", person=case.hold.entry.person)


def _hold_lifted(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, HoldLifted)
    if case.hold is None or case.hold.entry.id != body.hold:
        raise BadEntry("hold", "no_such_hold")


_SAID_ONCE = (
    PrescriptionRecorded, DisinfectionRecorded, CastReceived, ClaspWished, GuidePlaneRead,
    UndercutRead, InterferenceNoted, InterferencesLooked, SurveyLinesDrawn, TripodMarked, TipChosen,
)  # fmt: skip
Demand = Callable[[Draft, Case, Lab], None]
_DEMANDS: dict[type, Demand] = {
    TeethRecorded: _teeth,
    Mounted: _mounted,
    SettingTaken: _setting,
    Confirmed: _confirmed,
    Withdrawn: _withdrawn,
    Overruled: _overruled,
    Released: _released,
    Remounted: check_remount,
    RemountRead: check_reading,
    FourthMarkMade: check_fourth_mark,
    PhotoMarksConfirmed: _photo_marks,
    PhotoDrawn: _photo_drawn,
    RecallTaken: _recall,
    PersonConfirmed: _person_confirmed,
    HoldSet: _hold_set,
    HoldLifted: _hold_lifted,
    **dict.fromkeys(_SAID_ONCE, _not_twice),
}
