"""Pages for a tablet without the bench PC: one per case that can state every kind of finding, and the outbox."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property

from flask import Blueprint, render_template, url_for

from bench.core.backagain import fourth_said, setting_held
from bench.core.case import Case
from bench.core.claims import Claim, stated_by
from bench.core.entries import (
    FINDINGS,
    Entry,
    InterferencesLooked,
    SurveyLinesDrawn,
    TripodMarked,
    Withdrawn,
)
from bench.core.entries.vocabulary import CAST_KINDS, METHODS, SECOND_CHECKS
from bench.core.surfaces import Site, Surface
from bench.core.survey import Survey
from bench.core.teeth import ARCHES, teeth_of
from bench.web import book, clock, ownforms, telling
from bench.web.archmap import MapPicture
from bench.web.cases import number_checks
from bench.web.castmap import picture_of
from bench.web.roles import least
from bench.web.stepforms import standing_on
from bench.web.stepframe import Frame
from bench.web.steps import StepPage
from bench.words.trail import entry_in_words

blueprint = Blueprint("offline", __name__)

RECEIVED = ("cast_received", "disinfection_recorded", "prescription_recorded", "teeth_recorded")
WISHED = ("clasp_wished", "rest_wished", "guide_plane_wished", "indirect_retainer_wished")
LINE_SURFACES: tuple[Surface, ...] = ("B", "L")


@dataclass(frozen=True)
class OfflineView:
    """What the offline page knows of a case, or of no case yet when a label was never seen here."""

    case: Case | None

    @cached_property
    def page(self) -> StepPage | None:
        """The case as the step of undercuts sees it, for the arch map."""
        if self.case is None or not self.case.entries:
            return None
        return StepPage("undercuts", self.case, book.lab(), None, {}, None)

    @cached_property
    def frame(self) -> Frame | None:
        """What stands around a step, None without a case."""
        return Frame(self.page) if self.page else None

    @property
    def opened(self) -> bool:
        """Whether the case is opened, so that its arch and teeth are known."""
        return bool(self.frame and self.frame.opened)

    @cached_property
    def picture(self) -> MapPicture | None:
        """The arch map; a tap names a tooth, and the page's script takes it into the forms."""
        if not self.page or not self.opened:
            return None
        return picture_of(self.page, telling.reader(), href=_here)

    @property
    def teeth(self) -> tuple[int, ...]:
        """The teeth of the cast; those of both arches while the case is not known."""
        if self.page and self.opened:
            return tuple(self.page.case.present)
        return tuple(tooth for arch in ARCHES for tooth in teeth_of(arch))

    @property
    def line_sites(self) -> list[tuple[str, str]]:
        """The surfaces a line may be drawn on: what is recorded, and as it is read."""
        sites = (Site(tooth, surface) for tooth in self.teeth for surface in LINE_SURFACES)
        return [(site.text, telling.reader().site(site.text)) for site in sites]

    @property
    def people(self) -> tuple[str, ...]:
        """Who may record, by initials."""
        return book.lab().recorders()

    @property
    def as_of(self) -> str:
        """The time of this page by the bench PC's clock."""
        now = datetime.fromtimestamp(clock.now_ms() / 1000, UTC).astimezone()
        return now.strftime("%Y-%m-%d %H:%M")

    @cached_property
    def recorded(self) -> list[Entry]:
        """The standing entries of the case, newest first; what takes back is left out."""
        standing = self.case.standing if self.case else ()
        return [entry for entry in reversed(standing) if not isinstance(entry.body, Withdrawn)]

    def told(self, entry: Entry) -> str:
        """Return an entry as a sentence."""
        assert self.case is not None
        return entry_in_words(entry, self.case, telling.reader())

    def is_finding(self, entry: Entry) -> bool:
        """Say whether an entry may be confirmed at another setting."""
        return isinstance(entry.body, FINDINGS) and not isinstance(entry.body, TripodMarked)

    def held(self, entry: Entry) -> str:
        """Return the settings an entry was made or confirmed at, parted by spaces."""
        return " ".join(sorted(self.case.held_at.get(entry.id, ()))) if self.case else ""

    @property
    def known(self) -> str:
        """What the page's script has to know, as JSON: setting, and what a new statement corrects."""
        case = self.case
        now = case.now.id if case and case.now else None
        return json.dumps({
            "setting": now, **_record(case), "standing": _standing(case) if case and now else {},
            "lasting": _lasting(case) if case else {},
        })  # fmt: skip

    @property
    def to_receive(self) -> list[str]:
        """The kinds of the step of receiving that nobody recorded yet; the others are corrected alone."""
        said = {entry.kind for entry in self.recorded}
        return [kind for kind in RECEIVED if kind not in said]

    @property
    def tooth_keys(self) -> list[tuple[str, str]]:
        """The teeth that may be missing: what is recorded, and as it is read."""
        arches = (self.case.arch,) if self.case and self.opened else ARCHES
        return [
            (str(one), telling.reader().tooth(one)) for arch in arches for one in teeth_of(arch)
        ]

    @property
    def depth_keys(self) -> list[tuple[str, str]]:
        """The undercuts that can be wished, as keys: the sizes of the lab's gauges."""
        reader = telling.reader()
        return [(f"{size:g}", reader.length(size)) for size in book.lab().policy.gauges_mm]

    @property
    def seat_seconds(self) -> int:
        """How long a seat lasts without a touch, by the lab's policy."""
        return int(book.lab().policy.number("idle_lock_s"))

    @property
    def tolerance_deg(self) -> str:
        """The lab's tolerance of a re-mount in degrees, as a form holds it."""
        return f"{book.lab().policy.number('remount_tolerance_deg'):g}"

    @property
    def second_checks(self) -> list[tuple[str, str]]:
        """The second means of checking a re-mount as keys."""
        say = telling.reader().choice
        return [(one, say("second_check", one)) for one in SECOND_CHECKS]

    @property
    def ways(self) -> list[tuple[str, str]]:
        """The ways of checking a re-mount that are read as angles, as keys."""
        return [(one, telling.reader().choice("method", one)) for one in METHODS if one != "tripod"]


