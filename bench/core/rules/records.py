"""Rules R: the records a survey must hold before the cast may go to design."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bench.core.case import Reading
from bench.core.entries import (
    DisinfectionRecorded,
    Entry,
    InstrumentChecked,
    InterferenceNoted,
    InterferencesLooked,
    PhotoKept,
    PrescriptionRecorded,
    TripodMarked,
    UndercutRead,
)
from bench.core.lab import Lab
from bench.core.off import triangle_of as triangle_of
from bench.core.rules.reason import Param, Reason
from bench.core.surfaces import LETTERS, Site
from bench.core.survey import Survey
from bench.core.tripod import Held, Triangle, how_finely_held

_ROUNDING = 1e-9  # a figure that is exactly at its limit must not fail by rounding
_DECLARED = ("one_tip_height", "arm_locked", "table_locked", "ringed")


def prescription(survey: Survey) -> Iterator[Reason]:
    """R1: the prescription is named and dated, the disinfection status answered."""
    if survey.case.latest(PrescriptionRecorded) is None:
        yield Reason("R1", "no_prescription", "receive")
    if survey.case.latest(DisinfectionRecorded) is None:
        yield Reason("R1", "no_disinfection", "receive")


def guide_planes(survey: Survey) -> Iterator[Reason]:
    """R2: a guide-plane reading on each proximal surface facing a space to be replaced."""
    for site in survey.plane_sites:
        if survey.plane(site) is None:
            yield Reason("R2", "not_read", "guide_planes", site.text, {"site": site.text})


def undercuts(survey: Survey) -> Iterator[Reason]:
    """R3: an undercut reading on each planned abutment, at least on the surface of the planned tip."""
    for site in survey.undercut_sites:
        if survey.undercut(site) is None:
            yield Reason("R3", "not_read", "undercuts", site.text, {"site": site.text})


def survey_lines(survey: Survey) -> Iterator[Reason]:
    """R4: survey lines, lead at gingival level, buccal and lingual of every required tooth.

    Source: posterior teeth and teeth next to a space at least (common practice, no source).
    """
    for tooth in survey.line_teeth:
        wanting = tuple(
            Site(tooth, letter).text for letter in LETTERS
            if ("line", Site(tooth, letter).text) not in survey.lines
        )  # fmt: skip
        if wanting:
            params: dict[str, Param] = {"tooth": tooth, "sites": wanting}
            yield Reason("R4", "not_drawn", "survey_lines", str(tooth), params)
    for site in survey.line_sites:
        reading = survey.lines.get(("line", site.text))
        if reading is not None and not reading.body.lead_at_gingival:
            ids, text = (reading.entry.id,), site.text
            yield Reason("R4", "lead_too_high", "survey_lines", text, {"site": text}, ids)


def tripod(survey: Survey) -> Iterator[Reason]:
    """R5: three ringed marks by one tip at one height, arm and table locked, distances and a photo."""
    reading = survey.tripod
    if reading is None:
        yield Reason("R5", "not_marked", "tripod")
        return
    for name in _DECLARED:
        if not getattr(reading.body, name):
            yield Reason("R5", f"not_{name}", "tripod", reading.entry.id, {}, (reading.entry.id,))
    if not tripod_photos(survey):
        yield Reason("R5", "no_photo", "tripod", reading.entry.id, {}, (reading.entry.id,))


def tripod_photos(survey: Survey) -> tuple[PhotoKept, ...]:
    """Return the standing photos of the tripod that counts, newest last.

    A correction of the distances leaves the marks where they are, so their photos go on counting.
    """
    marked = same_marks(survey)
    photos = survey.case.said(PhotoKept)
    return tuple(s.body for s in photos if s.body.shows == "tripod" and s.body.about in marked)


def same_marks(survey: Survey) -> frozenset[str | None]:
    """Return the entries that speak of the marks that count: the tripod's own and those it corrects."""
    marked: set[str | None] = set()
    waiting = [survey.tripod.entry.id] if survey.tripod else []
    while waiting:
        entry_id = waiting.pop()
        entry = survey.case.by_id.get(entry_id)
        if entry is not None and entry_id not in marked and isinstance(entry.body, TripodMarked):
            marked.add(entry_id)
            waiting += entry.supersedes
    return frozenset(marked)


