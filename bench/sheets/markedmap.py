"""The arch map of a survey sheet: tips with their pushes, planes, lines, what is stale or missing."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from math import hypot

from bench.core.arch import ArchModel
from bench.core.archmarks import (
    ArrowOverlay,
    LineOverlay,
    Overlay,
    State,
    SurfaceMark,
    ToothMark,
)
from bench.core.archplan import Plan, plan_map
from bench.core.case import Reading
from bench.core.retention import resultant
from bench.core.rules.balance import balanced
from bench.core.surfaces import Site
from bench.core.survey import CountedTip, Survey
from bench.words.reader import Reader

ARROW_MM = 16.0
_SHOWN_FROM = 0.05


@dataclass(frozen=True)
class MarkedMap:
    """What the arch map of a sheet shows; the page and the paper both draw from it."""

    model: ArchModel
    missing: Collection[int]
    replaced: Collection[int]
    extractions: Collection[int]
    teeth: Mapping[int, ToothMark]
    surfaces: Mapping[Site, SurfaceMark]
    overlays: tuple[Overlay, ...]

    def plan(self, reader: Reader) -> Plan:
        """Return the map laid out in mm in the reader's numbering."""
        return plan_map(
            self.model, missing=self.missing, replaced=self.replaced, extractions=self.extractions,
            teeth=self.teeth, surfaces=self.surfaces, numbering=reader.numbering, overlays=self.overlays,
        )  # fmt: skip


def marked_map(survey: Survey, reader: Reader) -> MarkedMap:
    """Return the arch map of a survey as its sheet shows it."""
    teeth = survey.case.teeth
    return MarkedMap(
        survey.model, teeth.missing, teeth.replaced, teeth.extractions, _teeth(survey, reader),
        _surfaces(survey, reader), tuple(_overlays(survey, reader)),
    )  # fmt: skip


def _teeth(survey: Survey, reader: Reader) -> dict[int, ToothMark]:
    tipped = {counted.site.tooth: _tip_state(counted) for counted in survey.tips}
    found = {}
    for tooth in dict.fromkeys((*survey.abutments, *tipped)):
        state = tipped.get(tooth, "plain")
        word = "" if state == "plain" else reader.say(f"shell.state.{state}")
        found[tooth] = ToothMark(state, word, planned=tooth in survey.abutments)
    return found


def _surfaces(survey: Survey, reader: Reader) -> dict[Site, SurfaceMark]:
    marks = {}
    for site in survey.plane_sites:
        reading = survey.plane(site)
        take_off_mm = reading.body.take_off_mm if reading else None
        off = (
            reader.say("sheet.map.take_off", mm=_figures(take_off_mm, reader))
            if take_off_mm
            else ""
        )
        marks[site] = _mark(_state(reading), off, reader)
    for counted in survey.tips:
        size = _figures(counted.reading.body.gauge_mm, reader) if counted.reading else "?"
        marks[counted.site] = _mark(_tip_state(counted), size, reader, push=True)
    return marks


def _mark(state: State, badge: str, reader: Reader, *, push: bool = False) -> SurfaceMark:
    return SurfaceMark(state, reader.say(f"shell.state.{state}"), badge or None, push)


def _figures(length_mm: float, reader: Reader) -> str:
    return reader.length(length_mm).split()[0]


def _state(reading: Reading[object] | None) -> State:
    if reading is None:
        return "todo"
    return "done" if reading.current else "stale"


def _tip_state(counted: CountedTip) -> State:
    if counted.counts:
        return "done"
    stale = counted.tip.stale or (counted.reading is not None and counted.reading.stale)
    return "stale" if stale else "stopped"


def _overlays(survey: Survey, reader: Reader) -> Iterator[Overlay]:
    line = survey.fulcrum.line
    if line is not None:
        yield LineOverlay("fulcrum", line.right_mm, line.left_mm, reader.say("sheet.map.fulcrum"))
    left = resultant(survey.model, survey.retentive)
    if hypot(left.x, left.y) >= _SHOWN_FROM:
        places = [survey.model.place(tip.tooth) for tip in survey.retentive]
        x = sum(place.x_mm for place in places) / len(places)
        y = sum(place.y_mm for place in places) / len(places)
        end = (x + ARROW_MM * left.x, y + ARROW_MM * left.y)
        label, stops = reader.say("sheet.map.resultant"), bool(list(balanced(survey)))
        yield ArrowOverlay("resultant", (x, y), end, label, stops)
