"""What only the case can tell about a statement: refuse it before it is recorded, never after."""

from __future__ import annotations

from collections.abc import Callable

from bench.core.bounds import BadEntry
from bench.core.case import Case, fold
from bench.core.entries import (
    AT_A_SETTING,
    FINDINGS,
    CaseOpened,
    CastReceived,
    ClaspWished,
    Confirmed,
    DisinfectionRecorded,
    Draft,
    Exempted,
    GuidePlaneRead,
    GuidePlaneWished,
    IndirectRetainerWished,
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    Overruled,
    PrescriptionRecorded,
    RecallTaken,
    Released,
    RestWished,
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
from bench.core.release import grounds, judge
from bench.core.surfaces import site_from
from bench.core.survey import Survey
from bench.core.teeth import arch_of
from bench.core.tilt import Tilt, total_deg

_ON_A_TOOTH = (
    ClaspWished, RestWished, GuidePlaneWished, IndirectRetainerWished, GuidePlaneRead, UndercutRead,
    InterferenceNoted, TipChosen,
)  # fmt: skip


def check(draft: Draft, case: Case, lab: Lab) -> None:
    """Refuse a statement that does not fit the case as it is; raise BadEntry.

    `case` is folded from what is recorded, in the same transaction that will record the draft.
    """
    if isinstance(draft.body, CaseOpened):
        _not_open_yet(draft, case)
        return
    _opened(case)
    _at_the_setting_seen(draft, case)
    _names_known_entries(draft, case)
    _on_this_cast(draft, case)
    demand = _DEMANDS.get(type(draft.body))
    if demand:
        demand(draft, case, lab)


def _not_open_yet(draft: Draft, case: Case) -> None:
    if case.said(CaseOpened):
        raise BadEntry("code", "already_open", value=case.code)


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


def _names_known_entries(draft: Draft, case: Case) -> None:
    for entry_id in draft.supersedes:
        if entry_id not in case.by_id:
            raise BadEntry("supersedes", "no_such_entry", value=entry_id)
        if entry_id in case.aside:
            raise BadEntry("supersedes", "changed_meanwhile", person=case.aside[entry_id].person)


def _on_this_cast(draft: Draft, case: Case) -> None:
    for field, tooth in _teeth_named(draft):
        if arch_of(tooth) != case.arch:
            raise BadEntry(field, "other_arch", value=tooth, arch=case.arch)
        if tooth not in case.present:
            raise BadEntry(field, "tooth_is_missing", value=tooth)


def _teeth_named(draft: Draft) -> list[tuple[str, int]]:
    body = draft.body
    if isinstance(body, _ON_A_TOOTH):
        return [("tooth", body.tooth)] if body.tooth is not None else []
    if isinstance(body, (SurveyLinesDrawn, Exempted)):
        return [("sites", site_from(site).tooth) for site in body.sites]
    return []


def _teeth(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, TeethRecorded)
    for tooth in (*body.missing, *body.extractions):
        if arch_of(tooth) != case.arch:
            raise BadEntry("missing", "other_arch", value=tooth, arch=case.arch)
    for said in case.standing:
        used = getattr(said.body, "tooth", None)
        if used in body.missing:
            raise BadEntry("missing", "tooth_is_used", value=used)


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
    if total > lab.policy.number("tilt_asks_reason_deg") and not draft.reason.strip():
        raise BadEntry("reason", "tilt_needs_reason", total_deg=round(total, 1))


def _not_twice(draft: Draft, case: Case, lab: Lab) -> None:
    """Two statements of one site must be told apart as a correction, or they would contradict each other."""
    fresh = case_with(draft, case)
    if len(fresh.contradictions) > len(case.contradictions):
        raise BadEntry("supersedes", "said_meanwhile")


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


def _recall(draft: Draft, case: Case, lab: Lab) -> None:
    body = draft.body
    assert isinstance(body, RecallTaken)
    if case.release is None or case.release.entry.id != body.release:
        raise BadEntry("release", "no_such_entry", value=body.release)


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
    RecallTaken: _recall,
    **dict.fromkeys(_SAID_ONCE, _not_twice),
}
