"""The step of survey lines: collected on the map, recorded at once, corrected where the lead was too high."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from flask import Blueprint, Response, render_template, request, url_for

from bench.core.archmarks import ToothMark
from bench.core.bounds import BadEntry
from bench.core.case import Case, Reading
from bench.core.entries import SurveyLinesDrawn
from bench.core.surfaces import LETTERS, Site, site_from
from bench.store.refusals import AlreadyRecorded
from bench.web import book, speech, telling
from bench.web.archmap import CloseUp, MapPicture, ToothShape, draw
from bench.web.castmap import marks_of
from bench.web.forms import FormRefused
from bench.web.record import Statement, record_many
from bench.web.recording import around, recorded_page, refused_page
from bench.web.roles import least
from bench.web.steps import StepPage, render_step, renders

SWEEPS = ("required", "whole")

blueprint = Blueprint("surveylines", __name__)
Lines = Mapping[tuple[str | int | None, ...], Reading[SurveyLinesDrawn]]


def chosen_sites(case: Case, texts: Iterable[str]) -> tuple[Site, ...]:
    """Return the lines named, in the order of the arch; what names none on this cast is left out."""
    named = set(texts)
    every = (Site(tooth, letter) for tooth in case.present for letter in LETTERS)
    return tuple(site for site in every if site.text in named)


def toggled(chosen: Sequence[Site], sites: Sequence[Site]) -> tuple[str, ...]:
    """Return the selection with lines put in, or taken out where all of them are in it already."""
    texts = {site.text for site in chosen}
    these = {site.text for site in sites}
    return tuple(sorted(texts - these if these <= texts else texts | these))


@dataclass(frozen=True)
class SurveyLinesView:
    """What the page of survey lines shows besides its frame."""

    page: StepPage

    @cached_property
    def chosen(self) -> tuple[Site, ...]:
        """The lines collected so far."""
        typed = self.page.form.getlist("sites") if self.page.form is not None else None
        asked = request.values.get("lines", "").split(".")
        return chosen_sites(self.page.case, asked if typed is None else typed)

    @property
    def lead(self) -> str | None:
        """What was declared of the lead."""
        kept = request.values.get("lead") or request.values.get("lead_at_gingival", "")
        return str(self.page.typed("lead_at_gingival", kept)) or None

    @property
    def asking(self) -> str | None:
        """The sweep that waits to be confirmed: required or whole."""
        asked = str(self.page.typed("which", ""))
        return asked if "sure" in self.page.errors and asked in SWEEPS else None

    @cached_property
    def whole(self) -> tuple[Site, ...]:
        """Both lines of every tooth on the cast."""
        return tuple(Site(tooth, letter) for tooth in self.page.case.present for letter in LETTERS)

    @cached_property
    def wanting(self) -> tuple[Site, ...]:
        """The required lines that are not drawn at the present setting with the lead at gingival level."""
        return tuple(site for site in self.page.survey.line_sites if not self._good(site))

    @property
    def wanting_words(self) -> str:
        """What is still wanting, by tooth."""
        return telling.reader().sites(site.text for site in self.wanting)

    @property
    def too_high(self) -> tuple[Site, ...]:
        """The lines that stand recorded with the lead too high."""
        drawn = self.page.survey.lines
        return tuple(
            site_from(str(claim[1])) for claim, r in drawn.items()
            if r.current and not r.body.lead_at_gingival
        )  # fmt: skip

    @property
    def stale(self) -> tuple[Reading[SurveyLinesDrawn], ...]:
        """The entries whose lines belong to an earlier setting."""
        found = {r.entry.id: r for r in self.page.survey.lines.values() if r.stale}
        return tuple(found.values())

    @property
    def corrects(self) -> bool:
        """Whether a chosen line stands recorded here already."""
        lines = self.page.survey.lines
        found = (lines.get(("line", site.text)) for site in self.chosen)
        return any(reading is not None and reading.current for reading in found)

    @property
    def also(self) -> str:
        """What is said again beside the chosen lines, since it stood in an entry they correct, as JSON."""
        chosen = [site.text for site in self.chosen]
        kept = kept_lines(self.page.case, self.seen(self.chosen), chosen)
        said = [
            {
                "kind": "survey_lines_drawn", "reason": speech.say("surveylines.kept"),
                "body": {
                    "sites": one.sites, "lead_at_gingival": one.lead_at_gingival, "sleeve": one.sleeve,
                },
            }
            for one in kept
        ]  # fmt: skip
        return json.dumps(said) if said else ""

    def seen(self, sites: Iterable[Site]) -> tuple[str, ...]:
        """Return what stands at the present setting of lines, as this page shows it."""
        return standing_of(self.page.survey.lines, [site.text for site in sites])

    def href(self, lines: Iterable[str], tooth: int | None = None) -> str:
        """Return the address of this step with lines chosen."""
        return url_for(
            "steps.step_page", code=self.page.code, step="survey_lines", tooth=tooth,
            lines=".".join(lines) or None, lead=self.lead,
        )  # fmt: skip

    def without(self, site: Site) -> str:
        """Return the address with one line taken out of the selection."""
        return self.href(toggled(self.chosen, [site]), site.tooth)

    @property
    def picture(self) -> MapPicture:
        """The arch map: a tap on a tooth chooses both its lines, a tap on B or L that one."""
        page, reader = self.page, telling.reader()
        marks, chart = marks_of(page.survey, "survey_lines", reader), page.case.teeth
        chosen = page.tooth if page.tooth in page.case.present else None
        picture = draw(
            page.survey.model, say=reader.say, missing=chart.missing, replaced=chart.replaced,
            extractions=chart.extractions, teeth=self._teeth(marks.teeth),
            surfaces=marks.surfaces, chosen_tooth=chosen, numbering=reader.numbering, href=self._tap,
        )  # fmt: skip
        return replace(picture, teeth=self._outlined(picture), close_up=self._filled(picture))

    def _outlined(self, picture: MapPicture) -> tuple[ToothShape, ...]:
        teeth = {site.tooth for site in self.chosen}
        return tuple(replace(shape, chosen=shape.tooth in teeth) for shape in picture.teeth)

    def _filled(self, picture: MapPicture) -> CloseUp | None:
        if picture.close_up is None:
            return None
        letters = {site.surface for site in self.chosen if site.tooth == self.page.tooth}
        zones = (replace(zone, chosen=zone.surface in letters) for zone in picture.close_up.zones)
        return replace(picture.close_up, zones=tuple(zones))

    def _tap(self, tooth: int, surface: str | None) -> str:
        if surface is not None and surface not in LETTERS:
            return ""
        letters = LETTERS if surface is None else (surface,)
        sites = [site_from(f"{tooth}{letter}") for letter in letters]
        return self.href(toggled(self.chosen, sites), tooth)

    def _teeth(self, teeth: Mapping[int, ToothMark]) -> dict[int, ToothMark]:
        found, wanted = dict(teeth), set(self.page.survey.line_teeth)
        for tooth in {site.tooth for site in self.chosen}:
            letters = [site.surface for site in self.chosen if site.tooth == tooth]
            state = found[tooth].state if tooth in found else "plain"
            badge = letters[0] if len(letters) == 1 else None
            found[tooth] = ToothMark(state, speech.say("surveylines.chosen"), badge)
        return {t: replace(mark, planned=t in wanted) for t, mark in found.items()}

    def _good(self, site: Site) -> bool:
        reading = self.page.survey.lines.get(("line", site.text))
        return reading is not None and reading.current and reading.body.lead_at_gingival


@renders("survey_lines")
def survey_lines(page: StepPage) -> str:
    """Render the page of survey lines."""
    view = SurveyLinesView(page) if page.case.now else None
    return render_template("steps/survey_lines.html", page=page, view=view)


@blueprint.post("/case/<code>/lines")
@least("technician")
def drawn(code: str) -> Response:
    """Record lines: those chosen, or all required ones or the whole arch once that is confirmed."""
    case, said = book.case_of(code), around()
    place = {"lead": request.form.get("lead_at_gingival", "")}
    try:
        entries = record_many(_statements(case))
    except (FormRefused, BadEntry, AlreadyRecorded) as refused:
        if isinstance(refused, FormRefused) and set(refused.errors) == {"sure"}:
            return render_step(case.code, "survey_lines", form=request.form, errors=refused.errors)
        return refused_page(case.code, replace(said, step="survey_lines"), refused)
    return recorded_page(case.code, replace(said, step="survey_lines", place=place), entries[0])


def _statements(case: Case) -> list[Statement]:
    form, said = request.form, around()
    body = _body()
    first = Statement(
        body, case.code, said.setting, said.supersedes, said.reason, said.entry_id
    )  # fmt: skip
    kept = kept_lines(case, said.supersedes, body.sites)
    ids = form.getlist("kept_id")
    return [first, *(
        Statement(one, case.code, said.setting, (), speech.say("surveylines.kept"), key or None)
        for one, key in zip(kept, [*ids, *[""] * len(kept)], strict=False)
    )]  # fmt: skip


def _body() -> SurveyLinesDrawn:
    form = request.form
    sweep = form.get("which") in SWEEPS
    lead = "yes" if sweep else form.get("lead_at_gingival", "")
    faults: dict[str, tuple[str, dict[str, object]]] = {}
    if not form.getlist("sites"):
        faults["sites"] = ("missing", {})
    if lead not in ("yes", "no"):
        faults["lead_at_gingival"] = ("missing", {})
    if sweep and not form.get("sure"):
        faults["sure"] = ("missing", {})
    if faults:
        raise FormRefused(faults)
    sleeve = form.get("sleeve", "").strip()
    return SurveyLinesDrawn(tuple(form.getlist("sites")), lead == "yes", sleeve)


def standing_of(lines: Lines, sites: Iterable[str]) -> tuple[str, ...]:
    """Return the entries that hold lines at the present setting: what a new entry of them supersedes."""
    found = (lines.get(("line", site)) for site in sites)
    held = (reading.seen for reading in found if reading is not None and reading.current)
    return tuple(dict.fromkeys(key for keys in held for key in keys))


def kept_lines(
    case: Case, superseded: Iterable[str], sites: Iterable[str]
) -> tuple[SurveyLinesDrawn, ...]:
    """Return what a superseded entry says of other lines: it is said again, by lead and sleeve."""
    gone, again = set(superseded), set(sites)
    rest: dict[tuple[bool, str], list[str]] = {}
    for claim, reading in case.readings(SurveyLinesDrawn).items():
        if reading.current and gone.intersection(reading.seen) and claim[1] not in again:
            drawn = (reading.body.lead_at_gingival, reading.body.sleeve)
            rest.setdefault(drawn, []).append(str(claim[1]))
    return tuple(SurveyLinesDrawn(tuple(texts), *drawn) for drawn, texts in rest.items())
