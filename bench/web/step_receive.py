"""The step of receiving: how the cast arrived, its teeth, and what the dentist wishes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

from flask import render_template, request, url_for
from werkzeug.datastructures import MultiDict

from bench.core.accept import case_with
from bench.core.case import Said
from bench.core.entries import (
    CaseOpened,
    CastReceived,
    ClaspWished,
    DisinfectionRecorded,
    Draft,
    Entry,
    GuidePlaneWished,
    IndirectRetainerWished,
    PrescriptionRecorded,
    RestWished,
    TeethRecorded,
    vocabulary,
)
from bench.core.surfaces import SURFACES
from bench.core.survey import Survey
from bench.web import telling
from bench.web.archmap import MapPicture
from bench.web.castmap import picture_of, tooth_of
from bench.web.stepforms import standing_on
from bench.web.steps import StepPage, renders
from bench.web.toothchart import FATES, Chart, Fate, chart_from, chart_in, chart_of
from bench.words.verdicts import KennedyWords, kennedy_in_words

SHEETS = ("arrival", "teeth", "wishes")
WISHES = {
    "clasp": ClaspWished, "rest": RestWished, "plane": GuidePlaneWished,
    "indirect": IndirectRetainerWished,
}  # fmt: skip
KIND_OF_WISH = {
    "clasp": "clasp_wished", "rest": "rest_wished", "plane": "guide_plane_wished",
    "indirect": "indirect_retainer_wished",
}  # fmt: skip
SURFACES_OF_WISH = {
    "clasp": ("MB", "B", "DB", "ML", "L", "DL"), "plane": ("M", "D", "B", "L"),
}  # fmt: skip
# The teeth of a statement as an address names them: numbers parted by points.
NAMED = ("missing", "replaced", "extractions")


@dataclass(frozen=True)
class Receiving:
    """What the page of receiving shows besides its frame."""

    page: StepPage

    @cached_property
    def sheet(self) -> str:
        """The sheet shown: the one asked for, else the first that is not recorded yet."""
        asked = request.values.get("sheet", "")
        return asked if asked in SHEETS else self._first_open()

    def _first_open(self) -> str:
        if not all((self.cast, self.disinfection, self.prescription)):
            return "arrival"
        return "wishes" if self.teeth else "teeth"

    def sheets(self) -> list[tuple[str, str, bool, bool]]:
        """Return the sheets: name, address, whether recorded, whether shown."""
        done = {
            "arrival": all((self.cast, self.disinfection, self.prescription)),
            "teeth": self.teeth is not None, "wishes": bool(self.wished),
        }  # fmt: skip
        return [(name, self.at(sheet=name), done[name], name == self.sheet) for name in SHEETS]

    def at(self, **asked: Any) -> str:
        """Return the address of this step with something asked for."""
        return url_for("steps.step_page", code=self.page.code, step="receive", **asked)

    @cached_property
    def cast(self) -> Said[CastReceived] | None:
        """How the cast arrived, None while it is not said."""
        return self.page.case.latest(CastReceived)

    @cached_property
    def disinfection(self) -> Said[DisinfectionRecorded] | None:
        """What is known of the disinfection, None while it is not said."""
        return self.page.case.latest(DisinfectionRecorded)

    @cached_property
    def prescription(self) -> Said[PrescriptionRecorded] | None:
        """The prescription, None while it is not recorded."""
        return self.page.case.latest(PrescriptionRecorded)

    @cached_property
    def teeth(self) -> Said[TeethRecorded] | None:
        """The teeth as recorded, None while they are not."""
        return self.page.case.latest(TeethRecorded)

    def replaced_by(self, claim: str) -> tuple[str, ...]:
        """Return what a new statement of the whole cast supersedes."""
        return standing_on(self.page.case, (claim,))

    @cached_property
    def chart(self) -> Chart:
        """The teeth as tapped so far, else as recorded."""
        page = self.page
        if page.form is not None and self._teeth_refused():
            return chart_in(page.form, page.case.arch)
        if any(name in request.args for name in NAMED):
            return chart_in(_named_in(request.args), page.case.arch)
        tapped = request.args.get("chart")
        return chart_of(page.case.teeth) if tapped is None else chart_from(tapped, page.case.arch)

    def _teeth_refused(self) -> bool:
        return (request.view_args or {}).get("kind") == "teeth_recorded"

    @property
    def brush(self) -> Fate:
        """What a tap on a tooth makes of it."""
        asked = request.values.get("brush", "")
        return FATES[FATES.index(asked)] if asked in FATES else "r"

    def brushes(self) -> list[tuple[str, str, bool]]:
        """Return the brushes: fate, address, whether in hand."""
        return [(f, self._tapping(self.chart, f), f == self.brush) for f in FATES]

    def _tapping(self, chart: Chart, brush: Fate) -> str:
        return self.at(sheet="teeth", brush=brush, chart=chart.text)

    @property
    def differs(self) -> bool:
        """Whether the chart says something else than what is recorded."""
        return self.teeth is None or self.chart.fates != chart_of(self.teeth.body).fates

    @cached_property
    def kennedy(self) -> KennedyWords:
        """The Kennedy class of the chart as tapped so far, with its reasons."""
        page = self.page
        draft = Draft(self.chart.recorded, "", case=page.code)
        survey = Survey(case_with(draft, page.case), page.lab) if self.differs else page.survey
        return kennedy_in_words(survey.kennedy, telling.reader())

    @property
    def picture(self) -> MapPicture:
        """The map: on the sheet of teeth each tap turns a tooth, elsewhere it chooses one."""
        page, reader = self.page, telling.reader()
        if self.sheet != "teeth":
            return picture_of(page, reader, keep={"sheet": "wishes", "wish": self.wish})
        return picture_of(page, reader, teeth=self.chart.recorded, href=self._turned)

    def _turned(self, tooth: int, surface: str | None) -> str:
        return self._tapping(self.chart.tapped(tooth, self.brush), self.brush)

    @property
    def wish(self) -> str:
        """The kind of wish to be added."""
        asked = request.values.get("wish", "")
        return asked if asked in WISHES else "clasp"

    def wish_keys(self) -> list[tuple[str, str, bool]]:
        """Return the kinds of wishes: name, address, whether chosen."""
        return [
            (one, self.at(sheet="wishes", wish=one, tooth=self.tooth, surface=self.surface), one == self.wish)
            for one in WISHES
        ]  # fmt: skip

    @property
    def tooth(self) -> int | None:
        """The tooth a wish is for."""
        return tooth_of(self.page)

    @property
    def surface(self) -> str | None:
        """The surface a wish is for, where that kind of wish may lie on it."""
        fit = SURFACES_OF_WISH.get(self.wish, SURFACES)
        return self.page.surface if self.page.surface in fit else None

    def surface_keys(self) -> list[tuple[str, str, bool]]:
        """Return the surfaces a wish may lie on: letters, address, whether chosen."""
        return [
            (s, self.at(sheet="wishes", wish=self.wish, tooth=self.tooth, surface=s), s == self.surface)
            for s in SURFACES_OF_WISH[self.wish]
        ]  # fmt: skip

    @property
    def kind(self) -> str:
        """The kind of entry that adds the wish."""
        return KIND_OF_WISH[self.wish]

    @cached_property
    def wished(self) -> tuple[Entry, ...]:
        """Every wish that stands, by tooth from the patient's right to the left."""
        case = self.page.case
        kinds = tuple(WISHES.values())
        found = [entry for entry in case.standing if isinstance(entry.body, kinds)]
        order = {tooth: at for at, tooth in enumerate(case.present)}
        return tuple(sorted(found, key=lambda e: order.get(getattr(e.body, "tooth", 0), 99)))

    def depth_keys(self) -> list[tuple[str, str]]:
        """Return the undercuts that can be wished, as keys: the sizes of the lab's gauges."""
        reader = telling.reader()
        return [(f"{size:.2f}", reader.length(size)) for size in self.page.lab.policy.gauges_mm]

    def line(self, entry: Entry) -> str:
        """Return a wish on one line."""
        reader, body = telling.reader(), entry.body
        shown = {f.name: reader.shown(f.name, getattr(body, f.name)) for f in fields(body)}
        if "surface" in shown:
            shown["site"] = reader.site(
                f"{getattr(body, 'tooth', 0)}{getattr(body, 'surface', '')}"
            )
        arm = "_arm" if isinstance(body, ClaspWished) and body.arm_mm else ""
        return reader.say(f"steppages.wish.line_{entry.kind}{arm}", **shown)


def _named_in(asked: Mapping[str, str]) -> MultiDict[str, str]:
    return MultiDict([(name, one) for name in NAMED for one in asked.get(name, "").split(".")])


@renders("receive")
def receive(page: StepPage) -> str:
    """Render the step of receiving; a case that is not opened leads to its opening."""
    if not page.case.said(CaseOpened):
        return render_template("steps/receive.html", page=page, view=None)
    receiving = Receiving(page)
    return render_template(
        "steps/receive.html", page=page, view=receiving, picture=receiving.picture, v=vocabulary
    )
