"""What the arch map shows of a survey at each step: done, stale or to do at the present setting."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import hypot
from typing import Any, cast

from flask import url_for

from bench.core.arch import Vector
from bench.core.archmarks import State
from bench.core.case import Reading
from bench.core.entries import GuidePlaneRead, InterferenceNoted, TeethRecorded, UndercutRead
from bench.core.lines import foot_mm, signed_distance_mm
from bench.core.retention import Tip, resultant
from bench.core.rules.balance import balanced
from bench.core.steps import StepKey
from bench.core.surfaces import SURFACES, Site, Surface, site_from
from bench.core.survey import CountedTip, Survey
from bench.core.wishes import leaning_deg
from bench.web.archmap import (
    ArrowOverlay,
    LineOverlay,
    MapPicture,
    Overlay,
    SurfaceMark,
    ToothMark,
    draw,
)
from bench.web.steps import StepPage
from bench.words.reader import Reader

ARROW_MM, STALE_BADGES, LEAST_DRAWN_MM = 16.0, 4, 1.5
_WORST: tuple[State, ...] = ("stopped", "stale", "part", "todo", "done", "plain")


@dataclass(frozen=True)
class Marks:
    """The marks of one step: by tooth, and by surface."""

    surfaces: Mapping[Site, SurfaceMark] = field(default_factory=dict)
    teeth: Mapping[int, ToothMark] = field(default_factory=dict)


Marker = Callable[[Survey, Reader], dict[Site, SurfaceMark]]


def state_of_reading(reading: Reading[object] | None) -> State:
    """Return what a map shows of a reading: none is to do, one of another setting is stale."""
    if reading is None:
        return "todo"
    return "done" if reading.current else "stale"


def mark_of(
    survey: Survey, reader: Reader, reading: Reading[object] | None, badge: str = ""
) -> SurfaceMark:
    """Return the mark of a wanted site; a stale one is badged with the setting it belongs to."""
    state = state_of_reading(reading)
    word = reader.say(f"shell.state.{state}")
    if reading is None or state != "stale":
        return SurfaceMark(state, word, badge or None)
    made_at = survey.case.setting_of(reading.entry.setting)
    if made_at is None:
        return SurfaceMark("stale", word, reader.say("steppages.map.gone"))
    word = reader.say("steppages.map.stale", setting=reader.setting(made_at.number))
    return SurfaceMark("stale", word, reader.say("steppages.map.set", number=made_at.number))


def planes(survey: Survey, reader: Reader) -> dict[Site, SurfaceMark]:
    """Mark the guide planes wanted or read."""
    read = {Site(r.body.tooth, r.body.surface): r for r in survey.planes.values()}
    marks = {
        site: mark_of(survey, reader, read.get(site), plane_badge(read.get(site), reader))
        for site in dict.fromkeys((*survey.plane_sites, *read))
    }
    stale = sum(mark.state == "stale" for mark in marks.values())
    return marks if stale <= STALE_BADGES else _hatched(marks)


def _hatched(marks: Mapping[Site, SurfaceMark]) -> dict[Site, SurfaceMark]:
    """Leave stale marks their hatching and their words: so many badges would crowd the map."""
    return {
        site: replace(mark, badge=None) if mark.state == "stale" else mark
        for site, mark in marks.items()
    }


def plane_badge(reading: Reading[GuidePlaneRead] | None, reader: Reader) -> str:
    """Return what a guide-plane reading found, short enough for a badge."""
    if reading is None:
        return ""
    angle = leaning_deg(reading.body)
    if angle:
        return reader.angle(round(abs(angle), 1))
    return reader.say(f"steppages.map.light_{reading.body.light}")


def undercuts(survey: Survey, reader: Reader) -> dict[Site, SurfaceMark]:
    """Mark the undercuts wanted or read, with the gauge that touched."""
    read = {Site(r.body.tooth, r.body.surface): r for r in survey.undercuts.values()}
    wanted = set(survey.undercut_sites)
    kept = {
        site: r
        for site, r in read.items()
        if site in wanted or r.current or not _at_zero(survey, r)
    }
    return {
        site: mark_of(survey, reader, kept.get(site), undercut_badge(kept.get(site), reader))
        for site in dict.fromkeys((*survey.undercut_sites, *kept))
    }


def _at_zero(survey: Survey, reading: Reading[UndercutRead]) -> bool:
    made_at = survey.case.setting_of(reading.entry.setting)
    return made_at is not None and made_at.zero


def undercut_badge(reading: Reading[UndercutRead] | None, reader: Reader) -> str:
    """Return what the gauge found, short enough for a badge: its size, more or less than it."""
    if reading is None:
        return ""
    size = reader.length(reading.body.gauge_mm).split()[0]
    return reader.say(f"steppages.map.contact_{reading.body.contact}", size=size)


def lines(survey: Survey, reader: Reader) -> dict[Site, SurfaceMark]:
    """Mark the survey lines wanted or drawn; a line with the lead too high is stopped."""
    drawn = {site_from(str(claim[1])): r for claim, r in survey.lines.items()}
    found = {}
    for site in dict.fromkeys((*survey.line_sites, *drawn)):
        reading = drawn.get(site)
        mark = mark_of(survey, reader, reading)
        if reading is not None and not reading.body.lead_at_gingival:
            mark = SurfaceMark("stopped", reader.say("steppages.map.lead_too_high"))
        found[site] = mark
    return _hatched(found)


def wishes(survey: Survey, reader: Reader) -> dict[Site, SurfaceMark]:
    """Mark the wished clasps with the undercut they want."""
    return {
        Site(said.body.tooth, said.body.surface): SurfaceMark(
            "plain", reader.say("steppages.map.wished"),
            reader.length(said.body.wanted_mm).split()[0], push=True,
        )
        for said in survey.clasps
    }  # fmt: skip


def tips(survey: Survey, reader: Reader) -> dict[Site, SurfaceMark]:
    """Mark the chosen tips with their pushes, and the wishes that no tip has taken up."""
    chosen = {counted.site: _tip(survey, reader, counted) for counted in survey.tips}
    taken = {site.tooth for site in chosen}
    open_wishes = {
        site: SurfaceMark("todo", mark.word, mark.badge)
        for site, mark in wishes(survey, reader).items() if site.tooth not in taken
    }  # fmt: skip
    return {**open_wishes, **chosen}


def _tip(survey: Survey, reader: Reader, counted: CountedTip) -> SurfaceMark:
    badge = undercut_badge(counted.reading, reader) or None
    if counted.counts:
        return SurfaceMark("done", reader.say("steppages.map.tip_counts"), badge, push=True)
    stale = counted.tip.stale or (counted.reading is not None and counted.reading.stale)
    return SurfaceMark(
        "stale" if stale else "part", reader.say("steppages.map.tip_not_counted"), badge, push=True
    )


def everything(survey: Survey, reader: Reader) -> dict[Site, SurfaceMark]:
    """Mark whatever was found or is wanted, each surface by the worst of what it carries.

    Only gauges that touched are badged, so that a whole survey fits one map.
    """
    found: dict[Site, SurfaceMark] = {}
    for marker in (lines, planes, undercuts):
        for site, mark in marker(survey, reader).items():
            badge = mark.badge if marker is undercuts and mark.state == "done" else None
            plain = SurfaceMark(mark.state, mark.word, badge)
            found[site] = _worse(plain, found[site]) if site in found else plain
    return found


def _worse(mark: SurfaceMark, other: SurfaceMark) -> SurfaceMark:
    worse = min(mark, other, key=lambda one: _WORST.index(one.state))
    badge = worse.badge or mark.badge or other.badge
    return SurfaceMark(worse.state, worse.word, badge, mark.push or other.push)


def interferences(survey: Survey, reader: Reader) -> Marks:
    """Mark the teeth that stand in the way."""
    found = survey.case.readings(InterferenceNoted).values()
    marks = {}
    for reading in (r for r in found if r.body.tooth is not None):
        state = state_of_reading(reading)
        word = reader.choice("nature", reading.body.nature)
        marks[cast(int, reading.body.tooth)] = ToothMark(
            "stopped" if state == "done" else state, word
        )
    return Marks(teeth=marks)


_SITES: dict[StepKey, Marker] = {
    "receive": wishes, "mount": undercuts, "tilt": everything, "guide_planes": planes,
    "undercuts": undercuts, "survey_lines": lines, "retention": tips, "release": everything,
}  # fmt: skip


def marks_of(survey: Survey, step: StepKey, reader: Reader) -> Marks:
    """Return what the map shows at a step."""
    if step == "interferences":
        return interferences(survey, reader)
    marker = _SITES.get(step)
    if marker is None:
        return Marks()
    surfaces = marker(survey, reader)
    return Marks(surfaces, _teeth(survey, reader, surfaces))


def _teeth(
    survey: Survey, reader: Reader, surfaces: Mapping[Site, SurfaceMark]
) -> dict[int, ToothMark]:
    states: dict[int, set[State]] = {}
    for site, mark in surfaces.items():
        states.setdefault(site.tooth, set()).add(mark.state)
    return {tooth: _tooth(reader, found) for tooth, found in states.items()}


def _tooth(reader: Reader, states: set[State]) -> ToothMark:
    state: State = min(states, key=_WORST.index)
    if "done" in states and state == "todo":
        state = "part"
    return ToothMark(state, reader.say(f"shell.state.{state}"))


def _planned(survey: Survey, reader: Reader, marks: Marks) -> dict[int, ToothMark]:
    plain = ToothMark("plain", "")
    found = dict(marks.teeth)
    for tooth in survey.abutments:
        mark = found.get(tooth, plain)
        found[tooth] = ToothMark(mark.state, mark.word, mark.badge, planned=True)
    return found


def overlays_of(survey: Survey, step: StepKey, reader: Reader) -> tuple[Overlay, ...]:
    """Return the fulcrum line and, where tips are judged, what their pushes leave."""
    if step not in ("receive", "retention", "release"):
        return ()
    line = survey.fulcrum.line
    label = reader.say("steppages.map.fulcrum")
    drawn: list[Overlay] = (
        [LineOverlay("fulcrum", line.right_mm, line.left_mm, label)] if line else []
    )
    if step == "receive":
        return tuple(drawn)
    return (*drawn, *_distances(survey, reader), *_left_over(survey))


def _distances(survey: Survey, reader: Reader) -> Iterable[Overlay]:
    """Draw how far each tip lies from the fulcrum line: more than nothing away from the base."""
    line = survey.fulcrum.line
    for counted in survey.tips if line else ():
        assert line is not None
        at_mm = survey.model.point_mm(counted.site)
        distance_mm = signed_distance_mm(survey.model, line, Tip(*counted.site))
        if abs(distance_mm) >= LEAST_DRAWN_MM:
            side = "away" if distance_mm > 0 else "base"
            shown = reader.number(abs(distance_mm), 1)
            label = reader.say(f"steppages.map.distance_{side}", distance=shown)
            yield LineOverlay("space", at_mm, foot_mm(line, at_mm), label)


def _left_over(survey: Survey) -> Iterable[Overlay]:
    left = resultant(survey.model, survey.retentive)
    if hypot(left.x, left.y) < 0.05:
        return
    places = [survey.model.place(tip.tooth) for tip in survey.retentive]
    x = sum(place.x_mm for place in places) / len(places)
    y = sum(place.y_mm for place in places) / len(places)
    end = (x + ARROW_MM * left.x, y + ARROW_MM * left.y)
    yield ArrowOverlay("resultant", (x, y), end, stops=bool(list(balanced(survey))))


def surface_of(text: str | None) -> Surface | None:
    """Return the surface a page names, or None for none and for a stranger."""
    return next((surface for surface in SURFACES if surface == text), None)


def tooth_of(page: StepPage) -> int | None:
    """Return the tooth a page names when it stands on this cast, else None."""
    return page.tooth if page.tooth in page.case.present else None


def picture_of(
    page: StepPage,
    reader: Reader,
    *,
    place: Site | None = None,
    teeth: TeethRecorded | None = None,
    keep: Mapping[str, Any] | None = None,
    href: Callable[[int, str | None], str] | None = None,
    room_mm: Vector = (0.0, 0.0),
) -> MapPicture:
    """Return the arch map of a step, every tooth and surface leading to the same step at that place.

    `place` is the site chosen (else what the page names), `teeth` a chart not recorded yet, `keep` what
    goes into every address besides, `href` other addresses, then for gaps too,
    `room_mm` what stays free beside the teeth and before them.
    """
    survey, chart = page.survey, teeth or page.case.teeth
    marks = marks_of(survey, page.step, reader)
    tooth = place.tooth if place else tooth_of(page)
    return draw(
        survey.model, say=reader.say, missing=chart.missing, replaced=chart.replaced,
        extractions=chart.extractions, teeth=_planned(survey, reader, marks),
        surfaces=marks.surfaces, chosen_tooth=None if href else tooth,
        chosen_surface=place.surface if place else surface_of(page.surface),
        numbering=reader.numbering, href=href or _href(page, keep or {}),
        link_missing=href is not None, overlays=overlays_of(survey, page.step, reader), room_mm=room_mm,
    )  # fmt: skip


def _href(page: StepPage, keep: Mapping[str, Any]) -> Callable[[int, str | None], str]:
    def address(tooth: int, surface: str | None) -> str:
        return url_for(
            "steps.step_page", code=page.code, step=page.step, tooth=tooth, surface=surface, **keep
        )

    return address
