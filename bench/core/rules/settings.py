"""Rules S: the setting is final, every finding belongs to it, nothing disturbed it, nothing disagrees."""

from __future__ import annotations

from collections.abc import Iterator

from bench.core.case import Reading
from bench.core.claims import teeth_named_by
from bench.core.entries import (
    FINDINGS,
    Entry,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TripodMarked,
    UndercutRead,
)
from bench.core.rules.reason import Param, Reason
from bench.core.surfaces import Site
from bench.core.survey import Survey
from bench.core.teeth import arch_of
from bench.core.tilt import ROUNDING_DEG, Tilt, total_deg

_STEP_OF_KIND = {
    "guide_plane_read": "guide_planes", "undercut_read": "undercuts",
    "interference_noted": "interferences", "interferences_looked": "interferences",
    "survey_lines_drawn": "survey_lines", "tripod_marked": "tripod", "tip_chosen": "retention",
}  # fmt: skip


def final_setting(survey: Survey) -> Iterator[Reason]:
    """S1: there is a final setting: angles with their instrument, or a table without a scale."""
    now = survey.case.now
    if now is None:
        yield Reason("S1", "not_mounted", "mount")
        return
    if not now.final:
        yield Reason("S1", "not_final", "tilt", params={"number": now.number}, entries=(now.id,))
    body = now.entry.body
    if isinstance(body, SettingTaken) and body.ap_deg is not None and not body.instrument:
        yield Reason(
            "S1", "no_instrument", "tilt", params={"number": now.number}, entries=(now.id,)
        )


def stale_findings(survey: Survey) -> Iterator[Reason]:
    """S2: every finding that counts was made or confirmed at the present setting."""
    stale: dict[str, Reading[object]] = {}
    sites: dict[str, list[str]] = {}
    for kind in FINDINGS:
        for claim, reading in survey.case.readings(kind).items():
            if reading.stale and _counts(survey, reading):
                stale[reading.entry.id] = reading
                if isinstance(reading.body, SurveyLinesDrawn):
                    sites.setdefault(reading.entry.id, []).append(str(claim[1]))
    for entry_id, reading in stale.items():
        yield _stale(survey, reading.entry, tuple(sites.get(entry_id, ())))


def _counts(survey: Survey, reading: Reading[object]) -> bool:
    """A reading at zero of a site nobody plans to use is a note about zero, not a finding gone stale."""
    body = reading.body
    if (
        not isinstance(body, UndercutRead)
        or Site(body.tooth, body.surface) in survey.undercut_sites
    ):
        return True
    made_at = survey.case.setting_of(reading.entry.setting)
    return made_at is None or not made_at.zero


def _stale(survey: Survey, entry: Entry, sites: tuple[str, ...]) -> Reason:
    made_at = survey.case.setting_of(entry.setting)
    params: dict[str, Param] = {"number": made_at.number if made_at else None}
    body = entry.body
    tooth, surface = getattr(body, "tooth", None), getattr(body, "surface", None)
    if surface is not None:
        params["site"] = f"{tooth}{surface}"
    if sites:
        params["sites"] = sites
    return Reason(
        "S2", f"stale_{entry.kind}", _STEP_OF_KIND[entry.kind], entry.id, params, (entry.id,)
    )


def steep_tilt(survey: Survey) -> Iterator[Reason]:
    """S3: a large tilt warns, a very large one wants a reason.

    Source: ten to fifteen degrees is the usual ceiling in teaching texts (common practice, no source).
    """
    now = survey.case.now
    if now is None or now.ap_deg is None or now.lat_deg is None:
        return
    total = total_deg(Tilt(now.ap_deg, now.lat_deg)) - ROUNDING_DEG
    params: dict[str, Param] = {"total_deg": round(total, 1)}
    if total > survey.policy.number("tilt_asks_reason_deg") and not now.entry.reason:
        yield Reason("S3", "no_reason", "tilt", params=params, entries=(now.id,))
    elif total > survey.policy.number("tilt_warns_deg"):
        yield Reason("S3", "steep", "tilt", params=params, entries=(now.id,))


def undercut_at_zero(survey: Survey) -> Iterator[Reason]:
    """S4: each tip's undercut exists at zero too; tilting makes no retention against a straight pull."""
    if survey.case.now is not None and survey.case.now.zero:
        return
    for counted in survey.tips:
        said = survey.undercut_at_zero(counted.site)
        text = counted.site.text
        if said is None:
            yield Reason("S4", "not_read_at_zero", "undercuts", text, {"site": text})
        elif said.body.contact == "none":
            yield Reason("S4", "none_at_zero", "retention", text, {"site": text}, (said.entry.id,))


def disturbed(survey: Survey) -> Iterator[Reason]:
    """S5: after a disturbance everything since the last tripod is suspect until re-mounted."""
    for said in survey.case.disturbances:
        suspect = _since_last_tripod(survey, said.entry)
        yield Reason(
            "S5", said.body.what, "tripod", said.entry.id, {"suspect": len(suspect)},
            (said.entry.id, *suspect),
        )  # fmt: skip


def _since_last_tripod(survey: Survey, disturbance: Entry) -> tuple[str, ...]:
    findings = [entry for entry in survey.case.standing if isinstance(entry.body, FINDINGS)]
    before = [
        entry.id for entry in findings
        if isinstance(entry.body, TripodMarked) and entry.id < disturbance.id
    ]  # fmt: skip
    last = before[-1] if before else ""
    return tuple(entry.id for entry in findings if last < entry.id)


def contradictions(survey: Survey) -> Iterator[Reason]:
    """S6: no two standing entries state different things of one site at one setting."""
    for found in survey.case.contradictions:
        ids = tuple(entry.id for entry in found.entries)
        kind = str(found.claim[0])
        params: dict[str, Param] = {"people": tuple(entry.person for entry in found.entries)}
        if kind in ("plane", "undercut", "tip", "clasp", "plane_wish"):
            params["site"] = f"{found.claim[1]}{found.claim[2]}"
        elif kind == "line":
            params["site"] = str(found.claim[1])
        yield Reason("S6", f"disagree_{kind}", "contradiction", found.key, params, ids)


def not_on_this_cast(survey: Survey) -> Iterator[Reason]:
    """S6: no entry speaks of a tooth that stands recorded as missing, or of one of the other arch."""
    case = survey.case
    recorded = case.latest(TeethRecorded)
    missing = (recorded.entry.id,) if recorded else ()
    for entry in case.standing:
        for tooth in _strangers(survey, entry):
            ids = tuple(dict.fromkeys((entry.id, *missing)))
            yield Reason("S6", "not_on_cast", "contradiction", entry.id, {"tooth": tooth}, ids)


def _strangers(survey: Survey, entry: Entry) -> tuple[int, ...]:
    body, case = entry.body, survey.case
    if isinstance(body, TeethRecorded):
        return tuple(t for t in (*body.missing, *body.extractions) if arch_of(t) != case.arch)[:1]
    return tuple(t for _, t in teeth_named_by(body) if t not in case.present)[:1]


RULES = (
    final_setting, stale_findings, steep_tilt, undercut_at_zero, disturbed, contradictions,
    not_on_this_cast,
)  # fmt: skip