def _here(tooth: int, surface: str | None) -> str:
    return f"#{tooth}{surface or ''}"


def _record(case: Case | None) -> dict[str, object]:
    """Return what a re-mount is read against: marks, setting to bring back, disturbances to answer."""
    if case is None:
        return {"tripod": None, "fourth": None, "brings_back": None, "disturbed": []}
    survey = Survey(case, book.lab())
    tripod, fourth, held = survey.tripod, fourth_said(survey), setting_held(survey)
    return {
        "tripod": tripod.entry.id if tripod else None,
        "fourth": fourth.entry.id if fourth else None,
        "brings_back": held.id if held else None,
        "disturbed": [said.entry.id for said in case.disturbances],
    }


def _standing(case: Case) -> Mapping[str, dict[str, object]]:
    """Return for each claim held at the present setting what a correction of it names."""
    found: dict[str, dict[str, object]] = {}
    for entry in _findings(case):
        for claim, value in stated_by(entry):
            ids = standing_on(case, claim)
            if ids and not (
                claim == ("interferences",) and not isinstance(entry.body, InterferencesLooked)
            ):
                found[_text(claim)] = {"ids": ids, "kind": entry.kind, "lead": _lead(entry, value)}
    return found


def _lasting(case: Case) -> Mapping[str, dict[str, object]]:
    """Return for each claim made in receiving a cast what a correction of it names, at any setting."""
    received = [entry for entry in case.standing if entry.kind in RECEIVED + WISHED]
    return {
        _text(claim): {"ids": standing_on(case, claim), "kind": entry.kind, "lead": None}
        for entry in received
        for claim, _ in stated_by(entry)
    }


def _findings(case: Case) -> Iterable[Entry]:
    return (entry for entry in case.standing if isinstance(entry.body, FINDINGS))


def _lead(entry: Entry, value: object) -> object:
    return value if isinstance(entry.body, SurveyLinesDrawn) else None


def _text(claim: Claim) -> str:
    return "|".join("" if part is None else str(part) for part in claim)


@blueprint.get("/case/<code>/offline")
@least("reader")
def of_case(code: str) -> str:
    """Show the page that records every kind of finding of a case without the bench PC."""
    case = book.case_of(code)
    return _page(OfflineView(case), case.code)


@blueprint.get("/offline/label")
@least("reader")
def of_label() -> str:
    """Show the same page for a label that nothing is known of here."""
    return _page(OfflineView(None), "")


def _page(view: OfflineView, code: str) -> str:
    return render_template(
        "offline/case.html", view=view, offline_code=code, idle_seconds=0, arches=ARCHES,
        kinds=CAST_KINDS, opening=number_checks(),
        steps_href=url_for("steps.step_page", code=code, step="receive") if code else None,
    )  # fmt: skip


@blueprint.get("/outbox")
@least("stranger")
def outbox() -> str:
    """Show what waits on this tablet; the page's script fills it in."""
    return render_template("offline/outbox.html", idle_seconds=0, own_forms=ownforms.as_json())