def tripod_width(survey: Survey) -> Iterator[Reason]:
    """R6: the triangle holds the cast within the lab's limit on both axes at the lab's reading SD."""
    reading = survey.tripod
    if reading is None:
        return
    policy, sd = survey.policy, survey.lab.reading_sd
    triangle = triangle_of(reading.body)
    worst_deg = hold_of(triangle, survey.lab).worst_deg
    limit_deg = policy.number("tripod_sd_limit_deg")
    if worst_deg > limit_deg + _ROUNDING:
        params: dict[str, Param] = {
            "sd_deg": round(worst_deg, 2), "limit_deg": limit_deg, "sd_mm": round(sd.sd_mm, 3),
            "sd_from": (sd.source, str(sd.spare)),
        }  # fmt: skip
        yield Reason("R6", "weak", "tripod", reading.entry.id, params, (reading.entry.id,))
    altitude_mm = triangle.least_altitude_mm
    least_mm = policy.number("tripod_least_altitude_mm")
    if altitude_mm < least_mm - _ROUNDING:
        narrow: dict[str, Param] = {"altitude_mm": round(altitude_mm, 1), "least_mm": least_mm}
        yield Reason("R6", "thin", "tripod", reading.entry.id, narrow, (reading.entry.id,))


def hold_of(triangle: Triangle, lab: Lab) -> Held:
    """Return how finely a triangle holds the cast at the lab's reading SD."""
    return how_finely_held(triangle.marks_mm, lab.reading_sd.sd_mm)


def interferences(survey: Survey) -> Iterator[Reason]:
    """R7: interferences were looked for; an explicit 'none seen' counts."""
    case = survey.case
    if not case.said(InterferenceNoted) and not case.said(InterferencesLooked):
        yield Reason("R7", "not_looked", "interferences")


def gauge_checks(survey: Survey) -> Iterator[Reason]:
    """R8: every gauge read with was checked, and passed, within the lab's interval."""
    by_gauge: dict[str, list[Reading[UndercutRead]]] = {}
    for reading in survey.undercuts.values():
        by_gauge.setdefault(reading.body.gauge, []).append(reading)
    for tag, readings in sorted(by_gauge.items()):
        problem = _gauge_problem(survey, tag, readings)
        if problem:
            ids = tuple(reading.entry.id for reading in readings)
            yield Reason("R8", problem, "undercuts", tag, {"tag": tag, "count": len(ids)}, ids)


def people_confirmed(survey: Survey) -> Iterator[Reason]:
    """R9: whoever a tablet could not ask for the PIN has confirmed what was stated in their name."""
    by_person: dict[str, list[str]] = {}
    for entry in survey.case.unconfirmed:
        by_person.setdefault(entry.person, []).append(entry.id)
    for person, ids in sorted(by_person.items()):
        # The newest of them is in the key: what comes later is not covered by what was overruled.
        params: dict[str, Param] = {"person": person, "count": len(ids)}
        yield Reason("R9", "not_confirmed", "release", f"{person} {ids[-1]}", params, tuple(ids))


def _gauge_problem(survey: Survey, tag: str, readings: list[Reading[UndercutRead]]) -> str | None:
    if not tag:
        return "unnamed"
    gauge = survey.lab.instruments.get(tag)
    if gauge is None:
        return "unknown"
    limit_days = survey.policy.number("gauge_check_days")
    problems = (
        _check_problem(gauge.last_check_before(r.entry.at), r.entry.at, limit_days)
        for r in readings
    )
    return next((problem for problem in problems if problem), None)


def _check_problem(check: Entry | None, at: str, limit_days: float) -> str | None:
    if check is None:
        return "never_checked"
    assert isinstance(check.body, InstrumentChecked)
    if not check.body.passed:
        return "failed"
    age = datetime.fromisoformat(at) - datetime.fromisoformat(check.at)
    return "overdue" if age.total_seconds() > limit_days * 86400 else None


RULES = (
    prescription, guide_planes, undercuts, survey_lines, tripod, tripod_width, interferences, gauge_checks,
    people_confirmed,
)  # fmt: skip
