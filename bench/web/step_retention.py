"""The step of retention: tips chosen among the readings that touch, the verdict, what the pushes leave."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from flask import render_template, url_for

from bench.core.arms import arms_beside, arms_unmeasured
from bench.core.case import Reading
from bench.core.entries import ClaspWished, Exempted, TipChosen, UndercutRead
from bench.core.entries.vocabulary import MATERIALS, RECIPROCATION
from bench.core.lines import signed_distance_mm
from bench.core.release import Judged
from bench.core.retention import Balance, Resultant, Tip, judge_balance, resultant
from bench.core.rules.balance import exemption_holds
from bench.core.surfaces import PROXIMAL, SURFACES, Site, site_from
from bench.core.survey import TOUCHING, CountedTip
from bench.web import telling
from bench.web.archmap import ArrowOverlay, MapPicture, draw
from bench.web.castmap import marks_of, overlays_of, tooth_of
from bench.web.steps import StepPage, renders
from bench.words.remarks import arms_in_words
from bench.words.wording import (
    balance_in_words,
    fulcrum_in_words,
    reason_in_words,
    resultant_in_words,
)


@dataclass(frozen=True)
class Candidate:
    """A reading a tip may be chosen on: its site in words, gauge and depth, whether wished or chosen."""

    site: Site
    words: str
    reading: str
    wished: bool
    chosen: bool
    current: bool
    href: str


@dataclass(frozen=True)
class TipLine:
    """A chosen tip in words, how far it lies from the fulcrum line, and what warns beside it."""

    tip: Reading[TipChosen]
    counts: bool
    site: str
    arm: str
    distance: str
    why_not: str
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class RetentionView:
    """What the page of retention shows besides its frame."""

    page: StepPage

    @cached_property
    def site(self) -> Site | None:
        """The site a tip is being chosen on: a corner or the middle of a tooth; none once one was chosen."""
        if self.page.announced is not None:
            return None
        tooth, surface = self.page.tooth, self.page.surface
        if tooth not in self.page.case.present or surface not in SURFACES or surface in PROXIMAL:
            return None
        return site_from(f"{tooth}{surface}")

    @property
    def picked(self) -> Candidate | None:
        """The candidate at that site, None where no reading touches there at the present setting."""
        return next((one for one in self.candidates if one.site == self.site and one.current), None)

    @cached_property
    def standing(self) -> Reading[TipChosen] | None:
        """The tip that stands at that site."""
        site = self.site
        return self.page.case.readings(TipChosen).get(("tip", *site)) if site else None

    @property
    def supersedes(self) -> tuple[str, ...]:
        """What a choice at that site supersedes."""
        found = self.standing
        return found.seen if found is not None and found.current else ()

    @property
    def wish(self) -> ClaspWished | None:
        """The wished clasp at that site, or else on that tooth."""
        site = self.site
        wishes = [
            said.body for said in self.page.survey.clasps if site and said.body.tooth == site.tooth
        ]
        same = [wish for wish in wishes if site and wish.surface == site.surface]
        return next(iter([*same, *wishes]), None)

    @property
    def proposal(self) -> tuple[str | None, float | None, str | None]:
        """Material, arm length and reciprocation to begin with: of the tip that stands, else of the wish."""
        if self.standing is not None:
            body = self.standing.body
            return body.material, body.arm_mm, body.reciprocation
        return (self.wish.material, self.wish.arm_mm, None) if self.wish else (None, None, None)

    @cached_property
    def candidates(self) -> tuple[Candidate, ...]:
        """The readings that touch, present ones and wished clasps first."""
        found = [self._candidate(r) for r in self.page.survey.undercuts.values() if _may_hold(r)]
        order = {tooth: place for place, tooth in enumerate(self.page.case.present)}
        return tuple(
            sorted(
                found,
                key=lambda one: (not one.current, not one.wished, order.get(one.site.tooth, 99)),
            )
        )

    def _candidate(self, reading: Reading[UndercutRead]) -> Candidate:
        body, reader = reading.body, telling.reader()
        site = Site(body.tooth, body.surface)
        depth = reader.say(
            f"retentionpage.reads.{body.contact}", gauge=reader.length(body.gauge_mm)
        )
        if body.drop_mm is not None:
            depth += reader.say("retentionpage.reads.drop", drop=reader.length(body.drop_mm))
        wished = {Site(said.body.tooth, said.body.surface) for said in self.page.survey.clasps}
        chosen = {counted.site for counted in self.page.survey.tips if counted.tip.current}
        href = url_for(
            "steps.step_page",
            code=self.page.code,
            step="retention",
            tooth=site.tooth,
            surface=site.surface,
        )
        return Candidate(
            site,
            site.shown(reader.numbering),
            depth,
            site in wished,
            site in chosen,
            reading.current,
            href,
        )

    @cached_property
    def balance(self) -> Balance:
        """Whether the sides share a letter."""
        return judge_balance(self.page.survey.retentive)

    @property
    def balance_words(self) -> str:
        """The verdict and why."""
        return balance_in_words(self.balance, telling.reader())

    @cached_property
    def left_over(self) -> Resultant:
        """What the pushes sum to."""
        return resultant(self.page.survey.model, self.page.survey.retentive)

    @property
    def pushes_words(self) -> str:
        """What the pushes leave, in words."""
        return resultant_in_words(self.left_over, telling.reader())

    @property
    def fulcrum_words(self) -> str:
        """Where the fulcrum line runs, or why there is none."""
        return fulcrum_in_words(self.page.survey.fulcrum, telling.reader())

    @property
    def arms(self) -> list[str]:
        """The like-made arms beside each other, in words; nothing unless the lab compares arms."""
        survey, reader = self.page.survey, telling.reader()
        if not survey.policy.switches["compare_arms"]:
            return []
        told = [arms_in_words(one, reader) for one in arms_beside(survey)]
        sites = arms_unmeasured(survey)
        unmeasured = reader.say("retentionpage.arms.unmeasured", sites=reader.sites(sites))
        return [*told, *([unmeasured] if sites else [])]

    @property
    def tips(self) -> tuple[TipLine, ...]:
        """The chosen tips, from the patient's right to the left."""
        return tuple(self._line(counted) for counted in self.page.survey.tips)

    def _line(self, counted: CountedTip) -> TipLine:
        reader, body = telling.reader(), counted.tip.body
        arm = reader.choice("material", body.material)
        if body.arm_mm is not None:
            arm = reader.say("retentionpage.arm", material=arm, length=reader.length(body.arm_mm))
        opposite = reader.choice("reciprocation", body.reciprocation)
        return TipLine(
            counted.tip, counted.counts, counted.site.shown(reader.numbering),
            reader.say("retentionpage.arm_and", arm=arm, opposite=opposite),
            self._distance(counted.site), _why_not(counted), self._beside(counted.site),
        )  # fmt: skip

    def _distance(self, site: Site) -> str:
        line = self.page.survey.fulcrum.line
        if line is None:
            return ""
        distance_mm = signed_distance_mm(self.page.survey.model, line, Tip(*site))
        side = "away" if distance_mm >= 0 else "base"
        reader = telling.reader()
        shown = reader.say("choices.figure.mm", value=reader.number(abs(distance_mm), 1))
        return reader.say(f"retentionpage.distance.{side}", distance=shown)

    def _warning(self) -> list[Judged]:
        judged = self.page.verdict.judged
        return [
            one
            for one in judged
            if one.reason.rule in ("B3", "B4", "B5", "B6") or one.reason.problem == "none_at_zero"
        ]

    def _beside(self, site: Site) -> tuple[str, ...]:
        mine = (
            one for one in self._warning() if one.reason.subject in (site.text, str(site.tooth))
        )
        return tuple(reason_in_words(one, telling.reader()).sentence for one in mine)

    @property
    def further(self) -> tuple[str, ...]:
        """Warnings that belong to no one tip."""
        mine = (one for one in self._warning() if not one.reason.subject)
        return tuple(reason_in_words(one, telling.reader()).sentence for one in mine)

    @property
    def exemption(self) -> tuple[Exempted, str, str] | None:
        """The exemption of the present setting with who made it and why."""
        said = self.page.survey.exemption
        return (said.body, said.entry.person, said.entry.reason) if said else None

    @property
    def exemption_id(self) -> str:
        """The entry of the exemption."""
        said = self.page.survey.exemption
        return said.entry.id if said else ""

    @property
    def exempt(self) -> bool:
        """Whether the exemption's guide planes hold at the present setting."""
        return exemption_holds(self.page.survey)

    @property
    def planes(self) -> list[tuple[str, str]]:
        """The guide planes read at the present setting, to be named in an exemption."""
        reader = telling.reader()
        found = [
            Site(r.body.tooth, r.body.surface)
            for r in self.page.survey.planes.values()
            if r.current
        ]
        return [(site.text, site.shown(reader.numbering)) for site in sorted(found)]

    @property
    def materials(self) -> list[tuple[str, str]]:
        """What an arm may be made of, as keys."""
        return [(one, telling.reader().choice("material", one)) for one in MATERIALS]

    @property
    def reciprocations(self) -> list[tuple[str, str]]:
        """What may stand opposite a tip, as keys."""
        return [(one, telling.reader().choice("reciprocation", one)) for one in RECIPROCATION]

    @property
    def picture(self) -> MapPicture:
        """The arch map with a push per tip, the fulcrum line and what is left of the pushes.

        The arrow of what is left carries no words on the map; they stand beside the verdict.
        """
        survey, reader, chart = self.page.survey, telling.reader(), self.page.case.teeth
        marks = marks_of(survey, "retention", reader)
        site = self.site
        return draw(
            survey.model, say=reader.say, missing=chart.missing, replaced=chart.replaced,
            extractions=chart.extractions, teeth=marks.teeth, surfaces=marks.surfaces,
            chosen_tooth=site.tooth if site else tooth_of(self.page),
            chosen_surface=site.surface if site else None, numbering=reader.numbering, href=self._href,
            overlays=[replace(one, label="") if isinstance(one, ArrowOverlay) else one
                      for one in overlays_of(survey, "retention", reader)],
        )  # fmt: skip

    def _href(self, tooth: int, surface: str | None) -> str:
        return url_for(
            "steps.step_page", code=self.page.code, step="retention", tooth=tooth, surface=surface
        )


def _may_hold(reading: Reading[UndercutRead]) -> bool:
    return reading.body.contact in TOUCHING and reading.body.surface not in PROXIMAL


def _why_not(counted: CountedTip) -> str:
    """Return why a tip does not count for the balance, nothing where it does."""
    if counted.counts:
        return ""
    if counted.tip.stale:
        return telling.reader().say("retentionpage.not.stale")
    if counted.reading is None:
        return telling.reader().say("retentionpage.not.unread")
    key = "read_elsewhere" if counted.reading.stale else "no_touch"
    return telling.reader().say(f"retentionpage.not.{key}")


@renders("retention")
def retention(page: StepPage) -> str:
    """Render the page of retention."""
    view = RetentionView(page) if page.case.now else None
    return render_template("steps/retention.html", page=page, view=view)
